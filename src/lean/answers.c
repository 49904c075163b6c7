/* answers.c - what a try square said of single faces: from text, and checked. */
#include "lean/answers.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/names.h"
#include "inspection/notes.h"
#include "push/lp.h"
#include "seamwright/defaults_and_ranges.h"

/* How surely a try square and a feeler gauge or ruler tell how far a base stands proud; and how surely that a face is
 * square, which is when no light shows below the blade. mm; common practice, no source. */
static const double READ_U95_MM = 0.2, SQUARE_U95_MM = 0.1;

#define EXAMPLE "\"B1 east=1.9, C1 west=square\""

double sw_answer_u95_mm(const sw_lean_answer *answer)
{
    return answer->lean_mm > 0 ? READ_U95_MM : SQUARE_U95_MM;
}

/* ---- from text ---- */

static void skip_blanks(const char **at)
{
    *at += strspn(*at, " \t");
}

/* Moves *at behind the word if it stands there, in small letters or capitals. */
static bool take_word(const char **at, const char *word)
{
    const char *c = *at;
    while (*word && tolower((unsigned char)*c) == tolower((unsigned char)*word)) {
        c++;
        word++;
    }
    if (*word || isalnum((unsigned char)*c))
        return false;
    *at = c;
    return true;
}

/* "B1 east", with any blanks between the two. */
static bool take_edge(const char **at, const sw_inspection *first, sw_lean_answer *answer)
{
    for (size_t t = 0; t < first->tile_count; t++) {
        const char *c = *at;
        if (!take_word(&c, first->tiles[t].name))
            continue;
        skip_blanks(&c);
        for (int s = 0; s < 4; s++)
            if (take_word(&c, sw_side_name((sw_side)s))) {
                *answer = (sw_lean_answer){(int)t, (sw_side)s, 0};
                *at = c;
                return true;
            }
    }
    return false;
}

static sw_status take_lean(const char **at, double *lean_mm, sw_error *err)
{
    static const char DIGITS[] = "0123456789.";
    char *end = NULL;
    if (take_word(at, "square"))
        return SW_OK;
    if (!strchr(DIGITS, **at) || !**at)
        return sw_fail(err, SW_BAD_INPUT,
                       "behind the = goes how far the base stands proud, in mm, or the word square, like " EXAMPLE);
    size_t length = strspn(*at, DIGITS);
    *lean_mm = strtod(*at, &end);
    if (end != *at + length || !strchr(" \t,", *end))
        return sw_fail(err, SW_BAD_INPUT, "write bare numbers of mm with a point, like " EXAMPLE);
    *at = end;
    return sw_range_check(SW_LEAN_MM, "how far a base stands proud", *lean_mm, err);
}

static sw_status take_answer(const char **at, const sw_inspection *first, sw_lean_answer *answer, sw_error *err)
{
    const char *from = *at;
    if (!take_edge(at, first, answer))
        return sw_fail(err, SW_BAD_INPUT,
                       "'%.*s' is no edge of this table, which has %s to %s, each with north, east, south and west; "
                       "write like " EXAMPLE,
                       (int)strcspn(from, "=,") < 40 ? (int)strcspn(from, "=,") : 40, from,
                       first->tile_count ? first->tiles[0].name : "none",
                       first->tile_count ? first->tiles[first->tile_count - 1].name : "none");
    skip_blanks(at);
    if (*(*at)++ != '=')
        return sw_fail(err, SW_BAD_INPUT, "an edge and its answer are joined by =, like " EXAMPLE);
    skip_blanks(at);
    return take_lean(at, &answer->lean_mm, err);
}

static bool comes_twice(const sw_lean_answer *answers, size_t count)
{
    const sw_lean_answer *last = &answers[count - 1];
    for (size_t i = 0; i + 1 < count; i++)
        if (answers[i].tile == last->tile && answers[i].side == last->side)
            return true;
    return false;
}

static sw_status check_once(const sw_lean_answer *answers, size_t count, const sw_inspection *first, sw_error *err)
{
    char name[EDGE_NAME_ROOM];
    const sw_lean_answer *last = &answers[count - 1];
    if (!comes_twice(answers, count))
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT, "%s is answered for twice", sw_edge_name(first, last->tile, last->side, name));
}

