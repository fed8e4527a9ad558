/* What counts as clipped, and what only looks like it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/clipping.h>

#define PI 3.14159265358979323846

enum { SAMPLES = 1000 };

static struct plyecho_trace view(const float *x, double full_scale, double step)
{
    return (struct plyecho_trace){.amplitude = x,
                                  .samples = SAMPLES,
                                  .sample_rate_hz = 100e6,
                                  .full_scale = full_scale,
                                  .step = step,
                                  .channel = 1};
}

/* A burst of `period` samples a wave round sample 300, held within +-limit, on a grid of step
 * (0: none). */
static void burst(float *x, double height, double period, double limit, double step)
{
    for (size_t i = 0; i < SAMPLES; i++) {
        double t = (double)i - 300.0;
        double y = height * exp(-t * t / (9.0 * period * period)) * cos(2.0 * PI * t / period);
        y = fmax(-limit, fmin(limit, y));
        x[i] = (float)(step > 0.0 ? step * round(y / step) : y);
    }
}

static void crests_cut_below_full_scale_are_found(void **state)
{
    (void)state;
    float x[SAMPLES];
    struct plyecho_clipping clipping;
    const double steps[] = {0.0, 1.0 / 2048.0, 1.0 / 128.0};
    for (int s = 0; s < 3; s++)
        for (int known = 0; known < 2; known++) {
            burst(x, 1.3, 12.0, 0.8, steps[s]);
            struct plyecho_trace trace = view(x, 0.0, known ? steps[s] : 0.0);
            assert_true(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
            assert_in_range(clipping.samples, 6, 40);
            assert_in_range(clipping.first, 270, 300);
            assert_in_range(clipping.last, 300, 330);
            assert_false(plyecho_clipping_find(&trace, 400, SAMPLES, &clipping));
            assert_int_equal(clipping.samples, 0);
        }
}

static void crests_that_fit_are_no_clipping(void **state)
{
    (void)state;
    float x[SAMPLES];
    struct plyecho_clipping clipping;
    /* 10, 40 and 100 samples a wave; heights of 7 to 120 counts round crests flat, or not. */
    const double periods[] = {10.0, 40.0, 100.0};
    for (int p = 0; p < 3; p++)
        for (double counts = 7.0; counts < 120.0; counts += 0.37)
            for (int known = 0; known < 2; known++) {
                burst(x, counts, periods[p], 1e9, 1.0);
                struct plyecho_trace trace = view(x, 0.0, known ? 1.0 : 0.0);
                if (plyecho_clipping_find(&trace, 0, SAMPLES, &clipping))
                    fail_msg("%g samples a wave, %g counts", periods[p], counts);
            }
}

static void samples_at_full_scale_are_found(void **state)
{
    (void)state;
    float x[SAMPLES];
    struct plyecho_clipping clipping;
    burst(x, 0.5, 12.0, 1.0, 0.0);
    x[300] = 1.0f; /* one alone is the crest that just fits */
    struct plyecho_trace trace = view(x, 1.0, 0.0);
    assert_false(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
    x[301] = 1.0f;
    assert_true(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
    assert_int_equal(clipping.samples, 2);
    assert_int_equal(clipping.first, 300);
    assert_int_equal(clipping.last, 301);
    /* The highest code of a converter lies one count below its full scale. */
    x[300] = x[301] = 1.0f - 1.0f / 2048.0f;
    assert_false(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
    trace.step = 1.0 / 2048.0;
    assert_true(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
    x[301] = 0.0f; /* three single ones */
    x[306] = -1.0f;
    assert_false(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
    x[312] = -1.0f;
    assert_true(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
    assert_int_equal(clipping.samples, 3);
}

static void base_lines_are_no_clipping(void **state)
{
    (void)state;
    float x[SAMPLES] = {0};
    struct plyecho_clipping clipping;
    struct plyecho_trace trace = view(x, 0.0, 0.0);
    assert_false(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping)); /* constant */
    burst(x, 100.0, 12.0, 1e9, 1.0);
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = fabsf(x[i]);
    assert_false(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping)); /* rectified */
    /* an envelope on a floor of its own, which drops to it by many counts: the floor is no crest */
    for (size_t i = 0; i < SAMPLES; i++)
        x[i] = i % 100 < 90 ? -1.0f : (float)(i % 100);
    assert_false(plyecho_clipping_find(&trace, 0, SAMPLES, &clipping));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crests_cut_below_full_scale_are_found),
        cmocka_unit_test(crests_that_fit_are_no_clipping),
        cmocka_unit_test(samples_at_full_scale_are_found),
        cmocka_unit_test(base_lines_are_no_clipping),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
