/* jpeg.c - a grey picture as a JPEG file, and what such a file says of itself. */
#include <errno.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h>

#include "report/picture/picture.h"

/* Edges of one pixel stay clean, and a picture of the table takes a few hundred kB. */
enum { QUALITY = 88, LONGEST_COMMENT = 1024 };

typedef struct errors {
    struct jpeg_error_mgr mgr;
    jmp_buf escape;
    char message[JMSG_LENGTH_MAX];
} errors;

static void give_up(j_common_ptr jpeg)
{
    errors *to = (errors *)(void *)jpeg->err;
    jpeg->err->format_message(jpeg, to->message);
    longjmp(to->escape, 1);
}

static void keep_quiet(j_common_ptr jpeg)
{
    (void)jpeg;
}

static void heed_nothing(j_common_ptr jpeg, int level)
{
    (void)jpeg, (void)level;
}

static struct jpeg_error_mgr *quiet_errors(errors *to)
{
    jpeg_std_error(&to->mgr);
    to->mgr.error_exit = give_up;
    to->mgr.output_message = keep_quiet;
    to->mgr.emit_message = heed_nothing;
    to->message[0] = 0;
    return &to->mgr;
}

/* False when libjpeg gave up (its message is kept). */
static bool encode(FILE *file, const unsigned char *pixels, int width_px, int height_px, const char *comment,
                   errors *wrong)
{
    struct jpeg_compress_struct jpeg;
    memset(&jpeg, 0, sizeof jpeg);
    jpeg.err = quiet_errors(wrong);
    if (setjmp(wrong->escape)) {
        jpeg_destroy_compress(&jpeg);
        return false;
    }
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)width_px;
    jpeg.image_height = (JDIMENSION)height_px;
    jpeg.input_components = 1;
    jpeg.in_color_space = JCS_GRAYSCALE;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, QUALITY, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    jpeg_write_marker(&jpeg, JPEG_COM, (const JOCTET *)comment, (unsigned)strlen(comment));
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row = (JSAMPROW)(pixels + (size_t)jpeg.next_scanline * (size_t)width_px);
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return true;
}

sw_status sw_jpeg_save(const char *path, const unsigned char *pixels, int width_px, int height_px, const char *comment,
                       sw_error *err)
{
    errors wrong = {.message = ""};
    FILE *file = fopen(path, "wb");
    if (!file)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be made (%s); choose a place that can be written to", path,
                       strerror(errno));
    bool done = encode(file, pixels, width_px, height_px, comment, &wrong), lost = ferror(file) != 0;
    if ((fclose(file) != 0 || lost) && done) {
        snprintf(wrong.message, sizeof wrong.message, "%s", strerror(errno));
        done = false;
    }
    if (!done)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: the picture cannot be written (%s); is the disk full?", path,
                       wrong.message);
    return SW_OK;
}

static void look(const unsigned char *bytes, size_t count, struct jpeg_decompress_struct *jpeg, errors *wrong)
{
    if (setjmp(wrong->escape))
        return;
    jpeg_create_decompress(jpeg);
    jpeg_save_markers(jpeg, JPEG_COM, LONGEST_COMMENT);
    jpeg_mem_src(jpeg, bytes, (unsigned long)count);
    jpeg_read_header(jpeg, TRUE);
}

bool sw_jpeg_look(const unsigned char *bytes, size_t count, int *width_px, int *height_px, char **comment)
{
    struct jpeg_decompress_struct jpeg;
    errors wrong;
    bool lost = false;
    *comment = NULL;
    if (count < 4 || bytes[count - 2] != 0xFF || bytes[count - 1] != JPEG_EOI)
        return true;
    memset(&jpeg, 0, sizeof jpeg);
    jpeg.err = quiet_errors(&wrong);
    look(bytes, count, &jpeg, &wrong);
    *width_px = (int)jpeg.image_width;
    *height_px = (int)jpeg.image_height;
    for (jpeg_saved_marker_ptr marker = jpeg.marker_list; marker && !*comment && !wrong.message[0];
         marker = marker->next)
        if (marker->marker == JPEG_COM)
            lost |= !(*comment = strndup((const char *)marker->data, marker->data_length));
    lost |= wrong.message[0] && wrong.mgr.msg_code == JERR_OUT_OF_MEMORY;
    jpeg_destroy_decompress(&jpeg);
    return !lost;
}
