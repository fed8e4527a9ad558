/* The table of keys: each reads as it says, in its own place, and nothing else does. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/nearest.h>
#include <plyecho/procedure_edit.h>
#include <plyecho/procedure_keys.h>

static enum plyecho_code read_value(const struct plyecho_procedure_key *key, const char *value,
                                    struct plyecho_procedure *procedure,
                                    struct plyecho_error *err)
{
    char text[600];
    bool layer = key->kind == PLYECHO_KEY_LAYER; /* its example is a whole line */
    snprintf(text, sizeof text, "[%s]\n%s%s%s\n", key->section, key->name, layer ? "" : " = ",
             value);
    return plyecho_procedure_read(procedure, text, strlen(text), err);
}

static void refuse(const struct plyecho_procedure_key *key, const char *value,
                   enum plyecho_code code, const char *says)
{
    struct plyecho_procedure procedure;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    assert_int_equal(read_value(key, value, &procedure, &err), code);
    assert_int_equal(err.line, 2);
    if (strstr(err.text, says) == NULL)
        fail_msg("%s = %s: %s", key->name, value, err.text);
}

static bool is_number(const struct plyecho_procedure_key *key)
{
    return key->kind == PLYECHO_KEY_NUMBER || key->kind == PLYECHO_KEY_COUNT ||
           key->kind == PLYECHO_KEY_FREQUENCY;
}

static const struct plyecho_procedure_key *key_of(const char *section, const char *name)
{
    const struct plyecho_procedure_key *key;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++)
        if (strcmp(key->section, section) == 0 && strcmp(key->name, name) == 0)
            return key;
    fail_msg("no %s in [%s]", name, section);
    return NULL;
}

/* Reader and lister agree, key by key, and no key touches another one's field. */
static void every_example_reads_back_from_its_own_place(void **state)
{
    (void)state;
    const struct plyecho_procedure_key *key, *other;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        struct plyecho_procedure procedure;
        struct plyecho_error err;
        char value[PLYECHO_PROCEDURE_VALUE_ROOM];
        long line = -1;
        if (read_value(key, key->example, &procedure, &err) != PLYECHO_OK)
            fail_msg("%s = %s: %s", key->name, key->example, err.text);
        size_t set = 0;
        for (size_t m = 0; (other = plyecho_procedure_key_at(m)) != NULL; m++)
            set += plyecho_procedure_value(&procedure, other, value, &line);
        if (key->kind == PLYECHO_KEY_LAYER) {
            assert_int_equal(procedure.layers.count, 1);
            assert_int_equal(set, 0);
            plyecho_procedure_clear(&procedure);
            continue;
        }
        assert_int_equal(set, 1);
        assert_true(plyecho_procedure_value(&procedure, key, value, &line));
        assert_int_equal(line, 2);
        struct plyecho_procedure again;
        assert_int_equal(read_value(key, value, &again, NULL), PLYECHO_OK);
        if (is_number(key)) {
            const struct plyecho_setting *a = (void *)((char *)&procedure + key->offset);
            const struct plyecho_setting *b = (void *)((char *)&again + key->offset);
            assert_true(fabs(a->value - b->value) <= 1e-13 * fabs(a->value));
        }
        plyecho_procedure_clear(&procedure);
        plyecho_procedure_clear(&again);
    }
}

static bool is_text(const struct plyecho_procedure_key *key)
{
    return key->kind == PLYECHO_KEY_TEXT || key->kind == PLYECHO_KEY_FILE;
}

/* Whatever a file can hold can be written again: comment signs, blanks at the ends, quotes, a long text. */
static void every_text_is_quoted_so_that_it_reads_back(void **state)
{
    (void)state;
    enum { LONG = 3000 };
    static char long_text[LONG + 1];
    memset(long_text, 'x', LONG);
    static const char *const texts[] = {"left ; right",
                                        "; all of it",
                                        "#7",
                                        "a #",
                                        "  led and trailed  ",
                                        "[part]",
                                        "a = b",
                                        "it's 3\" wide",
                                        "say \"so\"",
                                        "C:\\tubes\\7; old\t",
                                        "\xe2\x80\xae",
                                        "<b>&amp;</b>",
                                        long_text};
    const struct plyecho_procedure_key *key;
    size_t keys = 0;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        keys += is_text(key);
        for (size_t i = 0; is_text(key) && i < sizeof texts / sizeof texts[0]; i++) {
            char value[LONG + 3], line[LONG + 100];
            struct plyecho_procedure procedure;
            assert_true(plyecho_procedure_quote(texts[i], value, sizeof value));
            snprintf(line, sizeof line, "[%s]\n%s = %s\n", key->section, key->name, value);
            assert_int_equal(plyecho_procedure_read(&procedure, line, strlen(line), NULL),
                             PLYECHO_OK);
            assert_string_equal(plyecho_procedure_text(&procedure, key), texts[i]);
            plyecho_procedure_clear(&procedure);
        }
    }
    assert_true(keys > 10);
}

