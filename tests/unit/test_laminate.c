/* The layer model against closed forms, handbook figures and what physics demands of any stack.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/laminate.h>

static const double pi = 3.14159265358979323846;

static const double cfrp = 4.65e6, water = 1.4797e6, air = 413.25, pmma = 3.162e6;

static struct plyecho_layer layer(double mrayl, double m_s, double db_mm_mhz, double mm)
{
    return (struct plyecho_layer){mrayl * 1e6, m_s,
                                  plyecho_attenuation_from_db_mm_mhz(db_mm_mhz), mm * 1e-3};
}

static struct plyecho_stack stack_of(double front, const struct plyecho_layer *layers,
                                     size_t count, double behind)
{
    return (struct plyecho_stack){.front_impedance_rayl = front,
                                  .layers = layers,
                                  .count = count,
                                  .behind_impedance_rayl = behind,
                                  .reference_frequency_hz = 10e6};
}

static double complex at_hz(double frequency_hz)
{
    return I * (2.0 * pi * frequency_hz);
}

/* Source: reflection coefficients computed from the CRC Handbook's densities and speeds of
 * sound (water, steel, aluminium, PMMA); impedances of laminates from memory. */
static void two_media_reflect_as_tabulated(void **state)
{
    (void)state;
    static const struct {
        double from, to, r, tolerance;
    } rows[] = {
        {1.4797e6, 46.79e6, 0.9387, 5e-4}, {1.4797e6, 17.33e6, 0.8427, 5e-4},
        {1.4797e6, 3.162e6, 0.3625, 5e-4}, {1.4797e6, 4.65e6, 0.5172, 5e-4},
        {4.65e6, 3.0e6, -0.2157, 5e-4},    {4.65e6, 5.3e6, 0.0653, 5e-4},
        {4.65e6, 413.0, -0.9998, 1e-4},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double r = plyecho_reflection(rows[i].from, rows[i].to);
        assert_true(fabs(r - rows[i].r) <= rows[i].tolerance);
        struct plyecho_stack stack = stack_of(rows[i].from, NULL, 0, rows[i].to);
        assert_true(cabs(plyecho_stack_reflection(&stack, at_hz(3e6)) - r) < 1e-15);
        assert_true(cabs(plyecho_stack_reflection(&stack, 0.0) - r) < 1e-15);
    }
}

/* A lossless plate's reflection repeats every v/2d in frequency; its Fourier series over one
 * such period is the train of echoes. */
static void echo_train(const struct plyecho_stack *stack, double *echo, int echoes)
{
    enum { STEPS = 512 };
    const struct plyecho_layer *plate = &stack->layers[0];
    double period_hz = plate->velocity_m_s / (2.0 * plate->thickness_m);
    for (int n = 0; n < echoes; n++) {
        double complex sum = 0.0;
        for (int i = 0; i < STEPS; i++)
            sum += plyecho_stack_reflection(stack, at_hz(period_hz * i / STEPS)) *
                   cexp(I * (2.0 * pi * n * i / STEPS));
        assert_true(fabs(cimag(sum)) < 1e-9 * STEPS);
        echo[n] = creal(sum) / STEPS;
    }
}

/* Closed form of one plate: r, then (1 - r^2) b (-r b)^(n-1) with b the back face's reflection.
 */
static void a_plate_rings_as_its_closed_form(void **state)
{
    (void)state;
    struct plyecho_layer plate = layer(4.65, 3000.0, 0.0, 3.0);
    static const struct {
        double front, behind;
        double echo[4];
    } rows[] = {
        {1.4797e6, 413.25, {0.5172, -0.7324, -0.3787, -0.1958}},
        {1.4797e6, 1.4797e6, {0.5172, -0.3789, -0.1013, -0.0271}},
    };
    for (size_t k = 0; k < 2; k++) {
        struct plyecho_stack stack = stack_of(rows[k].front, &plate, 1, rows[k].behind);
        double echo[4];
        echo_train(&stack, echo, 4);
        double r = plyecho_reflection(rows[k].front, cfrp);
        double b = plyecho_reflection(cfrp, rows[k].behind);
        for (int n = 0; n < 4; n++) {
            double closed = n == 0 ? r : (1.0 - r * r) * b * pow(-r * b, n - 1);
            assert_true(fabs(echo[n] - closed) < 1e-9);
            assert_true(fabs(echo[n] - rows[k].echo[n]) < 5e-4);
        }
    }
    struct plyecho_stack stack = stack_of(pmma, &plate, 1, air);
    double echo[3];
    echo_train(&stack, echo, 3);
    assert_true(fabs(echo[0] - 0.1904) < 5e-4);
    assert_true(fabs(20.0 * log10(echo[1] / echo[2]) - 14.41) < 0.01);
}

