/* profile.c - a lens as a file, member by member as in sw_lens_fields.
 *
 * A file that names another format, another version, or holds a lens that cannot be is refused: a wrong lens does not
 * fail later, it bends every edge a little. */
#include "scale/profile.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "files/file.h"
#include "files/formats.h"
#include "seamwright/scale.h"
#include "json/fields.h"

/* Focal length over the frame's longer side: a fisheye has 0.25, a long telephoto lens 30. */
static const double FOCAL_LEAST = 0.1, FOCAL_MOST = 100.0;
/* More than this and the profile describes no lens that was really fitted; px. */
static const double RESIDUAL_MOST_PX = 100.0;
/* Slack for what rounding does to a covariance's symmetry and correlations. */
static const double COVARIANCE_SLACK = 1e-6;
/* Places along each side of the frame where the model must be one-to-one. Distortion grows outwards, so a fold inside
 * the frame shows at its rim first. */
enum { RIM_PLACES = 16 };

/* ---- its members ---- */

/* Written to the last bit, as a lens fitted is. */
#define EXACT(member) SW_NUMBER(sw_lens, member, SW_EXACT, 0, 0)
#define COUNT(member) SW_WHOLE(sw_lens, member, 0, SW_PHOTO_MAX_PIXELS)

static const char *source_word(int i)
{
    return i == SW_LENS_ESTIMATED ? "estimated" : i == SW_LENS_PROFILE ? "profile" : NULL;
}

/* A camera's name from a photo may hold bytes that are no UTF-8; such a name is left out. */
static json_t *put_camera(const sw_field *field, const void *lens, sw_putting *p)
{
    json_t *text = json_string(((const sw_lens *)lens)->camera);
    (void)field, (void)p;
    return text ? text : json_string("");
}

static void take_camera(sw_reading *r, const sw_field *field, const json_t *value, void *to)
{
    sw_lens *lens = to;
    if (!json_is_string(value) || json_string_length(value) >= sizeof lens->camera)
        sw_read_wrong(r, "\"%s\" is no name of a camera", field->key);
    else
        memcpy(lens->camera, json_string_value(value), json_string_length(value) + 1);
}

static json_t *put_covariance(const sw_field *field, const void *from, sw_putting *p)
{
    const sw_lens *lens = from;
    json_t *rows = json_array();
    (void)field;
    for (int i = 0; i < SW_LENS_NUMBERS; i++) {
        json_t *row = json_array();
        for (int k = 0; k < SW_LENS_NUMBERS; k++)
            sw_json_append(row, json_real(lens->covariance[i][k]), &p->failed);
        sw_json_append(rows, row, &p->failed);
    }
    return rows;
}

static void take_covariance(sw_reading *r, const sw_field *field, const json_t *rows, void *to)
{
    sw_lens *lens = to;
    bool good = json_array_size(rows) == SW_LENS_NUMBERS;
    for (size_t i = 0; good && i < SW_LENS_NUMBERS; i++) {
        const json_t *row = json_array_get(rows, i);
        good = json_array_size(row) == SW_LENS_NUMBERS;
        for (size_t k = 0; good && k < SW_LENS_NUMBERS; k++) {
            good = json_is_number(json_array_get(row, k));
            lens->covariance[i][k] = json_number_value(json_array_get(row, k));
        }
    }
    if (!good)
        sw_read_wrong(r, "\"%s\" is not nine rows of nine numbers", field->key);
}

static sw_take check_lens;

const sw_field sw_lens_fields[] = {
    {"source", SW_MUST, SW_WORD(sw_lens, source, source_word, SW_LENS_PROFILE + 1)},
    {"camera", SW_MUST, .put = put_camera, .take = take_camera},
    {"width_px", SW_MUST, COUNT(width_px)},
    {"height_px", SW_MUST, COUNT(height_px)},
    {"photos", SW_MUST, COUNT(photos)},
    {"focal_mm", SW_MUST, EXACT(focal_mm)},
    {"fx_px", SW_MUST, EXACT(fx)},
    {"fy_px", SW_MUST, EXACT(fy)},
    {"cx_px", SW_MUST, EXACT(cx)},
    {"cy_px", SW_MUST, EXACT(cy)},
    {"k1", SW_MUST, EXACT(k1)},
    {"k2", SW_MUST, EXACT(k2)},
    {"p1", SW_MUST, EXACT(p1)},
    {"p2", SW_MUST, EXACT(p2)},
    {"k3", SW_MUST, EXACT(k3)},
    {"residual_px", SW_MUST, EXACT(residual_px)},
    {"covered", SW_MUST, EXACT(covered)},
    {"square_mm", SW_MUST, EXACT(square_mm)},
    {"covariance", SW_MUST, .put = put_covariance, .take = take_covariance},
    SW_STEP(check_lens),
};

/* ---- what a lens must satisfy ---- */

