/* A log of plain readings: each answer by a log made by hand, repeats, nominals, what is refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_cdf.h>

#include <plyecho/gauge_log.h>

#include "failing_alloc.h"

enum { ROUND = 24, RINGS = 8, PLACES = ROUND * RINGS };

static const struct plyecho_gauge_log_options tube = {
    .part = {.tube = true, .diameter_m = {true, 28.6e-3}},
};
static const struct plyecho_gauge_log_options tube_of_3_2 = {
    .part = {.tube = true, .diameter_m = {true, 28.6e-3}},
    .nominal_m = {true, 3.2e-3},
};

/* A wall of 3.2 mm, eccentric by 0.06 mm, read to 0.01 mm. */
static void sound(struct plyecho_gauge_reading *r, size_t round_tube, size_t rings)
{
    for (size_t i = 0; i < round_tube * rings; i++) {
        double degrees = 360.0 / (double)round_tube * (double)(i % round_tube);
        double mm = 3.2 + 0.06 * cos(degrees * acos(-1.0) / 180.0) +
                    0.01 * (double)((7 * i + i / 5) % 5) - 0.02;
        r[i] = (struct plyecho_gauge_reading){
            .place = {degrees, 0.02 + 0.004 * (double)(i / round_tube)},
            .wall_m = {true, round(100.0 * mm) * 1e-5},
        };
    }
}

static void set_mm(struct plyecho_gauge_reading *r, size_t ring, size_t column, double mm)
{
    r[ring * ROUND + column].wall_m = (struct plyecho_known){true, mm * 1e-3};
}

static struct plyecho_gauge_log *judged(const struct plyecho_gauge_reading *r, size_t count,
                                        const struct plyecho_gauge_log_options *options)
{
    struct plyecho_gauge_log *log;
    struct plyecho_error err;
    if (plyecho_gauge_log_new(&log, r, count, options, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return log;
}

static void answers(const struct plyecho_gauge_reading *r, size_t count,
                    const struct plyecho_gauge_log_options *options,
                    enum plyecho_gauge_answer answer)
{
    struct plyecho_gauge_log *log = judged(r, count, options);
    assert_string_equal(plyecho_gauge_answer_word(log->answer),
                        plyecho_gauge_answer_word(answer));
    plyecho_gauge_log_free(log);
}

static void one_wall(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube_of_3_2);
    assert_int_equal(log->answer, PLYECHO_GAUGE_ONE_WALL);
    assert_int_equal(log->count, PLACES);
    assert_int_equal(log->wall, PLACES);
    assert_float_equal(log->resolution_m, 0.01e-3, 1e-12);
    assert_float_equal(log->tolerance_m, 0.32e-3, 1e-12);
    assert_float_equal(log->counts_m, 0.16e-3, 1e-12);
    assert_float_equal(log->mean_m, 3.2e-3, 1e-5);
    assert_true(log->spread_m.value < 0.02e-3);
    assert_false(log->two);
    assert_int_equal(log->outliers, 0);
    plyecho_gauge_log_free(log);
    answers(r, PLACES, &tube, PLYECHO_GAUGE_ONE_WALL);
}

/* A patch of eight places that read a third to two thirds. */
static void mixed(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    for (size_t k = 0; k < 8; k++)
        set_mm(r, 3 + k / 4, 22 + k % 4 < ROUND ? 22 + k % 4 : k % 4 - 2,
               1.1 + 0.13 * (double)k);
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_MIXED);
    assert_int_equal(log->low, 8);
    assert_int_equal(log->at_once, 8);
    assert_true(log->two);
    assert_float_equal(log->clusters.low.share, 8.0 / PLACES, 1e-3);
    assert_float_equal(log->place[log->least].wall_m, 1.1e-3, 1e-9);
    /* the wall goes on under the patch as if it were not there */
    assert_float_equal(log->place[3 * ROUND + 22].smooth_m, 3.25e-3, 0.02e-3);
    for (size_t i = 0; i < PLACES; i++)
        assert_true((log->place[i].low_share.value > 0.5) ==
                    (log->place[i].group == PLYECHO_GAUGE_LOW));
    plyecho_gauge_log_free(log);
}

static void low_and_high_spots(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    set_mm(r, 2, 7, 1.4);
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_LOW_SPOTS);
    assert_int_equal(log->low, 1);
    assert_true(log->place[2 * ROUND + 7].outlier);
    assert_int_equal(log->place[2 * ROUND + 7].fall, PLYECHO_GAUGE_AT_ONCE);
    plyecho_gauge_log_free(log);
    set_mm(r, 2, 7, 6.4);
    answers(r, PLACES, &tube, PLYECHO_GAUGE_HIGH_SPOTS);
}

