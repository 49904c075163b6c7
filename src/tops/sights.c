#include "tops/sights.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "scale/frame.h"

/* A card's corner, px: 24 points a side, good to 0.02 px each, and what JPEG and colour mosaic leave along a side. Practice photos: 0.017 to
 * 0.026. */
static const double CORNER_U_PX = 0.02;
/* The same card lies in two photos where its middle does within this, mm: tops 20 mm apart seen from the side shift it by 10. */
static const double SAME_CARD_MM = 25;

sw_status sw_sights_start(int columns, int rows, double tile_mm, int views, sw_sights *s)
{
    size_t tiles = (size_t)columns * (size_t)rows;
    memset(s, 0, sizeof *s);
    s->columns = columns;
    s->rows = rows;
    s->tile_mm = tile_mm;
    s->scales = calloc((size_t)views, sizeof *s->scales);
    s->rims = calloc(tiles * 4 * SW_RIM_KNOTS * (size_t)views, sizeof *s->rims);
    s->cards = calloc(sizeof s->scales->squares / sizeof *s->scales->squares * (size_t)views, sizeof *s->cards);
    if (s->scales && s->rims && s->cards)
        return SW_OK;
    sw_sights_free(s);
    return SW_NO_MEMORY;
}

void sw_sights_free(sw_sights *s)
{
    free(s->scales);
    free(s->rims);
    free(s->cards);
    memset(s, 0, sizeof *s);
}

static int tile_at(const sw_sights *s, sw_point mm)
{
    int column = (int)fmax(0, fmin(s->columns - 1, floor(mm.x / s->tile_mm)));
    int row = (int)fmax(0, fmin(s->rows - 1, floor(-mm.y / s->tile_mm)));
    return row * s->columns + column;
}

static double direction(const sw_scale *scale, const sw_point px[4])
{
    sw_point a = sw_scale_to_mm(scale, px[0]), b = sw_scale_to_mm(scale, px[1]);
    return atan2(b.y - a.y, b.x - a.x);
}

/* The card an earlier view showed in the same place; NULL when there was none. */
static const sw_card_sight *seen_before(const sw_sights *s, const sw_card_sight *card, sw_point middle)
{
    for (size_t i = 0; i < s->card_count; i++) {
        const sw_card_sight *c = &s->cards[i];
        const sw_scale *scale = &s->scales[c->view];
        sw_point m =
            sw_between(sw_scale_to_mm(scale, c->corners_px[0][0]), sw_scale_to_mm(scale, c->corners_px[0][2]), 0.5);
        if (c->view != card->view && c->tile == card->tile && sw_distance(m, middle) < SAME_CARD_MM)
            return c;
    }
    return NULL;
}

/* Corners in the order in which another view has them: squares look alike under quarter turns. */
static void turn_like(const sw_sights *s, const sw_card_sight *like, sw_card_sight *card)
{
    double by =
        direction(&s->scales[card->view], card->corners_px[0]) - direction(&s->scales[like->view], like->corners_px[0]);
    int quarters = (int)lround(by / (M_PI / 2)) & 3; /* counter-clockwise */
    for (int rim = 0; rim < card->rims; rim++) {
        sw_point was[4];
        memcpy(was, card->corners_px[rim], sizeof was);
        for (int c = 0; c < 4; c++)
            card->corners_px[rim][c] = was[(c + quarters) & 3];
    }
}

static void add_cards(sw_sights *s, const sw_scale *scale)
{
    int view = s->views++;
    s->scales[view] = *scale;
    for (int i = 0; i < scale->square_count; i++) {
        const sw_square *q = &scale->squares[i];
        sw_card_sight card = {.view = view, .u_px = CORNER_U_PX, .rims = scale->reference.inner_x_mm > 0 ? 2 : 1};
        sw_point middle = sw_square_middle(q);
        card.tile = tile_at(s, middle);
        memcpy(card.corners_px[0], q->corners_px, sizeof q->corners_px);
        memcpy(card.corners_px[1], q->inner_px, sizeof q->inner_px);
        const sw_card_sight *like = seen_before(s, &card, middle);
        card.card = like ? like->card : s->card_numbers++;
        if (like)
            turn_like(s, like, &card);
        s->cards[s->card_count++] = card;
    }
}

/* All views of a rim's knot together. */
static int by_knot(const void *a, const void *b)
{
    const sw_rim_sight *p = a, *q = b;
    if (p->tile != q->tile)
        return p->tile < q->tile ? -1 : 1;
    if (p->side != q->side)
        return p->side - q->side;
    return p->knot != q->knot ? p->knot - q->knot : p->view - q->view;
}

void sw_sights_add(sw_sights *s, const sw_view *view)
{
    int number = s->views;
    add_cards(s, &view->scale);
    for (size_t i = 0; i < view->rim_count; i++) {
        sw_rim_sight *rim = &s->rims[s->rim_count++];
        *rim = view->rims[i];
        rim->view = number;
    }
    qsort(s->rims, s->rim_count, sizeof *s->rims, by_knot);
}
