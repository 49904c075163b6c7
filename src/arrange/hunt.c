/* hunt.c - the starts of a search and who does them.
 *
 * First comes the layout as it is, and beam searches, which find sheets that were cut apart. Then a few long annealings
 * on the plain sum of gaps and many short ones on sums of powers, which find tables whose widest gaps are small. Then
 * the best of all these are shaken and go downhill again, many times. All that is done with the fast judge; the best
 * layouts then go downhill with sw_settle as judge. Each start has its own chance and its own room, so threads change
 * nothing. */
#include "arrange/hunt.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "arrange/beam.h"

/* How much work, chosen so that 24 tiles take about half a minute and 9 a few seconds on two processors (DEVELOPERS.md
 * has the times). Steps grow with the number of places squared, as the number of swaps
 * does. */
enum { BEAM_STARTS = 3, LONG_STARTS = 3, SHORT_STARTS = 16, SHAKEN_STARTS = 4, LAST_STARTS = 6 };
enum {
    EARLY_STARTS = 1 + BEAM_STARTS,
    FIRST_STARTS = EARLY_STARTS + LONG_STARTS + SHORT_STARTS,
    ALL_STARTS = FIRST_STARTS + SHAKEN_STARTS + LAST_STARTS
};
/* Parts of the time, about. */
static const double EARLY_SHARE = 0.05, ANNEALED_SHARE = 0.6, SHAKEN_SHARE = 0.3, LAST_SHARE = 0.05;
/* A table whose widest gap shows as 0.00 mm cannot be bettered. */
static const double CLOSED_MM = 0.005;
/* Layouts whose scores are as near as that are taken as the same one, turned as a whole, mm. */
static const double ALIKE_MM = 1e-4;
static const double LONG_STEPS = 1200, SHORT_STEPS = 200, SHAKES = 12 * 24 * 24, MOST_STEPS = 4e6;
enum { LEAST_SHAKES = 10, MOST_SHAKES = 100 };
/* A shake does so many random swaps and turns at most. */
enum { SHAKE_DEEDS = 4 };
enum { MOST_THREADS = 8 };

/* One start and what came of it. */
typedef struct start {
    int beam;  /* power of a beam search; 0: none */
    int power; /* of annealing; 0: none */
    long steps;
    int shakes;
    int exact; /* go downhill with sw_judge */
    uint64_t seed;
    sw_place *places; /* where it begins, then what it found */
    sw_score score;   /* infinite: nothing found (yet) */
    size_t tried;
    sw_status status;
    sw_error err;
} start;

typedef struct crew {
    const sw_hunt *hunt;
    start *starts;
    int count;
    double done_before, share; /* of the whole search: what came before these starts, and what they are */
    atomic_int next, done;
} crew;

/* Fisher and Yates among the places that are not fixed. */
static void mix(const sw_puzzle *puzzle, uint64_t *chance, sw_place *places)
{
    for (int i = 0; i < puzzle->places; i++) {
        int j = (int)sw_chance(chance, (uint32_t)i + 1);
        uint32_t turns = sw_chance(chance, 4);
        if (puzzle->fixed[i])
            continue;
        places[i].turns = (int)turns;
        if (puzzle->fixed[j])
            continue; /* a little less than even, which does not matter */
        sw_place keep = places[i];
        places[i] = places[j];
        places[j] = keep;
    }
}

static void shake(const sw_puzzle *puzzle, uint64_t *chance, sw_place *places)
{
    int deeds = 2 + (int)sw_chance(chance, SHAKE_DEEDS - 1);
    for (int k = 0; k < deeds; k++) {
        int a = (int)sw_chance(chance, (uint32_t)puzzle->places), b = (int)sw_chance(chance, (uint32_t)puzzle->places);
        uint32_t turns = sw_chance(chance, 16);
        if (puzzle->fixed[a] || puzzle->fixed[b])
            continue;
        sw_place keep = places[a];
        places[a] = places[b];
        places[b] = keep;
        places[a].turns = (int)(turns & 3);
        places[b].turns = (int)(turns >> 2);
    }
}

