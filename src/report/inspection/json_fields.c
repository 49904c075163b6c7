/* json_fields.c - inspection.json, member by member: what a file holds and what is asked of one that is read.
 *
 * Decimals: 0.1 um, 0.0001 degree (0.5 um over 300 mm) and 0.0001 px lie far below what one photo can tell.
 * Uncertainties of a budget have 1e-6 mm, so that small ones are not all 0 and their squares add up; spreads between
 * photos 0.01 um, being small against the figures they belong to. */
#include "report/common/json_notes.h"
#include "report/inspection/json_own.h"
#include "report/inspection/limits.h"

#include <math.h>
#include <string.h>

#include "files/formats.h"
#include "report/common/words.h"
#include "report/inspection/read.h"
#include "scale/profile.h"
#include "seamwright/defaults_and_ranges.h"

enum { MM = 4, DEGREES = 4, PX = 4, RADIANS = 8, SHARE = 4, BUDGET = 6, SPREAD = 5, CHI = 2, FREEDOM = 1 };
/* Of a table of SW_TABLE_MOST each way. */
enum { SW_SEAMS_MOST = 2 * SW_TABLE_MOST * (SW_TABLE_MOST - 1) };
enum { MOST_SQUARES = sizeof((sw_scale *)0)->squares / sizeof(sw_square), MOST_RANK = 1000000 };
/* Half and twice what may be asked for (SW_TILE_MM): a tile as measured is not the tile as said. */
#define TILE_LEAST_MM 10.0
#define TILE_MOST_MM 4000.0

SW_WORDS(lens_word, sw_lens_source, sw_lens_source_name)
SW_WORDS(state_word, sw_station_state, sw_station_state_name)
SW_WORDS(verdict_word, sw_verdict, sw_verdict_name)
SW_WORDS(action_word, sw_action, sw_action_name)
SW_WORDS(top_action_word, sw_top_action, sw_top_action_name)
SW_WORDS(corner_word, sw_corner_name, sw_corner_label)
SW_WORDS(side_word, sw_side, sw_side_name)
SW_WORDS(agreement_word, sw_agreement, sw_agreement_name)
SW_WORDS(part_word, sw_part, sw_part_name)
SW_WORDS(part_kind_word, sw_part_kind, sw_part_kind_name)
SW_WORDS(figure_word, sw_budget_figure, sw_budget_figure_name)

/* Figures with limits that follow from the table (limits.h): where along an edge, how far off a straight line, how wide,
 * how long, where on the table, and every ±. */
#define TAKEN(taker, type, member, places)                                                                             \
    SW_DOUBLE(type, member, places, -1e6, 1e6), .put = sw_put_figure, .take = sw_take_##taker
/* With limits of its own. */
#define WITHIN(type, member, places, low, high)                                                                        \
    SW_DOUBLE(type, member, places, low, high), .put = sw_put_figure, .take = sw_take_figure
#define ALONG(type, member) TAKEN(along, type, member, MM)
#define OFF(type, member) TAKEN(off, type, member, MM)
#define WIDTH(type, member) TAKEN(width, type, member, MM)
#define SIDE(type, member) TAKEN(side, type, member, MM)
#define PLACE(type, member) TAKEN(place, type, member, MM)
#define HEIGHT(type, member) TAKEN(height, type, member, MM)
#define U95(type, member, places) TAKEN(u95, type, member, places)
#define HIDDEN_MOST_MM 1000.0 /* no seam is longer */
#define HEIGHT_MOST_MM 500.0  /* SW_HEIGHT_MM */
#define TURN_MOST_RAD 0.7854  /* an eighth of a turn: beyond it the next side is the north one */

/* ---- head ---- */

static const sw_field photo[] = {
    {"file", SW_MAY, SW_TEXT(sw_inspection, file)},
    {"width_px", SW_MAY, SW_WHOLE(sw_inspection, width_px, 0, SW_PHOTO_MAX_PIXELS)},
    {"height_px", SW_MAY, SW_WHOLE(sw_inspection, height_px, 0, SW_PHOTO_MAX_PIXELS)},
    {"taken", SW_MAY, SW_TEXT_OR_NULL(sw_inspection, taken)},
    {"camera", SW_MAY, SW_TEXT_OR_NULL(sw_inspection, camera)},
};

static json_t *put_reference(const sw_field *field, const void *reference, sw_putting *p)
{
    char name[64];
    (void)field, (void)p;
    sw_reference_name(reference, name, sizeof name);
    return sw_json_text(name);
}

