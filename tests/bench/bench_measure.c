/* Time of each step from a trace in memory to its verdict; with a reference pulse and without.
 * `make bench` prints it, in microseconds and over the two bare transforms that no filter can do
 * without, which tells more on a machine that others use too. Clean: sound walls of 3 mm at 40 dB.
 * Doubtful: gaps, bonded layers, a thin wall. An argument names the one step to take. */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <fftw3.h>

#include <plyecho/stacks.h>
#include <plyecho/verdict.h>

#include "doubts.h"
#include "evidence.h"
#include "stacks.h"

#include "../unit/made_trace.h"

enum {
    ROUNDS = 1000,
    MIXED = 100,  /* a tube's traces */
    DOUBTFUL = 5, /* of them */
    LENGTH = 2304 /* of the transforms that the pulse's band leads to */
};

/* What the steps work on: one trace at a time. */
struct work {
    struct plyecho_traces set[MIXED]; /* the first DOUBTFUL are doubtful */
    struct plyecho_trace raw;
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned trace;
    struct plyecho_picks picks;
    struct pe_evidence evidence;
    struct plyecho_assessment assessment;
    struct plyecho_assess_options options;
    float *real;
    fftwf_complex *bins, *signal;
    fftwf_plan forward, back;
    const char *only; /* the one step to take; NULL: all */
};

static double now_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e6 + (double)t.tv_nsec * 1e-3;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void must(enum plyecho_code code, const struct plyecho_error *err)
{
    if (code == PLYECHO_OK)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(EXIT_FAILURE);
}

/* ---- the steps ---- */

static void transform(struct work *w)
{
    fftwf_execute(w->forward);
    fftwf_execute(w->back);
}

static void condition(struct work *w)
{
    struct plyecho_error err;
    must(plyecho_conditioner_run(w->conditioner, &w->raw, &w->trace, &err), &err);
}

static void find_echoes(struct work *w)
{
    plyecho_echoes_find(&w->trace, NULL, w->picks.echoes, PLYECHO_PICKED_ECHOES);
}

static void pick(struct work *w)
{
    plyecho_wall_pick(&w->trace, &w->options.wall, &w->picks);
}

static void measure(struct work *w)
{
    struct plyecho_thickness thickness;
    plyecho_wall_measure(&w->trace, &w->raw, &w->options.wall, &w->picks, &thickness);
}

static void take_evidence(struct work *w)
{
    pe_evidence_take(&w->trace, &w->raw, &w->options, &w->evidence);
}

static void fit_stacks(struct work *w)
{
    struct pe_conclusion conclusion;
    pe_stacks_conclude(w->options.stacks, &w->trace, &w->options, &w->evidence, 0.0,
                       &conclusion);
}

static void doubt(struct work *w)
{
    struct plyecho_assessment assessment = {.verdict = PLYECHO_NO_INDICATION};
    pe_doubt(&w->trace, &w->raw, &w->options, &w->evidence, &assessment);
}

static void assess(struct work *w)
{
    plyecho_assess(&w->trace, &w->raw, &w->options, &w->assessment);
}

static void judge(struct work *w)
{
    condition(w);
    assess(w);
}

/* ---- their time ---- */

struct times {
    double sum[ROUNDS];
    double median, least;
};

/* Mean time of a trace, of the traces first to last. What comes before the step is not timed. */
static void take_times(struct work *w, void (*before)(struct work *),
                       void (*step)(struct work *), int first, int last, int rounds,
                       struct times *times)
{
    memset(times, 0, sizeof *times);
    for (int k = first; k <= last; k++) {
        w->raw = plyecho_traces_channel(&w->set[k], 1);
        if (before != NULL)
            before(w);
        for (int i = 0; i < rounds; i++) {
            double start = now_us();
            step(w);
            times->sum[i] += (now_us() - start) / (last - first + 1);
        }
    }
    qsort(times->sum, (size_t)rounds, sizeof times->sum[0], by_size);
    times->median = times->sum[rounds / 2];
    times->least = times->sum[0];
}

static void before_steps(struct work *w)
{
    condition(w);
    pick(w);
    take_evidence(w);
}

static void print_times(const char *name, const char *with, const struct times *times,
                        double transforms_us)
{
    printf("%-34s %-9s median %7.1f us  least %7.1f us  %6.1f transforms\n", name, with,
           times->median, times->least, times->least / transforms_us);
}

