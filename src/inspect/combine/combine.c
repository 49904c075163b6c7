/* combine.c - several photos of one table: laid alike, joined, and what does not fit told. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/combine/together.h"
#include "inspect/combine/turned.h"
#include "inspection/copy.h"
#include "inspection/notes.h"
#include "plan/lippage.h"
#include "plan/rank.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/inspect.h"
#include "tile/budgets.h"

typedef struct combining {
    size_t count;
    sw_inspection *photos; /* copies, turned */
    sw_difference *differences;
    sw_repeatability *repeat;
    sw_photo_figure *readings;
    sw_station_state *states;
} combining;

static void end_combining(combining *c)
{
    for (size_t k = 0; c->photos && k < c->count; k++)
        sw_inspection_free(&c->photos[k]);
    free(c->photos);
    free(c->differences);
    free(c->readings);
    free(c->states);
    sw_repeatability_free(c->repeat);
    free(c->repeat);
}

static bool start_repeat(sw_repeatability *r, const sw_inspection *photos, size_t count)
{
    r->photos = calloc(count, sizeof *r->photos);
    r->quarter_turns = calloc(count, sizeof *r->quarter_turns);
    r->seams = calloc(photos[0].seam_count + 1, sizeof *r->seams);
    if (!r->photos || !r->quarter_turns || !r->seams)
        return false;
    r->photo_count = count;
    r->seam_count = photos[0].seam_count;
    for (size_t k = 0; k < count; k++)
        memcpy(r->photos[k], photos[k].file, sizeof r->photos[k]);
    for (size_t i = 0; i < r->seam_count; i++) {
        r->seams[i].counts = calloc(count, sizeof *r->seams[i].counts);
        r->seams[i].mean_mm = calloc(count, sizeof *r->seams[i].mean_mm);
        if (!r->seams[i].counts || !r->seams[i].mean_mm)
            return false;
    }
    return true;
}

static sw_status start_combining(const sw_inspection *photos, size_t count, combining *c, sw_error *err)
{
    c->count = count;
    c->photos = calloc(count, sizeof *c->photos);
    c->differences = calloc(count * (photos[0].seam_count + 1), sizeof *c->differences);
    c->readings = calloc(2 * count, sizeof *c->readings);
    c->states = calloc(count, sizeof *c->states);
    c->repeat = calloc(1, sizeof *c->repeat);
    if (!c->photos || !c->differences || !c->readings || !c->states || !c->repeat ||
        !start_repeat(c->repeat, photos, count))
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to combine photos", photos[0].file);
    sw_status status = SW_OK;
    for (size_t k = 0; !status && k < count; k++)
        status = sw_inspection_copy(&photos[k], &c->photos[k], err);
    return status ? status : sw_inspection_turn(&c->photos[0], 0, err); /* puts its seams in order */
}

/* The very same figures come from the very same picture only: its agreement with itself would prove nothing. */
static bool same_picture(const sw_inspection *a, const sw_inspection *b)
{
    size_t seen = 0;
    if (a->seam_count != b->seam_count)
        return false;
    for (size_t i = 0; i < a->seam_count; i++) {
        if (isnan(a->seams[i].mean_mm) && isnan(b->seams[i].mean_mm))
            continue;
        if (a->seams[i].mean_mm != b->seams[i].mean_mm || a->seams[i].taper_mm != b->seams[i].taper_mm)
            return false;
        seen += a->seams[i].mean_mm > 0;
    }
    return seen > 0;
}

static sw_status check_pictures(const sw_inspection *photos, size_t count, sw_error *err)
{
    for (size_t k = 1; k < count; k++)
        for (size_t j = 0; j < k; j++)
            if (same_picture(&photos[j], &photos[k]))
                return sw_fail(err, SW_BAD_INPUT,
                               "%.160s (photo %zu) is the same picture as %.160s (photo %zu); take each photo anew",
                               photos[k].file, k + 1, photos[j].file, j + 1);
    return SW_OK;
}

static sw_status lay_alike(combining *c, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t k = 1; !status && k < c->count; k++)
        status = sw_match(&c->photos[0], &c->photos[k], k + 1, &c->differences[k * c->photos[0].seam_count],
                          &c->repeat->quarter_turns[k], err);
    return status;
}

/* Heights are given by the tiles' names, and a table that lies turned has other names. Measured ones, which have a tilt,
 * were turned with it. */
static sw_status refuse_turned_steps(const combining *c, sw_error *err)
{
    bool uneven = false;
    for (size_t i = 0; i < c->photos[0].tile_count; i++)
        uneven |=
            isnan(c->photos[0].tiles[i].tilt_u95_deg) && c->photos[0].tiles[i].rise_mm != c->photos[0].tiles[0].rise_mm;
    for (size_t k = 1; uneven && k < c->count; k++)
        if (c->repeat->quarter_turns[k] != 0)
            return sw_fail(err, SW_BAD_INPUT,
                           "%s: the table lies turned against %s, so the heights of --height went to other tiles; "
                           "inspect it alone, with heights by its own names",
                           c->photos[k].file, c->photos[0].file);
    return SW_OK;
}

static sw_status combine(combining *c, sw_inspection *out, sw_error *err)
{
    sw_together t = {.photos = c->photos,
                     .count = c->count,
                     .differences = c->differences,
                     .out = out,
                     .repeat = c->repeat,
                     .readings = c->readings,
                     .states = c->states};
    sw_status status = lay_alike(c, err);
    if (status)
        return status;
    if ((status = refuse_turned_steps(c, err)))
        return status;
    status = sw_inspection_copy(&c->photos[0], out, err);
    if (status)
        return status;
    if ((status = sw_join_seams(&t)) || (status = sw_join_tiles(&t)) || (status = sw_join_marks(&t)))
        return sw_fail(err, status, "%s: not enough memory to combine photos", out->file);
    sw_budgets_make(out);
    if ((status = sw_rank(out, err)) || (status = sw_lippage_advise(out, err)))
        return status;
    status = sw_noted(sw_note_photos(&t), err);
    if (status)
        return status;
    out->repeatability = c->repeat;
    c->repeat = NULL;
    return SW_OK;
}

sw_status sw_inspection_combine(const sw_inspection *photos, size_t count, sw_inspection *combined, sw_error *err)
{
    combining c = {0};
    memset(combined, 0, sizeof *combined);
    if (count < 2)
        return sw_fail(err, SW_BAD_INPUT, "it takes two photos or more to combine them");
    if (count > SW_TABLE_PHOTOS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "%zu photos of one table are too many; %d are the most", count,
                       SW_TABLE_PHOTOS_MOST);
    sw_status status = check_pictures(photos, count, err);
    if (!status)
        status = start_combining(photos, count, &c, err);
    if (!status)
        status = combine(&c, combined, err);
    end_combining(&c);
    if (status)
        sw_inspection_free(combined);
    return status;
}
