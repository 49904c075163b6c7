/* board_make.h - photos of a checkerboard through a known lens, for the tests of the lens profile.
 *
 * Every pixel is traced back: lens taken out -> ray -> board. So the picture is made by the way opposite to the one the
 * solver goes. Blur is put on in closed form, line by line of the board, so that no sampling moves an edge. */
#ifndef SW_SUPPORT_BOARD_MAKE_H
#define SW_SUPPORT_BOARD_MAKE_H

#include <math.h>
#include <png.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/scale.h"

/* How the board lies: rotation vector board -> camera (rad), its middle seen from the camera (mm). */
typedef struct board_pose {
    double turn[3], shift_mm[3];
} board_pose;

typedef struct board_scene {
    sw_lens lens;
    sw_checkerboard board;
    double stretch; /* printed height over width; 1 as it should be */
    double curve;   /* bend across the board's columns, 1/m */
    double blur_px; /* Gaussian */
    double noise;   /* standard deviation in 8-bit levels */
} board_scene;

static inline void board_rotation(const double turn[3], double r[3][3])
{
    double angle = sqrt(turn[0] * turn[0] + turn[1] * turn[1] + turn[2] * turn[2]);
    double x = angle > 0 ? turn[0] / angle : 1, y = angle > 0 ? turn[1] / angle : 0,
           z = angle > 0 ? turn[2] / angle : 0;
    double s = sin(angle), c = cos(angle), d = 1 - c;
    double out[3][3] = {{c + d * x * x, d * x * y - s * z, d * x * z + s * y},
                        {d * x * y + s * z, c + d * y * y, d * y * z - s * x},
                        {d * x * z - s * y, d * y * z + s * x, c + d * z * z}};
    memcpy(r, out, sizeof out);
}

/* Where a place of the board (mm from its middle) appears. */
static inline sw_point board_px(const board_scene *scene, const board_pose *pose, double x_mm, double y_mm)
{
    double r[3][3], q[3] = {x_mm, y_mm * scene->stretch, scene->curve * x_mm * x_mm / 2000}, p[3];
    board_rotation(pose->turn, r);
    for (int i = 0; i < 3; i++)
        p[i] = r[i][0] * q[0] + r[i][1] * q[1] + r[i][2] * q[2] + pose->shift_mm[i];
    return sw_lens_distort(&scene->lens, (sw_point){p[0] / p[2], p[1] / p[2]});
}

/* Where a ray (its normal point) meets the board, in squares from the pattern's corner. */
static inline sw_point board_squares(const board_scene *scene, double r[3][3], const double t[3], sw_point ray)
{
    /* With the ray d and the board's frame: point = l R'd - R't; wanted z = curve x^2 / 2000. */
    double d[3], o[3], z = 0, x = 0, y = 0;
    for (int i = 0; i < 3; i++) {
        d[i] = r[0][i] * ray.x + r[1][i] * ray.y + r[2][i];
        o[i] = -(r[0][i] * t[0] + r[1][i] * t[1] + r[2][i] * t[2]);
    }
    for (int round = 0; round < (scene->curve != 0 ? 8 : 1); round++) {
        double l = (z - o[2]) / d[2];
        x = o[0] + l * d[0];
        y = o[1] + l * d[1];
        z = scene->curve * x * x / 2000;
    }
    return (sw_point){x / scene->board.square_mm + scene->board.columns / 2.0,
                      y / scene->stretch / scene->board.square_mm + scene->board.rows / 2.0};
}

/* Share of a blurred step: 0 well before, 1 well behind. */
static inline double board_step(double distance, double sigma)
{
    return 0.5 + 0.5 * erf(distance / (sigma * 1.4142135623730951));
}

/* +1 over even squares, -1 over odd ones, blurred at the lines between; the pattern has `count` squares, and its rim is
 * no line. */
static inline double board_wave(double at, double sigma, int count)
{
    double line = fmin(fmax(round(at), 1), count - 1);
    return (fmod(line, 2) == 0 ? 1 : -1) * (2 * board_step(at - line, sigma) - 1);
}

/* Linear light: black 0.03, white 0.7 with 0.6 squares of white around, the table behind it 0.25. sigma: the blur in
 * squares, across and down. */
static inline double board_light(const sw_checkerboard *board, sw_point at, sw_point sigma)
{
    if (!(at.x > -0.6 && at.y > -0.6 && at.x < board->columns + 0.6 && at.y < board->rows + 0.6))
        return 0.25;
    double inside = (board_step(at.x, sigma.x) - board_step(at.x - board->columns, sigma.x)) *
                    (board_step(at.y, sigma.y) - board_step(at.y - board->rows, sigma.y));
    return 0.7 - (0.7 - 0.03) * inside *
                     (1 + board_wave(at.x, sigma.x, board->columns) * board_wave(at.y, sigma.y, board->rows)) / 2;
}

