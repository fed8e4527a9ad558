/* The filter and the analytic signal by their properties. Against SciPy: tests/reference. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/analytic.h>

#include "failing_alloc.h"

#define PI 3.14159265358979323846

enum { MOST = 4096 };

static const double rate = 100e6;
static const struct plyecho_band wide = {4e6, 16e6};

struct result {
    float in_phase[MOST];
    float quadrature[MOST];
    float envelope[MOST];
};

static void run(const float *x, size_t n, const struct plyecho_band *band,
                struct result *result)
{
    struct plyecho_analytic *analytic;
    struct plyecho_error err;
    if (plyecho_analytic_new(&analytic, n, rate, band, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    plyecho_analytic_run(analytic, x, result->in_phase, result->quadrature);
    plyecho_envelope(result->in_phase, result->quadrature, n, result->envelope);
    plyecho_analytic_free(analytic);
}

/* Gaussian burst of 10 MHz, -6 dB bandwidth about 0.5 of that, its centre at `centre` samples.
 */
static double burst_envelope(double i, double centre)
{
    double t = (i - centre) / rate;
    return exp(-t * t * 88e12);
}

static void add_burst(float *x, size_t n, double centre, double phase)
{
    for (size_t i = 0; i < n; i++) {
        double t = ((double)i - centre) / rate;
        x[i] += (float)(burst_envelope((double)i, centre) * cos(2.0 * PI * 10e6 * t + phase));
    }
}

static void add_sine(float *x, size_t n, double hz)
{
    for (size_t i = 0; i < n; i++)
        x[i] += (float)sin(2.0 * PI * hz * (double)i / rate + 0.3);
}

static void noise(float *x, size_t n, unsigned seed)
{
    uint32_t s = seed * 2654435761u + 1u;
    for (size_t i = 0; i < n; i++) {
        s = s * 1664525u + 1013904223u;
        x[i] = (float)(s >> 8) / 8388608.0f - 1.0f;
    }
}

static double largest(const float *x, size_t from, size_t to)
{
    double most = 0.0;
    for (size_t i = from; i < to; i++)
        most = fmax(most, fabs((double)x[i]));
    return most;
}

/* Peak of an envelope between samples: parabola through the logarithms, exact for a Gaussian.
 */
static double peak_position(const float *env, size_t n)
{
    size_t k = 1;
    for (size_t i = 1; i + 1 < n; i++)
        if (env[i] > env[k])
            k = i;
    double a = log(env[k - 1]), b = log(env[k]), c = log(env[k + 1]);
    return (double)k + 0.5 * (a - c) / (a - 2.0 * b + c);
}

static void known_burst_gives_its_envelope(void **state)
{
    (void)state;
    const size_t lengths[] = {512, 511, 509, 1000, 2048}; /* even, odd, prime */
    static struct result r;
    for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++) {
        size_t n = lengths[l];
        float x[MOST] = {0};
        add_burst(x, n, 200.3, 0.7);
        run(x, n, NULL, &r);
        for (size_t i = 0; i < n; i++) {
            assert_float_equal(r.envelope[i], burst_envelope((double)i, 200.3), 1e-5);
            assert_float_equal(r.in_phase[i], x[i], 1e-6);
        }
        assert_float_equal(peak_position(r.envelope, n), 200.3, 1e-3);
    }
}

static void band_keeps_a_burst_inside_it(void **state)
{
    (void)state;
    static struct result r;
    const struct plyecho_band band = {1e6, 25e6};
    for (size_t n = 600; n < 605; n++) {
        float x[MOST] = {0};
        add_burst(x, n, 300.0, -1.2);
        run(x, n, &band, &r);
        for (size_t i = 0; i < n; i++) {
            assert_float_equal(r.in_phase[i], x[i], 1e-3);
            assert_float_equal(r.envelope[i], burst_envelope((double)i, 300.0), 1e-3);
        }
    }
}

static void half_a_sample_moves_the_peak_by_half_a_sample(void **state)
{
    (void)state;
    static struct result r;
    double at[2];
    for (int k = 0; k < 2; k++) {
        float x[MOST] = {0};
        add_burst(x, 1024, 400.0 + 0.5 * k, 0.4);
        run(x, 1024, &wide, &r);
        at[k] = peak_position(r.envelope, 1024);
    }
    assert_float_equal(at[0], 400.0, 2e-3);
    assert_float_equal(at[1] - at[0], 0.5, 1e-3);
}

static void filter_is_linear(void **state)
{
    (void)state;
    static struct result ra, rb, rsum;
    float a[MOST], b[MOST], sum[MOST];
    size_t n = 777;
    noise(a, n, 1);
    noise(b, n, 2);
    for (size_t i = 0; i < n; i++)
        sum[i] = 3.0f * a[i] - 0.5f * b[i];
    run(a, n, &wide, &ra);
    run(b, n, &wide, &rb);
    run(sum, n, &wide, &rsum);
    for (size_t i = 0; i < n; i++) {
        assert_float_equal(rsum.in_phase[i], 3.0f * ra.in_phase[i] - 0.5f * rb.in_phase[i],
                           5e-6);
        assert_float_equal(rsum.quadrature[i],
                           3.0f * ra.quadrature[i] - 0.5f * rb.quadrature[i], 5e-6);
    }
}

