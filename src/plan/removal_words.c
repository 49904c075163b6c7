#include "plan/removal_words.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "inspection/names.h"
/* What comes off less than this is "nothing", mm: under what a hand can sand on purpose. */
static const double NOTHING_MM = 0.03;
/* An edge from which all along the same comes off, to this share or this many mm, is said so. */
static const double EVEN_SHARE = 0.2, EVEN_MM = 0.05;
/* A greatest place this near an edge's end, mm, is "at the end". */
static const double AT_END_MM = 20;
enum { ZONES_MOST = 4 };

/* A stretch where something comes off. */
typedef struct zone {
    double from, to, most, most_at, least;
} zone;

/* Where the straight line between two knots passes NOTHING_MM. */
static double crossing(const sw_removal *a, const sw_removal *b)
{
    double rise = b->remove_mm - a->remove_mm;
    return fabs(rise) > 0 ? a->at_mm + (b->at_mm - a->at_mm) * (NOTHING_MM - a->remove_mm) / rise : a->at_mm;
}

static int find_zones(const sw_edge_plan *edge, zone *zones)
{
    int n = 0;
    bool inside = false;
    const sw_removal *r = edge->true_up;
    for (size_t i = 0; i < edge->true_up_count; i++) {
        bool here = r[i].remove_mm > NOTHING_MM;
        if (here && !inside) {
            if (n == ZONES_MOST)
                break;
            zones[n++] = (zone){i ? crossing(&r[i - 1], &r[i]) : r[i].at_mm, r[i].at_mm, 0, r[i].at_mm, r[i].remove_mm};
        }
        zone *z = n ? &zones[n - 1] : NULL;
        if (here && z) {
            z->to = r[i].at_mm;
            z->least = fmin(z->least, r[i].remove_mm);
            if (r[i].remove_mm > z->most) {
                z->most = r[i].remove_mm;
                z->most_at = r[i].at_mm;
            }
        } else if (inside && z) {
            z->to = crossing(&r[i - 1], &r[i]);
            z->least = 0;
        }
        inside = here;
    }
    return n;
}

/* One decimal, two where one would say too little. */
static const char *amount(double mm, char *text, size_t room)
{
    snprintf(text, room, mm < 0.195 ? "%.2f mm" : "%.1f mm", mm);
    return text;
}

static void put(char *text, size_t room, const char *more)
{
    size_t used = strlen(text);
    snprintf(text + used, room - used, "%s", more);
}

static void say_whole(const sw_edge_plan *edge, const zone *z, char *text, size_t room)
{
    char most[24], least[24], part[200];
    const sw_removal *first = edge->true_up, *last = &edge->true_up[edge->true_up_count - 1];
    amount(z->most, most, sizeof most);
    amount(z->least, least, sizeof least);
    if (z->most - z->least <= fmax(EVEN_MM, EVEN_SHARE * z->most))
        snprintf(part, sizeof part, "take %s off all along", most);
    else if (z->most_at <= first->at_mm + AT_END_MM || z->most_at >= last->at_mm - AT_END_MM)
        snprintf(part, sizeof part, "take %s off at the %s, less and less to %s at the other end", most,
                 sw_end_name(edge->side, z->most_at > first->at_mm + AT_END_MM), least);
    else
        snprintf(part, sizeof part, "take %s off around %.0f mm, less and less towards both ends (%s at the least)",
                 most, z->most_at, least);
    put(text, room, part);
}

static void say_zone(const sw_edge_plan *edge, const zone *z, bool again, char *text, size_t room)
{
    char most[24], part[200];
    const char *take = again ? "" : "take ", *off = again ? "" : " off";
    double end = edge->true_up[edge->true_up_count - 1].at_mm;
    amount(z->most, most, sizeof most);
    if (z->from <= 0 && z->most_at <= AT_END_MM)
        snprintf(part, sizeof part, "%s%s%s at the %s, less and less to nothing at %.0f mm", take, most, off,
                 sw_end_name(edge->side, 0), z->to);
    else if (z->to >= end && z->most_at >= end - AT_END_MM)
        snprintf(part, sizeof part, "%s%s%s at the %s, less and less to nothing at %.0f mm", take, most, off,
                 sw_end_name(edge->side, 1), z->from);
    else
        snprintf(part, sizeof part, "%s%s%s around %.0f mm, less and less to nothing at %.0f and %.0f mm", take, most,
                 off, z->most_at, z->from, z->to);
    put(text, room, part);
}

void sw_removal_words(const sw_edge_plan *edge, char *text, size_t room)
{
    zone zones[ZONES_MOST];
    int n = edge->true_up_count > 1 ? find_zones(edge, zones) : 0;
    text[0] = '\0';
    if (!n) {
        put(text, room, "take nothing off");
        return;
    }
    double end = edge->true_up[edge->true_up_count - 1].at_mm;
    if (n == 1 && zones[0].from <= 0 && zones[0].to >= end && zones[0].least > 0) {
        say_whole(edge, &zones[0], text, room);
        return;
    }
    for (int i = 0; i < n; i++) {
        if (i)
            put(text, room, i == n - 1 ? ", and " : ", ");
        say_zone(edge, &zones[i], i > 0, text, room);
    }
    put(text, room, n == 1 ? ", nothing beyond" : "; nothing elsewhere");
}

void sw_removal_words_short(const sw_edge_plan *edge, char *text, size_t room)
{
    zone zones[ZONES_MOST];
    char most[24];
    int n = edge->true_up_count > 1 ? find_zones(edge, zones) : 0;
    if (!n) {
        snprintf(text, room, "nothing off");
        return;
    }
    double end = edge->true_up[edge->true_up_count - 1].at_mm, from = zones[0].from, to = zones[n - 1].to;
    const char *near = sw_end_name(edge->side, 0), *far = sw_end_name(edge->side, 1);
    amount(edge->deepest_mm, most, sizeof most);
    if (from <= 0 && to >= end)
        snprintf(text, room, "all along, at most %s off", most);
    else if (from <= 0)
        snprintf(text, room, "from its %s to %.0f mm, at most %s off", near, to, most);
    else if (to >= end)
        snprintf(text, room, "from %.0f mm to its %s, at most %s off", from, far, most);
    else
        snprintf(text, room, "%.0f to %.0f mm from its %s, at most %s off", from, to, near, most);
}
