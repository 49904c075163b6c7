/* growth.c - how the time grows with the number of seams: drawn tables of 1 to 24 seams in a picture of one size.
 * Prints for each the time against that of the table before all seams are counted, so that what the picture costs shows
 * too. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "seamwright/seamwright.h"
#include "support/draw.h"

enum { TIMES = 5, SIDE_PX = 2600 };

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Median time of TIMES inspections of a drawn table; negative when it is not found as drawn. */
static double time_table(int columns, int rows)
{
    double taken[TIMES];
    draw_view view = draw_above(SIDE_PX, SIDE_PX, 2, 0);
    draw_table table = draw_even_table(columns, rows, 300, 1);
    draw_card card = {draw_on_tile(&table, 0, 0, 150, 150), 0.05, 100, 60, 14, 0};
    drawing d = draw_start(&view, DRAW_FLOOR);
    sw_photo photo;
    sw_lens lens = draw_lens(&view);
    sw_options options = {.lens = &lens};
    int right = 1;
    draw_put_table(&d, &table);
    draw_put_card(&d, &card);
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 1}, &photo);
    draw_free(&d);
    for (int i = 0; i < TIMES; i++) {
        sw_inspection ins;
        double start = seconds();
        sw_status status = sw_inspect(&photo, &options, NULL, NULL, &ins, NULL);
        taken[i] = seconds() - start;
        right &= !status && ins.table.columns == columns && ins.table.rows == rows;
        sw_inspection_free(&ins);
    }
    sw_photo_free(&photo);
    qsort(taken, TIMES, sizeof *taken, by_size);
    return right ? taken[TIMES / 2] : -1;
}

int main(void)
{
    static const int tables[][2] = {{2, 1}, {2, 2}, {3, 2}, {3, 3}, {4, 3}, {4, 4}};
    double first = 0;
    puts("growth: drawn tables, one picture size; time over that of the one-seam table");
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        int c = tables[i][0], r = tables[i][1], seams = c * (r - 1) + r * (c - 1);
        double t = time_table(c, r);
        first = i ? first : t;
        if (t < 0)
            printf("  %d x %d: not found\n", c, r);
        else
            printf("  %d x %d, %2d seams: %5.2f\n", c, r, seams, t / first);
    }
    return 0;
}
