/* hunt.c - the starts of a search and who does them.
 *
 * First come the layout as it is, and beam searches, which find sheets that were cut apart; each goes downhill. Unless
 * the table then closes, the best of these are shaken and go downhill again, many times. All that is done with the fast
 * judge; sw_settle judges the best. Each start has its own chance and its own room, so threads change nothing. */
#include "arrange/hunt.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "arrange/beam.h"
#include "arrange/pushed.h"

/* How much work, chosen so that 24 tiles take about half a minute and 9 a few seconds on two processors (README.md has
 * the times). A descent takes longer by the number of places squared, as there are so many swaps. */
enum { FIRST_STARTS = 4, SHAKEN_STARTS = 16, ALL_STARTS = FIRST_STARTS + SHAKEN_STARTS, JUDGED_MOST = ALL_STARTS };
static const double SHAKES = 36 * 24 * 24;
enum { LEAST_SHAKES = 10, MOST_SHAKES = 100 };
/* Part of the time that the first starts take, about. */
static const double FIRST_SHARE = 0.1;
/* A table whose widest gap shows as 0.00 mm cannot be bettered. */
static const double CLOSED_MM = 0.005;
/* Layouts whose scores are as near as that are taken as the same one, turned as a whole, mm. */
static const double ALIKE_MM = 1e-4;
/* A shake does so many random swaps and turns at most. */
enum { SHAKE_DEEDS = 4 };
enum { MOST_THREADS = 8 };

