/* Near field, beam, diffraction and contact gap against published and closed-form values. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/beam.h>

static const double pi = 3.14159265358979323846;

static bool near(double value, double expected, double share)
{
    return fabs(value / expected - 1.0) < share;
}

/* D^2 / 4 wavelength of examination notes, corrected to the last maximum of 2 sin(k/2 (sqrt(z^2 + a^2) - z)),
 * which a scan of that expression bears out; angles by 2 J1(x) / x. */
static void near_field_and_angles_are_the_pistons(void **state)
{
    (void)state;
    static const double rows[][5] = {
        /* D mm, MHz, m/s, near field mm, half angle at -6 dB deg */
        {6, 5, 3000, 14.850, 2.95},
        {6, 10, 3000, 29.925, 1.47},
        {10, 5, 5920, 20.819, 3.49},
        {6, 5, 1482.34, 30.283, 1.46},
    };
    for (size_t i = 0; i < 4; i++) {
        double d = rows[i][0] * 1e-3, wavelength = rows[i][2] / (rows[i][1] * 1e6);
        assert_true(near(plyecho_near_field_m(d, wavelength), rows[i][3] * 1e-3, 0.0002));
        double angle = plyecho_beam_half_angle_rad(d, wavelength, PLYECHO_BEAM_6DB);
        assert_true(fabs(angle * 180.0 / pi - rows[i][4]) < 0.01);
        double best = 0.0, at = 0.0;
        for (double z = 0.3 * rows[i][3]; z < 2.0 * rows[i][3]; z += 0.002) {
            double a = rows[i][0] / 2.0, path = sqrt(z * z + a * a) - z;
            double p = fabs(sin(pi / (wavelength * 1e3) * path));
            if (p >= best && z > at) {
                best = p;
                at = z;
            }
        }
        assert_true(near(plyecho_near_field_m(d, wavelength) * 1e3, at, 0.002));
    }
    assert_true(plyecho_near_field_m(0.5e-3, 0.6e-3) == 0.0);
    assert_true(
        near(plyecho_beam_half_angle_rad(0.5e-3, 0.6e-3, PLYECHO_BEAM_EDGE), pi / 2, 1e-9));
    assert_true(near(plyecho_beam_half_angle_rad(6e-3, 0.6e-3, PLYECHO_BEAM_EDGE) * 180.0 / pi,
                     7.01, 0.001));
}

/* s, |D(s)|: Rogers and Van Buren's formula, checked against a numerical Lommel integral. */
static void diffraction_is_as_rogers_and_van_buren_have_it(void **state)
{
    (void)state;
    static const double rows[][2] = {
        {0.5, 0.85655}, {1, 0.80813}, {1.5, 0.74134}, {2, 0.75172},  {3, 0.73275},
        {4, 0.64065},   {5, 0.55120}, {10, 0.30400},  {50, 0.06275},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_true(fabs(cabs(plyecho_piston_diffraction(rows[i][0])) - rows[i][1]) < 2e-5);
    assert_true(near(cabs(plyecho_piston_diffraction(500.0)), pi / 500.0, 0.001));
}

/* Far behind the near field the width is that of the angle; at the near field's end, in a narrow band, the
 * textbooks' quarter of the diameter (0.257). */
static void the_beam_is_the_angles_far_off_and_the_faces_close_by(void **state)
{
    (void)state;
    const double d = 6e-3, wavelength = 0.6e-3, n = d * d / 4.0 / wavelength;
    for (double z = 8.0; z <= 32.0; z *= 2.0) {
        double angle = plyecho_beam_half_angle_rad(d, wavelength, PLYECHO_BEAM_6DB);
        assert_true(near(plyecho_beam_diameter_m(d, wavelength, 0.05, z * n),
                         2.0 * z * n * tan(angle), 0.02));
    }
    assert_true(fabs(plyecho_beam_diameter_m(d, wavelength, 0.05, n) / d - 0.257) < 0.03);
    assert_true(plyecho_beam_diameter_m(d, wavelength, 0.6, 0.01 * n) == d);
    double close = plyecho_beam_diameter_m(d, wavelength, 0.6, 0.1 * n);
    assert_true(close > 0.6 * d && close < d);
}

/* 10 mm of plastic at 2680 m/s diffract as 10 x 2680 / 2950 mm of carbon do. */
static void paths_count_with_their_velocities(void **state)
{
    (void)state;
    assert_true(near(plyecho_equivalent_path_m(10e-3, 2680, 2950), 9.0847e-3, 1e-4));
    assert_true(plyecho_equivalent_path_m(0.0, 2680, 2950) == 0.0);
}

/* Chord and height of a circle: R - sqrt(R^2 - a^2). 6 mm on 28.6 mm: 0.3182 mm. */
static void a_flat_face_on_a_tube_leaves_the_circles_gap(void **state)
{
    (void)state;
    assert_true(near(plyecho_contact_gap_m(6e-3, 28.6e-3), 0.31819e-3, 2e-4));
    assert_true(plyecho_contact_gap_m(30e-3, 28.6e-3) == 14.3e-3);
    for (double w = 1e-3; w <= 6e-3; w += 1e-3)
        assert_true(
            near(plyecho_contact_width_m(6e-3, 28.6e-3, plyecho_contact_gap_m(w, 28.6e-3)), w,
                 1e-6));
    assert_true(plyecho_contact_width_m(6e-3, 28.6e-3, 1e-3) == 6e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(near_field_and_angles_are_the_pistons),
        cmocka_unit_test(diffraction_is_as_rogers_and_van_buren_have_it),
        cmocka_unit_test(the_beam_is_the_angles_far_off_and_the_faces_close_by),
        cmocka_unit_test(paths_count_with_their_velocities),
        cmocka_unit_test(a_flat_face_on_a_tube_leaves_the_circles_gap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
