#include "made_stack.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>
#include <fftw3.h>
#include <gsl/gsl_randist.h>

#include "pi.h"

struct plyecho_pulse made_gaussian(double hz, double bandwidth, double phase)
{
    struct plyecho_pulse pulse;
    assert_int_equal(plyecho_pulse_from_band(&pulse, hz, bandwidth, phase, 0.0, NULL),
                     PLYECHO_OK);
    return pulse;
}

/* As much of it as the fit wants to know. */
static struct plyecho_pulse_shape shape_of(const struct plyecho_pulse *pulse)
{
    struct plyecho_pulse_shape shape = {
        .samples = 257, .sample_rate_hz = MADE_STACK_RATE_HZ, .peak_sample = 128.0};
    double value[257];
    plyecho_pulse_samples(pulse, MADE_STACK_RATE_HZ, -128.0 / MADE_STACK_RATE_HZ, 257, value);
    for (int i = 0; i < 257; i++)
        shape.amplitude[i] = (float)value[i];
    return shape;
}

/* From 0 Hz on, several lines at a time. */
static void reflect(const struct pe_stack *s, double step_hz, double complex *reflection)
{
    enum { BLOCKS = MADE_STACK_SAMPLES / 2 / PE_LANES + 1 };
    static struct pe_line line[BLOCKS];
    static struct pe_phasors carrier[BLOCKS], model[BLOCKS];
    struct pe_stack_walk walk = {
        .blocks = BLOCKS, .line = line, .carrier = carrier, .model = model};
    for (int k = 0; k < BLOCKS * PE_LANES; k++) {
        double hz = step_hz * k;
        struct pe_line *at = &line[k / PE_LANES];
        at->hz[k % PE_LANES] = hz;
        at->omega[k % PE_LANES] = 2.0 * PE_PI * hz;
        at->bend[k % PE_LANES] =
            k > 0 ? 2.0 / PE_PI * hz * log(hz / MADE_STACK_CENTRE_HZ) : 0.0;
        pe_set_phasor(carrier, k, 1.0);
    }
    pe_stack_model(s, &walk);
    for (int k = 0; k <= MADE_STACK_SAMPLES / 2; k++)
        reflection[k] = pe_phasor(model, k);
}

void made_echoes(const struct pe_stack *s, const struct plyecho_pulse *pulse,
                 const struct made_extra *extra, struct made_record *r)
{
    static double complex reflection[MADE_STACK_SAMPLES / 2 + 1];
    fftwf_complex *bins = fftwf_alloc_complex(MADE_STACK_SAMPLES / 2 + 1);
    float *wave = fftwf_alloc_real(MADE_STACK_SAMPLES);
    fftwf_plan back = fftwf_plan_dft_c2r_1d(MADE_STACK_SAMPLES, bins, wave, FFTW_ESTIMATE);
    double step = MADE_STACK_RATE_HZ / MADE_STACK_SAMPLES,
           first_s = MADE_STACK_ORIGIN_S + s->number[PE_START];
    reflect(s, step, reflection);
    for (int k = 0; k <= MADE_STACK_SAMPLES / 2; k++) {
        double hz = step * k, omega = 2.0 * PE_PI * hz;
        double complex g = reflection[k];
        if (extra != NULL)
            g += extra->size * cexp(-I * omega * extra->delay_s);
        bins[k] = exp(s->number[PE_AMPLITUDE]) * plyecho_pulse_spectrum(pulse, hz) * g *
                  cexp(-I * omega * first_s) * step;
    }
    fftwf_execute(back);
    for (int i = 0; i < MADE_STACK_SAMPLES; i++)
        r->in_phase[i] = wave[i];
    fftwf_destroy_plan(back);
    fftwf_free(bins);
    fftwf_free(wave);
    r->trace = (struct plyecho_conditioned){
        .samples = MADE_STACK_SAMPLES,
        .sample_rate_hz = MADE_STACK_RATE_HZ,
        .has_sign = true,
        .band = {2e6, 8e6},
        .centre_hz = MADE_STACK_CENTRE_HZ,
        .pulse_s = 0.4e-6,
        .in_phase = r->in_phase,
        .noise = 1e-4,
    };
}