/* Three-layer formula for a gap between equal media, |R|^2 = 1 - 1/(1 + (Z/Zg - Zg/Z)^2/4
 * sin^2(2 pi f h/c)) (Kinsler & Frey; Brekhovskikh; from memory), and its values. */
static void a_thin_gap_reflects_as_tabulated(void **state)
{
    (void)state;
    static const double hz[3] = {1e6, 5e6, 10e6};
    static const struct {
        double metres, r[3], two_crossings_db[3];
    } rows[] = {
        {1e-9, {0.102, 0.458, 0.717}, {0.1, 2.0, 6.3}},
        {1e-8, {0.717, 0.982, 0.995}, {6.3, 28.8, 40.6}},
        {1e-7, {0.9953, 0.9998, 1.0}, {40.6, 68.5, 80.5}},
        {1e-6, {1.0, 1.0, 1.0}, {80.5, 108.0, 120.0}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (int k = 0; k < 3; k++) {
            struct plyecho_layer gap = {air, 343.2, 0.0, rows[i].metres};
            struct plyecho_stack stack = stack_of(cfrp, &gap, 1, cfrp);
            double r = cabs(plyecho_stack_reflection(&stack, at_hz(hz[k])));
            double t = cabs(plyecho_stack_transmission(&stack, at_hz(hz[k])));
            double mismatch = cfrp / air - air / cfrp;
            double swing = sin(2.0 * pi * hz[k] * rows[i].metres / 343.2);
            double t2 = 1.0 / (1.0 + 0.25 * mismatch * mismatch * swing * swing);
            assert_true(fabs(r - sqrt(1.0 - t2)) < 1e-9);
            assert_true(fabs(r - rows[i].r[k]) < 0.002 * rows[i].r[k] + 5e-4); /* 3 digits */
            assert_true(fabs(-40.0 * log10(t) - rows[i].two_crossings_db[k]) < 0.5);
        }
}

static void filled_gaps_reflect_as_tabulated(void **state)
{
    (void)state;
    static const struct {
        double mrayl, m_s, metres, hz, r;
    } rows[] = {
        {3.0, 2500.0, 1e-5, 5e6, 0.057},      {3.0, 2500.0, 1e-5, 10e6, 0.112},
        {3.0, 2500.0, 1e-5, 15e6, 0.164},     {1.4797, 1482.38, 1e-6, 5e6, 0.030},
        {1.4797, 1482.38, 1e-6, 10e6, 0.060}, {1.4797, 1482.38, 1e-5, 5e6, 0.285},
        {1.4797, 1482.38, 1e-5, 10e6, 0.502},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plyecho_layer film =
            layer(rows[i].mrayl, rows[i].m_s, 0.0, rows[i].metres * 1e3);
        struct plyecho_stack stack = stack_of(cfrp, &film, 1, cfrp);
        double r = cabs(plyecho_stack_reflection(&stack, at_hz(rows[i].hz)));
        assert_true(fabs(r - rows[i].r) < 6e-4);
    }
}

/* No loss: what is not reflected is transmitted, and against (nearly) nothing all is reflected.
 */
static void energy_is_kept_without_loss(void **state)
{
    (void)state;
    struct plyecho_layer layers[] = {
        layer(3.16, 2770.0, 0.0, 0.3), layer(4.65, 2950.0, 0.0, 3.2),
        layer(3.16, 2770.0, 0.0, 0.1), layer(5.3, 2790.0, 0.0, 1.0)};
    struct plyecho_stack stack = stack_of(pmma, layers, 4, water);
    for (double f = 0.0; f < 30e6; f += 0.37e6) {
        double r = cabs(plyecho_stack_reflection(&stack, at_hz(f)));
        double t = cabs(plyecho_stack_transmission(&stack, at_hz(f)));
        assert_true(fabs(r * r + t * t * pmma / water - 1.0) < 1e-12);
    }
    stack.behind_impedance_rayl = 1e-9;
    for (double f = 0.0; f < 30e6; f += 0.37e6)
        assert_true(fabs(cabs(plyecho_stack_reflection(&stack, at_hz(f))) - 1.0) < 1e-12);
}

static void at_rest_only_the_outer_media_count(void **state)
{
    (void)state;
    struct plyecho_layer layers[] = {layer(4.65, 2950.0, 0.1, 3.2),
                                     layer(5.3, 2790.0, 0.1, 1.0)};
    struct plyecho_stack stack = stack_of(pmma, layers, 2, water);
    double complex gamma = plyecho_stack_reflection(&stack, 0.0);
    assert_true(cabs(gamma - plyecho_reflection(pmma, water)) < 1e-14);
}

/* Loss as asked for at every frequency; the phase velocity as asked for at the reference. */
static void loss_and_velocity_are_those_asked_for(void **state)
{
    (void)state;
    struct plyecho_layer plate = layer(4.65, 2950.0, 0.1, 3.2);
    struct plyecho_stack stack = stack_of(cfrp, &plate, 1, cfrp);
    for (double f = 1e6; f < 20e6; f += 1e6) {
        double t = cabs(plyecho_stack_transmission(&stack, at_hz(f)));
        assert_true(fabs(-20.0 * log10(t) - 0.1 * 3.2 * f * 1e-6) < 1e-9);
    }
    double transit = plyecho_layers_transit_s(&plate, 1, 10e6, 10e6);
    assert_true(fabs(3.2e-3 / transit - 2950.0) < 1e-9);
    /* 0.1 dB/mm/MHz from 10 to 5 MHz, by the formula in the header with numbers put in:
     * a' = 0.1/8.685890e-3 Np/m per 2 pi 1e6 rad/s = 1.83234e-6 s/m, so 1/c grows by
     * (2/pi) a' ln 2 = 8.0856e-7 s/m. */
    double slower = plyecho_layers_transit_s(&plate, 1, 10e6, 5e6);
    assert_true(fabs((slower - transit) / 3.2e-3 - 8.0856e-7) < 2e-12);
}

/* Kramers-Kronig, once subtracted, by number (textbook form, from memory):
 * 1/c(w) - 1/c(w0) = (2/pi) P int alpha(x) [1/(x^2 - w^2) - 1/(x^2 - w0^2)] dx over x > 0,
 * with the loss that the model has and compared with the velocity that it has. Both poles lie
 * midway between two points of the grid, so that their two sides cancel. */
static void dispersion_is_the_kramers_kronig_partner_of_the_loss(void **state)
{
    (void)state;
    const double metres = 1e-3, hz = 4e6, reference_hz = 10e6, step_hz = 10e3;
    struct plyecho_layer plate = layer(4.65, 2950.0, 0.15, metres * 1e3);
    struct plyecho_stack stack = stack_of(cfrp, &plate, 1, cfrp);
    const double w = 2.0 * pi * hz, w0 = 2.0 * pi * reference_hz;
    double integral = 0.0;
    for (int i = 0; i < 100000; i++) {
        double f = (i + 0.5) * step_hz, x = 2.0 * pi * f;
        double alpha = -log(cabs(plyecho_stack_transmission(&stack, at_hz(f)))) / metres;
        integral += alpha * (1.0 / (x * x - w * w) - 1.0 / (x * x - w0 * w0));
    }
    double expected = 2.0 / pi * integral * 2.0 * pi * step_hz;
    double measured = (plyecho_layers_transit_s(&plate, 1, reference_hz, hz) -
                       plyecho_layers_transit_s(&plate, 1, reference_hz, reference_hz)) /
                      metres;
    assert_true(expected > 1e-7);
    assert_true(fabs(measured / expected - 1.0) < 1e-3);
}

/* Response, at time t, to a short Gaussian impulse of a lossy layer without faces. */
static double response(const struct plyecho_stack *stack, double t, bool with_phase)
{
    const double step_hz = 10e3, width_s = 20e-9;
    double sum = 0.0;
    for (int i = 1; i < 4000; i++) {
        double w = 2.0 * pi * step_hz * i;
        double complex passed = plyecho_stack_transmission(stack, I * w);
        if (!with_phase)
            passed = cabs(passed) * cexp(-I * w * stack->layers[0].thickness_m /
                                         stack->layers[0].velocity_m_s);
        double gauss = exp(-0.5 * w * w * width_s * width_s);
        sum += creal(passed * cexp(I * w * t)) * gauss * step_hz * 2.0;
    }
    return sum + step_hz;
}

/* A wide-band impulse through 40 mm of a strongly lossy material: nothing may come before it.
 * Loss without its dispersion would send a precursor that falls off only as 1/t^2; the same
 * test sees it. */
static void nothing_arrives_before_its_time(void **state)
{
    (void)state;
    struct plyecho_layer plate = layer(4.65, 3000.0, 0.15, 40.0);
    struct plyecho_stack stack = stack_of(cfrp, &plate, 1, cfrp);
    double largest[2] = {0.0, 0.0}, early[2] = {0.0, 0.0}, first = 0.0;
    for (int phase = 0; phase < 2; phase++) {
        for (double t = 12e-6; t < 16e-6; t += 20e-9) {
            double y = fabs(response(&stack, t, phase == 1));
            if (y > largest[phase]) {
                largest[phase] = y;
                first = t;
            }
        }
        for (double t = first - 2e-6; t < first - 0.5e-6; t += 20e-9)
            early[phase] = fmax(early[phase], fabs(response(&stack, t, phase == 1)));
    }
    assert_true(early[1] < 1e-3 * largest[1]);
    assert_true(early[0] > 1e-3 * largest[0]);
}

static void a_gap_mixes_by_its_cover(void **state)
{
    (void)state;
    struct plyecho_layer layers[] = {layer(4.65, 2950.0, 0.1, 1.2),
                                     layer(4.65, 2950.0, 0.1, 2.0)};
    struct plyecho_stack open = stack_of(pmma, layers, 2, air);
    struct plyecho_stack cut = stack_of(pmma, layers, 1, air);
    struct plyecho_stack part = open;
    part.gap = (struct plyecho_gap){0.3, 1, {air, 343.2, 0.0, INFINITY}};
    struct plyecho_layer filled[] = {layers[0], {water, 1482.38, 0.0, 5e-6}, layers[1]};
    struct plyecho_stack wet = stack_of(pmma, filled, 3, air);
    struct plyecho_stack wet_gap = open;
    wet_gap.gap = (struct plyecho_gap){1.0, 1, filled[1]};
    for (double f = 0.0; f < 20e6; f += 0.7e6) {
        double complex s = 1e5 + at_hz(f);
        double complex mixed =
            0.7 * plyecho_stack_reflection(&open, s) + 0.3 * plyecho_stack_reflection(&cut, s);
        assert_true(cabs(plyecho_stack_reflection(&part, s) - mixed) < 1e-12);
        assert_true(cabs(plyecho_stack_reflection(&wet_gap, s) -
                         plyecho_stack_reflection(&wet, s)) < 1e-12);
    }
    /* no coupling at all, and a layer that has come off what is behind it */
    part.gap = (struct plyecho_gap){1.0, 0, {air, 343.2, 0.0, INFINITY}};
    assert_true(cabs(plyecho_stack_reflection(&part, at_hz(5e6)) + 1.0) < 1e-3);
    struct plyecho_stack backed = stack_of(pmma, layers, 2, water);
    backed.gap = (struct plyecho_gap){1.0, 2, {air, 343.2, 0.0, INFINITY}};
    assert_true(cabs(plyecho_stack_reflection(&backed, at_hz(5e6)) -
                     plyecho_stack_reflection(&open, at_hz(5e6))) < 1e-12);
}

/* Resin between plies slows a laminate: in an endless periodic one the phase over a period is
 * cos q = cos a cos b - (Z1/Z2 + Z2/Z1)/2 sin a sin b (Rytov, Sov. Phys. Acoust. 2 (1956) 68;
 * from memory). A long stack's transit per ply must come near it, and lie well off the sum of
 * the parts. */
static void resin_films_slow_the_laminate(void **state)
{
    (void)state;
    enum { PLIES = 60 };
    struct plyecho_layer ply = layer(4.65, 2950.0, 0.0, 0.2),
                         film = layer(3.0, 2500.0, 0.0, 0.005);
    struct plyecho_layer layers[2 * PLIES - 1];
    for (int i = 0; i < 2 * PLIES - 1; i++)
        layers[i] = i % 2 == 0 ? ply : film;
    const double f = 4e6, w = 2.0 * pi * f;
    double a = w * 0.2e-3 / 2950.0, b = w * 5e-6 / 2500.0;
    double q = acos(cos(a) * cos(b) - 0.5 * (4.65 / 3.0 + 3.0 / 4.65) * sin(a) * sin(b));
    double transit = plyecho_layers_transit_s(layers, 2 * PLIES - 1, f, f);
    double plies_alone = a / w, sum = (a + b) / w;
    double per_period = (transit - plies_alone) / (PLIES - 1);
    assert_true(fabs(per_period - q / w) < 0.05 * (q / w - sum));
    assert_true(q / w > sum * 1.001);
}

static void attenuation_units_convert(void **state)
{
    (void)state;
    /* 1 Np = 8.685890 dB, so 0.1 dB/mm at 1 MHz is 11.5129 Np/m */
    assert_true(fabs(plyecho_attenuation_from_db_mm_mhz(0.1) * 1e6 - 11.5129) < 1e-4);
    /* and a message gives it back as it was written */
    struct plyecho_layer plate = layer(4.65, 2950.0, 0.1, 3.2);
    plate.attenuation_np_m_hz = plyecho_attenuation_from_db_mm_mhz(-0.137);
    struct plyecho_stack stack = stack_of(pmma, &plate, 1, air);
    struct plyecho_error err;
    assert_int_equal(plyecho_stack_check(&stack, &err), PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, "-0.137 dB/mm/MHz"));
}

static void refused(const struct plyecho_stack *stack, const char *words)
{
    struct plyecho_error err;
    assert_int_equal(plyecho_stack_check(stack, &err), PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, words));
}