/* Shakes the layout and goes downhill from there; what is better is kept and shaken next. */
static void shake_on(const sw_hunt *hunt, start *s)
{
    size_t size = (size_t)hunt->puzzle->places * sizeof *s->places;
    sw_place *trial = malloc(size + 1);
    if (!trial)
        s->status = sw_fail(&s->err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again");
    for (int k = 0; !s->status && k < s->shakes && !sw_deadline_over(&hunt->deadline); k++) {
        sw_score score;
        memcpy(trial, s->places, size);
        shake(hunt->puzzle, &s->seed, trial);
        s->status = sw_descend(hunt->puzzle, hunt->outlines, hunt->pitch_mm, 0, &hunt->deadline, trial, &score,
                               &s->tried, &s->err);
        if (!s->status && sw_score_better(&score, &s->score)) {
            s->score = score;
            memcpy(s->places, trial, size);
        }
    }
    free(trial);
}

/* Mean of what two edges leave at best: the gap annealing counts in. */
static double typical(const sw_pairs *pairs)
{
    size_t count = (size_t)pairs->edges * (size_t)(pairs->edges - 1) / 2, n = 0;
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        if (pairs->pairs[i].upper) {
            sum += pairs->pairs[i].zone_mm;
            n++;
        }
    return n && sum > 0 ? sum / (double)n : 1;
}

static void anneal(const sw_hunt *hunt, start *s)
{
    double *turns = calloc((size_t)hunt->puzzle->places + 1, sizeof *turns);
    sw_anneal how = {.steps = s->steps, .power = s->power, .typical_mm = typical(hunt->puzzle->pairs)};
    mix(hunt->puzzle, &s->seed, s->places);
    how.seed = s->seed;
    s->status = turns
                    ? sw_anneal_run(hunt->puzzle, &how, &hunt->deadline, s->places, turns, &s->err)
                    : sw_fail(&s->err, SW_NO_MEMORY, "not enough memory to search; close other programs and try again");
    s->tried += (size_t)s->steps;
    free(turns);
}

static void do_start(const sw_hunt *hunt, start *s)
{
    if (!s->exact && sw_deadline_over(&hunt->deadline))
        return;
    if (s->shakes) {
        shake_on(hunt, s);
        return;
    }
    if (s->beam)
        s->status = sw_beam_run(hunt->puzzle, s->beam, &hunt->deadline, s->places, &s->err);
    if (s->power)
        anneal(hunt, s);
    if (!s->status)
        s->status = sw_descend(hunt->puzzle, hunt->outlines, hunt->pitch_mm, s->exact, &hunt->deadline, s->places,
                               &s->score, &s->tried, &s->err);
}

static void work(crew *c, int tells)
{
    for (int i; (i = atomic_fetch_add(&c->next, 1)) < c->count;) {
        do_start(c->hunt, &c->starts[i]);
        int done = atomic_fetch_add(&c->done, 1) + 1;
        if (tells && c->hunt->progress)
            c->hunt->progress(c->hunt->context, "looking for a better arrangement",
                              c->done_before + c->share * done / c->count);
    }
}

static void *help(void *context)
{
    work(context, 0);
    return NULL;
}

/* Some starts, on all processors; the caller's thread works too. */
static void work_on(const sw_hunt *hunt, start *starts, int count, double done_before, double share)
{
    crew c = {.hunt = hunt, .starts = starts, .count = count, .done_before = done_before, .share = share};
    pthread_t helpers[MOST_THREADS];
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    int hired = 0;
    while (hired < processors - 1 && hired < MOST_THREADS && hired < count - 1 &&
           pthread_create(&helpers[hired], NULL, help, &c) == 0)
        hired++; /* where no thread is to be had the caller does it alone */
    work(&c, 1);
    while (hired > 0)
        pthread_join(helpers[--hired], NULL);
}

static int closed(const start *starts, int count)
{
    for (int i = 0; i < count; i++)
        if (starts[i].score.worst_mm < CLOSED_MM)
            return 1;
    return 0;
}

static int better_first(const void *a, const void *b)
{
    const start *one = *(const start *const *)a, *two = *(const start *const *)b;
    if (one->score.worst_mm != two->score.worst_mm)
        return one->score.worst_mm < two->score.worst_mm ? -1 : 1;
    if (one->score.sum_mm != two->score.sum_mm)
        return one->score.sum_mm < two->score.sum_mm ? -1 : 1;
    return one < two ? -1 : 1;
}

/* What the starts are to do. */
static void set_up(const sw_hunt *hunt, const sw_place *places, start *starts, sw_place *room)
{
    static const int powers[4] = {2, 4, 1, 8}, beams[BEAM_STARTS] = {1, 2, 4};
    size_t n = (size_t)hunt->puzzle->places;
    double swaps = (double)(n * n), shakes = fmin(fmax(SHAKES / swaps, LEAST_SHAKES), MOST_SHAKES);
    for (int i = 0; i < ALL_STARTS; i++) {
        start *s = &starts[i];
        int is_long = i < EARLY_STARTS + LONG_STARTS;
        s->seed = hunt->seed * 1000003u + (uint64_t)i;
        s->score = (sw_score){INFINITY, INFINITY};
        s->places = room + (size_t)i * n;
        memcpy(s->places, places, n * sizeof *places);
        s->exact = i >= FIRST_STARTS + SHAKEN_STARTS;
        if (!s->exact && i >= FIRST_STARTS)
            s->shakes = (int)shakes;
        else if (!s->exact && i < EARLY_STARTS)
            s->beam = i ? beams[i - 1] : 0;
        else if (!s->exact) {
            s->power = is_long ? 1 : powers[i % 4];
            s->steps = (long)fmin(MOST_STEPS, (is_long ? LONG_STEPS : SHORT_STEPS) * swaps);
        }
    }
}

/* `to` begin at the best layouts that `from` found, no two alike; what they do not need stays as it was. */
static void pass_on(const sw_hunt *hunt, start *from, int from_count, start *to, int count)
{
    size_t size = (size_t)hunt->puzzle->places * sizeof(sw_place);
    start *order[ALL_STARTS];
    int taken = 0;
    for (int i = 0; i < from_count; i++)
        order[i] = &from[i];
    qsort(order, (size_t)from_count, sizeof *order, better_first);
    for (int i = 0; i < from_count && taken < count; i++) {
        int same = i > 0 && fabs(order[i]->score.worst_mm - order[i - 1]->score.worst_mm) < ALIKE_MM &&
                   fabs(order[i]->score.sum_mm - order[i - 1]->score.sum_mm) < ALIKE_MM;
        if (same || !isfinite(order[i]->score.worst_mm))
            continue;
        to[taken].score = order[i]->score;
        memcpy(to[taken++].places, order[i]->places, size);
    }
    for (int i = taken; taken && i < count; i++) {
        to[i].score = to[i % taken].score;
        memcpy(to[i].places, to[i % taken].places, size);
    }
}

/* The best of the last starts, which sw_settle judged. */
static sw_status gather(const sw_hunt *hunt, const start *starts, sw_place *places, sw_score *score, size_t *tried,
                        sw_error *err)
{
    for (int i = 0; i < ALL_STARTS; i++) {
        if (starts[i].status)
            return sw_fail(err, starts[i].status, "%s", starts[i].err.text);
        *tried += starts[i].tried;
        if (!starts[i].exact || !sw_score_better(&starts[i].score, score))
            continue;
        *score = starts[i].score;
        memcpy(places, starts[i].places, (size_t)hunt->puzzle->places * sizeof *places);
    }
    return SW_OK;
}

sw_status sw_hunt_run(const sw_hunt *hunt, sw_place *places, sw_score *score, size_t *tried, int *cut_short,
                      sw_error *err)
{
    start *starts = calloc(ALL_STARTS, sizeof *starts), *shaken, *last;
    sw_place *room = calloc(ALL_STARTS * (size_t)hunt->puzzle->places + 1, sizeof *room);
    sw_status status = SW_NO_MEMORY;
    if (!starts || !room) {
        sw_fail(err, status, "not enough memory to search; close other programs and try again");
        goto done;
    }
    shaken = starts + FIRST_STARTS;
    last = shaken + SHAKEN_STARTS;
    set_up(hunt, places, starts, room);
    work_on(hunt, starts, EARLY_STARTS, 0, EARLY_SHARE);
    if (!closed(starts, EARLY_STARTS)) {
        work_on(hunt, starts + EARLY_STARTS, LONG_STARTS + SHORT_STARTS, EARLY_SHARE, ANNEALED_SHARE);
        pass_on(hunt, starts, FIRST_STARTS, shaken, SHAKEN_STARTS);
        work_on(hunt, shaken, SHAKEN_STARTS, EARLY_SHARE + ANNEALED_SHARE, SHAKEN_SHARE);
    }
    pass_on(hunt, starts, FIRST_STARTS + SHAKEN_STARTS, last, LAST_STARTS);
    work_on(hunt, last, LAST_STARTS, 1 - LAST_SHARE, LAST_SHARE);
    *cut_short = sw_deadline_over(&hunt->deadline);
    status = gather(hunt, starts, places, score, tried, err);
done:
    free(starts);
    free(room);
    return status;
}
