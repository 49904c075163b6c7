/* Cut, bent, oversized and foreign files: a sentence, never half a picture, never memory for a claim. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include <png.h>
#include <tiff.h>

#include "photo/decode.h"
#include "support/photo_make.h"

typedef struct named {
    const char *name;
    made file;
} named;

/* One photo of every kind, with EXIF. Sizes are large enough that every sixteenth is a place of its own. */
static size_t one_of_each(named *all)
{
    static const exif_facts facts = {0, "River", "Valley 3", "2026:05:01 10:12:00", 6, 26, 425, 100};
    scene wild = scene_wild(64, 48), smooth = scene_smooth(96, 64);
    made exif = make_exif(&facts);
    size_t count = 0;
    all[count++] = (named){"jpeg", make_jpeg(&wild, JPEG_YCC_420, 90, 0, &exif)};
    all[count++] = (named){"progressive", make_jpeg(&wild, JPEG_YCC_420, 90, 1, &exif)};
    all[count++] = (named){"png", make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, 8, 0, 0}, &exif)};
    all[count++] = (named){"png16", make_png(&wild, (png_kind){PNG_COLOR_TYPE_GRAY, 16, 1, 0}, &exif)};
    all[count++] = (named){"tiff", make_tiff(&wild, (tiff_kind){"w", PHOTOMETRIC_RGB, 8, COMPRESSION_NONE, 0}, NULL)};
    all[count++] = (named){"lzw", make_tiff(&wild, (tiff_kind){"w", PHOTOMETRIC_RGB, 16, COMPRESSION_LZW, 16}, NULL)};
    all[count++] =
        (named){"tiff-jpeg", make_tiff(&smooth, (tiff_kind){"w", PHOTOMETRIC_YCBCR, 8, COMPRESSION_JPEG, 0}, NULL)};
    all[count++] = (named){"webp", make_webp(&smooth, 0, &exif)};
    all[count++] = (named){"lossless", make_webp(&wild, 1, NULL)};
    all[count] = (named){"heic", make_heic(&smooth, 8, 1, 1, &exif)};
    count += all[count].file.size > 0;
    free(exif.data);
    free(wild.rgb);
    free(smooth.rgb);
    return count;
}

static void free_all(named *all, size_t count)
{
    for (size_t i = 0; i < count; i++)
        free(all[i].file.data);
}

/* Decodes an exact copy, so that the sanitizer sees a step past its end; checks that a failure leaves a zeroed photo
 * and a sentence that starts with the name. */
static sw_status try(const uint8_t *data, size_t size, sw_error *err)
{
    static const sw_photo zero;
    sw_photo photo;
    uint8_t *exact = malloc(size ? size : 1);
    assert_non_null(exact);
    if (size)
        memcpy(exact, data, size);
    memset(&photo, 0xa5, sizeof photo);
    err->text[0] = 0;
    sw_status status = sw_photo_decode(exact, size, "table.jpg", &photo, err);
    free(exact);
    if (status) {
        assert_memory_equal(&photo, &zero, sizeof zero);
        assert_int_equal(strncmp(err->text, "table.jpg: ", 11), 0);
    }
    sw_photo_free(&photo);
    return status;
}

static void expect_refused(const char *what, const uint8_t *data, size_t size, const char *words)
{
    sw_error err;
    sw_status status = try(data, size, &err);
    if (status != SW_BAD_INPUT || !strstr(err.text, words))
        print_error("%s, %zu bytes: status %d, \"%s\"\n", what, size, status, err.text);
    assert_int_equal(status, SW_BAD_INPUT);
    assert_non_null(strstr(err.text, words));
}

static void whole_files_are_read(void **state)
{
    (void)state;
    named all[16];
    sw_error err;
    size_t count = one_of_each(all);
    for (size_t i = 0; i < count; i++)
        assert_int_equal(try(all[i].file.data, all[i].file.size, &err), SW_OK);
    free_all(all, count);
}

static void a_file_cut_anywhere_is_an_error(void **state)
{
    (void)state;
    named all[16];
    size_t count = one_of_each(all);
    for (size_t i = 0; i < count; i++) {
        size_t size = all[i].file.size;
        for (size_t k = 1; k < 16; k++)
            expect_refused(all[i].name, all[i].file.data, size * k / 16, "table.jpg");
        for (size_t missing = 1; missing <= 8; missing++)
            expect_refused(all[i].name, all[i].file.data, size - missing, "");
    }
    free_all(all, count);
}

