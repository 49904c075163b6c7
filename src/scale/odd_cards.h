/* odd_cards.h - cards that contradict the others are taken out of the fit, or nothing is measured. */
#ifndef SW_SCALE_ODD_CARDS_H
#define SW_SCALE_ODD_CARDS_H

#include "scale/agree.h"

/* Weighs the sightings, and takes those that are not believed out of them and into scale->left_out (without their places on the
 * table). *count becomes how many stay. SW_BAD_INPUT: nothing tells what to believe; err says what to do. SW_NO_MEMORY. */
sw_status sw_odd_cards_take(const sw_photo *photo, sw_sighting *sightings, int *count, sw_scale *scale, sw_error *err);

/* Fills the places of those left out, once the scale is fitted. */
void sw_odd_cards_place(sw_scale *scale);

/* SW_BAD_INPUT where so many cards were left out as bent, and the fitted rest leaves over so much, that it is not the cards. */
sw_status sw_odd_cards_refuse_picture(const sw_photo *photo, const sw_scale *scale, sw_error *err);

#endif
