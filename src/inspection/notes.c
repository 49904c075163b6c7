#include "inspection/notes.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const NAMES[SW_NOTE_KINDS] = {
    [SW_NOTE_OTHER] = "other",
    [SW_NOTE_CARD_GUESSED] = "card guessed",
    [SW_NOTE_ONE_SQUARE] = "one square",
    [SW_NOTE_CARD_LEFT_OUT] = "card left out",
    [SW_NOTE_LENS_ESTIMATED] = "lens estimated",
    [SW_NOTE_LENS_DOUBTFUL] = "lens doubtful",
    [SW_NOTE_BLURRED] = "blurred",
    [SW_NOTE_SHARPENED] = "sharpened",
    [SW_NOTE_CONTRAST] = "contrast",
    [SW_NOTE_BLUR_UNEVEN] = "blur uneven",
    [SW_NOTE_DENOISED] = "denoised",
    [SW_NOTE_LEVELS] = "levels changed",
    [SW_NOTE_HAZE] = "stray light",
    [SW_NOTE_OVEREXPOSED] = "overexposed",
    [SW_NOTE_POINTED_AT] = "pointed at",
    [SW_NOTE_TABLE_AT_FRAME] = "table at frame",
    [SW_NOTE_SIZE_DOUBTFUL] = "size doubtful",
    [SW_NOTE_SEAM_UNSEEN] = "seam unseen",
    [SW_NOTE_LINE_BESIDE] = "line beside a seam",
    [SW_NOTE_EDGE_UNSEEN] = "edge unseen",
    [SW_NOTE_TILE_UNSEEN] = "tile unseen",
    [SW_NOTE_HEIGHT_ASSUMED] = "height assumed",
    [SW_NOTE_HEIGHTS_UNKNOWN] = "heights unknown",
    [SW_NOTE_TOPS_NOT_LEVEL] = "tops not level",
    [SW_NOTE_PHOTO_DIFFERS] = "photo differs",
    [SW_NOTE_PHOTOS_DISAGREE] = "photos disagree",
    [SW_NOTE_CHIP] = "chip",
    [SW_NOTE_STAYS_OPEN] = "stays open",
    [SW_NOTE_NOT_PROMISED] = "not promised",
    [SW_NOTE_TILE_TOO_SMALL] = "tile too small",
    [SW_NOTE_TILE_TOO_LARGE] = "tile too large",
    [SW_NOTE_LEAN_POSSIBLE] = "lean possible",
    [SW_NOTE_LEAN_TOLD_BY] = "lean told by",
    [SW_NOTE_ANSWER_LEFT_OUT] = "answer left out",
    [SW_NOTE_SEARCH_ENDED] = "search ended",
    [SW_NOTE_SMALL_GAIN] = "small gain",
    [SW_NOTE_FORECAST] = "forecast",
    [SW_NOTE_OTHER_PLAN] = "other plan",
    [SW_NOTE_TOO_MUCH_OFF] = "too much off",
    [SW_NOTE_OFF_UNPLANNED] = "off unplanned",
    [SW_NOTE_OFF_UNKNOWN] = "off unknown",
    [SW_NOTE_SEAM_WIDER] = "seam wider",
    [SW_NOTE_ORDER_DOUBTFUL] = "order doubtful",
    [SW_NOTE_TILES_GREW] = "tiles grew",
    [SW_NOTE_PHOTO_LEFT_OUT] = "photo left out",
    [SW_NOTE_PHOTOS_FEW] = "few photos",
    [SW_NOTE_PHOTOS_ALIKE] = "photos alike",
    [SW_NOTE_FRAME_NOT_COVERED] = "frame not covered",
    [SW_NOTE_BOARD_UNEVEN] = "board uneven",
    [SW_NOTE_CORNERS_SCATTER] = "corners scatter",
};

const char *sw_note_kind_name(sw_note_kind kind)
{
    return NAMES[(unsigned)kind < SW_NOTE_KINDS ? kind : SW_NOTE_OTHER];
}

sw_note_kind sw_note_kind_of(const char *name)
{
    for (int kind = 0; kind < SW_NOTE_KINDS; kind++)
        if (strcmp(name, NAMES[kind]) == 0)
            return (sw_note_kind)kind;
    return SW_NOTE_OTHER;
}

sw_status sw_note_add(sw_notes *notes, sw_note_kind kind, const char *format, ...)
{
    if (!notes)
        return SW_OK;
    sw_note *more = realloc(notes->list, (notes->count + 1) * sizeof *more);
    if (!more)
        return SW_NO_MEMORY;
    notes->list = more;
    more += notes->count++;
    memset(more, 0, sizeof *more); /* so that copies are equal byte by byte */
    more->kind = kind;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(more->text, sizeof more->text, format, arguments);
    va_end(arguments);
    return SW_OK;
}

void sw_note_at(sw_notes *notes, const char *place)
{
    sw_note *last = notes && notes->count ? &notes->list[notes->count - 1] : NULL;
    if (last && last->place_count < SW_NOTE_PLACES)
        snprintf(last->places[last->place_count++], SW_PLACE_ROOM, "%s", place);
}

sw_status sw_noted(sw_status status, sw_error *err)
{
    return status ? sw_fail(err, status, "not enough memory for the notes; close other programs and try again") : SW_OK;
}

bool sw_note_same(const sw_note *a, const sw_note *b)
{
    return memcmp(a, b, sizeof *a) == 0;
}

void sw_notes_free(sw_notes *notes)
{
    if (!notes)
        return;
    free(notes->list);
    *notes = (sw_notes){0};
}
