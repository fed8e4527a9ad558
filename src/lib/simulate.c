#include <plyecho/simulate.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <gsl/gsl_fft_halfcomplex.h>
#include <gsl/gsl_fft_real.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "alloc.h"
#include "pi.h"

/* What wraps around the transform comes back weaker by this factor (100 dB). */
static const double wrap_suppression = 1e5;

/* The pulse is cut where its envelope is below this, and its spectrum likewise: the damping
 * taken back at the end may raise what was cut by wrap_suppression. */
static const double pulse_floor = 1e-7, spectrum_floor = 1e-13;

/* A pulse must be down to this at the Nyquist frequency. */
static const double nyquist_floor = 1e-3;

enum { MAX_TRANSFORM = 1 << 22 };

struct plyecho_simulator {
    struct plyecho_setup setup;
    size_t length;  /* of the transform, a power of two */
    long offset;    /* its first sample in the record; before the record where negative */
    double damping; /* 1/s */
    double complex
        *way;        /* pulse and travel to the first interface echo, at bins 0 to length/2 */
    size_t bins;     /* beyond these the pulse has nothing */
    double *work;    /* length */
    double *initial; /* samples of the initial pulse, or NULL */
    gsl_rng *random;
};

static bool in_contact(const struct plyecho_setup *setup)
{
    return setup->delay_line.thickness_m == 0.0;
}

static double line_trip_s(const struct plyecho_setup *setup)
{
    return in_contact(setup)
               ? 0.0
               : 2.0 * setup->delay_line.thickness_m / setup->delay_line.velocity_m_s;
}

static double arrival_s(const struct plyecho_setup *setup)
{
    return setup->zero_s + line_trip_s(setup);
}

static bool at_least_zero(double value)
{
    return isfinite(value) && value >= 0.0;
}

static enum plyecho_code check_levels(const struct plyecho_setup *setup,
                                      struct plyecho_error *err)
{
    const struct {
        double value;
        const char *name;
    } levels[] = {
        {setup->level, "level"},
        {setup->initial_level, "initial pulse"},
        {setup->initial_fall_s, "initial pulse's fall time"},
        {setup->drift_level, "drift"},
        {setup->noise_level, "noise"},
        {setup->full_scale, "full scale"},
        {setup->front_jitter_db, "front echo's jitter"},
    };
    for (size_t i = 0; i < sizeof levels / sizeof levels[0]; i++)
        if (!at_least_zero(levels[i].value))
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "the %s is %g; it must not be negative", levels[i].name,
                                levels[i].value);
    if (!(setup->level > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "the level is 0; it must be above 0");
    if (isnan(setup->snr_db) || setup->snr_db == -INFINITY)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "the signal-to-noise ratio is no number");
    if (!(fabs(setup->line_repeat) <= 1.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "the delay line repeats by %g; give -1 to 1", setup->line_repeat);
    if (setup->bits != 0 && (setup->bits < 2 || setup->bits > 24))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a converter of %d bits; give 2 to 24, or 0 for none", setup->bits);
    if (setup->bits != 0 && setup->full_scale == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a converter needs a full scale");
    return PLYECHO_OK;
}

static enum plyecho_code check_time_base(const struct plyecho_setup *setup,
                                         struct plyecho_error *err)
{
    if (setup->samples < 2)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%zu samples; give 2 or more",
                            setup->samples);
    if (!(isfinite(setup->sample_rate_hz) && setup->sample_rate_hz > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a sample rate of %g Hz; it must be above 0",
                            setup->sample_rate_hz);
    if (!isfinite(setup->start_s) || !isfinite(setup->zero_s))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "the start or zero time is no number");
    double nyquist_hz = 0.5 * setup->sample_rate_hz;
    double centre_hz = setup->pulse.centre_hz;
    if (centre_hz >= nyquist_hz ||
        cabs(plyecho_pulse_spectrum(&setup->pulse, nyquist_hz)) >
            nyquist_floor * cabs(plyecho_pulse_spectrum(&setup->pulse, centre_hz)))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a probe of %g MHz reaches beyond the Nyquist frequency of %g MHz; "
                            "raise the sample rate",
                            centre_hz / 1e6, nyquist_hz / 1e6);
    double end_s = setup->start_s + (double)setup->samples / setup->sample_rate_hz;
    if (end_s <= arrival_s(setup))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "the record ends at %g us, before the first echo at %g us",
                            end_s * 1e6, arrival_s(setup) * 1e6);
    return PLYECHO_OK;
}

