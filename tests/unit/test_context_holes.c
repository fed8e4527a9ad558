/* Holes in a bonded layer, on tubes made by hand; and an interface next to them that is no edge. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "failing_alloc.h"
#include "made_scan.h"

static const double mm = 1e-3;

/* Rows from `first` on have an undeclared layer: its interface at 3.2 mm, the wall at 4.4 mm. */
static void layered(struct made_scan *s, size_t first)
{
    made_scan_new(s, 24, 10);
    for (size_t i = first * 24; i < s->grid->count; i++) {
        made_inside(&s->reading[i], PLYECHO_INNER_ECHO, 3.2 * mm, -0.2);
        made_wall(&s->reading[i], 4.4 * mm);
    }
}

/* Read as the wall without the layer. */
static void make_bare(struct made_scan *s, size_t column, size_t row)
{
    struct plyecho_place_reading *r = made_scan_at(s, column, row);
    r->verdict = PLYECHO_NO_INDICATION;
    r->flagged = r->has_indication = false;
    made_wall(r, 3.2 * mm);
}

static void a_hole_is_a_shadow_at_the_interface(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 4);
    make_bare(&s, 23, 6); /* through 0 degrees */
    make_bare(&s, 0, 6);
    made_scan_judge(&s);
    for (size_t column = 0; column < 24; column += 23) {
        const struct plyecho_place_reading *r = made_scan_at(&s, column, 6);
        expect(r, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
        assert_float_equal(r->second_depth_m, 3.2 * mm, 1e-12);
        assert_float_equal(r->second_strength, -1.0, 1e-12);
        assert_false(r->second_wall_m.known);
        assert_int_equal(r->verdict, PLYECHO_NO_INDICATION);
    }
    expect(made_scan_at(&s, 5, 2), PLYECHO_NO_INDICATION, false, PLYECHO_CONTEXT_NONE);
    made_scan_free(&s);
}

/* Round it lie places over which the layer has partly come off. */
static void what_has_come_off_partly_is_of_the_layer(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 4);
    make_bare(&s, 10, 6);
    for (size_t k = 0; k < 4; k++)
        made_inside(made_scan_at(&s, 9 + k % 2 * 2, 6 + k / 2), PLYECHO_DELAMINATION, 3.2 * mm,
                    -0.6);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 10, 6), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    made_scan_free(&s);
}

static void a_layer_may_end(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 4);
    make_bare(&s, 10, 9); /* in the last row */
    made_scan_judge(&s);
    assert_int_equal(made_scan_at(&s, 10, 9)->second, PLYECHO_NO_INDICATION);
    for (size_t column = 0; column < 24; column++) /* the bare part is none */
        assert_int_equal(made_scan_at(&s, column, 1)->second, PLYECHO_NO_INDICATION);
    made_scan_free(&s);
}

static void a_window_as_large_as_the_layer_is_none(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 0);
    for (size_t row = 2; row < 8; row++)
        for (size_t column = 4; column < 16; column++)
            make_bare(&s, column, row);
    made_scan_judge(&s);
    assert_int_equal(made_scan_at(&s, 10, 5)->second, PLYECHO_NO_INDICATION);
    made_scan_free(&s);
}

/* Its own wall lies elsewhere than the interface around. */
static void another_wall_is_no_hole(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 4);
    make_bare(&s, 10, 6);
    made_wall(made_scan_at(&s, 10, 6), 4.0 * mm);
    made_scan_judge(&s);
    assert_int_not_equal(made_scan_at(&s, 10, 6)->context, PLYECHO_CONTEXT_SHADOW);
    made_scan_free(&s);
}

/* Next to a disbond the layer's interface goes on; only where it is stronger is it the disbond's edge. */
static void an_interface_that_runs_on_is_no_edge(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 4);
    make_bare(&s, 10, 7);
    made_inside(made_scan_at(&s, 11, 7), PLYECHO_INNER_ECHO, 3.2 * mm, -0.35);
    made_scan_judge(&s);
    expect(made_scan_at(&s, 10, 7), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_SHADOW);
    expect(made_scan_at(&s, 9, 7), PLYECHO_INNER_ECHO, true, PLYECHO_CONTEXT_NONE);
    expect(made_scan_at(&s, 11, 7), PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    made_scan_free(&s);
}

/* Beside a disbond a weak back wall at its depth is the disbond's echo. */
static void a_disbonds_depth_is_no_wall(void **state)
{
    (void)state;
    struct made_scan s;
    layered(&s, 4);
    make_bare(&s, 10, 7);
    struct plyecho_place_reading *r = made_scan_at(&s, 11, 7);
    r->has_indication = false;
    made_attenuated(r, -9.0);
    made_wall(r, 3.25 * mm);
    made_scan_judge(&s);
    expect(r, PLYECHO_DELAMINATION, true, PLYECHO_CONTEXT_EDGE);
    assert_false(r->second_wall_m.known);
    made_scan_free(&s);
}

static void no_memory_is_told(void **state)
{
    (void)state;
    struct made_scan s;
    struct plyecho_error err;
    layered(&s, 4);
    make_bare(&s, 10, 7);
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    for (long left = 0; code == PLYECHO_NO_MEMORY; left++) {
        fail_allocation(left);
        code = plyecho_context_judge(s.grid, s.reading, &s.options, &s.sound, &err);
        fail_no_allocation();
        assert_true(left < 100);
    }
    assert_int_equal(code, PLYECHO_OK);
    made_scan_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_hole_is_a_shadow_at_the_interface),
        cmocka_unit_test(what_has_come_off_partly_is_of_the_layer),
        cmocka_unit_test(a_layer_may_end),
        cmocka_unit_test(a_window_as_large_as_the_layer_is_none),
        cmocka_unit_test(another_wall_is_no_hole),
        cmocka_unit_test(an_interface_that_runs_on_is_no_edge),
        cmocka_unit_test(a_disbonds_depth_is_no_wall),
        cmocka_unit_test(no_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
