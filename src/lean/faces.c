#include "lean/faces.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "push/lp.h"

/* An interval no wider than this is not worth a walk to the table, mm: a try square and a feeler gauge give 0.4, a face
 * that proves square 0.1. */
static const double KNOWN_TO_MM = 0.3;
/* Faces known equally well, mm. */
static const double ALIKE_MM = 0.05;

void sw_faces_free(sw_faces *faces)
{
    free(faces->least_mm);
    free(faces->most_mm);
    free(faces->known);
    free(faces->answered);
    free(faces->seams);
    memset(faces, 0, sizeof *faces);
}

/* How far a face leans at most that a tight seam or a try square tells of; 0 where there is none. */
static double likely(const sw_faces *faces, const sw_lean_equation *equations, size_t count)
{
    double most = 0;
    for (size_t i = 0; i < count; i++)
        for (int k = 0; !equations[i].loose && k < 2; k++)
            if (equations[i].edge[k] != SW_LEAN_ONE_FACE)
                most = fmax(most, faces->most_mm[equations[i].edge[k]]);
    return most;
}

/* Takes over the equations of two faces; those of one are in the leans. */
static void take(sw_faces *faces, sw_lean_equation *equations, size_t count, const sw_lean *leans, size_t lean_count)
{
    for (size_t i = 0; i < lean_count; i++) {
        size_t face = 4 * (size_t)leans[i].tile + (size_t)leans[i].side;
        faces->known[face] = true;
        faces->answered[face] = leans[i].answered;
        faces->least_mm[face] = leans[i].least_mm;
        faces->most_mm[face] = leans[i].most_mm;
    }
    faces->likely_mm = likely(faces, equations, count);
    for (size_t f = 0; f < faces->count; f++)
        if (!faces->known[f])
            faces->most_mm[f] = faces->likely_mm;
    for (size_t i = 0; i < count; i++)
        if (equations[i].edge[1] != SW_LEAN_ONE_FACE)
            equations[faces->seam_count++] = equations[i];
    faces->seams = equations;
}

sw_status sw_faces_make(const sw_lean_sources *from, sw_faces *faces, sw_error *err)
{
    size_t n = 4 * from->inspections[0].tile_count, count = 0, lean_count = 0;
    sw_lean_equation *equations = NULL;
    sw_lean *leans = NULL;
    *faces = (sw_faces){.count = n,
                        .least_mm = calloc(n + 1, sizeof(double)),
                        .most_mm = calloc(n + 1, sizeof(double)),
                        .known = calloc(n + 1, sizeof(bool)),
                        .answered = calloc(n + 1, sizeof(bool))};
    bool room = faces->least_mm && faces->most_mm && faces->known && faces->answered;
    sw_status status = room ? sw_lean_equations(from, &equations, &count, err) : sw_plan_no_memory(err);
    if (!status)
        status = sw_leans_make(equations, count, &leans, &lean_count, err);
    if (!status)
        take(faces, equations, count, leans, lean_count);
    else {
        free(equations);
        sw_faces_free(faces);
    }
    free(leans);
    return status;
}

static bool is_of(const sw_lean_equation *q, int a, int b)
{
    return (q->edge[0] == a && q->edge[1] == b) || (q->edge[0] == b && q->edge[1] == a);
}

sw_apart sw_faces_apart(const sw_faces *faces, int a, int b)
{
    sw_apart apart = {faces->least_mm[a] + faces->least_mm[b], faces->most_mm[a] + faces->most_mm[b]};
    for (size_t i = 0; i < faces->seam_count; i++) {
        const sw_lean_equation *q = &faces->seams[i];
        if (!is_of(q, a, b))
            continue;
        apart.most_mm = fmin(apart.most_mm, fmax(0, q->gap_mm + q->u95_mm));
        if (!q->loose)
            apart.least_mm = fmax(apart.least_mm, q->standoff_mm - q->u95_mm - SW_LEAN_TIGHT_MM);
    }
    apart.least_mm = fmin(apart.least_mm, apart.most_mm);
    return apart;
}

/* How much a try square would narrow what is known, mm. */
static double open_mm(const sw_faces *faces, int face)
{
    return faces->answered[face] ? 0 : faces->most_mm[face] - faces->least_mm[face];
}

static int seams_of(const sw_faces *faces, int face)
{
    int count = 0;
    for (size_t i = 0; i < faces->seam_count; i++)
        count += faces->seams[i].edge[0] == face || faces->seams[i].edge[1] == face;
    return count;
}

int sw_faces_ask(const sw_faces *faces, int a, int b)
{
    double one = open_mm(faces, a), other = open_mm(faces, b);
    if (fmax(one, other) <= KNOWN_TO_MM)
        return -1;
    if (fabs(one - other) > ALIKE_MM)
        return one > other ? a : b;
    return seams_of(faces, b) > seams_of(faces, a) ? b : a;
}
