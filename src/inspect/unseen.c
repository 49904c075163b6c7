#include "inspect/unseen.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/heights_step.h"
#include "inspection/unseen.h"

/* A seam of which less than this share is unseen needs no words. */
static const double UNSEEN_SHARE = 0.02;
/* How finely a step is said, mm. */
static const double SAID_MM = 0.1;

static sw_status note_hidden(sw_inspection *ins, const sw_seam *seam, double share, double hides_mm)
{
    const sw_tile *a = &ins->tiles[seam->first], *b = &ins->tiles[seam->second];
    const sw_tile *high = a->rise_mm > b->rise_mm ? a : b, *low = high == a ? b : a;
    return sw_note_add(
        &ins->notes, SW_NOTE_SEAM_UNSEEN,
        "%s: %.0f %% of the gap could not be seen. %s stands %g mm higher and hides gaps of up to %.1f mm beside %s "
        "from where the camera was, and shades more; photograph from %s's side, or use a feeler gauge.",
        seam->name, 100 * share, high->name, round((high->rise_mm - low->rise_mm) / SAID_MM) * SAID_MM, hides_mm,
        low->name, low->name);
}

/* Whether it was said already what keeps a seam from being seen. */
static bool told(const sw_notes *notes, const char *seam)
{
    for (size_t i = 0; i < notes->count; i++) {
        const sw_note *n = &notes->list[i];
        bool why = n->kind == SW_NOTE_LINE_BESIDE || n->kind == SW_NOTE_TILE_UNSEEN || n->kind == SW_NOTE_BLUR_UNEVEN;
        if (why && n->place_count && strcmp(n->places[0], seam) == 0)
            return true;
    }
    return false;
}

sw_status sw_note_unseen(sw_inspection *ins)
{
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < ins->seam_count; i++) {
        const sw_seam *seam = &ins->seams[i];
        double hides_mm = sw_heights_hide_mm(ins, seam), share = sw_seam_unseen(seam);
        if (!seam->station_count || !(share > UNSEEN_SHARE) || told(&ins->notes, seam->name))
            continue;
        status = hides_mm > 0 ? note_hidden(ins, seam, share, hides_mm)
                              : sw_note_add(&ins->notes, SW_NOTE_SEAM_UNSEEN,
                                            "%s: %.0f %% of the seam could not be seen (under a card, or hidden).",
                                            seam->name, 100 * share);
        sw_note_at(&ins->notes, seam->name);
    }
    return status;
}

/* The trace of a seam. */
static const sw_trace *trace_of(const sw_seam *seam, const sw_inspection *ins, const sw_traces *traces)
{
    int column = seam->first % ins->table.columns, row = seam->first / ins->table.columns;
    return seam->upright ? &traces->upright[(column + 1) * traces->rows + row]
                         : &traces->level[column * (traces->rows + 1) + row + 1];
}

/* Shares of a seam that were not seen for a line beside it, and for softness. */
static void not_seen_for(const sw_trace *t, double *doubled, double *soft)
{
    *doubled = *soft = 0;
    for (int i = 0; i < t->count; i++) {
        *doubled += t->places[i].doubled / (double)t->count;
        *soft += t->places[i].soft / (double)t->count;
    }
}

/* Whether the floor shows in the place of `count` tiles, from one by steps. */
static bool all_gone(const bool *gone, int from, int step, int count)
{
    for (int i = 0; i < count; i++)
        if (!gone[from + i * step])
            return false;
    return true;
}

/* An outer row or column without a tile, in words; NULL: none. A table goes as far as its tiles. */
static const char *empty_side(const bool *gone, int columns, int rows)
{
    if (columns > 1 && all_gone(gone, 0, columns, rows))
        return "western column";
    if (columns > 1 && all_gone(gone, columns - 1, columns, rows))
        return "eastern column";
    if (rows > 1 && all_gone(gone, 0, 1, columns))
        return "northern row";
    return rows > 1 && all_gone(gone, (rows - 1) * columns, 1, columns) ? "southern row" : NULL;
}

static sw_status refuse(const sw_inspection *ins, const bool *gone, sw_error *err)
{
    const int columns = ins->table.columns, rows = ins->table.rows;
    size_t left = 0, last = 0;
    for (size_t i = 0; i < ins->tile_count; i++)
        if (!gone[i]) {
            left++;
            last = i;
        }
    const char *empty = ins->tile_count > 1 ? empty_side(gone, columns, rows) : NULL;
    if (empty && left <= 1)
        return sw_fail(err, SW_NOT_FOUND,
                       "%s: only one tile is there, where a table of %d x %d would have %s; the floor shows in the "
                       "place of all others: lay tiles together and photograph them; of one tile alone tell --table "
                       "1x1, on a floor without lines",
                       ins->file, columns, rows, ins->tiles[last].name);
    if (empty)
        return sw_fail(err, SW_NOT_FOUND,
                       "%s: read as a table of %d x %d, of which the whole %s would be missing, so it was misread: "
                       "keep shadows and lines off the table, or say where its outer corners are, in pixels: "
                       "--corners x,y,x,y,x,y,x,y",
                       ins->file, columns, rows, empty);
    return SW_OK;
}

sw_status sw_refuse_misread(const sw_inspection *ins, const sw_traces *traces, sw_error *err)
{
    bool *gone = calloc(ins->tile_count + 1, sizeof *gone);
    if (!gone)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", ins->file);
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_trace *t = trace_of(&ins->seams[i], ins, traces);
        gone[ins->seams[i].first] |= t->no_tile[0];
        gone[ins->seams[i].second] |= t->no_tile[1];
    }
    sw_status status = refuse(ins, gone, err);
    free(gone);
    return status;
}

sw_status sw_note_lines_beside(sw_inspection *ins, const sw_traces *traces)
{
    sw_status status = SW_OK;
    if (traces->patterned)
        status = sw_note_add(&ins->notes, SW_NOTE_EDGE_UNSEEN,
                             "The floor beside the table is patterned, and where its stripes or spots end is no tile's "
                             "edge: the table's own outer edges were not measured, seams were. Lay the table, or paper "
                             "around it, so that the floor beside it is plain.");
    for (size_t i = 0; !status && i < ins->seam_count; i++) {
        const sw_seam *seam = &ins->seams[i];
        const sw_trace *t = trace_of(seam, ins, traces);
        double share, soft;
        not_seen_for(t, &share, &soft);
        if (t->no_tile[0] || t->no_tile[1])
            status = sw_note_add(&ins->notes, SW_NOTE_TILE_UNSEEN,
                                 "%s: tile %s is not there, the floor shows in its place; nothing was measured.",
                                 seam->name, ins->tiles[t->no_tile[0] ? seam->first : seam->second].name);
        else if (share > UNSEEN_SHARE)
            status = sw_note_add(
                &ins->notes, SW_NOTE_LINE_BESIDE,
                "%s: another line or the edge of a shadow runs beside the seam along %.0f %% of it, and which of "
                "them is the gap cannot be told there. Rub out pencil lines, move cables and "
                "shadows away, photograph again.",
                seam->name, 100 * share);
        else if (soft > UNSEEN_SHARE)
            status = sw_note_add(
                &ins->notes, SW_NOTE_BLUR_UNEVEN,
                "%s: along %.0f %% of this seam the photo is much softer than at the cards, as under a drop "
                "or a smear on the lens; nothing was measured there. Wipe the lens, photograph again.",
                seam->name, 100 * soft);
        else
            continue;
        sw_note_at(&ins->notes, seam->name);
    }
    return status;
}
