#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "photo/decode.h"

#define FORMATS "JPEG, PNG, TIFF, WebP or HEIC"

/* Largest file read, bytes. The largest photo accepted is SW_PHOTO_MAX_PIXELS; at most 8 bytes a pixel when nothing is
 * compressed (16-bit red, green, blue, alpha), plus a generous 64 MiB for previews and notes. */
#define MAX_FILE_BYTES (8u * (uint64_t)SW_PHOTO_MAX_PIXELS + (64u << 20))

typedef struct format {
    sw_decoder *decode;
    size_t at, size; /* where the signature stands, and its length */
    const char *signature;
} format;

static const format formats[] = {
    {sw_decode_jpeg, 0, 3, "\xff\xd8\xff"},     /* ITU-T T.81: SOI, then the next marker */
    {sw_decode_png, 0, 8, "\x89PNG\r\n\x1a\n"}, /* ISO/IEC 15948, 5.2 */
    {sw_decode_tiff, 0, 4, "II*\0"},            /* TIFF 6.0, section 2 */
    {sw_decode_tiff, 0, 4, "MM\0*"},
    {sw_decode_tiff, 0, 4, "II+\0"}, /* the same with 64-bit offsets */
    {sw_decode_tiff, 0, 4, "MM\0+"},
    {sw_decode_webp, 8, 4, "WEBP"}, /* after "RIFF" and the size */
    {sw_decode_heif, 4, 4, "ftyp"}, /* ISO/IEC 14496-12; films begin so too, heif.c tells them apart */
};

static sw_decoder *decoder_for(const sw_source *source)
{
    for (size_t i = 0; i < sizeof formats / sizeof *formats; i++) {
        const format *f = &formats[i];
        if (source->size >= f->at + f->size && memcmp(source->data + f->at, f->signature, f->size) == 0)
            return f->decode;
    }
    return NULL;
}

/* Length of the UTF-8 sequence at text (RFC 3629), 0 when it is none or a control character. */
static size_t character_at(const char *text)
{
    unsigned char lead = (unsigned char)*text;
    size_t length = lead < 0x80 ? 1 : lead >= 0xc2 && lead < 0xe0 ? 2 : lead >= 0xe0 && lead < 0xf0 ? 3 : 4;
    if (lead < 0x20 || lead == 0x7f || (lead >= 0x80 && lead < 0xc2) || lead > 0xf4)
        return 0;
    for (size_t i = 1; i < length; i++)
        if (((unsigned char)text[i] & 0xc0) != 0x80)
            return 0;
    unsigned char second = (unsigned char)text[length > 1];
    int overlong = (lead == 0xe0 && second < 0xa0) || (lead == 0xf0 && second < 0x90);
    int beyond = (lead == 0xed && second > 0x9f) || (lead == 0xf4 && second > 0x8f);
    return overlong || beyond ? 0 : length;
}

/* File names may hold any bytes; what goes to messages and reports is valid UTF-8 without control characters. */
static void clean_name(const char *name, char *out, size_t room)
{
    size_t count = 0;
    while (*name) {
        size_t length = character_at(name);
        if (count + (length ? length : 1) >= room)
            break;
        if (length)
            memcpy(out + count, name, length);
        else
            out[count] = '?';
        count += length ? length : 1;
        name += length ? length : 1;
    }
    out[count] = 0;
}

sw_status sw_photo_not_understood(const sw_source *source, sw_error *err)
{
    return sw_fail(err, SW_BAD_INPUT, "%.255s: this is no photo in a format understood; save it as " FORMATS,
                   source->name);
}

sw_status sw_photo_decode(const uint8_t *data, size_t size, const char *name, sw_photo *photo, sw_error *err)
{
    memset(photo, 0, sizeof *photo);
    char shown[sizeof photo->file] = "";
    clean_name(name, shown, sizeof shown);
    const sw_source source = {data, size, shown};
    if (size == 0)
        return sw_fail(err, SW_BAD_INPUT, "%.255s: the file is empty; a photo in " FORMATS " is needed", shown);
    sw_decoder *decode = decoder_for(&source);
    if (!decode)
        return sw_photo_not_understood(&source, err);
    photo->orientation = 1;
    sw_status status = decode(&source, photo, err);
    if (status)
        sw_photo_free(photo);
    else
        memcpy(photo->file, shown, sizeof shown);
    return status;
}

static sw_status cannot_open(const char *path, sw_error *err)
{
    if (errno == ENOENT || errno == ENOTDIR)
        return sw_fail(err, SW_CANNOT_READ, "%.300s: there is no such file; check the name and the folder", path);
    return sw_fail(err, SW_CANNOT_READ, "%.300s: cannot be read (%s)", path, strerror(errno));
}

/* The size of a plain file, refused when it cannot be a photo. */
static sw_status file_size(const char *path, size_t *size, sw_error *err)
{
    struct stat about;
    if (stat(path, &about) != 0)
        return cannot_open(path, err);
    if (S_ISDIR(about.st_mode))
        return sw_fail(err, SW_BAD_INPUT, "%.300s: this is a folder; name one photo in " FORMATS, path);
    if (!S_ISREG(about.st_mode))
        return sw_fail(err, SW_BAD_INPUT, "%.300s: this is not a plain file; name a photo in " FORMATS, path);
    if ((uint64_t)about.st_size > MAX_FILE_BYTES)
        return sw_fail(err, SW_BAD_INPUT, "%.300s: the file has %lld MB, too large for a photo (limit %llu MB)", path,
                       (long long)about.st_size / 1000000, (unsigned long long)MAX_FILE_BYTES / 1000000);
    *size = (size_t)about.st_size;
    return SW_OK;
}

/* On success the caller frees *data. */
static sw_status read_file(const char *path, uint8_t **data, size_t *size, sw_error *err)
{
    sw_status status = file_size(path, size, err);
    if (status)
        return status;
    FILE *file = fopen(path, "rb");
    if (!file)
        return cannot_open(path, err);
    *data = malloc(*size + 1);
    if (!*data)
        status = sw_fail(err, SW_NO_MEMORY, "%.300s: not enough memory to read the file", path);
    else if (fread(*data, 1, *size, file) != *size)
        status = sw_fail(err, SW_CANNOT_READ, "%.300s: cannot be read to its end; copy it again", path);
    fclose(file);
    if (status) {
        free(*data);
        *data = NULL;
    }
    return status;
}

sw_status sw_photo_load(const char *path, sw_photo *photo, sw_error *err)
{
    memset(photo, 0, sizeof *photo);
    uint8_t *data = NULL;
    size_t size = 0;
    sw_status status = read_file(path, &data, &size, err);
    if (status)
        return status;
    const char *slash = strrchr(path, '/');
    status = sw_photo_decode(data, size, slash ? slash + 1 : path, photo, err);
    free(data);
    return status;
}

bool sw_photo_is(const char *path)
{
    uint8_t start[16];
    struct stat about;
    FILE *file = stat(path, &about) == 0 && S_ISREG(about.st_mode) ? fopen(path, "rb") : NULL;
    if (!file)
        return false;
    const sw_source source = {.data = start, .size = fread(start, 1, sizeof start, file)};
    fclose(file);
    return decoder_for(&source) != NULL;
}

void sw_photo_free(sw_photo *photo)
{
    if (!photo)
        return;
    free(photo->luma8);
    free(photo->luma16);
    free(photo->chroma);
    free(photo->linear);
    memset(photo, 0, sizeof *photo);
}
