/* Writes strips.pdf of a made-up plan: strips layout|listed|any|nothing SIDE_MM A4|letter OUT.pdf. listed: the work list
 * names three of the edges (support/plan_fixture.h); layout: all of them. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/fixture.h"
#include "support/plan_fixture.h"

/* A line more that names the edges which no line names yet. */
static void list_all(sw_plan *plan)
{
    static sw_work_line lines[PLAN_FIXTURE_WORK + 2];
    memcpy(lines, plan->work, plan->work_count * sizeof *lines);
    lines[plan->work_count++] = (sw_work_line){.edges = {2, 3}, .edge_count = 2};
    lines[plan->work_count++] = (sw_work_line){.edges = {4}, .edge_count = 1};
    free(plan->work);
    plan->work = memcpy(calloc(1, sizeof lines), lines, sizeof lines);
}

int main(int argc, char **argv)
{
    sw_inspection inspection;
    sw_plan plan;
    sw_error err = {{0}};
    if (argc != 5) {
        fputs("usage: strips layout|listed|any|nothing SIDE_MM A4|letter OUT.pdf\n", stderr);
        return 2;
    }
    const sw_paper paper =
        strcmp(argv[3], "letter") == 0 ? (sw_paper){"letter", 215.9, 279.4} : (sw_paper){"A4", 210, 297};
    fixture_inspection(&inspection);
    if (strcmp(argv[1], "nothing") == 0)
        plan_fixture_nothing(&inspection, &plan);
    else if (strcmp(argv[1], "any") == 0)
        plan_fixture_any(&inspection, &plan);
    else
        plan_fixture(&inspection, &plan);
    if (strcmp(argv[1], "layout") == 0)
        list_all(&plan);
    plan_fixture_stretch(&plan, atof(argv[2]));
    sw_status status = sw_report_strips(&plan, &inspection, &paper, argv[4], &err);
    if (status)
        fprintf(stderr, "%s\n", err.text);
    sw_plan_free(&plan);
    sw_inspection_free(&inspection);
    return status != SW_OK;
}