sw_status sw_lean_answers_read(const char *text, const sw_inspection *first, sw_lean_answer **answers, size_t *count,
                               sw_error *err)
{
    size_t items = 1;
    *answers = NULL;
    *count = 0;
    for (const char *c = text; *c; c++)
        items += *c == ',';
    sw_lean_answer *list = calloc(items, sizeof *list);
    if (!list)
        return sw_plan_no_memory(err);
    sw_status status = SW_OK;
    size_t n = 0;
    for (const char *at = text; !status; at++) {
        skip_blanks(&at);
        status = take_answer(&at, first, &list[n++], err);
        if (!status)
            status = check_once(list, n, first, err);
        if (status)
            break;
        skip_blanks(&at);
        if (*at && *at != ',')
            status = sw_fail(err, SW_BAD_INPUT, "answers have a comma between them, like " EXAMPLE);
        if (!*at)
            break;
    }
    if (status) {
        free(list);
        return status;
    }
    *answers = list;
    *count = n;
    return SW_OK;
}

/* ---- checked ---- */

/* How far open the seam at an edge is at its narrowest, and what is unsure of it: the most that its base can stand
 * proud. Infinite at the table's rim and where nothing was seen. */
static double room_at(const sw_lean_answer *answer, const sw_inspection *first, const sw_openings *e)
{
    for (size_t j = 0; j < e->count; j++)
        for (int rim = 0; rim < 2; rim++) {
            const sw_seam *seam = &first->seams[j];
            if ((rim ? seam->second : seam->first) != answer->tile || sw_joint_side(seam, rim) != answer->side)
                continue;
            return e->seen[j] > 0 && isfinite(e->least_u95_mm[j]) ? fmax(0, e->least_mm[j]) + e->least_u95_mm[j]
                                                                  : INFINITY;
        }
    return INFINITY;
}

static sw_status check(const sw_lean_answer *given, size_t count, const sw_inspection *first, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < count; i++) {
        const sw_lean_answer *a = &given[i];
        if (a->tile < 0 || (size_t)a->tile >= first->tile_count || (unsigned)a->side > SW_WEST)
            return sw_fail(err, SW_BAD_INPUT, "an answer of a try square is about an edge that the table lacks");
        status = sw_range_check(SW_LEAN_MM, "how far a base stands proud", a->lean_mm, err);
        if (!status)
            status = check_once(given, i + 1, first, err);
    }
    return status;
}

static sw_status note_left_out(const sw_lean_answer *answer, const sw_inspection *first, double room_mm,
                               sw_notes *notes)
{
    char name[EDGE_NAME_ROOM];
    sw_edge_name(first, answer->tile, answer->side, name);
    sw_status status = sw_note_add(notes, SW_NOTE_ANSWER_LEFT_OUT,
                                   "%s: a try square said %.1f mm, but the seam there is at most %.1f mm open at its "
                                   "narrowest, and bases cannot overlap. Taken as bevelled since, so no longer used; "
                                   "hold the try square to it again if it was not.",
                                   name, answer->lean_mm, room_mm);
    if (!status)
        sw_note_at(notes, name);
    return status;
}

sw_status sw_answers_used(const sw_lean_answer *given, size_t count, const sw_inspection *first,
                          const sw_openings *openings, sw_lean_answer **used, size_t *used_count, sw_notes *notes,
                          sw_error *err)
{
    *used = NULL;
    *used_count = 0;
    sw_status status = check(given, count, first, err);
    if (status || !count)
        return status;
    sw_lean_answer *list = calloc(count, sizeof *list);
    size_t n = 0;
    if (!list)
        return sw_plan_no_memory(err);
    for (size_t i = 0; !status && i < count; i++) {
        double room_mm = room_at(&given[i], first, openings);
        if (given[i].lean_mm - sw_answer_u95_mm(&given[i]) > room_mm)
            status = sw_noted(note_left_out(&given[i], first, room_mm, notes), err);
        else
            list[n++] = given[i];
    }
    if (status || !n)
        free(list);
    *used = status || !n ? NULL : list;
    *used_count = status ? 0 : n;
    return status;
}
