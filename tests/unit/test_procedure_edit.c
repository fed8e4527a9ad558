/* Values into a procedure file: what changes, what stays, what is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/procedure.h>
#include <plyecho/procedure_edit.h>

#include "failing_alloc.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

struct edit {
    const char *before;
    struct plyecho_procedure_change change;
    const char *after;
};

static void check_edits(const struct edit *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char *text = NULL;
        size_t size = 0;
        struct plyecho_error err;
        enum plyecho_code code = plyecho_procedure_edit(rows[i].before, strlen(rows[i].before),
                                                        &rows[i].change, 1, &text, &size, &err);
        if (code != PLYECHO_OK)
            fail_msg("row %zu: %s", i, err.text);
        assert_string_equal(text, rows[i].after);
        assert_int_equal(size, strlen(rows[i].after));
        free(text);
    }
}

static void a_key_that_is_there_changes_in_place(void **state)
{
    (void)state;
    static const struct edit rows[] = {
        {"[part]\nnominal_mm=2.8;tight\n", {"part", "nominal_mm", "3"}, NULL},
        {"; fleet\n[part] # tubes\n  nominal_mm =\t2.8   ; of the drawing\nname = x\n",
         {"part", "nominal_mm", "3.2"},
         "; fleet\n[part] # tubes\n  nominal_mm =\t3.2   ; of the drawing\nname = x\n"},
        {"[part]\nname = \"Tube #7; left\" ; two\n[signal]\n",
         {"part", "name", "Tube 8"},
         "[part]\nname = Tube 8 ; two\n[signal]\n"},
        {"[part]\nname = Tube 8",
         {"part", "name", "\"Tube; 9\""},
         "[part]\nname = \"Tube; 9\""},
        {"[layers]\na = 1 mm\nb = 2 mm\n",
         {"layers", "a", "1.5 mm"},
         "[layers]\na = 1.5 mm\nb = 2 mm\n"},
        /* the same key of another section is another one */
        {"[layers]\nname = 1 mm\n[part]\nname = x\n",
         {"part", "name", "y"},
         "[layers]\nname = 1 mm\n[part]\nname = y\n"},
        /* a value that would not read is mended by a good one */
        {"[material]\nvelocity_m_s = 2.95\n",
         {"material", "velocity_m_s", "2950"},
         "[material]\nvelocity_m_s = 2950\n"},
    };
    check_edits(rows + 1, COUNT(rows) - 1);
    /* 2.8;tight is one value, and none that reads: it goes whole */
    const struct edit tight = {rows[0].before, rows[0].change, "[part]\nnominal_mm=3\n"};
    check_edits(&tight, 1);
}

static void a_new_key_goes_behind_the_last_of_its_section(void **state)
{
    (void)state;
    static const struct edit rows[] = {
        {"[part]\nname = x\n\n; of the wall\n[signal]\nmode = 2\n",
         {"part", "nominal_mm", "3"},
         "[part]\nname = x\nnominal_mm = 3\n\n; of the wall\n[signal]\nmode = 2\n"},
        {"[part]\n[signal]\n",
         {"part", "nominal_mm", "3"},
         "[part]\nnominal_mm = 3\n[signal]\n"},
        {"[signal]\nmode = 2",
         {"signal", "band_hz", "4M:16M"},
         "[signal]\nmode = 2\nband_hz = 4M:16M\n"},
        {"[signal]", {"signal", "mode", "2"}, "[signal]\nmode = 2\n"},
        {"[layers]\na = 1 mm\n", {"layers", "b", "2 mm"}, "[layers]\na = 1 mm\nb = 2 mm\n"},
    };
    check_edits(rows, COUNT(rows));
}

static void a_new_section_goes_to_the_end(void **state)
{
    (void)state;
    static const struct edit rows[] = {
        {"", {"part", "name", "x"}, "[part]\nname = x\n"},
        {"; mine\n", {"part", "name", "x"}, "; mine\n\n[part]\nname = x\n"},
        {"; mine", {"part", "name", "x"}, "; mine\n\n[part]\nname = x\n"},
        {"[signal]\nmode = 2\n\n",
         {"part", "name", "x"},
         "[signal]\nmode = 2\n\n[part]\nname = x\n"},
    };
    check_edits(rows, COUNT(rows));
}

