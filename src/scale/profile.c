/* profile.c - a lens as a file.
 *
 * { "format": "seamwright-lens", "format_version": 1, "source": "profile", "camera": "...", numbers as in FIELDS,
 *   "covariance": nine rows of nine, in the order fx fy cx cy k1 k2 p1 p2 k3 }
 * A file that names another format, another version, or holds a lens that cannot be is refused: a wrong lens does not
 * fail later, it bends every edge a little. */
#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "files/file.h"
#include "files/formats.h"
#include "seamwright/scale.h"

/* A profile is 4 kB; what is much larger is something else, and is not read to its end. */
enum { LARGEST_FILE = 256 * 1024 };

/* Focal length over the frame's longer side: a fisheye has 0.25, a long telephoto lens 30. */
static const double FOCAL_LEAST = 0.1, FOCAL_MOST = 100.0;
/* More than this and the profile describes no lens that was really fitted; px. */
static const double RESIDUAL_MOST_PX = 100.0;
/* Slack for what rounding does to a covariance's symmetry and correlations. */
static const double COVARIANCE_SLACK = 1e-6;
/* Places along each side of the frame where the model must be one-to-one. Distortion grows outwards, so a fold inside
 * the frame shows at its rim first. */
enum { RIM_PLACES = 16 };

typedef struct real_field {
    const char *name;
    size_t at;
} real_field;

static const real_field REALS[] = {
    {"focal_mm", offsetof(sw_lens, focal_mm)},
    {"fx_px", offsetof(sw_lens, fx)},
    {"fy_px", offsetof(sw_lens, fy)},
    {"cx_px", offsetof(sw_lens, cx)},
    {"cy_px", offsetof(sw_lens, cy)},
    {"k1", offsetof(sw_lens, k1)},
    {"k2", offsetof(sw_lens, k2)},
    {"p1", offsetof(sw_lens, p1)},
    {"p2", offsetof(sw_lens, p2)},
    {"k3", offsetof(sw_lens, k3)},
    {"residual_px", offsetof(sw_lens, residual_px)},
    {"covered", offsetof(sw_lens, covered)},
    {"square_mm", offsetof(sw_lens, square_mm)},
};
static const real_field WHOLES[] = {
    {"width_px", offsetof(sw_lens, width_px)},
    {"height_px", offsetof(sw_lens, height_px)},
    {"photos", offsetof(sw_lens, photos)},
};
enum { REAL_COUNT = sizeof REALS / sizeof *REALS, WHOLE_COUNT = sizeof WHOLES / sizeof *WHOLES };

static double *real_at(const sw_lens *lens, size_t i)
{
    return (double *)((char *)lens + REALS[i].at);
}

static int *whole_at(const sw_lens *lens, size_t i)
{
    return (int *)((char *)lens + WHOLES[i].at);
}

/* ---- what a lens must satisfy ---- */