static enum plyecho_code check_setup(const struct plyecho_setup *setup,
                                     struct plyecho_error *err)
{
    enum plyecho_code code = check_levels(setup, err);
    if (code == PLYECHO_OK && !in_contact(setup)) {
        struct plyecho_stack line = {.front_impedance_rayl = 1.0,
                                     .layers = &setup->delay_line,
                                     .count = 1,
                                     .behind_impedance_rayl = 1.0,
                                     .reference_frequency_hz = 1.0};
        code = plyecho_stack_check(&line, err);
    }
    return code == PLYECHO_OK ? check_time_base(setup, err) : code;
}

/* The window starts with the first echo's own start, or with the record if that is earlier
 * there; it must not start later, since what lies before it would wrap around and grow. */
static enum plyecho_code lay_window(struct plyecho_simulator *sim, double before_s,
                                    double after_s, struct plyecho_error *err)
{
    const struct plyecho_setup *setup = &sim->setup;
    double first = (arrival_s(setup) - before_s - setup->start_s) * setup->sample_rate_hz;
    double pulse = (before_s + after_s) * setup->sample_rate_hz + 4.0;
    double needed = fmax((double)setup->samples - floor(first) + 1.0, pulse);
    if (!(needed < MAX_TRANSFORM))
        return plyecho_fail(
            err, PLYECHO_TOO_LARGE,
            "%.0f samples from the first echo to the record's end; the limit is %d", needed,
            MAX_TRANSFORM);
    sim->offset = (long)floor(first) - 1;
    sim->length = 2;
    while ((double)sim->length < needed)
        sim->length *= 2;
    sim->damping = log(wrap_suppression) * setup->sample_rate_hz / (double)sim->length;
    return PLYECHO_OK;
}

static double complex bin_s(const struct plyecho_simulator *sim, size_t bin)
{
    double step = 2.0 * PE_PI * sim->setup.sample_rate_hz / (double)sim->length;
    return sim->damping + I * (step * (double)bin);
}

/* Spectrum of the damped pulse, from its samples; samples before time 0 stand at the end. */
static void transform_pulse(struct plyecho_simulator *sim, double before_s, double after_s)
{
    const struct plyecho_setup *setup = &sim->setup;
    long from = -(long)(before_s * setup->sample_rate_hz);
    long to = (long)(after_s * setup->sample_rate_hz);
    for (size_t i = 0; i < sim->length; i++)
        sim->work[i] = 0.0;
    for (long i = from; i <= to; i++) {
        double t = (double)i / setup->sample_rate_hz;
        size_t place = i < 0 ? sim->length - (size_t)-i : (size_t)i;
        sim->work[place] =
            setup->level * plyecho_pulse_value(&setup->pulse, t) * exp(-sim->damping * t);
    }
    gsl_fft_real_radix2_transform(sim->work, 1, sim->length);
}

static void lay_way(struct plyecho_simulator *sim)
{
    const struct plyecho_setup *setup = &sim->setup;
    double window_s = setup->start_s + (double)sim->offset / setup->sample_rate_hz;
    double travel_s = arrival_s(setup) - window_s;
    double largest = 0.0;
    for (size_t k = 0; k < sim->length / 2; k++) {
        sim->way[k] = sim->work[k] + (k == 0 ? 0.0 : I * sim->work[sim->length - k]);
        largest = fmax(largest, cabs(sim->way[k]));
    }
    sim->bins = 0;
    for (size_t k = 0; k < sim->length / 2; k++) {
        if (cabs(sim->way[k]) > spectrum_floor * largest)
            sim->bins = k + 1;
        sim->way[k] *= cexp(-bin_s(sim, k) * travel_s);
    }
}

