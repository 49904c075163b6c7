#include "support/fixture.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "inspection/tops.h"
#include "tile/budgets.h"

enum { COLUMNS = 3, ROWS = 3, STATIONS = 299, RIM_POINTS = 61, PHOTO_WIDTH = 1600, PHOTO_HEIGHT = 1200 };
static const double TILE_MM = 300, PITCH_MM = 301, TOLERANCE_MM = 0.5, CAMERA_MM = 1100, FOCAL_PX = 1200;

/* One seam's gap: mean and growth from end to end, 95 % uncertainty, and where it is unseen. */
typedef struct plan {
    int column, row, upright;
    double gap_mm, taper_mm, u95_mm, unseen_from_mm, unseen_to_mm;
} plan;

static const plan PLANS[FIXTURE_SEAMS] = {
    {0, 0, 1, 0.22, 0.10, 0.05, 0, 0},  {1, 0, 1, 0.95, 0.80, 0.05, 0, 0},    {0, 0, 0, 0.45, 0.06, 0.06, 0, 0},
    {1, 0, 0, 0.28, -0.12, 0.05, 0, 0}, {2, 0, 0, 1.20, 0.55, 0.06, 0, 0},    {0, 1, 1, 0.00, 0.00, 0.07, 0, 0},
    {1, 1, 1, 2.90, 0.60, 0.06, 0, 0},  {0, 1, 0, 0.15, 0.08, 0.05, 90, 190}, {1, 1, 0, 0, 0, 0.05, 0, 301},
    {2, 1, 0, 0.30, 0.10, 0.05, 0, 0},  {0, 2, 1, 0.47, -0.05, 0.08, 0, 0},   {1, 2, 1, 1.50, 1.60, 0.05, 0, 0},
};

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count, size);
    if (!memory) {
        fputs("fixture: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

/* Shares of the variance: what a gap's, a length's or angle's, and a straightness's uncertainty is made of. */
static const double GAP_SHARES[SW_PART_COUNT] = {[SW_PART_NOISE] = 0.16,
                                                 [SW_PART_TEXTURE] = 0.2,
                                                 [SW_PART_LIGHT] = 0.09,
                                                 [SW_PART_MODEL] = 0.545,
                                                 [SW_PART_SPREAD] = 0.005},
                    SCALE_SHARES[SW_PART_COUNT] =
                        {[SW_PART_NOISE] = 0.0275,     [SW_PART_TEXTURE] = 0.0125, [SW_PART_LENS] = 0.5,
                         [SW_PART_PERSPECTIVE] = 0.25, [SW_PART_SIZE] = 0.16,      [SW_PART_THICKNESS] = 0.05},
                    STRAIGHT_SHARES[SW_PART_COUNT] = {
                        [SW_PART_NOISE] = 0.6, [SW_PART_MODEL] = 0.25, [SW_PART_LENS] = 0.15};

static void fill_parts(sw_parts *parts, double u95, const double *shares)
{
    double sum = 0;
    for (int k = 0; k < SW_PART_COUNT; k++)
        sum += shares[k];
    for (int k = 0; k < SW_PART_COUNT; k++)
        parts->u[k] = u95 / 2 * sqrt(shares[k] / sum);
    parts->degrees_of_freedom = 6;
}

static double gap_at(const plan *from, double at_mm)
{
    double gap = from->gap_mm + from->taper_mm * (at_mm / TILE_MM - 0.5);
    if (from->gap_mm > 0)
        gap += 0.03 * sin(at_mm / 17);
    return gap > 0 ? gap : 0;
}

static void fill_stations(sw_seam *seam, const plan *from)
{
    seam->station_count = STATIONS;
    seam->stations = get(STATIONS, sizeof *seam->stations);
    for (int i = 0; i < STATIONS; i++) {
        sw_station *station = &seam->stations[i];
        station->at_mm = i + 1;
        station->gap_mm = gap_at(from, station->at_mm);
        station->u95_mm = from->u95_mm;
        station->state = i < 5 || i >= STATIONS - 5 ? SW_STATION_END : SW_STATION_OK;
        if (station->at_mm > from->unseen_from_mm && station->at_mm < from->unseen_to_mm) {
            station->state = SW_STATION_UNSEEN;
            station->gap_mm = station->u95_mm = NAN;
        }
    }
}

static void fill_chip(sw_seam *seam)
{
    seam->chips = get(1, sizeof *seam->chips);
    seam->chip_count = 1;
    seam->chips[0] = (sw_chip){.tile = seam->second, .side = SW_WEST, .at_mm = 210, .length_mm = 14, .depth_mm = 2.4};
    for (size_t i = 0; i < seam->station_count; i++) {
        double from_middle = (seam->stations[i].at_mm - 210) / 7;
        if (fabs(from_middle) < 1) {
            seam->stations[i].gap_mm += 2.4 * (1 - from_middle * from_middle);
            seam->stations[i].state = SW_STATION_CHIP;
        }
    }
}

static void sum_up(sw_seam *seam, const plan *from)
{
    double sum = 0;
    size_t seen = 0;
    seam->mean_mm = seam->min_mm = seam->max_mm = seam->max_at_mm = seam->mean_u95_mm = seam->max_u95_mm = NAN;
    seam->taper_mm = seam->taper_u95_mm = NAN;
    for (size_t i = 0; i < seam->station_count; i++) {
        const sw_station *station = &seam->stations[i];
        if (station->state != SW_STATION_OK)
            continue;
        sum += station->gap_mm;
        seen++;
        if (!(seam->min_mm <= station->gap_mm))
            seam->min_mm = station->gap_mm;
        if (!(seam->max_mm >= station->gap_mm)) {
            seam->max_mm = station->gap_mm;
            seam->max_at_mm = station->at_mm;
        }
    }
    if (seen) {
        seam->mean_mm = sum / (double)seen;
        seam->mean_u95_mm = from->u95_mm / 2;
        seam->max_u95_mm = from->u95_mm;
        fill_parts(&seam->mean_parts, seam->mean_u95_mm, GAP_SHARES);
        fill_parts(&seam->max_parts, seam->max_u95_mm, GAP_SHARES);
        seam->taper_mm = from->taper_mm;
        seam->taper_u95_mm = from->u95_mm;
    }
    seam->verdict = sw_verdict_of(seam->max_mm, seam->max_u95_mm, TOLERANCE_MM);
}

static void fill_seam(sw_seam *seam, const plan *from, const sw_tile *tiles)
{
    double middle_x = from->column * PITCH_MM, middle_y = -from->row * PITCH_MM, half = TILE_MM / 2;
    seam->upright = from->upright;
    seam->first = from->row * COLUMNS + from->column;
    seam->second = seam->first + (from->upright ? 1 : COLUMNS);
    snprintf(seam->name, sizeof seam->name, "%.7s-%.7s", tiles[seam->first].name, tiles[seam->second].name);
    seam->length_mm = TILE_MM;
    if (from->upright) {
        seam->start_mm = (sw_point){middle_x + PITCH_MM / 2, middle_y + half};
        seam->end_mm = (sw_point){middle_x + PITCH_MM / 2, middle_y - half};
    } else {
        seam->start_mm = (sw_point){middle_x - half, middle_y - PITCH_MM / 2};
        seam->end_mm = (sw_point){middle_x + half, middle_y - PITCH_MM / 2};
    }
    seam->corner_step_mm = 0.12;
    fill_stations(seam, from);
    if (from - PLANS == FIXTURE_CHIPPED)
        fill_chip(seam);
    sum_up(seam, from);
}

/* Shapes that differ from edge to edge, from the tile's number: a wedge of up to 0.5 mm and a bow or hollow of up to
 * 0.4. */
static void fill_edge(sw_edge *edge, const sw_tile *tile, int side)
{
    int number = (tile->row * COLUMNS + tile->column) * 4 + side;
    double wedge = 0.25 * sin(number * 1.7), bow = 0.4 * cos(number * 2.3);
    edge->length_mm = TILE_MM + 0.2 * sin(number);
    edge->length_u95_mm = 0.05;
    edge->straightness_mm = fabs(bow);
    edge->straightness_u95_mm = 0.06;
    fill_parts(&edge->length_parts, edge->length_u95_mm, SCALE_SHARES);
    fill_parts(&edge->straightness_parts, edge->straightness_u95_mm, STRAIGHT_SHARES);
    edge->bow_mm = bow;
    edge->seen = 1;
    edge->point_count = RIM_POINTS;
    edge->points = get(RIM_POINTS, sizeof *edge->points);
    for (int i = 0; i < RIM_POINTS; i++) {
        double share = (double)i / (RIM_POINTS - 1), along = (share - 0.5) * TILE_MM;
        sw_rim_point *point = &edge->points[i];
        point->at_mm = share * TILE_MM;
        point->proud_mm = wedge * (2 * share - 1) + bow * (4 * share * (1 - share) - 0.5);
        double out = TILE_MM / 2 + point->proud_mm;
        double x = side == SW_EAST ? out : side == SW_WEST ? -out : along;
        double y = side == SW_NORTH ? out : side == SW_SOUTH ? -out : -along;
        point->mm = (sw_point){tile->centre_mm.x + x, tile->centre_mm.y + y};
        point->state = i == 0 || i == RIM_POINTS - 1 ? SW_STATION_END : SW_STATION_OK;
    }
}

static void fill_tile(sw_tile *tile, int column, int row)
{
    static const double corner_x[] = {-1, 1, 1, -1}, corner_y[] = {1, 1, -1, -1};
    tile->name[0] = (char)('A' + column);
    tile->name[1] = (char)('1' + row);
    tile->column = column;
    tile->row = row;
    tile->centre_mm = (sw_point){column * PITCH_MM, -row * PITCH_MM};
    tile->side_mm = TILE_MM;
    for (int i = 0; i < 4; i++) {
        tile->corners[i].mm =
            (sw_point){tile->centre_mm.x + corner_x[i] * TILE_MM / 2, tile->centre_mm.y + corner_y[i] * TILE_MM / 2};
        tile->corners[i].angle_deg = 90 + 0.08 * sin(1 + i + 4 * column + 12 * row);
        tile->corners[i].u95_deg = 0.03;
        fill_parts(&tile->corners[i].angle_parts, 0.03, SCALE_SHARES);
        fill_edge(&tile->edges[i], tile, i);
    }
}

/* The camera hangs CAMERA_MM above the middle tile's centre, turned a little and looking a little aslant. */
static void fill_scale(sw_scale *scale)
{
    double turn = 0.01, c = cos(turn) / CAMERA_MM, s = sin(turn) / CAMERA_MM, slant = 1.5e-5;
    scale->lens = (sw_lens){.source = SW_LENS_PROFILE,
                            .width_px = PHOTO_WIDTH,
                            .height_px = PHOTO_HEIGHT,
                            .fx = FOCAL_PX,
                            .fy = FOCAL_PX,
                            .cx = 799.5,
                            .cy = 599.5,
                            .k1 = -0.03,
                            .k2 = 0.02,
                            .residual_px = 0.08,
                            .covered = 0.86,
                            .photos = 8,
                            .square_mm = 25};
    scale->reference = (sw_reference){100, 100, 60, 60};
    scale->square_count = 4;
    double map[3][3] = {{c, s, -c * PITCH_MM + s * PITCH_MM}, {s, -c, -s * PITCH_MM - c * PITCH_MM}, {slant, 0, 1}};
    memcpy(scale->to_plane, map, sizeof map);
    scale->px_per_mm = FOCAL_PX / CAMERA_MM;
    scale->residual_px = 0.041;
    scale->edge_spread_px = 0.12;
    scale->edge_spread_u_px = 0.02;
    scale->blur_px = 0.7;
    for (int i = 0; i < 4; i++) {
        double x = i == 1 || i == 2 ? 610 : -10, y = i < 2 ? 20 : -615;
        double dx[] = {-50, 50, 50, -50}, dy[] = {50, 50, -50, -50};
        for (int k = 0; k < 4; k++)
            scale->squares[i].corners_mm[k] = (sw_point){x + dx[k], y + dy[k]};
    }
}

static void add_advice(sw_inspection *inspection, sw_advice advice)
{
    advice.rank = (int)inspection->advice_count + 1;
    advice.worst_gap_mm = inspection->seams[advice.seam].max_mm;
    advice.u95_mm = inspection->seams[advice.seam].max_u95_mm;
    inspection->ranking[inspection->advice_count++] = advice;
}

static void fill_ranking(sw_inspection *to)
{
    to->ranking = get(7, sizeof *to->ranking);
    add_advice(
        to,
        (sw_advice){
            .tile = 4,
            .side = SW_EAST,
            .seam = FIXTURE_WIDEST,
            .action = SW_TRUE_UP,
            .remove_mm = 0.62,
            .from_mm = 20,
            .to_mm = 150,
            .reason =
                "B2 and C2 touch at the north end, which holds the seam open further south; B2 stands proud there."});
    add_advice(to, (sw_advice){.tile = 8,
                               .side = SW_WEST,
                               .seam = 11,
                               .action = SW_TRUE_UP,
                               .remove_mm = 0.41,
                               .from_mm = 0,
                               .to_mm = 120,
                               .reason = "C3 is proud of its own square at its north-west corner."});
    add_advice(to, (sw_advice){.tile = 2,
                               .side = SW_SOUTH,
                               .seam = 4,
                               .action = SW_BEVEL,
                               .remove_mm = 0.9,
                               .from_mm = 0,
                               .to_mm = 300,
                               .reason = "The tops gape all along although both edges are straight: one base stands "
                                         "proud; hold a try square to C1 south and C2 north."});
    add_advice(to, (sw_advice){.tile = 2,
                               .side = SW_WEST,
                               .seam = FIXTURE_CHIPPED,
                               .action = SW_FILL,
                               .from_mm = 203,
                               .to_mm = 217,
                               .reason = "A chip of 14 mm, 2.4 mm deep: fill it; do not sand the whole edge for it."});
    add_advice(to,
               (sw_advice){.tile = 6,
                           .side = SW_EAST,
                           .seam = 10,
                           .action = SW_CHECK,
                           .from_mm = 0,
                           .to_mm = 300,
                           .reason = "Too close to call: check it with a 0.50 mm feeler gauge before any sanding."});
    add_advice(
        to,
        (sw_advice){
            .tile = 0, .side = SW_EAST, .seam = 0, .action = SW_LEAVE, .reason = "Within tolerance, \"as it is\"."});
    add_advice(to, (sw_advice){.tile = 3, .side = SW_EAST, .seam = 5, .action = SW_LEAVE, .reason = "Closed."});
}

void fixture_inspection(sw_inspection *inspection)
{
    memset(inspection, 0, sizeof *inspection);
    snprintf(inspection->file, sizeof inspection->file, "valley <north> & \"south\".jpg");
    snprintf(inspection->taken, sizeof inspection->taken, "2026-05-01 10:12:00");
    snprintf(inspection->camera, sizeof inspection->camera, "A phone");
    inspection->width_px = PHOTO_WIDTH;
    inspection->height_px = PHOTO_HEIGHT;
    fill_scale(&inspection->scale);
    inspection->table =
        (sw_table){.columns = COLUMNS, .rows = ROWS, .tile_mm = TILE_MM, .tile_given = 1, .height_mm = 45};
    inspection->tolerance_mm = TOLERANCE_MM;
    inspection->step_mm = 1;
    inspection->tile_count = COLUMNS * ROWS;
    inspection->tiles = get(inspection->tile_count, sizeof *inspection->tiles);
    for (int i = 0; i < COLUMNS * ROWS; i++)
        fill_tile(&inspection->tiles[i], i % COLUMNS, i / COLUMNS);
    inspection->tiles[0].chips = get(1, sizeof *inspection->tiles[0].chips);
    inspection->tiles[0].chip_count = 1;
    inspection->tiles[0].chips[0] = (sw_chip){.tile = 0, .side = SW_WEST, .at_mm = 80, .length_mm = 9, .depth_mm = 1.5};
    inspection->seam_count = FIXTURE_SEAMS;
    inspection->seams = get(FIXTURE_SEAMS, sizeof *inspection->seams);
    for (int i = 0; i < FIXTURE_SEAMS; i++)
        fill_seam(&inspection->seams[i], &PLANS[i], inspection->tiles);
    sw_tops_unknown(inspection);
    fill_ranking(inspection);
    sw_budgets_make(inspection);
    if (sw_note_add(&inspection->notes, SW_NOTE_SEAM_UNSEEN, "a card lies over B2-B3: move it & take the photo again"))
        abort();
    sw_note_at(&inspection->notes, "B2-B3");
}

void fixture_all_within(sw_inspection *inspection)
{
    fixture_inspection(inspection);
    for (size_t i = 0; i < inspection->seam_count; i++) {
        plan calm = PLANS[i];
        sw_seam *seam = &inspection->seams[i];
        calm.gap_mm = 0.2;
        calm.taper_mm = 0.05;
        calm.unseen_from_mm = calm.unseen_to_mm = 0;
        free(seam->stations);
        free(seam->chips);
        seam->chips = NULL;
        seam->chip_count = 0;
        fill_stations(seam, &calm);
        sum_up(seam, &calm);
    }
    sw_budgets_make(inspection);
    inspection->advice_count = inspection->notes.count = 0;
}

void fixture_folder(char folder[64])
{
    snprintf(folder, 64, "/tmp/seamwright-test-XXXXXX");
    if (!mkdtemp(folder)) {
        perror("fixture: mkdtemp");
        exit(99);
    }
}

void fixture_remove(const char *folder)
{
    DIR *open = opendir(folder);
    for (struct dirent *entry; open && (entry = readdir(open));) {
        char path[1024];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (unlink(path) != 0)
            fixture_remove(path);
    }
    if (open)
        closedir(open);
    rmdir(folder);
}

char *fixture_read(const char *folder, const char *name, size_t *length)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    fseek(file, 0, SEEK_END);
    long size = ftell(file);
    rewind(file);
    char *text = get((size_t)size + 1, 1);
    size_t got = fread(text, 1, (size_t)size, file);
    fclose(file);
    if (length)
        *length = got;
    return text;
}
