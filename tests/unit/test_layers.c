/* What is expected in a wall: what is read, what is refused, and what follows for the whole. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/layers.h>
#include <plyecho/procedure.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const char whole[] =
    "filler = 0.2 mm, 2400 m/s, coat; carbon=3.2 mm, u 0.05 mm, 4.65 MRayl ;"
    "glass fibre = 0.1 dB/mm/MHz, 350 to 20 deg, u 15 m/s, 2790 m/s, -5 to 120 mm, 1.1 mm;";

static void near_to(double value, double expected)
{
    assert_float_equal(value, expected, 1e-12 * fabs(expected));
}

static struct plyecho_layers read_good(const char *text)
{
    struct plyecho_layers layers;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    if (plyecho_layers_read(&layers, text, &err) != PLYECHO_OK)
        fail_msg("'%s': %s", text, err.text);
    return layers;
}

static void every_item_is_read_by_its_unit(void **state)
{
    (void)state;
    struct plyecho_layers l = read_good(whole);
    assert_int_equal(l.count, 3);
    assert_int_equal(plyecho_layers_coats(&l), 1);
    assert_string_equal(l.items[0].name, "filler");
    assert_true(l.items[0].coat);
    near_to(l.items[0].thickness_m, 0.2e-3);
    near_to(l.items[0].velocity_m_s.value, 2400);
    const struct plyecho_declared_layer *c = &l.items[1];
    assert_string_equal(c->name, "carbon");
    near_to(c->thickness_m, 3.2e-3);
    near_to(c->thickness_u_m.value, 0.05e-3);
    near_to(c->impedance_rayl.value, 4.65e6);
    assert_false(c->coat || c->velocity_m_s.known || c->round_deg.set || c->along_m.set);
    const struct plyecho_declared_layer *g = &l.items[2];
    assert_string_equal(g->name, "glass fibre");
    near_to(g->thickness_m, 1.1e-3);
    near_to(g->velocity_m_s.value, 2790);
    near_to(g->velocity_u_m_s.value, 15);
    /* 0.1 dB/mm/MHz at 10 MHz is 1000 dB/m; 1 Np is 8.685889638 dB (ISO 80000-3) */
    near_to(g->attenuation_np_m_hz.value, 1000 / 8.685889638065035 / 10e6);
    near_to(g->round_deg.from, 350);
    near_to(g->round_deg.to, 20);
    near_to(g->along_m.from, -5e-3);
    near_to(g->along_m.to, 120e-3);
    near_to(plyecho_layers_wall_m(&l), 4.3e-3);
}

struct refusal {
    const char *text;
    enum plyecho_code code;
    const char *says;
};

