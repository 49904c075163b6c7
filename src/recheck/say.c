/* say.c - what to mind, and the one next action. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/names.h"
#include "recheck/parts.h"

/* More seams than this are not named one by one in a sentence. */
enum { NAMED_MOST = 6, LIST_ROOM = 160 };
/* Edges off which too much came get a sentence each, as far as one can take in; the table has them all. */
enum { TOLD_MOST = 4 };

/* ", 120 mm from its north end" */
static const char *where(const sw_edge_change *e, double at_mm, char text[48])
{
    snprintf(text, 48, "%.0f mm from its %s", at_mm, sw_end_name(e->side, 0));
    return text;
}

static sw_status warn_of_too_much(sw_comparing *c, const sw_edge_change *e)
{
    char name[EDGE_NAME_ROOM], place[48];
    sw_status status = sw_note_add(&c->out->notes, SW_NOTE_TOO_MUCH_OFF,
                                   "Too much came off %s: %.2f ± %.2f mm more than planned, %s. Take nothing more off "
                                   "it; what is gone stays gone, and the next plan must reckon with it.",
                                   sw_edge_name(c->before, e->tile, e->side, name), e->most_over_mm,
                                   e->most_over_u95_mm, where(e, e->most_over_at_mm, place));
    sw_note_at(&c->out->notes, name);
    return status;
}

static bool is_unplanned(const sw_edge_change *e)
{
    return e->too_much && !e->planned;
}

/* Of two opposite edges one is enough. */
static bool is_pair_over(const sw_edge_change *e)
{
    return e->together_over && !e->too_much && e->side < SW_SOUTH;
}

static bool is_not_seen(const sw_edge_change *e)
{
    return e->planned && !isfinite(e->taken_mm);
}

/* Names of the edges that `is` picks, with what came off them; how many there are. */
static int list_edges(const sw_comparing *c, bool (*is)(const sw_edge_change *), char list[LIST_ROOM])
{
    enum { NAMED = 3 };
    char name[EDGE_NAME_ROOM];
    int count = 0;
    size_t used = 0;
    list[0] = 0;
    for (size_t i = 0; i < c->out->edge_count; i++) {
        const sw_edge_change *e = &c->out->edges[i];
        if (!is(e) || count++ >= NAMED)
            continue;
        sw_edge_name(c->before, e->tile, e->side, name);
        if (is_unplanned(e))
            used += (size_t)snprintf(list + used, LIST_ROOM - used, "%s%s (%.2f ± %.2f mm)", used ? ", " : "", name,
                                     e->most_over_mm, e->most_over_u95_mm);
        else
            used += (size_t)snprintf(list + used, LIST_ROOM - used, "%s%s", used ? ", " : "", name);
    }
    if (count > NAMED)
        snprintf(list + used, LIST_ROOM - used, " and %d more", count - NAMED);
    return count;
}

/* The edges that `is` picks, as places of the last note. */
static sw_status at_edges(sw_comparing *c, bool (*is)(const sw_edge_change *), sw_status status)
{
    char name[EDGE_NAME_ROOM];
    for (size_t i = 0; !status && i < c->out->edge_count; i++)
        if (is(&c->out->edges[i]))
            sw_note_at(&c->out->notes, sw_edge_name(c->before, c->out->edges[i].tile, c->out->edges[i].side, name));
    return status;
}

static sw_status warn_of_edges(sw_comparing *c)
{
    sw_notes *notes = &c->out->notes;
    char list[LIST_ROOM];
    sw_status status = SW_OK;
    if (!c->out->stop && 2 * (size_t)c->astray > c->out->place_count)
        status = sw_note_add(
            notes, SW_NOTE_OTHER_PLAN,
            "Much is missing where the plan takes nothing, on %d of %zu tiles: is this the plan that was carried out?",
            c->astray, c->out->place_count);
    for (size_t i = 0, told = 0; i < c->out->edge_count && told < TOLD_MOST && !status; i++)
        if (c->out->edges[i].too_much && c->out->edges[i].planned) {
            status = warn_of_too_much(c, &c->out->edges[i]);
            told++;
        }
    if (!status && list_edges(c, is_unplanned, list))
        status =
            at_edges(c, is_unplanned,
                     sw_note_add(notes, SW_NOTE_OFF_UNPLANNED,
                                 "Not in the plan, yet something came off: %s. Take nothing more off there.", list));
    if (!status && list_edges(c, is_pair_over, list))
        status = at_edges(
            c, is_pair_over,
            sw_note_add(
                notes, SW_NOTE_TOO_MUCH_OFF,
                "More than planned came off these and their opposite edges together: %s. Take nothing more off either.",
                list));
    if (!status && !c->out->stop && list_edges(c, is_not_seen, list))
        status = at_edges(c, is_not_seen,
                          sw_note_add(notes, SW_NOTE_OFF_UNKNOWN, "What came off these could not be seen: %s.", list));
    return status;
}

