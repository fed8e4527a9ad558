#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_randist.h>

#include <plyecho/laminate.h>
#include <plyecho/media.h>
#include <plyecho/simulate.h>

#include "made_trace.h"

static const double pi = 3.14159265358979323846;

struct plyecho_traces made_empty(void)
{
    struct plyecho_traces traces;
    assert_int_equal(plyecho_traces_init(&traces, 1, MADE_SAMPLES, NULL), PLYECHO_OK);
    traces.sample_rate_hz = MADE_RATE_HZ;
    return traces;
}

void made_burst(struct plyecho_traces *traces, double time_us, double height, double centre_mhz,
                double alpha_per_us2, double phase_rad)
{
    for (size_t i = 0; i < traces->samples; i++) {
        double u = (traces->start_s + (double)i / traces->sample_rate_hz) * 1e6 - time_us;
        traces->amplitude[i] += (float)(height * exp(-alpha_per_us2 * u * u) *
                                        cos(2.0 * pi * centre_mhz * u + phase_rad));
    }
}

void made_noise(struct plyecho_traces *traces, double deviation, unsigned long seed)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, seed);
    for (size_t i = 0; i < traces->samples; i++)
        traces->amplitude[i] += (float)gsl_ran_gaussian_ziggurat(random, deviation);
    gsl_rng_free(random);
}

struct made_wall made_sound(double carbon_mm)
{
    return (struct made_wall){
        .carbon_mm = carbon_mm, .loss_db_mm_mhz = 0.1, .snr_db = 40.0, .seed = 1};
}

static struct plyecho_layer layer(double mrayl, double mm, double loss)
{
    return (struct plyecho_layer){mrayl * 1e6, 2950.0, plyecho_attenuation_from_db_mm_mhz(loss),
                                  mm * 1e-3};
}

/* The wall's layers, cut where the gap is; returns how many, and how many lie before the gap. */
static size_t layers_of(const struct made_wall *wall, struct plyecho_layer *layers,
                        size_t *before)
{
    size_t count = 0;
    if (wall->cover > 0.0 && wall->gap_mm < wall->carbon_mm) {
        layers[count++] = layer(4.65, wall->gap_mm, wall->loss_db_mm_mhz);
        *before = count;
        layers[count++] = layer(4.65, wall->carbon_mm - wall->gap_mm, wall->loss_db_mm_mhz);
    } else {
        layers[count++] = layer(4.65, wall->carbon_mm, wall->loss_db_mm_mhz);
        *before = count;
    }
    if (wall->inner_mm > 0.0)
        layers[count++] = layer(wall->inner_mrayl, wall->inner_mm, wall->loss_db_mm_mhz);
    return count;
}

struct plyecho_traces made_of(const struct made_wall *wall)
{
    struct plyecho_traces traces = made_empty();
    const struct plyecho_medium *pmma = plyecho_medium_find("pmma");
    double air = plyecho_medium_layer(plyecho_medium_find("air"), 1.0).impedance_rayl;
    struct plyecho_setup setup = {.level = 0.8,
                                  .snr_db = wall->snr_db,
                                  .delay_line = plyecho_medium_layer(pmma, 10e-3),
                                  .line_repeat = 0.3,
                                  .full_scale = wall->full_scale,
                                  .bits = wall->full_scale > 0.0 ? 12 : 0,
                                  .sample_rate_hz = MADE_RATE_HZ,
                                  .samples = MADE_SAMPLES};
    assert_int_equal(plyecho_pulse_from_band(&setup.pulse, 10e6, 0.6, 0.3, 2.0, NULL),
                     PLYECHO_OK);
    struct plyecho_layer layers[3];
    size_t before = 0, count = wall->uncoupled ? 0 : layers_of(wall, layers, &before);
    struct plyecho_stack stack = {
        .front_impedance_rayl = setup.delay_line.impedance_rayl,
        .layers = layers,
        .count = count,
        .behind_impedance_rayl = air,
        .reference_frequency_hz = setup.pulse.centre_hz,
        .gap = {wall->cover, before, {air, 343.0, 0.0, INFINITY}},
    };
    struct plyecho_simulator *simulator;
    assert_int_equal(plyecho_simulator_new(&simulator, &setup, NULL), PLYECHO_OK);
    assert_int_equal(
        plyecho_simulator_run(simulator, &stack, wall->seed, traces.amplitude, NULL, NULL),
        PLYECHO_OK);
    plyecho_simulator_free(simulator);
    traces.full_scale = wall->full_scale > 0.0 ? wall->full_scale : 1.0;
    return traces;
}

struct plyecho_conditioner *made_ready(const struct plyecho_traces *traces,
                                       struct plyecho_conditioned *out)
{
    struct plyecho_conditioner *conditioner;
    struct plyecho_trace trace = plyecho_traces_channel(traces, 1);
    assert_int_equal(plyecho_conditioner_new(&conditioner, traces->samples,
                                             traces->sample_rate_hz, NULL, NULL),
                     PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, out, NULL), PLYECHO_OK);
    return conditioner;
}
