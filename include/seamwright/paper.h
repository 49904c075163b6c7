/* paper.h - sheets to print on. */
#ifndef SEAMWRIGHT_PAPER_H
#define SEAMWRIGHT_PAPER_H

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct sw_paper {
    const char *name;
    double width_mm, height_mm; /* upright */
} sw_paper;

/* "a4" or "letter", in any case. SW_BAD_INPUT for any other; *paper is A4 then. */
SW_API sw_status sw_paper_named(const char *name, sw_paper *paper, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