static void impossible_stacks_are_refused(void **state)
{
    (void)state;
    struct plyecho_layer layers[] = {layer(4.65, 2950.0, 0.1, 1.2),
                                     layer(4.65, 2950.0, 0.1, 2.0)};
    struct plyecho_stack good = stack_of(pmma, layers, 2, air);
    assert_int_equal(plyecho_stack_check(&good, NULL), PLYECHO_OK);
    struct plyecho_stack bad = good;
    bad.front_impedance_rayl = 0.0;
    refused(&bad, "in front");
    bad = good;
    bad.behind_impedance_rayl = NAN;
    refused(&bad, "behind");
    bad = good;
    bad.reference_frequency_hz = -1.0;
    refused(&bad, "reference frequency");
    bad = good;
    bad.gap.cover = 1.5;
    refused(&bad, "share from 0 to 1");
    bad.gap = (struct plyecho_gap){0.5, 3, {air, 343.2, 0.0, INFINITY}};
    refused(&bad, "gap after layer 3");
    bad.gap = (struct plyecho_gap){0.5, 1, {0.0, 343.2, 0.0, INFINITY}};
    refused(&bad, "the gap has an impedance");
    layers[1].velocity_m_s = -3.0;
    refused(&good, "layer 2 has a velocity of -3 m/s");
    layers[1] = layer(4.65, 2950.0, -0.1, 2.0);
    refused(&good, "attenuation of -0.1");
    layers[1] = layer(-1.0, 2950.0, 0.1, 2.0);
    refused(&good, "impedance of -1");
    layers[1] = layer(4.65, 2950.0, 0.1, INFINITY);
    refused(&good, "layer 2 is inf mm");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_media_reflect_as_tabulated),
        cmocka_unit_test(a_plate_rings_as_its_closed_form),
        cmocka_unit_test(a_thin_gap_reflects_as_tabulated),
        cmocka_unit_test(filled_gaps_reflect_as_tabulated),
        cmocka_unit_test(energy_is_kept_without_loss),
        cmocka_unit_test(at_rest_only_the_outer_media_count),
        cmocka_unit_test(loss_and_velocity_are_those_asked_for),
        cmocka_unit_test(dispersion_is_the_kramers_kronig_partner_of_the_loss),
        cmocka_unit_test(nothing_arrives_before_its_time),
        cmocka_unit_test(a_gap_mixes_by_its_cover),
        cmocka_unit_test(resin_films_slow_the_laminate),
        cmocka_unit_test(attenuation_units_convert),
        cmocka_unit_test(impossible_stacks_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
