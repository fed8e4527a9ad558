/* What two traces of one block say about the set-up; tests/cli/calibrate-check.cmd has it from traces. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/drift.h>

#include "pi.h"

enum { SAMPLES = 120 };

/* A pulse of 5 MHz at 100 MHz, `late` samples later, phase turned. */
static struct plyecho_block make_block(double late, double phase)
{
    struct plyecho_block b = {
        .transit_s = {true, 2e-6},
        .transit_u_s = 1e-9,
        .arrival_s = 10e-6,
        .level = 0.5,
        .sample_rate_hz = 100e6,
        .samples = SAMPLES,
    };
    for (int i = 0; i < SAMPLES; i++) {
        double t = i - 60.0 - late;
        b.echo[i] = (float)(exp(-t * t / 300.0) * cos(0.1 * PE_PI * t + phase));
    }
    return b;
}

static struct plyecho_drift compare(const struct plyecho_block *a,
                                    const struct plyecho_block *b)
{
    struct plyecho_drift d;
    struct plyecho_error err;
    if (plyecho_drift_compare(a, b, &d, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return d;
}

static void numbers_are_those_of_the_changes(void **state)
{
    (void)state;
    struct plyecho_block a = make_block(0.0, 0.0), b = make_block(0.0, 0.0);
    b.transit_s.value = 2.02e-6;
    b.arrival_s = 10.03e-6;
    b.level = 0.25;
    struct plyecho_drift d = compare(&a, &b);
    assert_float_equal(d.velocity.value, 1.0 / 1.01 - 1.0, 1e-12);
    assert_float_equal(d.velocity_u, hypot(0.5e-3, 1e-9 / 2.02e-6), 1e-12);
    assert_float_equal(d.zero_s, 0.03e-6, 1e-15);
    assert_float_equal(d.sensitivity_db, -6.0206, 1e-4);
    assert_float_equal(d.shape, 0.0, 1e-6);
    b.transit_s.known = false; /* mode 1 */
    assert_false(compare(&a, &b).velocity.known);
}

/* Between samples no shape is lost; a turned pulse shows, a reversed one most. */
static void shape_is_told_from_shift(void **state)
{
    (void)state;
    struct plyecho_block a = make_block(0.0, 0.0);
    for (double late = -3.0; late < 3.1; late += 0.25) {
        struct plyecho_block b = make_block(late, 0.0);
        assert_true(fabs(compare(&a, &b).shape) < 2e-3);
    }
    struct plyecho_block turned = make_block(0.0, 0.5 * PE_PI),
                         reversed = make_block(0.0, PE_PI);
    assert_true(compare(&a, &turned).shape > 0.03);
    assert_true(compare(&a, &reversed).shape > compare(&a, &turned).shape);
}

static void what_cannot_be_compared_is_said(void **state)
{
    (void)state;
    struct plyecho_block a = make_block(0.0, 0.0), b = a;
    struct plyecho_drift d;
    struct plyecho_error err;
    b.gain_db.known = true;
    assert_int_equal(plyecho_drift_compare(&a, &b, &d, &err), PLYECHO_UNSUITABLE);
    b = a;
    b.sample_rate_hz = 50e6;
    assert_int_equal(plyecho_drift_compare(&a, &b, &d, &err), PLYECHO_UNSUITABLE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_those_of_the_changes),
        cmocka_unit_test(shape_is_told_from_shift),
        cmocka_unit_test(what_cannot_be_compared_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
