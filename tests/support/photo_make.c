#include "support/photo_make.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void *need(void *memory)
{
    assert_non_null(memory);
    return memory;
}

static scene scene_empty(int width, int height)
{
    return (scene){width, height, need(calloc((size_t)width * (size_t)height, 3 * sizeof(uint16_t)))};
}

scene scene_smooth(int width, int height)
{
    scene seen = scene_empty(width, height);
    uint16_t *to = seen.rgb;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++, to += 3) {
            double along = width > 1 ? x / (width - 1.0) : 0, down = height > 1 ? y / (height - 1.0) : 0;
            to[0] = (uint16_t)(65535 * (0.2 + 0.6 * along));
            to[1] = (uint16_t)(65535 * (0.1 + 0.8 * down));
            to[2] = (uint16_t)(65535 * (0.7 - 0.3 * along - 0.3 * down));
        }
    return seen;
}

scene scene_grey(int width, int height)
{
    scene seen = scene_empty(width, height);
    size_t count = (size_t)width * (size_t)height;
    for (size_t i = 0; i < count; i++) {
        uint16_t level = (uint16_t)(count > 1 ? 65535u * i / (count - 1) : 0);
        seen.rgb[3 * i] = seen.rgb[3 * i + 1] = seen.rgb[3 * i + 2] = level;
    }
    return seen;
}

scene scene_wild(int width, int height)
{
    scene seen = scene_empty(width, height);
    uint32_t state = 12345; /* a fixed linear congruential sequence (Numerical Recipes' quick one) */
    for (size_t i = 0; i < 3 * (size_t)width * (size_t)height; i++) {
        state = state * 1664525u + 1013904223u;
        seen.rgb[i] = (uint16_t)(state >> 16);
    }
    return seen;
}

double scene_luma(const scene *seen, int x, int y)
{
    const uint16_t *at = seen->rgb + 3 * ((size_t)y * (size_t)seen->width + (size_t)x);
    return (0.299 * at[0] + 0.587 * at[1] + 0.114 * at[2]) / 65535.0;
}

/* A block under construction; numbers in the byte order asked for. */
typedef struct block {
    uint8_t data[2048];
    size_t size;
    int big_endian;
} block;

static void put(block *b, uint32_t value, int bytes)
{
    assert_true(b->size + 4 < sizeof b->data);
    for (int i = 0; i < bytes; i++)
        b->data[b->size++] = (uint8_t)(value >> 8 * (b->big_endian ? bytes - 1 - i : i));
}

/* One directory entry. Text and fractions are kept at the block's offset `kept`, which moves on. */
static void put_entry(block *b, uint16_t tag, uint16_t type, uint32_t count, uint32_t value)
{
    put(b, tag, 2);
    put(b, type, 2);
    put(b, count, 4);
    if (type == 3) { /* SHORT: left-justified in its four bytes */
        put(b, value, 2);
        put(b, 0, 2);
    } else {
        put(b, value, 4);
    }
}

static void put_text(block *b, const char *text, size_t room)
{
    assert_true(strlen(text) < room);
    memset(b->data + b->size, 0, room);
    memcpy(b->data + b->size, text, strlen(text));
    b->size += room;
}

/* Layout, offsets from the TIFF header: 8 IFD0 (4 entries, 54 bytes), 62 EXIF IFD (3 entries, 42 bytes), 104 maker
 * (128), 232 model (128), 360 time (32), 392 focal length (8). */
made make_exif(const exif_facts *facts)
{
    block b = {.big_endian = facts->big_endian};
    memcpy(b.data, "Exif\0\0", 6);
    memcpy(b.data + 6, facts->big_endian ? "MM" : "II", 2);
    b.size = 8;
    put(&b, 42, 2);
    put(&b, 8, 4);
    put(&b, 4, 2);
    put_entry(&b, 0x010f, 2, 128, 104);
    put_entry(&b, 0x0110, 2, 128, 232);
    put_entry(&b, 0x0112, 3, 1, facts->orientation);
    put_entry(&b, 0x8769, 4, 1, 62);
    put(&b, 0, 4);
    put(&b, 3, 2);
    put_entry(&b, 0x9003, 2, 20, 360);
    put_entry(&b, 0x920a, 5, 1, 392);
    put_entry(&b, 0xa405, 3, 1, facts->focal_35mm);
    put(&b, 0, 4);
    put_text(&b, facts->maker ? facts->maker : "", 128);
    put_text(&b, facts->model ? facts->model : "", 128);
    put_text(&b, facts->taken ? facts->taken : "", 32);
    put(&b, facts->focal_numerator, 4);
    put(&b, facts->focal_denominator, 4);
    made out = {need(malloc(b.size)), b.size};
    memcpy(out.data, b.data, b.size);
    return out;
}
