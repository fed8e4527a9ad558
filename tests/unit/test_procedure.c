/* The procedure file: what is read, what is refused and with which words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/procedure.h>
#include <plyecho/procedure_keys.h>

#include "failing_alloc.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const char whole[] = "; fleet of cargo tricycles\n"
                            "[part]\n"
                            "name = \"Steerer #7; left\" ; the quotes keep both signs\n"
                            "nominal_mm = 2.8\n"
                            "nominal_tolerance_mm=0.2\n"
                            "diameter_mm =\t28.6\t# outside\n"
                            "\n"
                            "[material] ; woven and unidirectional\n"
                            "velocity_m_s = 2950\n"
                            "velocity_u_m_s = 10\n"
                            "attenuation_db_mm_mhz = 0.1\n"
                            "density_kg_m3 = 1.55e3\n"
                            "[signal]\n"
                            "mode = 2\n"
                            "band_hz = 4M:16M\n"
                            "pulse = traces/line end.wav\n"
                            "[calibration]\n"
                            "zero_us = -0.125\n"
                            "zero_u_us = 0.004\n"
                            "[acceptance]\n"
                            "least_mm = 2.4";

static enum plyecho_code read_text(struct plyecho_procedure *procedure, const char *text,
                                   struct plyecho_error *err)
{
    return plyecho_procedure_read(procedure, text, strlen(text), err);
}

static void assert_setting(const struct plyecho_setting *setting, double value, long line)
{
    assert_true(setting->set);
    assert_true(setting->value > value - 1e-12 * (value < 0 ? -value : value));
    assert_true(setting->value < value + 1e-12 * (value < 0 ? -value : value));
    assert_int_equal(setting->line, line);
}

static void check_whole(const struct plyecho_procedure *p)
{
    assert_string_equal(p->part.name.value, "Steerer #7; left");
    assert_int_equal(p->part.name.line, 3);
    assert_setting(&p->part.nominal_m, 2.8e-3, 4);
    assert_setting(&p->part.nominal_tolerance_m, 0.2e-3, 5);
    assert_setting(&p->part.diameter_m, 28.6e-3, 6);
    assert_setting(&p->material.velocity_m_s, 2950, 9);
    assert_setting(&p->material.velocity_u_m_s, 10, 10);
    /* 0.1 dB/mm/MHz at 10 MHz is 1 dB/mm = 1000 dB/m = 1000 / 8.685889638 Np/m */
    assert_setting(&p->material.attenuation_np_m_hz, 1000 / 8.685889638065035 / 10e6, 11);
    assert_setting(&p->material.density_kg_m3, 1550, 12);
    assert_setting(&p->signal.mode, 2, 14);
    assert_true(p->signal.band_hz.set);
    assert_true(p->signal.band_hz.value.low_hz == 4e6);
    assert_true(p->signal.band_hz.value.high_hz == 16e6);
    assert_int_equal(p->signal.band_hz.line, 15);
    assert_string_equal(p->signal.pulse.value, "traces/line end.wav");
    assert_setting(&p->calibration.zero_s, -0.125e-6, 18);
    assert_setting(&p->calibration.zero_u_s, 4e-9, 19);
    assert_setting(&p->acceptance.least_m, 2.4e-3, 21);
}

static void every_key_is_read_with_its_line(void **state)
{
    (void)state;
    struct plyecho_procedure procedure;
    struct plyecho_error err;
    assert_int_equal(read_text(&procedure, whole, &err), PLYECHO_OK);
    check_whole(&procedure);
    char digest[PLYECHO_DIGEST_ROOM];
    plyecho_digest(whole, strlen(whole), digest);
    assert_string_equal(procedure.digest, digest);
    plyecho_procedure_clear(&procedure);
    assert_null(procedure.part.name.value);
    plyecho_procedure_clear(&procedure);
}

