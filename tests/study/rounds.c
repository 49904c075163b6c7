/* rounds.c - the whole chain judged by its end: made-up tables inspected with errors as in photos, planned, the plan
 * carried out on the true outlines, the tiles pushed by the tests' own solver, inspected again, and so on. See
 * tests/study/README.md and tests/support/made/rounds.h. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/made/rounds.h"

static const double LIMIT_MM = 0.5;
/* Seams are counted that are over by more than that, mm; what of them is accepted after one round, and after two. */
static const double BY_MM = 0.05, ONE_ROUND = 0.05;
/* Forecasts hold so many of the outcomes. */
static const double HOLDS_LEAST = 0.90, HOLDS_MOST = 0.99;
/* Area taken off, over the least. */
static const double AREA_MOST = 1.25;
/* Between knots of the least removal, mm: as a plan's, and finer than a sanding block follows. */
static const double KNOT_MM = 25, FINE_KNOT_MM = 10;

/* Shares of less are not told, mm2. */
static const double LITTLE_MM2 = 1;
/* What the judge may leave of overlaps before it says so, mm. */
static const double OVERLAP_MM = 0.01;

static const struct {
    int columns, rows, leans, rough;
    uint32_t seed;
} TABLES[] = {{3, 3, 0, 0, 201}, {3, 3, 1, 0, 202}, {3, 3, 0, 1, 203}, {3, 3, 1, 1, 204}, {2, 4, 0, 0, 205},
              {2, 4, 1, 1, 206}, {4, 4, 0, 1, 207}, {4, 4, 1, 0, 208}, {3, 3, 0, 0, 209}, {3, 3, 1, 0, 210},
              {3, 3, 0, 1, 211}, {3, 3, 1, 1, 212}, {6, 6, 0, 0, 213}, {6, 6, 1, 0, 214}, {3, 3, 0, 1, 215},
              {3, 3, 1, 1, 216}, {2, 4, 0, 1, 217}, {4, 4, 1, 1, 218}, {3, 3, 0, 0, 219}, {3, 3, 1, 0, 220}};
enum { TABLE_COUNT = sizeof TABLES / sizeof *TABLES };

static const char *const WAYS[] = {"ordinary", "from a corner"};

/* What might have come off instead, mm2; see rounds.h. */
typedef struct leasts {
    double limit, finer, came, knowing;
    int knowing_over;
} leasts;

/* What is added up over tables. */
typedef struct sums {
    int tables, seams, over[ROUNDS_PLANS], by[ROUNDS_PLANS];
    double widest[ROUNDS_PLANS];
    int forecasts[ROUNDS_CARRIED], held[ROUNDS_CARRIED], within[ROUNDS_CARRIED], untrue[ROUNDS_CARRIED],
        untrue_by[ROUNDS_CARRIED], below[ROUNDS_CARRIED];
    int fits[ROUNDS_PLANS], lines[ROUNDS_PLANS], asked_over[ROUNDS_PLANS], lines_within[ROUNDS_PLANS],
        small[ROUNDS_PLANS], third_asks, more_lines, listed, unsolved;
    double slowest;
    double area;
    leasts least;
} sums;

typedef struct wishes {
    int from, to, seams, quiet, answers, apart, knowing;
} wishes;

static made_quality quality_of(int k)
{
    made_quality q = made_by_volunteers;
    q.chips = 0.2;
    q.lean_mm = TABLES[k].leans ? 3 : 0;
    if (TABLES[k].rough) {
        q.slope *= 1.6;
        q.bow_mm *= 1.6;
        q.wave_mm *= 1.5;
    }
    return q;
}

static void add_round(const rounds_loop *loop, int round, sums *s)
{
    const rounds_plan *p = &loop->plans[round];
    s->fits[round] += p->fits;
    s->lines[round] += p->lines;
    s->asked_over[round] += p->over;
    s->lines_within[round] += p->lines_within;
    s->small[round] += p->small;
    s->slowest = fmax(s->slowest, p->seconds);
    s->more_lines += p->listed && p->lines > p->over;
    s->listed += p->listed;
    for (int j = 0; round < ROUNDS_CARRIED && j < loop->seam_count; j++) {
        const rounds_seam *seam = &p->seams[j];
        double off = seam->came_mm - seam->forecast_mm;
        s->forecasts[round]++;
        s->held[round] += fabs(off) <= seam->forecast_u95_mm;
        s->below[round] += off < -seam->forecast_u95_mm;
        if (seam->forecast != SW_WITHIN)
            continue;
        s->within[round]++;
        s->untrue[round] += seam->came_mm > loop->tolerance_mm;
        s->untrue_by[round] += seam->came_mm > loop->tolerance_mm + BY_MM;
    }
}

