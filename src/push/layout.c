/* layout.c - layouts as text and back. */
#include "seamwright/layout.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Letters for 0 to 3 quarter turns clockwise; none for 0. */
static const char TURN_LETTERS[] = " rhl";
/* Longest word of a layout: a tile's name, a letter, the end. */
enum { WORD_ROOM = sizeof((sw_tile *)NULL)->name + 2 };

void sw_layout_free(sw_layout *layout)
{
    if (!layout)
        return;
    free(layout->places);
    memset(layout, 0, sizeof *layout);
}

sw_side sw_side_turned(sw_side side, int turns)
{
    return (sw_side)((((int)side + turns) % 4 + 4) % 4);
}

sw_status sw_layout_as_is(const sw_inspection *first, sw_layout *layout, sw_error *err)
{
    memset(layout, 0, sizeof *layout);
    int columns = first->table.columns, rows = first->table.rows;
    if (columns < 1 || rows < 1 || (size_t)columns * (size_t)rows != first->tile_count)
        return sw_fail(err, SW_BAD_INPUT, "the inspection's table and its number of tiles do not agree; inspect again");
    layout->places = calloc(first->tile_count, sizeof *layout->places);
    if (!layout->places)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    layout->columns = columns;
    layout->rows = rows;
    for (size_t i = 0; i < first->tile_count; i++)
        layout->places[i].tile = (int)i;
    return SW_OK;
}

/* Index of the tile of that name, letters small or capital; -1 when there is none. */
static int find_tile(const sw_inspection *first, const char *name, size_t length)
{
    for (size_t i = 0; i < first->tile_count; i++) {
        const char *own = first->tiles[i].name;
        size_t same = 0;
        while (same < length && tolower((unsigned char)name[same]) == tolower((unsigned char)own[same]))
            same++;
        if (same == length && !own[length])
            return (int)i;
    }
    return -1;
}

/* A word like "B1r" becomes a place. */
static sw_status read_word(const char *word, size_t length, const sw_inspection *first, sw_place *place, sw_error *err)
{
    char shown[WORD_ROOM];
    snprintf(shown, sizeof shown, "%.*s", (int)length, word);
    size_t name = length;
    if (length > 1 && isalpha((unsigned char)word[length - 1])) {
        const char *letter = strchr(TURN_LETTERS + 1, tolower((unsigned char)word[length - 1]));
        if (!letter)
            return sw_fail(err, SW_BAD_INPUT,
                           "%s ends with '%c'; a turned tile ends with r (a quarter to the right), h (half a turn) or "
                           "l (a quarter to the left)",
                           shown, word[length - 1]);
        place->turns = (int)(letter - TURN_LETTERS);
        name--;
    }
    place->tile = find_tile(first, word, name);
    if (place->tile < 0)
        return sw_fail(err, SW_BAD_INPUT, "%.*s is no tile of the first inspection, which has %s to %s",
                       (int)(name < WORD_ROOM ? name : WORD_ROOM), word,
                       first->tile_count ? first->tiles[0].name : "none",
                       first->tile_count ? first->tiles[first->tile_count - 1].name : "none");
    return SW_OK;
}

static bool comes_twice(const sw_place *places, size_t count)
{
    for (size_t i = 0; i + 1 < count; i++)
        if (places[i].tile == places[count - 1].tile)
            return true;
    return false;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Closes a row of `wide` tiles. */
static sw_status end_row(sw_layout *layout, int wide, sw_error *err)
{
    if (wide == 0)
        return sw_fail(
            err, SW_BAD_INPUT,
            "row %d is empty; write rows from north to south with a slash between them, like \"A1 B1 / A2 B2\"",
            layout->rows + 1);
    if (layout->rows > 0 && wide != layout->columns)
        return sw_fail(err, SW_BAD_INPUT, "row %d has %d tiles, the row before it %d; all rows must be equally long",
                       layout->rows + 1, wide, layout->columns);
    layout->columns = wide;
    layout->rows++;
    return SW_OK;
}

static sw_status read_rows(const char *text, const sw_inspection *first, sw_layout *layout, sw_error *err)
{
    size_t count = 0, row_from = 0;
    sw_status status = SW_OK;
    for (const char *c = text; !status;) {
        while (is_blank(*c))
            c++;
        if (*c == '/' || !*c) {
            status = end_row(layout, (int)(count - row_from), err);
            row_from = count;
            if (!*c++)
                break;
            continue;
        }
        size_t length = strcspn(c, " \t\r\n/");
        if (count == first->tile_count)
            return sw_fail(err, SW_BAD_INPUT, "it names more tiles than the first inspection has (%zu)",
                           first->tile_count);
        status = read_word(c, length, first, &layout->places[count++], err);
        if (!status && comes_twice(layout->places, count))
            status = sw_fail(err, SW_BAD_INPUT, "%s comes twice; every tile can lie in one place only",
                             first->tiles[layout->places[count - 1].tile].name);
        c += length;
    }
    if (!status && count != first->tile_count)
        status = sw_fail(err, SW_BAD_INPUT, "it names %zu tiles, the first inspection has %zu; name every tile once",
                         count, first->tile_count);
    return status;
}

sw_status sw_layout_read(const char *text, const sw_inspection *first, sw_layout *layout, sw_error *err)
{
    memset(layout, 0, sizeof *layout);
    layout->places = calloc(first->tile_count + 1, sizeof *layout->places);
    if (!layout->places)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    sw_status status = read_rows(text, first, layout, err);
    if (status)
        sw_layout_free(layout);
    return status;
}

char *sw_layout_text(const sw_layout *layout, const sw_inspection *first)
{
    static const char row_end[] = " / ";
    size_t count = (size_t)layout->columns * (size_t)layout->rows, length = 0;
    size_t room = count * (WORD_ROOM + sizeof row_end) + 1;
    char *text = malloc(room);
    if (!text)
        return NULL;
    text[0] = 0;
    for (size_t i = 0; i < count; i++) {
        const sw_place *p = &layout->places[i];
        const char *between = i == 0 ? "" : i % (size_t)layout->columns ? " " : row_end;
        char letter[2] = {p->turns ? TURN_LETTERS[p->turns & 3] : 0, 0};
        length += (size_t)snprintf(text + length, room - length, "%s%s%s", between, first->tiles[p->tile].name, letter);
    }
    return text;
}
