/* exif.c - the few facts we keep from a photo's EXIF block (JEITA CP-3451), by libexif.
 *
 * The block is the least trustworthy part of a photo: every value is checked for type, size and sense, and anything odd
 * counts as absent. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libexif/exif-data.h>

#include "photo/decode.h"

/* An EXIF block lives in one JPEG segment of at most 65533 bytes; other formats allow more, but no camera writes it. */
#define MAX_BLOCK_BYTES ((size_t)1 << 20)

/* Focal lengths outside this are typing errors or attacks, mm. */
#define MIN_FOCAL_MM 0.1
#define MAX_FOCAL_MM 10000.0

void sw_photo_set_orientation(sw_photo *photo, unsigned tag)
{
    if (tag >= 1 && tag <= 8)
        photo->orientation = (int)tag;
}

void sw_photo_set_focal(sw_photo *photo, double focal_mm, double focal_35mm)
{
    if (focal_mm >= MIN_FOCAL_MM && focal_mm <= MAX_FOCAL_MM)
        photo->focal_mm = focal_mm;
    if (focal_35mm >= MIN_FOCAL_MM && focal_35mm <= MAX_FOCAL_MM)
        photo->focal_35mm = focal_35mm;
}

void sw_photo_set_taken(sw_photo *photo, const char *exif_time, size_t size)
{
    /* CP-3451: "YYYY:MM:DD HH:MM:SS", unknown parts blank. */
    static const char pattern[] = "dddd:dd:dd dd:dd:dd";
    static const char shown[] = "dddd-dd-dd dd:dd:dd";
    size_t length = sizeof pattern - 1;
    if (size < length)
        return;
    char text[sizeof shown];
    for (size_t i = 0; i < length; i++) {
        int digit = exif_time[i] >= '0' && exif_time[i] <= '9';
        if (pattern[i] == 'd' ? !digit : exif_time[i] != pattern[i])
            return;
        text[i] = shown[i] == 'd' ? exif_time[i] : shown[i];
    }
    text[length] = 0;
    int month = atoi(text + 5), day = atoi(text + 8), hour = atoi(text + 11), minute = atoi(text + 14);
    if (month >= 1 && month <= 12 && day >= 1 && day <= 31 && hour <= 23 && minute <= 59)
        memcpy(photo->taken, text, sizeof text);
}

/* Copies printable ASCII (the only text EXIF allows), other bytes as '?', without blanks at either end. */
static void clean_text(const char *text, char *out, size_t room)
{
    while (*text == ' ')
        text++;
    size_t count = 0;
    for (; text[count] && count + 1 < room; count++)
        out[count] = text[count] >= 0x20 && text[count] < 0x7f ? text[count] : '?';
    while (count > 0 && out[count - 1] == ' ')
        count--;
    out[count] = 0;
}

void sw_photo_set_camera(sw_photo *photo, const char *maker, const char *model)
{
    char make[48], type[sizeof photo->camera - sizeof make];
    clean_text(maker, make, sizeof make);
    clean_text(model, type, sizeof type);
    /* Many models repeat their maker's name. */
    int repeated = make[0] && strncmp(type, make, strlen(make)) == 0;
    snprintf(photo->camera, sizeof photo->camera, "%s%s%s", repeated ? "" : make,
             make[0] && type[0] && !repeated ? " " : "", type);
}

static const ExifEntry *entry_of(const ExifData *exif, ExifIfd ifd, ExifTag tag, ExifFormat format, size_t least_bytes)
{
    const ExifEntry *entry = exif_content_get_entry(exif->ifd[ifd], tag);
    return entry && entry->format == format && entry->data && entry->size >= least_bytes ? entry : NULL;
}

static unsigned short_of(const ExifData *exif, ExifIfd ifd, ExifTag tag)
{
    const ExifEntry *entry = entry_of(exif, ifd, tag, EXIF_FORMAT_SHORT, 2);
    return entry ? exif_get_short(entry->data, exif_data_get_byte_order((ExifData *)exif)) : 0;
}

static double rational_of(const ExifData *exif, ExifIfd ifd, ExifTag tag)
{
    const ExifEntry *entry = entry_of(exif, ifd, tag, EXIF_FORMAT_RATIONAL, 8);
    if (!entry)
        return 0;
    ExifRational value = exif_get_rational(entry->data, exif_data_get_byte_order((ExifData *)exif));
    return value.denominator ? (double)value.numerator / (double)value.denominator : 0;
}

/* Text entries need not end in NUL: copies into out, cut at its end. */
static void text_of(const ExifData *exif, ExifIfd ifd, ExifTag tag, char *out, size_t room)
{
    const ExifEntry *entry = entry_of(exif, ifd, tag, EXIF_FORMAT_ASCII, 1);
    size_t count = entry ? entry->size : 0;
    if (count > room - 1)
        count = room - 1;
    if (count)
        memcpy(out, entry->data, count);
    out[count] = 0;
}

static void take_facts(const ExifData *exif, sw_photo *photo)
{
    char maker[64], model[64], taken[32];
    text_of(exif, EXIF_IFD_0, EXIF_TAG_MAKE, maker, sizeof maker);
    text_of(exif, EXIF_IFD_0, EXIF_TAG_MODEL, model, sizeof model);
    text_of(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, taken, sizeof taken);
    sw_photo_set_camera(photo, maker, model);
    sw_photo_set_taken(photo, taken, strlen(taken));
    sw_photo_set_orientation(photo, short_of(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION));
    sw_photo_set_focal(photo, rational_of(exif, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH),
                       short_of(exif, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM));
}

void sw_photo_read_exif(const uint8_t *block, size_t size, sw_photo *photo)
{
    static const char head[6] = "Exif\0";
    if (size < 8 || size > MAX_BLOCK_BYTES)
        return;
    int headed = memcmp(block, head, sizeof head) == 0;
    size_t extra = headed ? 0 : sizeof head;
    uint8_t *copy = malloc(size + extra);
    ExifData *exif = exif_data_new();
    if (copy && exif) {
        memcpy(copy, head, extra);
        memcpy(copy + extra, block, size);
        exif_data_unset_option(exif, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION); /* read only, mend nothing */
        exif_data_load_data(exif, copy, (unsigned)(size + extra));
        take_facts(exif, photo);
    }
    if (exif)
        exif_data_unref(exif);
    free(copy);
}
