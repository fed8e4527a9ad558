/* CSV: the sample rate from a time column as instruments round it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include <plyecho/tracefile.h>

#include "read_text.h"

/* A column of `samples` times, printed with `decimals`, in the unit of 1e6/rate per step. */
static char *rounded_times(double rate_hz, double start_us, int samples, char form, int digits)
{
    char *text = grow((size_t)samples * 64 + 64), *p = text;
    p += sprintf(p, "time_us,amplitude\n");
    for (int i = 0; i < samples; i++) {
        double time_us = start_us + i * 1e6 / rate_hz;
        if (form == 'f')
            p += sprintf(p, "%.*f", digits, time_us);
        else if (form == 'e')
            p += sprintf(p, "%.*e", digits, time_us);
        else
            p += sprintf(p, "%.*g", digits, time_us);
        p += sprintf(p, ",%d\n", i % 2 == 0 ? -i : i);
    }
    return text;
}

static void a_rounded_time_column_gives_the_rate_back(void **state)
{
    (void)state;
    static const struct {
        double rate_hz;
        char form;
        int digits, samples;
    } exact[] = {
        {100e6, 'f', 2, 2048},    {100e6, 'f', 1, 2048},   {100e6, 'f', 0, 4096},
        {79.972e6, 'f', 3, 2048}, {79.972e6, 'f', 5, 512}, {80e6, 'f', 2, 2048},
        {62.5e6, 'f', 3, 1000},   {125e6, 'e', 3, 2000},   {250e6, 'e', 4, 4000},
        {40e6, 'g', 9, 10},       {48e6, 'f', 4, 2048},    {100e6, 'f', 6, 2},
        {78.125e6, 'g', 17, 100}, {1e9, 'f', 2, 8192},     {44.1e6, 'g', 17, 777},
    };
    for (size_t i = 0; i < sizeof exact / sizeof exact[0]; i++) {
        struct plyecho_traces t;
        struct plyecho_error err;
        char *text = rounded_times(exact[i].rate_hz, 5.0, exact[i].samples, exact[i].form,
                                   exact[i].digits);
        if (read_text(text, &t, &err) != PLYECHO_OK)
            fail_msg("%zu: line %ld: %s", i, err.line, err.text);
        if (t.sample_rate_hz != exact[i].rate_hz || fabs(t.start_s - 5e-6) > 0.51e-6)
            fail_msg("%zu: %.17g Hz from %.17g s", i, t.sample_rate_hz, t.start_s);
        plyecho_traces_clear(&t);
        free(text);
    }
}

/* Rates without a short form: as near as the digits allow, which for n rows rounded to q is at
 * worst q/((n-1) dt), from the first and last row alone. */
static void any_rate_is_found_within_what_rounding_allows(void **state)
{
    (void)state;
    for (int i = 0; i < 200; i++) {
        double rate = 20e6 * exp(0.0177 * i) * 1.000123456789, start = 0.317 * i;
        int samples = 64 + 37 * i;
        struct plyecho_traces t;
        struct plyecho_error err;
        char *text = rounded_times(rate, start, samples, 'f', 2 + i % 2);
        double q = i % 2 == 0 ? 1e-8 : 1e-9;
        if (read_text(text, &t, &err) != PLYECHO_OK)
            fail_msg("%.9g Hz: line %ld: %s", rate, err.line, err.text);
        double bound = q * rate / (samples - 1);
        if (fabs(t.sample_rate_hz / rate - 1.0) > bound || fabs(t.start_s - start * 1e-6) > q)
            fail_msg("%.9g Hz came back as %.9g, bound %g, start %g", rate, t.sample_rate_hz,
                     bound, t.start_s - start * 1e-6);
        plyecho_traces_clear(&t);
        free(text);
    }
}

/* Times that were worked out in single precision, and then printed with all their digits. */
static void times_of_single_precision_are_no_jumps(void **state)
{
    (void)state;
    char *text = grow(200000), *p = text;
    struct plyecho_traces t;
    struct plyecho_error err;
    p += sprintf(p, "time (s),y\n");
    for (int i = 0; i < 2048; i++)
        p += sprintf(p, "%.9e,%d\n", (double)((float)i * 1e-8F), i % 2 == 0 ? -i : i);
    if (read_text(text, &t, &err) != PLYECHO_OK)
        fail_msg("line %ld: %s", err.line, err.text);
    assert_true(fabs(t.sample_rate_hz / 1e8 - 1.0) < 1e-6);
    plyecho_traces_clear(&t);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rounded_time_column_gives_the_rate_back),
        cmocka_unit_test(any_rate_is_found_within_what_rounding_allows),
        cmocka_unit_test(times_of_single_precision_are_no_jumps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
