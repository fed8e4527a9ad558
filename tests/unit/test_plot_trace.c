/* What a trace's picture shows: title, stretch, depth, verdict, and traces of every kind. */
#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../../src/cmd/plot_trace.h"

enum { SAMPLES = 2400 };
#define RATE_HZ 100e6
#define CENTRE_HZ 5e6
#define VELOCITY 3000.0
#define NOISE_WIDTH 0.05f /* of its even distribution; hides the band filter's side lobes */
#define PI 3.14159265358979323846

struct fixture {
    struct plyecho_traces traces;
    struct setup setup;
    struct plot_trace_options options;
    struct plot_trace *plot;
    struct plot_picture picture;
    struct plyecho_error err;
};

static void add_echo(struct plyecho_traces *traces, double time_s, double height)
{
    float *samples = plyecho_traces_samples(traces, 1);
    for (int i = 0; i < SAMPLES; i++) {
        double t = traces->start_s + i / RATE_HZ - time_s;
        samples[i] +=
            (float)(height * exp(-0.5 * t * t / (80e-9 * 80e-9)) * cos(2 * PI * CENTRE_HZ * t));
    }
}

/* A delay line of 10 us, a wall of 3 mm (2 us) in it, and the line's repeats behind 20 us. */
static int open_trace(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    unsigned random = 1;
    if (f == NULL || plyecho_traces_init(&f->traces, 1, SAMPLES, NULL) != PLYECHO_OK)
        return -1;
    f->traces.sample_rate_hz = RATE_HZ;
    f->traces.start_s = 8e-6;
    add_echo(&f->traces, 10e-6, 0.4);
    add_echo(&f->traces, 12e-6, -0.8);
    add_echo(&f->traces, 14e-6, 0.15);
    add_echo(&f->traces, 20e-6, 0.1);
    add_echo(&f->traces, 22e-6, -0.2);
    for (int i = 0; i < SAMPLES; i++) {
        random = random * 1664525u + 1013904223u;
        f->traces.amplitude[i] += NOISE_WIDTH * (float)((random >> 8) / 16777216.0 - 0.5);
    }
    f->options = (struct plot_trace_options){
        .setup = &f->setup, .envelope = true, .least_level_db = -20};
    f->setup.assess.wall = plyecho_wall_defaults();
    f->plot = plot_trace_new(&f->options);
    *state = f;
    return 0;
}

static int close_trace(void **state)
{
    struct fixture *f = *state;
    plot_trace_free(f->plot);
    setup_close(&f->setup);
    plyecho_traces_clear(&f->traces);
    free(f);
    return 0;
}

static enum plyecho_code run(struct fixture *f, const char *name, size_t channels)
{
    struct plyecho_trace trace = plyecho_traces_channel(&f->traces, 1);
    return plot_trace_run(f->plot, name, channels, &trace, &f->picture, &f->err);
}

static void expect_note(const struct fixture *f, const char *words, bool expected)
{
    bool found = false;
    for (size_t i = 0; f->picture.notes[i] != NULL; i++)
        found = found || strstr(f->picture.notes[i], words) != NULL;
    if (found != expected)
        fail_msg("note '%s': %s", words, expected ? "missing" : "not expected");
}

static void the_title_names_part_and_place(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(run(f, "a/b/ring3.wav", 1), PLYECHO_OK);
    assert_string_equal(f->picture.title, "ring3.wav");
    assert_int_equal(run(f, "-", 4), PLYECHO_OK);
    assert_string_equal(f->picture.title, "standard input, channel 1");
    plyecho_labels_set(&f->traces.labels, "part", 0, "Tricycle 7", NULL);
    plyecho_labels_set(&f->traces.labels, "position", 0, "ring 3", NULL);
    plyecho_labels_set(&f->traces.labels, "angle_deg", 1, "52.5", NULL);
    plyecho_labels_set(&f->traces.labels, "axial_mm", 0, "40", NULL);
    assert_int_equal(run(f, "ring3.wav", 1), PLYECHO_OK);
    assert_string_equal(f->picture.title, "Tricycle 7, ring 3, angle 52.5°, axial 40 mm");
    /* what the position's own words say is not said again; 40 within 140 is another number */
    plyecho_labels_set(&f->traces.labels, "position", 0, "ring at 40 mm", NULL);
    assert_int_equal(run(f, "ring3.wav", 1), PLYECHO_OK);
    assert_string_equal(f->picture.title, "Tricycle 7, ring at 40 mm, angle 52.5°");
    plyecho_labels_set(&f->traces.labels, "position", 0, "ring 140, 52.5.", NULL);
    assert_int_equal(run(f, "ring3.wav", 1), PLYECHO_OK);
    assert_string_equal(f->picture.title, "Tricycle 7, ring 140, 52.5., axial 40 mm");
}

