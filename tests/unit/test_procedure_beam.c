/* The beam's width in the wall by what a procedure says: measured, worked out, or not known. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/procedure_beam.h>

static struct plyecho_known beam_of(const char *text)
{
    struct plyecho_procedure procedure;
    struct plyecho_error err;
    if (plyecho_procedure_read(&procedure, text, strlen(text), &err) != PLYECHO_OK)
        fail_msg("line %ld: %s", err.line, err.text);
    struct plyecho_known beam = plyecho_procedure_beam_m(&procedure);
    plyecho_procedure_clear(&procedure);
    return beam;
}

static void a_measured_width_wins(void **state)
{
    (void)state;
    struct plyecho_known alone = beam_of("[equipment]\nbeam_mm = 3.1\n");
    assert_true(alone.known);
    assert_float_equal(alone.value, 3.1e-3, 1e-12);
    struct plyecho_known beside = beam_of(
        "[part]\nnominal_mm = 3\n[material]\nvelocity_m_s = 2950\n[equipment]\nbeam_mm = 3.1\n"
        "probe_frequency_hz = 5M\nprobe_diameter_mm = 6\ndelay_line_mm = 10\n"
        "delay_line_material = polystyrene\n");
    assert_float_equal(beside.value, 3.1e-3, 1e-12);
}

/* Far behind the near field the beam of a piston is 2 tan(arcsin(0.514 wavelength / diameter)) wide at a
 * unit's distance, -6 dB there and back (textbooks of ultrasonic testing and the standard for probes give
 * the constant 0.51; from memory). Here: wavelength 0.59 mm, face 3 mm, near field 3.7 mm; 40 mm of
 * polystyrene count as 40 * 2350 / 2950 = 31.9 mm, and the wall's 3 mm come to it. */
static void far_behind_the_near_field_it_is_the_textbooks(void **state)
{
    (void)state;
    struct plyecho_known beam =
        beam_of("[part]\nnominal_mm = 3\n[material]\nvelocity_m_s = 2950\n[equipment]\n"
                "probe_frequency_hz = 5M\nprobe_bandwidth = 0.1\nprobe_diameter_mm = 3\n"
                "delay_line_mm = 40\ndelay_line_material = polystyrene\n");
    double expected = 2.0 * tan(asin(0.514 * 0.59 / 3.0)) * (40.0 * 2350.0 / 2950.0 + 3.0);
    assert_true(beam.known);
    assert_float_equal(beam.value * 1e3, expected, 0.02 * expected);
}

/* What is not known leaves the narrower beam: of several walls, of several bandwidths. */
static void of_several_the_narrowest_counts(void **state)
{
    (void)state;
#define PROBE                                                                                  \
    "[material]\nvelocity_m_s = 2950\n[equipment]\nprobe_frequency_hz = 5M\n"                  \
    "probe_diameter_mm = 3\ndelay_line_mm = 20\ndelay_line_material = polystyrene\n"
    static const char *const widths[] = {"probe_bandwidth = 0.3\n", "probe_bandwidth = 1.0\n"};
    double unsaid = beam_of("[part]\nnominal_mm = 3\n" PROBE).value;
    for (size_t i = 0; i < 2; i++) {
        char text[400] = "[part]\nnominal_mm = 3\n" PROBE;
        strcat(text, widths[i]);
        assert_true(unsaid <= beam_of(text).value);
    }
    /* in the far field a longer way is a wider beam */
    double thin = beam_of("[part]\nnominal_mm = 2\n" PROBE).value;
    double tapered = beam_of("[part]\nnominal_mm = 5 at 0, 2 at 50, 4 at 99\n" PROBE).value;
    assert_true(thin < unsaid);
    assert_float_equal(tapered, thin, 1e-12);
}

static void without_one_of_them_it_is_not_known(void **state)
{
    (void)state;
    static const char *const lines[] = {"[part]\n",
                                        "nominal_mm = 3\n",
                                        "[material]\n",
                                        "velocity_m_s = 2950\n",
                                        "[equipment]\n",
                                        "probe_frequency_hz = 5M\n",
                                        "probe_diameter_mm = 3\n",
                                        "delay_line_mm = 10\n",
                                        "delay_line_material = polystyrene\n"};
    enum { LINES = sizeof lines / sizeof lines[0] };
    for (size_t left_out = 0; left_out <= LINES; left_out++) {
        char text[400] = "";
        for (size_t i = 0; i < LINES; i++)
            if (i != left_out || lines[i][0] == '[')
                strcat(text, lines[i]);
        bool whole = left_out == LINES || lines[left_out][0] == '[';
        assert_int_equal(beam_of(text).known, whole);
    }
}

/* The table's velocity of the wall's material does where none was measured. */
static void the_tables_velocity_does(void **state)
{
    (void)state;
    struct plyecho_known beam = beam_of(
        "[part]\nnominal_mm = 3\n[material]\nmaterial = cfrp-quasi-isotropic\n[equipment]\n"
        "probe_frequency_hz = 5M\nprobe_diameter_mm = 3\ndelay_line_mm = 10\n"
        "delay_line_material = polystyrene\n");
    assert_true(beam.known && beam.value > 1e-3 && beam.value < 4e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_measured_width_wins),
        cmocka_unit_test(far_behind_the_near_field_it_is_the_textbooks),
        cmocka_unit_test(of_several_the_narrowest_counts),
        cmocka_unit_test(without_one_of_them_it_is_not_known),
        cmocka_unit_test(the_tables_velocity_does),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
