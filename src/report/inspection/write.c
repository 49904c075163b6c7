/* write.c - the whole report folder, there whole or not at all. */
#include <stdlib.h>

#include "files/folder.h"
#include "seamwright/report.h"

typedef struct files {
    char *json, *seams, *edges, *overlay, *page;
} files;

static sw_status write_files(const sw_inspection *inspection, const sw_photo *photo, const files *to, int pictures,
                             sw_error *err)
{
    sw_status status = sw_report_json(inspection, to->json, err);
    if (!status)
        status = sw_report_seams_csv(inspection, to->seams, err);
    if (!status)
        status = sw_report_edges_csv(inspection, to->edges, err);
    if (!status && pictures)
        status = sw_report_overlay(inspection, photo, to->overlay, err);
    if (!status && pictures)
        status = sw_report_page(inspection, to->overlay, to->page, err);
    return status;
}

sw_status sw_report_write(const sw_inspection *inspection, const sw_photo *photo, const char *folder, int pictures,
                          sw_error *err)
{
    sw_folder place;
    files to = {NULL, NULL, NULL, NULL, NULL};
    sw_status status = sw_folder_begin(&place, folder, err);
    if (status)
        return status;
    to.json = sw_folder_path(place.part, "inspection.json");
    to.seams = sw_folder_path(place.part, "seams.csv");
    to.edges = sw_folder_path(place.part, "edges.csv");
    to.overlay = sw_folder_path(place.part, "overlay.png");
    to.page = sw_folder_path(place.part, "report.html");
    if (to.json && to.seams && to.edges && to.overlay && to.page)
        status = write_files(inspection, photo, &to, pictures, err);
    else
        status = sw_fail(err, SW_NO_MEMORY,
                         "%s: not enough memory to write the report; close other programs and try again", folder);
    if (!status)
        status = sw_folder_finish(&place, err);
    sw_folder_end(&place);
    free(to.json);
    free(to.seams);
    free(to.edges);
    free(to.overlay);
    free(to.page);
    return status;
}