static const struct refusal refusals[] = {
    {"", PLYECHO_BAD_FILE, "'' is no layer; write NAME = 2.1 mm, 2950 m/s"},
    {"carbon", PLYECHO_BAD_FILE, "'carbon' is no layer"},
    {"carbon = 2 mm;;glass = 1 mm", PLYECHO_BAD_FILE, "is no layer"},
    {" = 2 mm", PLYECHO_BAD_FILE, "a layer's name has 1 to 48 bytes"},
    {"0123456789012345678901234567890123456789012345678 = 2 mm", PLYECHO_BAD_FILE,
     "a layer's name has 1 to 48 bytes"},
    {"car\"bon = 2 mm", PLYECHO_BAD_FILE, "holds one of"},
    {"car\tbon = 2 mm", PLYECHO_BAD_FILE, "holds one of"},
    {"carbon = ", PLYECHO_BAD_FILE, "empty item"},
    {"carbon = 2 mm, ", PLYECHO_BAD_FILE, "empty item; take out the comma"},
    {"carbon = thick", PLYECHO_BAD_NUMBER,
     "'thick' of layer carbon is no number with its unit"},
    {"carbon = mm", PLYECHO_BAD_NUMBER, "no number with its unit"},
    {"carbon = u mm", PLYECHO_BAD_NUMBER, "no number with its unit"},
    {"carbon = nan mm", PLYECHO_BAD_NUMBER, "no number with its unit"},
    {"carbon = 2,1 mm", PLYECHO_BAD_NUMBER, "'2' of layer carbon has no unit; write mm, m/s"},
    {"carbon = 2", PLYECHO_BAD_NUMBER, "has no unit"},
    {"carbon = 2 um", PLYECHO_BAD_NUMBER, "unknown unit 'um'; write mm, m/s"},
    {"carbon = 2 mm, 2.9 mm/us", PLYECHO_BAD_NUMBER, "unknown unit 'mm/us'"},
    {"carbon = 2 mm 3", PLYECHO_BAD_NUMBER, "unknown unit 'mm 3'"},
    {"carbon = 2 mm, u 3 MRayl", PLYECHO_BAD_NUMBER, "an uncertainty is stated of mm or m/s"},
    {"carbon = 2 mm, u 3", PLYECHO_BAD_NUMBER, "an uncertainty is stated of mm or m/s"},
    {"carbon = 2 mm, 30 deg", PLYECHO_BAD_NUMBER, "an extent has two ends, as 0 to 90 deg"},
    {"carbon = 2 mm, 0 to 90", PLYECHO_BAD_NUMBER, "an extent is in deg round the part"},
    {"carbon = 2 mm, 0 to 90 m/s", PLYECHO_BAD_NUMBER, "an extent is in deg"},
    {"carbon = 2 mm, 0 to deg", PLYECHO_BAD_NUMBER, "no number with its unit"},
    {"carbon = 2 mm, u 0 to 9 mm", PLYECHO_BAD_NUMBER, "an extent has no uncertainty"},
    {"carbon = 2 mm, 2 mm", PLYECHO_BAD_FILE, "the thickness is stated already"},
    {"carbon = 2 mm, coat, coat", PLYECHO_BAD_FILE, "'coat' is stated already"},
    {"carbon = 0 mm", PLYECHO_BAD_ARGUMENT, "the thickness must be from 1e-06 to 1000"},
    {"carbon = 2 mm, u -1 mm", PLYECHO_BAD_ARGUMENT, "uncertainty must be from 0"},
    {"carbon = 2 mm, u 2 mm", PLYECHO_BAD_ARGUMENT, "must be below the thickness"},
    {"carbon = 2 mm, 2.95 m/s", PLYECHO_BAD_ARGUMENT, "2.95 mm/us is written 2950 m/s"},
    {"carbon = 2 mm, u 9 m/s", PLYECHO_BAD_FILE, "but no velocity; write both"},
    {"carbon = 2 mm, 2950 m/s, u 2950 m/s", PLYECHO_BAD_ARGUMENT, "must be below the velocity"},
    {"carbon = 2 mm, 4.65e6 MRayl", PLYECHO_BAD_ARGUMENT, "is written 4.65 MRayl"},
    {"carbon = 2 mm, -1 dB/mm/MHz", PLYECHO_BAD_ARGUMENT, "attenuation must be from 0"},
    {"carbon = 2 mm, 0 to 361 deg", PLYECHO_BAD_ARGUMENT, "must be from 0 to 360"},
    {"carbon = 2 mm, 90 to 90 deg", PLYECHO_BAD_ARGUMENT, "all round is 0 to 360 deg"},
    {"carbon = 2 mm, 9 to 0 mm", PLYECHO_BAD_ARGUMENT, "the lower end comes first"},
    {"carbon = 2900 m/s", PLYECHO_BAD_FILE, "carbon has no thickness; write it in mm"},
    {"a = 2 mm; a = 1 mm", PLYECHO_BAD_FILE, "there is a layer a already"},
    {"a = 2 mm; b = 1 mm, coat", PLYECHO_BAD_FILE,
     "the coat b stands behind a; coats come first"},
    {"a=1mm;b=1mm;c=1mm;d=1mm;e=1mm;f=1mm;g=1mm;h=1mm;i=1mm;j=1mm;k=1mm;l=1mm;m=1mm",
     PLYECHO_TOO_LARGE, "layer m is one too many; at most 12"},
};

