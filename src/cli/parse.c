#include "cli/parse.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* Below 20 mm a square is under 80 px at 4 px/mm, where one pixel of error at an edge is over 1 % of scale. Above 1 m
 * it would be larger than most tables: the number was meant in another unit. */
static const double REFERENCE_LEAST_MM = 20.0, REFERENCE_MOST_MM = 1000.0;
/* An inner square needs a side that is long against its blurred edges: 10 mm is 40 px at 4 px/mm. */
static const double INNER_LEAST_MM = 10.0;
/* The black band between outer and inner square must reach its own dark level: a blurred edge takes about 4 px (2.563
 * sigma from 10 to 90 %), so two of them need 8 px, which are 2 mm at 4 px/mm. */
static const double BAND_LEAST_MM = 2.0;
/* Printers are off by 0.4 to 1 %, differently in x and y; 5 % is no printer, it is a slip of the pen. */
static const double SIDES_DIFFER_MOST = 0.05;

/* Tiles: a 20 mm tile is as small as a reference may be; 2 m is more than one photo resolves to tenths of a millimetre.
 */
const parse_range parse_tile_mm = {20.0, 2000.0, "300"};
/* Tolerance: 0.01 mm is finer than a photo measures (about 0.04 px at 4 px/mm), 20 mm is no seam any more. */
const parse_range parse_tolerance_mm = {0.01, 20.0, "0.5"};
/* Thickness of a tile. */
const parse_range parse_height_mm = {0.5, 500.0, "45"};
/* A card: printed right on the tile, up to a block of wood. */
const parse_range parse_card_thickness_mm = {0.0, 20.0, "0.3"};
/* Stations: closer than 0.1 mm (under half a pixel) they tell nothing new; 50 mm leaves a 300 mm seam with seven. */
const parse_range parse_step_mm = {0.1, 50.0, "1"};
/* Checkerboard: 3 mm squares are the least a phone resolves at arm's length, 200 mm ones make a board over 1 m wide. */
const parse_range parse_board_square_mm = {3.0, 200.0, "25"};
/* Plans: as sw_plan_options promises. */
const parse_range parse_plan_tolerance_mm = {0.05, 10.0, "0.5"}, parse_cut_mm = {0.1, 20.0, "3"};

/* ISO 216 A4 and US letter (8.5 x 11 inches). */
static const sw_paper PAPERS[] = {{"A4", 210.0, 297.0}, {"letter", 215.9, 279.4}};
const sw_paper parse_paper_usual = {"A4", 210.0, 297.0};

sw_status parse_paper(const char *text, sw_paper *paper, sw_error *err)
{
    for (size_t i = 0; i < sizeof PAPERS / sizeof PAPERS[0]; i++)
        if (strcasecmp(text, PAPERS[i].name) == 0) {
            *paper = PAPERS[i];
            return SW_OK;
        }
    *paper = (sw_paper){0};
    return sw_fail(err, SW_BAD_INPUT, "the paper must be a4 or letter");
}

/* More digits than this are no length anybody measured; it keeps the conversion inside its buffer. */
enum { NUMBER_MOST_CHARACTERS = 12 };

/* Reads digits with at most one point, moves *at behind them. 0 when there is no number there. */
static int scan_number(const char **at, double *value)
{
    char digits[NUMBER_MOST_CHARACTERS + 1];
    size_t length = strspn(*at, "0123456789.");
    if (length == 0 || length > NUMBER_MOST_CHARACTERS)
        return 0;
    memcpy(digits, *at, length);
    digits[length] = '\0';
    char *end = NULL;
    *value = strtod(digits, &end);
    if (*end != '\0')
        return 0;
    *at += length;
    return 1;
}

static int scan_times(const char **at)
{
    if (**at != 'x' && **at != 'X')
        return 0;
    ++*at;
    return 1;
}

/* A letter, %, quote or micro sign that follows a digit, the x between two sides aside, is a unit. */
static int has_unit(const char *text)
{
    for (const char *c = text; c[0] != '\0' && c[1] != '\0'; c++) {
        const char *next = c + 1 + strspn(c + 1, " ");
        int unit = isalpha((unsigned char)*next) || strchr("%\"'\xc2", *next);
        if (isdigit((unsigned char)c[0]) && *next != '\0' && unit && tolower((unsigned char)*next) != 'x')
            return 1;
    }
    return 0;
}

