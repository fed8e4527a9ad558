/* Simulated traces: echoes where and as strong as physics says, and a recorder that records. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/media.h>
#include <plyecho/simulate.h>

#include "failing_alloc.h"

static const double pi = 3.14159265358979323846;

enum { SAMPLES = 2048, LONG = 16 * SAMPLES };

static struct plyecho_layer medium(const char *name, double mm)
{
    const struct plyecho_medium *found = plyecho_medium_find(name);
    assert_non_null(found);
    return plyecho_medium_layer(found, mm * 1e-3);
}

/* 10 MHz, 100 MS/s, a PMMA delay line of 10 mm that does not repeat, no noise, no recorder. */
static struct plyecho_setup plain_setup(void)
{
    struct plyecho_setup setup = {.level = 1.0,
                                  .snr_db = INFINITY,
                                  .sample_rate_hz = 100e6,
                                  .samples = SAMPLES,
                                  .delay_line = medium("pmma", 10.0)};
    assert_int_equal(plyecho_pulse_from_band(&setup.pulse, 10e6, 0.6, 0.3, 0.0, NULL),
                     PLYECHO_OK);
    return setup;
}

static struct plyecho_stack stack_of(const struct plyecho_layer *layers, size_t count)
{
    return (struct plyecho_stack){.front_impedance_rayl = medium("pmma", 1.0).impedance_rayl,
                                  .layers = layers,
                                  .count = count,
                                  .behind_impedance_rayl = medium("air", 1.0).impedance_rayl,
                                  .reference_frequency_hz = 10e6};
}