/* Names of the seams that `is` picks, as "A1-B1, B1-C1 and 3 more"; how many there are. */
static int list_seams(const sw_comparing *c, bool (*is)(const sw_seam_change *), char list[LIST_ROOM])
{
    int count = 0;
    size_t used = 0;
    list[0] = 0;
    for (size_t i = 0; i < c->out->seam_count; i++)
        if (is(&c->out->seams[i]) && count++ < NAMED_MOST)
            used += (size_t)snprintf(list + used, LIST_ROOM - used, "%s%s", used ? ", " : "",
                                     c->after->seams[c->out->seams[i].seam].name);
    if (count > NAMED_MOST)
        snprintf(list + used, LIST_ROOM - used, " and %d more", count - NAMED_MOST);
    return count;
}

/* Said only where something is to be done about it. */
static bool got_worse(const sw_seam_change *s)
{
    return s->pushed_apart && s->verdict == SW_OVER;
}

static bool is_close(const sw_seam_change *s)
{
    return s->verdict == SW_TOO_CLOSE && isfinite(s->after_mm);
}

static bool is_blind(const sw_seam_change *s)
{
    return !isfinite(s->after_mm);
}

/* The seams that `is` picks, as places of the last note. */
static sw_status at_seams(sw_comparing *c, bool (*is)(const sw_seam_change *), sw_status status)
{
    for (size_t i = 0; !status && i < c->out->seam_count; i++)
        if (is(&c->out->seams[i]))
            sw_note_at(&c->out->notes, c->after->seams[c->out->seams[i].seam].name);
    return status;
}

static sw_status warn_of_seams(sw_comparing *c)
{
    sw_notes *notes = &c->out->notes;
    char list[LIST_ROOM];
    sw_status status = SW_OK;
    if (list_seams(c, got_worse, list))
        status =
            at_seams(c, got_worse,
                     sw_note_add(notes, SW_NOTE_SEAM_WIDER,
                                 "Wider than before, and the gaps of the same row together, too: %s. Push the tiles "
                                 "together and photograph again.",
                                 list));
    if (!status && list_seams(c, is_blind, list))
        status = at_seams(c, is_blind,
                          sw_note_add(notes, SW_NOTE_SEAM_UNSEEN,
                                      "Not seen in the later photo: %s. Whether these are within is not known.", list));
    return status;
}

static sw_status warn_of_sizes(sw_comparing *c)
{
    sw_notes *notes = &c->out->notes;
    const sw_inspection *a = c->before, *b = c->after;
    sw_status status = SW_OK;
    if (a->taken[0] && b->taken[0] && strcmp(a->taken, b->taken) > 0)
        status = sw_note_add(notes, SW_NOTE_ORDER_DOUBTFUL,
                             "The later inspection's photo was taken before the earlier one's (%s, %s): are the two "
                             "files the right way round?",
                             b->taken, a->taken);
    else if (c->backward)
        status = sw_note_add(notes, SW_NOTE_ORDER_DOUBTFUL,
                             "The tiles of the earlier inspection would fit into those of the later one, and sanding "
                             "only takes away: are the two files the right way round?");
    if (!status && c->turned)
        status = sw_note_add(notes, SW_NOTE_OTHER,
                             "The later photo shows the table turned by %s: compared accordingly, edges by their names "
                             "in the earlier inspection.",
                             c->turned == 2   ? "half a turn"
                             : c->turned == 1 ? "a quarter to the right"
                                              : "a quarter to the left");
    if (!status && c->grown)
        status = sw_note_add(notes, SW_NOTE_TILES_GREW,
                             "%d of %zu tiles read larger than before by more than the ±. Tiles do not grow: check "
                             "that each inspection was given its own card's size.",
                             c->grown, a->tile_count);
    if (!status && !c->out->stop && c->unseen) {
        status = sw_note_add(notes, SW_NOTE_OFF_UNKNOWN,
                             "What came off tile %s%s is not known: it was not measured well enough in both photos.",
                             c->unseen_name, c->unseen > 1 ? " and others" : "");
        sw_note_at(notes, c->unseen_name);
    }
    if (!status && !c->out->stop && c->unsplit) {
        char first[EDGE_NAME_ROOM];
        sw_side other = (sw_side)(c->unsplit_side + 2);
        sw_edge_name(c->before, c->unsplit_tile, c->unsplit_side, first);
        status = sw_note_add(notes, SW_NOTE_OFF_UNKNOWN,
                             "%s and %s: what came off the two together is known, but not how much of it off which, as "
                             "nothing on the tile tells them apart.%s%s",
                             first, sw_side_name(other), c->unsplit > 1 ? " The same holds for others." : "",
                             c->plan ? "" : " The plan that was carried out would help (--plan).");
        sw_note_at(notes, first);
        sw_note_at(notes, sw_edge_name(c->before, c->unsplit_tile, other, first));
    }
    return status;
}

