/* The spectrum of a stretch and the band read from it. Against SciPy: tests/reference. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include <plyecho/spectrum.h>

#include "failing_alloc.h"

#define PI 3.14159265358979323846

enum { MOST = 4096 };

static const double rate = 100e6;

struct result {
    float power[4 * MOST];
    size_t bins;
    double bin_hz;
    struct plyecho_spectral_band band;
    bool found;
};

static void run(const float *x, size_t n, size_t padding, enum plyecho_taper taper,
                struct result *r)
{
    struct plyecho_spectrum *spectrum;
    struct plyecho_error err;
    if (plyecho_spectrum_new(&spectrum, n, padding, rate, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    r->bins = plyecho_spectrum_bins(spectrum);
    r->bin_hz = plyecho_spectrum_bin_hz(spectrum);
    plyecho_spectrum_run(spectrum, x, n, taper, r->power);
    r->found = plyecho_spectral_band_find(r->power, r->bins, r->bin_hz, 0.0, &r->band);
    plyecho_spectrum_free(spectrum);
}

static void burst(float *x, size_t n, double hz, double alpha)
{
    for (size_t i = 0; i < n; i++) {
        double t = ((double)i - (double)n / 2.0) / rate;
        x[i] = (float)(exp(-alpha * t * t) * cos(2.0 * PI * hz * t));
    }
}

/* Closed form of |S| of exp(-a t^2) cos(2 pi f t): half of its peak at f -+ sqrt(a ln 2) / pi,
 * as long as the negative frequencies' share is small. 5 MHz and 25 us^-2: 3.6749 to 6.3251
 * MHz. */
static void gaussian_echo_has_the_band_of_its_closed_form(void **state)
{
    (void)state;
    static struct result r;
    float x[MOST];
    burst(x, 600, 5e6, 25e12);
    run(x, 600, 4, PLYECHO_TAPER_NONE, &r);
    assert_true(r.found);
    assert_float_equal(r.band.peak_hz, 5.0e6, 2e3);
    assert_float_equal(r.band.lower_hz, 3.6749e6, 2e3);
    assert_float_equal(r.band.upper_hz, 6.3251e6, 2e3);
    assert_float_equal(r.band.centre_hz, 5.000e6, 2e3);
    assert_float_equal(r.band.geometric_centre_hz, 4.821e6, 2e3);
    assert_float_equal(r.band.bandwidth_hz, 2.6501e6, 3e3);
    assert_float_equal(r.band.relative_bandwidth, 0.53, 1e-3);
}

static void offset_does_not_count(void **state)
{
    (void)state;
    static struct result r;
    float x[MOST];
    burst(x, 600, 5e6, 25e12);
    for (size_t i = 0; i < 600; i++)
        x[i] += 100.0f;
    run(x, 600, 1, PLYECHO_TAPER_NONE, &r);
    assert_float_equal(r.band.peak_hz, 5.0e6, 2e4);
}

static void taper_keeps_a_line_from_leaking(void **state)
{
    (void)state;
    static struct result none, hann;
    float x[MOST];
    for (size_t i = 0; i < 1024; i++)
        x[i] = (float)cos(2.0 * PI * 10.05e6 * (double)i / rate);
    run(x, 1024, 1, PLYECHO_TAPER_NONE, &none);
    run(x, 1024, 1, PLYECHO_TAPER_HANN, &hann);
    size_t far = (size_t)(30e6 / none.bin_hz);
    assert_true(none.power[far] > 1e4 * hann.power[far]);
    assert_float_equal(hann.band.peak_hz, 10.05e6, 5e3);
    run(x, 1024, 1, PLYECHO_TAPER_ENDS, &hann);
    assert_true(none.power[far] > 1e2 * hann.power[far]);
}

/* 0 Hz and the Nyquist frequency have no negative twin: a taper gives the one, an alternating
 * record the other. Parseval holds for both. */