/* What is wrong with a lens, as the end of a sentence "the profile ..."; NULL when nothing is. */
static const char *wrong_with_covariance(const sw_lens *lens)
{
    for (int i = 0; i < SW_LENS_NUMBERS; i++) {
        for (int k = 0; k < SW_LENS_NUMBERS; k++) {
            double a = lens->covariance[i][k], b = lens->covariance[k][i];
            double most = sqrt(fabs(lens->covariance[i][i] * lens->covariance[k][k])) * (1 + COVARIANCE_SLACK);
            if (!isfinite(a) || lens->covariance[i][i] < 0 || !(fabs(a) <= most) ||
                !(fabs(a - b) <= COVARIANCE_SLACK * most))
                return "holds a covariance that cannot be one (not symmetric, or a correlation beyond 1)";
        }
    }
    return NULL;
}

static int seen_at(const sw_lens *lens, double x, double y)
{
    sw_point normal = sw_lens_undistort(lens, (sw_point){x, y});
    return isfinite(normal.x) && isfinite(normal.y);
}

static const char *wrong_with_distortion(const sw_lens *lens)
{
    double right = lens->width_px - 1, low = lens->height_px - 1;
    for (int i = 0; i <= RIM_PLACES; i++) {
        double x = right * i / RIM_PLACES, y = low * i / RIM_PLACES;
        if (!seen_at(lens, x, 0) || !seen_at(lens, x, low) || !seen_at(lens, 0, y) || !seen_at(lens, right, y))
            return "describes a lens that would show two places at one pixel of the frame";
    }
    return NULL;
}

static const char *wrong_with(const sw_lens *lens)
{
    double longer = fmax(lens->width_px, lens->height_px);
    for (size_t i = 0; i < SW_LENS_FIELDS; i++)
        if (sw_lens_fields[i].take == sw_take_number &&
            !isfinite(*(const double *)((const char *)lens + sw_lens_fields[i].at)))
            return "holds a number that is infinite or none at all";
    if (lens->width_px < 2 || lens->height_px < 2 ||
        (double)lens->width_px * lens->height_px > (double)SW_PHOTO_MAX_PIXELS)
        return "is for a picture size that cannot be";
    if (!(lens->fx >= FOCAL_LEAST * longer && lens->fx <= FOCAL_MOST * longer && lens->fy >= FOCAL_LEAST * longer &&
          lens->fy <= FOCAL_MOST * longer))
        return "holds a focal length that does not belong to its picture size";
    if (!(lens->cx >= 0 && lens->cx < lens->width_px && lens->cy >= 0 && lens->cy < lens->height_px))
        return "puts the lens's centre outside the picture";
    if (!(lens->residual_px >= 0 && lens->residual_px <= RESIDUAL_MOST_PX))
        return "holds a residual out of range";
    if (!(lens->covered >= 0 && lens->covered <= 1))
        return "holds a covered share of the frame that is not between 0 and 1";
    if (lens->photos < 0 || lens->square_mm < 0 || lens->focal_mm < 0)
        return "holds a negative number where there can be none";
    const char *wrong = wrong_with_covariance(lens);
    return wrong ? wrong : wrong_with_distortion(lens);
}

static void check_lens(sw_reading *r, const sw_field *field, const json_t *from, void *lens)
{
    const char *wrong = wrong_with(lens);
    (void)field, (void)from;
    if (wrong)
        sw_read_wrong(r, "the profile %s", wrong);
}

/* ---- the file ---- */

/* A profile is 4 kB. */
static const sw_json_kind KIND = {
    SW_FORMAT_LENS, SW_TABLE(sw_lens_fields), "lens profile", "no lens profile", "file", "lens", 256 * 1024};

sw_status sw_lens_load(const char *path, sw_lens *lens, sw_error *err)
{
    memset(lens, 0, sizeof *lens);
    sw_status status = sw_json_take(&KIND, path, NULL, 0, NULL, lens, err);
    if (status)
        memset(lens, 0, sizeof *lens);
    return status;
}

static sw_status write_whole(const char *path, const char *text, sw_error *err)
{
    sw_file file;
    sw_status status = sw_file_begin(&file, path, err);
    if (status)
        return status;
    fputs(text, file.stream); /* sw_file_finish asks the stream whether it all arrived */
    fputc('\n', file.stream);
    return sw_file_finish(&file, path, err);
}

sw_status sw_lens_save(const char *path, const sw_lens *lens, sw_error *err)
{
    const char *wrong = wrong_with(lens);
    if (wrong || lens->source == SW_LENS_NONE)
        return sw_fail(err, SW_BAD_INPUT, "%.300s: not written: the profile %s", path, wrong ? wrong : "holds no lens");
    json_t *root = sw_json_tree(&KIND, lens, NULL);
    char *text = root ? json_dumps(root, JSON_INDENT(1)) : NULL;
    json_decref(root);
    if (!text)
        return sw_fail(err, SW_NO_MEMORY, "%.300s: out of memory", path);
    sw_status status = write_whole(path, text, err);
    free(text);
    return status;
}
