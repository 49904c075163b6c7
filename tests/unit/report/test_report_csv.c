/* edges.csv: every column holds what its name says, and text with commas and quotes stays in one column. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/fixture.h"

static void every_edge_in_its_columns(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_error err = {""};
    char folder[64], path[128], row[512];
    fixture_inspection(&ins);
    fixture_folder(folder);
    snprintf(path, sizeof path, "%s/edges.csv", folder);
    sw_advice *a = &ins.ranking[0];
    a->remove_mm = 0.1234;
    a->from_mm = 20;
    a->to_mm = 150.5;
    a->worst_gap_mm = 1.5;
    a->u95_mm = 0.0625;
    snprintf(a->reason, sizeof a->reason, "the \"proud\" end, north");
    assert_int_equal(sw_report_edges_csv(&ins, path, &err), SW_OK);
    char *text = fixture_read(folder, "edges.csv", NULL);
    assert_non_null(text);
    snprintf(row, sizeof row,
             "rank,edge,seam,action,remove_mm,from_mm,to_mm,worst_gap_mm,u95_mm,reason\n"
             "%d,%s %s,%s,%s,0.1234,20.0000,150.5000,1.5000,0.0625,\"the \"\"proud\"\" end, north\"\n",
             a->rank, ins.tiles[a->tile].name, sw_side_name(a->side), ins.seams[a->seam].name,
             sw_action_name(a->action));
    assert_true(strlen(text) >= strlen(row));
    text[strlen(row)] = 0;
    assert_string_equal(text, row);
    free(text);
    fixture_remove(folder);
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_edge_in_its_columns)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
