/* Time of each step from a trace in memory to its verdict, on one sound wall of 3 mm at 40 dB; with a
 * reference pulse and without. `make bench` prints it. */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <plyecho/verdict.h>

#include "../unit/made_trace.h"

enum { ROUNDS = 2000 };

/* What the steps work on. */
struct work {
    struct plyecho_trace raw;
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned trace;
    struct plyecho_picks picks;
    struct plyecho_assess_options options;
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

static void condition(struct work *w)
{
    struct plyecho_error err;
    must(plyecho_conditioner_run(w->conditioner, &w->raw, &w->trace, &err), &err);
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

static void assess(struct work *w)
{
    struct plyecho_assessment assessment;
    plyecho_assess(&w->trace, &w->raw, &w->options, &assessment);
}

static void bench(const char *name, void step(struct work *), struct work *w)
{
    static double times[ROUNDS];
    for (int i = 0; i < ROUNDS; i++) {
        double start = now_us();
        step(w);
        times[i] = now_us() - start;
    }
    qsort(times, ROUNDS, sizeof times[0], by_size);
    printf("%-36s median %6.1f us  least %6.1f us\n", name, times[ROUNDS / 2], times[0]);
}

static void bench_all(const char *with, struct work *w, const struct plyecho_band *band)
{
    char name[80];
    struct plyecho_error err;
    must(plyecho_conditioner_new(&w->conditioner, w->raw.samples, w->raw.sample_rate_hz, band,
                                 &err),
         &err);
    static const struct {
        const char *name;
        void (*step)(struct work *);
    } steps[] = {{"condition", condition},
                 {"pick", pick},
                 {"time and thickness", measure},
                 {"verdict, all but condition", assess}};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        snprintf(name, sizeof name, "%s, %s", steps[i].name, with);
        bench(name, steps[i].step, w);
    }
    plyecho_conditioner_free(w->conditioner);
}

int main(void)
{
    struct made_wall sound = made_sound(3.0), air = made_sound(3.0);
    air.uncoupled = true;
    struct plyecho_traces traces = made_of(&sound), pulse = made_of(&air);
    struct plyecho_trace raw_pulse = plyecho_traces_channel(&pulse, 1);
    struct plyecho_conditioned conditioned;
    struct plyecho_conditioner *conditioner = made_ready(&pulse, &conditioned);
    static struct plyecho_reference reference;
    struct plyecho_error err;
    struct work w = {.raw = plyecho_traces_channel(&traces, 1)};
    w.options.wall = plyecho_wall_defaults();
    w.options.wall.velocity_m_s = 2950.0;
    w.options.wall.velocity_u = (struct plyecho_known){true, 10.0};
    w.options.wall.nominal_m = (struct plyecho_known){true, 3e-3};
    w.options.wall.tolerance_m = 0.3e-3;
    bench_all("no pulse", &w, NULL);
    must(plyecho_reference_take(&conditioned, &raw_pulse, &reference, &err), &err);
    must(plyecho_plate_fit_new(&w.options.wall.fit, &reference.shape, &reference.band,
                               w.raw.sample_rate_hz, &err),
         &err);
    w.options.reference = &reference;
    bench_all("pulse", &w, &reference.band);
    plyecho_plate_fit_free(w.options.wall.fit);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&traces);
    plyecho_traces_clear(&pulse);
    return EXIT_SUCCESS;
}
