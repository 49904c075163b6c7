#include "cli/parse.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* More digits than this are no length anybody measured; it keeps the conversion inside its buffer. */
enum { NUMBER_MOST_CHARACTERS = 12 };

/* Reads digits with at most one point, moves *at behind them. False when there is no number there. */
static bool scan_number(const char **at, double *value)
{
    char digits[NUMBER_MOST_CHARACTERS + 1];
    size_t length = strspn(*at, "0123456789.");
    if (length == 0 || length > NUMBER_MOST_CHARACTERS)
        return false;
    memcpy(digits, *at, length);
    digits[length] = '\0';
    char *end = NULL;
    *value = strtod(digits, &end);
    if (*end != '\0')
        return false;
    *at += length;
    return true;
}

static bool scan_times(const char **at)
{
    if (**at != 'x' && **at != 'X')
        return false;
    ++*at;
    return true;
}

/* A letter, %, quote or micro sign that follows a digit, the x between two sides aside, is a unit. */
static bool has_unit(const char *text)
{
    for (const char *c = text; c[0] != '\0' && c[1] != '\0'; c++) {
        const char *next = c + 1 + strspn(c + 1, " ");
        bool unit = isalpha((unsigned char)*next) || strchr("%\"'\xc2", *next);
        if (isdigit((unsigned char)c[0]) && *next != '\0' && unit && tolower((unsigned char)*next) != 'x')
            return true;
    }
    return false;
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

sw_status parse_mm(const char *text, sw_range range, const char *example, double *value_mm, sw_error *err)
{
    const char *at = text;
    double value;
    *value_mm = 0.0;
    if (!scan_number(&at, &value) || *at != '\0')
        return explain(text, example, err);
    sw_status status = sw_range_check(range, "it", value, err);
    if (status == SW_OK)
        *value_mm = value;
    return status;
}

static const char HEIGHTS_EXAMPLE[] = "45, or 45,A1=55 (45 for all, 55 for A1)";

/* "A1=", any case. False when there is no name; the name is written as the program writes it. */
static bool scan_tile(const char **at, char tile[8])
{
    const char *c = *at;
    if (!isalpha((unsigned char)*c))
        return false;
    size_t digits = strspn(c + 1, "0123456789");
    if (digits < 1 || digits > 2 || c[1] == '0' || c[1 + digits] != '=')
        return false;
    tile[0] = (char)toupper((unsigned char)*c);
    memcpy(tile + 1, c + 1, digits);
    tile[1 + digits] = '\0';
    *at = c + digits + 2;
    return true;
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
    bool named = scan_tile(at, one.tile);
    const char *value = *at;
    if (!scan_number(at, &one.height_mm) || (**at != ',' && **at != '\0'))
        return explain_heights(value, err);
    sw_status status = sw_range_check(SW_HEIGHT_MM, "it", one.height_mm, err);
    if (status)
        return status;
    if (!named && *usual_mm > 0)
        return sw_fail(
            err, SW_BAD_INPUT,
            "only one height may stand without a tile's name (and write decimals with a point, not a comma), like %s",
            HEIGHTS_EXAMPLE);
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
    if (!status)
        status = sw_heights_check(usual, list, *count, err);
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
static bool scan_sides(const char **at, double *x_mm, double *y_mm)
{
    if (!scan_number(at, x_mm))
        return false;
    *y_mm = *x_mm;
    return !scan_times(at) || scan_number(at, y_mm);
}

sw_status parse_reference(const char *text, sw_reference *reference, sw_error *err)
{
    const char *at = text;
    sw_reference read = {0};
    *reference = read;
    bool fine = scan_sides(&at, &read.outer_x_mm, &read.outer_y_mm);
    if (fine && *at == '/') {
        at++;
        fine = scan_sides(&at, &read.inner_x_mm, &read.inner_y_mm) && read.inner_x_mm > 0;
    }
    if (!fine || *at != '\0')
        return explain(text, "100/60, 100 or 99.6x99.8/59.7x59.9", err);
    sw_status status = sw_reference_check(&read, err);
    if (status == SW_OK)
        *reference = read;
    return status;
}

/* The pixel that `at` begins with, and what follows it. */
static bool scan_pixel(const char **at, double *value)
{
    bool below = **at == '-';
    *at += below;
    if (!scan_number(at, value))
        return false;
    *value = below ? -*value : *value;
    *at += strspn(*at, " ");
    return true;
}

sw_status parse_corners(const char *text, sw_corners *corners, sw_error *err)
{
    const char *at = text;
    double numbers[8];
    int count = 0;
    *corners = (sw_corners){0};
    while (count < 8 && scan_pixel(&at, &numbers[count]) && *at == (++count < 8 ? ',' : '\0'))
        at += count < 8 ? 1 + strspn(at + 1, " ") : 0;
    if (count < 8 || *at != '\0')
        return sw_fail(
            err, SW_BAD_INPUT,
            "it takes eight numbers with commas between them, x and y of four corners in pixels from the top "
            "left, like 210,180,1400,190,1390,1300,200,1290");
    for (int i = 0; i < 4; i++)
        corners->shown_px[i] = (sw_point){numbers[2 * i], numbers[2 * i + 1]};
    return SW_OK;
}

/* "10x7": two whole numbers, at most three digits each. */
static bool scan_count(const char **at, int *count)
{
    size_t length = strspn(*at, "0123456789");
    if (length == 0 || length > 3)
        return false;
    *count = atoi(*at);
    *at += length;
    return true;
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

sw_status parse_count(const char *text, int most, int *count, sw_error *err)
{
    const char *at = text;
    *count = 0;
    if (!scan_count(&at, count) || *at != '\0' || *count < 1 || *count > most) {
        *count = 0;
        return sw_fail(err, SW_BAD_INPUT, "it must be a whole number from 1 to %d, like 9", most);
    }
    return SW_OK;
}

sw_status parse_table(const char *text, int *columns, int *rows, sw_error *err)
{
    sw_status status = parse_counts(text, "3x2 (3 tiles across, 2 down)", columns, rows, err);
    if (status == SW_OK)
        status = sw_table_check(*columns, *rows, err);
    if (status != SW_OK)
        *columns = *rows = 0;
    return status;
}

sw_status parse_board(const char *text, sw_checkerboard *board, sw_error *err)
{
    sw_checkerboard read = {.square_mm = SW_BOARD_SQUARE_MM.usual};
    sw_status status = parse_counts(text, "10x7 (10 squares across, 7 down)", &read.columns, &read.rows, err);
    if (status == SW_OK)
        status = sw_checkerboard_check(&read, err);
    board->columns = status == SW_OK ? read.columns : 0;
    board->rows = status == SW_OK ? read.rows : 0;
    return status;
}