static void every_mistake_is_refused_in_words(void **state)
{
    (void)state;
    const struct plyecho_layers none = {.count = 0};
    for (size_t i = 0; i < COUNT(refusals); i++) {
        struct plyecho_layers layers;
        struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
        enum plyecho_code code = plyecho_layers_read(&layers, refusals[i].text, &err);
        if (code != refusals[i].code || strstr(err.text, refusals[i].says) == NULL)
            fail_msg("'%s': code %d: %s", refusals[i].text, code, err.text);
        assert_memory_equal(&layers, &none, sizeof none);
    }
}

static void in_a_procedure_they_stand_line_by_line(void **state)
{
    (void)state;
    static const char text[] = "[layers] ; from outside in\n"
                               "filler = 0.2 mm, 2400 m/s, coat ; sprayed\n"
                               "carbon = 3.2 mm\n"
                               "\n"
                               "nominal_mm = 1.1 mm\n"; /* any name is a layer's */
    struct plyecho_procedure p;
    assert_int_equal(plyecho_procedure_read(&p, text, strlen(text), NULL), PLYECHO_OK);
    assert_int_equal(p.layers.count, 3);
    assert_int_equal(p.layers.items[1].line, 3);
    assert_string_equal(p.layers.items[2].name, "nominal_mm");
    plyecho_procedure_clear(&p);
    assert_int_equal(p.layers.count, 0);

    static const char wrong[] = "[layers]\n\ncarbon = 3.2 mm\ncarbon = 1 mm\n";
    struct plyecho_error err;
    assert_int_equal(plyecho_procedure_read(&p, wrong, strlen(wrong), &err), PLYECHO_BAD_FILE);
    assert_int_equal(err.line, 4);
    assert_non_null(strstr(err.text, "there is a layer carbon already"));
    assert_int_equal(p.layers.count, 0);
}

static struct plyecho_known known(double value)
{
    return (struct plyecho_known){true, value};
}

static const struct plyecho_known unknown = {false, 0.0};

