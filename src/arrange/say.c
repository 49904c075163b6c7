#include "arrange/say.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "arrange/pairs.h"
#include "inspection/names.h"
#include "inspection/notes.h"
#include "inspection/order.h"
#include "push/openings.h"
#include "seamwright/seam.h"

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

static bool answered(const sw_arrangement *a, int tile, sw_side side)
{
    for (size_t i = 0; i < a->answer_count; i++)
        if (a->answers[i].tile == tile && a->answers[i].side == side)
            return true;
    return false;
}

/* Stands open along its whole length, and nobody has held a try square to both faces. */
static bool stands_off(const sw_arrangement *a, const sw_seam *s)
{
    return s->min_mm > STANDS_OFF_MM && s->min_mm > s->mean_u95_mm &&
           !(answered(a, s->first, sw_joint_side(s, 0)) && answered(a, s->second, sw_joint_side(s, 1)));
}

static sw_status note_standoffs(const sw_inspection *first, sw_arrangement *a)
{
    sw_notes *notes = &a->notes;
    char names[160] = "";
    bool full = false;
    for (size_t i = 0; i < first->seam_count; i++)
        if (stands_off(a, &first->seams[i]))
            list(names, sizeof names, first->seams[i].name, &full);
    if (!names[0])
        return SW_OK;
    sw_status status = sw_note_add(notes, SW_NOTE_LEAN_POSSIBLE,
                                   "In the photo %s stand open along their whole length. If those tiles were pushed "
                                   "tight, a face leans there, and the gap goes where that tile goes. If not, all "
                                   "this is too wide: push them, photograph again, and arrange from that.",
                                   names);
    for (size_t i = 0; !status && i < first->seam_count; i++)
        if (stands_off(a, &first->seams[i]))
            sw_note_at(notes, first->seams[i].name);
    return status;
}

static sw_status note_unknown(sw_arrangement *a)
{
    int unknown = a->after.unknown;
    if (!unknown)
        return SW_OK;
    return sw_note_add(&a->notes, SW_NOTE_LEAN_POSSIBLE,
                       "Nothing is known of the lean of %d face%s that would meet another, as %s at the rim, or at a "
                       "seam not seen. At worst %s counted as leaning %.2f mm, as much as any other may.",
                       unknown, unknown == 1 ? "" : "s", unknown == 1 ? "it lies" : "they lie",
                       unknown == 1 ? "it is" : "they are", a->likely_mm);
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

double sw_arrange_usual_u95(const sw_inspection *first)
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
    double gain = arrangement->before.worst_mm - arrangement->after.worst_mm, u95 = sw_arrange_usual_u95(first);
    sw_notes *notes = &arrangement->notes;
    sw_status status = note_standoffs(first, arrangement);
    if (!status)
        status = note_unknown(arrangement);
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

static bool fits(const sw_arranged *a, double tolerance_mm)
{
    for (size_t i = 0; i < a->seam_count; i++)
        if (sw_verdict_of(a->seams[i].max_mm, a->seams[i].u95_mm, tolerance_mm) != SW_WITHIN)
            return false;
    return true;
}

static void say_ask(const sw_inspection *first, sw_arrangement *a)
{
    char name[EDGE_NAME_ROOM];
    sw_edge_name(first, a->ask_tile, a->ask_side, name);
    snprintf(
        a->next, sizeof a->next,
        "If the tiles were pushed tight for the photo, hold a try square to %s first, and arrange again with what it "
        "shows: --lean \"%s=square\", or how far its base stands proud in mm. At best, as faces may lean, the widest "
        "gap can come to %.2f mm. Another arrangement, %s, pushed tight, photographed and given with --layout, tells "
        "too. If they were not pushed tight, push them and photograph again.",
        name, name, a->hope_mm, a->better ? "like the one found" : "with some tiles swapped");
}

void sw_arrange_say_next(const sw_inspection *first, sw_arrangement *arrangement)
{
    double tolerance = arrangement->tolerance_mm;
    bool fits_then = fits(&arrangement->after, tolerance);
    char *next = arrangement->next;
    size_t room = sizeof arrangement->next;
    if (fits(&arrangement->before, tolerance))
        snprintf(next, room,
                 "Push the tiles together as they lie and photograph again: they should close to within %.2f mm.%s",
                 tolerance, arrangement->better ? " Lay them anew only if you want less." : "");
    else if (arrangement->ask_tile >= 0)
        say_ask(first, arrangement);
    else if (!arrangement->better)
        snprintf(next, room, "Leave the tiles as they lie. %s; then make a plan of what to sand (seamwright plan).",
                 sw_order_begin);
    else
        snprintf(
            next, room, "Lay the tiles as in the picture, push them together, then photograph and inspect again%s.",
            fits_then ? ""
                      : ", and make a plan of what to sand from both inspections (seamwright plan, with --layout)");
}