/* What editors of other systems save. */
static void line_ends_and_a_mark_stay(void **state)
{
    (void)state;
    static const struct edit rows[] = {
        {"\xef\xbb\xbf[part]\r\nname = x ; y\r\n",
         {"part", "name", "z"},
         "\xef\xbb\xbf[part]\r\nname = z ; y\r\n"},
        {"[part]\r\nname = x\r\n\r\n[signal]\r\n",
         {"part", "nominal_mm", "3"},
         "[part]\r\nname = x\r\nnominal_mm = 3\r\n\r\n[signal]\r\n"},
        {"[part]\r\nname = x",
         {"signal", "mode", "2"},
         "[part]\r\nname = x\r\n\r\n[signal]\r\nmode = 2\r\n"},
        {"[part]\r\nname = x\r",
         {"signal", "mode", "2"},
         "[part]\r\nname = x\r\n\r\n[signal]\r\nmode = 2\r\n"},
        {"\xef\xbb\xbf", {"signal", "mode", "2"}, "\xef\xbb\xbf[signal]\nmode = 2\n"},
    };
    check_edits(rows, COUNT(rows));
}

static void a_line_is_taken_out_whole(void **state)
{
    (void)state;
    static const struct edit rows[] = {
        {"[part]\r\nname = x ; y\r\nnominal_mm = 3\r\n",
         {"part", "name", NULL},
         "[part]\r\nnominal_mm = 3\r\n"},
        {"[part]\nname = x", {"part", "name", NULL}, "[part]\n"},
        {"[part]\nname = x\n", {"part", "nominal_mm", NULL}, "[part]\nname = x\n"},
        {"[part]\nname = x\n", {"signal", "mode", NULL}, "[part]\nname = x\n"},
        {"", {"signal", "mode", NULL}, ""},
    };
    check_edits(rows, COUNT(rows));
}

static void several_changes_follow_one_another(void **state)
{
    (void)state;
    static const struct plyecho_procedure_change changes[] = {
        {"material", "velocity_m_s", "2950"},
        {"material", "velocity_u_m_s", "10"},
        {"calibration", "zero_us", "-0.1"},
        {"part", "name", NULL},
    };
    static const char before[] =
        "[part]\nname = x\n\n[material]\nvelocity_u_m_s = 50 ; guess\n";
    char *text;
    size_t size;
    assert_int_equal(plyecho_procedure_edit(before, strlen(before), changes, COUNT(changes),
                                            &text, &size, NULL),
                     PLYECHO_OK);
    assert_string_equal(text, "[part]\n\n[material]\nvelocity_u_m_s = 10 ; guess\n"
                              "velocity_m_s = 2950\n\n[calibration]\nzero_us = -0.1\n");
    free(text);
    assert_int_equal(
        plyecho_procedure_edit(NULL, 0, changes, COUNT(changes), &text, &size, NULL),
        PLYECHO_OK);
    assert_string_equal(text, "[material]\nvelocity_m_s = 2950\nvelocity_u_m_s = 10\n\n"
                              "[calibration]\nzero_us = -0.1\n");
    free(text);
}

struct refusal {
    const char *before;
    struct plyecho_procedure_change change;
    enum plyecho_code code;
    long line;
    const char *says;
};

static void what_would_not_read_is_refused(void **state)
{
    (void)state;
    static const struct refusal rows[] = {
        {"",
         {"material", "velocity_m_s", "2.95"},
         PLYECHO_BAD_ARGUMENT,
         0,
         "2.95 mm/us is written 2950"},
        {"",
         {"material", "velocty_m_s", "2950"},
         PLYECHO_BAD_FILE,
         0,
         "'velocity_m_s' in [material]"},
        {"", {"materials", "velocity_m_s", "2950"}, PLYECHO_BAD_FILE, 0, "[material]"},
        {"", {"part", "name", "a ; b"}, PLYECHO_BAD_ARGUMENT, 0, "in double quotes"},
        {"", {"part", "name", "a\nb = 3"}, PLYECHO_BAD_ARGUMENT, 0, "one line"},
        {"", {"part", "name", " a"}, PLYECHO_BAD_ARGUMENT, 0, "cannot stand"},
        {"", {"part", "name", ""}, PLYECHO_BAD_ARGUMENT, 0, "cannot stand"},
        {"", {"part", "name", "\"a\" b"}, PLYECHO_BAD_ARGUMENT, 0, "cannot stand"},
        {"", {"part", "name", "caf\xe9"}, PLYECHO_BAD_ARGUMENT, 0, "UTF-8"},
        {"", {"part", "na=me", "x"}, PLYECHO_BAD_ARGUMENT, 0, "cannot stand"},
        {"", {"part]\n[signal", "name", "x"}, PLYECHO_BAD_ARGUMENT, 0, "cannot stand"},
        {"[part]\nnominal_mm = 3\n",
         {"part", "nominal_tolerance_mm", "4"},
         PLYECHO_BAD_ARGUMENT,
         0,
         "below nominal_mm"},
        /* faults that were there are told by their own line, also where lines went in ahead */
        {"[part]\n[signal]\nmode = 7\n", {"part", "name", "x"}, PLYECHO_BAD_ARGUMENT, 3, "'7'"},
        {"[part]\n[signals]\n", {"part", "name", "x"}, PLYECHO_BAD_FILE, 2, "[signals]"},
        {"[part]\nname = x\nname = y\n",
         {"part", "name", "z"},
         PLYECHO_BAD_FILE,
         3,
         "line 2 already"},
        {"[part]\nname = x\nname = y\n",
         {"part", "name", NULL},
         PLYECHO_BAD_FILE,
         3,
         "line 2 already"},
        {"[part]\n[signal]\n[part]\n",
         {"part", "name", "z"},
         PLYECHO_BAD_FILE,
         3,
         "line 1 already"},
        {"[part]\nname\n", {"part", "name", "z"}, PLYECHO_BAD_FILE, 2, "no 'key = value'"},
        {"RIFF\1\2", {"part", "name", "z"}, PLYECHO_BAD_FILE, 1, "control character"},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        char *text = (char *)1;
        size_t size = 1;
        struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
        enum plyecho_code code = plyecho_procedure_edit(rows[i].before, strlen(rows[i].before),
                                                        &rows[i].change, 1, &text, &size, &err);
        if (code != rows[i].code || err.line != rows[i].line ||
            strstr(err.text, rows[i].says) == NULL)
            fail_msg("row %zu: code %d, line %ld: %s", i, code, err.line, err.text);
        assert_null(text);
        assert_int_equal(size, 0);
    }
}