/* A filter without phase treats a trace read backwards as the trace. */
static void filter_has_no_phase(void **state)
{
    (void)state;
    static struct result forth, back;
    float x[MOST], reversed[MOST];
    size_t n = 1001;
    noise(x, n, 3);
    for (size_t i = 0; i < n; i++)
        reversed[i] = x[n - 1 - i];
    run(x, n, &wide, &forth);
    run(reversed, n, &wide, &back);
    for (size_t i = 0; i < n; i++) {
        assert_float_equal(forth.in_phase[i], back.in_phase[n - 1 - i], 2e-6);
        assert_float_equal(forth.quadrature[i], -back.quadrature[n - 1 - i], 2e-6);
    }
}

/* Edges of 4 to 16 MHz are 3 MHz wide: 1 from 5.5 to 14.5 MHz, 0 below 2.5 and above 17.5 MHz.
 * The middle of a long sine shows the gain; what its switching at the ends leaks in is 60 dB
 * down. */
static void gain_follows_the_mask(void **state)
{
    (void)state;
    static struct result r;
    const struct {
        double hz, least, most;
    } mask[] = {{0.5e6, 0, 1e-3},       {2.3e6, 0, 1e-3},      {4e6, 0.499, 0.501},
                {4.75e6, 0.853, 0.855}, {5.6e6, 0.999, 1.001}, {10e6, 0.999, 1.001},
                {14.4e6, 0.999, 1.001}, {16e6, 0.499, 0.501},  {17.7e6, 0, 1e-3},
                {30e6, 0, 1e-3},        {49e6, 0, 1e-3}};
    for (size_t m = 0; m < sizeof mask / sizeof *mask; m++) {
        float x[MOST] = {0};
        add_sine(x, MOST, mask[m].hz);
        run(x, MOST, &wide, &r);
        for (size_t i = 1500; i < 2600; i++)
            assert_true(r.envelope[i] >= mask[m].least && r.envelope[i] <= mask[m].most);
    }
}

/* Narrow, wide, one-sided and lopsided bands (the lower edge only 0.4 MHz wide). */
static void burst_at_the_end_stays_there(void **state)
{
    (void)state;
    static struct result r;
    const struct plyecho_band bands[] = {{4e6, 16e6}, {9e6, 11e6}, {0.2e6, 20e6},
                                         {0, 20e6},   {5e6, 50e6}, {5e6, 49.9e6}};
    for (size_t b = 0; b < sizeof bands / sizeof *bands; b++) {
        float x[MOST] = {0};
        add_burst(x, 2048, 2044.0, 0.3);
        run(x, 2048, &bands[b], &r);
        double start = largest(r.in_phase, 0, 600);
        double end = largest(r.in_phase, 1900, 2048);
        assert_true(end > 0.1);
        if (start > end * 3.16e-4) /* -70 dB */
            fail_msg("band %zu: %g at the start, %g at the end", b, start, end);
    }
}

static void straight_line_is_taken_off(void **state)
{
    (void)state;
    static struct result r;
    float x[MOST];
    for (size_t i = 0; i < 1500; i++)
        x[i] = 40.0f - 0.03f * (float)i;
    run(x, 1500, &wide, &r);
    assert_true(largest(r.envelope, 0, 1500) < 2e-5);
    const struct plyecho_band low_pass = {0, 10e6};
    run(x, 1500, &low_pass, &r);
    assert_float_equal(r.in_phase[700], x[700], 0.01);
}

static void outputs_may_be_the_input(void **state)
{
    (void)state;
    static struct result r;
    float x[MOST], in_phase_alone[MOST], q[MOST];
    struct plyecho_analytic *analytic;
    noise(x, 300, 5);
    run(x, 300, &wide, &r);
    assert_int_equal(plyecho_analytic_new(&analytic, 300, rate, &wide, NULL), PLYECHO_OK);
    plyecho_analytic_run(analytic, x, in_phase_alone, NULL);
    for (size_t i = 0; i < 300; i++)
        assert_float_equal(in_phase_alone[i], r.in_phase[i], 1e-6);
    memcpy(q, x, sizeof q);
    plyecho_analytic_run(analytic, q, in_phase_alone,
                         q); /* also after a run of the other kind */
    assert_memory_equal(q, r.quadrature, 300 * sizeof *q);
    plyecho_analytic_run(analytic, x, x, NULL);
    plyecho_envelope(x, q, 300, q);
    for (size_t i = 0; i < 300; i++)
        assert_float_equal(q[i], r.envelope[i], 1e-6);
    plyecho_analytic_free(analytic);
}

