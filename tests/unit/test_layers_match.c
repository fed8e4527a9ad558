/* Interfaces seen, held against layers declared: thickness of each, and what is flagged. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/laminate.h>
#include <plyecho/verdict.h>

#include "layers_match.h"
#include "layers_verdict.h"
#include "made_trace.h"

static struct plyecho_layers declare(const char *text)
{
    struct plyecho_layers layers;
    struct plyecho_error err;
    struct plyecho_known none = {false, 0.0};
    if (plyecho_layers_read(&layers, text, &err) != PLYECHO_OK ||
        plyecho_layers_complete(&layers, none, none, none, &err) != PLYECHO_OK)
        fail_msg("'%s': %s", text, err.text);
    return layers;
}

/* Times in us; a pulse of 0.3 us at 10 MHz. */
static struct pe_layers_seen seen(const struct pe_interface *interfaces, int count,
                                  double transit_us)
{
    return (struct pe_layers_seen){.interfaces = interfaces,
                                   .count = count,
                                   .centre_hz = 10e6,
                                   .pulse_s = 0.3e-6,
                                   .from_s = 0.1e-6,
                                   .to_s = transit_us > 0.0 ? (transit_us - 0.2) * 1e-6 : 5e-6,
                                   .level = 0.05,
                                   .transit_s = transit_us * 1e-6,
                                   .transit_u_s = 1e-9};
}

static const char two[] = "carbon = 2.1 mm, u 0.06 mm, 3000 m/s, u 10 m/s, 4.6 MRayl;"
                          "glass = 1.1 mm, u 0.04 mm, 2800 m/s, u 14 m/s, 5.6 MRayl";

/* Carbon of 2.04 mm takes 1.36 us, glass of 1.12 mm 0.8 us: by hand. */
static void each_layer_is_measured_with_its_own_velocity(void **state)
{
    (void)state;
    struct plyecho_layers layers = declare(two);
    const struct pe_interface in = {1.36e-6, 5e-9, 0.1, 0.01, 1, false};
    struct pe_layers_seen s = seen(&in, 1, 2.16);
    struct plyecho_layer_reading r;
    pe_layers_read(&layers, &s, &r);
    assert_int_equal(r.count, 2);
    assert_int_equal(r.groups, 2);
    assert_true(r.group[0].measured && r.group[1].measured);
    assert_float_equal(r.group[0].thickness_m, 2.04e-3, 1e-9);
    assert_float_equal(r.group[1].thickness_m, 1.12e-3, 1e-9);
    /* JCGM 100, 5.1.2, term by term: half the time times u(v), half v times u(t) */
    double carbon = hypot(0.68e-6 * 10, 1500 * 5e-9);
    double glass = hypot(hypot(0.4e-6 * 14, 1400 * 5e-9), 1400 * 1e-9);
    assert_float_equal(r.group[0].thickness_u.value, carbon, 1e-9);
    assert_float_equal(r.group[1].thickness_u.value, glass, 1e-9);
    assert_true(r.wall_m.known && r.wall_u.known);
    assert_float_equal(r.wall_m.value, 3.16e-3, 1e-9);
    /* in the sum the interface's time counts by the difference of the velocities only */
    double wall = sqrt(pow(0.68e-6 * 10, 2) + pow(0.4e-6 * 14, 2) + pow(100 * 5e-9, 2) +
                       pow(1400 * 1e-9, 2));
    assert_float_equal(r.wall_u.value, wall, 1e-9);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_DECLARED);
    assert_false(r.undeclared);
    /* R = 1/10.2, seen over a full reflector behind it: R / (1 - R^2) */
    double reflection = 1.0 / 10.2;
    assert_float_equal(r.boundary[0].expected.value,
                       reflection / (1.0 - reflection * reflection), 1e-6);
    assert_float_equal(pe_layers_depth(&r, 0.68e-6), 1.02e-3, 1e-9);
    assert_float_equal(pe_layers_depth(&r, 1.76e-6), 2.04e-3 + 0.56e-3, 1e-9);
}