/* Filed: the readings around lead down to it. */
static void a_filed_spot(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    for (size_t k = 0; k < ROUND * RINGS; k++) {
        double x = (double)(k % ROUND) - 12.0, y = (double)(k / ROUND) - 4.0;
        r[k].wall_m.value -= 0.01e-3 * round(60.0 * exp(-(x * x + y * y) / 8.0));
    }
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_LOW_SPOTS);
    assert_true(log->low > 3);
    assert_int_equal(log->in_steps, log->low);
    assert_int_equal(log->at_once, 0);
    plyecho_gauge_log_free(log);
}

/* As above, but with nothing read on a patch: what leads down to it may be a delamination's edge. */
static void a_filed_spot_by_a_lost_wall(void **state)
{
    (void)state;
    static const struct {
        size_t ring, column, places; /* without a reading */
        bool beside;
    } cases[] = {
        {4, 12, 1, true},  /* amid the low places */
        {4, 16, 2, true},  /* a place off them */
        {4, 16, 1, false}, /* a lone one a place off is not */
        {3, 20, 2, false}, /* far off */
        {3, 20, 1, false},
    };
    struct plyecho_gauge_reading r[PLACES];
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        sound(r, ROUND, RINGS);
        for (size_t k = 0; k < ROUND * RINGS; k++) {
            double x = (double)(k % ROUND) - 12.0, y = (double)(k / ROUND) - 4.0;
            r[k].wall_m.value -= 0.01e-3 * round(60.0 * exp(-(x * x + y * y) / 8.0));
        }
        for (size_t k = 0; k < cases[c].places; k++)
            r[cases[c].ring * ROUND + cases[c].column + k].wall_m.known = false;
        struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
        assert_int_equal(log->answer, PLYECHO_GAUGE_LOW_SPOTS);
        assert_int_equal(log->in_patches, cases[c].places > 1 ? cases[c].places : 0);
        assert_int_equal(log->beside_unread > 0, cases[c].beside);
        assert_int_equal(log->in_steps, cases[c].beside ? 0 : log->low);
        plyecho_gauge_log_free(log);
    }
}

static void a_bonded_sleeve(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    for (size_t k = 0; k < 3 * ROUND; k++)
        r[k].wall_m.value += 1.1e-3;
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_TWO_WALLS);
    assert_true(log->parted);
    assert_int_equal(log->wall, 3 * ROUND); /* the thicker one, without a nominal */
    assert_int_equal(log->other, 5 * ROUND);
    plyecho_gauge_log_free(log);
    log = judged(r, PLACES, &tube_of_3_2);
    assert_int_equal(log->wall, 5 * ROUND);
    plyecho_gauge_log_free(log);
    /* it ends on a ring */
    for (size_t k = 3 * ROUND; k < 3 * ROUND + 11; k++)
        r[k].wall_m.value += 1.1e-3;
    answers(r, PLACES, &tube, PLYECHO_GAUGE_TWO_WALLS);
    /* with a low patch in it */
    set_mm(r, 1, 5, 1.2);
    set_mm(r, 1, 6, 1.5);
    set_mm(r, 2, 5, 1.9);
    answers(r, PLACES, &tube, PLYECHO_GAUGE_MIXED);
}

/* Three rings over a delamination that goes all round: as even as a sleeve. Below 0.7 of the wall a lone level is a full
 * shadow (our choice); a stated nominal decides nearer ones. */
static void a_delaminated_end(void **state)
{
    (void)state;
    static const struct {
        double mm, nominal_mm;
        enum plyecho_gauge_answer answer;
    } cases[] = {
        {1.4, 3.2, PLYECHO_GAUGE_MIXED},      {1.4, 0.0, PLYECHO_GAUGE_MIXED},
        {2.5, 3.2, PLYECHO_GAUGE_MIXED},      {2.5, 0.0, PLYECHO_GAUGE_TWO_WALLS},
        {2.2, 0.0, PLYECHO_GAUGE_MIXED},      {1.4, 1.4, PLYECHO_GAUGE_TWO_WALLS},
        {2.95, 3.2, PLYECHO_GAUGE_TWO_WALLS}, {1.4, 2.2, PLYECHO_GAUGE_MIXED},
    };
    struct plyecho_gauge_reading r[PLACES];
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct plyecho_gauge_log_options options = tube;
        options.nominal_m =
            (struct plyecho_known){cases[k].nominal_mm > 0.0, cases[k].nominal_mm * 1e-3};
        sound(r, ROUND, RINGS);
        for (size_t i = 5 * ROUND; i < PLACES; i++)
            r[i].wall_m.value += (cases[k].mm - 3.2) * 1e-3;
        struct plyecho_gauge_log *log = judged(r, PLACES, &options);
        bool two = cases[k].answer == PLYECHO_GAUGE_TWO_WALLS;
        assert_string_equal(plyecho_gauge_answer_word(log->answer),
                            plyecho_gauge_answer_word(cases[k].answer));
        assert_int_equal(log->parted, two);
        assert_int_equal(log->low, two ? 0 : 3 * ROUND);
        assert_int_equal(log->at_once, log->low);
        assert_int_equal(log->low + log->wall + log->other, PLACES);
        plyecho_gauge_log_free(log);
    }
}

