/* What else is done with a trace that was taken for a fit: looking for echoes and for the front,
 * turning it over; and what is refused. */
#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "failing_alloc.h"
#include "made_stack.h"
#include "pi.h"

static void a_scan_finds_an_echo_with_its_delay_size_and_phase(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    static const double phases[] = {0.0, 1.0, 3.0, -2.0};
    for (int i = 0; i < 4; i++) {
        enum { COUNT = 81 };
        double complex size = 0.07 * (cos(phases[i]) + I * sin(phases[i]));
        struct made_extra extra = {0.7e-6, size};
        struct pe_stray stray[COUNT];
        struct made_record r;
        made_echoes(&t.truth, &pulse, &extra, &r);
        made_taken(fit, &r, 0.8);
        const bool none[PE_FIT_NUMBERS] = {false};
        struct pe_explanation_fit at = made_start(&t, 0.0);
        assert_true(pe_stack_fit_run(fit, none, t.prior, 0.0, &at));
        pe_stack_fit_scan(fit, &at, false, 20e-9, COUNT, stray);
        int best = 0;
        for (int k = 0; k < COUNT; k++)
            best = stray[k].gain > stray[best].gain ? k : best;
        assert_int_equal(best, 35); /* 0.7 us */
        assert_float_equal(cabs(stray[best].size - size), 0.0, 0.002);
        assert_float_equal(stray[best].gain, at.chi2, 0.03 * at.chi2);
    }
    pe_stack_fit_free(fit);
}

static void beside_the_front_alone_the_back_wall_is_found(void **state)
{
    (void)state;
    enum { COUNT = 101 };
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    struct pe_stray stray[COUNT];
    made_echoes(&t.truth, &pulse, NULL, &r);
    made_taken(fit, &r, 0.8);
    struct pe_explanation_fit at = made_start(&t, 0.0);
    pe_stack_fit_scan(fit, &at, true, 20e-9, COUNT, stray);
    int best = 0;
    for (int k = 0; k < COUNT; k++)
        best = stray[k].gain > stray[best].gain ? k : best;
    assert_true(abs(best - 80) <= 1); /* 1.61 us */
    pe_stack_fit_scan(fit, &at, false, 20e-9, COUNT, stray);
    for (int k = 0; k < COUNT; k++)
        assert_true(stray[k].gain < 0.5); /* nothing is left beside the whole */
    pe_stack_fit_free(fit);
}

static void the_front_is_found_by_the_pulse_itself(void **state)
{
    (void)state;
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    for (double late = -100e-9; late < 101e-9; late += 25e-9) {
        struct made_task t = made_plain();
        struct made_record r;
        t.truth.number[PE_START] = late;
        t.truth.number[PE_FRONT] = 0.4;
        made_echoes(&t.truth, &pulse, NULL, &r);
        made_white(&r, 0.005, 9);
        made_taken(fit, &r, 0.8);
        /* a step of a twentieth of a period, and a little of the back wall's flank */
        assert_float_equal(pe_stack_fit_align(fit, 120e-9) * 1e9, late * 1e9, 11.0);
    }
    pe_stack_fit_free(fit);
}

static void an_inverted_trace_is_the_upright_one(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    made_echoes(&t.truth, &pulse, NULL, &r);
    made_white(&r, 0.005, 7);
    made_taken(fit, &r, 0.8);
    struct pe_explanation_fit upright = made_start(&t, 0.02), inverted = upright,
                              twice = upright;
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &upright));
    for (int i = 0; i < MADE_STACK_SAMPLES; i++)
        r.in_phase[i] = -r.in_phase[i];
    made_taken(fit, &r, 0.8);
    bool settled = pe_stack_fit_run(fit, t.free, t.prior, 0.0, &inverted);
    assert_true(!settled || inverted.chi2 > 10.0 * upright.chi2);
    pe_stack_fit_invert(fit);
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &twice));
    assert_float_equal(twice.chi2, upright.chi2, 1e-6 * upright.chi2);
    assert_float_equal(twice.stack.number[PE_TRANSIT] * 1e9,
                       upright.stack.number[PE_TRANSIT] * 1e9, 1e-6);
    pe_stack_fit_free(fit);
}

/* The second trace is fitted as if it were the first. */
static void a_fit_keeps_nothing_of_the_trace_before(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *used = made_fit(&pulse), *fresh = made_fit(&pulse);
    struct made_record r, other;
    struct pe_stack_gate gate = made_gate(0.8);
    made_echoes(&t.truth, &pulse, NULL, &r);
    other = r;
    other.trace.in_phase = other.in_phase;
    made_white(&other, 0.05, 1);
    other.trace.band = (struct plyecho_band){1e6, 10e6};
    gate.end_s = 9e-6;
    gate.reference_hz = 6e6;
    assert_int_equal(pe_stack_fit_take(used, &other.trace, &gate, NULL), PLYECHO_OK);
    pe_stack_fit_invert(used);
    made_taken(used, &r, 0.8);
    made_taken(fresh, &r, 0.8);
    struct pe_explanation_fit a = made_start(&t, 0.02), b = a;
    assert_true(pe_stack_fit_run(used, t.free, t.prior, 0.0, &a));
    assert_true(pe_stack_fit_run(fresh, t.free, t.prior, 0.0, &b));
    assert_memory_equal(&a, &b, sizeof a);
    pe_stack_fit_free(used);
    pe_stack_fit_free(fresh);
}

