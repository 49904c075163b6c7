/* plan.c - what a plan costs and how it grows: made-up tables of 4 to 144 tiles. The plain baseline, run beside it, is
 * one linear programme of pushing over every station of the inspection, nothing thinned, nothing sanded. Processor
 * time, one run each: the solver takes the same steps every time. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "push/openings.h"
#include "seamwright/plan.h"
#include "support/made/made_table.h"

static const double TOLERANCE_MM = 0.5;

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Every good station of every seam as a point of its joint. */
static int fill(const sw_inspection *ins, sw_openings *all)
{
    for (size_t j = 0; j < all->count; j++) {
        const sw_seam *seam = &ins->seams[j];
        sw_joint *joint = &all->joints[j];
        sw_joint_point *points = calloc(seam->station_count + 1, sizeof *points);
        if (!points)
            return -1;
        free(joint->points);
        joint->points = points;
        joint->point_count = 0;
        for (size_t i = 0; i < seam->station_count; i++)
            if (seam->stations[i].state == SW_STATION_OK)
                points[joint->point_count++] =
                    (sw_joint_point){seam->stations[i].at_mm, seam->stations[i].gap_mm, seam->stations[i].u95_mm, 1, 1};
    }
    return 0;
}

static double time_plain(const sw_inspection *ins)
{
    sw_openings all;
    sw_settled settled;
    double start = 0, end = NAN;
    if (sw_openings_make(ins, &all, NULL))
        return NAN;
    start = seconds();
    if (!fill(ins, &all) && !sw_settle(all.centres, all.tiles, all.joints, all.count, &settled, NULL)) {
        end = seconds();
        sw_settled_free(&settled);
    }
    sw_openings_free(&all);
    return end - start;
}

static double time_plan(const sw_inspection *ins, sw_plan_for purpose)
{
    sw_plan plan;
    double start = seconds();
    if (sw_plan_make(ins, 1, NULL, &(sw_plan_options){.purpose = purpose}, &plan, NULL))
        return NAN;
    double taken = seconds() - start;
    sw_plan_free(&plan);
    return taken;
}

int main(void)
{
    static const int sizes[] = {2, 3, 4, 6, 8, 12};
    double first = 0, first_any = 0;
    puts("plan: made-up tables; processor time over the plain way (one push over every station), and over the 2 x 2 "
         "table's");
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        made_quality quality = made_by_volunteers;
        made_table table = made_new(sizes[i], sizes[i], 300);
        sw_inspection ins;
        quality.slope *= 1.6;
        quality.bow_mm *= 1.6;
        made_cut(&table, &quality, 3);
        made_lay(&table, &quality, 3);
        made_inspect(&table, &made_as_photos, TOLERANCE_MM, 3, &ins);
        double layout = time_plan(&ins, SW_PLAN_LAYOUT), any = time_plan(&ins, SW_PLAN_ANY), plain = time_plain(&ins);
        first = i ? first : layout;
        first_any = i ? first_any : any;
        printf("  %2d x %2d, %3zu seams: for this layout %5.2f s, %5.1f of plain, %7.1f of 2 x 2; for any %5.2f s, "
               "%5.1f of "
               "plain, %6.1f of 2 x 2\n",
               sizes[i], sizes[i], ins.seam_count, layout, layout / plain, layout / first, any, any / plain,
               any / first_any);
        fflush(stdout);
        sw_inspection_free(&ins);
        made_free(&table);
    }
    return 0;
}
