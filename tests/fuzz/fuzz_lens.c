/* Any bytes are a lens profile or a sentence. Fuzzed with libFuzzer (see replay.c for the everyday run). */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz/scratch.h"
#include "scale/lens.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(int truth)
{
    if (!truth)
        abort();
}

/* One-to-one where it matters, in the corners: whatever was read can be measured with. */
static void check_corners(const sw_lens *lens)
{
    for (int corner = 0; corner < 4; corner++) {
        double x = corner & 1 ? lens->width_px - 1 : 0, y = corner & 2 ? lens->height_px - 1 : 0;
        double plain_x = (x - lens->cx) / lens->fx, plain_y = (y - lens->cy) / lens->fy;
        sw_bent bent = sw_lens_bend(lens, plain_x, plain_y);
        demand(isfinite(bent.x) && isfinite(bent.y));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const sw_lens zero;
    sw_lens lens, again;
    sw_error err = {""};
    scratch_begin();
    scratch_write("given.json", data, size);
    if (sw_lens_load("given.json", &lens, &err)) {
        demand(memcmp(&lens, &zero, sizeof zero) == 0);
        demand(strncmp(err.text, "given.json: ", 12) == 0 && !strchr(err.text, '\n'));
        return 0;
    }
    demand(lens.width_px > 1 && lens.height_px > 1 && lens.fx > 0 && lens.fy > 0);
    demand(memchr(lens.camera, 0, sizeof lens.camera) != NULL);
    check_corners(&lens);
    if (lens.source == SW_LENS_NONE)
        return 0;
    demand(sw_lens_save("written.json", &lens, &err) == SW_OK);
    demand(sw_lens_load("written.json", &again, &err) == SW_OK);
    demand(memcmp(&lens, &again, sizeof lens) == 0);
    return 0;
}