static void texts_are_quoted_where_they_have_to_be(void **state)
{
    (void)state;
    static const char *const texts[] = {"Tube 7", "Tube #7; left", "a;b",        "#1",
                                        " led",   "it's 3\" wide", "caf\xc3\xa9"};
    for (size_t i = 0; i < COUNT(texts); i++) {
        char value[40];
        assert_true(plyecho_procedure_quote(texts[i], value, sizeof value));
        struct plyecho_procedure_change change = {"part", "name", value};
        char *text;
        size_t size;
        assert_int_equal(plyecho_procedure_edit(NULL, 0, &change, 1, &text, &size, NULL),
                         PLYECHO_OK);
        struct plyecho_procedure p;
        assert_int_equal(plyecho_procedure_read(&p, text, size, NULL), PLYECHO_OK);
        assert_string_equal(p.part.name.value, texts[i]);
        plyecho_procedure_clear(&p);
        free(text);
    }
    char value[9];
    assert_true(plyecho_procedure_quote("12345678", value, sizeof value));
    assert_string_equal(value, "12345678");
    assert_false(plyecho_procedure_quote("123456789", value, sizeof value));
    assert_true(plyecho_procedure_quote("#23456", value, sizeof value));
    assert_false(plyecho_procedure_quote("#234567", value, sizeof value));
    static const char *const none[] = {"", "a\nb", "#\"", "\"a", "\x7f"};
    for (size_t i = 0; i < COUNT(none); i++)
        assert_false(plyecho_procedure_quote(none[i], value, sizeof value));
}

static void every_failing_allocation_is_survived(void **state)
{
    (void)state;
    static const struct plyecho_procedure_change changes[] = {
        {"part", "name", "x"},
        {"signal", "mode", "2"},
        {"part", "nominal_mm", NULL},
    };
    static const char before[] = "[part]\nnominal_mm = 3";
    long failures = 0;
    for (;; failures++) {
        char *text;
        size_t size;
        struct plyecho_error err;
        fail_allocation(failures);
        enum plyecho_code code = plyecho_procedure_edit(before, strlen(before), changes,
                                                        COUNT(changes), &text, &size, &err);
        fail_no_allocation();
        if (code == PLYECHO_OK) {
            assert_string_equal(text, "[part]\nname = x\n\n[signal]\nmode = 2\n");
            free(text);
            break;
        }
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        assert_int_equal(err.code, PLYECHO_NO_MEMORY);
        assert_null(text);
    }
    assert_true(failures > 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_key_that_is_there_changes_in_place),
        cmocka_unit_test(a_new_key_goes_behind_the_last_of_its_section),
        cmocka_unit_test(a_new_section_goes_to_the_end),
        cmocka_unit_test(line_ends_and_a_mark_stay),
        cmocka_unit_test(a_line_is_taken_out_whole),
        cmocka_unit_test(several_changes_follow_one_another),
        cmocka_unit_test(what_would_not_read_is_refused),
        cmocka_unit_test(texts_are_quoted_where_they_have_to_be),
        cmocka_unit_test(every_failing_allocation_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