/* ---- the next action ---- */

/* The planned edge at an open seam from which most is still to come off; NULL when there is none. */
static const sw_edge_change *most_left(const sw_comparing *c)
{
    const sw_edge_change *best = NULL;
    double most = 0;
    for (size_t i = 0; i < c->out->seam_count && c->out->seams[i].verdict == SW_OVER; i++)
        for (size_t k = 0; k < c->out->edge_count; k++) {
            const sw_edge_change *e = &c->out->edges[k];
            const sw_seam_change *s = &c->out->seams[i];
            bool here =
                (s->tile[0] == e->tile && s->side[0] == e->side) || (s->tile[1] == e->tile && s->side[1] == e->side);
            if (here && e->not_enough && !e->too_much && e->planned_mm - e->taken_mm > most) {
                most = e->planned_mm - e->taken_mm;
                best = e;
            }
        }
    return best;
}

/* A sheet of printing paper of 80 g/m2, mm: common practice, no source. */
static const double PAPER_MM = 0.1;

static void say_stop(sw_comparing *c)
{
    char list[LIST_ROOM];
    sw_recheck *out = c->out;
    double limit = out->tolerance_mm;
    int close = list_seams(c, is_close, list);
    if (close)
        snprintf(out->next, sizeof out->next,
                 "Stop here: no seam is surely over %.2f mm. Too close to call: %s. Sand no more for the photo's sake. "
                 "To be "
                 "sure, try a feeler gauge of %.2f mm at the widest place (printing paper is about 0.1 mm a sheet: %d "
                 "sheets). Where it does not slip in, you are done; where it does, photograph once more, nearer or in "
                 "softer "
                 "light.",
                 limit, list, limit, (int)lround(limit / PAPER_MM));
    else if (out->too_close) {
        list_seams(c, is_blind, list);
        snprintf(out->next, sizeof out->next,
                 "Stop here: every seam that was seen is within %.2f mm. Not seen: %s. Photograph these once more "
                 "before you sand anything.",
                 limit, list);
    } else
        snprintf(out->next, sizeof out->next,
                 "Stop here: every seam is within %.2f mm. Take nothing more off any edge.", limit);
}

static void say_go_on(sw_comparing *c)
{
    char name[EDGE_NAME_ROOM], place[48];
    sw_recheck *out = c->out;
    const sw_edge_change *left = most_left(c);
    const sw_seam_change *worst = &out->seams[0];
    const char *seam = c->after->seams[worst->seam].name;
    if (got_worse(worst))
        snprintf(
            out->next, sizeof out->next,
            "Push the tiles together and photograph again before any work: %s gapes more than before, and so do the "
            "gaps of its row together.",
            seam);
    else if (left)
        snprintf(
            out->next, sizeof out->next,
            "Go on with the plan: %.2f mm came off %s where %.2f mm should, so up to %.2f mm more, %s. A little at a "
            "time; then push the tiles together, photograph again and inspect with --after.",
            fmax(0, left->taken_mm), sw_edge_name(c->before, left->tile, left->side, name), left->planned_mm,
            left->planned_mm - fmax(0, left->taken_mm), where(left, left->planned_at_mm, place));
    else
        snprintf(out->next, sizeof out->next,
                 "Plan the next round from the later inspection ('seamwright plan') and do its list in this order: "
                 "square and bevel, worst seam first (%s now); true up; fill. Then push the tiles together, photograph "
                 "again and inspect with --after.",
                 seam);
}

sw_status sw_recheck_say(sw_comparing *c, sw_error *err)
{
    sw_status status = warn_of_edges(c);
    if (!status)
        status = warn_of_seams(c);
    if (!status)
        status = warn_of_sizes(c);
    if (status)
        return sw_fail(err, status, "not enough memory; close other programs and try again");
    if (c->out->stop)
        say_stop(c);
    else
        say_go_on(c);
    return SW_OK;
}
