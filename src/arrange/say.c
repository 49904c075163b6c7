#include "arrange/say.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "arrange/pairs.h"
#include "inspection/names.h"
#include "inspection/notes.h"

/* A seam that stays at least so far open everywhere, by more than its ±, does not look like tiles pushed until they
 * touch, mm: half a tenth is dust or a rough edge. */
static const double STANDS_OFF_MM = 0.15;

/* Adds ", name" to a list; the list says "and more" once when it is full. */
static void list(char *text, size_t room, const char *name, bool *full)
{
    size_t length = strlen(text);
    if (length + strlen(name) + 16 < room)
        snprintf(text + length, room - length, "%s%s", length ? ", " : "", name);
    else if (length + 10 < room && !*full) {
        snprintf(text + length, room - length, " and more");
        *full = true;
    }
}

static bool stands_off(const sw_seam *s)
{
    return s->min_mm > STANDS_OFF_MM && s->min_mm > s->mean_u95_mm;
}

static sw_status note_standoffs(const sw_inspection *first, sw_notes *notes)
{
    char names[160] = "";
    bool full = false;
    for (size_t i = 0; i < first->seam_count; i++)
        if (stands_off(&first->seams[i]))
            list(names, sizeof names, first->seams[i].name, &full);
    sw_status status = sw_note_add(notes, SW_NOTE_LEAN_POSSIBLE,
                                   "Reckoned from the top edges alone, pushed until they touch. A side face that leans "
                                   "can hold tops apart; a photo from above does not show which one.");
    if (status || !names[0])
        return status;
    status = sw_note_add(notes, SW_NOTE_LEAN_POSSIBLE,
                         "In the photo %s stand open along their whole length. If those tiles were pushed tight, a "
                         "face leans there, and the gap goes where that tile goes. Hold a try square to it.",
                         names);
    for (size_t i = 0; !status && i < first->seam_count; i++)
        if (stands_off(&first->seams[i]))
            sw_note_at(notes, first->seams[i].name);
    return status;
}

/* Name of the tile's edge when it was hardly seen, else NULL. */
static const char *unseen_edge(const sw_inspection *first, const sw_outline *outlines, size_t edge,
                               char name[EDGE_NAME_ROOM])
{
    size_t tile = edge / 4;
    sw_side side = (sw_side)(edge % 4);
    return sw_outline_seen(&outlines[tile], side) < SW_JOINT_LEAST_SEEN ? sw_edge_name(first, (int)tile, side, name)
                                                                        : NULL;
}

static sw_status note_unseen(const sw_inspection *first, const sw_outline *outlines, sw_notes *notes)
{
    char names[200] = "", name[EDGE_NAME_ROOM];
    bool full = false;
    for (size_t i = 0; i < 4 * first->tile_count; i++)
        if (unseen_edge(first, outlines, i, name))
            list(names, sizeof names, name, &full);
    if (!names[0])
        return SW_OK;
    sw_status status = sw_note_add(notes, SW_NOTE_EDGE_UNSEEN,
                                   "Hardly seen, so not judged: %s. The search gains nothing from such an edge. "
                                   "Photograph with the whole table and its rim in view.",
                                   names);
    for (size_t i = 0; !status && i < 4 * first->tile_count; i++)
        if (unseen_edge(first, outlines, i, name))
            sw_note_at(notes, name);
    return status;
}

static int by_size(const void *a, const void *b)
{
    double one = *(const double *)a, two = *(const double *)b;
    return (one > two) - (one < two);
}

/* The ± that a widest gap has on this table: the median of the seams'. NaN when none was seen. */
static double usual_u95(const sw_inspection *first)
{
    double *u = calloc(first->seam_count + 1, sizeof *u), median;
    size_t n = 0;
    for (size_t i = 0; u && i < first->seam_count; i++)
        if (isfinite(first->seams[i].max_u95_mm))
            u[n++] = first->seams[i].max_u95_mm;
    if (n)
        qsort(u, n, sizeof *u, by_size);
    median = n ? u[n / 2] : NAN;
    free(u);
    return median;
}

sw_status sw_arrange_say_notes(const sw_inspection *first, const sw_outline *outlines, sw_arrangement *arrangement,
                               sw_error *err)
{
    double gain = arrangement->before.worst_mm - arrangement->after.worst_mm, u95 = usual_u95(first);
    sw_notes *notes = &arrangement->notes;
    sw_status status = note_standoffs(first, notes);
    if (!status)
        status = note_unseen(first, outlines, notes);
    if (!status && arrangement->better && gain < u95)
        status = sw_note_add(notes, SW_NOTE_SMALL_GAIN,
                             "The widest gap shrinks by %.2f mm only, less than the ± %.2f mm of a gap in this photo: "
                             "whether it is worth the work shows only when you lay the tiles so.",
                             fmax(0, gain), u95);
    else if (!status && arrangement->better)
        status = sw_note_add(notes, SW_NOTE_FORECAST,
                             "These are forecasts. Each gap is at least as unsure as in the photo (about ± %.2f mm), "
                             "and of many arrangements the luckiest was picked: expect a little more than forecast.",
                             isfinite(u95) ? u95 : 0);
    return sw_noted(status, err);
}

void sw_arrange_say_next(sw_arrangement *arrangement)
{
    double tolerance = arrangement->tolerance_mm;
    bool fits_now = arrangement->before.worst_mm <= tolerance, fits_then = arrangement->after.worst_mm <= tolerance;
    char *next = arrangement->next;
    size_t room = sizeof arrangement->next;
    if (fits_now)
        snprintf(next, room,
                 "Push the tiles together as they lie and photograph again: their top edges should close to within "
                 "%.2f mm.%s",
                 tolerance, arrangement->better ? " Lay them anew only if you want less." : "");
    else if (!arrangement->better)
        snprintf(next, room, "Leave the tiles as they lie, and make a plan of what to sand (seamwright plan).");
    else
        snprintf(
            next, room, "Lay the tiles as in the picture, push them together, then photograph and inspect again%s.",
            fits_then ? ""
                      : ", and make a plan of what to sand from both inspections (seamwright plan, with --layout)");
}
