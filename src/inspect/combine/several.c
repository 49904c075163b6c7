/* several.c - several photos of one table: what they say of its tops together, then each photo measured on them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/heights_step.h"
#include "inspect/on_tops.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/inspect.h"
#include "tops/tops.h"

/* Photos are read again on better known tops until no step moves by more than this, mm, or so often. */
static const double SETTLED_MM = 0.05;
enum { READINGS_MOST = 6 };
/* Another turn of the table is believed where so much larger a share of the rims fits. */
static const double CLEARLY = 0.15;
/* Tops that several photos find within this of each other (root mean square), mm, are level: it is what they are good to. */
static const double LEVEL_MM = 0.06;
/* Photos in which a smaller share of the rims agrees do not show one table: 0.6 to 1 where they did, with steps of up to 20 mm not known
 * at first; 0.02 to 0.48 where they did not, as heights can make up for much. */
static const double AGREE_LEAST = 0.5;

typedef struct several {
    int count, *which;
    sw_photo_loader *load;
    void *load_context;
    const sw_options *options;
    void (*progress)(void *, int, const char *, double);
    void *context;
    sw_error *err;
    int *turns;          /* quarter turns that lay each photo's table as the first one's lies */
    sw_inspection *each; /* as the photos show them */
    sw_view *views;
    sw_tops *tops, *mine; /* of the table, in the first photo's frame; in the frame of the photo at work */
    int at;
} several;

static void tell(void *context, const char *what, double share)
{
    const several *s = context;
    if (s->progress)
        s->progress(s->context, s->at, what, share);
}

static sw_status read_photo(several *s, int k, const sw_tops *known)
{
    sw_photo photo;
    *s->which = s->at = k;
    sw_status status = s->load(s->load_context, k, &photo, s->err);
    if (status)
        return status;
    sw_inspection_free(&s->each[k]);
    sw_view_free(&s->views[k]);
    status = sw_inspect_on(&photo, s->options, known, tell, s, &s->each[k], &s->views[k], s->err);
    sw_photo_free(&photo);
    return status;
}

static sw_status fit(const several *s, const int *photos, const int *turns, int count, sw_tops *tops, double *agree)
{
    const sw_view *first = &s->views[photos[0]];
    sw_sights sights;
    sw_status status = sw_sights_start(first->columns, first->rows, first->tile_mm, count, &sights);
    for (int i = 0; !status && i < count; i++) {
        sw_view view;
        if ((status = sw_view_copy(&s->views[photos[i]], &view)))
            break;
        sw_view_turn(&view, turns[i]);
        if (view.columns == sights.columns && view.rows == sights.rows)
            sw_sights_add(&sights, &view);
        else
            status = SW_NOT_FOUND; /* another table */
        sw_view_free(&view);
    }
    if (!status)
        status = sw_tops_fit(&sights, tops, agree);
    sw_sights_free(&sights);
    return status;
}

static bool lies_so(const sw_view *first, const sw_view *view, int turns)
{
    bool odd = turns % 2;
    return first->columns == (odd ? view->rows : view->columns) && first->rows == (odd ? view->columns : view->rows);
}

/* How each photo's table lies against the first's: the turn in which most rims fit one table. */
static sw_status find_turns(several *s)
{
    for (int k = 1; k < s->count; k++) {
        double best = -1, agree;
        for (int q = 0; q < 4; q++) {
            const int photos[2] = {0, k}, turns[2] = {0, q};
            if (!lies_so(&s->views[0], &s->views[k], q))
                continue;
            sw_status status = fit(s, photos, turns, 2, s->mine, &agree);
            if (status == SW_NO_MEMORY)
                return status;
            if (!status && agree > best + (q ? CLEARLY : 0)) {
                best = agree;
                s->turns[k] = q;
            }
        }
    }
    return SW_OK;
}

static double apart_mm(const sw_tops *tops)
{
    double low = INFINITY, high = -INFINITY;
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++) {
            low = fmin(low, tops->top[c][r].rise_mm);
            high = fmax(high, tops->top[c][r].rise_mm);
        }
    return high - low;
}

