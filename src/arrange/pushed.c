#include "arrange/pushed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "push/lp.h"
#include "push/press.h"

void sw_pushed_free(sw_pushed *pushed)
{
    free(pushed->max_mm);
    free(pushed->inward_mm);
    free(pushed->mean_mm);
    memset(pushed, 0, sizeof *pushed);
}

static void take(const sw_settled ways[SW_PRESS_WAYS], sw_pushed *pushed)
{
    for (size_t j = 0; j < pushed->count; j++) {
        pushed->mean_mm[j] = ways[SW_PRESS_INWARD].mean_mm[j];
        pushed->inward_mm[j] = pushed->max_mm[j] = ways[SW_PRESS_INWARD].max_mm[j];
        for (int w = 0; w < SW_PRESS_WAYS; w++)
            pushed->max_mm[j] = fmax(pushed->max_mm[j], ways[w].max_mm[j]);
    }
}

sw_status sw_pushed_make(const sw_puzzle *puzzle, const sw_place *places, const sw_outline *outlines, double pitch_mm,
                         sw_pushed *pushed, sw_error *err)
{
    sw_joints joints;
    sw_settled ways[SW_PRESS_WAYS];
    memset(pushed, 0, sizeof *pushed);
    sw_status status = sw_joints_make(puzzle, places, outlines, pitch_mm, &joints, err);
    if (status)
        return status;
    status = sw_press(joints.centres, joints.places, joints.joints, joints.count, SW_PRESS_WAYS, ways, err);
    if (!status) {
        *pushed = (sw_pushed){.max_mm = calloc(joints.count + 1, sizeof(double)),
                              .inward_mm = calloc(joints.count + 1, sizeof(double)),
                              .mean_mm = calloc(joints.count + 1, sizeof(double)),
                              .count = joints.count};
        if (pushed->max_mm && pushed->inward_mm && pushed->mean_mm)
            take(ways, pushed);
        else {
            sw_pushed_free(pushed);
            status = sw_plan_no_memory(err);
        }
    }
    for (int w = 0; w < SW_PRESS_WAYS; w++)
        sw_settled_free(&ways[w]);
    sw_joints_free(&joints);
    return status;
}