static const sw_field scale[] = {
    {"reference", SW_MAY, .at = offsetof(sw_scale, reference), .put = put_reference, .take = sw_take_reference},
    {"squares", SW_MAY, SW_WHOLE(sw_scale, square_count, 0, MOST_SQUARES)},
    {"px_per_mm", SW_MAY, WITHIN(sw_scale, px_per_mm, PX, 0, 1e4)},
    {"lens", SW_MAY, SW_WORD(sw_scale, lens.source, lens_word, SW_LENS_PROFILE + 1)},
    {"residual_px", SW_MAY, WITHIN(sw_scale, residual_px, PX, 0, 1e4)},
    {"edge_spread_px", SW_MAY, SW_FIGURE(sw_scale, edge_spread_px, PX)},
    {"edge_spread_u_px", SW_MAY, WITHIN(sw_scale, edge_spread_u_px, PX, 0, 1e4)},
    {"blur_px", SW_MAY, WITHIN(sw_scale, blur_px, PX, 0, 1e4)},
};

static const sw_field table[] = {
    {"columns", SW_MUST, SW_WHOLE(sw_table, columns, 1, SW_TABLE_MOST)},
    {"rows", SW_MUST, SW_WHOLE(sw_table, rows, 1, SW_TABLE_MOST)},
    {"tile_mm", SW_MUST, SW_NUMBER(sw_table, tile_mm, MM, TILE_LEAST_MM, TILE_MOST_MM)},
    {"tile_given", SW_MAY, SW_FLAG(sw_table, tile_given)},
    {"height_mm", SW_MAY, SW_POSITIVE(sw_table, height_mm, MM)},
};

/* ---- what the user said, and what was before ---- */

static json_t *put_thickness(const sw_field *field, const void *at, sw_putting *p)
{
    const sw_given *given = (const void *)((const char *)at - field->at);
    return given->card_thickness ? sw_put_figure(field, at, p) : json_null();
}

static void take_thickness(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_given *given = sw_struct_of(field, at);
    given->card_thickness = !json_is_null(value);
    if (given->card_thickness)
        sw_take_number(r, field, value, at);
}

static const sw_field profile = {"lens", .need = SW_MUST, SW_TABLE(sw_lens_fields)};

static json_t *put_lens(const sw_field *field, const void *at, sw_putting *p)
{
    (void)field;
    return ((const sw_lens *)at)->source == SW_LENS_NONE ? json_null() : sw_put_object(&profile, at, p);
}

static void take_lens(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    (void)field;
    if (!json_is_null(value))
        sw_take_object(r, &profile, value, at);
}

static const sw_field height[] = {
    {"tile", SW_MUST, SW_TEXT(sw_tile_height, tile)},
    {"height_mm", SW_MUST, SW_NUMBER(sw_tile_height, height_mm, MM, 0, HEIGHT_MOST_MM)},
};

static const sw_field given[] = {
    {"card_thickness_mm", SW_MAY, SW_DOUBLE(sw_given, card_thickness_mm, MM, 0, SW_CARD_THICKNESS_MOST_MM),
     .put = put_thickness, .take = take_thickness},
    {"height_mm", SW_MAY, SW_POSITIVE(sw_given, height_mm, MM)},
    {"heights", SW_MAY, SW_LIST(sw_given, heights, height_count, height, "height")},
    {"lens", SW_MAY, SW_MEMBER(sw_given, lens), .put = put_lens, .take = take_lens},
};

static const sw_field round_of[] = {
    {"photo", SW_MUST, SW_TEXT(sw_round, file)},
    {"over", SW_MUST, SW_WHOLE(sw_round, over, 0, SW_SEAMS_MOST)},
    {"too_close", SW_MUST, SW_WHOLE(sw_round, too_close, 0, SW_SEAMS_MOST)},
    {"seams", SW_MUST, SW_WHOLE(sw_round, seams, 0, SW_SEAMS_MOST)},
    {"tolerance_mm", SW_MUST, SW_NUMBER(sw_round, tolerance_mm, MM, SW_TOLERANCE_LEAST_MM, SW_TOLERANCE_MOST_MM)},
};

static const sw_field after[] = {
    {"inspection", SW_MUST, SW_TEXT(sw_inspection, after)},
    {"rounds", SW_MUST, SW_LIST(sw_inspection, rounds, round_count, round_of, "round")},
};

