#include "report/inspection/limits.h"

#include <math.h>

#include "report/common/json_names.h"
#include "seamwright/defaults_and_ranges.h"

/* How far anything lies off where a perfect tile has it: a quarter of the tile, of small tiles the widest gaps and a rim
 * rounded as wide. */
static const double OFF_OF_TILE = 0.25, OFF_LEAST_MM = 40;
/* A ± may say that nothing is known, which no more than this says, mm. */
static const double U95_MOST_MM = 1e4;

static double off_mm(const sw_reading *r)
{
    return fmax(OFF_OF_TILE * sw_named_in(r->context)->table.tile_mm, OFF_LEAST_MM);
}

static double tile_mm(const sw_reading *r)
{
    return sw_named_in(r->context)->table.tile_mm;
}

static void take(sw_reading *r, const sw_field *field, const json_t *value, double *at, double least, double most)
{
    sw_take_figure(r, field, value, at);
    if (*at < least || *at > most)
        sw_read_wrong(r, "\"%s\" is %.6g, and cannot be outside %.6g to %.6g", field->key, *at, least, most);
}

void sw_take_along(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    take(r, field, value, at, -off_mm(r), tile_mm(r) + off_mm(r));
}

void sw_take_off(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    take(r, field, value, at, -off_mm(r), off_mm(r));
}

void sw_take_width(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    take(r, field, value, at, 0, off_mm(r));
}

void sw_take_side(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    take(r, field, value, at, 0, tile_mm(r) + off_mm(r));
}

void sw_take_place(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const sw_table *table = &sw_named_in(r->context)->table;
    double most = (table->columns > table->rows ? table->columns : table->rows) * (tile_mm(r) + off_mm(r));
    take(r, field, value, at, -most, most);
}

void sw_take_height(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    take(r, field, value, at, -SW_HEIGHT_MM.most, SW_HEIGHT_MM.most);
}

void sw_take_u95(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    take(r, field, value, at, 0, U95_MOST_MM);
}