static struct plyecho_layer_reading read_one(const char *text, struct pe_interface in)
{
    struct plyecho_layers layers = declare(text);
    struct pe_layers_seen s = seen(&in, 1, 2.16);
    struct plyecho_layer_reading r;
    pe_layers_read(&layers, &s, &r);
    return r;
}

static void place_strength_and_sign_must_be_as_declared(void **state)
{
    (void)state;
    static const struct {
        struct pe_interface in;
        enum plyecho_boundary_state state;
        bool undeclared;
    } rows[] = {
        {{1.40e-6, 5e-9, 0.1, 0.0, 1, false}, PLYECHO_BOUNDARY_DECLARED, false},
        /* 2.1 mm are 1.4 us, u 0.04 us; the velocity and the echo add a little */
        {{1.320e-6, 5e-9, 0.1, 0.0, 1, false}, PLYECHO_BOUNDARY_DECLARED, false},
        {{1.310e-6, 5e-9, 0.1, 0.0, 1, false}, PLYECHO_BOUNDARY_MISSING, true},
        {{1.490e-6, 5e-9, 0.1, 0.0, 1, false}, PLYECHO_BOUNDARY_MISSING, true},
        /* 3 dB either way of 0.099 */
        {{1.40e-6, 5e-9, 0.138, 0.0, 1, false}, PLYECHO_BOUNDARY_DECLARED, false},
        {{1.40e-6, 5e-9, 0.142, 0.0, 1, false}, PLYECHO_BOUNDARY_OTHER, false},
        {{1.40e-6, 5e-9, 0.068, 0.0, 1, false}, PLYECHO_BOUNDARY_OTHER, false},
        {{1.40e-6, 5e-9, 0.142, 0.01, 1, false}, PLYECHO_BOUNDARY_DECLARED, false},
        {{1.40e-6, 5e-9, 0.1, 0.0, -1, false}, PLYECHO_BOUNDARY_OTHER, false},
        {{1.40e-6, 5e-9, 0.1, 0.0, 0, false}, PLYECHO_BOUNDARY_DECLARED, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct plyecho_layer_reading r = read_one(two, rows[i].in);
        if (r.boundary[0].state != rows[i].state || r.undeclared != rows[i].undeclared)
            fail_msg("row %zu: state %d, undeclared %d", i, (int)r.boundary[0].state,
                     r.undeclared);
    }
}

static void without_impedances_any_bond_will_do(void **state)
{
    (void)state;
    static const char bare[] = "a = 2.1 mm, 3000 m/s; b = 1.1 mm, 2800 m/s";
    struct pe_interface in = {1.40e-6, 5e-9, 0.29, 0.0, -1, false};
    struct plyecho_layer_reading r = read_one(bare, in);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_DECLARED);
    assert_false(r.group[0].thickness_u.known); /* a velocity without uncertainty */
    in.strength = 0.31;
    r = read_one(bare, in);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_OTHER);
}

static void layers_that_are_not_parted_are_measured_as_one(void **state)
{
    (void)state;
    struct plyecho_layers layers = declare(two);
    struct pe_layers_seen s = seen(NULL, 0, 2.16);
    struct plyecho_layer_reading r;
    pe_layers_read(&layers, &s, &r);
    assert_int_equal(r.groups, 1);
    assert_int_equal(r.group[0].last, 1);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_MISSING);
    /* 3.2 mm at 1.4 + 0.786 us declared: their common velocity times the time measured */
    double velocity = 3.2e-3 / (2.1e-3 / 3000 + 1.1e-3 / 2800);
    assert_float_equal(r.wall_m.value, 0.5 * velocity * 2.16e-6, 1e-9);
    layers.items[1].impedance_rayl.value = 4.8e6; /* R = 0.021, below what is reportable */
    pe_layers_read(&layers, &s, &r);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_FAINT);
    layers.items[1].impedance_rayl.known = false;
    pe_layers_read(&layers, &s, &r);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_QUIET);
    s.transit_s = 0.0;
    pe_layers_read(&layers, &s, &r);
    assert_false(r.wall_m.known || r.group[0].measured);
    s.to_s = 1.2e-6;
    pe_layers_read(&layers, &s, &r);
    assert_int_equal(r.boundary[0].state, PLYECHO_BOUNDARY_HIDDEN);
}