static bool follows(const void *inspection)
{
    return ((const sw_inspection *)inspection)->round_count > 0;
}

/* ---- tiles ---- */

static const sw_field chip[] = {
    {"edge", SW_MUST, SW_EDGE(sw_chip)},
    {"at_mm", SW_MUST, ALONG(sw_chip, at_mm)},
    {"length_mm", SW_MUST, WIDTH(sw_chip, length_mm)},
    {"depth_mm", SW_MUST, WIDTH(sw_chip, depth_mm)},
};

static const sw_field corner[] = {
    {"x_mm", SW_MUST, PLACE(sw_corner, mm.x)},
    {"y_mm", SW_MUST, PLACE(sw_corner, mm.y)},
    {"angle_deg", SW_MUST, WITHIN(sw_corner, angle_deg, DEGREES, 30, 150)},
    {"u95_deg", SW_MUST, WITHIN(sw_corner, u95_deg, DEGREES, 0, 180)},
};

static const sw_field rim[] = {
    {"at_mm", SW_MUST, ALONG(sw_rim_point, at_mm), .rises = true},
    {"proud_mm", SW_MUST, OFF(sw_rim_point, proud_mm)},
    {"state", SW_MAY, SW_WORD(sw_rim_point, state, state_word, SW_STATION_UNSEEN + 1)},
    SW_STEP(sw_check_rim),
};

static const sw_field edge[] = {
    {"length_mm", SW_MUST, SIDE(sw_edge, length_mm)},
    {"length_u95_mm", SW_MUST, U95(sw_edge, length_u95_mm, MM)},
    {"straightness_mm", SW_MUST, WIDTH(sw_edge, straightness_mm)},
    {"straightness_u95_mm", SW_MUST, U95(sw_edge, straightness_u95_mm, MM)},
    {"bow_mm", SW_MUST, OFF(sw_edge, bow_mm)},
    {"rim_mm", SW_MAY, WIDTH(sw_edge, rim_mm)},
    {"rim_u95_mm", SW_MAY, U95(sw_edge, rim_u95_mm, MM)},
    {"seen", SW_MAY, WITHIN(sw_edge, seen, SHARE, 0, 1)},
    {NULL, SW_MUST, SW_COLUMNS(sw_edge, points, point_count, rim)},
    SW_STEP(sw_check_edge),
};

static const sw_field square[] = {
    {"x_mm", SW_MUST, PLACE(sw_tile, centre_mm.x)},
    {"y_mm", SW_MUST, PLACE(sw_tile, centre_mm.y)},
    {"turn_rad", SW_MUST, WITHIN(sw_tile, turn_rad, RADIANS, -TURN_MOST_RAD, TURN_MOST_RAD)},
    {"side_mm", SW_MUST, SIDE(sw_tile, side_mm)},
};

static const sw_field tile[] = {
    SW_STEP(sw_start_tile),
    {"name", SW_MUST, SW_TEXT(sw_tile, name)},
    {"column", SW_MAY, SW_WHOLE(sw_tile, column, 0, 25)},
    {"row", SW_MAY, SW_WHOLE(sw_tile, row, 0, 98)},
    {"height_mm", SW_MAY, HEIGHT(sw_tile, height_mm)},
    {"height_u95_mm", SW_MAY, U95(sw_tile, height_u95_mm, MM)},
    {"tilt_deg", SW_MAY, WITHIN(sw_tile, tilt_deg, DEGREES, 0, 90)},
    {"tilt_u95_deg", SW_MAY, WITHIN(sw_tile, tilt_u95_deg, DEGREES, 0, 180)},
    {"corners", SW_MUST, SW_NAMED(sw_tile, corners, corner, corner_word, 4, "corner %s")},
    {"edges", SW_MUST, SW_NAMED(sw_tile, edges, edge, side_word, 4, "%s edge")},
    {"best_square", SW_MAY, SW_PART(square)},
    {"chips", SW_MAY, SW_LIST(sw_tile, chips, chip_count, chip, "chip")},
    SW_STEP(sw_check_tile),
};

/* ---- seams ---- */

static const sw_field point[] = {
    {"x_mm", SW_MUST, PLACE(sw_point, x)},
    {"y_mm", SW_MUST, PLACE(sw_point, y)},
};

