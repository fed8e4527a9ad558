/* Levels of single echoes from the layer model, against what plane interfaces give by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <plyecho/expected_echo.h>

static const double line_rayl = 3.162e6, wall_rayl = 4.65e6, air_rayl = 413.0;

static struct plyecho_expected_echo find(double attenuation_db_mm_mhz, double behind_rayl)
{
    struct plyecho_pulse pulse;
    struct plyecho_layer wall = {.impedance_rayl = wall_rayl,
                                 .velocity_m_s = 2950.0,
                                 .attenuation_np_m_hz =
                                     plyecho_attenuation_from_db_mm_mhz(attenuation_db_mm_mhz),
                                 .thickness_m = 3.2e-3};
    struct plyecho_stack with = {.front_impedance_rayl = line_rayl,
                                 .layers = &wall,
                                 .count = 1,
                                 .behind_impedance_rayl = behind_rayl,
                                 .reference_frequency_hz = 10e6};
    struct plyecho_stack without = with;
    struct plyecho_expected_echo echo;
    without.behind_impedance_rayl = wall_rayl;
    assert_int_equal(plyecho_pulse_from_band(&pulse, 10e6, 0.6, 0.0, 0.0, NULL), PLYECHO_OK);
    plyecho_expected_echo_find(&pulse, &with, &without, 2.0 * 3.2e-3 / 2950.0, &echo);
    return echo;
}

/* (1 - r^2) |R|, with r of the front (+0.1904 for these impedances) and R of the back. */
static void without_loss_it_is_what_the_interfaces_let_through(void **state)
{
    (void)state;
    const double passed = 1.0 - 0.1904 * 0.1904;
    struct plyecho_expected_echo air = find(0.0, air_rayl), epoxy = find(0.0, 3.0e6);
    assert_true(fabs(air.level - passed * 0.9998) < 0.001);
    assert_true(fabs(air.time_s - 2.0 * 3.2e-3 / 2950.0) < 2e-9);
    assert_true(fabs(epoxy.level - passed * 0.2157) < 0.001);
    assert_true(fabs(air.centre_hz / 10e6 - 1.0) < 0.002);
    assert_true(find(0.0, wall_rayl).level < 1e-9);
}

/* A Gaussian spectrum exp(-(f - f0)^2 / (2 b^2)) times exp(-c f): peak exp(-c f0 + (c b)^2 / 2), centre of
 * the energy f0 - c b^2 (completing the square). c: Np per Hz, there and back. Dispersion, which the model
 * has, spreads the pulse and lowers the peak a little more: some per cent at most here. */
static void attenuation_lowers_it_and_draws_the_centre_down(void **state)
{
    (void)state;
    const double b = 6e6 / 2.0 / sqrt(2.0 * log(2.0));
    const double losses[] = {0.05, 0.1, 0.2};
    for (size_t i = 0; i < 3; i++) {
        struct plyecho_expected_echo echo = find(losses[i], air_rayl);
        double c = 2.0 * 3.2 * losses[i] / 8.685889638 / 1e6;
        double expected = 0.9637 * exp(-c * 10e6 + 0.5 * c * c * b * b);
        assert_true(fabs(echo.level / expected - 1.0) < 0.04);
        assert_true(fabs(echo.centre_hz - (10e6 - c * b * b)) < 0.02e6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_loss_it_is_what_the_interfaces_let_through),
        cmocka_unit_test(attenuation_lowers_it_and_draws_the_centre_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
