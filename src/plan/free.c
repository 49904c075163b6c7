#include <stdlib.h>
#include <string.h>

#include "seamwright/plan.h"

void sw_plan_free(sw_plan *plan)
{
    if (!plan)
        return;
    for (size_t i = 0; plan->edges && i < plan->edge_count; i++)
        free(plan->edges[i].true_up);
    free(plan->edges);
    free(plan->seams);
    free(plan->work);
    free(plan->by_limit);
    free(plan->leans);
    free(plan->answers);
    sw_notes_free(&plan->cannot);
    sw_notes_free(&plan->notes);
    free(plan->settling_layout);
    memset(plan, 0, sizeof *plan);
}
