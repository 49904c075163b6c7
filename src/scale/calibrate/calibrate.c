/* calibrate.c - from checkerboard photos to a lens profile: which photos are of use, two looks at each, and the words
 * for what is missing. */
#include "scale/calibrate/calibrate.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/notes.h"
#include "maths/stats.h"
#include "scale/calibrate/board.h"
#include "scale/calibrate/notes.h"
#include "seamwright/defaults_and_ranges.h"

/* The solver's memory grows with the square of the photos' number and with their corners: 0.4 GB at both limits. A
 * board with more corners is thinned out evenly. */
enum { CORNERS_MOST = 400 };
/* Focal lengths in EXIF are rounded; zooming moves them by more. */
static const double SAME_FOCAL = 0.005;
/* Relative standard uncertainty of fx. At 2 % distances off the board's plane are worth nothing; over 0.5 % more slant
 * is worth the user's minute. */
static const double FOCAL_U_REFUSED = 0.02, FOCAL_U_SAID = 0.005;
/* The pixels are taken for square unless the photos say otherwise by this much, and surely. */
static const double RATIO_SAID = 0.002, RATIO_SURE = 5;
/* A photo whose corners scatter this many times the median photo's, and by more than half a pixel, or lose half their
 * number, does not show the same flat board. */
static const double ODD_TIMES = 5, ODD_PX = 0.5, ODD_SHARE = 0.5;

/* A photo that shows the board. */
typedef struct shot {
    const char *path;
    char file[256];
    sw_board_view seen;
    sw_view view; /* owns its sights */
} shot;

typedef struct session {
    sw_checkerboard board;
    shot *shots;
    size_t count;
    sw_photo first;    /* facts of the first photo, without its pixels */
    char reasons[400]; /* why photos are of no use, for the error */
    sw_notes *notes;
    sw_error *err;
} session;

/* ---- which photos ---- */

static sw_status leave_out(session *s, const char *reason)
{
    size_t used = strlen(s->reasons);
    snprintf(s->reasons + used, sizeof s->reasons - used, "%s%s", used ? "; " : "", reason);
    return sw_noted(sw_note_add(s->notes, SW_NOTE_PHOTO_LEFT_OUT, "left out: %.230s", reason), s->err);
}

static bool differ(double a, double b)
{
    return a > 0 && b > 0 && fabs(a - b) > SAME_FOCAL * a;
}

/* One profile is one camera, one zoom, one size. */
static sw_status compare(session *s, const sw_photo *photo)
{
    const sw_photo *first = &s->first;
    if (photo->width_px != first->width_px || photo->height_px != first->height_px)
        return sw_fail(s->err, SW_BAD_INPUT,
                       "%.120s has %d x %d pixels, %.120s has %d x %d; take all photos with the same camera at the "
                       "same size, and let no program turn or crop them",
                       photo->file, photo->width_px, photo->height_px, first->file, first->width_px, first->height_px);
    if (photo->camera[0] && first->camera[0] && strcmp(photo->camera, first->camera) != 0)
        return sw_fail(s->err, SW_BAD_INPUT,
                       "%.120s was taken with %s, %.120s with %s; a profile is for one camera: take all photos with it",
                       photo->file, photo->camera, first->file, first->camera);
    if (differ(photo->focal_mm, first->focal_mm) || differ(photo->focal_35mm, first->focal_35mm))
        return sw_fail(s->err, SW_BAD_INPUT,
                       "%.120s was taken at %.4g mm focal length (%.4g mm in 35 mm terms), %.120s at %.4g (%.4g); take "
                       "all photos at the same zoom, without digital zoom",
                       photo->file, photo->focal_mm, photo->focal_35mm, first->file, first->focal_mm,
                       first->focal_35mm);
    return SW_OK;
}

static void keep_facts(session *s, const sw_photo *photo)
{
    s->first = *photo;
    s->first.luma8 = NULL;
    s->first.luma16 = NULL;
    s->first.linear = NULL;
}