/* A download with room set aside but not filled: right length, zeroes from some place on. */
static void a_zeroed_tail_is_an_error(void **state)
{
    (void)state;
    named all[16];
    size_t count = one_of_each(all);
    for (size_t i = 0; i < count; i++) {
        made *file = &all[i].file;
        if (strcmp(all[i].name, "tiff") == 0 || strcmp(all[i].name, "lossless") == 0 ||
            strcmp(all[i].name, "webp") == 0 || strcmp(all[i].name, "heic") == 0)
            continue; /* without check sums or end marks zeroes may be pixels, or labels after them */
        memset(file->data + file->size / 2, 0, file->size - file->size / 2);
        expect_refused(all[i].name, file->data, file->size, "");
    }
    free_all(all, count);
}

static void jpeg_padding_and_labels_do_no_harm(void **state)
{
    (void)state;
    scene wild = scene_wild(32, 32);
    sw_error err;
    made file = make_jpeg(&wild, JPEG_YCC_420, 90, 0, NULL);
    uint8_t *longer = calloc(file.size + 64, 1);
    assert_non_null(longer);
    memcpy(longer, file.data, file.size - 2);
    for (size_t zeroes = 0; zeroes <= 40; zeroes++) { /* between the data and the end mark */
        memset(longer + file.size - 2, 0, 44);
        memcpy(longer + file.size - 2 + zeroes, "\xff\xd9", 2);
        sw_status status = try(longer, file.size + zeroes, &err);
        if (zeroes <= 15 ||
            zeroes >= 24) /* libjpeg may have up to 8 of them in hand already, and does not count those */
            assert_int_equal(status, zeroes <= 15 ? SW_OK : SW_BAD_INPUT);
    }
    memset(longer + file.size - 2, 0x55, 12);
    memcpy(longer + file.size - 2 + 12, "\xff\xd9", 2);
    expect_refused("lost its place", longer, file.size + 12, "extraneous");
    memcpy(longer, file.data, 20); /* odd bytes behind the first label (JFIF, 18 bytes), as some phones leave them */
    memcpy(longer + 20, "\x01\x02\x03", 3);
    memcpy(longer + 23, file.data + 20, file.size - 20);
    assert_int_equal(try(longer, file.size + 3, &err), SW_OK);
    memcpy(longer, file.data, file.size); /* anything after the end mark: previews, notes, films */
    memset(longer + file.size, 0x55, 64);
    assert_int_equal(try(longer, file.size + 64, &err), SW_OK);
    free(longer);
    free(file.data);
    free(wild.rgb);
}

static uint8_t *mark_of(made *file, uint8_t mark, int which)
{
    for (size_t i = 0; i + 1 < file->size; i++)
        if (file->data[i] == 0xff && file->data[i + 1] == mark && which-- == 0)
            return file->data + i;
    fail_msg("no mark");
    return NULL;
}

/* A JPEG inside a TIFF whose last strip ends early: libtiff hands out grey rows and only warns. */
static void half_a_jpeg_inside_a_tiff_is_an_error(void **state)
{
    (void)state;
    scene wild = scene_wild(64, 48);
    made file = make_tiff(&wild, (tiff_kind){"w", PHOTOMETRIC_MINISBLACK, 8, COMPRESSION_JPEG, 0}, NULL);
    memcpy(mark_of(&file, 0xda, 0) + 40, "\xff\xd9", 2);
    expect_refused("tiff", file.data, file.size, "remature end");
    free(file.data);
    free(wild.rgb);
}

/* Ends cleanly, but the finer passes never came. */
static void missing_passes_are_an_error(void **state)
{
    (void)state;
    scene wild = scene_wild(64, 48);
    made file = make_jpeg(&wild, JPEG_YCC_420, 90, 1, NULL);
    for (int passes = 1; passes <= 8; passes++) {
        uint8_t *cut = mark_of(&file, 0xda, passes), kept[2];
        memcpy(kept, cut, 2);
        memcpy(cut, "\xff\xd9", 2);
        expect_refused("passes", file.data, (size_t)(cut + 2 - file.data), "passes are missing");
        memcpy(cut, kept, 2);
    }
    free(file.data);
    free(wild.rgb);
}

