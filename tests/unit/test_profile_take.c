/* What is kept of a trace by depth: steps, where they end, strengths over a full reflector's. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "profile_take.h"

enum { SAMPLES = 2048, FRONT = 800, PER_STEP = 5 };

static const double rate_hz = 100e6, velocity_m_s = 3000.0, scale = 2.0;
/* between two samples, so that rounding does not tell which step one is in */
static const double front_s = 8.004e-6;

struct made {
    float envelope[SAMPLES];
    struct plyecho_conditioned trace;
    struct pe_evidence evidence;
    struct plyecho_profile profile;
};

static void begin(struct made *m)
{
    *m = (struct made){
        .trace = {.samples = SAMPLES, .sample_rate_hz = rate_hz},
        .evidence = {.picks = {.front = 0, .back = -1, .second = -1, .pulse_s = 0.4e-6},
                     .front_s = front_s,
                     .scale = scale},
    };
    m->trace.envelope = m->envelope;
    memset(&m->profile, 0xff, sizeof m->profile); /* all of it has to be filled */
}

static const struct plyecho_profile *take(struct made *m)
{
    pe_profile_take(&m->trace, &m->evidence, velocity_m_s, &m->profile);
    return &m->profile;
}

static void expect_zero_from(const struct plyecho_profile *p, size_t step)
{
    for (size_t k = step; k < PLYECHO_PROFILE_STEPS; k++)
        assert_true(p->strength[k] == 0.0f);
}

static void each_step_has_its_highest(void **state)
{
    (void)state;
    struct made m;
    begin(&m);
    /* first and last sample of step 10, and a lower one between them */
    m.envelope[FRONT + 10 * PER_STEP + 1] = 0.2f;
    m.envelope[FRONT + 10 * PER_STEP + 3] = 0.1f;
    m.envelope[FRONT + 10 * PER_STEP + 5] = 0.4f;
    m.envelope[FRONT + 11 * PER_STEP + 1] = 0.6f;
    m.envelope[FRONT - 1] = 9.0f; /* ahead of the front */
    const struct plyecho_profile *p = take(&m);
    /* 50 ns there and back at 3000 m/s: 150 um, half of that deep */
    assert_float_equal(p->step_m, 75e-6, 1e-12);
    for (size_t k = 0; k < p->count; k++)
        assert_float_equal(p->strength[k],
                           k == 10   ? 0.4 / scale
                           : k == 11 ? 0.6 / scale
                                     : 0.0,
                           1e-7);
    expect_zero_from(p, p->count);
}

/* Attenuation as it is stated, in dB a mm and one way: a full reflector at d mm has lost 2 d times that. The sample is
 * up to half a step off the middle of its step, by which 1 dB/mm is taken back: 0.075 dB, 0.9 %. */
static void a_full_reflector_stands_at_one(void **state)
{
    (void)state;
    const double db_mm = 1.0;
    for (size_t k = 4; k < 100; k += 7)
        for (size_t sample = 1; sample <= PER_STEP; sample++) {
            struct made m;
            begin(&m);
            size_t at = FRONT + k * PER_STEP + sample;
            double deep_mm = 0.5e3 * velocity_m_s * ((double)at / rate_hz - front_s);
            m.evidence.loss_np_s = db_mm * log(10.0) / 20.0 * 1e3 * velocity_m_s;
            m.envelope[at] = (float)(scale * pow(10.0, -2.0 * db_mm * deep_mm / 20.0));
            assert_float_equal(take(&m)->strength[k], 1.0, 0.009);
        }
}

static void a_record_has_an_end(void **state)
{
    (void)state;
    struct made m;
    begin(&m);
    m.evidence.front_s = 15.004e-6;
    for (size_t i = 0; i < SAMPLES; i++)
        m.envelope[i] = 1.0f;
    /* 20.48 us - 15.004 us are 109.5 steps: none is counted in part */
    assert_int_equal(take(&m)->count, 109);
    assert_true(m.profile.strength[108] > 0.0f);
    expect_zero_from(&m.profile, 109);
}

/* The pulse that goes through the line once more comes at twice the time of its end, half a pulse earlier at its foot. */
static void the_lines_repeat_is_an_end(void **state)
{
    (void)state;
    struct made m;
    begin(&m);
    for (size_t i = 1561; i < SAMPLES; i++)
        m.envelope[i] = 1.0f;
    /* 2 * 8.004 us - 0.4 us - 8.004 us are 152.08 steps: up to sample 1560 */
    assert_int_equal(take(&m)->count, 152);
    expect_zero_from(&m.profile, 0);
}

/* A time base that begins elsewhere, and one whose zero is the front: the line's repeat is not in it. */
static void times_count_from_the_transmission(void **state)
{
    (void)state;
    static const double starts_s[] = {10e-6, -8.004e-6};
    for (size_t k = 0; k < 2; k++) {
        struct made m;
        begin(&m);
        m.trace.start_s = starts_s[k];
        m.evidence.front_s = k == 0 ? 10e-6 + front_s : 0.0;
        m.envelope[FRONT + 30 * PER_STEP + 3] = 1.0f;
        assert_int_equal(take(&m)->count, PLYECHO_PROFILE_STEPS);
        for (size_t step = 0; step < PLYECHO_PROFILE_STEPS; step++)
            assert_float_equal(m.profile.strength[step], step == 30 ? 0.5 : 0.0, 1e-7);
    }
}

/* At 12.5 MS/s three steps in eight hold no sample: they have the next one's. */
static void a_low_rate_leaves_no_step_empty(void **state)
{
    (void)state;
    struct made m;
    begin(&m);
    m.trace.sample_rate_hz = 12.5e6;
    for (size_t i = 0; i < SAMPLES; i++)
        m.envelope[i] = 1.0f;
    assert_int_equal(take(&m)->count, 152);
    for (size_t step = 0; step < m.profile.count; step++)
        assert_float_equal(m.profile.strength[step], 0.5, 1e-7);
}

static void a_record_that_begins_behind_the_front_has_none(void **state)
{
    (void)state;
    struct made m;
    begin(&m);
    m.trace.start_s = front_s + 1e-9;
    assert_int_equal(take(&m)->count, 0);
}

static void without_front_or_scale_there_is_none(void **state)
{
    (void)state;
    for (size_t k = 0; k < 3; k++) {
        struct made m;
        begin(&m);
        for (size_t i = 0; i < SAMPLES; i++)
            m.envelope[i] = 1.0f;
        if (k == 0)
            m.evidence.picks.front = -1;
        else
            m.evidence.scale = k == 1 ? 0.0 : NAN;
        assert_int_equal(take(&m)->count, 0);
        expect_zero_from(&m.profile, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_step_has_its_highest),
        cmocka_unit_test(a_full_reflector_stands_at_one),
        cmocka_unit_test(a_record_has_an_end),
        cmocka_unit_test(the_lines_repeat_is_an_end),
        cmocka_unit_test(times_count_from_the_transmission),
        cmocka_unit_test(a_low_rate_leaves_no_step_empty),
        cmocka_unit_test(a_record_that_begins_behind_the_front_has_none),
        cmocka_unit_test(without_front_or_scale_there_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
