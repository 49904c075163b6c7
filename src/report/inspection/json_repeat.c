/* json_repeat.c - the part of inspection.json that tells how well several photos agree. */
#include "report/inspection/json_parts.h"

#include "report/common/words.h"

enum { DECIMALS = 5, CHI_DECIMALS = 2 }; /* 0.01 um: spreads are small against the figures they belong to */

static json_t *number(double value)
{
    return sw_json_number(value, DECIMALS);
}

static void put_spread(json_t *object, const sw_spread *from, const char *const names[3], int *failed)
{
    sw_json_set(object, names[0], number(from->s_r), failed);
    sw_json_set(object, names[1], number(from->r), failed);
    sw_json_set(object, names[2], number(from->stated_u), failed);
    sw_json_set(object, "agreement", sw_json_text(sw_agreement_name(from->agreement)), failed);
    sw_json_set(object, "degrees_of_freedom", sw_json_number(from->freedom, CHI_DECIMALS), failed);
    sw_json_set(object, "chi_square", sw_json_number(from->chi_square, CHI_DECIMALS), failed);
    sw_json_set(object, "chi_square_95", sw_json_number(from->chi_square_95, CHI_DECIMALS), failed);
    sw_json_set(object, "widened", sw_json_number(from->widened, CHI_DECIMALS), failed);
}

static const char *const MM_NAMES[3] = {"s_r_mm", "r_mm", "stated_u_mm"};
static const char *const DEGREE_NAMES[3] = {"s_r_deg", "r_deg", "stated_u_deg"};

static json_t *spread(const sw_spread *from, const char *const names[3], int *failed)
{
    json_t *object = json_object();
    put_spread(object, from, names, failed);
    return object;
}

static json_t *seam(const char *name, const sw_seam_spread *from, size_t photos, int *failed)
{
    json_t *object = json_object(), *means = json_array(), *counts = json_array();
    for (size_t k = 0; k < photos; k++) {
        sw_json_append(means, number(from->mean_mm[k]), failed);
        sw_json_append(counts, json_boolean(from->counts[k]), failed);
    }
    sw_json_set(object, "name", sw_json_text(name), failed);
    sw_json_set(object, "photos", json_integer(from->photos), failed);
    sw_json_set(object, "left_out", json_integer(from->left_out), failed);
    sw_json_set(object, "difference_mm", number(from->difference_mm), failed);
    sw_json_set(object, "s_r_mm", number(from->s_r_mm), failed);
    sw_json_set(object, "r_mm", number(SW_REPEAT_LIMIT * from->s_r_mm), failed);
    sw_json_set(object, "stated_u_mm", number(from->stated_u_mm), failed);
    sw_json_set(object, "station_s_r_mm", number(from->station_s_r_mm), failed);
    sw_json_set(object, "station_stated_u_mm", number(from->station_stated_u_mm), failed);
    sw_json_set(object, "widened", sw_json_number(from->widened, CHI_DECIMALS), failed);
    sw_json_set(object, "counts", counts, failed);
    sw_json_set(object, "mean_mm", means, failed);
    return object;
}

json_t *sw_json_repeatability(const sw_inspection *inspection, int *failed)
{
    const sw_repeatability *from = inspection->repeatability;
    json_t *object = json_object(), *photos = json_array(), *turns = json_array(), *seams = json_array();
    for (size_t k = 0; k < from->photo_count; k++) {
        sw_json_append(photos, sw_json_text(from->photos[k]), failed);
        sw_json_append(turns, json_integer(from->quarter_turns[k]), failed);
    }
    for (size_t i = 0; i < from->seam_count; i++)
        sw_json_append(seams, seam(inspection->seams[i].name, &from->seams[i], from->photo_count, failed), failed);
    sw_json_set(object, "photos", photos, failed);
    sw_json_set(object, "quarter_turns", turns, failed);
    put_spread(object, &from->mean, MM_NAMES, failed);
    sw_json_set(object, "stations", spread(&from->station, MM_NAMES, failed), failed);
    sw_json_set(object, "taper", spread(&from->taper, MM_NAMES, failed), failed);
    sw_json_set(object, "angle", spread(&from->angle_deg, DEGREE_NAMES, failed), failed);
    sw_json_set(object, "length", spread(&from->length, MM_NAMES, failed), failed);
    sw_json_set(object, "straightness", spread(&from->straightness, MM_NAMES, failed), failed);
    sw_json_set(object, "seams", seams, failed);
    return object;
}