static struct plyecho_simulated run(const struct plyecho_setup *setup,
                                    const struct plyecho_stack *stack, unsigned long seed,
                                    float *amplitude)
{
    struct plyecho_simulator *sim;
    struct plyecho_simulated came;
    assert_int_equal(plyecho_simulator_new(&sim, setup, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_simulator_run(sim, stack, seed, amplitude, &came, NULL),
                     PLYECHO_OK);
    plyecho_simulator_free(sim);
    return came;
}

/* Lossless plate: every echo is a copy of the pulse at a known time and strength, so the whole
 * trace is known in closed form. Times fall between samples. */
static void a_plate_gives_its_train_of_pulses(void **state)
{
    (void)state;
    for (int tail = 0; tail < 2; tail++) {
        struct plyecho_setup setup = plain_setup();
        plyecho_pulse_from_band(&setup.pulse, 10e6, 0.6, 0.3, tail * 2.0, NULL);
        setup.start_s = 5.0037e-6;
        setup.zero_s = 0.11e-6;
        struct plyecho_layer plate = medium("carbon", 3.2);
        plate.attenuation_np_m_hz = 0.0;
        struct plyecho_stack stack = stack_of(&plate, 1);
        float amplitude[SAMPLES];
        struct plyecho_simulated came = run(&setup, &stack, 1, amplitude);
        double arrival = 0.11e-6 + 2.0 * 10e-3 / 2680.0, trip = 2.0 * 3.2e-3 / 2950.0;
        assert_true(fabs(came.interface_s - arrival) < 1e-15);
        double r = plyecho_reflection(stack.front_impedance_rayl, plate.impedance_rayl);
        double b = plyecho_reflection(plate.impedance_rayl, stack.behind_impedance_rayl);
        for (int i = 0; i < SAMPLES; i++) {
            double t = setup.start_s + i / 100e6 - arrival;
            double expected = r * plyecho_pulse_value(&setup.pulse, t),
                   echo = (1.0 - r * r) * b;
            for (int n = 1; n < 9; n++, echo *= -r * b)
                expected += echo * plyecho_pulse_value(&setup.pulse, t - n * trip);
            assert_true(fabs(amplitude[i] - expected) < 1e-5);
        }
    }
}

/* The line's end in air sends back the pulse, upside down; its repeats come back weaker by the
 * reflection at the probe and the line's loss, 2 x 10 mm x 0.1 dB/mm/MHz at 10 MHz. */
static void the_delay_line_repeats(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    plyecho_pulse_from_band(&setup.pulse, 10e6, 0.05, 0.0, 0.0, NULL);
    setup.line_repeat = 0.5;
    setup.samples = LONG;
    struct plyecho_stack stack = stack_of(NULL, 0);
    float *amplitude = malloc(LONG * sizeof *amplitude);
    run(&setup, &stack, 1, amplitude);
    double trip = 2.0 * 10e-3 / 2680.0;
    /* a band so narrow has no loss slope to speak of within it; the third echo overlaps neither
     */
    double level[3] = {0.0, 0.0, 0.0};
    for (int n = 0; n < 3; n++) {
        /* correlate with the pulse at the echo's place */
        double sum = 0.0, own = 0.0;
        for (int i = 0; i < LONG; i++) {
            double p = plyecho_pulse_value(&setup.pulse, i / 100e6 - (n + 1) * trip);
            sum += p * amplitude[i];
            own += p * p;
        }
        level[n] = sum / own;
    }
    assert_true(fabs(level[0] + 0.99974) < 2e-3);
    assert_true(fabs(level[1] / 0.05 - 1.0) < 0.05);
    assert_true(fabs(level[2] / -0.0025 - 1.0) < 0.2);
    free(amplitude);
}

/* The second interface echo carries the part's response twice: with R(f) the response, its
 * spectrum is r_p R^2. Here from traces alone, in the time domain: the trace with repeats less
 * the one without is, to first order in r_p, the one without convolved with the response again.
 */
static void a_repeat_carries_the_response_again(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.delay_line.attenuation_np_m_hz = 0.0;
    struct plyecho_layer plate = medium("carbon", 1.0);
    plate.attenuation_np_m_hz = 0.0;
    struct plyecho_stack stack = stack_of(&plate, 1);
    float once[SAMPLES], twice[SAMPLES];
    run(&setup, &stack, 1, once);
    setup.line_repeat = 0.4;
    run(&setup, &stack, 1, twice);
    double r = plyecho_reflection(stack.front_impedance_rayl, plate.impedance_rayl);
    double b = plyecho_reflection(plate.impedance_rayl, stack.behind_impedance_rayl);
    double first = (1.0 - r * r) * b, second = first * -r * b, third = second * -r * b;
    double line = 2.0 * 10e-3 / 2680.0, trip = 2.0 * 1e-3 / 2950.0;
    /* (r + first z + second z^2 + third z^3)^2 up to z^3 */
    double square[] = {r * r, 2.0 * r * first, first * first + 2.0 * r * second,
                       2.0 * (r * third + first * second)};
    for (int i = 0; i < SAMPLES; i++) {
        double t = i / 100e6 - 2.0 * line;
        if (t > 3.4 * trip)
            continue;
        double expected = 0.0;
        for (int n = 0; n < 4; n++)
            expected += 0.4 * square[n] * plyecho_pulse_value(&setup.pulse, t - n * trip);
        assert_true(fabs((double)twice[i] - (double)once[i] - expected) < 2e-5);
    }
}

/* Steel in water rings for thousands of records; a transform would fold that back on the start
 * of the record. The same stack in a record 16 times as long differs by less than -80 dB. */
static void late_echoes_do_not_wrap_around(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.delay_line = medium("water", 5.0);
    struct plyecho_layer plate = medium("steel", 1.0);
    plate.attenuation_np_m_hz = 0.0;
    struct plyecho_stack stack = stack_of(&plate, 1);
    stack.front_impedance_rayl = medium("water", 1.0).impedance_rayl;
    float brief[SAMPLES], *lengthy = malloc(LONG * sizeof *lengthy);
    double peak = run(&setup, &stack, 1, brief).peak_level;
    setup.samples = LONG;
    run(&setup, &stack, 1, lengthy);
    double late = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        assert_true(fabs((double)brief[i] - (double)lengthy[i]) < 1e-4 * peak);
        late = fmax(late, fabs((double)lengthy[SAMPLES + i]));
    }
    assert_true(late > 1e-2 * peak); /* or there would be nothing to fold back */
    free(lengthy);
}

