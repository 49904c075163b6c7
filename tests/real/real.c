#include "real/real.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <cmocka.h>

const char *const REAL_CURVE_NAMES[REAL_CURVES] = {"sRGB undone", "stored values"};

void real_path(char *path, size_t room, const char *folder, const char *file)
{
    const char *given = getenv("SEAMWRIGHT_SHARED");
    snprintf(path, room, "%s/real/%s/%s", given && *given ? given : SW_TESTS "/../../shared", folder, file);
}

int real_is_there(const char *folder)
{
    char path[1024];
    struct stat about;
    real_path(path, sizeof path, folder, "");
    if (stat(path, &about) == 0)
        return 1;
    printf("SKIPPED: there is no %s (SEAMWRIGHT_SHARED may name the folder that holds real/%s)\n", path, folder);
    return 0;
}

void real_load(const char *folder, const char *file, sw_photo *photo)
{
    char path[1024];
    sw_error err = {""};
    real_path(path, sizeof path, folder, file);
    if (sw_photo_load(path, photo, &err) != SW_OK)
        fail_msg("%s", err.text);
}

/* The curve of IEC 61966-2-1. */
static double srgb(double share)
{
    return share <= 0.04045 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4);
}

void real_set_curve(sw_photo *photo, real_curve curve)
{
    int top = (1 << photo->bits) - 1;
    for (int i = 0; i <= top; i++)
        photo->linear[i] = (float)(curve == REAL_SRGB ? srgb((double)i / top) : (double)i / top);
}

int real_read_square(const sw_photo *photo, const sw_response *response, sw_point corners[4], sw_rim_square *rim,
                     sw_esf *esf)
{
    double side = 0;
    for (int c = 0; c < 4; c++)
        side += hypot(corners[c].x - corners[(c + 1) % 4].x, corners[c].y - corners[(c + 1) % 4].y) / 4;
    /* Shares of the half side as in src/scale/find.c. */
    if (sw_sides_read(photo, response, corners, 1, fmin(10, 0.8 * side / 2), rim, NULL) < 4 ||
        sw_sides_corners(rim, corners))
        return -1;
    if (sw_sides_read(photo, response, corners, 1, fmin(10, 0.42 * side / 2), rim, esf) < 4)
        return -1;
    return sw_sides_corners(rim, corners);
}

double real_half_way_px(const sw_photo *photo, const sw_esf *esf)
{
    int top = (1 << photo->bits) - 1;
    double dark = esf->dark / esf->weight, bright = esf->bright / esf->weight, low = 0, high = top;
    /* The levels are known as light; the pooled edge is in stored values, so they are looked up backwards. */
    for (int i = 0; i <= top; i++) {
        if (photo->linear[i] <= dark)
            low = i;
        if (photo->linear[i] <= bright)
            high = i;
    }
    double before = NAN;
    for (int i = 0; i < SW_ESF_BINS; i++) {
        if (esf->count[i] < 1)
            continue;
        double stored = low + (high - low) * esf->sum[i] / esf->count[i];
        double share = (photo->linear[(int)fmin(top, fmax(0, round(stored)))] - dark) / (bright - dark);
        if (before < 0.5 && share >= 0.5)
            return (i - SW_ESF_BINS / 2 + 0.5 - (share - 0.5) / (share - before)) / 5;
        before = share;
    }
    return NAN;
}