static void it_shows_the_wall_and_not_the_repeats_of_the_line(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_int_equal(f->picture.mark_count, 5);
    assert_true(f->picture.from_s > 8e-6 && f->picture.from_s < 10e-6);
    assert_true(f->picture.to_s > 14e-6 && f->picture.to_s < 20e-6);
    for (unsigned i = 0; i < 5; i++)
        assert_int_equal(f->picture.marks[i].number, i + 1);
    assert_true(fabs(f->picture.marks[1].time_s - 12e-6) < 10e-9);
    assert_true(fabs(f->picture.marks[1].level - 0.8) < 0.05);
    assert_true(f->picture.marks[1].level_db == 0);
    assert_true(f->picture.envelope.value != NULL && f->picture.two_sided);
    assert_true(f->picture.velocity_m_s == 0);
    /* The line that noise stays below: 14 dB, a factor of 5, over its standard deviation in the
     * band, here 0.2 of all frequencies, give or take half. */
    double line = 5 * NOISE_WIDTH / sqrt(12) * sqrt(0.2);
    assert_true(f->picture.noise > 0.5 * line && f->picture.noise < 1.5 * line);
}

static void a_stretch_that_was_asked_for_is_shown(void **state)
{
    struct fixture *f = *state;
    f->options.has_from = f->options.has_to = true;
    f->options.from_s = 9e-6;
    f->options.to_s = 24e-6;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_true(f->picture.from_s == 9e-6 && f->picture.to_s == 24e-6);
    f->options.to_s = 9e-6;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_BAD_ARGUMENT);
    f->options.from_s = 100e-6;
    f->options.to_s = 101e-6;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(f->err.text, "the trace runs from 8 to 31.99 µs"));
}

static void depth_begins_at_the_interface_echo(void **state)
{
    struct fixture *f = *state;
    f->setup.assess.wall.velocity_m_s = VELOCITY;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_true(f->picture.velocity_m_s == VELOCITY);
    assert_true(fabs(f->picture.depth_zero_s - 10e-6) < 10e-9);
    expect_note(f, "wall 3.00 mm", true);
    expect_note(f, "nominal wall not given", true);
    expect_note(f, "A reading, not a clearance", true);
    assert_true(fabs(f->picture.depth_end_s - 12e-6) < 0.12e-6); /* the back wall */
    assert_int_equal(f->picture.gate_count, 1);
    assert_true(f->picture.gates[0].from_s > 10e-6 && f->picture.gates[0].to_s < 12e-6);
    f->setup.assess.wall.nominal_m = (struct plyecho_known){true, 3e-3};
    f->setup.assess.wall.tolerance_m = 0.3e-3;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    expect_note(f, "nominal wall not given", false);
}

/* What its neighbours say of a place goes with its trace; the trace's own reason is answered by them. */
static void both_verdicts_of_a_place_are_told(void **state)
{
    struct fixture *f = *state;
    struct plyecho_place_reading place = {
        .second = PLYECHO_THIN,
        .second_wall_m = {true, 2.759e-3},
    };
    f->options.place = &place;
    f->setup.assess.wall.velocity_m_s = VELOCITY;
    f->setup.assess.wall.mode = PLYECHO_MODE_1; /* whose reason is the missing zero */
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    expect_note(f, "by its trace alone: ", true);
    expect_note(f, "with its neighbours: thin, wall 2.76 mm", true);
    expect_note(f, "zero offset not given", false);
    f->options.place = NULL; /* and alone it gives its reason */
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    expect_note(f, "zero offset not given", true);
    expect_note(f, "alone", false);
}

static void a_verdict_that_neighbours_share_is_told_once(void **state)
{
    struct fixture *f = *state;
    const struct plyecho_place_reading place = {.second = PLYECHO_DELAMINATION};
    f->options.place = &place;
    f->setup.assess.wall.velocity_m_s = VELOCITY;
    f->setup.assess.wall.nominal_m = (struct plyecho_known){true, 3e-3};
    f->setup.assess.wall.tolerance_m = 0.3e-3;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    expect_note(f, "delamination, wall 3.00 mm, echo inside at", true);
    expect_note(f, "neighbours", false);
}

