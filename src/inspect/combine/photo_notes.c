/* photo_notes.c - what there is to know of several photos together: each one's notes, and where they differ. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "inspect/combine/together.h"
#include "inspect/unseen.h"
#include "inspection/notes.h"

/* Seams have other names in turned photos, and what one photo did not see another may have: those are told anew. */
static bool is_news(const sw_notes *notes, const sw_note *note)
{
    for (size_t i = 0; i < notes->count; i++)
        if (sw_note_same(&notes->list[i], note))
            return false;
    return note->kind != SW_NOTE_SEAM_UNSEEN;
}

/* Adds photo k's note with the photo's file; of a table that lies turned without its places, which have other names. */
static sw_status tell_of_photo(const sw_together *t, size_t k, const sw_note *note, sw_notes *out)
{
    sw_status status = sw_note_add(out, note->kind, "%.80s: %.230s", t->photos[k].file, note->text);
    for (size_t i = 0; t->repeat->quarter_turns[k] == 0 && i < note->place_count; i++)
        sw_note_at(out, note->places[i]);
    return status;
}

/* What single photos gave note of: the first one's as it stands, another's with its file. */
static sw_status gather_notes(const sw_together *t)
{
    sw_inspection *out = t->out;
    sw_status status = SW_OK;
    sw_notes *notes = &out->notes;
    size_t of_first = notes->count; /* out is a copy of the first */
    notes->count = 0;
    for (size_t i = 0; i < of_first; i++)
        if (is_news(notes, &notes->list[i]))
            notes->list[notes->count++] = notes->list[i];
    for (size_t k = 1; k < t->count; k++)
        for (size_t i = 0; !status && i < t->photos[k].notes.count; i++)
            if (is_news(notes, &t->photos[k].notes.list[i]))
                status = tell_of_photo(t, k, &t->photos[k].notes.list[i], notes);
    return status ? status : sw_note_unseen(out);
}

/* "A1-B1, B1-C1 and 3 more": a few names make a readable sentence. Start with zeros. */
typedef struct names {
    size_t count, used;
    char text[128];
} names;

static void add_name(names *n, const char *name)
{
    enum { NAMED = 4 };
    if (n->count < NAMED)
        n->used += (size_t)snprintf(n->text + n->used, sizeof n->text - n->used, "%s%s", n->used ? ", " : "", name);
    else
        snprintf(n->text + n->used, sizeof n->text - n->used, " and %zu more", n->count + 1 - NAMED);
    n->count++;
}

/* Seams that one photo shows otherwise than the first. */
static sw_status note_moved(const sw_together *t, size_t k)
{
    sw_inspection *out = t->out;
    const sw_difference *differences = &t->differences[k * out->seam_count];
    names moved = {0, 0, ""};
    double most = 0;
    for (size_t i = 0; i < out->seam_count; i++)
        if (differences[i].moved) {
            most = fmax(most, fabs(sw_difference_most(&differences[i])));
            add_name(&moved, out->seams[i].name);
        }
    if (!moved.count)
        return SW_OK;
    sw_status status = sw_note_add(&out->notes, SW_NOTE_PHOTO_DIFFERS,
                                   "%.60s shows %s otherwise than %.60s, by up to %.2f mm; it is left out there, and "
                                   "the ± holds both. Was a tile moved, or did a lamp shine across the gap?",
                                   t->photos[k].file, moved.text, t->photos[0].file, most);
    for (size_t i = 0; !status && i < out->seam_count; i++)
        if (differences[i].moved)
            sw_note_at(&out->notes, out->seams[i].name);
    return status;
}

static sw_status note_spread(const sw_spread *spread, const char *what, sw_notes *notes)
{
    if (spread->agreement != SW_AGREE_WORSE)
        return SW_OK;
    return sw_note_add(notes, SW_NOTE_PHOTOS_DISAGREE,
                       "The photos disagree about %s by more than the ± of single photos allows; the ± was made %.1f "
                       "times as wide for it.",
                       what, spread->widened);
}

/* Where the table as a whole agrees, but single seams do not. */
static sw_status note_lone_seams(const sw_together *t)
{
    const sw_repeatability *r = t->repeat;
    sw_inspection *out = t->out;
    names wide = {0, 0, ""};
    if (r->mean.agreement == SW_AGREE_WORSE)
        return SW_OK;
    for (size_t i = 0; i < r->seam_count; i++)
        if (r->seams[i].widened > 1)
            add_name(&wide, out->seams[i].name);
    if (!wide.count)
        return SW_OK;
    sw_status status = sw_note_add(
        &out->notes, SW_NOTE_PHOTOS_DISAGREE,
        "The photos disagree about %s by more than the ± of single photos allows; the ± was made wider there.",
        wide.text);
    for (size_t i = 0; !status && i < r->seam_count; i++)
        if (r->seams[i].widened > 1)
            sw_note_at(&out->notes, out->seams[i].name);
    return status;
}

sw_status sw_note_photos(const sw_together *t)
{
    const sw_repeatability *r = t->repeat;
    sw_notes *notes = &t->out->notes;
    sw_status status = gather_notes(t);
    for (size_t k = 1; !status && k < t->count; k++)
        status = note_moved(t, k);
    if (!status)
        status = note_spread(r->mean.agreement == SW_AGREE_WORSE ? &r->mean : &r->station, "the gaps", notes);
    if (!status)
        status = note_lone_seams(t);
    if (!status)
        status = note_spread(&r->angle_deg, "corner angles", notes);
    if (!status)
        status = note_spread(&r->length, "lengths", notes);
    return status ? status : note_spread(&r->straightness, "straightness", notes);
}