/* What editors of other systems save: CRLF and a byte-order mark. */
static void line_ends_and_a_mark_change_nothing_but_the_digest(void **state)
{
    (void)state;
    char text[2 * sizeof whole + 3] = "\xef\xbb\xbf";
    char *to = text + 3;
    for (const char *from = whole; *from != '\0'; from++) {
        if (*from == '\n')
            *to++ = '\r';
        *to++ = *from;
    }
    *to++ = '\r';
    *to = '\0';
    struct plyecho_procedure a;
    struct plyecho_procedure b;
    assert_int_equal(read_text(&a, whole, NULL), PLYECHO_OK);
    assert_int_equal(read_text(&b, text, NULL), PLYECHO_OK);
    check_whole(&b);
    assert_string_not_equal(a.digest, b.digest);
    plyecho_procedure_clear(&a);
    plyecho_procedure_clear(&b);
}

/* Of a tapered tube: in the place of one number, and as it is written when it is listed. */
static void nominal_and_diameter_may_be_tables(void **state)
{
    (void)state;
    static const char text[] =
        "[part]\nnominal_mm = 3.8 at 0, 3.2 at 60.5\n"
        "diameter_mm = 31.8 at -10, 28.6 at 60\n[acceptance]\nleast_mm = 3.2\n";
    struct plyecho_procedure p;
    struct plyecho_error err;
    if (read_text(&p, text, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    assert_false(p.part.nominal_m.set || p.part.diameter_m.set);
    assert_int_equal(p.part.nominal_along_m.count, 2);
    assert_int_equal(p.part.nominal_along_m.line, 2);
    assert_int_equal(p.part.diameter_along_m.line, 3);
    assert_true(p.part.nominal_along_m.axial_m[1] == 60.5 * 1e-3);
    assert_true(p.part.diameter_along_m.value[1] == 28.6 * 1e-3);
    const struct plyecho_procedure_key *key;
    size_t tables = 0;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        char value[PLYECHO_PROCEDURE_VALUE_ROOM];
        long line;
        if (key->along == 0 || !plyecho_procedure_value(&p, key, value, &line))
            continue;
        assert_string_equal(value,
                            tables == 0 ? "3.8 at 0, 3.2 at 60.5" : "31.8 at -10, 28.6 at 60");
        assert_int_equal(line, 2 + (long)tables++);
    }
    assert_int_equal(tables, 2);
    plyecho_procedure_clear(&p);
    assert_int_equal(p.part.nominal_along_m.count, 0);
}

/* What must hold between settings must hold all along the part. */
static void tables_are_held_to_the_rules_everywhere(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
        long line;
    } bad[] = {
        {"[part]\nnominal_mm = 3 at 9, 2 at 0\n", "rising order", 2},
        {"[part]\nnominal_mm = 3 at 0, 2 at 9\nnominal_mm = 3\n", "stands in line 2 already",
         3},
        {"[part]\nnominal_mm = 3\nnominal_mm = 3 at 0, 2 at 9\n", "stands in line 2 already",
         3},
        {"[part]\nnominal_mm = 0.003 at 0, 2 at 9\n", "0.05 to 1000", 2},
        {"[part]\nnominal_mm = 3 at 0, 2 at 9\nnominal_tolerance_mm = 2.5\n",
         "must be below nominal_mm = 2 of line 2", 3},
        {"[part]\nnominal_mm = 3 at 0, 2 at 9\n[acceptance]\nleast_mm = 2.5\n",
         "must not be above nominal_mm = 2", 4},
        /* in the middle the tube is thin and the wall is not */
        {"[part]\nnominal_mm = 3 at 0, 3 at 20\ndiameter_mm = 9 at 0, 5 at 10, 9 at 20\n",
         "diameter_mm = 5 must be above twice nominal_mm = 3", 3},
        {"[part]\nnominal_mm = 2 at 0, 3 at 10, 2 at 20\ndiameter_mm = 5\n",
         "diameter_mm = 5 must be above twice nominal_mm = 3", 3},
        {"[part]\nname = 3 at 0, 2 at 9\nvelocity_m_s = 2950\n", "belongs to section", 3},
        {"[material]\nvelocity_m_s = 2950 at 0, 2900 at 9\n", "is not a number", 2},
    };
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct plyecho_procedure p;
        struct plyecho_error err;
        if (read_text(&p, bad[i].text, &err) == PLYECHO_OK ||
            strstr(err.text, bad[i].says) == NULL || err.line != bad[i].line)
            fail_msg("%s: line %ld: %s", bad[i].text, err.line, err.text);
    }
}

