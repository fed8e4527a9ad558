/* The wall of a part: which places count, mean, spread, the thinnest. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/walls.h>

static struct plyecho_place_reading place(double wall_mm)
{
    return (struct plyecho_place_reading){
        .read = true,
        .second = PLYECHO_NO_INDICATION,
        .second_wall_m = {true, wall_mm * 1e-3},
    };
}

static void which_places_count(void **state)
{
    (void)state;
    static const struct {
        enum plyecho_verdict second;
        bool counts;
    } cases[] = {
        {PLYECHO_NO_INDICATION, true}, {PLYECHO_INNER_ECHO, true},
        {PLYECHO_DELAMINATION, false}, {PLYECHO_THIN, true},
        {PLYECHO_ATTENUATED, true},    {PLYECHO_UNDECIDED, false},
        {PLYECHO_UNREADABLE, false},
    };
    assert_int_equal(sizeof cases / sizeof cases[0], PLYECHO_VERDICT_COUNT);
    for (size_t i = 0; i < PLYECHO_VERDICT_COUNT; i++) {
        struct plyecho_place_reading p = place(3.2);
        p.second = cases[i].second;
        assert_int_equal(plyecho_walls_has(&p), cases[i].counts);
        p.second_wall_m.known = false;
        assert_false(plyecho_walls_has(&p));
        p = place(3.2);
        p.read = false;
        assert_false(plyecho_walls_has(&p));
    }
}

static void mean_spread_and_least(void **state)
{
    (void)state;
    /* NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6: squares over n - 1; by hand: mean 3.2,
     * deviations 0.1, -0.1, 0.2, -0.2, squares sum to 0.1 over 3 */
    struct plyecho_place_reading p[] = {place(3.3), place(0.4), place(3.1),
                                        place(3.4), place(3.0), place(3.0)};
    p[1].second = PLYECHO_DELAMINATION;
    p[5].second = PLYECHO_UNDECIDED;
    struct plyecho_walls w = plyecho_walls_take(p, 6);
    assert_int_equal(w.count, 4);
    assert_float_equal(w.mean_m, 3.2e-3, 1e-15);
    assert_true(w.spread_m.known);
    assert_float_equal(w.spread_m.value, 1e-3 * sqrt(0.1 / 3.0), 1e-15);
    assert_int_equal(w.least, 4);
    p[5] = place(3.0); /* the first of equal ones */
    assert_int_equal(plyecho_walls_take(p, 6).least, 4);
}

static void about_their_nominals(void **state)
{
    (void)state;
    /* with and without a sleeve, by hand: off by 0.1 and -0.1 mm, 0.02 over 1 */
    struct plyecho_place_reading p[] = {place(3.3), place(4.4), place(9.9)};
    p[0].nominal_m = (struct plyecho_known){true, 3.2e-3};
    p[1].nominal_m = (struct plyecho_known){true, 4.5e-3};
    p[2].second = PLYECHO_DELAMINATION;
    struct plyecho_walls w = plyecho_walls_take(p, 3);
    assert_true(w.about_nominal);
    assert_float_equal(w.mean_off_m, 0.0, 1e-15);
    assert_true(w.spread_about_m.known);
    assert_float_equal(w.spread_about_m.value, 1e-3 * sqrt(0.02), 1e-15);
    assert_float_equal(w.spread_m.value, 1e-3 * sqrt(0.605), 1e-15);
    p[2].second = PLYECHO_NO_INDICATION; /* one whose nominal is not known */
    assert_false(plyecho_walls_take(p, 3).about_nominal);
    assert_false(plyecho_walls_take(p, 3).spread_about_m.known);
    assert_false(plyecho_walls_take(p, 0).about_nominal);
}

static void a_small_spread_stays_exact(void **state)
{
    (void)state;
    /* 3 m and 1 nm: squares of the values themselves would leave nothing of it */
    struct plyecho_place_reading p[] = {place(3000.0), place(3000.000001), place(3000.000002)};
    assert_float_equal(plyecho_walls_take(p, 3).spread_m.value, 1e-9, 1e-14);
}

static void one_wall_or_none(void **state)
{
    (void)state;
    struct plyecho_place_reading p[] = {place(3.2), place(3.1)};
    p[0].read = false;
    struct plyecho_walls w = plyecho_walls_take(p, 2);
    assert_int_equal(w.count, 1);
    assert_int_equal(w.least, 1);
    assert_float_equal(w.mean_m, 3.1e-3, 1e-18);
    assert_false(w.spread_m.known);
    p[1].read = false;
    w = plyecho_walls_take(p, 2);
    assert_int_equal(w.count, 0);
    assert_false(w.spread_m.known);
    assert_int_equal(plyecho_walls_take(p, 0).count, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(which_places_count),   cmocka_unit_test(mean_spread_and_least),
        cmocka_unit_test(about_their_nominals), cmocka_unit_test(a_small_spread_stays_exact),
        cmocka_unit_test(one_wall_or_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