/* A record that begins after the first echo, or long before it, shows the same echoes. */
static void the_start_time_moves_the_window_only(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    struct plyecho_layer plate = medium("carbon", 3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    float whole[SAMPLES], late[SAMPLES], early[SAMPLES];
    run(&setup, &stack, 1, whole);
    setup.start_s = 8e-6;
    setup.samples = SAMPLES - 800;
    run(&setup, &stack, 1, late);
    for (int i = 0; i < SAMPLES - 800; i++)
        assert_true(fabs(whole[i + 800] - late[i]) < 1e-6);
    setup.start_s = -5e-6;
    setup.samples = SAMPLES;
    run(&setup, &stack, 1, early);
    for (int i = 0; i < SAMPLES; i++)
        assert_true(fabs((i < 500 ? 0.0F : whole[i - 500]) - early[i]) < 1e-6);
}

/* In contact the face's own reflection belongs to the initial pulse, and time starts at `zero`.
 */
static void contact_shows_back_walls_after_the_initial_pulse(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.delay_line.thickness_m = 0.0;
    setup.zero_s = 0.3e-6;
    struct plyecho_layer plate = medium("carbon", 3.2);
    plate.attenuation_np_m_hz = 0.0;
    struct plyecho_stack stack = stack_of(&plate, 1);
    stack.front_impedance_rayl = 8e6;
    float echoes[SAMPLES], all[SAMPLES];
    run(&setup, &stack, 1, echoes);
    double r = plyecho_reflection(8e6, plate.impedance_rayl), trip = 2.0 * 3.2e-3 / 2950.0;
    double b = plyecho_reflection(plate.impedance_rayl, stack.behind_impedance_rayl);
    for (int i = 0; i < SAMPLES; i++) {
        double expected = 0.0, echo = (1.0 - r * r) * b;
        for (int n = 1; n < 12; n++, echo *= -r * b)
            expected += echo * plyecho_pulse_value(&setup.pulse, i / 100e6 - 0.3e-6 - n * trip);
        assert_true(fabs(echoes[i] - expected) < 1e-5);
    }
    setup.initial_level = 3.0;
    setup.initial_fall_s = 0.2e-6;
    run(&setup, &stack, 1, all);
    double early = 0.0, dead_zone_end = 0.0;
    for (int i = 0; i < 60; i++)
        early = fmax(early, fabs((double)all[i] - (double)echoes[i]));
    for (int i = 150; i < SAMPLES; i++)
        dead_zone_end = fmax(dead_zone_end, fabs((double)all[i] - (double)echoes[i]));
    assert_true(early > 2.5 && early <= 3.0);
    assert_true(dead_zone_end < 0.01);
}

/* Attenuation and dispersion together: the spectrum of the back-wall echo over that of the
 * pulse has the loss at each frequency, and the phase of the stated velocity at the centre. */
static void loss_and_phase_velocity_reach_the_trace(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.delay_line.thickness_m = 0.0;
    struct plyecho_layer plate = medium("carbon", 3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    stack.front_impedance_rayl = plate.impedance_rayl;
    stack.behind_impedance_rayl = 1e-6;
    float amplitude[SAMPLES];
    run(&setup, &stack, 1, amplitude);
    for (double f = 7e6; f <= 13e6; f += 1e6) {
        double complex sum = 0.0;
        for (int i = 0; i < SAMPLES; i++)
            sum += amplitude[i] * cexp(-I * (2.0 * pi * f * i / 100e6));
        double complex ratio = -sum / 100e6 / plyecho_pulse_spectrum(&setup.pulse, f);
        assert_true(fabs(-20.0 * log10(cabs(ratio)) - 0.1 * 6.4 * f / 1e6) < 1e-3);
        if (f == 10e6) {
            double turns = f * 6.4e-3 / 2950.0;
            assert_true(fabs(remainder(carg(ratio) / (2.0 * pi) + turns, 1.0)) < 1e-5);
        }
    }
}

static void noise_has_the_ratio_asked_for(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.samples = LONG;
    setup.snr_db = 26.0;
    struct plyecho_layer plate = medium("carbon", 3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    float *clean = malloc(LONG * sizeof *clean), *noisy = malloc(LONG * sizeof *noisy);
    double noise_level = run(&setup, &stack, 7, noisy).noise_level;
    setup.snr_db = INFINITY;
    run(&setup, &stack, 7, clean);
    double peak = 0.0, sum = 0.0, square = 0.0, lag = 0.0, before = 0.0;
    for (int i = 0; i < LONG; i++) {
        double n = (double)noisy[i] - (double)clean[i];
        peak = fmax(peak, fabs(clean[i]));
        sum += n;
        square += n * n;
        lag += n * before;
        before = n;
    }
    double sd = sqrt(square / LONG);
    /* standard errors: sd/sqrt(2n) of the deviation, sd/sqrt(n) of mean and correlation; 4 of
     * them */
    double bound = 4.0 / sqrt(LONG);
    assert_true(fabs(sd / (peak * pow(10.0, -26.0 / 20.0)) - 1.0) < bound / sqrt(2.0));
    assert_true(fabs(sd / noise_level - 1.0) < bound / sqrt(2.0));
    assert_true(fabs(sum / LONG / sd) < bound);
    assert_true(fabs(lag / square) < bound);
    free(clean);
    free(noisy);
}

/* A 12-bit converter over +-1: steps of 1/2048, the top code one step below full scale. */
static void the_converter_rounds_and_clips(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.initial_level = 3.0;
    setup.full_scale = 1.0;
    struct plyecho_layer plate = medium("carbon", 3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    float exact[SAMPLES], counted[SAMPLES];
    run(&setup, &stack, 1, exact);
    setup.bits = 12;
    run(&setup, &stack, 1, counted);
    float low = 0.0F, high = 0.0F;
    for (int i = 0; i < SAMPLES; i++) {
        double counts = (double)counted[i] * 2048.0;
        assert_true(counts == rint(counts));
        low = fminf(low, counted[i]);
        high = fmaxf(high, counted[i]);
        assert_true(fabs((double)exact[i] - (double)counted[i]) <=
                    (exact[i] > 0.999F ? 1.0 : 0.5001) / 2048.0);
    }
    assert_true(high == 2047.0F / 2048.0F);
    assert_true(low == -1.0F);
    struct plyecho_simulator *sim;
    assert_int_equal(plyecho_simulator_new(&sim, &setup, NULL), PLYECHO_OK);
    assert_true(plyecho_simulator_step(sim) == 1.0 / 2048.0);
    plyecho_simulator_free(sim);
}

static void the_same_seed_gives_the_same_trace(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.snr_db = 40.0;
    setup.front_jitter_db = 1.0;
    setup.drift_level = 0.01;
    struct plyecho_layer plate = medium("carbon", 3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    float first[SAMPLES], again[SAMPLES], other[SAMPLES];
    struct plyecho_simulator *sim;
    assert_int_equal(plyecho_simulator_new(&sim, &setup, NULL), PLYECHO_OK);
    plyecho_simulator_run(sim, &stack, 5, first, NULL, NULL);
    plyecho_simulator_run(sim, &stack, 6, other, NULL, NULL);
    plyecho_simulator_run(sim, &stack, 5, again, NULL, NULL);
    plyecho_simulator_free(sim);
    assert_memory_equal(first, again, sizeof first);
    assert_memory_not_equal(first, other, sizeof first);
}

/* The front echo's gain varies by the deviation asked for, and the back wall keeps its level.
 */
static void jitter_moves_the_front_echo_alone(void **state)
{
    (void)state;
    enum { RUNS = 400 };
    struct plyecho_setup setup = plain_setup();
    struct plyecho_layer plate = medium("carbon", 3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    float plain[SAMPLES], moved[SAMPLES];
    run(&setup, &stack, 1, plain);
    setup.front_jitter_db = 1.0;
    struct plyecho_simulator *sim;
    assert_int_equal(plyecho_simulator_new(&sim, &setup, NULL), PLYECHO_OK);
    int front = (int)(2.0 * 10e-3 / 2680.0 * 100e6), back = front + 180;
    double square = 0.0;
    for (unsigned long seed = 1; seed <= RUNS; seed++) {
        struct plyecho_simulated came;
        plyecho_simulator_run(sim, &stack, seed, moved, &came, NULL);
        double gain = pow(10.0, came.front_gain_db / 20.0);
        for (int i = front - 20; i < front + 20; i++)
            assert_true(fabs((double)moved[i] - gain * (double)plain[i]) < 1e-6);
        for (int i = back; i < back + 80; i++)
            assert_true(fabs(moved[i] - plain[i]) < 1e-6);
        square += came.front_gain_db * came.front_gain_db;
    }
    plyecho_simulator_free(sim);
    assert_true(fabs(sqrt(square / RUNS) - 1.0) < 4.0 / sqrt(2.0 * RUNS));
}

static void drift_is_slow_and_no_larger_than_asked(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    struct plyecho_stack stack = stack_of(NULL, 0);
    float plain[SAMPLES], drifting[SAMPLES];
    run(&setup, &stack, 3, plain);
    setup.drift_level = 0.02;
    run(&setup, &stack, 3, drifting);
    double largest = 0.0, step = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        double drift = (double)drifting[i] - (double)plain[i];
        largest = fmax(largest, fabs(drift));
        if (i > 0)
            step = fmax(step, fabs(drift - ((double)drifting[i - 1] - (double)plain[i - 1])));
    }
    assert_true(largest > 0.01 && largest < 0.02001);
    assert_true(step < 0.02 * 2.0 * pi / SAMPLES);
}

static void refused(const struct plyecho_setup *setup, enum plyecho_code code,
                    const char *words)
{
    struct plyecho_simulator *sim;
    struct plyecho_error err;
    assert_int_equal(plyecho_simulator_new(&sim, setup, &err), code);
    assert_null(sim);
    assert_non_null(strstr(err.text, words));
}

static void impossible_setups_are_refused(void **state)
{
    (void)state;
    const struct plyecho_setup good = plain_setup();
    struct plyecho_setup bad = good;
    bad.sample_rate_hz = 25e6;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "Nyquist frequency of 12.5 MHz");
    bad.sample_rate_hz = 15e6;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "Nyquist frequency of 7.5 MHz");
    bad = good;
    bad.samples = 500;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "ends at 5 us, before the first echo at 7.4");
    bad = good;
    bad.samples = 1;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "1 samples");
    bad = good;
    bad.level = 0.0;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "the level is 0");
    bad = good;
    bad.drift_level = -1.0;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "the drift is -1");
    bad = good;
    bad.snr_db = NAN;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "signal-to-noise");
    bad = good;
    bad.line_repeat = 2.0;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "repeats by 2");
    bad = good;
    bad.bits = 12;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "full scale");
    bad.bits = 40;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "40 bits");
    bad = good;
    bad.delay_line.velocity_m_s = 0.0;
    refused(&bad, PLYECHO_BAD_ARGUMENT, "velocity of 0");
    bad = good;
    bad.start_s = 0.1;
    refused(&bad, PLYECHO_TOO_LARGE, "the limit is");
}

