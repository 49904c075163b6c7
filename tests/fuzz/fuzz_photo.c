/* Any bytes are a photo or a sentence. Fuzzed with libFuzzer (see replay.c for the everyday run). */
#include <stdlib.h>
#include <string.h>

#include "photo/decode.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Adds up all samples, so that the sanitizers see rows that are not there. */
static uint64_t touch(const sw_photo *photo)
{
    uint64_t sum = 0;
    for (int y = 0; y < photo->height_px; y++)
        for (int x = 0; x < photo->width_px; x++)
            sum += sw_photo_at(photo, x, y);
    return sum;
}

/* The same of its colours, none of a grey photo. */
static uint64_t touch_colours(const sw_photo *photo, size_t count)
{
    uint64_t sum = 0;
    for (size_t i = 0; photo->chroma && i < count; i++)
        sum += photo->chroma[i];
    return sum;
}

static void demand(int truth)
{
    if (!truth)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const sw_photo zero;
    sw_photo photo;
    sw_error err = {""};
    sw_status status = sw_photo_decode(data, size, "fuzz", &photo, &err);
    if (status) {
        demand(memcmp(&photo, &zero, sizeof zero) == 0);
        demand(strncmp(err.text, "fuzz: ", 6) == 0);
        return 0;
    }
    demand(photo.width_px > 0 && photo.height_px > 0);
    demand((uint64_t)photo.width_px * (uint64_t)photo.height_px <= SW_PHOTO_MAX_PIXELS);
    if (photo.chroma)
        demand(photo.chroma_width_px == photo.width_px / 2 && photo.chroma_height_px == photo.height_px / 2);
    size_t colours = 2 * (size_t)photo.chroma_width_px * (size_t)photo.chroma_height_px;
    demand(touch_colours(&photo, colours) <= UINT8_MAX * colours);
    demand(photo.orientation >= 1 && photo.orientation <= 8);
    demand(memchr(photo.taken, 0, sizeof photo.taken) && memchr(photo.camera, 0, sizeof photo.camera));
    demand(photo.linear[0] == 0 && photo.linear[(1u << photo.bits) - 1] == 1);
    demand(touch(&photo) <= (uint64_t)photo.width_px * (uint64_t)photo.height_px * ((1u << photo.bits) - 1));
    sw_photo_free(&photo);
    return 0;
}