static void nothing_is_filled_in(void **state)
{
    (void)state;
    static const char *const texts[] = {"", "\n\n", "; all of it a comment",
                                        "[part]\n[signal]\n"};
    for (size_t i = 0; i < COUNT(texts); i++) {
        struct plyecho_procedure procedure;
        assert_int_equal(read_text(&procedure, texts[i], NULL), PLYECHO_OK);
        assert_null(procedure.part.name.value);
        assert_false(procedure.part.nominal_m.set);
        assert_false(procedure.signal.mode.set);
        assert_false(procedure.signal.band_hz.set);
        plyecho_procedure_clear(&procedure);
    }
    struct plyecho_procedure procedure;
    assert_int_equal(plyecho_procedure_read(&procedure, NULL, 0, NULL), PLYECHO_OK);
    plyecho_procedure_clear(&procedure);
}

static void every_mode_is_known(void **state)
{
    (void)state;
    static const char *const words[] = {"auto", "1", "2", "3"};
    for (size_t mode = 0; mode < COUNT(words); mode++) {
        char text[64];
        snprintf(text, sizeof text, "[signal]\nmode = %s\n", words[mode]);
        struct plyecho_procedure procedure;
        assert_int_equal(read_text(&procedure, text, NULL), PLYECHO_OK);
        assert_true(procedure.signal.mode.set);
        assert_true(procedure.signal.mode.value == (double)mode);
        plyecho_procedure_clear(&procedure);
    }
}