/* 64 passes are within the standard, but a file of a few kB could keep us busy for minutes on a large picture. */
static void endless_passes_are_an_error(void **state)
{
    (void)state;
    scene wild = scene_wild(16, 16);
    made file = make_jpeg(&wild, JPEG_GREY, 50, 2, NULL);
    expect_refused("64 passes", file.data, file.size, "too many passes");
    free(file.data);
    free(wild.rgb);
}

static void ink_colours_are_refused(void **state)
{
    (void)state;
    scene wild = scene_wild(16, 16);
    made file = make_jpeg(&wild, JPEG_CMYK, 90, 0, NULL);
    expect_refused("cmyk", file.data, file.size, "CMYK");
    free(file.data);
    free(wild.rgb);
}

static void put_be(uint8_t *at, uint32_t value, int bytes)
{
    for (int i = 0; i < bytes; i++)
        at[i] = (uint8_t)(value >> 8 * (bytes - 1 - i));
}

/* PNG check sum: CRC-32 of ISO 3309, bit by bit (ISO/IEC 15948, annex D). */
static uint32_t crc_of(const uint8_t *data, size_t size)
{
    uint32_t crc = 0xffffffffu;
    for (size_t i = 0; i < size; i++) {
        crc ^= data[i];
        for (int bit = 0; bit < 8; bit++)
            crc = crc & 1 ? crc >> 1 ^ 0xedb88320u : crc >> 1;
    }
    return ~crc;
}

static uint8_t *find(made *file, const char *name, size_t size)
{
    for (size_t i = 0; i + size <= file->size; i++)
        if (memcmp(file->data + i, name, size) == 0)
            return file->data + i;
    fail_msg("not found");
    return NULL;
}

static void claim_png(made *file, uint32_t width, uint32_t height)
{
    put_be(file->data + 16, width, 4);
    put_be(file->data + 20, height, 4);
    put_be(file->data + 29, crc_of(file->data + 12, 17), 4);
}

/* The header claims fewer rows than the data holds: one of the two is wrong. libpng only warns. */
static void png_with_rows_left_over_is_an_error(void **state)
{
    (void)state;
    scene wild = scene_wild(64, 48);
    made file = make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, 8, 0, 0}, NULL);
    claim_png(&file, 64, 20);
    expect_refused("rows", file.data, file.size, "IDAT");
    free(file.data);
    free(wild.rgb);
}

/* 30000 x 30000 written over the header of every format (16383 for WebP, its largest). */
static size_t oversized(named *all)
{
    size_t count = one_of_each(all);
    for (size_t i = 0; i < count; i++) {
        made *file = &all[i].file;
        const char *name = all[i].name;
        if (strcmp(name, "jpeg") == 0 || strcmp(name, "progressive") == 0) {
            uint8_t *frame = mark_of(file, name[0] == 'j' ? 0xc0 : 0xc2, 0);
            put_be(frame + 5, 30000, 2);
            put_be(frame + 7, 30000, 2);
        } else if (strncmp(name, "png", 3) == 0) {
            claim_png(file, 30000, 30000);
        } else if (strncmp(name, "tiff", 4) == 0) {
            uint8_t wide[12] = {0x00, 0x01, 4,    0,    1, 0,
                                0,    0,    0x30, 0x75, 0, 0}; /* type may be SHORT: look for tag only */
            for (int tag = 0; tag < 2; tag++) {
                wide[0] = (uint8_t)tag;
                wide[2] = 3;
                uint8_t *entry = find(file, (const char *)wide, 8);
                entry[8] = 0x30;
                entry[9] = 0x75;
            }
        } else if (strcmp(name, "lzw") == 0) {
            file->size = 0; /* libtiff itself sees that the tiles are too few; the claim is tested with strips */
        } else if (strcmp(name, "webp") == 0) {
            uint8_t *canvas = find(file, "VP8X", 4) + 12, *frame = find(file, "\x9d\x01\x2a", 3);
            memcpy(canvas, "\xfe\x3f\x00\xfe\x3f\x00", 6);
            memcpy(frame + 3, "\xff\x3f\xff\x3f", 4);
        } else if (strcmp(name, "lossless") == 0) {
            memcpy(find(file, "VP8L", 4) + 9, "\xff\xff\xff\x0f", 4); /* 14 bits less 1, twice */
        } else {
            uint8_t *size = find(file, "ispe", 4) + 8;
            put_be(size, 30000, 4);
            put_be(size + 4, 30000, 4);
        }
    }
    return count;
}