/* A glue line of 0.05 mm takes 40 ns; its one echo lies between its faces. */
static void a_layer_thinner_than_the_pulse_counts_as_declared(void **state)
{
    (void)state;
    struct plyecho_layers layers =
        declare("carbon = 2.1 mm, 3000 m/s, u 0 m/s; glue = 0.05 mm, 2500 m/s, u 0 m/s;"
                "glass = 1.1 mm, 2800 m/s, u 0 m/s");
    const struct pe_interface in = {1.42e-6, 5e-9, 0.2, 0.01, 0, false};
    struct pe_layers_seen s = seen(&in, 1, 1.4 + 0.04 + 0.8);
    struct plyecho_layer_reading r;
    pe_layers_read(&layers, &s, &r);
    assert_int_equal(r.boundaries, 1);
    assert_int_equal(r.groups, 3);
    assert_true(r.group[0].measured && !r.group[1].measured && r.group[2].measured);
    assert_float_equal(r.group[0].thickness_m, 2.1e-3, 1e-9);
    assert_float_equal(r.group[2].thickness_m, 1.12e-3, 1e-9);
    assert_float_equal(r.wall_m.value, 3.27e-3, 1e-9);
    /* the faces are told by +-20 ns at the most: rectangular */
    double place = 20e-9 / sqrt(3), glue = 0.5 * 2 * 0.05e-3 * 0.1 / sqrt(3) / 2500;
    double time = sqrt(25e-18 + place * place + glue * glue);
    assert_float_equal(r.group[0].thickness_u.value, 1500 * time, 1e-9);
}

static void an_echo_nobody_declared_is_told_from_a_repeat_and_a_flank(void **state)
{
    (void)state;
    struct plyecho_layers layers =
        declare("a = 1 mm, 3000 m/s, u 0 m/s; b = 3 mm, 3000 m/s, u 0 m/s");
    struct pe_interface in[2] = {{0.667e-6, 5e-9, 0.25, 0.01, 1, false},
                                 {2.0e-6, 5e-9, 0.06, 0.01, 1, false}};
    struct pe_layers_seen s = seen(in, 2, 2.667);
    struct plyecho_layer_reading r;
    pe_layers_read(&layers, &s, &r);
    assert_true(r.undeclared);
    in[1].delay_s = 1.34e-6; /* twice the first's */
    pe_layers_read(&layers, &s, &r);
    assert_false(r.undeclared);
    in[1].strength = 0.1; /* too strong for a repeat */
    pe_layers_read(&layers, &s, &r);
    assert_true(r.undeclared);
    in[1].delay_s = 0.9e-6;
    pe_layers_read(&layers, &s, &r);
    assert_false(r.undeclared);
}

/* ---- on traces ---- */

/* Judge a wall; extra: height of an echo that is added 0.8 us behind the wall's front. */
static struct plyecho_assessment judge_with(const struct made_wall *wall,
                                            const struct plyecho_layers *layers,
                                            double nominal_mm, double extra)
{
    struct plyecho_assess_options o = {.wall = plyecho_wall_defaults()};
    o.wall.velocity_m_s = 2950.0;
    o.wall.velocity_u = (struct plyecho_known){true, 10.0};
    o.wall.nominal_m = (struct plyecho_known){true, nominal_mm * 1e-3};
    o.wall.tolerance_m = 0.1e-3 * nominal_mm;
    o.wall.attenuation = (struct plyecho_known){true, plyecho_attenuation_from_db_mm_mhz(0.1)};
    o.layers = layers;
    struct plyecho_traces t = made_of(wall);
    /* 10 mm of PMMA at 2680 m/s, there and back; the pulse's phase is 0.3 */
    made_burst(&t, 20.0 / 2.680 + 0.8, extra, 10.0, 80.0, 0.3);
    struct plyecho_conditioned c;
    struct plyecho_conditioner *conditioner = made_ready(&t, &c);
    struct plyecho_trace raw = plyecho_traces_channel(&t, 1);
    struct plyecho_assessment a;
    plyecho_assess(&c, &raw, &o, &a);
    plyecho_conditioner_free(conditioner);
    plyecho_traces_clear(&t);
    return a;
}

