/* guard.h - the verdicts' guard band, for decisions about sanding. */
#ifndef SW_PUSH_GUARD_H
#define SW_PUSH_GUARD_H

/* In parts of U = 2 u: 1.645 / 2 (JCGM 106, ISO 14253-1, one-sided 95 %; as in src/seam/verdict.c). */
static const double SW_GUARD = 0.8224;

#endif
