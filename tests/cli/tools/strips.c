/* Writes strips.pdf of a made-up plan: strips layout|nothing SIDE_MM A4|letter OUT.pdf. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/fixture.h"
#include "support/plan_fixture.h"

int main(int argc, char **argv)
{
    sw_inspection inspection;
    sw_plan plan;
    sw_error err = {{0}};
    if (argc != 5) {
        fputs("usage: strips layout|nothing SIDE_MM A4|letter OUT.pdf\n", stderr);
        return 2;
    }
    const sw_paper paper =
        strcmp(argv[3], "letter") == 0 ? (sw_paper){"letter", 215.9, 279.4} : (sw_paper){"A4", 210, 297};
    fixture_inspection(&inspection);
    if (strcmp(argv[1], "nothing") == 0)
        plan_fixture_nothing(&inspection, &plan);
    else
        plan_fixture(&inspection, &plan);
    plan_fixture_stretch(&plan, atof(argv[2]));
    sw_status status = sw_report_strips(&plan, &inspection, &paper, argv[4], &err);
    if (status)
        fprintf(stderr, "%s\n", err.text);
    sw_plan_free(&plan);
    sw_inspection_free(&inspection);
    return status != SW_OK;
}
