/* stack_probe - the library's fits of whole stacks, for the reference tests
 *
 * stack_probe fit SAMPLES RATE_HZ START_S WALL_S SLOPE FULL_SCALE END_S HAS [NUMBER=START:MEAN:U]...
 *     float32 samples of a trace, then of its reference (the line's end in air), on standard
 *     input. HAS: letters of c(oat) p(lace) f(ilm) g(ap), or -; s: the
 *     pulse is not known but for its (s)hape's being fitted. Numbers are those of
 *     stack_model.h, shape terms behind them; U 0: nothing is known; U below 0: not free.
 *     Prints `name value` lines, then a table of the lines: hz, pulse, data (real and imaginary
 *     parts), weight; and one of the numbers: start, value, u.
 * stack_probe judge SAMPLES RATE_HZ COUNT
 *     COUNT times six doubles (start s, velocity m/s, its u, nominal m, attenuation Np/m/Hz, 1: the
 *     pulse is known), samples of the trace and of its reference as float32, on standard input.
 *     Prints a line each: verdict and odds of the short way, and of the whole comparison.
 */
#include <config.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/verdict.h>

/* what a fit makes of a trace before it fits is nobody else's business */
#include "stack_fit_inside.h"

struct record {
    struct plyecho_traces traces;
    struct plyecho_trace trace;
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned conditioned;
};

static void must(enum plyecho_code code, const struct plyecho_error *err)
{
    if (code == PLYECHO_OK)
        return;
    fprintf(stderr, "stack_probe: %s\n", err->text);
    exit(2);
}

static void read_all(void *to, size_t size, size_t count)
{
    if (fread(to, size, count, stdin) == count)
        return;
    fprintf(stderr, "stack_probe: standard input ends too early\n");
    exit(2);
}

static void take(struct record *r, size_t n, double rate, double start_s)
{
    struct plyecho_error err;
    must(plyecho_traces_init(&r->traces, 1, n, &err), &err);
    r->traces.sample_rate_hz = rate;
    r->traces.start_s = start_s;
    r->traces.full_scale = 1.0;
    read_all(r->traces.amplitude, sizeof(float), n);
    r->trace = plyecho_traces_channel(&r->traces, 1);
}

static enum plyecho_code condition(struct record *r, const struct plyecho_band *band,
                                   struct plyecho_error *err)
{
    must(plyecho_conditioner_new(&r->conditioner, r->trace.samples, r->trace.sample_rate_hz,
                                 band, err),
         err);
    return plyecho_conditioner_run(r->conditioner, &r->trace, &r->conditioned, err);
}

static void drop(struct record *r)
{
    plyecho_conditioner_free(r->conditioner);
    plyecho_traces_clear(&r->traces);
}

/* Both records; the trace in the band of its reference. */
static void prepare(size_t n, double rate, double start_s, struct record *trace,
                    struct record *air, struct plyecho_reference *reference)
{
    struct plyecho_error err;
    take(trace, n, rate, start_s);
    take(air, n, rate, start_s);
    must(condition(air, NULL, &err), &err);
    must(plyecho_reference_take(&air->conditioned, &air->trace, reference, &err), &err);
}

/* ---- one fit ---- */

struct asked {
    struct pe_explanation_fit fit;
    bool free[PE_FIT_NUMBERS];
    struct pe_prior prior[PE_FIT_NUMBERS];
};

static double *number_of(struct pe_explanation_fit *f, int n)
{
    return n < PE_STACK_NUMBERS ? &f->stack.number[n] : &f->shape[n - PE_STACK_NUMBERS];
}

static void ask(struct asked *a, const char *has, char **words, int count)
{
    a->fit.stack.coat = strchr(has, 'c') != NULL;
    a->fit.stack.place = strchr(has, 'p') != NULL;
    a->fit.stack.film = strchr(has, 'f') != NULL;
    a->fit.stack.gap = strchr(has, 'g') != NULL;
    for (int i = 0; i < count; i++) {
        int n;
        double start, mean, u;
        if (sscanf(words[i], "%d=%lf:%lf:%lf", &n, &start, &mean, &u) != 4 || n < 0 ||
            n >= PE_FIT_NUMBERS)
            exit(2);
        *number_of(&a->fit, n) = start;
        a->free[n] = u >= 0.0;
        a->prior[n] = (struct pe_prior){mean, u};
    }
}

