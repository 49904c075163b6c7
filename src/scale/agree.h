/* agree.h - whether the reference cards of one photo tell the same story. */
#ifndef SW_SCALE_AGREE_H
#define SW_SCALE_AGREE_H

#include "scale/bundle.h"

/* What the cards say of one of them. */
typedef struct sw_card_story {
    sw_card_fault fault; /* why it is left out */
    double rise_mm;      /* how far above the others' plane it must lie to look as large as it does */
    double size;         /* its size over the others', if it lies in their plane */
    double slope;        /* against that plane */
    double misfit_px;    /* RMS of its sides' points from a flat square's, wherever that lies */
    double bend_mm;      /* the largest of these distances */
} sw_card_story;

typedef enum sw_cards_verdict {
    SW_CARDS_AGREE,    /* all but those with a fault, which are fewer */
    SW_CARDS_DISAGREE, /* in size, and nothing tells which are right: no more than half are marked */
    SW_CARDS_BENT,     /* none is a flat square */
    SW_CARDS_LENS      /* with the lens profile they contradict each other or flatness, without it they do not */
} sw_cards_verdict;

/* Weighs the cards against each other: each is a flat square of the reference's size on a top of its own, all seen by one camera with
 * the scale's lens (fitted too, if it is an estimate). stories: one for each sighting. SW_NO_MEMORY. */
sw_status sw_cards_weigh(const sw_sighting *sightings, int count, const sw_scale *scale, sw_card_story *stories,
                         sw_cards_verdict *verdict);

#endif