static void the_ends_of_the_spectrum_count_once(void **state)
{
    (void)state;
    static struct result r;
    float x[MOST];
    for (int kind = 0; kind < 2; kind++) {
        double energy = 0.0, sum = 0.0;
        for (size_t i = 0; i < 64; i++) {
            double w = 0.5 - 0.5 * cos(2.0 * PI * ((double)i + 0.5) / 64.0);
            x[i] = kind == 0 ? (float)(i % 2) - 0.5f : (float)(i < 16 || i >= 48 ? -1 : 1);
            energy += pow((kind == 0 ? 1.0 : w) * (double)x[i], 2.0) / rate;
        }
        run(x, 64, 1, kind == 0 ? PLYECHO_TAPER_NONE : PLYECHO_TAPER_HANN, &r);
        for (size_t k = 0; k < r.bins; k++)
            sum += r.power[k] * r.bin_hz;
        assert_float_equal(sum / energy, 1.0, 1e-5);
    }
}

static void planned_object_takes_shorter_stretches(void **state)
{
    (void)state;
    struct plyecho_spectrum *spectrum;
    float x[MOST], first[MOST], again[MOST];
    for (size_t i = 0; i < 500; i++)
        x[i] = (float)sin((double)(i * i));
    assert_int_equal(plyecho_spectrum_new(&spectrum, 500, 1, rate, NULL), PLYECHO_OK);
    plyecho_spectrum_run(spectrum, x, 100, PLYECHO_TAPER_NONE, first);
    plyecho_spectrum_run(spectrum, x, 500, PLYECHO_TAPER_NONE, again);
    plyecho_spectrum_run(spectrum, x, 100, PLYECHO_TAPER_NONE, again);
    assert_memory_equal(first, again, plyecho_spectrum_bins(spectrum) * sizeof *first);
    plyecho_spectrum_free(spectrum);
}

static void no_power_is_no_band(void **state)
{
    (void)state;
    static struct result r;
    float x[MOST];
    for (size_t i = 0; i < 300; i++)
        x[i] = 7.0f;
    run(x, 300, 2, PLYECHO_TAPER_ENDS, &r);
    assert_false(r.found);
    assert_true(r.band.centre_hz == 0.0 && r.band.relative_bandwidth == 0.0);
    struct plyecho_spectral_band band;
    assert_false(plyecho_spectral_band_find(r.power, r.bins, r.bin_hz, 1e9, &band));
}

static void band_that_reaches_the_ends_ends_there(void **state)
{
    (void)state;
    struct plyecho_spectral_band band;
    const float flat[] = {0.5f, 0.6f, 1.0f, 0.6f, 0.5f};
    assert_true(plyecho_spectral_band_find(flat, 5, 1e6, 0.0, &band));
    assert_true(band.lower_hz == 0.0 && band.upper_hz == 4e6);
    assert_float_equal(band.peak_hz, 2e6, 1.0);
    /* Amplitudes 1, 0.75, 0.25: half lies in the middle of the last two. */
    const float one_sided[] = {1.0f, 0.5625f, 0.0625f, 0.0f};
    assert_true(plyecho_spectral_band_find(one_sided, 4, 1e6, 0.0, &band));
    assert_float_equal(band.upper_hz, 1.5e6, 1.0);
}

static void impossible_spectra_are_refused(void **state)
{
    (void)state;
    struct plyecho_spectrum *spectrum;
    struct plyecho_error err;
    assert_int_equal(plyecho_spectrum_new(&spectrum, 1, 1, rate, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_spectrum_new(&spectrum, 9, 0, rate, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_spectrum_new(&spectrum, 9, 1, -1.0, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_spectrum_new(&spectrum, SIZE_MAX / 2, 8, rate, &err),
                     PLYECHO_TOO_LARGE);
    assert_null(spectrum);
    for (long failing = 0; failing < 2; failing++) {
        fail_allocation(failing);
        assert_int_equal(plyecho_spectrum_new(&spectrum, 9, 1, rate, &err), PLYECHO_NO_MEMORY);
        fail_no_allocation();
        assert_null(spectrum);
    }
    plyecho_spectrum_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gaussian_echo_has_the_band_of_its_closed_form),
        cmocka_unit_test(offset_does_not_count),
        cmocka_unit_test(taper_keeps_a_line_from_leaking),
        cmocka_unit_test(the_ends_of_the_spectrum_count_once),
        cmocka_unit_test(planned_object_takes_shorter_stretches),
        cmocka_unit_test(no_power_is_no_band),
        cmocka_unit_test(band_that_reaches_the_ends_ends_there),
        cmocka_unit_test(impossible_spectra_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