/* What is wrong with text that did not scan, and how it should look. */
static sw_status explain(const char *text, const char *example, sw_error *err)
{
    if (text[0] == '\0')
        return sw_fail(err, SW_BAD_INPUT, "the value is empty; write it like %s", example);
    if (has_unit(text))
        return sw_fail(err, SW_BAD_INPUT, "leave the unit out: write bare numbers, lengths in millimetres, like %s",
                       example);
    if (strchr(text, ','))
        return sw_fail(err, SW_BAD_INPUT, "write decimals with a point, not a comma, like %s", example);
    if (text[0] == '-')
        return sw_fail(err, SW_BAD_INPUT, "it must be greater than zero, like %s", example);
    return sw_fail(err, SW_BAD_INPUT, "this cannot be understood; write it like %s", example);
}

sw_status parse_mm(const char *text, const parse_range *range, double *value_mm, sw_error *err)
{
    const char *at = text;
    double value;
    *value_mm = 0.0;
    if (!scan_number(&at, &value) || *at != '\0')
        return explain(text, range->example, err);
    if (!(value >= range->least && value <= range->most))
        return sw_fail(err, SW_BAD_INPUT, "it must be from %g to %g mm", range->least, range->most);
    *value_mm = value;
    return SW_OK;
}

static const char HEIGHTS_EXAMPLE[] = "45, or 45,A1=55 (45 for all, 55 for A1)";

/* "A1=", any case. 0 when there is no name; the name is written as the program writes it. */
static int scan_tile(const char **at, char tile[8])
{
    const char *c = *at;
    if (!isalpha((unsigned char)*c))
        return 0;
    size_t digits = strspn(c + 1, "0123456789");
    if (digits < 1 || digits > 2 || c[1] == '0' || c[1 + digits] != '=')
        return 0;
    tile[0] = (char)toupper((unsigned char)*c);
    memcpy(tile + 1, c + 1, digits);
    tile[1 + digits] = '\0';
    *at = c + digits + 2;
    return 1;
}

/* What is wrong with a list of heights from `at` on, where a height should stand, or a name that scan_tile did not
 * take. */
static sw_status explain_heights(const char *at, sw_error *err)
{
    if (isalpha((unsigned char)at[0]))
        return sw_fail(err, SW_BAD_INPUT, "name a tile by its letter and number, like %s", HEIGHTS_EXAMPLE);
    return explain(at, HEIGHTS_EXAMPLE, err);
}

/* One item of the list: a height, or a tile's. */
static sw_status take_height(const char **at, double *usual_mm, sw_tile_height *heights, size_t *count, sw_error *err)
{
    sw_tile_height one = {"", 0};
    int named = scan_tile(at, one.tile);
    const char *value = *at;
    if (!scan_number(at, &one.height_mm) || (**at != ',' && **at != '\0'))
        return explain_heights(value, err);
    if (!(one.height_mm >= parse_height_mm.least && one.height_mm <= parse_height_mm.most))
        return sw_fail(err, SW_BAD_INPUT, "it must be from %g to %g mm", parse_height_mm.least, parse_height_mm.most);
    if (!named && *usual_mm > 0)
        return sw_fail(
            err, SW_BAD_INPUT,
            "only one height may stand without a tile's name (and write decimals with a point, not a comma), like %s",
            HEIGHTS_EXAMPLE);
    for (size_t i = 0; named && i < *count; i++)
        if (strcmp(heights[i].tile, one.tile) == 0)
            return sw_fail(err, SW_BAD_INPUT, "tile %s is named twice; give each tile one height", one.tile);
    if (named)
        heights[(*count)++] = one;
    else
        *usual_mm = one.height_mm;
    return SW_OK;
}

sw_status parse_heights(const char *text, double *usual_mm, sw_tile_height **heights, size_t *count, sw_error *err)
{
    size_t items = 1;
    double usual = 0;
    *usual_mm = 0;
    *count = 0;
    *heights = NULL;
    for (const char *c = text; *c; c++)
        items += *c == ',';
    sw_tile_height *list = calloc(items, sizeof *list);
    if (!list)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    sw_status status = SW_OK;
    for (const char *at = text; !status; at++) {
        status = take_height(&at, &usual, list, count, err);
        if (*at == '\0')
            break;
    }
    if (status) {
        free(list);
        *count = 0;
        return status;
    }
    *usual_mm = usual;
    *heights = list;
    return SW_OK;
}