/* ---- where it cannot ---- */

static void a_hopeless_fit_is_given_up(void **state)
{
    (void)state;
    struct made_task t = made_plain(), gap = made_place("gap", 0.8e-6);
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    gap.truth.gap = true;
    gap.truth.number[PE_COVER] = 0.9;
    made_echoes(&gap.truth, &pulse, NULL, &r);
    made_taken(fit, &r, 0.8);
    struct pe_explanation_fit f = made_start(&t, 0.3);
    assert_false(pe_stack_fit_run(fit, t.free, t.prior, 1.0, &f));
    assert_true(f.given_up);
    f = made_start(&t, 0.3);
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &f));
    double chi2 = f.chi2;
    f = made_start(&t, 0.3);
    assert_true(pe_stack_fit_run(fit, t.free, t.prior, 1.01 * chi2, &f));
    assert_false(f.given_up);
    pe_stack_fit_free(fit);
}

static void what_nothing_determines_is_refused(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    made_echoes(&t.truth, &pulse, NULL, &r);
    made_taken(fit, &r, 0.8);
    t.free[PE_COVER] = true; /* no gap, no prior */
    struct pe_explanation_fit f = made_start(&t, 0.0);
    assert_false(pe_stack_fit_run(fit, t.free, t.prior, 0.0, &f));
    pe_stack_fit_free(fit);
}

static void records_that_hold_too_little_are_refused(void **state)
{
    (void)state;
    struct made_task t = made_plain();
    struct plyecho_pulse pulse = made_gaussian(MADE_STACK_CENTRE_HZ, 0.6, 0.7);
    struct pe_stack_fit *fit = made_fit(&pulse);
    struct made_record r;
    struct plyecho_error err;
    struct pe_stack_gate gate = made_gate(0.8);
    made_echoes(&t.truth, &pulse, NULL, &r);
    gate.end_s = MADE_STACK_ORIGIN_S - 0.3e-6; /* 10 samples */
    assert_int_equal(pe_stack_fit_take(fit, &r.trace, &gate, &err), PLYECHO_UNSUITABLE);
    assert_true(strlen(err.text) > 10);
    gate.end_s = 40e-6; /* behind the record's end: what there is is taken */
    assert_int_equal(pe_stack_fit_take(fit, &r.trace, &gate, &err), PLYECHO_OK);
    gate.origin_s = 30e-6; /* the wall begins behind it */
    assert_int_equal(pe_stack_fit_take(fit, &r.trace, &gate, &err), PLYECHO_UNSUITABLE);
    gate.origin_s =
        0.1e-6; /* the pulse's rise lies before it: taken from the first sample on */
    assert_int_equal(pe_stack_fit_take(fit, &r.trace, &gate, &err), PLYECHO_OK);
    r.trace.has_sign = false;
    assert_int_equal(pe_stack_fit_take(fit, &r.trace, &gate, &err), PLYECHO_UNSUITABLE);
    pe_stack_fit_free(fit);
}

static void bad_arguments_and_failing_allocations_are_survived(void **state)
{
    (void)state;
    struct pe_stack_fit *fit = NULL;
    struct plyecho_error err;
    assert_int_equal(pe_stack_fit_new(&fit, 0.0, NULL, &err), PLYECHO_BAD_ARGUMENT);
    assert_null(fit);
    assert_int_equal(pe_stack_fit_new(&fit, NAN, NULL, NULL), PLYECHO_BAD_ARGUMENT);
    fail_allocation(0);
    assert_int_equal(pe_stack_fit_new(&fit, MADE_STACK_RATE_HZ, NULL, &err), PLYECHO_NO_MEMORY);
    fail_no_allocation();
    assert_null(fit);
    pe_stack_fit_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_scan_finds_an_echo_with_its_delay_size_and_phase),
        cmocka_unit_test(beside_the_front_alone_the_back_wall_is_found),
        cmocka_unit_test(the_front_is_found_by_the_pulse_itself),
        cmocka_unit_test(an_inverted_trace_is_the_upright_one),
        cmocka_unit_test(a_fit_keeps_nothing_of_the_trace_before),
        cmocka_unit_test(a_hopeless_fit_is_given_up),
        cmocka_unit_test(what_nothing_determines_is_refused),
        cmocka_unit_test(records_that_hold_too_little_are_refused),
        cmocka_unit_test(bad_arguments_and_failing_allocations_are_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
