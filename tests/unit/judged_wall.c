#include "judged_wall.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/laminate.h>
#include <plyecho/media.h>

enum { MOST_LAYERS = 5 };

struct judged_wall judged_plain(double mm)
{
    return (struct judged_wall){.name = "plain", .upper_mm = mm, .loss_db = JUDGED_LOSS_DB};
}

struct judged_wall judged_parted(const char *name, double upper_mm, double lower_mm,
                                 double lower_mrayl)
{
    struct judged_wall wall = judged_plain(upper_mm);
    wall.name = name;
    wall.lower_mm = lower_mm;
    wall.lower_mrayl = lower_mrayl;
    return wall;
}

struct plyecho_layer judged_layer(double mrayl, double speed, double mm, double db)
{
    return (struct plyecho_layer){mrayl * 1e6, speed, plyecho_attenuation_from_db_mm_mhz(db),
                                  mm * 1e-3};
}

/* Glue, resin and filler: 3.0 MRayl, 2450 m/s; water: 1.48 MRayl, 1483 m/s (handbook values, from
 * memory). */
static size_t layers_of(const struct judged_wall *w, struct plyecho_layer *layers,
                        size_t *before)
{
    size_t n = 0;
    if (w->coat_mm > 0.0)
        layers[n++] = judged_layer(3.1, 2450.0, w->coat_mm, 0.2);
    layers[n++] = judged_layer(4.65, JUDGED_VELOCITY_M_S, w->upper_mm, w->loss_db);
    *before = n;
    if (w->film_um > 0.0)
        layers[n++] = judged_layer(w->film_mrayl, w->film_mrayl < 2.0 ? 1483.0 : 2450.0,
                                   1e-3 * w->film_um, w->film_mrayl < 2.0 ? 0.0 : 0.3);
    if (w->lower_mm > 0.0)
        layers[n++] =
            judged_layer(w->lower_mrayl, JUDGED_VELOCITY_M_S, w->lower_mm, w->loss_db);
    return n;
}

struct plyecho_setup judged_setup(double snr_db)
{
    struct plyecho_setup setup = {.level = 0.8,
                                  .snr_db = snr_db,
                                  .delay_line =
                                      plyecho_medium_layer(plyecho_medium_find("pmma"), 12e-3),
                                  .line_repeat = 0.3,
                                  .full_scale = 1.0,
                                  .bits = 12,
                                  .sample_rate_hz = JUDGED_RATE_HZ,
                                  .samples = JUDGED_SAMPLES};
    assert_int_equal(plyecho_pulse_from_band(&setup.pulse, 5e6, 0.6, 0.3, 2.0, NULL),
                     PLYECHO_OK);
    return setup;
}

struct plyecho_traces judged_record(const struct judged_wall *w, double snr_db,
                                    unsigned long seed)
{
    struct plyecho_traces traces;
    struct plyecho_simulator *simulator;
    struct plyecho_layer layers[MOST_LAYERS];
    struct plyecho_setup setup = judged_setup(snr_db);
    double air = plyecho_medium_layer(plyecho_medium_find("air"), 1.0).impedance_rayl;
    size_t before = 0, count = w->dry ? 0 : layers_of(w, layers, &before);
    struct plyecho_stack stack = {
        .front_impedance_rayl = setup.delay_line.impedance_rayl,
        .layers = layers,
        .count = count,
        .behind_impedance_rayl = air,
        .reference_frequency_hz = setup.pulse.centre_hz,
        .gap = {w->cover, before, {air, 343.0, 0.0, INFINITY}},
    };
    assert_int_equal(plyecho_traces_init(&traces, 1, JUDGED_SAMPLES, NULL), PLYECHO_OK);
    traces.sample_rate_hz = JUDGED_RATE_HZ;
    traces.full_scale = 1.0;
    assert_int_equal(plyecho_simulator_new(&simulator, &setup, NULL), PLYECHO_OK);
    assert_int_equal(
        plyecho_simulator_run(simulator, &stack, seed, traces.amplitude, NULL, NULL),
        PLYECHO_OK);
    plyecho_simulator_free(simulator);
    return traces;
}