/* What a scan needs: percent and square millimetres come out as a share and in m2. */
static void keys_of_a_scan_come_out_in_si_units(void **state)
{
    (void)state;
    static const char text[] =
        "[part]\nzero_mark = saw cut at the crown end\nangle_direction = counterclockwise\n"
        "[equipment]\nbeam_mm = 3.1\n[acceptance]\nmost_spread_mm = 0.1\n"
        "most_delamination_mm = 0\nmost_delamination_mm2 = 30\nmost_inner_echo_mm2 = 50\n"
        "most_attenuated_mm2 = 100\nleast_distance_mm = 20\nleast_coverage_percent = 95\n"
        "most_unseen_mm = 5\n";
    struct plyecho_procedure p;
    struct plyecho_error err;
    if (read_text(&p, text, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    assert_string_equal(p.part.zero_mark.value, "saw cut at the crown end");
    assert_setting(&p.part.angle_direction, PLYECHO_ANGLE_COUNTERCLOCKWISE, 3);
    assert_setting(&p.equipment.beam_m, 3.1e-3, 5);
    assert_false(p.acceptance.least_m.set);
    assert_setting(&p.acceptance.most_spread_m, 1e-4, 7);
    assert_true(p.acceptance.most_delamination_m.set);
    assert_true(p.acceptance.most_delamination_m.value == 0.0);
    assert_setting(&p.acceptance.most_delamination_m2, 30e-6, 9);
    assert_setting(&p.acceptance.most_inner_echo_m2, 50e-6, 10);
    assert_setting(&p.acceptance.most_attenuated_m2, 100e-6, 11);
    assert_setting(&p.acceptance.least_distance_m, 20e-3, 12);
    assert_setting(&p.acceptance.least_coverage, 0.95, 13);
    assert_setting(&p.acceptance.most_unseen_m, 5e-3, 14);
    plyecho_procedure_clear(&p);
}

struct refusal {
    const char *text;
    enum plyecho_code code;
    long line;
    const char *says;
};

static void check_refusals(const struct refusal *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct plyecho_procedure procedure;
        struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
        enum plyecho_code code = read_text(&procedure, rows[i].text, &err);
        if (code != rows[i].code || err.line != rows[i].line ||
            strstr(err.text, rows[i].says) == NULL)
            fail_msg("'%s': code %d, line %ld: %s", rows[i].text, code, err.line, err.text);
        assert_int_equal(err.code, code);
        struct plyecho_procedure zero = {.digest = ""};
        assert_memory_equal(&procedure, &zero, sizeof zero);
    }
}

static void bad_syntax_is_refused_with_its_line_and_cure(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"name = x", PLYECHO_BAD_FILE, 1, "put [part] before it"},
        {"\n[part\n", PLYECHO_BAD_FILE, 2, "no closing ]"},
        {"[]\n", PLYECHO_BAD_FILE, 1, "without a name"},
        {"[ ]\n", PLYECHO_BAD_FILE, 1, "without a name"},
        {"[part] name = x\n", PLYECHO_BAD_FILE, 1, "behind the section's ]"},
        {"[part]\nname\n", PLYECHO_BAD_FILE, 2, "'name' is no 'key = value'"},
        {"[part]\n= 3\n", PLYECHO_BAD_FILE, 2, "no 'key = value'"},
        {"[part]\nname =\n", PLYECHO_BAD_FILE, 2, "'name' has no value"},
        {"[part]\nname = ; a comment\n", PLYECHO_BAD_FILE, 2, "'name' has no value"},
        {"[part]\nname =;tight\n", PLYECHO_BAD_FILE, 2, "'name' has no value"},
        {"[part]\nname = \"\"\n", PLYECHO_BAD_FILE, 2, "'name' is empty"},
        {"[part]\nname = \"x\n", PLYECHO_BAD_FILE, 2, "no closing quote"},
        {"[part]\nname = \"x\" y\n", PLYECHO_BAD_FILE, 2, "quote the whole value"},
        {"[part]\nname = a\nname = b\n", PLYECHO_BAD_FILE, 3, "stands in line 2 already"},
        {"[part]\n[signal]\n[part]\n", PLYECHO_BAD_FILE, 3, "began in line 1 already"},
        {"[signal]\nband_hz = 1:2\nband_hz = 1:2", PLYECHO_BAD_FILE, 3, "in line 2 already"},
        {"[part]\nname = caf\xe9\n", PLYECHO_BAD_FILE, 2, "byte 0xe9 is not UTF-8"},
        {"[part]\n\nname = \xed\xa0\x80\n", PLYECHO_BAD_FILE, 3, "not UTF-8"},
        {"[part]\nname = \xc0\xaf\n", PLYECHO_BAD_FILE, 2, "not UTF-8"},
        {"[part]\nname = \xe0\x80\xaf\n", PLYECHO_BAD_FILE, 2, "not UTF-8"},
        {"[part]\nname = \xf0\x80\x80\xaf\n", PLYECHO_BAD_FILE, 2, "not UTF-8"},
        {"[part]\nname = \xf4\x90\x80\x80\n", PLYECHO_BAD_FILE, 2, "not UTF-8"},
        {"[part]\nname = \xf5\x80\x80\x80\n", PLYECHO_BAD_FILE, 2, "not UTF-8"},
        {"[part]\nname = \xe2\x82", PLYECHO_BAD_FILE, 2, "not UTF-8"},
        {"[part]\nname = a\033[2J\n", PLYECHO_BAD_FILE, 2, "control character 0x1b"},
        {"[part]\rname = a\r", PLYECHO_BAD_FILE, 1, "control character 0x0d"},
        {"\xff\xfe[", PLYECHO_BAD_FILE, 1, "UTF-16"},
    };
    check_refusals(rows, COUNT(rows));
}

static void unknown_names_are_refused_with_the_nearest(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"[parts]\n", PLYECHO_BAD_FILE, 1,
         "unknown section [parts]; the nearest known is [part]"},
        {"[Signal]\n", PLYECHO_BAD_FILE, 1, "nearest known is [signal]"},
        {"[materials]\n", PLYECHO_BAD_FILE, 1, "nearest known is [material]"},
        {"[part]\nnominal = 3\n", PLYECHO_BAD_FILE, 2,
         "unknown key 'nominal'; the nearest known is 'nominal_mm' in [part]"},
        {"[material]\nvelocty_m_s = 3\n", PLYECHO_BAD_FILE, 2, "'velocity_m_s' in [material]"},
        {"[material]\nvelocity_u = 3\n", PLYECHO_BAD_FILE, 2, "'velocity_u_m_s' in [material]"},
        {"[part]\nLEAST_MM = 3\n", PLYECHO_BAD_FILE, 2, "unknown key 'LEAST_MM'"},
        {"[part]\nvelocity_m_s = 3\n", PLYECHO_BAD_FILE, 2,
         "'velocity_m_s' belongs to section [material], not [part]"},
        {"[part]\n0123456789012345678901234567890123456\xc3\xa4"
         "\xc3\xa4xy = 3\n",
         PLYECHO_BAD_FILE, 2, "'0123456789012345678901234567890123456\xc3\xa4';"},
    };
    check_refusals(rows, COUNT(rows));
}

