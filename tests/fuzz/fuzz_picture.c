/* Any bytes are a picture that lies beside an inspection. Fuzzed with libFuzzer (see replay.c for the everyday run). */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz/scratch.h"
#include "report/picture/picture.h"

enum { SEAMS = 2 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(int truth)
{
    if (!truth)
        abort();
}

static double number(const json_t *data, const char *key)
{
    const json_t *value = json_object_get(data, key);
    demand(json_is_number(value));
    return json_number_value(value);
}

static void look(sw_picture_of of, const sw_inspection *inspection)
{
    json_t *data;
    sw_error err = {""};
    demand(sw_picture_data("picture.jpg", of, inspection, &data, &err) == SW_OK);
    if (!json_is_null(data)) {
        const char *source = json_string_value(json_object_get(data, "src"));
        demand(source && strncmp(source, "data:image/jpeg;base64,", 23) == 0);
        demand(number(data, "width_px") >= 1 && number(data, "height_px") >= 1);
        demand(number(data, "px_per_mm") > 0 && number(data, "px_per_mm") < 100);
    }
    if (!json_is_null(data) && of == SW_PICTURE_SEAMS)
        demand(number(data, "strip_px") >= 1 && number(data, "strip_px") * SEAMS == number(data, "height_px"));
    json_decref(data);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    sw_seam seams[SEAMS];
    memset(seams, 0, sizeof seams);
    const sw_inspection inspection = {.seams = seams, .seam_count = SEAMS};
    scratch_begin();
    scratch_write("picture.jpg", data, size);
    look(SW_PICTURE_TABLE, &inspection);
    look(SW_PICTURE_SEAMS, &inspection);
    return 0;
}