/* Address space for 64 MB more than now: less than any of the claims would take. Sanitizers need the room themselves.
 */
static void narrow(struct rlimit *before)
{
    getrlimit(RLIMIT_AS, before);
#if !defined(__SANITIZE_ADDRESS__)
    long pages = 0;
    FILE *self = fopen("/proc/self/statm", "r");
    if (self && fscanf(self, "%ld", &pages) == 1) {
        struct rlimit tight = *before;
        tight.rlim_cur = (rlim_t)pages * (rlim_t)sysconf(_SC_PAGESIZE) + ((rlim_t)64 << 20);
        setrlimit(RLIMIT_AS, &tight);
    }
    if (self)
        fclose(self);
#endif
}

static void claims_are_refused_without_memory(void **state)
{
    (void)state;
    named all[16];
    struct rlimit before;
    size_t count = oversized(all);
    narrow(&before);
    clock_t start = clock();
    for (size_t i = 0; i < count; i++) {
        if (all[i].file.size == 0)
            continue;
        int webp = strcmp(all[i].name, "webp") == 0, lossless = strcmp(all[i].name, "lossless") == 0;
        expect_refused(all[i].name, all[i].file.data, all[i].file.size,
                       webp       ? "16383 x 16383"
                       : lossless ? "16384 x 16384"
                                  : "30000 x 30000");
        expect_refused(all[i].name, all[i].file.data, all[i].file.size, "limit of 130 million");
    }
    double seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
    setrlimit(RLIMIT_AS, &before);
    assert_true(seconds < 1);
    free_all(all, count);
}

static void limits_are_where_they_are_said_to_be(void **state)
{
    (void)state;
    const sw_source source = {NULL, 0, "table.jpg"};
    sw_error err;
    assert_int_equal(sw_photo_fits(&source, 13000, 10000, &err), SW_OK);
    assert_int_equal(sw_photo_fits(&source, 13000, 10001, &err), SW_BAD_INPUT);
    assert_int_equal(sw_photo_fits(&source, 65500, 1, &err), SW_OK);
    assert_int_equal(sw_photo_fits(&source, 65501, 1, &err), SW_BAD_INPUT);
    assert_int_equal(sw_photo_fits(&source, 1, 65501, &err), SW_BAD_INPUT);
    assert_int_equal(sw_photo_fits(&source, 0, 10, &err), SW_BAD_INPUT);
    assert_int_equal(sw_photo_fits(&source, UINT64_MAX, UINT64_MAX, &err), SW_BAD_INPUT);
    scene wild = scene_wild(8, 8);
    made file = make_png(&wild, (png_kind){PNG_COLOR_TYPE_GRAY, 8, 0, 0}, NULL);
    claim_png(&file, 70000, 1);
    expect_refused("side", file.data, file.size, "70000 x 1 pixels, over the limit");
    free(file.data);
    made jpeg = make_jpeg(&wild, JPEG_GREY, 90, 0, NULL);
    put_be(mark_of(&jpeg, 0xc0, 0) + 5, 65535, 2);
    expect_refused("side", jpeg.data, jpeg.size, "8 x 65535 pixels, over the limit");
    free(jpeg.data);
    free(wild.rgb);
}

static void foreign_bytes_get_the_list_of_formats(void **state)
{
    (void)state;
    static const char *const foreign[] = {"",
                                          "x",
                                          "Dear volunteers, the river bends at tile B2.",
                                          "GIF89a",
                                          "BM",
                                          "\xff\xd8",
                                          "%PDF-1.4",
                                          "RIFF\x04\0\0\0WAVE",
                                          "\0\0\0\x18"
                                          "ftypmp42\0\0\0\0mp42isom"};
    static const size_t sizes[] = {0, 1, 44, 6, 2, 2, 8, 12, 24};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
        expect_refused("foreign", (const uint8_t *)foreign[i], sizes[i], "JPEG, PNG, TIFF, WebP or HEIC");
}

static void expect_load(const char *path, sw_status status, const char *words)
{
    static const sw_photo zero;
    sw_photo photo;
    sw_error err = {""};
    memset(&photo, 0xa5, sizeof photo);
    assert_int_equal(sw_photo_load(path, &photo, &err), status);
    assert_non_null(strstr(err.text, words));
    assert_memory_equal(&photo, &zero, sizeof zero);
    memset(&photo, 0xa5, sizeof photo);
    assert_int_equal(sw_photo_load(path, &photo, NULL), status); /* nobody listens */
}