static void values_that_are_no_numbers_are_refused(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"[part]\nnominal_mm = thick\n", PLYECHO_BAD_NUMBER, 2, "'thick' is not a number"},
        {"[part]\nnominal_mm = 2,8\n", PLYECHO_BAD_NUMBER, 2, "with a decimal point"},
        {"[part]\nnominal_mm = 2.8 mm\n", PLYECHO_BAD_NUMBER, 2, "the key's name has its unit"},
        {"[part]\nnominal_mm = 2.8k\n", PLYECHO_BAD_NUMBER, 2, "'2.8k' is not a number"},
        {"[part]\nnominal_mm = 0x10\n", PLYECHO_BAD_NUMBER, 2, "not a number"},
        {"[part]\nnominal_mm = nan\n", PLYECHO_BAD_NUMBER, 2, "not a number"},
        {"[part]\nnominal_mm = inf\n", PLYECHO_BAD_NUMBER, 2, "not a number"},
        {"[part]\nnominal_mm = \"\"\n", PLYECHO_BAD_NUMBER, 2, "not a number"},
        {"[signal]\nband_hz = 4M\n", PLYECHO_BAD_NUMBER, 2, "write both ends in Hz as 4M:16M"},
        {"[signal]\nband_hz = 4M:\n", PLYECHO_BAD_NUMBER, 2, "no band"},
        {"[signal]\nband_hz = :16M\n", PLYECHO_BAD_NUMBER, 2, "no band"},
        {"[signal]\nband_hz = 4M:16M:20M\n", PLYECHO_BAD_NUMBER, 2, "no band"},
        {"[signal]\nband_hz = 4MHz:16MHz\n", PLYECHO_BAD_NUMBER, 2, "no band"},
    };
    check_refusals(rows, COUNT(rows));
}

static void values_out_of_range_are_refused(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"[part]\nnominal_mm = 0\n", PLYECHO_BAD_ARGUMENT, 2, "nominal_mm = 0 is out of range"},
        {"[part]\nnominal_mm = -2\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[part]\nnominal_mm = 1e999\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[part]\nnominal_mm = 2.8\nnominal_tolerance_mm = 3\n", PLYECHO_BAD_ARGUMENT, 3,
         "nominal_tolerance_mm = 3 must be below nominal_mm = 2.8 of line 2"},
        {"[part]\nnominal_mm = 0.0032\n", PLYECHO_BAD_ARGUMENT, 2, "0.0032 m is written 3.2"},
        {"[acceptance]\nleast_mm = 3\n[part]\nnominal_mm = 2.8\n", PLYECHO_BAD_ARGUMENT, 2,
         "least_mm = 3 must not be above nominal_mm = 2.8 of line 4"},
        {"[part]\nnominal_mm = 3\ndiameter_mm = 6\n", PLYECHO_BAD_ARGUMENT, 3,
         "diameter_mm = 6 must be above twice nominal_mm = 3 of line 2"},
        {"[part]\ndiameter_mm = 0\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[material]\nvelocity_m_s = 0\n", PLYECHO_BAD_ARGUMENT, 2, "from 100 to 20000"},
        {"[material]\nvelocity_m_s = 2.95\n", PLYECHO_BAD_ARGUMENT, 2,
         "2.95 mm/us is written 2950"},
        {"[material]\nvelocity_u_m_s = -1\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[material]\nvelocity_u_m_s = 3000\nvelocity_m_s = 2950\n", PLYECHO_BAD_ARGUMENT, 2,
         "must be below velocity_m_s = 2950 of line 3"},
        {"[material]\nattenuation_db_mm_mhz = -0.1\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[material]\ndensity_kg_m3 = 1.55\n", PLYECHO_BAD_ARGUMENT, 2,
         "1.55 g/cm3 is written 1550"},
        {"[signal]\nmode = 4\n", PLYECHO_BAD_ARGUMENT, 2, "write auto, 1, 2 or 3"},
        {"[signal]\nmode = 02\n", PLYECHO_BAD_ARGUMENT, 2,
         "'02' is none of the words for 'mode'"},
        {"[signal]\nband_hz = 16M:4M\n", PLYECHO_BAD_ARGUMENT, 2, "the low end comes first"},
        {"[signal]\nband_hz = 4M:4M\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[signal]\nband_hz = -1:4M\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[signal]\nband_hz = 1:2G\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[calibration]\nzero_u_us = -0.1\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[acceptance]\nleast_mm = 0\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[acceptance]\nleast_coverage_percent = 0.95\n", PLYECHO_BAD_ARGUMENT, 2,
         "0.95 is written 95"},
        {"[acceptance]\nleast_coverage_percent = 101\n", PLYECHO_BAD_ARGUMENT, 2, "1 to 100"},
        {"[acceptance]\nmost_delamination_mm2 = -1\n", PLYECHO_BAD_ARGUMENT, 2, "out of range"},
        {"[acceptance]\nmost_spread_mm = 3\n[part]\nnominal_mm = 3\n", PLYECHO_BAD_ARGUMENT, 2,
         "most_spread_mm = 3 must be below nominal_mm = 3 of line 4"},
        {"[part]\ndiameter_mm = 40 at 0, 28 at 60\n[equipment]\nbeam_mm = 28\n",
         PLYECHO_BAD_ARGUMENT, 4, "beam_mm = 28 must be below diameter_mm = 28 of line 2"},
        {"[equipment]\nbeam_mm = 0.003\n", PLYECHO_BAD_ARGUMENT, 2, "0.003 m is written 3"},
        {"[part]\nangle_direction = left\n", PLYECHO_BAD_ARGUMENT, 2,
         "write clockwise or counterclockwise"},
    };
    check_refusals(rows, COUNT(rows));
}