/* What is wrong with a lens, as the end of a sentence "the profile ..."; NULL when nothing is. */
static const char *wrong_with_covariance(const sw_lens *lens)
{
    for (int i = 0; i < 9; i++) {
        for (int k = 0; k < 9; k++) {
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
    for (size_t i = 0; i < REAL_COUNT; i++)
        if (!isfinite(*real_at(lens, i)))
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

/* ---- reading ---- */

/* The file's bytes for free(), NULL with err set otherwise. */
static char *read_text(const char *path, size_t *length, sw_status *status, sw_error *err)
{
    char *text = NULL;
    FILE *file = fopen(path, "rb");
    if (!file) {
        *status = sw_fail(err, SW_CANNOT_READ, "%.300s: cannot be opened: %s", path, strerror(errno));
        return NULL;
    }
    text = malloc(LARGEST_FILE + 1);
    if (!text) {
        *status = sw_fail(err, SW_NO_MEMORY, "%.300s: out of memory", path);
        goto end;
    }
    *length = fread(text, 1, LARGEST_FILE + 1, file);
    if (ferror(file)) {
        *status = sw_fail(err, SW_CANNOT_READ, "%.300s: cannot be read: %s", path, strerror(errno));
    } else if (*length > LARGEST_FILE) {
        *status = sw_fail(err, SW_BAD_INPUT,
                          "%.300s: too large for a lens profile; name the file that 'seamwright lens' wrote", path);
    } else {
        *status = SW_OK;
    }
    if (*status != SW_OK) {
        free(text);
        text = NULL;
    }
end:
    fclose(file);
    return text;
}

static sw_status check_format(const json_t *root, const char *path, sw_error *err)
{
    const char *format = json_string_value(json_object_get(root, "format"));
    const json_t *version = json_object_get(root, "format_version");
    if (!format || strcmp(format, SW_FORMAT_LENS) != 0)
        return sw_fail(err, SW_BAD_INPUT,
                       "%.300s: no lens profile (its format is not \"%s\"); make one with 'seamwright lens'", path,
                       SW_FORMAT_LENS);
    if (!json_is_integer(version))
        return sw_fail(err, SW_BAD_INPUT,
                       "%.300s: the profile does not say its format version; make it again with "
                       "'seamwright lens'",
                       path);
    if (json_integer_value(version) != SW_FORMAT_VERSION)
        return sw_fail(err, SW_BAD_INPUT,
                       "%.300s: the profile has format version %lld, this program reads version %d; make it again with "
                       "'seamwright lens'",
                       path, (long long)json_integer_value(version), SW_FORMAT_VERSION);
    return SW_OK;
}

static sw_status missing(const char *path, const char *name, sw_error *err)
{
    return sw_fail(err, SW_BAD_INPUT,
                   "%.300s: \"%s\" is missing from the profile or is not what it should be; make it again with "
                   "'seamwright lens'",
                   path, name);
}

static sw_status read_numbers(const json_t *root, const char *path, sw_lens *lens, sw_error *err)
{
    for (size_t i = 0; i < REAL_COUNT; i++) {
        const json_t *value = json_object_get(root, REALS[i].name);
        if (!json_is_number(value))
            return missing(path, REALS[i].name, err);
        *real_at(lens, i) = json_number_value(value);
    }
    for (size_t i = 0; i < WHOLE_COUNT; i++) {
        const json_t *value = json_object_get(root, WHOLES[i].name);
        json_int_t whole = json_integer_value(value);
        if (!json_is_integer(value) || whole < 0 || whole > (json_int_t)SW_PHOTO_MAX_PIXELS)
            return missing(path, WHOLES[i].name, err);
        *whole_at(lens, i) = (int)whole;
    }
    return SW_OK;
}

static sw_status read_texts(const json_t *root, const char *path, sw_lens *lens, sw_error *err)
{
    const char *source = json_string_value(json_object_get(root, "source"));
    const char *camera = json_string_value(json_object_get(root, "camera"));
    if (source && strcmp(source, "profile") == 0)
        lens->source = SW_LENS_PROFILE;
    else if (source && strcmp(source, "estimated") == 0)
        lens->source = SW_LENS_ESTIMATED;
    else
        return missing(path, "source", err);
    if (!camera || strlen(camera) >= sizeof lens->camera)
        return missing(path, "camera", err);
    memcpy(lens->camera, camera, strlen(camera) + 1);
    return SW_OK;
}

static sw_status read_covariance(const json_t *root, const char *path, sw_lens *lens, sw_error *err)
{
    const json_t *rows = json_object_get(root, "covariance");
    if (json_array_size(rows) != 9)
        return missing(path, "covariance", err);
    for (size_t i = 0; i < 9; i++) {
        const json_t *row = json_array_get(rows, i);
        if (json_array_size(row) != 9)
            return missing(path, "covariance", err);
        for (size_t k = 0; k < 9; k++) {
            if (!json_is_number(json_array_get(row, k)))
                return missing(path, "covariance", err);
            lens->covariance[i][k] = json_number_value(json_array_get(row, k));
        }
    }
    return SW_OK;
}

static sw_status read_lens(const json_t *root, const char *path, sw_lens *lens, sw_error *err)
{
    sw_status status = check_format(root, path, err);
    if (status == SW_OK)
        status = read_texts(root, path, lens, err);
    if (status == SW_OK)
        status = read_numbers(root, path, lens, err);
    if (status == SW_OK)
        status = read_covariance(root, path, lens, err);
    const char *wrong = status == SW_OK ? wrong_with(lens) : NULL;
    if (wrong)
        status =
            sw_fail(err, SW_BAD_INPUT, "%.300s: the profile %s; make it again with 'seamwright lens'", path, wrong);
    return status;
}

sw_status sw_lens_load(const char *path, sw_lens *lens, sw_error *err)
{
    memset(lens, 0, sizeof *lens);
    size_t length = 0;
    sw_status status = SW_OK;
    char *text = read_text(path, &length, &status, err);
    if (!text)
        return status;
    json_error_t where;
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &where);
    free(text);
    if (!root)
        return sw_fail(err, SW_BAD_INPUT,
                       "%.300s: no lens profile: not well-formed JSON (line %d: %s); make one with 'seamwright lens'",
                       path, where.line, where.text);
    status = read_lens(root, path, lens, err);
    json_decref(root);
    if (status != SW_OK)
        memset(lens, 0, sizeof *lens);
    return status;
}

/* ---- writing ---- */

static json_t *covariance_rows(const sw_lens *lens)
{
    json_t *rows = json_array();
    int failed = !rows;
    for (int i = 0; i < 9 && !failed; i++) {
        json_t *row = json_array();
        for (int k = 0; k < 9; k++)
            failed |= json_array_append_new(row, json_real(lens->covariance[i][k])) != 0;
        failed |= json_array_append_new(rows, row) != 0;
    }
    if (failed) {
        json_decref(rows);
        return NULL;
    }
    return rows;
}

/* A camera's name from a photo may hold bytes that are no UTF-8; such a name is left out. */
static json_t *camera_text(const sw_lens *lens)
{
    json_t *text = json_string(lens->camera);
    return text ? text : json_string("");
}

static json_t *lens_tree(const sw_lens *lens)
{
    json_t *root = json_object();
    int failed = json_object_set_new(root, "format", json_string(SW_FORMAT_LENS)) != 0;
    failed |= json_object_set_new(root, "format_version", json_integer(SW_FORMAT_VERSION)) != 0;
    const char *source = lens->source == SW_LENS_ESTIMATED ? "estimated" : "profile";
    failed |= json_object_set_new(root, "source", json_string(source)) != 0;
    failed |= json_object_set_new(root, "camera", camera_text(lens)) != 0;
    for (size_t i = 0; i < WHOLE_COUNT; i++)
        failed |= json_object_set_new(root, WHOLES[i].name, json_integer(*whole_at(lens, i))) != 0;
    for (size_t i = 0; i < REAL_COUNT; i++)
        failed |= json_object_set_new(root, REALS[i].name, json_real(*real_at(lens, i))) != 0;
    failed |= json_object_set_new(root, "covariance", covariance_rows(lens)) != 0;
    if (failed) {
        json_decref(root);
        return NULL;
    }
    return root;
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
    json_t *root = lens_tree(lens);
    char *text = root ? json_dumps(root, JSON_INDENT(1)) : NULL;
    json_decref(root);
    if (!text)
        return sw_fail(err, SW_NO_MEMORY, "%.300s: out of memory", path);
    sw_status status = write_whole(path, text, err);
    free(text);
    return status;
}
