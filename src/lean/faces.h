/* faces.h - how far any two faces of a set of tiles may hold each other's tops apart, in whatever arrangement. */
#ifndef SW_LEAN_FACES_H
#define SW_LEAN_FACES_H

#include "lean/leans.h"

/* Face 4 x tile + side, tile and side as in the first inspection. Free with sw_faces_free. */
typedef struct sw_faces {
    size_t count;
    double *least_mm, *most_mm; /* how far each leans; one that nothing is known of: from 0 to likely_mm */
    bool *known, *answered;     /* told of by a seam or a try square; by a try square */
    double likely_mm;        /* the most that a face may lean that a tight seam or a try square tells of: tiles of one
                                   set are cut alike */
    sw_lean_equation *seams; /* pairs that met in an inspection */
    size_t seam_count;
} sw_faces;

void sw_faces_free(sw_faces *faces);
/* SW_NO_MEMORY, SW_BROKEN. *faces is zeroed on failure. */
sw_status sw_faces_make(const sw_lean_sources *from, sw_faces *faces, sw_error *err);

/* How far two faces that meet hold their tops apart, pushed together: least and most. Of two that met in an inspection
 * their seam tells more than each alone. */
typedef struct sw_apart {
    double least_mm, most_mm;
} sw_apart;

sw_apart sw_faces_apart(const sw_faces *faces, int a, int b);

/* Which of two facing faces is most worth a touch with the try square: the one known worse; of two alike the one that
 * more seams tell of, as its answer tells of more others. -1: neither would become surer. */
int sw_faces_ask(const sw_faces *faces, int a, int b);

#endif