/* Each line's own fault, in the order of the lines; what stands in an unknown section is one fault. */
static void all_faults_are_found_in_one_run(void **state)
{
    (void)state;
    static const char text[] = "[part]\nnominal_mm = thick\n"
                               "[metal]\nvelocity_m_s = x\ndensity = 3\n"
                               "[material]\nvelocty_m_s = 2950\nvelocity_m_s = 2950\n"
                               "velocity_m_s = 2960\n"
                               "[part]\ndiameter_mm = 28.6\nnonsense\nname =\n"
                               "[calibration]\nrecording_level_db = -10\n"
                               "evaluation_level_db = -20\n";
    static const struct {
        long line;
        const char *says;
    } expected[] = {
        {2, "'thick' is not a number"},
        {3, "unknown section [metal]"},
        {7, "unknown key 'velocty_m_s'"},
        {9, "'velocity_m_s' stands in line 8 already"},
        {10, "[part] began in line 1 already"},
        {12, "'nonsense' is no 'key = value'"},
        {13, "'name' has no value"},
        {16, "must not be below recording_level_db"},
    };
    struct plyecho_procedure procedure;
    struct plyecho_error faults[20];
    size_t count = plyecho_procedure_faults(&procedure, text, strlen(text), faults, 20);
    assert_int_equal(count, COUNT(expected));
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(faults[i].line, expected[i].line);
        if (strstr(faults[i].text, expected[i].says) == NULL)
            fail_msg("%s", faults[i].text);
    }
    assert_int_equal(plyecho_procedure_faults(&procedure, text, strlen(text), faults, 3), 3);
    assert_false(procedure.material.velocity_m_s.set);
    assert_int_equal(plyecho_procedure_faults(&procedure, whole, strlen(whole), faults, 20), 0);
    check_whole(&procedure);
    plyecho_procedure_clear(&procedure);
}