/* The nominal changes where a sleeve is bonded on: it is the wall there, and what reads the tube alone is low. */
static void a_sleeve_that_is_stated(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    const struct plyecho_along stepped = {
        {0.02, 0.03, 0.031, 0.048}, {4.3e-3, 4.3e-3, 3.2e-3, 3.2e-3}, 4, 0};
    struct plyecho_gauge_log_options options = tube;
    options.nominal = &stepped;
    sound(r, ROUND, RINGS);
    struct plyecho_gauge_log *log = judged(r, PLACES, &options);
    assert_int_equal(log->answer, PLYECHO_GAUGE_MIXED);
    assert_int_equal(log->low, 3 * ROUND);
    plyecho_gauge_log_free(log);
    for (size_t k = 0; k < 3 * ROUND; k++)
        r[k].wall_m.value += 1.1e-3;
    answers(r, PLACES, &options, PLYECHO_GAUGE_ONE_WALL);
}

static void nothing_stands_out(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    for (size_t i = 0; i < PLACES;
         i++) { /* half of the wall, give or take a tenth: nothing else */
        double p = ((double)(i * 101 % PLACES) + 0.5) / PLACES;
        r[i].wall_m.value = 0.01e-3 * round(160.0 + 32.0 * gsl_cdf_ugaussian_Pinv(p));
    }
    answers(r, PLACES, &tube, PLYECHO_GAUGE_SCATTERED);
}

static void beyond_the_tolerance(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    struct plyecho_gauge_log_options other = tube;
    sound(r, ROUND, RINGS);
    other.nominal_m = (struct plyecho_known){true, 4.3e-3};
    answers(r, PLACES, &other, PLYECHO_GAUGE_BEYOND_TOLERANCE);
    /* tapered: by its own median it leaves the tolerance, by its nominal it does not */
    for (size_t i = 0; i < PLACES; i++)
        r[i].wall_m.value += 0.01e-3 * round(30.0 * (double)(i / ROUND) / 7.0 * 4.0 - 60.0);
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_BEYOND_TOLERANCE);
    assert_int_equal(log->low + log->high, 0);
    plyecho_gauge_log_free(log);
    const struct plyecho_along tapered = {{0.02, 0.048}, {2.6e-3, 3.8e-3}, 2, 0};
    other.nominal_m.known = false;
    other.nominal = &tapered;
    answers(r, PLACES, &other, PLYECHO_GAUGE_ONE_WALL);
    other.tolerance_m = (struct plyecho_known){true, 0.02e-3};
    answers(r, PLACES, &other, PLYECHO_GAUGE_BEYOND_TOLERANCE);
}

static void places_without_a_reading(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, ROUND, RINGS);
    r[30].wall_m.known = false;
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_UNREAD_PLACES);
    assert_int_equal(log->unread, 1);
    assert_int_equal(log->place[30].group, PLYECHO_GAUGE_UNREAD);
    plyecho_gauge_log_free(log);
}

static void repeats(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES + 3];
    sound(r, ROUND, RINGS);
    r[5].wall_m.value = 3.21e-3;
    r[PLACES] = r[PLACES + 1] = r[PLACES + 2] = r[5];
    r[PLACES].wall_m.value = 3.25e-3;
    r[PLACES].place.across += 720.0;
    r[PLACES + 1].wall_m.known = false; /* a reading outweighs none */
    r[PLACES + 2].wall_m.value = 3.23e-3;
    r[PLACES + 2].place.across -= 360.0;
    struct plyecho_gauge_log *log = judged(r, PLACES + 3, &tube);
    assert_int_equal(log->count, PLACES);
    assert_int_equal(log->place_of[PLACES], 5);
    assert_int_equal(log->place[5].readings, 3);
    assert_float_equal(log->place[5].wall_m, 3.23e-3, 1e-12);
    assert_float_equal(log->repeats_m.value, 0.02e-3,
                       1e-12); /* by hand: 0.02^2 + 0 + 0.02^2 over 2 */
    assert_int_equal(log->answer, PLYECHO_GAUGE_ONE_WALL);
    plyecho_gauge_log_free(log);
    /* they disagree: the least stands for the place */
    r[PLACES].wall_m.value = 1.4e-3;
    log = judged(r, PLACES + 3, &tube);
    assert_true(log->place[5].disagree);
    assert_float_equal(log->place[5].wall_m, 1.4e-3, 1e-12);
    assert_int_equal(log->answer, PLYECHO_GAUGE_LOW_SPOTS);
    plyecho_gauge_log_free(log);
    /* neither of them is far off, but the place tells nothing */
    r[5].wall_m.value = 3.12e-3;
    r[PLACES].wall_m.value = 3.36e-3;
    answers(r, PLACES + 3, &tube, PLYECHO_GAUGE_SCATTERED);
}

