/* slot_model.h - a slot in numbers: two a station and nine a seam, with five more where tops differ in height or rims are round. README.md
 * derives them.
 *
 *     T_low |   slot   | T_high      crossing coordinate grows to the right, px
 *     ------+          +------
 *           |\       __|             far rim: the rim farther from the camera; below it the camera sees the far wall
 *           | \__.--'                near rim: sharp, the slot behind it is dark
 *          low        high
 */
#ifndef SW_SEAM_SLOT_MODEL_H
#define SW_SEAM_SLOT_MODEL_H

#include <stdbool.h>

/* What is shared along a seam, by name or by number: the light, of which slots tell each other, and the seam's own shape. */
enum {
    SW_LIGHT_SHARE,
    SW_LIGHT_WALL,
    SW_LIGHT_TANGENT,
    SW_LIGHT_SLANT,
    SW_LIGHT_NEAR,
    SW_LIGHT_ALBEDO,
    SW_LIGHT_PENUMBRA,
    SW_LIGHT_EVEN,
    SW_LIGHT_BLUR,
    SW_LIGHT_NUMBERS,
    SW_SHAPE_STEP = SW_LIGHT_NUMBERS,
    SW_SHAPE_ROUND_NEAR,
    SW_SHAPE_ROUND_FAR,
    SW_SHAPE_OTHER_SHARE,
    SW_SHAPE_OTHER_SLANT,
    SW_SLOT_NUMBERS
};
typedef union sw_slot_light {
    struct {
        double share;   /* D: of the light on the tops, what comes from a lamp that shines on the far wall */
        double wall;    /* the sky's light on an upright wall in the open, share of all light on the tops */
        double tangent; /* t */
        double slant;   /* logarithm of s: how far that lamp's light goes across the slot for each step down */
        double
            near; /* t of the near wall, in sight only when it leans out more than the camera looks in; else next to 0 */
        double albedo;   /* of the walls */
        double penumbra; /* how gradually the lamp's light ends, share of how deep it goes */
        double even;     /* the same all over the slot: its bottom, where it is in sight */
        double blur; /* logarithm of the rims' blur over that of the card's edges: cut rims are rounder and rougher */
        double step; /* how far the far top stands above the near one, mm */
        double round_near, round_far; /* radius of the rims, mm */
        double other_share,
            other_slant; /* of the lamp that shines on the near wall, as share and slant: where it throws the step's shade */
    };
    double number[SW_SLOT_NUMBERS];
} sw_slot_light;

/* What the near wall's side of the slot is like: a lamp that lights the near wall, its share of the light on the tops and its s
 * (not its logarithm); how much lighter the near top is than the far one, and with it the wall. */
typedef struct sw_slot_other {
    double share, slant, top_ratio;
    double gap_mm;   /* about how wide the slot is, where tops differ in height; 0: they do not */
    double width_mm; /* the same, what the radii of its rims are held against; 0: rims count as sharp */
} sw_slot_other;

/* Sampled brightness of one station: samples of a few neighbouring pixel lines. x is relative to the station's own
 * origin. */
enum { SW_SLOT_SAMPLES = 320 };
typedef struct sw_slot_station {
    int count;
    float *x, *v;           /* place (px) and linear light; owned by the caller */
    double low, high;       /* levels of the tops beside the slot */
    double low_at, high_at; /* where they were read, px */
    double centre, width;   /* fitted, px along the crossing; width may come out slightly negative at a closed seam */
    double centre_prior, centre_prior_sd;
    double start_centre, start_width; /* where the fit began; set by it */
    double width_least, width_most;   /* px; farther off no width is looked for */
    double variance[3]; /* of (centre, width): cc, cw, ww, from this station's samples; shared numbers held */
    double shared[SW_SLOT_NUMBERS]; /* d width / d (the shared numbers) */
    double missing; /* beside a step: light that the slot lacks against the lower top at its rim, px of that top */
    double rms;     /* robust residual, linear light */
    bool used;      /* else not read (under a card, outside the photo) */
    bool aside;     /* a chip, a crossing seam: tells nothing of the light */
    bool tells;     /* set by the fit: the shared numbers come from it and its like */
} sw_slot_station;

#endif