static void a_bad_stack_is_refused_at_the_run(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    struct plyecho_layer plate = medium("carbon", -3.2);
    struct plyecho_stack stack = stack_of(&plate, 1);
    struct plyecho_simulator *sim;
    float amplitude[SAMPLES];
    assert_int_equal(plyecho_simulator_new(&sim, &setup, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_simulator_run(sim, &stack, 1, amplitude, NULL, NULL),
                     PLYECHO_BAD_ARGUMENT);
    plyecho_simulator_free(sim);
}

static void every_failing_allocation_is_reported(void **state)
{
    (void)state;
    struct plyecho_setup setup = plain_setup();
    setup.initial_level = 1.0;
    long n = 0;
    enum plyecho_code code;
    do {
        struct plyecho_simulator *sim;
        fail_allocation(n++);
        code = plyecho_simulator_new(&sim, &setup, NULL);
        fail_no_allocation();
        assert_true(code == PLYECHO_OK || (code == PLYECHO_NO_MEMORY && sim == NULL));
        plyecho_simulator_free(sim);
    } while (code != PLYECHO_OK);
    assert_int_equal(n, 5); /* simulator, way, work, initial pulse; then it works */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plate_gives_its_train_of_pulses),
        cmocka_unit_test(the_delay_line_repeats),
        cmocka_unit_test(a_repeat_carries_the_response_again),
        cmocka_unit_test(late_echoes_do_not_wrap_around),
        cmocka_unit_test(the_start_time_moves_the_window_only),
        cmocka_unit_test(contact_shows_back_walls_after_the_initial_pulse),
        cmocka_unit_test(loss_and_phase_velocity_reach_the_trace),
        cmocka_unit_test(noise_has_the_ratio_asked_for),
        cmocka_unit_test(the_converter_rounds_and_clips),
        cmocka_unit_test(the_same_seed_gives_the_same_trace),
        cmocka_unit_test(jitter_moves_the_front_echo_alone),
        cmocka_unit_test(drift_is_slow_and_no_larger_than_asked),
        cmocka_unit_test(impossible_setups_are_refused),
        cmocka_unit_test(a_bad_stack_is_refused_at_the_run),
        cmocka_unit_test(every_failing_allocation_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