static void short_records_work(void **state)
{
    (void)state;
    static struct result r;
    for (size_t n = 2; n < 40; n++) {
        float x[MOST];
        noise(x, n, (unsigned)n);
        run(x, n, NULL, &r);
        for (size_t i = 0; i < n; i++)
            assert_float_equal(r.in_phase[i], x[i], 1e-6);
        run(x, n, &wide, &r);
        for (size_t i = 0; i < n; i++)
            assert_true(isfinite(r.envelope[i]));
    }
}

static void impossible_bands_are_refused(void **state)
{
    (void)state;
    const struct plyecho_band bad[] = {{4e6, 60e6}, {4e6, 50.1e6}, {-1, 4e6},  {5e6, 5e6},
                                       {6e6, 5e6},  {NAN, 5e6},    {1e6, NAN}, {0, INFINITY}};
    struct plyecho_analytic *analytic;
    struct plyecho_error err;
    for (size_t b = 0; b < sizeof bad / sizeof *bad; b++) {
        assert_int_equal(plyecho_analytic_new(&analytic, 100, rate, &bad[b], &err),
                         PLYECHO_BAD_ARGUMENT);
        assert_null(analytic);
        assert_non_null(strstr(err.text, "<= 50 MHz"));
        assert_non_null(strstr(err.text, "Nyquist"));
    }
    const struct plyecho_band whole = {0, 50e6};
    assert_int_equal(plyecho_analytic_new(&analytic, 100, rate, &whole, &err), PLYECHO_OK);
    plyecho_analytic_free(analytic);
}

static void impossible_traces_are_refused(void **state)
{
    (void)state;
    const struct plyecho_band hair = {5e6, 5e6 + 1.0};
    struct plyecho_analytic *analytic;
    struct plyecho_error err;
    assert_int_equal(plyecho_analytic_new(&analytic, 1, rate, NULL, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_analytic_new(&analytic, 100, 0, NULL, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_analytic_new(&analytic, 100, NAN, NULL, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_analytic_new(&analytic, SIZE_MAX / 8, rate, NULL, &err),
                     PLYECHO_TOO_LARGE);
    assert_int_equal(plyecho_analytic_new(&analytic, 100, rate, &hair, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, "rings"));
}

static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    struct plyecho_analytic *analytic;
    struct plyecho_error err;
    long failures = 0;
    for (;; failures++) {
        fail_allocation(failures);
        enum plyecho_code code = plyecho_analytic_new(&analytic, 100, rate, &wide, &err);
        fail_no_allocation();
        if (code == PLYECHO_OK)
            break;
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        assert_null(analytic);
    }
    assert_int_equal(failures, 2);
    plyecho_analytic_free(analytic);
    plyecho_analytic_free(NULL);
}

static void a_retuned_filter_is_a_new_one(void **state)
{
    (void)state;
    enum { N = 2048 };
    float x[N], retuned[N], made[N];
    struct plyecho_analytic *a, *b;
    const struct plyecho_band first = {3e6, 15e6}, second = {4e6, 16e6}, narrow = {9.9e6, 10e6};
    for (int i = 0; i < N; i++)
        x[i] = (float)sin(0.001 * i * i);
    assert_int_equal(plyecho_analytic_new(&a, N, 100e6, &first, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_analytic_new(&b, N, 100e6, &second, NULL), PLYECHO_OK);
    plyecho_analytic_run(a, x, made, NULL);
    assert_true(plyecho_analytic_retune(a, &second));
    plyecho_analytic_run(a, x, retuned, NULL);
    plyecho_analytic_run(b, x, made, NULL);
    assert_memory_equal(retuned, made, sizeof made);
    assert_false(plyecho_analytic_retune(a, &narrow)); /* rings longer than the padding */
    plyecho_analytic_run(a, x, retuned, NULL);
    assert_memory_equal(retuned, made, sizeof made);
    plyecho_analytic_free(a);
    plyecho_analytic_free(b);
    assert_int_equal(plyecho_analytic_new(&a, N, 100e6, NULL, NULL), PLYECHO_OK);
    assert_false(plyecho_analytic_retune(a, &first));
    plyecho_analytic_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_burst_gives_its_envelope),
        cmocka_unit_test(band_keeps_a_burst_inside_it),
        cmocka_unit_test(half_a_sample_moves_the_peak_by_half_a_sample),
        cmocka_unit_test(filter_is_linear),
        cmocka_unit_test(filter_has_no_phase),
        cmocka_unit_test(gain_follows_the_mask),
        cmocka_unit_test(burst_at_the_end_stays_there),
        cmocka_unit_test(straight_line_is_taken_off),
        cmocka_unit_test(outputs_may_be_the_input),
        cmocka_unit_test(short_records_work),
        cmocka_unit_test(impossible_bands_are_refused),
        cmocka_unit_test(impossible_traces_are_refused),
        cmocka_unit_test(every_failing_allocation_is_survived),
        cmocka_unit_test(a_retuned_filter_is_a_new_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