static enum plyecho_code lay_initial(struct plyecho_simulator *sim, struct plyecho_error *err)
{
    const struct plyecho_setup *setup = &sim->setup;
    struct plyecho_pulse pulse = setup->pulse;
    if (setup->initial_fall_s > 0.0) {
        enum plyecho_code code = plyecho_pulse_from_times(
            &pulse, pulse.centre_hz, pulse.phase_rad, pulse.rise_s, setup->initial_fall_s, err);
        if (code != PLYECHO_OK)
            return code;
    }
    plyecho_pulse_samples(&pulse, setup->sample_rate_hz, setup->start_s, setup->samples,
                          sim->initial);
    for (size_t i = 0; i < setup->samples; i++)
        sim->initial[i] *= setup->initial_level;
    return PLYECHO_OK;
}

static enum plyecho_code make(struct plyecho_simulator *sim, struct plyecho_error *err)
{
    const struct plyecho_setup *setup = &sim->setup;
    double before_s, after_s;
    plyecho_pulse_extent(&setup->pulse, pulse_floor, &before_s, &after_s);
    enum plyecho_code code = lay_window(sim, before_s, after_s, err);
    if (code != PLYECHO_OK)
        return code;
    sim->way = pe_alloc(sim->length / 2, sizeof *sim->way);
    sim->work = pe_alloc(sim->length, sizeof *sim->work);
    if (setup->initial_level > 0.0)
        sim->initial = pe_alloc(setup->samples, sizeof *sim->initial);
    sim->random = gsl_rng_alloc(gsl_rng_mt19937);
    if (sim->way == NULL || sim->work == NULL || sim->random == NULL ||
        (setup->initial_level > 0.0 && sim->initial == NULL))
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to simulate %zu samples",
                            setup->samples);
    transform_pulse(sim, before_s, after_s);
    lay_way(sim);
    return sim->initial != NULL ? lay_initial(sim, err) : PLYECHO_OK;
}