/* Roughly normal noise of standard deviation 1, the same in every run: sum of 12 uniform numbers less 6. */
static inline double board_noise(uint64_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth, MMIX */
        sum += (double)(*state >> 11) / 9007199254740992.0;
    }
    return sum;
}

/* The board's squares at every pixel, for free(). */
static inline sw_point *board_trace(const board_scene *scene, const board_pose *pose)
{
    int width = scene->lens.width_px, height = scene->lens.height_px;
    sw_point *at = malloc((size_t)width * (size_t)height * sizeof *at);
    double r[3][3];
    board_rotation(pose->turn, r);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            at[y * width + x] =
                board_squares(scene, r, pose->shift_mm, sw_lens_undistort(&scene->lens, (sw_point){x, y}));
    return at;
}

/* The blur in squares: that in pixels (a pixel's own width put in) times the slope of the squares. */
static inline sw_point board_sigma(const sw_point *at, int x, int y, int width, int height, double blur_px)
{
    double sigma = sqrt(blur_px * blur_px + 1 / 12.0);
    const sw_point *e = at + y * width + (x + 1 < width ? x + 1 : x), *w = at + y * width + (x ? x - 1 : x);
    const sw_point *s = at + (y + 1 < height ? y + 1 : y) * width + x, *n = at + (y ? y - 1 : y) * width + x;
    return (sw_point){sigma * hypot(e->x - w->x, s->x - n->x) / 2, sigma * hypot(e->y - w->y, s->y - n->y) / 2};
}

/* 8-bit sRGB-coded grey picture, for free(). */
static inline uint8_t *board_render(const board_scene *scene, const board_pose *pose)
{
    int width = scene->lens.width_px, height = scene->lens.height_px;
    uint8_t *coded = malloc((size_t)width * (size_t)height);
    sw_point *at = board_trace(scene, pose);
    uint64_t state = 1;
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            sw_point sigma = board_sigma(at, x, y, width, height, scene->blur_px);
            double light = board_light(&scene->board, at[y * width + x], sigma);
            double v = light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1 / 2.4) - 0.055; /* IEC 61966-2-1 */
            v = 255 * v + scene->noise * board_noise(&state) + 0.5;
            coded[y * width + x] = (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v);
        }
    }
    free(at);
    return coded;
}

/* An EXIF block (TIFF 6.0, little-endian; JEITA CP-3451): model, focal length in tenths of a millimetre. */
static inline size_t board_exif(uint8_t *block, const char *model, unsigned tenths)
{
    /* Header, IFD0 with Model and the EXIF pointer at 8, EXIF IFD with FocalLength at 38, rational at 56, text at 64.
     */
    uint32_t length = (uint32_t)strlen(model) + 1;
    const uint32_t words[] = {8, 38, 56, 64};
    uint8_t fixed[64] = {'I', 'I', 42, 0, 8, 0, 0, 0, 2, 0, 0x10, 0x01, 2, 0};
    memcpy(fixed + 14, &length, 4);
    memcpy(fixed + 18, &words[3], 4);
    memcpy(fixed + 22, (uint8_t[]){0x69, 0x87, 4, 0, 1, 0, 0, 0}, 8);
    memcpy(fixed + 30, &words[1], 4);
    memcpy(fixed + 38, (uint8_t[]){1, 0, 0x0a, 0x92, 5, 0, 1, 0, 0, 0}, 10);
    memcpy(fixed + 48, &words[2], 4);
    memcpy(fixed + 56, (uint32_t[]){tenths, 10}, 8);
    memcpy(block, fixed, 64);
    memcpy(block + 64, model, length);
    return 64 + length;
}

/* Writes a grey PNG, with an EXIF block when model is not NULL. Returns 0, or -1. */
static inline int board_save(const char *path, uint8_t *grey, int width, int height, const char *model, unsigned tenths)
{
    FILE *file = fopen(path, "wb");
    if (!file)
        return -1;
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    uint8_t block[256];
    png_init_io(png, file);
    png_set_compression_level(png, 1);
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, 8, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (model)
        png_set_eXIf_1(png, info, (png_uint_32)board_exif(block, model, tenths), block);
    png_write_info(png, info);
    for (int y = 0; y < height; y++)
        png_write_row(png, grey + (size_t)y * (size_t)width);
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    return fclose(file) ? -1 : 0;
}

#endif