static void no_file_no_photo(void **state)
{
    (void)state;
    expect_load(SW_TESTS "/no-such-photo.jpg", SW_CANNOT_READ, "no such file");
    expect_load(SW_TESTS "/CMakeLists.txt/photo.jpg", SW_CANNOT_READ, "no such file");
    expect_load("", SW_CANNOT_READ, "no such file");
    expect_load(SW_TESTS, SW_BAD_INPUT, "JPEG, PNG, TIFF, WebP or HEIC");
    expect_load("/dev/null", SW_BAD_INPUT, "JPEG, PNG, TIFF, WebP or HEIC");
    expect_load(SW_TESTS "/CMakeLists.txt", SW_BAD_INPUT, "JPEG, PNG, TIFF, WebP or HEIC");
}

static void names_are_fit_for_reports(void **state)
{
    (void)state;
    static const struct {
        const char *given, *shown;
    } cases[] = {{"Tal \xc3\xbc"
                  "ber.png",
                  "Tal \xc3\xbc"
                  "ber.png"},
                 {"a\xff\n\x1b[31m\xc3", "a???[31m?"},
                 {"\xe0\x80\x80\xed\xa0\x80\xf4\x90\x80\x80\xc0\xaf", "???"
                                                                      "???"
                                                                      "????"
                                                                      "??"},
                 {"\xf0\x9f\x8f\x9e", "\xf0\x9f\x8f\x9e"}};
    scene wild = scene_wild(8, 8);
    made file = make_png(&wild, (png_kind){PNG_COLOR_TYPE_GRAY, 8, 0, 0}, NULL);
    sw_photo photo;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_int_equal(sw_photo_decode(file.data, file.size, cases[i].given, &photo, NULL), SW_OK);
        assert_string_equal(photo.file, cases[i].shown);
        sw_photo_free(&photo);
    }
    char name[601] = "";
    for (int i = 0; i < 300; i++)
        memcpy(name + 2 * i, "\xc3\xbc", 3);
    assert_int_equal(sw_photo_decode(file.data, file.size, name, &photo, NULL), SW_OK);
    assert_int_equal(strlen(photo.file), 254); /* whole characters only */
    sw_photo_free(&photo);
    free(file.data);
    free(wild.rgb);
}

static void load_reads_what_decode_reads(void **state)
{
    (void)state;
    char path[] = "/tmp/seamwright_photo_XXXXXX";
    scene wild = scene_wild(31, 17);
    made file = make_png(&wild, (png_kind){PNG_COLOR_TYPE_GRAY, 16, 0, 0}, NULL);
    int handle = mkstemp(path);
    assert_true(handle >= 0 && write(handle, file.data, file.size) == (ssize_t)file.size);
    close(handle);
    sw_photo loaded, decoded;
    assert_int_equal(sw_photo_load(path, &loaded, NULL), SW_OK);
    assert_int_equal(sw_photo_decode(file.data, file.size, "x", &decoded, NULL), SW_OK);
    assert_string_equal(loaded.file, strrchr(path, '/') + 1);
    assert_memory_equal(loaded.luma16, decoded.luma16, 31 * 17 * 2);
    unlink(path);
    sw_photo_free(&loaded);
    sw_photo_free(&loaded);
    sw_photo_free(&decoded);
    sw_photo_free(NULL);
    assert_null(loaded.luma16);
    free(file.data);
    free(wild.rgb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whole_files_are_read),
        cmocka_unit_test(a_file_cut_anywhere_is_an_error),
        cmocka_unit_test(a_zeroed_tail_is_an_error),
        cmocka_unit_test(jpeg_padding_and_labels_do_no_harm),
        cmocka_unit_test(half_a_jpeg_inside_a_tiff_is_an_error),
        cmocka_unit_test(missing_passes_are_an_error),
        cmocka_unit_test(endless_passes_are_an_error),
        cmocka_unit_test(ink_colours_are_refused),
        cmocka_unit_test(png_with_rows_left_over_is_an_error),
        cmocka_unit_test(claims_are_refused_without_memory),
        cmocka_unit_test(limits_are_where_they_are_said_to_be),
        cmocka_unit_test(foreign_bytes_get_the_list_of_formats),
        cmocka_unit_test(no_file_no_photo),
        cmocka_unit_test(names_are_fit_for_reports),
        cmocka_unit_test(load_reads_what_decode_reads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
