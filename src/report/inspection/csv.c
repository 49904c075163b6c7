#include "report/common/sheet.h"
#include "report/common/words.h"
#include "seamwright/report.h"

enum { MM_DECIMALS = 4 }; /* 0.1 um: far below what one photo can tell, so that rounding never shows */

sw_status sw_report_seams_csv(const sw_inspection *inspection, const char *path, sw_error *err)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_sheet_put(&sheet, "seam,at_mm,gap_mm,u95_mm,state\n");
    for (size_t i = 0; i < inspection->seam_count; i++) {
        const sw_seam *seam = &inspection->seams[i];
        for (size_t k = 0; k < seam->station_count; k++) {
            const sw_station *station = &seam->stations[k];
            sw_sheet_csv(&sheet, seam->name);
            sw_sheet_put(&sheet, ",");
            sw_sheet_number(&sheet, station->at_mm, MM_DECIMALS, "");
            sw_sheet_put(&sheet, ",");
            sw_sheet_number(&sheet, station->gap_mm, MM_DECIMALS, "");
            sw_sheet_put(&sheet, ",");
            sw_sheet_number(&sheet, station->u95_mm, MM_DECIMALS, "");
            sw_sheet_put(&sheet, ",%s\n", sw_station_state_name(station->state));
        }
    }
    return sw_sheet_save(&sheet, path, err);
}

static void put_advice(sw_sheet *sheet, const sw_inspection *inspection, const sw_advice *advice)
{
    const double figures[] = {advice->remove_mm, advice->from_mm, advice->to_mm, advice->worst_gap_mm, advice->u95_mm};
    char edge[EDGE_NAME_ROOM];
    sw_sheet_put(sheet, "%d,", advice->rank);
    sw_sheet_csv(sheet, sw_edge_name(inspection, advice->tile, advice->side, edge));
    sw_sheet_put(sheet, ",");
    sw_sheet_csv(sheet, sw_advice_seam(inspection, advice));
    sw_sheet_put(sheet, ",%s,", sw_action_name(advice->action));
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        sw_sheet_number(sheet, figures[i], MM_DECIMALS, "");
        sw_sheet_put(sheet, ",");
    }
    sw_sheet_csv(sheet, advice->reason);
    sw_sheet_put(sheet, "\n");
}

sw_status sw_report_edges_csv(const sw_inspection *inspection, const char *path, sw_error *err)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_sheet_put(&sheet, "rank,edge,seam,action,remove_mm,from_mm,to_mm,worst_gap_mm,u95_mm,reason\n");
    for (size_t i = 0; i < inspection->advice_count; i++)
        put_advice(&sheet, inspection, &inspection->ranking[i]);
    return sw_sheet_save(&sheet, path, err);
}
