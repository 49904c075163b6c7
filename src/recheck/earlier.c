/* earlier.c - what an inspection takes from the one that it follows. */
#include "seamwright/earlier.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/defaults_and_ranges.h"

static sw_status no_memory(sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
}

void sw_earlier_free(sw_earlier *earlier)
{
    if (!earlier)
        return;
    sw_inspection_free(&earlier->inspection);
    sw_plan_free(&earlier->plan);
    free(earlier->heights);
    memset(earlier, 0, sizeof *earlier);
}

sw_status sw_earlier_read(const char *inspection, const char *plan, sw_earlier *earlier, sw_error *err)
{
    memset(earlier, 0, sizeof *earlier);
    sw_status status = sw_inspection_read(inspection, &earlier->inspection, err);
    if (!status && plan) {
        status = sw_plan_read(plan, &earlier->inspection, &earlier->plan, err);
        earlier->planned = !status;
    }
    if (status)
        sw_earlier_free(earlier);
    return status;
}

/* ---- what is taken over ---- */

/* Every top's height is known, some differ from the median by more than their ±, and no card on each tile tells them
 * anew. */
static bool tops_matter(const sw_inspection *earlier)
{
    bool differ = false;
    for (size_t i = 0; i < earlier->tile_count; i++) {
        const sw_tile *tile = &earlier->tiles[i];
        if (!isfinite(tile->height_mm) || !isfinite(tile->height_u95_mm))
            return false;
        differ |= fabs(tile->height_mm) > tile->height_u95_mm;
    }
    return differ && (size_t)earlier->scale.square_count < earlier->tile_count;
}

/* Over the table, of each tile by its index; 0: like the others. */
static double given_height(const sw_inspection *was, size_t tile)
{
    for (size_t i = 0; i < was->given.height_count; i++)
        if (strcmp(was->given.heights[i].tile, was->tiles[tile].name) == 0)
            return was->given.heights[i].height_mm;
    return 0;
}

/* Names the heights by the places where the tiles lie now. */
static sw_status name_heights(sw_earlier *e, const sw_layout *layout, sw_options *options, sw_error *err)
{
    const sw_inspection *was = &e->inspection;
    int columns = layout ? layout->columns : was->table.columns;
    e->heights = calloc(was->tile_count + 1, sizeof *e->heights);
    if (!e->heights)
        return no_memory(err);
    options->heights = e->heights;
    for (size_t i = 0; i < was->tile_count; i++) {
        size_t tile = layout ? (size_t)layout->places[i].tile : i;
        double mm = e->tops_as_measured ? options->height_mm + was->tiles[tile].height_mm : given_height(was, tile);
        sw_tile_height *to = &e->heights[options->height_count];
        if (!(mm > 0))
            continue;
        snprintf(to->tile, sizeof to->tile, "%c%d", 'A' + (int)i % columns, (int)i / columns % 1000 + 1);
        to->height_mm = mm;
        options->height_count++;
    }
    return SW_OK;
}

static sw_status take_heights(sw_earlier *e, const sw_layout *layout, int photos, sw_options *options, sw_error *err)
{
    const sw_inspection *was = &e->inspection;
    if (options->height_mm > 0 || options->height_count)
        return SW_OK;
    options->height_mm = was->given.height_count ? was->given.height_mm : was->table.height_mm;
    if (!was->given.height_count && photos == 1 && tops_matter(was)) {
        /* Only their differences matter to gaps: how high they stand over the table is as was said, or as is usual. */
        options->height_mm = was->table.height_mm > 0 ? was->table.height_mm : SW_HEIGHT_MM.usual;
        e->tops_as_measured = true;
    }
    return was->given.height_count || e->tops_as_measured ? name_heights(e, layout, options, err) : SW_OK;
}

bool sw_earlier_lacks_lens(const sw_earlier *earlier)
{
    const sw_inspection *was = &earlier->inspection;
    return was->scale.lens.source == SW_LENS_PROFILE && was->given.lens.source == SW_LENS_NONE;
}

static bool has_note(const sw_inspection *was, sw_note_kind kind)
{
    for (size_t i = 0; i < was->notes.count; i++)
        if (was->notes.list[i].kind == kind)
            return true;
    return false;
}

sw_status sw_earlier_options(sw_earlier *earlier, const sw_layout *layout, int photos, sw_options *options,
                             sw_error *err)
{
    const sw_inspection *was = &earlier->inspection;
    if (!(options->reference.outer_x_mm > 0) &&
        !has_note(was, SW_NOTE_CARD_GUESSED)) /* a guess is made anew, and told */
        options->reference = was->scale.reference;
    if (!options->card_thickness_given && was->given.card_thickness) {
        options->card_thickness_given = true;
        options->card_thickness_mm = was->given.card_thickness_mm;
    }
    if (!options->lens && was->given.lens.source != SW_LENS_NONE)
        options->lens = &was->given.lens;
    if (!(options->tile_mm > 0)) {
        options->tile_mm = was->table.tile_mm;
        earlier->tile_as_measured = !was->table.tile_given;
    }
    if (!(options->tolerance_mm > 0))
        options->tolerance_mm = was->tolerance_mm;
    if (!(options->lippage_mm > 0))
        options->lippage_mm = was->lippage_mm;
    return take_heights(earlier, layout, photos, options, err);
}

/* ---- rounds ---- */

static sw_round round_of(const sw_inspection *ins, double tolerance_mm)
{
    sw_round round = {.seams = (int)ins->seam_count, .tolerance_mm = tolerance_mm};
    memcpy(round.file, ins->file, sizeof round.file);
    for (size_t i = 0; i < ins->seam_count; i++) {
        sw_verdict is = sw_verdict_of(ins->seams[i].max_mm, ins->seams[i].max_u95_mm, tolerance_mm);
        round.over += is == SW_OVER;
        round.too_close += is == SW_TOO_CLOSE;
    }
    return round;
}

sw_status sw_earlier_follow(const sw_earlier *earlier, const char *path, sw_inspection *inspection, sw_error *err)
{
    const sw_inspection *was = &earlier->inspection;
    sw_round *rounds = calloc(was->round_count + 1, sizeof *rounds);
    if (!rounds)
        return no_memory(err);
    if (was->round_count)
        memcpy(rounds, was->rounds, was->round_count * sizeof *rounds);
    rounds[was->round_count] = round_of(was, inspection->tolerance_mm);
    free(inspection->rounds);
    inspection->rounds = rounds;
    inspection->round_count = was->round_count + 1;
    snprintf(inspection->after, sizeof inspection->after, "%s", path);
    /* What nobody said is not passed on as said. */
    inspection->table.tile_given &= !earlier->tile_as_measured;
    if (earlier->tops_as_measured) {
        inspection->given.height_mm = 0;
        inspection->given.height_count = 0;
        inspection->table.height_mm = was->table.height_mm;
    }
    return SW_OK;
}