struct plyecho_reference judged_reference;

enum plyecho_code judged_condition(const struct plyecho_trace *raw,
                                   const struct plyecho_band *band,
                                   struct plyecho_conditioner **conditioner,
                                   struct plyecho_conditioned *out)
{
    assert_int_equal(
        plyecho_conditioner_new(conditioner, raw->samples, raw->sample_rate_hz, band, NULL),
        PLYECHO_OK);
    return plyecho_conditioner_run(*conditioner, raw, out, NULL);
}

int judged_reference_take(void **state)
{
    (void)state;
    struct judged_wall air = {.dry = true};
    struct plyecho_traces t = judged_record(&air, 60.0, 99);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    assert_int_equal(judged_condition(&raw, NULL, &conditioner, &c), PLYECHO_OK);
    assert_int_equal(plyecho_reference_take(&c, &raw, &judged_reference, NULL), PLYECHO_OK);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
    return 0;
}

struct plyecho_assess_options judged_options(double nominal_mm, enum judged_how how)
{
    struct plyecho_assess_options o = {.wall = plyecho_wall_defaults()};
    o.wall.velocity_m_s = JUDGED_VELOCITY_M_S;
    o.wall.velocity_u = (struct plyecho_known){true, 10.0};
    o.wall.nominal_m = (struct plyecho_known){true, nominal_mm * 1e-3};
    o.wall.tolerance_m = 0.1e-3 * nominal_mm;
    o.wall.attenuation =
        (struct plyecho_known){true, plyecho_attenuation_from_db_mm_mhz(JUDGED_LOSS_DB)};
    if (how == WITH_PULSE) {
        o.reference = &judged_reference;
        o.wall.front_s = (struct plyecho_known){true, judged_reference.time_s};
    }
    return o;
}

struct plyecho_assessment judged_raw(const struct plyecho_trace *raw,
                                     struct plyecho_assess_options o, enum judged_how how)
{
    bool pulse = how == WITH_PULSE;
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    struct plyecho_assessment a;
    assert_int_equal(
        judged_condition(raw, pulse ? &judged_reference.band : NULL, &conditioner, &c),
        PLYECHO_OK);
    if (pulse) /* as a program does that knows the pulse */
        c.pulse_s = judged_reference.pulse_s;
    if (how != SINGLE_ECHOES)
        assert_int_equal(plyecho_stacks_new(&o.stacks, raw->sample_rate_hz,
                                            pulse ? &judged_reference.shape : NULL, NULL),
                         PLYECHO_OK);
    plyecho_assess(&c, raw, &o, &a);
    plyecho_stacks_free(o.stacks);
    plyecho_conditioner_free(conditioner);
    return a;
}

struct plyecho_assessment judged(const struct judged_wall *w, double nominal_mm,
                                 enum judged_how how, unsigned long seed)
{
    struct plyecho_traces t = judged_record(w, 40.0, seed);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    struct plyecho_assessment a = judged_raw(&raw, judged_options(nominal_mm, how), how);
    plyecho_traces_clear(&t);
    return a;
}

void judged_as(const struct judged_wall *w, const struct plyecho_assessment *a,
               enum plyecho_verdict verdict)
{
    char words[2000];
    if (a->verdict == verdict)
        return;
    plyecho_assessment_words(a, words, sizeof words);
    fail_msg("%s, %.2f + %.2f mm: %s instead of %s:\n%s", w->name, w->upper_mm, w->lower_mm,
             plyecho_verdict_word(a->verdict), plyecho_verdict_word(verdict), words);
}

struct judged_wall judged_half_gap(void)
{
    struct judged_wall w = judged_parted("gap", 1.3, 1.3, 4.65);
    w.cover = 0.5;
    return w;
}
