/* json.c - inspection.json written and read: everything measured, in the shape scripts rely on (see json_fields.c). */
#include <string.h>

#include "files/formats.h"
#include "report/inspection/json_own.h"
#include "report/inspection/read.h"
#include "seamwright/report.h"

/* An inspection of 3 x 3 at 1 mm takes half a megabyte; a hundred times that is a table nobody photographs. Beyond it
 * the file is something else, and is not read to its end: as a tree in memory it would take ten times its size. */
static const sw_json_kind KIND = {.what = "inspection",
                                  .no = "not an inspection",
                                  .file = "inspection.json",
                                  .command = "inspect",
                                  .format = SW_FORMAT_INSPECTION,
                                  .most_bytes = (size_t)64 << 20,
                                  .fields = &sw_inspection_fields};

sw_status sw_report_json(const sw_inspection *inspection, const char *path, sw_error *err)
{
    return sw_json_write(SW_FORMAT_INSPECTION, &sw_inspection_fields, inspection, &inspection, path, err);
}

sw_status sw_inspection_parse(const char *text, size_t length, const char *path, sw_inspection *ins, sw_error *err)
{
    const sw_inspection *names = ins;
    memset(ins, 0, sizeof *ins);
    sw_status status = sw_json_parse(text, length, path, &KIND, &names, ins, err);
    if (status)
        sw_inspection_free(ins);
    return status;
}

sw_status sw_inspection_read(const char *path, sw_inspection *ins, sw_error *err)
{
    const sw_inspection *names = ins;
    memset(ins, 0, sizeof *ins);
    sw_status status = sw_json_read(path, &KIND, &names, ins, err);
    if (status)
        sw_inspection_free(ins);
    return status;
}