/* What is no text stands for itself: whoever writes all values quoted writes these as they are. */
static void values_that_are_no_texts_need_no_quotes(void **state)
{
    (void)state;
    const struct plyecho_procedure_key *key;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        struct plyecho_procedure procedure;
        char value[PLYECHO_PROCEDURE_VALUE_ROOM], quoted[PLYECHO_PROCEDURE_VALUE_ROOM];
        long line;
        if (is_text(key) || key->kind == PLYECHO_KEY_LAYER)
            continue;
        bool along = key->along != 0;
        assert_int_equal(
            read_value(key, along ? "3.2 at 0, 3.3 at 40" : key->example, &procedure, NULL),
            PLYECHO_OK);
        assert_true(plyecho_procedure_value(&procedure, key, value, &line));
        assert_true(plyecho_procedure_quote(value, quoted, sizeof quoted));
        assert_string_equal(quoted, value);
        plyecho_procedure_clear(&procedure);
    }
}

static void every_number_is_bounded_on_both_sides(void **state)
{
    (void)state;
    const struct plyecho_procedure_key *key;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        if (!is_number(key))
            continue;
        char value[40];
        snprintf(value, sizeof value, "%.17g", key->most + 0.01 * fabs(key->most));
        refuse(key, value, PLYECHO_BAD_ARGUMENT, "is out of range; it must be from");
        snprintf(value, sizeof value, "%.17g",
                 key->least - 0.01 * fabs(key->least) - (key->least == 0.0 ? 1e-6 : 0.0));
        refuse(key, value, PLYECHO_BAD_ARGUMENT, key->hint);
        refuse(key, "many", PLYECHO_BAD_NUMBER, key->name);
        for (size_t end = 0; end < 2; end++) {
            struct plyecho_procedure procedure;
            snprintf(value, sizeof value, "%.17g", end == 0 ? key->least : key->most);
            assert_int_equal(read_value(key, value, &procedure, NULL), PLYECHO_OK);
            plyecho_procedure_clear(&procedure);
        }
    }
}

/* What a template and the nearest-name search rely on. */
static void the_table_is_in_order(void **state)
{
    (void)state;
    const struct plyecho_procedure_key *key, *other, *before = NULL;
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        assert_true(strlen(key->name) <= PLYECHO_NEAREST_MAX);
        assert_true(key->help[0] != '\0' && key->absent[0] != '\0');
        assert_non_null(key->hint);
        assert_non_null(plyecho_procedure_section_help(key->section));
        bool new_section = before == NULL || strcmp(before->section, key->section) != 0;
        for (size_t m = 0; m < k; m++) {
            other = plyecho_procedure_key_at(m);
            bool same = strcmp(other->section, key->section) == 0;
            assert_false(same && strcmp(other->name, key->name) == 0);
            assert_false(same && new_section); /* a section's keys stand together */
            assert_int_not_equal(other->offset, key->offset);
        }
        before = key;
    }
}

static void units_come_out_in_si(void **state)
{
    (void)state;
    static const char text[] =
        "[equipment]\nprobe_frequency_hz = 7.5M\nprobe_diameter_mm = 6\n"
        "delay_line_mm = 12\nprobe_bandwidth = 0.6\n"
        "[material]\nmaterial = carbon\ntemperature_c = -5\n"
        "[calibration]\nanvil = flat\ncheck_velocity_limit_percent = 0.5\n"
        "check_zero_limit_us = 0.01\nsteps = 5\n";
    struct plyecho_procedure p;
    assert_int_equal(plyecho_procedure_read(&p, text, strlen(text), NULL), PLYECHO_OK);
    assert_true(p.equipment.probe_frequency_hz.value == 7.5e6);
    assert_true(p.equipment.probe_bandwidth.value == 0.6);
    assert_true(fabs(p.equipment.probe_diameter_m.value - 6e-3) < 1e-15);
    assert_true(fabs(p.equipment.delay_line_m.value - 12e-3) < 1e-15);
    assert_string_equal(p.material.material.value, "carbon");
    assert_true(p.material.temperature_c.value == -5.0);
    assert_true(p.calibration.anvil.value == PLYECHO_ANVIL_FLAT);
    assert_true(fabs(p.calibration.check_velocity_limit.value - 0.005) < 1e-15);
    assert_true(fabs(p.calibration.check_zero_limit_s.value - 1e-8) < 1e-20);
    assert_true(p.calibration.steps.value == 5.0);
    plyecho_procedure_clear(&p);
}

