/* A place's coordinates: their names, their units, and the place in words. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "scan_axes.h"

static const struct plyecho_place place = {0.07, 0.032};

static void a_tube_has_an_angle_and_an_axial_place(void **state)
{
    (void)state;
    const struct scan_axes *axes = scan_axes_of(true);
    char words[PLYECHO_PLACE_ROOM];
    assert_string_equal(axes->across.name, "angle_deg");
    assert_string_equal(axes->along.name, "axial_mm");
    assert_true(scan_axis_number(&axes->across, place.across) == 0.07);
    assert_true(scan_axis_number(&axes->along, place.along) == 32.0);
    assert_string_equal(plyecho_place_words(true, &place, words), "0.07 deg, 32 mm");
}

static void a_plate_has_x_and_y(void **state)
{
    (void)state;
    const struct scan_axes *axes = scan_axes_of(false);
    char words[PLYECHO_PLACE_ROOM];
    assert_string_equal(axes->across.name, "x_mm");
    assert_string_equal(axes->along.name, "y_mm");
    assert_true(scan_axis_number(&axes->across, place.across) == 70.0);
    assert_true(scan_axis_number(&axes->along, place.along) == 32.0);
    assert_string_equal(plyecho_place_words(false, &place, words), "x 70 mm, y 32 mm");
}

/* 7 * 0.1 is not 0.7; nor is 3 * 0.0011 m in mm 3.3. */
static void rounding_of_the_machine_is_not_told(void **state)
{
    (void)state;
    const struct scan_axes *axes = scan_axes_of(true);
    assert_true(scan_axis_number(&axes->across, 7 * 0.1) == 0.7);
    assert_true(scan_axis_number(&axes->along, 3 * 0.0011) == 3.3);
    assert_true(scan_axis_number(&axes->along, 0.0012345674) == 1.234567);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tube_has_an_angle_and_an_axial_place),
        cmocka_unit_test(a_plate_has_x_and_y),
        cmocka_unit_test(rounding_of_the_machine_is_not_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