static void bench_all(const char *with, struct work *w, const struct plyecho_band *band)
{
    enum { CLEAN = MIXED - 1 };
    static const struct {
        const char *name;
        void (*before)(struct work *);
        void (*step)(struct work *);
        int first, last, rounds;
    } steps[] = {
        {"two transforms", NULL, transform, CLEAN, CLEAN, ROUNDS},
        {"condition", NULL, condition, CLEAN, CLEAN, ROUNDS},
        {"find echoes", before_steps, find_echoes, CLEAN, CLEAN, ROUNDS},
        {"pick", before_steps, pick, CLEAN, CLEAN, ROUNDS},
        {"time and thickness", before_steps, measure, CLEAN, CLEAN, ROUNDS},
        {"evidence, with those two", before_steps, take_evidence, CLEAN, CLEAN, ROUNDS},
        {"stacks, clean", before_steps, fit_stacks, CLEAN, CLEAN, ROUNDS},
        {"stacks, doubtful", before_steps, fit_stacks, 0, DOUBTFUL - 1, ROUNDS / 50},
        {"doubts", before_steps, doubt, CLEAN, CLEAN, ROUNDS},
        {"verdict of a conditioned trace", before_steps, assess, CLEAN, CLEAN, ROUNDS},
        {"whole, clean", NULL, judge, CLEAN, CLEAN, ROUNDS},
        {"whole, doubtful", NULL, judge, 0, DOUBTFUL - 1, ROUNDS / 50},
        {"whole, 5 % doubtful", NULL, judge, 0, MIXED - 1, ROUNDS / 50},
    };
    static struct times times;
    struct plyecho_error err;
    double transforms_us = 0.0;
    must(plyecho_conditioner_new(&w->conditioner, MADE_SAMPLES, MADE_RATE_HZ, band, &err),
         &err);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        if (i > 0 && w->only != NULL && strcmp(w->only, steps[i].name) != 0)
            continue;
        take_times(w, steps[i].before, steps[i].step, steps[i].first, steps[i].last,
                   steps[i].rounds, &times);
        if (i == 0)
            transforms_us = times.least;
        print_times(steps[i].name, with, &times, transforms_us);
    }
    plyecho_conditioner_free(w->conditioner);
}

/* ---- what is measured on ---- */

static void make_set(struct work *w)
{
    for (int k = 0; k < MIXED; k++) {
        struct made_wall wall = made_sound(3.0);
        wall.seed = (unsigned long)k + 1;
        if (k < 2) { /* over half the beam and over all */
            wall.cover = k == 0 ? 0.5 : 1.0;
            wall.gap_mm = 1.8;
        } else if (k < 4) {
            wall.carbon_mm = 2.0;
            wall.inner_mm = 1.0;
            wall.inner_mrayl = k == 2 ? 3.9 : 5.8;
        } else if (k == 4) {
            wall.carbon_mm = 2.5;
        }
        w->set[k] = made_of(&wall);
    }
}

static void plan_transforms(struct work *w)
{
    w->real = fftwf_alloc_real(LENGTH);
    w->bins = fftwf_alloc_complex(LENGTH);
    w->signal = fftwf_alloc_complex(LENGTH);
    if (w->real == NULL || w->bins == NULL || w->signal == NULL)
        exit(EXIT_FAILURE);
    w->forward = fftwf_plan_dft_r2c_1d(LENGTH, w->real, w->bins, FFTW_ESTIMATE);
    w->back = fftwf_plan_dft_1d(LENGTH, w->bins, w->signal, FFTW_BACKWARD,
                                FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
    memset(w->real, 0, LENGTH * sizeof *w->real);
    memset(w->bins, 0, LENGTH * sizeof *w->bins);
}

static void drop_transforms(struct work *w)
{
    fftwf_destroy_plan(w->forward);
    fftwf_destroy_plan(w->back);
    fftwf_free(w->real);
    fftwf_free(w->bins);
    fftwf_free(w->signal);
}

static void set_options(struct plyecho_assess_options *o)
{
    o->wall = plyecho_wall_defaults();
    o->wall.velocity_m_s = 2950.0;
    o->wall.velocity_u = (struct plyecho_known){true, 10.0};
    o->wall.nominal_m = (struct plyecho_known){true, 3e-3};
    o->wall.tolerance_m = 0.3e-3;
}

static void bench_without_pulse(struct work *w)
{
    struct plyecho_error err;
    must(plyecho_stacks_new(&w->options.stacks, MADE_RATE_HZ, NULL, &err), &err);
    bench_all("no pulse", w, NULL);
    plyecho_stacks_free(w->options.stacks);
}

static void bench_with_pulse(struct work *w)
{
    static struct plyecho_reference reference;
    struct made_wall air = made_sound(3.0);
    air.uncoupled = true;
    struct plyecho_traces pulse = made_of(&air);
    struct plyecho_trace raw = plyecho_traces_channel(&pulse, 1);
    struct plyecho_conditioned conditioned;
    struct plyecho_conditioner *conditioner = made_ready(&pulse, &conditioned);
    struct plyecho_error err;
    must(plyecho_reference_take(&conditioned, &raw, &reference, &err), &err);
    struct plyecho_wall_options *wall = &w->options.wall;
    must(plyecho_plate_fit_new(&wall->fit, &reference.shape, &reference.band, MADE_RATE_HZ,
                               &err),
         &err);
    must(plyecho_stacks_new(&w->options.stacks, MADE_RATE_HZ, &reference.shape, &err), &err);
    w->options.reference = &reference;
    bench_all("pulse", w, &reference.band);
    plyecho_stacks_free(w->options.stacks);
    plyecho_plate_fit_free(wall->fit);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&pulse);
}

int main(int argc, char **argv)
{
    static struct work w;
    w.only = argc > 1 ? argv[1] : NULL;
    make_set(&w);
    plan_transforms(&w);
    set_options(&w.options);
    bench_without_pulse(&w);
    bench_with_pulse(&w);
    drop_transforms(&w);
    for (int k = 0; k < MIXED; k++)
        plyecho_traces_clear(&w.set[k]);
    return EXIT_SUCCESS;
}
