/* The joint fit of a plain wall: right, as sharp as its bound says, honest where it cannot be. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/plate_fit.h>
#include <plyecho/verdict.h>

#include "failing_alloc.h"
#include "made_trace.h"
#include "small_matrix.h"

static struct plyecho_reference reference; /* of the clean delay line's end in air */

static int take_reference(void **state)
{
    (void)state;
    struct made_wall air = made_sound(3.0);
    air.uncoupled = true;
    air.snr_db = 100.0;
    struct plyecho_traces t = made_of(&air);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    assert_int_equal(plyecho_reference_take(&c, &raw, &reference, NULL), PLYECHO_OK);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
    return 0;
}

/* Condition with the reference's band and fit. */
static enum plyecho_code fit_wall(const struct made_wall *wall,
                                  const struct plyecho_plate_task *task,
                                  struct plyecho_plate *plate)
{
    struct plyecho_traces t = made_of(wall);
    struct plyecho_trace trace = plyecho_traces_channel(&t, 1);
    struct plyecho_conditioner *conditioner;
    struct plyecho_conditioned c;
    struct plyecho_plate_fit *fit;
    assert_int_equal(
        plyecho_conditioner_new(&conditioner, t.samples, MADE_RATE_HZ, &reference.band, NULL),
        PLYECHO_OK);
    assert_int_equal(plyecho_conditioner_run(conditioner, &trace, &c, NULL), PLYECHO_OK);
    assert_int_equal(
        plyecho_plate_fit_new(&fit, &reference.shape, &reference.band, MADE_RATE_HZ, NULL),
        PLYECHO_OK);
    enum plyecho_code code = plyecho_plate_fit_run(fit, &c, task, plate, NULL);
    plyecho_plate_fit_free(fit);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
    return code;
}

/* 10 mm of PMMA at 2680 m/s: the interface echo comes at 7.463 us. */
static struct plyecho_plate_task task_for(double mm)
{
    return (struct plyecho_plate_task){.front_s = 7.463e-6,
                                       .transit_s = 2.0 * mm * 1e-3 / 2950.0,
                                       .reference_hz = 10e6,
                                       .front_reflection = 0.24,
                                       .end_s = 14.5e-6};
}

static void all_parameters_come_out(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_plate_task task = task_for(3.0);
    struct plyecho_plate plate;
    task.transit_s += 20e-9; /* a fifth of a period off */
    assert_int_equal(fit_wall(&wall, &task, &plate), PLYECHO_OK);
    assert_float_equal(plate.transit_s * 1e9, 6.0 / 2.95 * 1e3, 0.6);
    /* PMMA 3.162 on 4.65 MRayl */
    assert_float_equal(plate.front_reflection, 0.1905, 0.004);
    /* 0.1 dB/mm/MHz over 6 mm, in Np a Hz */
    assert_float_equal(plate.loss_np_hz * 1e6, 0.6 / 8.6859, 0.004);
    assert_float_equal(plate.amplitude, 1.0, 0.03); /* the reference has the same level */
    assert_true(plate.misfit > 0.5 && plate.misfit < 1.6);
    assert_true(fabs(plate.transit_s - 6e-3 / 2950.0) < 6.0 * plate.transit_bound_s);
}

/* 200 records: the ratio of deviations scatters by 5 %; bounds at four of that and the fit's own
 * few per cent. */
static void the_spread_is_the_bound(void **state)
{
    (void)state;
    enum { RECORDS = 200 };
    double squares = 0.0, bound = 0.0;
    for (unsigned long seed = 1; seed <= RECORDS; seed++) {
        struct made_wall wall = made_sound(3.0);
        wall.snr_db = 34.0;
        wall.seed = seed;
        struct plyecho_plate_task task = task_for(3.0);
        struct plyecho_plate plate;
        assert_int_equal(fit_wall(&wall, &task, &plate), PLYECHO_OK);
        double error = plate.transit_s - 6e-3 / 2950.0;
        assert_true(fabs(error) < 6.0 * plate.transit_bound_s);
        squares += error * error / RECORDS;
        bound += plate.transit_bound_s * plate.transit_bound_s / RECORDS;
    }
    assert_float_equal(sqrt(squares / bound), 1.03, 0.2);
}

static void a_start_a_cycle_off_is_mended_where_asked(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_plate_task task = task_for(3.0);
    struct plyecho_plate plate;
    task.transit_s += 100e-9;
    task.cycles = 1;
    assert_int_equal(fit_wall(&wall, &task, &plate), PLYECHO_OK);
    assert_float_equal(plate.transit_s * 1e9, 6.0 / 2.95 * 1e3, 0.6);
    assert_true(plate.other_cycle < 1e-3);
}

static void what_is_no_plate_shows_in_the_misfit(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    wall.cover = 0.5;
    wall.gap_mm = 1.3;
    struct plyecho_plate_task task = task_for(3.0);
    struct plyecho_plate plate;
    if (fit_wall(&wall, &task, &plate) == PLYECHO_OK)
        assert_true(plate.misfit > 10.0);
}

static void a_record_without_the_back_wall_is_refused(void **state)
{
    (void)state;
    struct made_wall wall = made_sound(3.0);
    struct plyecho_plate_task task = task_for(3.0);
    struct plyecho_plate plate;
    task.end_s = 9.0e-6;
    assert_int_equal(fit_wall(&wall, &task, &plate), PLYECHO_UNSUITABLE);
}

static void small_matrices_are_inverted(void **state)
{
    (void)state;
    struct pe_matrix m = {{{4.0, 1.0, 0.5}, {1.0, 3.0, 0.2}, {0.5, 0.2, 2.0}}}, inverse;
    assert_true(pe_invert(3, &m, &inverse, NULL));
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = 0.0;
            for (int k = 0; k < 3; k++)
                sum += m.at[i][k] * inverse.at[k][j];
            assert_float_equal(sum, i == j ? 1.0 : 0.0, 1e-12);
        }
    m.at[2][2] = 0.0;
    assert_false(pe_invert(3, &m, &inverse, NULL));
}

static void a_failing_allocation_is_survived(void **state)
{
    (void)state;
    struct plyecho_plate_fit *fit;
    fail_allocation(0);
    assert_int_equal(
        plyecho_plate_fit_new(&fit, &reference.shape, &reference.band, MADE_RATE_HZ, NULL),
        PLYECHO_NO_MEMORY);
    fail_no_allocation();
    plyecho_plate_fit_free(NULL);
    struct plyecho_pulse_shape none = {.samples = 0};
    assert_int_equal(plyecho_plate_fit_new(&fit, &none, &reference.band, MADE_RATE_HZ, NULL),
                     PLYECHO_BAD_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_parameters_come_out),
        cmocka_unit_test(the_spread_is_the_bound),
        cmocka_unit_test(a_start_a_cycle_off_is_mended_where_asked),
        cmocka_unit_test(what_is_no_plate_shows_in_the_misfit),
        cmocka_unit_test(a_record_without_the_back_wall_is_refused),
        cmocka_unit_test(small_matrices_are_inverted),
        cmocka_unit_test(a_failing_allocation_is_survived),
    };
    return cmocka_run_group_tests(tests, take_reference, NULL);
}