static void add_loop(const rounds_loop *loop, const leasts *least, sums *s)
{
    s->tables++;
    s->seams += loop->seam_count;
    for (int r = 0; r < ROUNDS_PLANS; r++) {
        s->over[r] += rounds_over(loop, r, 0);
        s->by[r] += rounds_over(loop, r, BY_MM);
        s->widest[r] = fmax(s->widest[r], rounds_widest(loop, r));
        add_round(loop, r, s);
    }
    s->third_asks += loop->plans[ROUNDS_PLANS - 1].true_ups + loop->plans[ROUNDS_PLANS - 1].bevels > 0;
    s->unsolved += loop->gave_up;
    s->area += rounds_area(loop);
    s->least.limit += least->limit;
    s->least.finer += least->finer;
    s->least.came += least->came;
    s->least.knowing += least->knowing;
    s->least.knowing_over += least->knowing_over;
}

static void print_share(const char *what, double part, double whole)
{
    printf("%s %.0f of %.0f", what, part, whole);
    if (whole > 0)
        printf(" (%.1f %%)", 100 * part / whole);
}

static void print_area(const char *what, double area, double least)
{
    printf("; %s %.0f", what, least);
    if (least >= LITTLE_MM2)
        printf(" (%+.0f %%)", 100 * (area / least - 1));
}

static void print_areas(double area, const leasts *least)
{
    printf("    off %.0f mm2", area);
    print_area("least so that all can lie within", area, least->limit);
    print_area("so that all can lie as they came", area, least->came);
    if (least->knowing > 0) {
        print_area("within by finer knots", area, least->finer);
        print_area("by one who knows the outlines", area, least->knowing);
        printf(", %d seams over then", least->knowing_over);
    }
    puts("");
}

/* One way of pushing, of one table or of all. */
static void print_sums(const sums *s)
{
    printf("    seams over %d -> %d -> %d of %d; by more than %.2f mm %d -> %d -> %d; widest %.2f -> %.2f -> %.2f\n",
           s->over[0], s->over[1], s->over[2], s->seams, BY_MM, s->by[0], s->by[1], s->by[2], s->widest[0],
           s->widest[1], s->widest[2]);
    for (int r = 0; r < ROUNDS_CARRIED; r++) {
        printf("    round %d: plans that fit %d;", r + 1, s->fits[r]);
        print_share(" forecasts that hold", s->held[r], s->forecasts[r]);
        printf(", %d came out better;", s->below[r]);
        print_share(" said to be within but over", s->untrue[r], s->within[r]);
        printf(", by more than %.2f: %d\n", BY_MM, s->untrue_by[r]);
    }
    for (int r = 0; r < ROUNDS_PLANS; r++)
        printf("    plan %d: %d lines for %d seams over; %d at seams within, %d under %.1f mm\n", r + 1, s->lines[r],
               s->asked_over[r], s->lines_within[r], s->small[r], ROUNDS_SMALL_MM);
    printf("    slowest plan %.2f s of processor time", s->slowest);
    printf(s->unsolved ? "; %d pushes THAT THE JUDGE DID NOT SOLVE\n" : "\n", s->unsolved);
    printf("    third plan asks something: %d of %d tables\n", s->third_asks, s->tables);
    print_areas(s->area, &s->least);
}

static void print_plans(const rounds_loop *loop)
{
    for (int r = 0; r < ROUNDS_PLANS; r++) {
        const rounds_plan *p = &loop->plans[r];
        printf("    plan %d: %d true-ups to %.2f mm, %.0f mm2, %d bevels; %.2f s", r + 1, p->true_ups, p->deepest_mm,
               p->asked_mm2, p->bevels, p->seconds);
        double most = 0;
        for (int j = 0; j < loop->seam_count; j++)
            most = fmax(most, p->seams[j].forecast_mm);
        printf("; widest seam promised %.2f\n", most);
    }
    if (loop->gave_up || loop->overlap_mm > OVERLAP_MM)
        printf("    THE JUDGE: %d pushes unsolved, tiles overlap by %.3f mm\n", loop->gave_up, loop->overlap_mm);
}

static void print_seam(const rounds_seam *s, double other_mm)
{
    printf("      %-7s %6.2f %-17s -> %5.2f ± %4.2f %-17s came %5.2f (pushed the other way %5.2f)%s%s\n", s->name,
           s->seen_mm, sw_verdict_name(s->seen), s->forecast_mm, s->forecast_u95_mm, sw_verdict_name(s->forecast),
           s->came_mm, other_mm, fabs(s->came_mm - s->forecast_mm) <= s->forecast_u95_mm ? "" : " NOT HELD",
           s->lines ? " *" : "");
}

/* The first round's plan is the same whichever way the tiles are pushed afterwards. */
static void print_seams(const rounds_loop *loop, const rounds_loop *other)
{
    for (int r = 0; r < ROUNDS_CARRIED; r++) {
        printf("     round %d\n", r + 1);
        for (int j = 0; j < loop->seam_count; j++)
            print_seam(&loop->plans[r].seams[j], r ? NAN : other->plans[r].seams[j].came_mm);
    }
}

static void print_table(int k, const rounds_loop loop[ROUNDS_WAYS], const sums one[ROUNDS_WAYS], const wishes *w)
{
    printf("table %d: %dx%d%s%s\n", k + 1, TABLES[k].columns, TABLES[k].rows, TABLES[k].leans ? ", leans" : "",
           TABLES[k].rough ? ", rough" : "");
    for (int way = 0; way < ROUNDS_WAYS; way++) {
        printf("  %s\n", WAYS[way]);
        print_sums(&one[way]);
        print_plans(&loop[way]);
        if (w->seams)
            print_seams(&loop[way], &loop[!way]);
    }
    fflush(stdout);
}

