#include "inspect/guessed_cards.h"

#include <math.h>

#include "seamwright/defaults_and_ranges.h"

/* One square alone may be anything. */
enum { LEAST_CARDS = 2, SIDES = 4 };
/* Along a line from a square's middle through the middle of a side, in half sides: the square's own light; the ground beside
 * it, past any blur; a frame whose white inside was taken for a card has its white margin somewhere behind that (a frame 100/40
 * with 12 mm of white ends at 3.1). */
static const double OWN_FROM = 0.2, OWN_TO = 0.8, GROUND_FROM = 1.06, GROUND_TO = 1.15, MARGIN_TO = 3.1, STEP = 0.05;
/* So many steps as light as a card make a margin; a line or a bead is narrower. */
enum { MARGIN_STEPS = 3 };
/* Nearer to its tile's edges nobody lays a card; what is a tile itself reaches to them. Share of the tile. */
static const double CLEAR_SHARE = 0.02;

sw_reference sw_guessed_card(void)
{
    return (sw_reference){SW_REFERENCE_MM.usual, SW_REFERENCE_MM.usual, 0, 0};
}

/* Stored luma at a place, the mean of 3 x 3 pixels; NaN outside the photo. */
static double level_at(const sw_photo *photo, double x_px, double y_px)
{
    int x = (int)lround(x_px), y = (int)lround(y_px);
    double sum = 0;
    if (x < 1 || y < 1 || x >= photo->width_px - 1 || y >= photo->height_px - 1)
        return NAN;
    for (int dy = -1; dy <= 1; dy++)
        for (int dx = -1; dx <= 1; dx++)
            sum += sw_photo_at(photo, x + dx, y + dy);
    return sum / 9;
}

typedef struct ray {
    const sw_photo *photo;
    sw_point middle, half; /* half: from the middle to a side's */
} ray;

static double at(const ray *r, double t)
{
    return level_at(r->photo, r->middle.x + t * r->half.x, r->middle.y + t * r->half.y);
}

static double mean(const ray *r, double from, double to)
{
    double sum = 0;
    int count = 0;
    for (double t = from; t <= to; t += STEP / 5, count++)
        sum += at(r, t);
    return sum / count;
}

/* Whether a light square's ground ends at something as light as the square. */
static bool has_margin(const ray *r)
{
    double own = mean(r, OWN_FROM, OWN_TO), ground = mean(r, GROUND_FROM, GROUND_TO);
    int steps = 0;
    if (!(own > ground))
        return false;
    for (double t = GROUND_TO; t <= MARGIN_TO && steps < MARGIN_STEPS; t += STEP)
        steps = at(r, t) > (own + ground) / 2 ? steps + 1 : 0;
    return steps == MARGIN_STEPS;
}

static bool is_inside_of_frame(const sw_photo *photo, const sw_square *square)
{
    const sw_point *corner = square->corners_px;
    ray r = {.photo = photo};
    for (int c = 0; c < SIDES; c++) {
        r.middle.x += corner[c].x / SIDES;
        r.middle.y += corner[c].y / SIDES;
    }
    int margins = 0;
    for (int c = 0; c < SIDES; c++) {
        const sw_point *a = &corner[c], *b = &corner[(c + 1) % SIDES];
        r.half = (sw_point){(a->x + b->x) / 2 - r.middle.x, (a->y + b->y) / 2 - r.middle.y};
        margins += has_margin(&r);
    }
    return margins == SIDES;
}

bool sw_guessed_cards_plain(const sw_photo *photo, const sw_scale *scale)
{
    for (int i = 0; i < scale->square_count; i++)
        if (is_inside_of_frame(photo, &scale->squares[i]))
            return false;
    return scale->square_count >= LEAST_CARDS;
}

/* Where in its row or column a place lies: 0 at one edge of a tile, 1 at the other. */
static double share_of(double mm, double tile_mm)
{
    return mm / tile_mm - floor(mm / tile_mm);
}

static bool lies(const sw_square *square, const sw_grid *grid)
{
    double east = 0, south = 0, wide = 0;
    for (int c = 0; c < SIDES; c++) {
        east += square->corners_mm[c].x / SIDES;
        south -= square->corners_mm[c].y / SIDES;
    }
    for (int c = 0; c < SIDES; c++)
        wide = fmax(wide, fmax(fabs(square->corners_mm[c].x - east), fabs(square->corners_mm[c].y + south)));
    double clear = wide / grid->tile_mm + CLEAR_SHARE;
    double across = share_of(east, grid->tile_mm), down = share_of(south, grid->tile_mm);
    return east > 0 && south > 0 && east < grid->columns * grid->tile_mm && south < grid->rows * grid->tile_mm &&
           fmin(across, 1 - across) >= clear && fmin(down, 1 - down) >= clear;
}

bool sw_guessed_cards_lie(const sw_scale *scale, const sw_grid *grid)
{
    for (int i = 0; i < scale->square_count; i++)
        if (!lies(&scale->squares[i], grid))
            return false;
    return true;
}

sw_status sw_note_guessed(sw_inspection *ins)
{
    return sw_note_add(
        &ins->notes, SW_NOTE_CARD_GUESSED,
        "No frame card was found, but %d plain squares: they are taken to be %g mm a side. If they are not, the "
        "tiles' size and every gap are wrong in the same proportion: measure a card and say so, like "
        "--reference 99.6x99.8.",
        ins->scale.square_count, ins->scale.reference.outer_x_mm);
}