static const sw_field gap[] = {
    {"mean", SW_MUST, WIDTH(sw_seam, mean_mm)},
    {"min", SW_MUST, WIDTH(sw_seam, min_mm)},
    {"max", SW_MUST, WIDTH(sw_seam, max_mm)},
    {"max_at_mm", SW_MUST, ALONG(sw_seam, max_at_mm)},
    {"mean_u95", SW_MUST, U95(sw_seam, mean_u95_mm, MM)},
    {"max_u95", SW_MUST, U95(sw_seam, max_u95_mm, MM)},
    {"max_hidden", SW_MAY, SW_DOUBLE(sw_seam, hidden_mm, MM, 0, HIDDEN_MOST_MM), .put = sw_put_positive,
     .take = sw_take_positive},
    {"max_seen_u95", SW_MAY, SW_DOUBLE(sw_seam, seen_u95_mm, MM, 0, HIDDEN_MOST_MM), .put = sw_put_positive,
     .take = sw_take_positive},
};

static const sw_field station[] = {
    {"at_mm", SW_MUST, ALONG(sw_station, at_mm), .rises = true},
    {"gap_mm", SW_MUST, WIDTH(sw_station, gap_mm)},
    {"u95_mm", SW_MUST, U95(sw_station, u95_mm, MM)},
    {"state", SW_MUST, SW_WORD(sw_station, state, state_word, SW_STATION_UNSEEN + 1)},
    SW_STEP(sw_check_station),
};

static const sw_field stations[] = {
    {NULL, SW_MUST, SW_COLUMNS(sw_seam, stations, station_count, station)},
};

static json_t *put_seam_edges(const sw_field *field, const void *at, sw_putting *p)
{
    const sw_seam *s = at;
    const int tiles[2] = {s->first, s->second};
    const sw_side sides[2] = {s->upright ? SW_EAST : SW_SOUTH, s->upright ? SW_WEST : SW_NORTH};
    (void)field;
    return sw_put_two_edges(sw_named_in(p->context), tiles, sides);
}

static bool step_is_known(const void *seam)
{
    return isfinite(((const sw_seam *)seam)->step_largest_mm);
}

static json_t *put_step_verdict(const sw_field *field, const void *seam, sw_putting *p)
{
    const sw_inspection *ins = sw_named_in(p->context);
    (void)field;
    return ins->lippage_mm > 0 && step_is_known(seam) ? sw_json_text(sw_verdict_name(sw_step_verdict(ins, seam)))
                                                      : json_null();
}

static const sw_field seam[] = {
    SW_STEP(sw_start_seam),
    {"name", SW_MUST, SW_TEXT(sw_seam, name)},
    {"edges", SW_MUST, .put = put_seam_edges, .take = sw_take_seam_edges},
    {"upright", SW_MAY, SW_FLAG(sw_seam, upright)},
    {"length_mm", SW_MUST, SIDE(sw_seam, length_mm)},
    {"start", SW_MAY, SW_OBJECT(sw_seam, start_mm, point)},
    {"end", SW_MAY, SW_OBJECT(sw_seam, end_mm, point)},
    {"verdict", SW_MUST, SW_WORD(sw_seam, verdict, verdict_word, SW_TOO_CLOSE + 1)},
    {"gap_mm", SW_MUST, SW_PART(gap)},
    {"taper_mm", SW_MUST, OFF(sw_seam, taper_mm)},
    {"taper_u95_mm", SW_MUST, U95(sw_seam, taper_u95_mm, MM)},
    {"corner_step_mm", SW_MUST, OFF(sw_seam, corner_step_mm)},
    {"step_mm", SW_MAY, HEIGHT(sw_seam, step_mm)},
    {"step_u95_mm", SW_MAY, U95(sw_seam, step_u95_mm, MM)},
    {"step_largest_mm", SW_MAY, HEIGHT(sw_seam, step_largest_mm)},
    {"step_verdict", SW_WRITTEN, .put = put_step_verdict},
    {"chips", SW_MAY, SW_LIST(sw_seam, chips, chip_count, chip, "chip")},
    {"stations", SW_MUST, SW_PART(stations)},
    SW_STEP(sw_check_seam),
};

/* ---- marks, advice ---- */

