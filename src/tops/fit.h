/* fit.h - the work in progress of tops.h: what is fitted, and the normal equations. */
#ifndef SW_TOPS_FIT_H
#define SW_TOPS_FIT_H

#include "tops/tops.h"

enum { SW_TOP_NUMBERS = 3, SW_CAMERA_NUMBERS = 6, SW_CARD_NUMBERS = 4 };

/* turn: the world's axes as the camera sees them are its columns; place: in the world, mm. */
typedef struct sw_tops_camera {
    double turn[3][3], place[3];
} sw_tops_camera;

/* What one tile has of its own: its top (height at the middle, slopes east and north), and of each card on it place, turn and the
 * logarithm of its size. The normal equations of these, and what binds them to the common numbers (lens and cameras). */
typedef struct sw_tops_block {
    sw_point middle;
    int numbers;
    double *value;              /* numbers */
    double *own, *side, *cross; /* numbers x numbers, numbers, numbers x common */
    double *inverse, *ratio;    /* own^-1, own^-1 cross */
} sw_tops_block;

/* The fit at work. Common numbers: the lens's (of SW_LENS_NUMBERS independent directions, standard deviations z, about a mean), the
 * cards' thickness, and each camera's (small turns, then places). */
typedef struct sw_fitting {
    const sw_sights *s;
    struct {
        double height_mm, slope;
    } prior;                         /* spreads of heights and slopes, standard deviations, as learnt so far */
    int tiles, lens_numbers, common; /* counts */
    bool one_lens;
    double thickness_mm;
    struct sw_sight_line *lines; /* of the rims, then of the cards' corners; made for the lens line_z */
    double line_z[SW_LENS_NUMBERS];
    double lens_mean[SW_LENS_NUMBERS], lens_root[SW_LENS_NUMBERS][SW_LENS_NUMBERS], lens_z[SW_LENS_NUMBERS];
    sw_tops_camera *cameras;
    sw_tops_block *blocks;                         /* a tile each */
    int *card_at;                                  /* of each card: where its numbers begin in its tile's block */
    double *all;                                   /* common x common, then the side of it */
    double *side, *row_sum;                        /* common + the largest block */
    bool uneven;                                   /* of cards alone: one level does not fit them */
    double cost, count, outlier_mm, agreed, knots; /* of the rims' weights, sum over the knots that two photos saw */
    void *room;
} sw_fitting;

/* Where a camera's numbers begin among the common ones; the thickness has the place before the first. */
static inline int sw_at_camera(const sw_fitting *f, int view)
{
    return f->lens_numbers + 1 + view * SW_CAMERA_NUMBERS;
}

/* Whether the photos say anything of a tile's top: a single photo's rims do not. */
static inline bool sw_fitting_tells(const sw_fitting *f, int tile)
{
    return f->s->rim_count > 0 || f->blocks[tile].numbers > SW_TOP_NUMBERS;
}

/* From where the level fit of each photo put things. sw_fitting_end frees, in any case. SW_NO_MEMORY, SW_NOT_FOUND. */
sw_status sw_fitting_start(const sw_sights *sights, sw_fitting *fitting);
void sw_fitting_end(sw_fitting *fitting);

#endif
