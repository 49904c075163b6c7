/* Writes photos of a checkerboard through a known lens into the current folder: board1.png to board6.png. */
#include "support/board_make.h"

static const board_scene SCENE = {
    .lens = {.width_px = 640, .height_px = 480, .fx = 520, .fy = 520, .cx = 316, .cy = 244, .k1 = -0.1, .k2 = 0.02},
    .board = {10, 7, 25},
    .stretch = 1,
    .blur_px = 0.7,
    .noise = 1.5,
};
static const board_pose POSES[] = {{{0.5, 0, 0.1}, {-25, -20, 330}},  {{-0.5, 0.1, 0}, {30, 20, 330}},
                                   {{0, 0.55, 0.05}, {20, -25, 340}}, {{0.1, -0.55, 0}, {-30, 20, 340}},
                                   {{0, 0, 1.6}, {10, 0, 360}},       {{0.35, 0.35, -0.1}, {0, 10, 330}}};

int main(void)
{
    for (int i = 0; i < (int)(sizeof POSES / sizeof *POSES); i++) {
        char name[] = {'b', 'o', 'a', 'r', 'd', (char)('1' + i), '.', 'p', 'n', 'g', 0};
        uint8_t *grey = board_render(&SCENE, &POSES[i]);
        int failed = board_save(name, grey, SCENE.lens.width_px, SCENE.lens.height_px, "Heron 5", 43);
        free(grey);
        if (failed)
            return 1;
    }
    return 0;
}
