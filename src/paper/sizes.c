#include <strings.h>

#include "seamwright/paper.h"

/* ISO 216 A4 and US letter (8.5 x 11 inches). */
static const sw_paper PAPERS[] = {{"A4", 210.0, 297.0}, {"letter", 215.9, 279.4}};

sw_status sw_paper_named(const char *name, sw_paper *paper, sw_error *err)
{
    for (size_t i = 0; i < sizeof PAPERS / sizeof PAPERS[0]; i++) {
        *paper = PAPERS[i];
        if (strcasecmp(name, paper->name) == 0)
            return SW_OK;
    }
    *paper = PAPERS[0];
    return sw_fail(err, SW_BAD_INPUT, "the paper must be a4 or letter");
}