/* "100" or "99.6x99.8". */
static int scan_sides(const char **at, double *x_mm, double *y_mm)
{
    if (!scan_number(at, x_mm))
        return 0;
    *y_mm = *x_mm;
    return !scan_times(at) || scan_number(at, y_mm);
}

static int alike(double x, double y)
{
    return fabs(x - y) <= SIDES_DIFFER_MOST * fmax(x, y);
}

static sw_status check_reference(const sw_reference *r, int frame, sw_error *err)
{
    if (fmin(r->outer_x_mm, r->outer_y_mm) < REFERENCE_LEAST_MM ||
        fmax(r->outer_x_mm, r->outer_y_mm) > REFERENCE_MOST_MM)
        return sw_fail(err, SW_BAD_INPUT, "the outer sides must be from %g to %g mm", REFERENCE_LEAST_MM,
                       REFERENCE_MOST_MM);
    if (!alike(r->outer_x_mm, r->outer_y_mm) || (frame && !alike(r->inner_x_mm, r->inner_y_mm)))
        return sw_fail(err, SW_BAD_INPUT,
                       "the two sides differ by more than %g %%, so this is no square; measure again",
                       100.0 * SIDES_DIFFER_MOST);
    if (frame && fmin(r->inner_x_mm, r->inner_y_mm) < INNER_LEAST_MM)
        return sw_fail(err, SW_BAD_INPUT, "the inner sides must be at least %g mm", INNER_LEAST_MM);
    double band_mm = 0.5 * fmin(r->outer_x_mm - r->inner_x_mm, r->outer_y_mm - r->inner_y_mm);
    if (frame && band_mm < BAND_LEAST_MM)
        return sw_fail(err, SW_BAD_INPUT,
                       "the black band must be at least %g mm wide; write the outer side first, like 100/60",
                       BAND_LEAST_MM);
    return SW_OK;
}

sw_status parse_reference(const char *text, sw_reference *reference, sw_error *err)
{
    const char *at = text;
    sw_reference read = {0};
    *reference = read;
    int fine = scan_sides(&at, &read.outer_x_mm, &read.outer_y_mm);
    int frame = fine && *at == '/';
    if (frame) {
        at++;
        fine = scan_sides(&at, &read.inner_x_mm, &read.inner_y_mm);
    }
    if (!fine || *at != '\0')
        return explain(text, "100/60, 100 or 99.6x99.8/59.7x59.9", err);
    sw_status status = check_reference(&read, frame, err);
    if (status == SW_OK)
        *reference = read;
    return status;
}

/* "10x7": two whole numbers, at most three digits each. */
static int scan_count(const char **at, int *count)
{
    size_t length = strspn(*at, "0123456789");
    if (length == 0 || length > 3)
        return 0;
    *count = atoi(*at);
    *at += length;
    return 1;
}

static sw_status parse_counts(const char *text, const char *example, int *columns, int *rows, sw_error *err)
{
    const char *at = text;
    *columns = *rows = 0;
    if (scan_count(&at, columns) && scan_times(&at) && scan_count(&at, rows) && *at == '\0')
        return SW_OK;
    *columns = *rows = 0;
    return explain(text, example, err);
}

sw_status parse_table(const char *text, int *columns, int *rows, sw_error *err)
{
    sw_status status = parse_counts(text, "3x2 (3 tiles across, 2 down)", columns, rows, err);
    if (status == SW_OK && (*columns < 1 || *columns > 26 || *rows < 1 || *rows > 99)) {
        *columns = *rows = 0;
        status = sw_fail(err, SW_BAD_INPUT, "a table has 1 to 26 tiles across and 1 to 99 down");
    }
    return status;
}

/* Three inner corners each way are the least a checkerboard finder takes, so four squares; 40 squares of the least side
 * fill the width of a sheet. */
sw_status parse_board(const char *text, int *columns, int *rows, sw_error *err)
{
    sw_status status = parse_counts(text, "10x7 (10 squares across, 7 down)", columns, rows, err);
    if (status == SW_OK && (*columns < 4 || *columns > 40 || *rows < 4 || *rows > 40)) {
        *columns = *rows = 0;
        status = sw_fail(err, SW_BAD_INPUT, "a checkerboard needs 4 to 40 squares each way");
    }
    return status;
}