static void study_table(int k, const wishes *w, sums all[ROUNDS_WAYS])
{
    made_quality quality = quality_of(k);
    made_table table = rounds_table(TABLES[k].columns, TABLES[k].rows, &quality, TABLES[k].seed);
    rounds_loop loop[ROUNDS_WAYS];
    sums one[ROUNDS_WAYS] = {{0}};
    for (int way = 0; way < ROUNDS_WAYS; way++) {
        rounds_rules rules = {(rounds_way)way, LIMIT_MM, made_as_photos, TABLES[k].seed, w->answers, w->apart};
        rounds_run(&table, &rules, &loop[way]);
        leasts least = {.limit = rounds_least(&loop[way], ROUNDS_LIMIT, KNOT_MM),
                        .came = rounds_least(&loop[way], ROUNDS_CAME, KNOT_MM)};
        if (w->knowing) {
            least.finer = rounds_least(&loop[way], ROUNDS_LIMIT, FINE_KNOT_MM);
            least.knowing = rounds_knowing(&loop[way], (rounds_way)way, BY_MM, &least.knowing_over);
        }
        add_loop(&loop[way], &least, &one[way]);
        add_loop(&loop[way], &least, &all[way]);
    }
    if (!w->quiet)
        print_table(k, loop, one, w);
    for (int way = 0; way < ROUNDS_WAYS; way++)
        rounds_free(&loop[way]);
    made_free(&table);
}

/* ---- what is asked ---- */

static int say(const char *what, int kept, double figure, const char *unit)
{
    printf("  %s %s: %.1f%s\n", kept ? "kept    " : "NOT KEPT", what, figure, unit);
    return !kept;
}

static int hold_against(const sums *s)
{
    double after_one = (double)s->by[1] / s->seams;
    double holds = (double)(s->held[0] + s->held[1]) / (s->forecasts[0] + s->forecasts[1]);
    int missed =
        say("over by more than 0.05 mm after one round, at most 5 %", after_one <= ONE_ROUND, 100 * after_one, " %");
    missed += say("after two rounds, none", s->by[2] == 0, s->by[2], " seams");
    missed += say("a third plan that asks something, none", s->third_asks == 0, s->third_asks, " tables");
    missed += say("forecasts that hold, 90 to 99 %", holds >= HOLDS_LEAST && holds <= HOLDS_MOST, 100 * holds, " %");
    missed += say("area over the least for the same outcome, at most 25 %", s->area <= AREA_MOST * s->least.limit,
                  100 * (s->area / s->least.limit - 1), " %");
    if (!s->listed)
        return missed + say("plans have a list of work", 0, s->listed, " plans");
    missed += say("plans with more lines than seams over, none", s->more_lines == 0, s->more_lines, " plans");
    missed += say("lines at seams that are within, none", !(s->lines_within[0] + s->lines_within[1]),
                  s->lines_within[0] + s->lines_within[1], " lines");
    return missed;
}

static int usage(void)
{
    fprintf(stderr,
            "usage: study_rounds [--tables FROM-TO] [--seams] [--quiet] [--answers] [--knowing] [--no-corners]   "
            "(tables 1 to %d)\n",
            TABLE_COUNT);
    return 2;
}

static int read_wishes(int argc, char **argv, wishes *w)
{
    *w = (wishes){.from = 1, .to = TABLE_COUNT, .apart = 1};
    for (int i = 1; i < argc; i++) {
        if (!strcmp(argv[i], "--seams"))
            w->seams = 1;
        else if (!strcmp(argv[i], "--quiet"))
            w->quiet = 1;
        else if (!strcmp(argv[i], "--answers"))
            w->answers = 1;
        else if (!strcmp(argv[i], "--knowing"))
            w->knowing = 1;
        else if (!strcmp(argv[i], "--no-corners"))
            w->apart = 0;
        else if (!strcmp(argv[i], "--tables") && i + 1 < argc) {
            char *rest;
            w->from = w->to = (int)strtol(argv[++i], &rest, 10);
            if (*rest == '-')
                w->to = (int)strtol(rest + 1, &rest, 10);
            if (*rest || w->from < 1 || w->to > TABLE_COUNT || w->from > w->to)
                return -1;
        } else
            return -1;
    }
    return 0;
}

int main(int argc, char **argv)
{
    wishes w;
    sums all[ROUNDS_WAYS] = {{0}};
    int missed = 0;
    if (read_wishes(argc, argv, &w))
        return usage();
    for (int k = w.from - 1; k < w.to; k++)
        study_table(k, &w, all);
    for (int way = 0; way < ROUNDS_WAYS; way++) {
        printf("all %d tables, pushed %s\n", all[way].tables, WAYS[way]);
        print_sums(&all[way]);
        missed += hold_against(&all[way]);
    }
    return missed > 0;
}