static struct plyecho_assessment judge(const struct made_wall *wall,
                                       const struct plyecho_layers *layers, double nominal_mm)
{
    return judge_with(wall, layers, nominal_mm, 0.0);
}

static const char *words_of(const struct plyecho_assessment *a)
{
    static char words[4096];
    plyecho_assessment_words(a, words, sizeof words);
    return words;
}

static void assert_says(const struct plyecho_assessment *a, const char *what)
{
    if (strstr(words_of(a), what) == NULL)
        fail_msg("no \"%s\" in:\n%s", what, words_of(a));
}

static const char sleeved[] = "carbon = 2 mm, u 0.05 mm, 2950 m/s, u 10 m/s, 4.65 MRayl;"
                              "sleeve = 1.2 mm, u 0.05 mm, 2950 m/s, u 10 m/s, 6.3 MRayl";

static struct made_wall sleeve_of(double carbon_mm, double mrayl)
{
    struct made_wall wall = made_sound(carbon_mm);
    wall.inner_mm = 1.2;
    wall.inner_mrayl = mrayl;
    return wall;
}

static void a_declared_sleeve_is_an_inner_echo_that_is_not_flagged(void **state)
{
    (void)state;
    struct plyecho_layers layers = declare(sleeved);
    struct made_wall wall = sleeve_of(2.0, 6.3);
    struct plyecho_assessment a = judge(&wall, &layers, 3.2);
    assert_int_equal(a.verdict, PLYECHO_INNER_ECHO);
    assert_false(a.flagged);
    assert_says(&a, "Interface of carbon and sleeve: seen as declared");
    assert_says(&a, "Not flagged: what is seen inside was declared.");
    assert_true(a.layers.group[0].measured && a.layers.group[1].measured);
    assert_float_equal(a.layers.group[0].thickness_m * 1e3, 2.0, 0.02);
    assert_float_equal(a.layers.group[1].thickness_m * 1e3, 1.2, 0.02);
    assert_float_equal(a.thickness.thickness_m * 1e3, 3.2, 0.015);
}

static void a_sleeve_of_other_place_or_material_is_flagged(void **state)
{
    (void)state;
    struct plyecho_layers layers = declare(sleeved);
    struct made_wall deeper = sleeve_of(2.25, 6.3);
    struct plyecho_assessment a = judge(&deeper, &layers, 3.45);
    assert_int_equal(a.verdict, PLYECHO_INNER_ECHO);
    assert_true(a.flagged);
    assert_says(&a, "Interface of carbon and sleeve: expected at 2.00 mm");
    assert_says(&a, "Flagged: an echo inside that no declared interface explains.");
    struct made_wall harder = sleeve_of(2.0, 8.5);
    a = judge(&harder, &layers, 3.2);
    assert_true(a.flagged);
    assert_says(&a, "but not as declared");
    struct made_wall wall = sleeve_of(2.0, 6.3);
    a = judge(&wall, NULL, 3.2);
    assert_true(a.flagged);
    assert_int_equal(a.layers.count, 0);
}

static void a_second_echo_beside_the_declared_one_is_flagged(void **state)
{
    (void)state;
    struct plyecho_layers layers = declare(sleeved);
    struct made_wall wall = sleeve_of(2.0, 6.3);
    struct plyecho_assessment a = judge_with(&wall, &layers, 3.2, 0.08);
    assert_int_equal(a.verdict, PLYECHO_INNER_ECHO);
    assert_int_equal(a.layers.boundary[0].state, PLYECHO_BOUNDARY_DECLARED);
    assert_true(a.flagged && a.layers.undeclared);
}

