/* note.h - something the user should know that is no error: of what kind it is, where, and one plain sentence.
 *
 * Programs go by kind and places; the text is for people, and its wording may change.
 */
#ifndef SEAMWRIGHT_NOTE_H
#define SEAMWRIGHT_NOTE_H

#include <stddef.h>

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_note_kind {
    SW_NOTE_OTHER =
        0, /* none of these, or read from a file that did not say or whose kind is newer than this library */
    /* the photo and its scale */
    SW_NOTE_CARD_GUESSED, /* nobody said how large the cards are: told first, for every figure hangs on it */
    SW_NOTE_ONE_SQUARE,
    SW_NOTE_CARD_LEFT_OUT, /* contradicts the others, or is not flat */
    SW_NOTE_LENS_ESTIMATED,
    SW_NOTE_LENS_DOUBTFUL, /* the profile seems to be of another camera or zoom */
    SW_NOTE_BLURRED,
    SW_NOTE_SHARPENED,
    SW_NOTE_CONTRAST,
    SW_NOTE_BLUR_UNEVEN, /* shaken or soft in part, so that gaps are less certain */
    SW_NOTE_DENOISED,    /* noise reduction fills narrow gaps */
    SW_NOTE_LEVELS,      /* brightness was changed from place to place, or rounded to few levels */
    SW_NOTE_HAZE,        /* stray light lies over the photo */
    SW_NOTE_OVEREXPOSED,
    SW_NOTE_POINTED_AT, /* table, cards or both were not looked for: their corners were told */
    /* what was seen and known of the table */
    SW_NOTE_TABLE_AT_FRAME, /* it reaches the photo's rim: tiles may be missing */
    SW_NOTE_SIZE_DOUBTFUL,  /* the tiles' size speaks against what was told of tile or reference */
    SW_NOTE_SEAM_UNSEEN,    /* wholly or in part */
    SW_NOTE_LINE_BESIDE,    /* a pencil line, a cable or a shadow's edge beside a seam */
    SW_NOTE_EDGE_UNSEEN,
    SW_NOTE_TILE_UNSEEN,
    SW_NOTE_HEIGHT_ASSUMED,
    SW_NOTE_HEIGHTS_UNKNOWN, /* a tile that stands higher would change gaps unnoticed */
    SW_NOTE_TOPS_NOT_LEVEL,  /* cards say that tops stand unequally high */
    /* several photos in one */
    SW_NOTE_PHOTO_DIFFERS, /* shows seams otherwise than the first */
    SW_NOTE_PHOTOS_DISAGREE,
    /* pushing and sanding */
    SW_NOTE_CHIP,
    SW_NOTE_STAYS_OPEN,
    SW_NOTE_NOT_PROMISED, /* a seam whose forecast is too close to the limit to call */
    SW_NOTE_TILE_TOO_SMALL,
    SW_NOTE_TILE_TOO_LARGE,
    SW_NOTE_LEAN_POSSIBLE,   /* side faces may hold the tops apart */
    SW_NOTE_LEAN_TOLD_BY,    /* what the arrangement proposed would tell of leans */
    SW_NOTE_ANSWER_LEFT_OUT, /* what a try square said, and the photo contradicts */
    SW_NOTE_SEARCH_ENDED,
    SW_NOTE_SMALL_GAIN,
    SW_NOTE_FORECAST,
    /* before and after */
    SW_NOTE_OTHER_PLAN, /* the plan does not seem to be the one carried out */
    SW_NOTE_TOO_MUCH_OFF,
    SW_NOTE_OFF_UNPLANNED,
    SW_NOTE_OFF_UNKNOWN,
    SW_NOTE_SEAM_WIDER,
    SW_NOTE_ORDER_DOUBTFUL, /* the later photo was taken first */
    SW_NOTE_TILES_GREW,
    /* making a lens profile */
    SW_NOTE_PHOTO_LEFT_OUT,
    SW_NOTE_PHOTOS_FEW,
    SW_NOTE_PHOTOS_ALIKE,
    SW_NOTE_FRAME_NOT_COVERED,
    SW_NOTE_BOARD_UNEVEN,
    SW_NOTE_CORNERS_SCATTER,
    SW_NOTE_KINDS /* how many kinds there are */
} sw_note_kind;

/* "one square", "seam unseen": the kind as files have it. "other" for what is no kind. */
SW_API const char *sw_note_kind_name(sw_note_kind kind);

enum { SW_NOTE_PLACES = 16, SW_PLACE_ROOM = 16 };

typedef struct sw_note {
    sw_note_kind kind;
    size_t place_count;                         /* 0: about the whole; of more places than fit, the first ones */
    char places[SW_NOTE_PLACES][SW_PLACE_ROOM]; /* names: a seam "A1-B1", a tile "B2", an edge "A1 east" */
    char text[320];                             /* one sentence or a few, in UTF-8 */
} sw_note;

/* Start with zeros; free with sw_notes_free. */
typedef struct sw_notes {
    sw_note *list; /* in the order in which they are told; NULL when there are none */
    size_t count;
} sw_notes;

/* Adds a note (printf style, cut at the text's end) without places. SW_NO_MEMORY: nothing was added. notes NULL:
 * nobody wants to know, nothing is done. */
SW_API SW_PRINTF(3, 4) sw_status sw_note_add(sw_notes *notes, sw_note_kind kind, const char *format, ...);

/* Adds a place to the last note, if there is one and it has room. */
SW_API void sw_note_at(sw_notes *notes, const char *place);

/* Frees the notes and zeroes *notes, which may be NULL. */
SW_API void sw_notes_free(sw_notes *notes);

#ifdef __cplusplus
}
#endif
#endif