/* (Re)fills the view's sights from the crossings; the board's middle is the origin, which keeps its pose and its bend
 * apart. */
static sw_status fill_view(session *s, shot *of)
{
    double middle_column = (of->seen.columns - 1) / 2.0, middle_row = (of->seen.rows - 1) / 2.0;
    free(of->view.sights);
    of->view = (sw_view){.sides_known = of->seen.sides_known};
    of->view.sights = calloc(of->seen.count + 1, sizeof *of->view.sights);
    if (!of->view.sights)
        return sw_fail(s->err, SW_NO_MEMORY, "out of memory");
    int every = (int)ceil(sqrt((double)of->seen.count / CORNERS_MOST));
    for (size_t i = 0; i < of->seen.count; i++) {
        const sw_crossing *c = &of->seen.crossings[i];
        if (c->column % every || c->row % every)
            continue;
        of->view.sights[of->view.count++] = (sw_sight){
            .board_mm = {(c->column - middle_column) * s->board.square_mm, (c->row - middle_row) * s->board.square_mm},
            .px = c->px,
            .u_px = c->u_px};
    }
    return SW_OK;
}

static sw_status add_shot(session *s, const char *path, const sw_photo *photo)
{
    shot *next = &s->shots[s->count];
    char reason[400];
    *next = (shot){.path = path};
    memcpy(next->file, photo->file, sizeof next->file);
    sw_error why = {{0}};
    sw_status status = sw_board_find(photo, s->board, &next->seen, &why);
    if (status == SW_NOT_FOUND) {
        snprintf(reason, sizeof reason, "%.120s: %.250s", photo->file, why.text);
        return leave_out(s, reason);
    }
    if (status != SW_OK)
        return sw_fail(s->err, status, "%.120s: %.380s", photo->file, why.text);
    s->count++;
    return fill_view(s, next);
}

static sw_status take_photo(session *s, const char *path)
{
    sw_photo photo;
    sw_error why = {{0}};
    sw_status status = sw_photo_load(path, &photo, &why);
    if (status == SW_NO_MEMORY || status == SW_BROKEN)
        return sw_fail(s->err, status, "%s", why.text);
    if (status != SW_OK)
        return leave_out(s, why.text);
    if (!s->first.width_px)
        keep_facts(s, &photo);
    status = compare(s, &photo);
    if (status == SW_OK)
        status = add_shot(s, path, &photo);
    sw_photo_free(&photo);
    return status;
}

static void drop_shot(session *s, size_t at)
{
    sw_board_view_free(&s->shots[at].seen);
    free(s->shots[at].view.sights);
    s->count--;
    memmove(&s->shots[at], &s->shots[at + 1], (s->count - at) * sizeof *s->shots);
}

static sw_status check_enough(const session *s, int given)
{
    if (s->count >= SW_LENS_PHOTOS_LEAST)
        return SW_OK;
    return sw_fail(s->err, SW_BAD_INPUT, "only %zu of the %d photos can be used, and %d are needed: %s", s->count,
                   given, SW_LENS_PHOTOS_LEAST, s->reasons);
}

/* ---- the fit ---- */

/* Copies of the views, for free(); NULL with the error set when memory is out. */
static sw_view *views_of(session *s)
{
    sw_view *views = malloc(s->count * sizeof *views);
    if (!views)
        sw_fail(s->err, SW_NO_MEMORY, "out of memory");
    for (size_t v = 0; views && v < s->count; v++)
        views[v] = s->shots[v].view;
    return views;
}

static sw_status run_solver(session *s, bool fy, sw_lens *lens, sw_solution *solution)
{
    const sw_solve_options options = {.fy = fy, .tangential = 1, .k3 = 1, .shape = 1, .priors = 1};
    sw_error why = {{0}};
    sw_view *views = views_of(s);
    if (!views)
        return SW_NO_MEMORY;
    sw_status status =
        sw_calibrate_solve(views, s->count, s->first.width_px, s->first.height_px, &options, lens, solution, &why);
    for (size_t v = 0; v < s->count; v++)
        s->shots[v].view = views[v];
    free(views);
    if (status == SW_BAD_INPUT)
        return sw_fail(s->err, status,
                       "the photos are too alike or too few to tell the lens from them (%.150s); take some more with "
                       "the board held at a slant of 20 to 40 degrees, to another side in each",
                       why.text);
    return status == SW_OK ? SW_OK : sw_fail(s->err, status, "%s", why.text);
}