static const sw_field mark[] = {
    {"seam", SW_WRITTEN, SW_SEAM_NAME(sw_mark, seam)}, /* told by the edge */
    {"edge", SW_MUST, SW_EDGE(sw_mark)},
    {"at_mm", SW_MUST, ALONG(sw_mark, at_mm)},
    {"from_half_mm", SW_MUST, OFF(sw_mark, from_half_mm)},
    {"u95_mm", SW_MUST, U95(sw_mark, u95_mm, MM)},
    {"step_mm", SW_MUST, HEIGHT(sw_mark, step_mm)},
    {"step_u95_mm", SW_MUST, U95(sw_mark, step_u95_mm, MM)},
    SW_STEP(sw_check_mark),
};

static const sw_field advice[] = {
    SW_STEP(sw_start_advice),
    {"rank", SW_MAY, SW_WHOLE(sw_advice, rank, 1, MOST_RANK)},
    {"edge", SW_MUST, SW_EDGE(sw_advice)},
    {"seam", SW_MAY, SW_SEAM_NAME(sw_advice, seam), .take = sw_take_seam_name},
    {"action", SW_MUST, SW_WORD(sw_advice, action, action_word, SW_LEAVE + 1)},
    {"remove_mm", SW_MUST, WIDTH(sw_advice, remove_mm)},
    {"from_mm", SW_MUST, ALONG(sw_advice, from_mm)},
    {"to_mm", SW_MUST, ALONG(sw_advice, to_mm)},
    {"worst_gap_mm", SW_MUST, WIDTH(sw_advice, worst_gap_mm)},
    {"u95_mm", SW_MUST, U95(sw_advice, u95_mm, MM)},
    {"reason", SW_MUST, SW_TEXT(sw_advice, reason)},
};

static const sw_field top[] = {
    SW_STEP(sw_start_top),
    {"rank", SW_MAY, SW_WHOLE(sw_top_advice, rank, 1, MOST_RANK)},
    {"tile", SW_MUST, SW_TILE_NAME(sw_top_advice, tile), .take = sw_take_tile_name},
    {"action", SW_MUST, SW_WORD(sw_top_advice, action, top_action_word, SW_PACK_UP + 1)},
    {"by_mm", SW_MUST, HEIGHT(sw_top_advice, by_mm)},
    {"level_mm", SW_MAY, HEIGHT(sw_top_advice, level_mm)},
    {"seams", SW_MUST, .at = offsetof(sw_top_advice, seams), .put = sw_put_mended, .take = sw_take_mended},
    {"reason", SW_MUST, SW_TEXT(sw_top_advice, reason)},
};

/* ---- several photos: written only ---- */

#define SPREAD_FIELDS(unit)                                                                                            \
    {"s_r_" unit, SW_WRITTEN, SW_FIGURE(sw_spread, s_r, SPREAD)},                                                      \
        {"r_" unit, SW_WRITTEN, SW_FIGURE(sw_spread, r, SPREAD)},                                                      \
        {"stated_u_" unit, SW_WRITTEN, SW_FIGURE(sw_spread, stated_u, SPREAD)},                                        \
        {"agreement", SW_WRITTEN, SW_WORD(sw_spread, agreement, agreement_word, 0)},                                   \
        {"degrees_of_freedom", SW_WRITTEN, SW_FIGURE(sw_spread, freedom, CHI)},                                        \
        {"chi_square", SW_WRITTEN, SW_FIGURE(sw_spread, chi_square, CHI)},                                             \
        {"chi_square_95", SW_WRITTEN, SW_FIGURE(sw_spread, chi_square_95, CHI)},                                       \
        {"widened", SW_WRITTEN, SW_FIGURE(sw_spread, widened, CHI)},
static const sw_field spread_mm[] = {SPREAD_FIELDS("mm")}, spread_deg[] = {SPREAD_FIELDS("deg")};

static const sw_repeatability *repeatability_of(const sw_putting *p)
{
    return sw_named_in(p->context)->repeatability;
}

static json_t *put_spread_name(const sw_field *field, const void *at, sw_putting *p)
{
    (void)field;
    return sw_json_text(sw_named_in(p->context)->seams[(const sw_seam_spread *)at - repeatability_of(p)->seams].name);
}

static json_t *put_limit(const sw_field *field, const void *s_r, sw_putting *p)
{
    (void)p;
    return sw_json_number(SW_REPEAT_LIMIT * *(const double *)s_r, field->decimals);
}

static json_t *put_counts(const sw_field *field, const void *at, sw_putting *p)
{
    json_t *array = json_array();
    (void)field;
    for (size_t k = 0; k < repeatability_of(p)->photo_count; k++)
        sw_json_append(array, json_boolean(((const sw_seam_spread *)at)->counts[k]), &p->failed);
    return array;
}