/* Of settings that are not from the file the fault says so. */
static void settings_of_the_command_line_contradict_the_file(void **state)
{
    (void)state;
    struct plyecho_procedure procedure;
    struct plyecho_error fault;
    assert_int_equal(read_text(&procedure, whole, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_procedure_contradictions(&procedure, &fault, 1), 0);
    procedure.part.nominal_m = (struct plyecho_setting){true, 2e-3, 0};
    assert_int_equal(plyecho_procedure_contradictions(&procedure, &fault, 1), 1);
    assert_int_equal(fault.line, 21);
    assert_string_equal(
        fault.text, "least_mm = 2.4 must not be above nominal_mm = 2 of the command line: a "
                    "wall as it should be would be rejected");
    plyecho_procedure_clear(&procedure);
}

static void a_file_of_a_megabyte_is_read_and_a_larger_one_refused(void **state)
{
    (void)state;
    const size_t most = 1 << 20;
    char *text = malloc(most + 1);
    assert_non_null(text);
    memset(text, 'x', most + 1);
    memcpy(text, "[part]\nname =", 13);
    struct plyecho_procedure procedure;
    struct plyecho_error err;
    assert_int_equal(plyecho_procedure_read(&procedure, text, most, &err), PLYECHO_OK);
    assert_int_equal(strlen(procedure.part.name.value), most - 13);
    plyecho_procedure_clear(&procedure);
    assert_int_equal(plyecho_procedure_read(&procedure, text, most + 1, &err),
                     PLYECHO_TOO_LARGE);
    free(text);
}

static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    long failures = 0;
    for (;; failures++) {
        struct plyecho_procedure procedure;
        struct plyecho_error err;
        fail_allocation(failures);
        enum plyecho_code code = read_text(&procedure, whole, &err);
        fail_no_allocation();
        if (code == PLYECHO_OK) {
            plyecho_procedure_clear(&procedure);
            break;
        }
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        assert_null(procedure.part.name.value);
        assert_null(procedure.signal.pulse.value);
    }
    assert_int_equal(failures, 2); /* name and pulse */
}

static uint32_t next_random(uint32_t *seed)
{
    *seed =
        *seed * 1664525U + 1013904223U; /* Numerical Recipes' quick generator, from memory */
    return *seed >> 8;
}

/* Damage a good file in a few places: it is read or refused, in words and with a line. */
static void damaged_files_are_read_or_refused_in_words(void **state)
{
    (void)state;
    static const char spice[] = "[]=;#\"\n\r\t :.-+eE0M\x00\xff\xc3\xef";
    uint32_t seed = 1;
    int read = 0;
    int refused = 0;
    for (int round = 0; round < 20000; round++) {
        char text[sizeof whole];
        size_t size = sizeof whole - 1;
        memcpy(text, whole, sizeof text);
        for (uint32_t damage = 1 + next_random(&seed) % 3; damage > 0; damage--)
            text[next_random(&seed) % size] = spice[next_random(&seed) % (sizeof spice - 1)];
        if (next_random(&seed) % 4 == 0)
            size = next_random(&seed) % size;
        struct plyecho_procedure procedure;
        struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
        enum plyecho_code code = plyecho_procedure_read(&procedure, text, size, &err);
        if (code == PLYECHO_OK) {
            read++;
            plyecho_procedure_clear(&procedure);
            continue;
        }
        refused++;
        assert_true(err.text[0] != '\0');
        assert_in_range(err.line, 1, 64);
        assert_null(procedure.part.name.value);
    }
    assert_true(read > 1000); /* comments and texts take damage that does not matter */
    assert_true(refused > 1000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_is_read_with_its_line),
        cmocka_unit_test(line_ends_and_a_mark_change_nothing_but_the_digest),
        cmocka_unit_test(nominal_and_diameter_may_be_tables),
        cmocka_unit_test(tables_are_held_to_the_rules_everywhere),
        cmocka_unit_test(keys_of_a_scan_come_out_in_si_units),
        cmocka_unit_test(nothing_is_filled_in),
        cmocka_unit_test(every_mode_is_known),
        cmocka_unit_test(bad_syntax_is_refused_with_its_line_and_cure),
        cmocka_unit_test(unknown_names_are_refused_with_the_nearest),
        cmocka_unit_test(values_that_are_no_numbers_are_refused),
        cmocka_unit_test(values_out_of_range_are_refused),
        cmocka_unit_test(all_faults_are_found_in_one_run),
        cmocka_unit_test(settings_of_the_command_line_contradict_the_file),
        cmocka_unit_test(a_file_of_a_megabyte_is_read_and_a_larger_one_refused),
        cmocka_unit_test(every_failing_allocation_is_survived),
        cmocka_unit_test(damaged_files_are_read_or_refused_in_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