/* Without impedances only the odds tell a bond from a gap under part of the beam. */
static void low_odds_keep_an_echo_flagged_where_no_impedance_speaks(void **state)
{
    (void)state;
    struct plyecho_assessment a = {.verdict = PLYECHO_INNER_ECHO,
                                   .next_best = PLYECHO_DELAMINATION,
                                   .evidence_ratio = 2.9};
    a.layers.boundaries = 1;
    a.layers.boundary[0].state = PLYECHO_BOUNDARY_DECLARED;
    assert_true(pe_layers_odds_too_low(&a));
    a.evidence_ratio = 3.1;
    assert_false(pe_layers_odds_too_low(&a));
    a.evidence_ratio = 2.9;
    a.layers.boundary[0].expected = (struct plyecho_known){true, 0.1};
    assert_false(pe_layers_odds_too_low(&a));
}

static void an_interface_that_does_not_show_is_said(void **state)
{
    (void)state;
    struct plyecho_layers layers = declare(sleeved);
    struct made_wall plain = made_sound(3.2);
    struct plyecho_assessment a = judge(&plain, &layers, 3.2);
    assert_int_equal(a.verdict, PLYECHO_NO_INDICATION);
    assert_false(a.flagged);
    assert_says(&a, "and not seen, although");
    assert_int_equal(a.layers.groups, 1);
}

static void a_delamination_at_an_interface_is_a_disbond(void **state)
{
    (void)state;
    struct plyecho_layers layers =
        declare("carbon = 1.6 mm, u 0.05 mm, 2950 m/s, u 10 m/s; sleeve = 1.6 mm, 2950 m/s");
    struct made_wall wall = made_sound(3.2);
    wall.cover = 0.6;
    wall.gap_mm = 1.6;
    struct plyecho_assessment a = judge(&wall, &layers, 3.2);
    assert_int_equal(a.verdict, PLYECHO_DELAMINATION);
    assert_true(a.flagged);
    assert_says(&a, "a disbond of sleeve from carbon");
    wall.gap_mm = 1.1;
    a = judge(&wall, &layers, 3.2);
    assert_int_equal(a.verdict, PLYECHO_DELAMINATION);
    assert_null(strstr(words_of(&a), "disbond of"));
    /* between 0.7 of the nominal and its tolerance one trace cannot tell */
    layers = declare("carbon = 2.5 mm, u 0.05 mm, 2950 m/s; sleeve = 0.7 mm, 2950 m/s");
    wall.cover = 1.0;
    wall.gap_mm = 2.5;
    a = judge(&wall, &layers, 3.2);
    assert_int_equal(a.verdict, PLYECHO_UNDECIDED);
    assert_says(&a, "a disbond of sleeve from carbon, or a place without sleeve");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_layer_is_measured_with_its_own_velocity),
        cmocka_unit_test(place_strength_and_sign_must_be_as_declared),
        cmocka_unit_test(without_impedances_any_bond_will_do),
        cmocka_unit_test(layers_that_are_not_parted_are_measured_as_one),
        cmocka_unit_test(a_layer_thinner_than_the_pulse_counts_as_declared),
        cmocka_unit_test(an_echo_nobody_declared_is_told_from_a_repeat_and_a_flank),
        cmocka_unit_test(a_declared_sleeve_is_an_inner_echo_that_is_not_flagged),
        cmocka_unit_test(a_sleeve_of_other_place_or_material_is_flagged),
        cmocka_unit_test(a_second_echo_beside_the_declared_one_is_flagged),
        cmocka_unit_test(low_odds_keep_an_echo_flagged_where_no_impedance_speaks),
        cmocka_unit_test(an_interface_that_does_not_show_is_said),
        cmocka_unit_test(a_delamination_at_an_interface_is_a_disbond),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