static void what_a_layer_does_not_say_comes_from_the_wall(void **state)
{
    (void)state;
    struct plyecho_layers l = read_good("carbon = 3 mm; glass = 1 mm, 2800 m/s, u 14 m/s");
    assert_int_equal(plyecho_layers_complete(&l, known(2950), known(10), known(1e-5), NULL),
                     PLYECHO_OK);
    near_to(l.items[0].velocity_m_s.value, 2950);
    near_to(l.items[0].velocity_u_m_s.value, 10);
    assert_true(l.items[0].shares_velocity && !l.items[1].shares_velocity);
    near_to(l.items[1].velocity_u_m_s.value, 14);
    near_to(l.items[1].attenuation_np_m_hz.value, 1e-5);
    /* 10 % either way, rectangular: a / sqrt 3 (JCGM 100, 4.3.7) */
    near_to(l.items[0].thickness_u_m.value, 0.3e-3 / sqrt(3));

    struct plyecho_error err;
    l = read_good("carbon = 3 mm, 2900 m/s; glass = 1 mm");
    assert_int_equal(plyecho_layers_complete(&l, unknown, unknown, unknown, &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_non_null(strstr(err.text, "layer glass has no velocity; write one"));
    /* a velocity of its own does not inherit the uncertainty of the wall's */
    l = read_good("carbon = 3 mm, 2900 m/s");
    assert_int_equal(plyecho_layers_complete(&l, known(2950), known(10), unknown, NULL),
                     PLYECHO_OK);
    assert_false(l.items[0].velocity_u_m_s.known);
}

static size_t here(const char *text, struct plyecho_known angle, struct plyecho_known axial)
{
    struct plyecho_layers l = read_good(text), at;
    plyecho_layers_at(&l, angle, axial, &at);
    return at.count;
}

static void outside_of_its_extent_a_layer_is_not_expected(void **state)
{
    (void)state;
    static const char seam[] = "a = 1 mm; seam = 1 mm, 350 to 20 deg";
    assert_int_equal(here(seam, known(355), unknown), 2);
    assert_int_equal(here(seam, known(20), unknown), 2);
    assert_int_equal(here(seam, known(-5), unknown), 2);
    assert_int_equal(here(seam, known(380), unknown), 2);
    assert_int_equal(here(seam, known(20.1), unknown), 1);
    assert_int_equal(here(seam, known(180), unknown), 1);
    assert_int_equal(here(seam, unknown, unknown), 2);
    static const char all_round[] = "a = 1 mm; b = 1 mm, 0 to 360 deg";
    for (double angle = -720; angle <= 720; angle += 45)
        assert_int_equal(here(all_round, known(angle), unknown), 2);
    static const char from_90[] = "a = 1 mm; b = 1 mm, 90 to 360 deg";
    assert_int_equal(here(from_90, known(0), unknown), 2);
    assert_int_equal(here(from_90, known(1), unknown), 1);
    static const char sleeve[] = "a = 1 mm; sleeve = 1 mm, 40 to 120 mm";
    assert_int_equal(here(sleeve, unknown, known(40e-3)), 2);
    assert_int_equal(here(sleeve, unknown, known(120 * 1e-3)), 2);
    assert_int_equal(here(sleeve, unknown, known(120.1e-3)), 1);
    assert_int_equal(here(sleeve, known(0), unknown), 2);
}

/* By hand: 3 mm at 3000 m/s and 1 mm at 2000 m/s take 1.5 us, so 4 mm at 2666.67 m/s. */
static void layers_together_have_the_velocity_of_thickness_over_time(void **state)
{
    (void)state;
    struct plyecho_layers l = read_good(
        "a = 3 mm, u 0.03 mm, 3000 m/s, u 30 m/s; b = 1 mm, u 0 mm, 2000 m/s, u 0 m/s");
    assert_int_equal(plyecho_layers_complete(&l, unknown, unknown, unknown, NULL), PLYECHO_OK);
    struct plyecho_mixed_velocity mix = plyecho_layers_velocity(l.items, 2);
    assert_float_equal(mix.velocity_m_s, 8000.0 / 3.0, 1e-9);
    assert_true(mix.u_known);
    /* against differences: each input moved by its uncertainty, either way */
    double square = 0.0;
    for (int k = 0; k < 2; k++) {
        double v[2];
        for (int side = 0; side < 2; side++) {
            struct plyecho_layers moved = l;
            double by = side == 0 ? -1.0 : 1.0;
            if (k == 0)
                moved.items[0].thickness_m += by * 0.03e-3;
            else
                moved.items[0].velocity_m_s.value += by * 30.0;
            v[side] = plyecho_layers_velocity(moved.items, 2).velocity_m_s;
        }
        square += 0.25 * (v[1] - v[0]) * (v[1] - v[0]);
    }
    assert_float_equal(mix.own_u_m_s, sqrt(square), 0.01 * sqrt(square));
    assert_true(mix.shared_u_m_s == 0.0);
    /* one velocity for both: the whole is as wrong as it is */
    l = read_good("a = 3 mm; b = 1 mm");
    assert_int_equal(plyecho_layers_complete(&l, known(3000), known(30), unknown, NULL),
                     PLYECHO_OK);
    mix = plyecho_layers_velocity(l.items, 2);
    assert_float_equal(mix.shared_u_m_s, 30.0, 1e-9);
    assert_float_equal(mix.own_u_m_s, 0.0, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_item_is_read_by_its_unit),
        cmocka_unit_test(every_mistake_is_refused_in_words),
        cmocka_unit_test(in_a_procedure_they_stand_line_by_line),
        cmocka_unit_test(what_a_layer_does_not_say_comes_from_the_wall),
        cmocka_unit_test(outside_of_its_extent_a_layer_is_not_expected),
        cmocka_unit_test(layers_together_have_the_velocity_of_thickness_over_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