static sw_status fit_all(several *s, sw_tops *tops)
{
    int photos[SW_TABLE_PHOTOS_MOST];
    double agree;
    for (int k = 0; k < s->count; k++)
        photos[k] = k;
    sw_status status = fit(s, photos, s->turns, s->count, tops, &agree);
    if (!status)
        sw_tops_lay_level(tops, LEVEL_MM);
    return !status && (agree < AGREE_LEAST || apart_mm(tops) > SW_HEIGHTS_APART_MOST_MM) ? SW_NOT_FOUND : status;
}

static double moved_mm(const sw_tops *a, const sw_tops *b)
{
    double most = 0;
    for (int c = 0; c < a->columns; c++)
        for (int r = 0; r < a->rows; r++)
            most = fmax(most, fabs(a->top[c][r].rise_mm - b->top[c][r].rise_mm));
    return most;
}

static sw_status measure_on_tops(several *s)
{
    sw_status status = find_turns(s);
    if (!status)
        status = fit_all(s, s->tops);
    for (int reading = 1; !status && reading < READINGS_MOST; reading++) {
        for (int k = 0; !status && k < s->count; k++) {
            sw_tops_turn(s->tops, s->turns[k], s->mine);
            status = read_photo(s, k, s->mine);
        }
        if (status || reading + 1 == READINGS_MOST)
            break;
        const sw_tops before = *s->tops;
        if (!(status = fit_all(s, s->tops)) && moved_mm(&before, s->tops) < SETTLED_MM)
            break;
    }
    return status;
}

static sw_status work(several *s, sw_inspection *combined)
{
    sw_status status = SW_OK;
    for (int k = 0; !status && k < s->count; k++)
        status = read_photo(s, k, NULL);
    *s->which = -1;
    if (!status && s->options->height_count == 0) {
        status = measure_on_tops(s);
        if (status == SW_NOT_FOUND)
            status = SW_OK; /* not one table: joining says why */
    }
    if (status)
        return status;
    *s->which = -1;
    return sw_inspection_combine(s->each, (size_t)s->count, combined, s->err);
}

sw_status sw_inspect_several(int count, sw_photo_loader *load, void *load_context, const sw_options *options,
                             void (*progress)(void *context, int which, const char *what, double share), void *context,
                             sw_inspection *combined, int *which, sw_error *err)
{
    const sw_options usual = {.tile_mm = 0};
    int nobody = -1;
    several s = {.count = count,
                 .which = which ? which : &nobody,
                 .load = load,
                 .load_context = load_context,
                 .options = options ? options : &usual,
                 .progress = progress,
                 .context = context,
                 .err = err};
    memset(combined, 0, sizeof *combined);
    *s.which = -1;
    if (count < 2 || count > SW_TABLE_PHOTOS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "%d photos of one table cannot be joined; name 2 to %d", count,
                       SW_TABLE_PHOTOS_MOST);
    if (s.options->corners || s.options->squares)
        return sw_fail(err, SW_BAD_INPUT,
                       "--corners and --square are places in one photo and cannot be those of %d; inspect each photo "
                       "on its own",
                       count);
    s.turns = calloc((size_t)count, sizeof *s.turns);
    s.each = calloc((size_t)count, sizeof *s.each);
    s.views = calloc((size_t)count, sizeof *s.views);
    s.tops = calloc(2, sizeof *s.tops);
    s.mine = s.tops + 1;
    sw_status status = s.turns && s.each && s.views && s.tops
                           ? work(&s, combined)
                           : sw_fail(err, SW_NO_MEMORY, "not enough memory for the photos");
    for (int k = 0; s.each && k < count; k++)
        sw_inspection_free(&s.each[k]);
    for (int k = 0; s.views && k < count; k++)
        sw_view_free(&s.views[k]);
    free(s.turns);
    free(s.each);
    free(s.views);
    free(s.tops);
    return status;
}