static void too_few_or_alone(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    sound(r, 7, 1);
    answers(r, 7, &tube, PLYECHO_GAUGE_TOO_FEW);
    answers(r, 1, &tube, PLYECHO_GAUGE_TOO_FEW);
    /* each ring at angles of its own, too far apart to lead to each other: the groups tell */
    sound(r, ROUND, RINGS);
    for (size_t i = 0; i < PLACES; i++) {
        r[i].place.across = fmod(r[i].place.across * 7.3 + 1.7 * (double)(i * i), 360.0);
        r[i].place.along = (double)(i * i % 211) * 0.05;
        if (i % 6 == 0)
            r[i].wall_m.value = (1.0 + 0.01 * (double)(i % 90)) * 1e-3;
    }
    struct plyecho_gauge_log *log = judged(r, PLACES, &tube);
    assert_int_equal(log->answer, PLYECHO_GAUGE_MIXED);
    assert_int_equal(log->low, 32);
    plyecho_gauge_log_free(log);
}

static void a_plate(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    const struct plyecho_gauge_log_options plate = {.part = {.tube = false}};
    for (size_t i = 0; i < PLACES; i++) {
        r[i] = (struct plyecho_gauge_reading){
            .place = {0.005 * (double)(i % 16) - 0.02, 0.005 * (double)(i / 16)},
            .wall_m = {true, (2.0 + 0.01 * (double)(i % 7)) * 1e-3},
        };
    }
    answers(r, PLACES, &plate, PLYECHO_GAUGE_ONE_WALL);
    for (size_t i = 0; i < PLACES; i++)
        r[i].wall_m.value += i % 16 >= 10 ? 0.6e-3 : 0.0; /* a step over the plate, along y */
    answers(r, PLACES, &plate, PLYECHO_GAUGE_TWO_WALLS);
}

static void what_is_refused(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    struct plyecho_gauge_log *log;
    struct plyecho_error err;
    sound(r, ROUND, RINGS);
    assert_int_equal(plyecho_gauge_log_new(&log, r, 0, &tube, &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_gauge_log_new(&log, r, PLYECHO_GAUGE_MOST + 1, &tube, &err),
                     PLYECHO_TOO_LARGE);
    assert_null(log);
    static const double bad[] = {0.0, -3.2e-3, NAN, INFINITY};
    for (size_t k = 0; k < 4; k++) {
        r[9].wall_m.value = bad[k];
        assert_int_equal(plyecho_gauge_log_new(&log, r, PLACES, &tube, &err),
                         PLYECHO_BAD_ARGUMENT);
        assert_non_null(strstr(err.text, "reading 10 "));
    }
    for (size_t i = 0; i < PLACES; i++)
        r[i].wall_m.known = false;
    assert_int_equal(plyecho_gauge_log_new(&log, r, PLACES, &tube, &err), PLYECHO_BAD_ARGUMENT);
}

static void no_memory(void **state)
{
    (void)state;
    struct plyecho_gauge_reading r[PLACES];
    struct plyecho_gauge_log *log;
    struct plyecho_error err;
    sound(r, ROUND, RINGS);
    for (size_t k = 0; k < 3 * ROUND; k++)
        r[k].wall_m.value += 1.1e-3;
    set_mm(r, 2, 7, 1.4);
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    long failed = 0;
    for (; code == PLYECHO_NO_MEMORY && failed < 1000; failed++) {
        fail_allocation(failed);
        code = plyecho_gauge_log_new(&log, r, PLACES, &tube, &err);
        assert_true((code == PLYECHO_OK) == (log != NULL));
    }
    fail_no_allocation();
    assert_int_equal(code, PLYECHO_OK);
    assert_true(failed > 20);
    plyecho_gauge_log_free(log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_wall),
        cmocka_unit_test(mixed),
        cmocka_unit_test(low_and_high_spots),
        cmocka_unit_test(a_filed_spot),
        cmocka_unit_test(a_filed_spot_by_a_lost_wall),
        cmocka_unit_test(a_bonded_sleeve),
        cmocka_unit_test(a_delaminated_end),
        cmocka_unit_test(a_sleeve_that_is_stated),
        cmocka_unit_test(nothing_stands_out),
        cmocka_unit_test(beyond_the_tolerance),
        cmocka_unit_test(places_without_a_reading),
        cmocka_unit_test(repeats),
        cmocka_unit_test(too_few_or_alone),
        cmocka_unit_test(a_plate),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(no_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
