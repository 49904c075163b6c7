#include "inspect/unlevel.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspection/notes.h"
#include "scale/frame.h"

/* A seam is spoken of where the step makes more than half of its variance, and this much of its ±, mm. */
static const double WORTH_A_WORD_MM = 0.1;
/* One way to look is named where it serves the seams so many times better than the other. */
static const double CLEARLY = 2;
enum { NAMES_ROOM = 90, WAY_ROOM = 16 };

/* Names, as many as there is room for. */
typedef struct names {
    char text[NAMES_ROOM];
    size_t count, named;
} names;

static void add_name(names *n, const char *name)
{
    n->count++;
    if (strlen(n->text) + strlen(name) + 3 > NAMES_ROOM)
        return;
    snprintf(n->text + strlen(n->text), NAMES_ROOM - strlen(n->text), "%s%s", n->named++ ? ", " : "", name);
}

static const char *more(const names *n, char room[32])
{
    room[0] = 0;
    if (n->count > n->named)
        snprintf(room, 32, " and %zu more", n->count - n->named);
    return room;
}

/* The part of a seam's widest gap's ± that is the step's, where it matters; else 0. */
static double step_part_mm(const sw_seam *seam)
{
    double u = sw_parts_u(&seam->max_parts), step = seam->max_parts.u[SW_PART_HEIGHT];
    return 2 * step > WORTH_A_WORD_MM && step * step > u * u / 2 ? 2 * step : 0;
}

/* From where a second photo would see most of these seams otherwise: the side of the table away from the camera. */
static void other_side(const sw_inspection *ins, char way[WAY_ROOM])
{
    double camera[3], upright = 0, level = 0;
    const double middle_x = ins->table.columns * ins->table.tile_mm / 2,
                 middle_y = -ins->table.rows * ins->table.tile_mm / 2;
    snprintf(way, WAY_ROOM, "other");
    if (sw_camera_place(&ins->scale, camera))
        return;
    for (size_t i = 0; i < ins->seam_count; i++)
        *(ins->seams[i].upright ? &upright : &level) += step_part_mm(&ins->seams[i]);
    snprintf(way, WAY_ROOM, "%s%s%s",
             level * CLEARLY < upright ? ""
             : camera[1] > middle_y    ? "south"
                                       : "north",
             level * CLEARLY < upright || upright * CLEARLY < level ? "" : "-",
             upright * CLEARLY < level ? ""
             : camera[0] > middle_x    ? "west"
                                       : "east");
}

/* Tiles beside those seams of whose tops nothing is told. */
static void untold_tiles(const sw_tops *tops, const sw_inspection *ins, names *n)
{
    for (size_t t = 0; t < ins->tile_count; t++) {
        const sw_tile *tile = &ins->tiles[t];
        bool beside = false;
        for (size_t i = 0; i < ins->seam_count; i++)
            beside |=
                step_part_mm(&ins->seams[i]) > 0 && (ins->seams[i].first == (int)t || ins->seams[i].second == (int)t);
        if (beside && !tops->told[tile->column][tile->row])
            add_name(n, tile->name);
    }
}

static sw_status note_unsure(const sw_tops *tops, sw_inspection *ins)
{
    names seams = {"", 0, 0}, tiles = {"", 0, 0};
    char way[WAY_ROOM], and_seams[32], and_tiles[32], cards[NAMES_ROOM + 64] = "";
    double most = 0;
    for (size_t i = 0; i < ins->seam_count; i++) {
        most = fmax(most, step_part_mm(&ins->seams[i]));
        if (step_part_mm(&ins->seams[i]) > 0)
            add_name(&seams, ins->seams[i].name);
    }
    if (seams.count == 0)
        return SW_OK;
    other_side(ins, way);
    untold_tiles(tops, ins, &tiles);
    if (tiles.count > 0)
        snprintf(cards, sizeof cards, ", or lay a small card on %s%s too", tiles.text, more(&tiles, and_tiles));
    sw_status status =
        sw_note_add(&ins->notes, SW_NOTE_HEIGHTS_UNKNOWN,
                    "How high the tops stand is not known%s at %s%s: a step makes gaps look up to %.2f mm wider or "
                    "narrower there than "
                    "they are (the \302\261 holds that). A second photo from the %s side of the table, named together "
                    "with this one, "
                    "settles it%s.",
                    tops->uneven ? " well enough" : "", seams.text, more(&seams, and_seams), most, way, cards);
    for (size_t i = 0; !status && i < ins->seam_count; i++)
        if (step_part_mm(&ins->seams[i]) > 0)
            sw_note_at(&ins->notes, ins->seams[i].name);
    return status;
}

/* The highest and the lowest of the tops that are told. */
static sw_status note_uneven(const sw_tops *tops, sw_inspection *ins)
{
    const sw_tile *high = NULL, *low = NULL;
    for (size_t t = 0; t < ins->tile_count; t++) {
        const sw_tile *tile = &ins->tiles[t];
        if (!tops->told[tile->column][tile->row] || !isfinite(tile->height_mm))
            continue;
        if (!high || tile->height_mm > high->height_mm)
            high = tile;
        if (!low || tile->height_mm < low->height_mm)
            low = tile;
    }
    if (!high || high == low)
        return SW_OK;
    sw_status status =
        sw_note_add(&ins->notes, SW_NOTE_TOPS_NOT_LEVEL,
                    "The tops are not level: %s stands %.1f mm above %s. Gaps are measured between the top "
                    "edges as seen from straight above.",
                    high->name, high->height_mm - low->height_mm, low->name);
    if (!status) {
        sw_note_at(&ins->notes, high->name);
        sw_note_at(&ins->notes, low->name);
    }
    return status;
}

static bool all_told(const sw_tops *tops)
{
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++)
            if (!tops->told[c][r])
                return false;
    return true;
}

sw_status sw_note_unlevel(const sw_tops *tops, sw_inspection *ins)
{
    sw_status status = SW_OK;
    if (tops->source == SW_TOPS_MEASURED && tops->uneven && !all_told(tops))
        status = note_uneven(tops, ins);
    return status || tops->several ? status : note_unsure(tops, ins);
}