void made_white(struct made_record *r, double deviation, unsigned long seed)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, seed);
    for (int i = 0; i < MADE_STACK_SAMPLES; i++)
        r->in_phase[i] += (float)gsl_ran_gaussian_ziggurat(random, deviation);
    gsl_rng_free(random);
    double share = (r->trace.band.high_hz - r->trace.band.low_hz) / (MADE_STACK_RATE_HZ / 2.0);
    r->trace.noise = deviation * sqrt(share);
}

struct pe_stack_gate made_gate(double full_scale)
{
    return (struct pe_stack_gate){.origin_s = MADE_STACK_ORIGIN_S,
                                  .end_s = 16.96e-6, /* from 1.6 us: 24 times 64 samples */
                                  .wall_s = 1.6e-6,
                                  .reference_hz = MADE_STACK_CENTRE_HZ,
                                  .slope = 0.034,
                                  .full_scale = full_scale};
}

struct pe_stack_fit *made_fit(const struct plyecho_pulse *pulse)
{
    struct pe_stack_fit *fit;
    struct plyecho_pulse_shape shape;
    if (pulse != NULL)
        shape = shape_of(pulse);
    assert_int_equal(
        pe_stack_fit_new(&fit, MADE_STACK_RATE_HZ, pulse != NULL ? &shape : NULL, NULL),
        PLYECHO_OK);
    return fit;
}

void made_taken(struct pe_stack_fit *fit, const struct made_record *r, double full_scale)
{
    struct pe_stack_gate gate = made_gate(full_scale);
    struct plyecho_error err;
    if (pe_stack_fit_take(fit, &r->trace, &gate, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
}

void made_set(struct made_task *t, int number, double value)
{
    t->free[number] = true;
    t->truth.number[number] = value;
}

struct made_task made_plain(void)
{
    struct made_task t = {.name = "plain"};
    made_set(&t, PE_AMPLITUDE, -0.2);
    made_set(&t, PE_START, 13e-9);
    made_set(&t, PE_FRONT, 0.22);
    made_set(&t, PE_SLOPE, 0.034);
    made_set(&t, PE_TRANSIT, 1.61e-6);
    return t;
}

struct made_task made_place(const char *name, double depth_s)
{
    struct made_task t = made_plain();
    t.name = name;
    t.truth.place = true;
    made_set(&t, PE_DEPTH, depth_s);
    return t;
}

void made_tasks(struct made_task tasks[MADE_TASKS])
{
    tasks[0] = made_plain();
    tasks[1] = made_place("step", 0.93e-6);
    made_set(&tasks[1], PE_STEP_THERE, 0.14);
    tasks[2] = made_place("gap", 0.81e-6);
    tasks[2].truth.gap = true;
    made_set(&tasks[2], PE_COVER, 0.42);
    tasks[3] = made_place("glue", 0.78e-6);
    tasks[3].truth.film = true;
    tasks[3].truth.number[PE_FILM_THERE] = 0.21;
    made_set(&tasks[3], PE_FILM_TIME, 71e-9);
    tasks[4] = made_plain();
    tasks[4].name = "coat";
    tasks[4].truth.coat = true;
    made_set(&tasks[4], PE_COAT_TIME, 210e-9);
    made_set(&tasks[4], PE_COAT_STEP, 0.17);
    tasks[5] = made_place("coated gap", 0.81e-6);
    tasks[5].truth.coat = tasks[5].truth.gap = true;
    made_set(&tasks[5], PE_COVER, 0.42);
    made_set(&tasks[5], PE_COAT_TIME, 210e-9);
    made_set(&tasks[5], PE_COAT_STEP, 0.17);
}

double made_scale(int number)
{
    switch (number) {
    case PE_START:
    case PE_TRANSIT:
    case PE_DEPTH:
    case PE_FILM_TIME:
    case PE_COAT_TIME:
        return 1.0 / (2.0 * PE_PI * MADE_STACK_CENTRE_HZ);
    case PE_SLOPE:
        return 0.1;
    default:
        return 0.4;
    }
}

struct pe_explanation_fit made_start(const struct made_task *t, double aside)
{
    struct pe_explanation_fit f = {.stack = t->truth};
    for (int n = 0, sign = 1; n < PE_STACK_NUMBERS; n++)
        if (t->free[n]) {
            f.stack.number[n] += sign * aside * made_scale(n);
            sign = -sign;
        }
    return f;
}