/* Photos that do not show the same flat board as the others are left out, worst first. *dropped: one was. */
static sw_status drop_odd(session *s, bool *dropped)
{
    double *residuals = malloc(s->count * sizeof *residuals), worst = 0;
    size_t odd = s->count;
    char reason[400];
    *dropped = false;
    if (!residuals)
        return sw_fail(s->err, SW_NO_MEMORY, "out of memory");
    for (size_t v = 0; v < s->count; v++)
        residuals[v] = s->shots[v].view.residual_px;
    double usual = sw_median(residuals, s->count);
    free(residuals);
    for (size_t v = 0; v < s->count; v++) {
        const sw_view *view = &s->shots[v].view;
        double lost = 1 - (double)sw_view_kept(view) / (double)view->count, residual = view->residual_px;
        bool is_odd = lost > ODD_SHARE || (residual > ODD_PX && residual > ODD_TIMES * usual);
        double badness = lost * 1e3 + residual;
        if (is_odd && badness > worst) {
            worst = badness;
            odd = v;
        }
    }
    if (odd == s->count)
        return SW_OK;
    snprintf(
        reason, sizeof reason,
        "%.120s: its corners do not lie where the other photos put them; was the board bent, or the photo blurred?",
        s->shots[odd].file);
    drop_shot(s, odd);
    *dropped = true;
    return leave_out(s, reason);
}

static sw_status solve_without_odd(session *s, int given, sw_lens *lens, sw_solution *solution)
{
    bool dropped = true;
    sw_status status = SW_OK;
    while (status == SW_OK && dropped) {
        status = check_enough(s, given);
        if (status == SW_OK)
            status = run_solver(s, false, lens, solution);
        if (status == SW_OK)
            status = drop_odd(s, &dropped);
    }
    return status;
}

/* The second look, with the lens roughly known. */
static sw_status look_again(session *s, const sw_lens *lens)
{
    for (size_t v = 0; v < s->count; v++) {
        sw_photo photo;
        sw_status loaded = sw_photo_load(s->shots[v].path, &photo, s->err);
        if (loaded != SW_OK)
            return loaded;
        if (photo.width_px == lens->width_px && photo.height_px == lens->height_px)
            sw_board_refine(&photo, lens, &s->shots[v].seen);
        sw_photo_free(&photo);
        sw_status status = fill_view(s, &s->shots[v]);
        if (status != SW_OK)
            return status;
    }
    return SW_OK;
}

/* fy = fx unless the photos contradict, as those do that a program has scaled unevenly. */
static sw_status last_fit(session *s, int given, sw_lens *lens, sw_solution *solution)
{
    sw_status status = solve_without_odd(s, given, lens, solution);
    if (status == SW_OK)
        status = run_solver(s, true, lens, solution);
    if (status != SW_OK)
        return status;
    double ratio = lens->fy / lens->fx - 1;
    double u = sqrt(fmax(0, lens->covariance[0][0] + lens->covariance[1][1] - 2 * lens->covariance[0][1])) / lens->fx;
    if (fabs(ratio) <= RATIO_SAID || fabs(ratio) <= RATIO_SURE * u)
        return run_solver(s, false, lens, solution);
    return sw_noted(sw_note_add(s->notes, SW_NOTE_OTHER,
                                "the photos are %.1f %% %s than they should be; the profile allows for it, but use "
                                "photos as the camera wrote them",
                                100 * fabs(ratio), ratio > 0 ? "taller" : "wider"),
                    s->err);
}