/* One start and what came of it. */
typedef struct start {
    int beam; /* power of a beam search; 0: none */
    int shakes;
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

sw_status sw_hunt_judge(const sw_hunt *hunt, const sw_place *places, sw_score *score, sw_error *err)
{
    sw_pushed pushed;
    sw_status status = sw_pushed_make(hunt->puzzle, places, hunt->outlines, hunt->pitch_mm, &pushed, err);
    if (status)
        return status;
    *score = (sw_score){0, 0};
    for (size_t j = 0; j < pushed.count; j++) {
        double apart_mm = (double)sw_puzzle_pair(hunt->puzzle, places, (int)j, &(int){0})->apart_mm;
        double max_mm = isfinite(pushed.max_mm[j]) ? pushed.max_mm[j] + apart_mm : hunt->puzzle->pairs->unknown_mm;
        score->worst_mm = fmax(score->worst_mm, max_mm);
        score->sum_mm += max_mm;
    }
    sw_pushed_free(&pushed);
    return SW_OK;
}

/* A number from 0 up to but not including `below`: splitmix64 (Steele, Lea and Flood 2014). */
static int chance(uint64_t *state, int below)
{
    uint64_t z = *state += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    z ^= z >> 31;
    return (int)(((z >> 32) * (uint64_t)below) >> 32);
}

static void shake(const sw_puzzle *puzzle, uint64_t *state, sw_place *places)
{
    int deeds = 2 + chance(state, SHAKE_DEEDS - 1);
    for (int k = 0; k < deeds; k++) {
        int a = chance(state, puzzle->places), b = chance(state, puzzle->places), turns = chance(state, 16);
        if (puzzle->fixed[a] || puzzle->fixed[b])
            continue;
        sw_place was = places[a];
        places[a] = (sw_place){places[b].tile, turns & 3};
        places[b] = (sw_place){was.tile, a == b ? turns & 3 : turns >> 2};
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
        s->status = sw_descend(hunt->puzzle, &hunt->deadline, trial, &score, &s->tried, &s->err);
        if (!s->status && sw_score_better(&score, &s->score)) {
            s->score = score;
            memcpy(s->places, trial, size);
        }
    }
    free(trial);
}

static void do_start(const sw_hunt *hunt, start *s)
{
    if (s->shakes) {
        shake_on(hunt, s);
        return;
    }
    if (s->beam)
        s->status = sw_beam_run(hunt->puzzle, s->beam, &hunt->deadline, s->places, &s->err);
    if (!s->status)
        s->status = sw_descend(hunt->puzzle, &hunt->deadline, s->places, &s->score, &s->tried, &s->err);
}

static void work(crew *c, bool tells)
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
    work(context, false);
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
    work(&c, true);
    while (hired > 0)
        pthread_join(helpers[--hired], NULL);
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

/* The starts that found the best layouts, best first, no two alike; how many. */
static int pick(start *starts, int count, start *best[ALL_STARTS])
{
    int n = 0;
    for (int i = 0; i < count; i++)
        best[i] = &starts[i];
    qsort(best, (size_t)count, sizeof *best, better_first);
    for (int i = 0; i < count; i++)
        if (!n || fabs(best[i]->score.worst_mm - best[n - 1]->score.worst_mm) >= ALIKE_MM ||
            fabs(best[i]->score.sum_mm - best[n - 1]->score.sum_mm) >= ALIKE_MM)
            best[n++] = best[i];
    return n;
}

static void set_up(const sw_hunt *hunt, const sw_place *places, start *starts, sw_place *room)
{
    static const int beams[FIRST_STARTS] = {0, 1, 2, 4};
    size_t n = (size_t)hunt->puzzle->places;
    for (int i = 0; i < ALL_STARTS; i++) {
        start *s = &starts[i];
        *s = (start){.seed = hunt->seed * 1000003u + (uint64_t)i, .score = {INFINITY, INFINITY}};
        s->places = room + (size_t)i * n;
        memcpy(s->places, places, n * sizeof *places);
        if (i < FIRST_STARTS)
            s->beam = beams[i];
        else
            s->shakes = (int)fmin(fmax(SHAKES / (double)(n * n), LEAST_SHAKES), MOST_SHAKES);
    }
}

/* The shaken starts begin at the best layouts that the first ones found. */
static void pass_on(const sw_hunt *hunt, start *starts, start *shaken)
{
    start *best[ALL_STARTS];
    int count = pick(starts, FIRST_STARTS, best);
    for (int i = 0; i < SHAKEN_STARTS; i++) {
        shaken[i].score = best[i % count]->score;
        memcpy(shaken[i].places, best[i % count]->places, (size_t)hunt->puzzle->places * sizeof *shaken[i].places);
    }
}

/* The best layout, by an ordinary push. */
static sw_status gather(const sw_hunt *hunt, start *starts, sw_place *places, sw_score *score, size_t *tried,
                        sw_error *err)
{
    start *best[ALL_STARTS];
    for (int i = 0; i < ALL_STARTS; i++) {
        if (starts[i].status)
            return sw_fail(err, starts[i].status, "%s", starts[i].err.text);
        *tried += starts[i].tried;
    }
    int count = pick(starts, ALL_STARTS, best);
    for (int i = 0; i < count && i < JUDGED_MOST; i++) {
        sw_score judged;
        sw_status status = sw_hunt_judge(hunt, best[i]->places, &judged, err);
        if (status)
            return status;
        if (!sw_score_better(&judged, score))
            continue;
        *score = judged;
        memcpy(places, best[i]->places, (size_t)hunt->puzzle->places * sizeof *places);
    }
    return SW_OK;
}

sw_status sw_hunt_run(const sw_hunt *hunt, sw_place *places, sw_score *score, size_t *tried, bool *cut_short,
                      sw_error *err)
{
    start *starts = calloc(ALL_STARTS, sizeof *starts);
    sw_place *room = calloc(ALL_STARTS * (size_t)hunt->puzzle->places + 1, sizeof *room);
    sw_status status = SW_NO_MEMORY;
    if (starts && room) {
        bool closed = false;
        set_up(hunt, places, starts, room);
        work_on(hunt, starts, FIRST_STARTS, 0, FIRST_SHARE);
        for (int i = 0; i < FIRST_STARTS; i++)
            closed |= starts[i].score.worst_mm < CLOSED_MM;
        if (!closed && !hunt->brief) {
            pass_on(hunt, starts, starts + FIRST_STARTS);
            work_on(hunt, starts + FIRST_STARTS, SHAKEN_STARTS, FIRST_SHARE, 1 - FIRST_SHARE);
        }
        *cut_short = sw_deadline_over(&hunt->deadline);
        status = gather(hunt, starts, places, score, tried, err);
    } else
        sw_fail(err, status, "not enough memory to search; close other programs and try again");
    free(starts);
    free(room);
    return status;
}
