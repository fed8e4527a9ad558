/* The table of steps: what is read, what is refused with which line and cure. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/step_rows.h>

#include "failing_alloc.h"

static const char good[] = "file,channel,thickness_mm,thickness_u_mm\n"
                           "step1.wav,1,1.002,0.002\nsteps.wav,2,2.5,0.003\n";

static enum plyecho_code read_text(struct plyecho_step_rows *rows, const char *text,
                                   struct plyecho_error *err)
{
    return plyecho_step_rows_read(rows, text, strlen(text), err);
}

static void check_two(const char *text)
{
    struct plyecho_step_rows rows;
    struct plyecho_error err;
    if (read_text(&rows, text, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    assert_int_equal(rows.count, 2);
    assert_string_equal(rows.row[0].file, "step1.wav");
    assert_string_equal(rows.row[1].file, "steps.wav");
    assert_int_equal(rows.row[1].channel, 2);
    assert_float_equal(rows.row[0].thickness_m, 1.002e-3, 1e-12);
    assert_float_equal(rows.row[1].thickness_u_m, 3e-6, 1e-12);
    plyecho_step_rows_clear(&rows);
}

static void tables_as_they_come(void **state)
{
    (void)state;
    check_two(good);
    check_two(
        "\xef\xbb\xbf# steps of tricycle 7\r\nthickness_mm;thickness_u_mm;channel;file\r\n"
        "1,002;0,002;;step1.wav\r\n\r\n2,5;0,003;2;steps.wav\r\n");
    check_two("file\tchannel\tthickness_mm\tthickness_u_mm\n\"step1.wav\"\t1\t1.002\t0.002\n"
              "steps.wav\t2\t2.5\t0.003");
}

static const struct {
    const char *text;
    long line;
    const char *says;
} broken[] = {
    {"", 0, "no steps"},
    {"file,thickness_mm,thickness_u_mm\n", 0, "no steps"},
    {"file,channel,thickness,thickness_u_mm\n", 1, "nearest known is thickness_mm"},
    {"file,channel,thickness_mm\n", 1, "no column thickness_u_mm"},
    {"file,file,thickness_mm\n", 1, "twice"},
    {"file,thickness_mm,thickness_u_mm\na.wav,1 mm,0.002\n", 2, "'1 mm' is no number"},
    {"file,thickness_mm,thickness_u_mm\na.wav,1,002,0.002\n", 2, "semicolons"},
    {"file,thickness_mm,thickness_u_mm\n,1,0.002\n", 2, "no file"},
    {"file,thickness_mm,thickness_u_mm\na,0,0.002\n", 2, "above 0"},
    {"file,thickness_mm,thickness_u_mm\na,1,0\n", 2, "above 0"},
    {"file,thickness_mm,thickness_u_mm\na,1,2\n", 2, "not below the thickness"},
    {"file,thickness_mm,thickness_u_mm\na,1,0.002\n\nb,1.0,0.003\n", 4, "line 2 already"},
    {"file,thickness_mm,thickness_u_mm\na,1,0.002\na,2,0.003\n", 3, "line 2 already"},
    {"file,channel,thickness_mm,thickness_u_mm\na,1.5,1,0.002\n", 2, "whole number"},
};

static void faults_have_line_and_cure(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        struct plyecho_step_rows rows;
        struct plyecho_error err;
        assert_int_not_equal(read_text(&rows, broken[i].text, &err), PLYECHO_OK);
        assert_int_equal(rows.count, 0);
        if (err.line != broken[i].line || strstr(err.text, broken[i].says) == NULL)
            fail_msg("case %zu: line %ld: %s", i, err.line, err.text);
    }
}

static void too_many_steps(void **state)
{
    (void)state;
    char text[64 + 80 * (PLYECHO_MOST_STEPS + 1)] = "file,thickness_mm,thickness_u_mm\n";
    for (int i = 0; i <= PLYECHO_MOST_STEPS; i++)
        sprintf(text + strlen(text), "s%d.wav,%d,0.002\n", i, i + 1);
    struct plyecho_step_rows rows;
    struct plyecho_error err;
    assert_int_equal(read_text(&rows, text, &err), PLYECHO_TOO_LARGE);
    assert_int_equal(err.line, PLYECHO_MOST_STEPS + 2);
}

static void memory_that_runs_out(void **state)
{
    (void)state;
    struct plyecho_step_rows rows;
    struct plyecho_error err;
    for (long nth = 0; nth < 2; nth++) {
        fail_allocation(nth);
        enum plyecho_code code = read_text(&rows, good, &err);
        fail_no_allocation();
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        assert_int_equal(rows.count, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_as_they_come),
        cmocka_unit_test(faults_have_line_and_cure),
        cmocka_unit_test(too_many_steps),
        cmocka_unit_test(memory_that_runs_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