static sw_status check_slants(session *s, const sw_lens *lens)
{
    sw_view *views = views_of(s);
    if (!views)
        return SW_NO_MEMORY;
    size_t distinct = sw_distinct_views(views, s->count);
    free(views);
    double u = sqrt(lens->covariance[0][0]) / lens->fx;
    if (distinct < SW_LENS_PHOTOS_LEAST)
        return sw_fail(s->err, SW_BAD_INPUT,
                       "the %zu photos show the board in only %zu different positions, and %d are needed: move and "
                       "slant the board between the photos",
                       s->count, distinct, SW_LENS_PHOTOS_LEAST);
    if (!(u <= FOCAL_U_REFUSED))
        return sw_fail(s->err, SW_BAD_INPUT,
                       "the photos are too alike: they leave the focal length open by %.0f %%; take some more with the "
                       "board held at a slant of 20 to 40 degrees, to another side in each",
                       fmin(100 * u, 100));
    if (u > FOCAL_U_SAID)
        return sw_noted(sw_note_add(s->notes, SW_NOTE_PHOTOS_ALIKE,
                                    "the focal length is known to %.1f %% only: take some more photos with the board "
                                    "held at a slant of 20 to 40 degrees, to another side in each",
                                    100 * u),
                        s->err);
    return SW_OK;
}

/* ---- the profile ---- */

static sw_status describe(session *s, sw_lens *lens, const sw_solution *solution)
{
    sw_view *views = views_of(s);
    if (!views)
        return SW_NO_MEMORY;
    sw_status status = sw_note_coverage(views, s->count, &s->first, s->notes, &lens->covered);
    if (status == SW_OK)
        status = sw_note_board(views, s->count, lens, solution, s->notes);
    free(views);
    lens->square_mm = s->board.square_mm;
    memcpy(lens->camera, s->first.camera, sizeof lens->camera);
    lens->focal_mm = s->first.focal_mm;
    return sw_noted(status, s->err);
}

static sw_status check_request(int count, const sw_checkerboard *board, sw_error *err)
{
    sw_status status = sw_checkerboard_check(board, err);
    if (status)
        return status;
    if (count < SW_LENS_PHOTOS_LEAST)
        return sw_fail(err, SW_BAD_INPUT,
                       "at least %d photos of the checkerboard are needed, %d given; 8 to 15 are good",
                       SW_LENS_PHOTOS_LEAST, count);
    if (count > SW_LENS_PHOTOS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "%d photos are more than one profile takes (%d); 8 to 15 are good", count,
                       SW_LENS_PHOTOS_MOST);
    return SW_OK;
}

static sw_status calibrate(session *s, int given, sw_lens *lens)
{
    sw_solution solution;
    sw_status status = solve_without_odd(s, given, lens, &solution);
    if (status == SW_OK)
        status = look_again(s, lens);
    if (status == SW_OK)
        status = last_fit(s, given, lens, &solution);
    if (status == SW_OK)
        status = check_slants(s, lens);
    return status == SW_OK ? describe(s, lens, &solution) : status;
}

sw_status sw_lens_calibrate(const char *const *paths, int count, sw_checkerboard board,
                            void (*progress)(void *context, int done, int count), void *context, sw_lens *lens,
                            sw_notes *notes, sw_error *err)
{
    session s = {.board = board, .notes = notes, .err = err};
    memset(lens, 0, sizeof *lens);
    if (notes)
        memset(notes, 0, sizeof *notes);
    sw_status status = check_request(count, &board, err);
    if (status != SW_OK)
        return status;
    s.shots = calloc((size_t)count, sizeof *s.shots);
    if (!s.shots)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    for (int i = 0; i < count && status == SW_OK; i++) {
        if (progress)
            progress(context, i, count);
        status = take_photo(&s, paths[i]);
    }
    if (status == SW_OK)
        status = calibrate(&s, count, lens);
    while (s.count)
        drop_shot(&s, s.count - 1);
    free(s.shots);
    if (status != SW_OK)
        memset(lens, 0, sizeof *lens);
    return status;
}