static void slips_are_refused_with_their_cure(void **state)
{
    (void)state;
    static const struct {
        const char *section, *name, *value;
        enum plyecho_code code;
        const char *says;
    } rows[] = {
        {"equipment", "probe_frequency_hz", "10", PLYECHO_BAD_ARGUMENT,
         "10 MHz is written 10M"},
        {"equipment", "probe_frequency_hz", "10 MHz", PLYECHO_BAD_NUMBER,
         "write it in Hz, as 10M"},
        {"equipment", "probe_bandwidth", "60", PLYECHO_BAD_ARGUMENT, "60 % is written 0.6"},
        {"equipment", "delay_line_material", "polystyrol", PLYECHO_BAD_ARGUMENT,
         "'polystyrene'"},
        {"material", "material", "cfrp-quasi", PLYECHO_BAD_ARGUMENT,
         "the nearest is 'cfrp-quasi-isotropic'"},
        {"material", "material", "Carbon", PLYECHO_BAD_ARGUMENT, "the nearest is 'carbon'"},
        {"calibration", "anvil", "round", PLYECHO_BAD_ARGUMENT,
         "write ball, pin, flat or none"},
        {"calibration", "steps", "2.5", PLYECHO_BAD_ARGUMENT, "no whole number"},
        {"calibration", "velocity_zero_correlation", "1.1", PLYECHO_BAD_ARGUMENT,
         "from -1 to 1"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        refuse(key_of(rows[i].section, rows[i].name), rows[i].value, rows[i].code,
               rows[i].says);
    static const char levels[] =
        "[calibration]\nrecording_level_db = -14\nevaluation_level_db = -20\n";
    struct plyecho_procedure procedure;
    struct plyecho_error err;
    assert_int_equal(plyecho_procedure_read(&procedure, levels, strlen(levels), &err),
                     PLYECHO_BAD_ARGUMENT);
    assert_int_equal(err.line, 3);
    assert_non_null(strstr(err.text, "recording_level_db = -14 of line 2"));
}

/* ISO 8601 calendar dates; the Gregorian leap years 2000 and 2028, not 2100. */
static void dates_are_days_that_exist(void **state)
{
    (void)state;
    static const char *const good[] = {"2026-11-28",
                                       "2026-11-28T14:05",
                                       "2026-11-28T23:59:59",
                                       "2000-02-29",
                                       "2028-02-29",
                                       "2026-07-31",
                                       "2026-08-31",
                                       "2026-12-31",
                                       "2026-09-30",
                                       "2026-02-28",
                                       "2026-11-28T14:05Z",
                                       "2026-11-28T14:05:30Z",
                                       "2026-11-28T14:05+01:00"};
    static const char *const bad[] = {"28.11.2026",
                                      "2026-13-01",
                                      "2026-00-10",
                                      "2026-11-31",
                                      "2100-02-29",
                                      "2027-02-29",
                                      "2026-09-31",
                                      "2026-06-31",
                                      "2026-11-28T24:00",
                                      "2026-11-28T12:60",
                                      "2026-11-28 12:00",
                                      "2026-11-00",
                                      "2026-11-2x",
                                      "2026-11-28T",
                                      "26-11-28",
                                      "2026-11-28Z",
                                      "2026-11-28T14:05z",
                                      "2026-11-28T14:05+1",
                                      "2026-11-28T14:05:3Z",
                                      "2026-11-28T14:05+24:00"};
    const struct plyecho_procedure_key *key = key_of("calibration", "date");
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        struct plyecho_procedure procedure;
        assert_int_equal(read_value(key, good[i], &procedure, NULL), PLYECHO_OK);
        assert_string_equal(procedure.calibration.date.value, good[i]);
        plyecho_procedure_clear(&procedure);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        refuse(key, bad[i], PLYECHO_BAD_ARGUMENT, "write year-month-day as 2026-11-28");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_example_reads_back_from_its_own_place),
        cmocka_unit_test(every_text_is_quoted_so_that_it_reads_back),
        cmocka_unit_test(values_that_are_no_texts_need_no_quotes),
        cmocka_unit_test(every_number_is_bounded_on_both_sides),
        cmocka_unit_test(the_table_is_in_order),
        cmocka_unit_test(units_come_out_in_si),
        cmocka_unit_test(slips_are_refused_with_their_cure),
        cmocka_unit_test(dates_are_days_that_exist),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