/* 26 dB and more below the back wall: marked only on demand, or where the verdict speaks of it. */
static void low_echoes_are_counted_and_not_marked(void **state)
{
    struct fixture *f = *state;
    add_echo(&f->traces, 10.6e-6, 0.04);
    add_echo(&f->traces, 11.2e-6, 0.038);
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_int_equal(f->picture.mark_count, 5);
    assert_int_equal(f->picture.marks[1].number, 4); /* as plyecho echoes counts */
    expect_note(f, "Not marked: 2 echoes below -20 dB", true);
    f->options.least_level_db = -40;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_int_equal(f->picture.mark_count, 7);
    expect_note(f, "Not marked", false);
    f->options.least_level_db = -1; /* the wall's own two stay, whatever their level */
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_int_equal(f->picture.mark_count, 2);
    assert_int_equal(f->picture.marks[0].number, 1);
    assert_true(fabs(f->picture.marks[0].level_db - 20 * log10(0.5)) < 0.5);
}

static void in_contact_depth_begins_at_the_zero_offset(void **state)
{
    struct fixture *f = *state;
    f->setup.assess.wall.velocity_m_s = VELOCITY;
    f->setup.assess.wall.mode = PLYECHO_MODE_1;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_true(f->picture.velocity_m_s == 0);
    expect_note(f, "give --zero", true);
    f->setup.assess.wall.zero_s = (struct plyecho_known){true, 9e-6};
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_true(f->picture.velocity_m_s == VELOCITY && f->picture.depth_zero_s == 9e-6);
}

static void with_a_band_the_trace_is_shown_within_it(void **state)
{
    struct fixture *f = *state;
    const struct plyecho_band band = {2e6, 9e6}, beyond = {2e6, 60e6};
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_ptr_equal(f->picture.trace.value, f->traces.amplitude);
    conditioning_close(&f->setup.conditioning);
    conditioning_open(&f->setup.conditioning, &band);
    f->options.filtered = true;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_ptr_not_equal(f->picture.trace.value, f->traces.amplitude);
    assert_string_equal(f->picture.trace_text, "Trace, 2 to 9 MHz");
    f->traces.signal = PLYECHO_SIGNAL_ENVELOPE;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_UNSUITABLE);
    assert_non_null(strstr(f->err.text, "leave --band out"));
    f->traces.signal = PLYECHO_SIGNAL_RF;
    conditioning_close(&f->setup.conditioning);
    conditioning_open(&f->setup.conditioning, &beyond);
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_BAD_ARGUMENT);
}

static void a_flat_trace_is_drawn_as_it_is(void **state)
{
    struct fixture *f = *state;
    memset(f->traces.amplitude, 0, SAMPLES * sizeof(float));
    f->setup.assess.wall.velocity_m_s = VELOCITY;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_int_equal(f->picture.mark_count, 0);
    assert_true(f->picture.envelope.value == NULL && isnan(f->picture.noise));
    assert_true(f->picture.from_s == 8e-6);
    expect_note(f, "No echo stands out of the noise", true);
}

static void levels_in_db_stay_in_db(void **state)
{
    struct fixture *f = *state;
    float *samples = f->traces.amplitude;
    for (int i = 0; i < SAMPLES; i++) {
        double t = f->traces.start_s + i / RATE_HZ - 12e-6;
        samples[i] = (float)(20 * log10(0.01 + 0.5 * exp(-0.5 * t * t / (80e-9 * 80e-9))));
    }
    f->traces.signal = PLYECHO_SIGNAL_LOG;
    assert_int_equal(run(f, "a.csv", 1), PLYECHO_OK);
    assert_string_equal(f->picture.amplitude_text, "Level");
    assert_string_equal(f->picture.unit, "dB");
    assert_true(!f->picture.two_sided && f->picture.envelope.value == NULL);
    assert_int_equal(f->picture.mark_count, 1);
    assert_true(fabs(f->picture.marks[0].level - 20 * log10(0.51)) < 0.1);
}

int main(void)
{
#define WITH_TRACE(test) cmocka_unit_test_setup_teardown(test, open_trace, close_trace)
    const struct CMUnitTest tests[] = {
        WITH_TRACE(the_title_names_part_and_place),
        WITH_TRACE(it_shows_the_wall_and_not_the_repeats_of_the_line),
        WITH_TRACE(a_stretch_that_was_asked_for_is_shown),
        WITH_TRACE(depth_begins_at_the_interface_echo),
        WITH_TRACE(both_verdicts_of_a_place_are_told),
        WITH_TRACE(a_verdict_that_neighbours_share_is_told_once),
        WITH_TRACE(low_echoes_are_counted_and_not_marked),
        WITH_TRACE(in_contact_depth_begins_at_the_zero_offset),
        WITH_TRACE(with_a_band_the_trace_is_shown_within_it),
        WITH_TRACE(a_flat_trace_is_drawn_as_it_is),
        WITH_TRACE(levels_in_db_stay_in_db),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