static void tell(struct pe_stack_fit *fit, struct asked *a)
{
    struct asked before = *a;
    bool settled = pe_stack_fit_run(fit, a->free, a->prior, 0.0, &a->fit);
    printf("settled %d\nchi2 %.17g\nlog_evidence %.17g\n", settled, a->fit.chi2,
           a->fit.log_evidence);
    printf("lines %d\n", fit->lines);
    for (int k = 0; k < fit->lines; k++) {
        double root = fit->root_weight[k];
        double complex pulse = pe_phasor(fit->pulse, k), data = pe_phasor(fit->data, k) / root;
        printf("%.17g %.17g %.17g %.17g %.17g %.17g\n",
               fit->line[k / PE_LANES].hz[k % PE_LANES], creal(pulse), cimag(pulse),
               creal(data), cimag(data), root * root);
    }
    printf("numbers %d\n", PE_FIT_NUMBERS);
    for (int n = 0; n < PE_FIT_NUMBERS; n++)
        printf("%.17g %.17g %.17g\n", *number_of(&before.fit, n), *number_of(&a->fit, n),
               a->fit.u[n]);
}

static void probe_fit(size_t n, double rate, char **words, int count)
{
    struct record trace, air;
    struct plyecho_error err;
    struct plyecho_reference reference;
    struct pe_stack_fit *fit;
    struct asked asked = {.fit = {.chi2 = 0.0}};
    prepare(n, rate, strtod(words[0], NULL), &trace, &air, &reference);
    bool shaped = strchr(words[5], 's') != NULL;
    must(condition(&trace, &reference.band, &err), &err);
    trace.conditioned.pulse_s = reference.pulse_s;
    struct pe_stack_gate gate = {.origin_s = reference.time_s,
                                 .wall_s = strtod(words[1], NULL),
                                 .slope = strtod(words[2], NULL),
                                 .full_scale = strtod(words[3], NULL),
                                 .end_s = strtod(words[4], NULL),
                                 .reference_hz = trace.conditioned.centre_hz};
    must(pe_stack_fit_new(&fit, rate, shaped ? NULL : &reference.shape, &err), &err);
    must(pe_stack_fit_take(fit, &trace.conditioned, &gate, &err), &err);
    ask(&asked, words[5], words + 6, count - 6);
    printf("reference_hz %.17g\nlow_hz %.17g\nhigh_hz %.17g\n", gate.reference_hz,
           trace.conditioned.band.low_hz, trace.conditioned.band.high_hz);
    tell(fit, &asked);
    pe_stack_fit_free(fit);
    drop(&trace);
    drop(&air);
}

/* ---- verdicts ---- */

struct told {
    double start_s, velocity, velocity_u, nominal, attenuation, pulse;
};

/* As the program does it. */
static struct plyecho_assess_options options_of(const struct told *t,
                                                const struct plyecho_reference *r)
{
    struct plyecho_assess_options o = {.wall = plyecho_wall_defaults()};
    o.wall.velocity_m_s = t->velocity;
    o.wall.velocity_u = (struct plyecho_known){true, t->velocity_u};
    o.wall.nominal_m = (struct plyecho_known){true, t->nominal};
    o.wall.tolerance_m = 0.1 * t->nominal;
    o.wall.attenuation = (struct plyecho_known){true, t->attenuation};
    if (t->pulse > 0.0) {
        o.reference = r;
        o.wall.front_s = (struct plyecho_known){true, r->time_s};
    }
    return o;
}

static void judge_one(size_t n, double rate)
{
    struct told told;
    struct record trace, air;
    struct plyecho_error err;
    struct plyecho_reference reference;
    struct plyecho_assessment by[2];
    read_all(&told, sizeof(double), 6);
    prepare(n, rate, told.start_s, &trace, &air, &reference);
    bool known = told.pulse > 0.0;
    must(condition(&trace, known ? &reference.band : NULL, &err), &err);
    struct plyecho_assess_options o = options_of(&told, &reference);
    must(plyecho_stacks_new(&o.stacks, rate, known ? &reference.shape : NULL, &err), &err);
    if (known) {
        trace.conditioned.pulse_s = reference.pulse_s;
        must(plyecho_plate_fit_new(&o.wall.fit, &reference.shape, &reference.band, rate, &err),
             &err);
    }
    for (int whole = 0; whole < 2; whole++) {
        o.thorough = whole > 0;
        plyecho_assess(&trace.conditioned, &trace.trace, &o, &by[whole]);
    }
    printf("%s %.17g %s %.17g\n", plyecho_verdict_word(by[0].verdict), by[0].evidence_ratio,
           plyecho_verdict_word(by[1].verdict), by[1].evidence_ratio);
    plyecho_stacks_free(o.stacks);
    plyecho_plate_fit_free(o.wall.fit);
    drop(&trace);
    drop(&air);
}

int main(int argc, char **argv)
{
    if (argc < 5)
        return 2;
    size_t n = strtoul(argv[2], NULL, 10);
    double rate = strtod(argv[3], NULL);
    if (strcmp(argv[1], "fit") == 0 && argc >= 10)
        probe_fit(n, rate, argv + 4, argc - 4);
    else if (strcmp(argv[1], "judge") == 0)
        for (long left = strtol(argv[4], NULL, 10); left > 0; left--)
            judge_one(n, rate);
    else
        return 2;
    return 0;
}
