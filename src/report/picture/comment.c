/* comment.c - a picture's geometry in its own file, and the picture as a page's data. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "files/formats.h"
#include "files/read.h"
#include "report/common/mark.h"
#include "report/common/sheet.h"
#include "report/picture/picture.h"
#include "json/json.h"

/* Ten times what such a picture takes. */
static const size_t MOST_BYTES = (size_t)16 << 20;

static const char *const NAMES[] = {[SW_PICTURE_TABLE] = "table", [SW_PICTURE_SEAMS] = "seams"};

/* The members that comment and data share. */
static void set_geometry(json_t *to, const sw_picture *picture, sw_picture_of of, bool *failed)
{
    sw_json_set(to, "width_px", json_integer(picture->width_px), failed);
    sw_json_set(to, "height_px", json_integer(picture->height_px), failed);
    sw_json_set(to, "px_per_mm", sw_json_number(picture->px_per_mm, SW_EXACT), failed);
    if (of == SW_PICTURE_TABLE) {
        sw_json_set(to, "west_mm", sw_json_number(picture->west_mm, 4), failed);
        sw_json_set(to, "north_mm", sw_json_number(picture->north_mm, 4), failed);
        return;
    }
    sw_json_set(to, "from_mm", sw_json_number(picture->from_mm, 4), failed);
    sw_json_set(to, "strip_px", json_integer(picture->strip_px), failed);
    sw_json_set(to, "across_mm", sw_json_number(picture->strip_px / picture->px_per_mm, 4), failed);
}

char *sw_picture_comment(const sw_picture *picture, sw_picture_of of, const sw_inspection *inspection)
{
    bool failed = false;
    char mark[SW_MARK_ROOM];
    json_t *root = json_object();
    sw_mark_of(inspection, mark);
    sw_json_set(root, "format", sw_json_text(SW_FORMAT_PICTURE), &failed);
    sw_json_set(root, "format_version", json_integer(SW_FORMAT_VERSION), &failed);
    sw_json_set(root, "of", sw_json_text(NAMES[of]), &failed);
    sw_json_set(root, "inspection", sw_json_text(mark), &failed);
    set_geometry(root, picture, of, &failed);
    char *text = failed ? NULL : json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(12));
    json_decref(root);
    return text;
}

static bool says(const json_t *root, const char *key, const char *text)
{
    const char *found = json_string_value(json_object_get(root, key));
    return found && strcmp(found, text) == 0;
}

/* A finite number above `least`; NaN where it is none. */
static double number(const json_t *root, const char *key, double least, double most)
{
    const json_t *value = json_object_get(root, key);
    double found = json_is_number(value) ? json_number_value(value) : NAN;
    return found > least && found < most ? found : NAN;
}

/* Whether the comment, read, is that of a picture of this inspection, and fits the picture itself. */
static bool take(const json_t *root, sw_picture_of of, const sw_inspection *inspection, sw_picture *picture)
{
    static const double far_mm = 1e5, most_px_per_mm = 100;
    char mark[SW_MARK_ROOM];
    double strip_px = number(root, "strip_px", 0, picture->height_px + 1.0);
    sw_mark_of(inspection, mark);
    picture->px_per_mm = number(root, "px_per_mm", 0, most_px_per_mm);
    picture->west_mm = number(root, "west_mm", -far_mm, far_mm);
    picture->north_mm = number(root, "north_mm", -far_mm, far_mm);
    picture->from_mm = number(root, "from_mm", -far_mm, far_mm);
    if (!says(root, "format", SW_FORMAT_PICTURE) || !says(root, "of", NAMES[of]) || !says(root, "inspection", mark) ||
        json_integer_value(json_object_get(root, "format_version")) != SW_FORMAT_VERSION ||
        json_integer_value(json_object_get(root, "width_px")) != picture->width_px ||
        json_integer_value(json_object_get(root, "height_px")) != picture->height_px || !isfinite(picture->px_per_mm))
        return false;
    if (of == SW_PICTURE_TABLE)
        return isfinite(picture->west_mm) && isfinite(picture->north_mm);
    if (!isfinite(picture->from_mm) || strip_px * (double)inspection->seam_count != picture->height_px)
        return false;
    picture->strip_px = (int)strip_px;
    return true;
}

static json_t *put_source(const unsigned char *bytes, size_t count)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_sheet_put(&sheet, "data:image/jpeg;base64,");
    sw_sheet_base64(&sheet, bytes, count);
    json_t *text = sheet.failed ? NULL : json_stringn(sheet.text, sheet.length);
    sw_sheet_free(&sheet);
    return text;
}

/* The data of a file's bytes; NULL: memory is out. */
static json_t *data_of(const unsigned char *bytes, size_t count, sw_picture_of of, const sw_inspection *inspection)
{
    sw_picture picture = {0};
    char *comment = NULL;
    json_error_t wrong = {.text = ""};
    bool failed = !sw_jpeg_look(bytes, count, &picture.width_px, &picture.height_px, &comment);
    json_t *root = comment ? json_loads(comment, JSON_REJECT_DUPLICATES, &wrong) : NULL, *data = NULL;
    failed |= comment && !root && json_error_code(&wrong) == json_error_out_of_memory;
    if (take(root, of, inspection, &picture)) {
        data = json_object();
        sw_json_set(data, "src", put_source(bytes, count), &failed);
        set_geometry(data, &picture, of, &failed);
    }
    free(comment);
    json_decref(root);
    if (!failed)
        return data ? data : json_null();
    json_decref(data);
    return NULL;
}

sw_status sw_picture_data(const char *path, sw_picture_of of, const sw_inspection *inspection, json_t **data,
                          sw_error *err)
{
    char *bytes = NULL;
    size_t count = 0;
    sw_read_result result = path ? sw_read_whole(path, MOST_BYTES, &bytes, &count) : SW_READ_FOLDER;
    *data = NULL;
    if (result == SW_READ_OK)
        *data = data_of((const unsigned char *)bytes, count, of, inspection);
    else if (result == SW_READ_FAILED && errno != ENOENT && errno != ENOTDIR)
        return sw_fail(err, SW_CANNOT_READ, "%.300s: cannot be read (%s)", path, strerror(errno));
    else if (result != SW_READ_NO_MEMORY)
        *data = json_null(); /* none, or what is none */
    free(bytes);
    return *data ? SW_OK : sw_fail(err, SW_NO_MEMORY, "%.300s: not enough memory to read it", path);
}