enum plyecho_code plyecho_simulator_new(struct plyecho_simulator **simulator,
                                        const struct plyecho_setup *setup,
                                        struct plyecho_error *err)
{
    *simulator = NULL;
    enum plyecho_code code = check_setup(setup, err);
    if (code != PLYECHO_OK)
        return code;
    struct plyecho_simulator *sim = pe_alloc(1, sizeof *sim);
    if (sim == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a simulator");
    sim->setup = *setup;
    code = make(sim, err);
    if (code == PLYECHO_OK)
        *simulator = sim;
    else
        plyecho_simulator_free(sim);
    return code;
}

void plyecho_simulator_free(struct plyecho_simulator *simulator)
{
    if (simulator == NULL)
        return;
    free(simulator->way);
    free(simulator->work);
    free(simulator->initial);
    if (simulator->random != NULL)
        gsl_rng_free(simulator->random);
    free(simulator);
}

double plyecho_simulator_step(const struct plyecho_simulator *simulator)
{
    const struct plyecho_setup *setup = &simulator->setup;
    return setup->bits == 0 ? 0.0 : ldexp(setup->full_scale, 1 - setup->bits);
}

/* What the delay line does to a repeat beyond delaying it: its loss, and the dispersion. The
 * transmission of a layer between its own kind is the propagation alone. */
static double complex line_loss(const struct plyecho_setup *setup,
                                double reference_frequency_hz, double complex s)
{
    struct plyecho_layer both_ways = setup->delay_line;
    both_ways.thickness_m *= 2.0;
    struct plyecho_stack line = {
        .front_impedance_rayl = both_ways.impedance_rayl,
        .layers = &both_ways,
        .count = 1,
        .behind_impedance_rayl = both_ways.impedance_rayl,
        .reference_frequency_hz = reference_frequency_hz,
    };
    return plyecho_stack_transmission(&line, s);
}

/* Everything behind the first arrival at the line's end. */
static double complex part_response(const struct plyecho_setup *setup,
                                    const struct plyecho_stack *stack, double front,
                                    double front_gain, double complex s)
{
    double complex gamma = plyecho_stack_reflection(stack, s);
    if (in_contact(setup))
        return gamma - front;
    gamma += (front_gain - 1.0) * front;
    if (setup->line_repeat == 0.0)
        return gamma;
    double complex again =
        setup->line_repeat * line_loss(setup, stack->reference_frequency_hz, s);
    return gamma / (1.0 - again * gamma);
}

/* The echoes, into work[0 .. length), with the damping taken back. */
static void synthesise(struct plyecho_simulator *sim, const struct plyecho_stack *stack,
                       double front_gain)
{
    double below =
        stack->count > 0 ? stack->layers[0].impedance_rayl : stack->behind_impedance_rayl;
    double front = plyecho_reflection(stack->front_impedance_rayl, below);
    for (size_t i = 0; i < sim->length; i++)
        sim->work[i] = 0.0;
    for (size_t k = 0; k < sim->bins; k++) {
        double complex value =
            sim->way[k] * part_response(&sim->setup, stack, front, front_gain, bin_s(sim, k));
        sim->work[k] = creal(value);
        if (k > 0)
            sim->work[sim->length - k] = cimag(value);
    }
    gsl_fft_halfcomplex_radix2_inverse(sim->work, 1, sim->length);
    double growth = sim->damping / sim->setup.sample_rate_hz;
    for (size_t i = 0; i < sim->length; i++)
        sim->work[i] *= exp(growth * (double)i);
}

static double echo_at(const struct plyecho_simulator *sim, size_t sample)
{
    long place = (long)sample - sim->offset;
    return place >= 0 && (size_t)place < sim->length ? sim->work[place] : 0.0;
}

static double record(const struct plyecho_simulator *sim, double value)
{
    const struct plyecho_setup *setup = &sim->setup;
    if (setup->bits > 0) {
        double step = plyecho_simulator_step(sim);
        double top = ldexp(1.0, setup->bits - 1);
        return step * fmin(fmax(rint(value / step), -top), top - 1.0);
    }
    if (setup->full_scale > 0.0)
        return fmin(fmax(value, -setup->full_scale), setup->full_scale);
    return value;
}

enum plyecho_code plyecho_simulator_run(struct plyecho_simulator *sim,
                                        const struct plyecho_stack *stack, unsigned long seed,
                                        float *amplitude, struct plyecho_simulated *simulated,
                                        struct plyecho_error *err)
{
    const struct plyecho_setup *setup = &sim->setup;
    enum plyecho_code code = plyecho_stack_check(stack, err);
    if (code != PLYECHO_OK)
        return code;
    gsl_rng_set(sim->random, seed);
    struct plyecho_simulated came = {.interface_s = arrival_s(setup)};
    came.front_gain_db = gsl_ran_gaussian_ziggurat(sim->random, setup->front_jitter_db);
    double drift_phase = 2.0 * PE_PI * gsl_rng_uniform(sim->random);
    synthesise(sim, stack, pow(10.0, came.front_gain_db / 20.0));
    for (size_t i = 0; i < setup->samples; i++)
        came.peak_level = fmax(came.peak_level, fabs(echo_at(sim, i)));
    came.noise_level =
        hypot(setup->noise_level, came.peak_level * pow(10.0, -setup->snr_db / 20.0));
    for (size_t i = 0; i < setup->samples; i++) {
        double turn = 2.0 * PE_PI * (double)i / (1.5 * (double)setup->samples);
        double value = echo_at(sim, i) + (sim->initial != NULL ? sim->initial[i] : 0.0);
        value += setup->drift_level * sin(turn + drift_phase);
        value += gsl_ran_gaussian_ziggurat(sim->random, came.noise_level);
        amplitude[i] = (float)record(sim, value);
    }
    if (simulated != NULL)
        *simulated = came;
    return PLYECHO_OK;
}