static json_t *put_means(const sw_field *field, const void *at, sw_putting *p)
{
    json_t *array = json_array();
    for (size_t k = 0; k < repeatability_of(p)->photo_count; k++)
        sw_json_append(array, sw_put_figure(field, &((const sw_seam_spread *)at)->mean_mm[k], p), &p->failed);
    return array;
}

static const sw_field seam_spread[] = {
    {"name", SW_WRITTEN, .put = put_spread_name},
    {"photos", SW_WRITTEN, SW_WHOLE(sw_seam_spread, photos, 0, 0)},
    {"left_out", SW_WRITTEN, SW_WHOLE(sw_seam_spread, left_out, 0, 0)},
    {"difference_mm", SW_WRITTEN, SW_FIGURE(sw_seam_spread, difference_mm, SPREAD)},
    {"s_r_mm", SW_WRITTEN, SW_FIGURE(sw_seam_spread, s_r_mm, SPREAD)},
    {"r_mm", SW_WRITTEN, .at = offsetof(sw_seam_spread, s_r_mm), .put = put_limit, .decimals = SPREAD},
    {"stated_u_mm", SW_WRITTEN, SW_FIGURE(sw_seam_spread, stated_u_mm, SPREAD)},
    {"station_s_r_mm", SW_WRITTEN, SW_FIGURE(sw_seam_spread, station_s_r_mm, SPREAD)},
    {"station_stated_u_mm", SW_WRITTEN, SW_FIGURE(sw_seam_spread, station_stated_u_mm, SPREAD)},
    {"widened", SW_WRITTEN, SW_FIGURE(sw_seam_spread, widened, CHI)},
    {"counts", SW_WRITTEN, .put = put_counts},
    {"mean_mm", SW_WRITTEN, .put = put_means, .decimals = SPREAD},
};

static const sw_field repeat[] = {
    {"photos", SW_WRITTEN, SW_LIST_OF(text, sw_repeatability, photos, photo_count)},
    {"quarter_turns", SW_WRITTEN, SW_LIST_OF(whole, sw_repeatability, quarter_turns, photo_count)},
    {NULL, SW_WRITTEN, SW_OBJECT(sw_repeatability, mean, spread_mm)},
    {"stations", SW_WRITTEN, SW_OBJECT(sw_repeatability, station, spread_mm)},
    {"taper", SW_WRITTEN, SW_OBJECT(sw_repeatability, taper, spread_mm)},
    {"angle", SW_WRITTEN, SW_OBJECT(sw_repeatability, angle_deg, spread_deg)},
    {"length", SW_WRITTEN, SW_OBJECT(sw_repeatability, length, spread_mm)},
    {"straightness", SW_WRITTEN, SW_OBJECT(sw_repeatability, straightness, spread_mm)},
    {"seams", SW_WRITTEN, SW_LIST(sw_repeatability, seams, seam_count, seam_spread, "seam")},
};

/* ---- budgets: written only ---- */

static bool is_left_out(const void *line)
{
    return !((const sw_budget_line *)line)->included;
}

static const sw_field component[] = {
    {"name", SW_WRITTEN, SW_WORD(sw_budget_line, part, part_word, 0)},
    {"kind", SW_WRITTEN, SW_WORD(sw_budget_line, kind, part_kind_word, 0)},
    {"included", SW_WRITTEN, SW_FLAG(sw_budget_line, included)},
    {"u", SW_WRITTEN, SW_FIGURE(sw_budget_line, u, BUDGET)},
    {"share", SW_WRITTEN, SW_FIGURE(sw_budget_line, share, SHARE)},
    {"left_out", SW_WRITTEN, SW_FIGURE(sw_budget_line, left_out, BUDGET), .when = is_left_out},
    {"note", SW_WRITTEN, SW_STRING(sw_budget_line, note), .when = is_left_out},
};

static const sw_field budget[] = {
    {"figure", SW_WRITTEN, SW_WORD(sw_figure_budget, figure, figure_word, 0)},
    {"of", SW_WRITTEN, SW_TEXT(sw_figure_budget, where)},
    {"value", SW_WRITTEN, SW_FIGURE(sw_figure_budget, value, MM)},
    {"unit", SW_WRITTEN, SW_STRING(sw_figure_budget, unit)},
    {"u95", SW_WRITTEN, SW_FIGURE(sw_figure_budget, u95, MM)},
    {"degrees_of_freedom", SW_WRITTEN, SW_FIGURE(sw_figure_budget, degrees_of_freedom, FREEDOM)},
    {"components", SW_WRITTEN, SW_LIST(sw_figure_budget, lines, line_count, component, "line"), .inside = true},
    {"next", SW_WRITTEN, SW_TEXT(sw_figure_budget, next)},
};

