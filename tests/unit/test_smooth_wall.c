/* The smooth wall: shapes that it follows, readings that it passes by, how many terms, what is refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/smooth_wall.h>

#include "failing_alloc.h"

enum { ROUND = 24, RINGS = 8, PLACES = ROUND * RINGS };

static const double micrometre = 1e-6;

static void tube_places(struct plyecho_place *places, size_t round, size_t rings)
{
    for (size_t i = 0; i < round * rings; i++)
        places[i] = (struct plyecho_place){360.0 / (double)round * (double)(i % round),
                                           0.02 + 0.004 * (double)(i / round)};
}

static void an_eccentric_oval_tapered_tube(void **state)
{
    (void)state;
    struct plyecho_place places[PLACES];
    double value[PLACES];
    struct plyecho_smooth_wall w;
    struct plyecho_error err;
    tube_places(places, ROUND, RINGS);
    for (size_t i = 0; i < PLACES; i++) {
        double a = places[i].across * acos(-1.0) / 180.0;
        value[i] = 3.2e-3 + 0.2e-3 * cos(a) - 0.1e-3 * sin(2.0 * a) + 5e-3 * places[i].along;
        if (i % 5 < 2) /* two in five are none of this wall */
            value[i] *= 0.3 + 0.05 * (double)(i % 9);
    }
    assert_int_equal(plyecho_smooth_wall_fit(&w, places, value, PLACES, true, micrometre, &err),
                     PLYECHO_OK);
    for (size_t i = 0; i < PLACES; i++)
        if (i % 5 >= 2)
            assert_float_equal(plyecho_smooth_wall_at(&w, &places[i]), value[i], 1e-12);
    assert_int_equal(w.kept, PLACES - 78); /* 192 = 38 * 5 + 2 */
    assert_true(w.spread_m < 1e-12);
    assert_float_equal(w.coefficient[1], 0.2e-3, 1e-12);
    assert_float_equal(w.coefficient[5], -0.1e-3, 1e-12);
}

static void a_bowed_wedge(void **state)
{
    (void)state;
    struct plyecho_place places[60];
    double value[60];
    struct plyecho_smooth_wall w;
    struct plyecho_error err;
    for (size_t i = 0; i < 60; i++) {
        double x = 0.01 * (double)(i % 10), y = 0.02 * (double)(i / 10);
        places[i] = (struct plyecho_place){x, y};
        value[i] = 2e-3 + 1e-3 * x - 2e-3 * y + 0.05 * x * y + 0.1 * y * y;
        if (i == 33)
            value[i] = 0.7e-3;
    }
    assert_int_equal(plyecho_smooth_wall_fit(&w, places, value, 60, false, micrometre, &err),
                     PLYECHO_OK);
    for (size_t i = 0; i < 60; i++)
        if (i != 33)
            assert_float_equal(plyecho_smooth_wall_at(&w, &places[i]), value[i], 1e-12);
    assert_int_equal(w.kept, 59);
}

/* A wave through four angles would follow anything. */
static void few_places_carry_few_terms(void **state)
{
    (void)state;
    static const struct {
        size_t round, rings;
        bool wave, along, second;
    } cases[] = {
        {1, 1, false, false, false}, {4, 8, false, true, false}, {8, 1, false, false, false},
        {8, 3, true, false, false},  {8, 4, true, true, false},  {12, 3, true, false, true},
        {24, 8, true, true, true},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        struct plyecho_place places[PLACES];
        double value[PLACES];
        struct plyecho_smooth_wall w;
        struct plyecho_error err;
        size_t count = cases[k].round * cases[k].rings;
        tube_places(places, cases[k].round, cases[k].rings);
        for (size_t i = 0; i < count; i++)
            value[i] = 3.2e-3 + 1e-5 * (double)((7 * i) % 5);
        assert_int_equal(
            plyecho_smooth_wall_fit(&w, places, value, count, true, micrometre, &err),
            PLYECHO_OK);
        assert_true(w.used[0]);
        assert_int_equal(w.used[1], cases[k].wave);
        assert_int_equal(w.used[2], cases[k].wave);
        assert_int_equal(w.used[3], cases[k].along);
        assert_int_equal(w.used[4], cases[k].second);
        assert_int_equal(w.used[5], cases[k].second);
    }
}

/* All readings in a third of the round tell no wave. */
static void a_wave_needs_places_all_round(void **state)
{
    (void)state;
    struct plyecho_place places[PLACES];
    double value[PLACES];
    struct plyecho_smooth_wall w;
    struct plyecho_error err;
    tube_places(places, ROUND, RINGS);
    for (size_t i = 0; i < PLACES; i++) {
        places[i].across /= 3.0;
        value[i] = 3.2e-3;
    }
    assert_int_equal(plyecho_smooth_wall_fit(&w, places, value, PLACES, true, micrometre, &err),
                     PLYECHO_OK);
    assert_false(w.used[1] || w.used[4]);
    assert_true(w.used[3]);
    assert_int_equal(w.kept, PLACES);
}

static void what_is_refused(void **state)
{
    (void)state;
    struct plyecho_place places[8];
    const double value[8] = {3e-3, 3e-3, 3e-3, 3e-3, 3e-3, 3e-3, 3e-3, 3e-3};
    struct plyecho_smooth_wall w;
    struct plyecho_error err;
    tube_places(places, 8, 1);
    assert_int_equal(plyecho_smooth_wall_fit(&w, places, value, 0, true, micrometre, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_smooth_wall_fit(&w, places, value, 8, true, 0.0, &err),
                     PLYECHO_BAD_ARGUMENT);
    for (long n = 0; n < 3; n++) {
        fail_allocation(n);
        assert_int_equal(plyecho_smooth_wall_fit(&w, places, value, 8, true, micrometre, &err),
                         PLYECHO_NO_MEMORY);
    }
    fail_no_allocation();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_eccentric_oval_tapered_tube),
        cmocka_unit_test(a_bowed_wedge),
        cmocka_unit_test(few_places_carry_few_terms),
        cmocka_unit_test(a_wave_needs_places_all_round),
        cmocka_unit_test(what_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