/* ---- the whole ---- */

static json_t *put_verdict(const sw_field *field, const void *inspection, sw_putting *p)
{
    (void)field, (void)p;
    return sw_json_text(sw_verdict_name(sw_inspection_verdict(inspection)));
}

static bool is_of_several(const void *inspection)
{
    return ((const sw_inspection *)inspection)->repeatability;
}

static json_t *put_repeatability(const sw_field *field, const void *inspection, sw_putting *p)
{
    return sw_put_object(field, ((const sw_inspection *)inspection)->repeatability, p);
}

static const sw_field inspection[] = {
    {"program", SW_WRITTEN, .put = sw_put_program, .is = SW_IS_TEXT},
    {"photo", SW_MAY, SW_PART(photo)},
    {"scale", SW_MAY, SW_OBJECT(sw_inspection, scale, scale)},
    {"table", SW_MUST, SW_OBJECT(sw_inspection, table, table)},
    {"tolerance_mm", SW_MUST, SW_NUMBER(sw_inspection, tolerance_mm, MM, SW_TOLERANCE_LEAST_MM, SW_TOLERANCE_MOST_MM)},
    {"step_mm", SW_MAY, SW_FIGURE(sw_inspection, step_mm, MM)},
    {"given", SW_MAY, SW_OBJECT(sw_inspection, given, given)},
    {"after", SW_MAY, SW_PART(after), .when = follows},
    {"verdict", SW_WRITTEN, .put = put_verdict, .is = SW_IS_TEXT},
    {"repeatability", SW_WRITTEN, SW_TABLE(repeat), .put = put_repeatability, .is = SW_IS_OBJECT,
     .when = is_of_several},
    {"tiles", SW_MUST, SW_LIST_TAKEN_BY(sw_take_tiles, sw_inspection, tiles, tile_count, tile, "tile")},
    {"seams", SW_MUST, SW_LIST_TAKEN_BY(sw_take_seams, sw_inspection, seams, seam_count, seam, "seam")},
    {"marks", SW_MAY, SW_LIST_TAKEN_BY(sw_take_marks, sw_inspection, marks, mark_count, mark, "mark")},
    {"ranking", SW_MAY, SW_LIST(sw_inspection, ranking, advice_count, advice, "advice")},
    {"lippage_mm", SW_MAY, SW_DOUBLE(sw_inspection, lippage_mm, MM, SW_LIPPAGE_LEAST_MM, SW_LIPPAGE_MOST_MM),
     .put = sw_put_positive, .take = sw_take_positive},
    {"tops", SW_MAY, SW_LIST(sw_inspection, tops, top_count, top, "advice on tops")},
    {"warnings", SW_MAY, SW_SENTENCES(sw_inspection, notes)},
    {"notes", SW_MAY, SW_NOTES(sw_inspection, notes)},
    {"budget", SW_WRITTEN, SW_LIST(sw_inspection, budgets, budget_count, budget, "budget"), .inside = true},
    SW_STEP(sw_check_inspection),
};

/* An inspection of 3 x 3 at 1 mm takes half a megabyte; a hundred times that is a table nobody photographs. Beyond it
 * the file is something else, and is not read to its end: as a tree in memory it would take ten times its size. */
const sw_json_kind sw_inspection_json = {SW_FORMAT_INSPECTION, SW_TABLE(inspection), "inspection",
                                         "not an inspection",  "inspection.json",    "inspect",
                                         (size_t)64 << 20};

sw_status sw_report_json(const sw_inspection *from, const char *path, sw_error *err)
{
    return sw_json_write(&sw_inspection_json, from, &from, path, err);
}

sw_status sw_inspection_parse(const char *text, size_t length, const char *path, sw_inspection *to, sw_error *err)
{
    const sw_inspection *names = to;
    memset(to, 0, sizeof *to);
    sw_status status = sw_json_take(&sw_inspection_json, path, text, length, &names, to, err);
    if (status)
        sw_inspection_free(to);
    return status;
}
