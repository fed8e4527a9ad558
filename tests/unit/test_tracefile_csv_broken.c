/* CSV that is broken, hostile or none: refused, with the line at fault. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/tracefile.h>

#include "read_text.h"

struct bad {
    const char *what;
    const char *text;
    enum plyecho_code code;
    long line;
    const char *said; /* part of the text */
};

static void broken_input_is_told_with_its_line(void **state)
{
    (void)state;
    static const struct bad cases[] = {
        {"nothing", "", PLYECHO_BAD_FILE, 0, "empty"},
        {"blank lines", " \r\n\n\t\n", PLYECHO_BAD_FILE, 0, "empty"},
        {"a heading alone", "time_us,amplitude\n", PLYECHO_UNKNOWN_FORMAT, 0,
         "rows of numbers"},
        {"prose", "It is a tricycle.\nIt carries cargo.\n", PLYECHO_UNKNOWN_FORMAT, 0, "rows"},
        {"one row", "time_us,amplitude\n0,1\n", PLYECHO_BAD_FILE, 2, "one row"},
        {"cut-off last row", "time_us,amplitude\n0,-1\n0.01,2\n0.02", PLYECHO_BAD_FILE, 4,
         "1 cell where"},
        {"cut-off after the delimiter", "time_us,amplitude\n0,-1\n0.01,2\n0.02,",
         PLYECHO_BAD_NUMBER, 4, "'' in column 2"},
        {"a cell too many", "time_us,amplitude\n0,-1\n0.01,2\n\n0.02,3,4\n", PLYECHO_BAD_FILE,
         5, "3 cells where"},
        {"text among the rows", "time_us,amplitude\n0,-1\n0.01,2\n0.02,off\n",
         PLYECHO_BAD_NUMBER, 4, "'off' in column 2"},
        {"text in the first row", "time_us,amplitude\n0,off\n0.01,2\n0.02,3\n",
         PLYECHO_BAD_NUMBER, 2, "'off' in column 2"},
        {"nan in the first row", "time_us,amplitude\n0,nan\n0.01,2\n0.02,3\n",
         PLYECHO_BAD_NUMBER, 2, "'nan'"},
        {"nan", "time_us,amplitude\n0,-1\n0.01,2\n0.02,nan\n", PLYECHO_BAD_NUMBER, 4, "'nan'"},
        {"inf", "time_us,amplitude\n0,-1\n0.01,2\n0.02,-inf\n", PLYECHO_BAD_NUMBER, 4,
         "'-inf'"},
        {"beyond a float", "time_us,amplitude\n0,-1\n0.01,2\n0.02,1e39\n", PLYECHO_BAD_NUMBER,
         4, "'1e39'"},
        {"two points", "time_us,amplitude\n0,-1\n0.01,2\n0.02,1.2.3\n", PLYECHO_BAD_NUMBER, 4,
         "'1.2.3'"},
        {"thousands", "time_us;amplitude\n0,1;-1\n0,2;2\n0,3;1.000,5\n", PLYECHO_BAD_NUMBER, 4,
         "'1.000,5'"},
        {"a row is missing", "time_us,amplitude\n0,-1\n0.01,2\n0.02,3\n0.04,5\n0.050,6\n",
         PLYECHO_BAD_TIME_BASE, 5, "jumps from 0.02 to 0.04"},
        {"time runs backwards", "time_us,amplitude\n0,-1\n0.01,2\n0.02,3\n0.01,5\n0.05,6\n",
         PLYECHO_BAD_TIME_BASE, 5, "backwards"},
        {"time falls within its rounding", "time_us,amplitude\n0,1\n0.01,2\n0,3\n0.01,4\n",
         PLYECHO_BAD_TIME_BASE, 4, "backwards"},
        {"time falls", "0.03,-1\n0.02,2\n0.01,3\n", PLYECHO_BAD_TIME_BASE, 2, "backwards"},
        {"time stands", "time_us,amplitude\n1,-1\n1,2\n1,3\n", PLYECHO_BAD_TIME_BASE, 3,
         "stays"},
        {"two records in one", "time_us,y\n0,-1\n0.01,2\n0.02,3\n0,1\n0.01,2\n0.02,3\n",
         PLYECHO_BAD_TIME_BASE, 5, "backwards"},
        {"no rate", "y\n-1\n2\n3\n", PLYECHO_BAD_TIME_BASE, 0, "--sample-rate"},
        {"counted samples without a rate", "0,-1\n1,2\n2,3\n", PLYECHO_BAD_TIME_BASE, 0,
         "counts the samples"},
        {"depth without a velocity", "depth_mm,y\n0,-1\n0.01,2\n0.02,3\n",
         PLYECHO_BAD_TIME_BASE, 0, "--velocity"},
        {"decimal sign is the delimiter", "time_us,amplitude\n0,01,-0,5\n0,02,0,25\n",
         PLYECHO_BAD_FILE, 2, "';'"},
        {"times alone", "time_us,index\n0,1\n0.01,2\n", PLYECHO_BAD_FILE, 2, "amplitude"},
        {"a label of no channel", "# angle_deg[1025]: 5\ntime_us,y\n0,-1\n0.01,2\n",
         PLYECHO_BAD_FILE, 1, "channel"},
        {"a label that steers a terminal", "# part: \033[2J\ntime_us,y\n0,-1\n0.01,2\n",
         PLYECHO_BAD_FILE, 1, "control"},
        {"a label that is no rate", "# sample_rate_hz: fast\ntime_us,y\n0,-1\n0.01,2\n",
         PLYECHO_BAD_FILE, 0, "sample_rate_hz"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct plyecho_traces t;
        struct plyecho_error err = {.text = ""};
        enum plyecho_code code = read_text(cases[i].text, &t, &err);
        if (code != cases[i].code || err.code != code || err.line != cases[i].line ||
            strstr(err.text, cases[i].said) == NULL)
            fail_msg("%s: code %d, line %ld: %s", cases[i].what, (int)code, err.line, err.text);
        assert_null(t.amplitude);
        assert_null(t.labels.items);
    }
}

static void hostile_sizes_are_refused_quickly(void **state)
{
    (void)state;
    enum { MEGA = 1000000 };
    struct plyecho_traces t;
    struct plyecho_error err;
    static const char *const patterns[] = {"7",  "1,",  "1 ",       "a", "\"",    "a,",
                                           "1;", "(",   "-",        "#", "0,5\n", "1\n",
                                           "\n", "a\n", "# a: b\n", ".", ","};
    for (size_t i = 0; i < sizeof patterns / sizeof patterns[0]; i++) {
        size_t length = strlen(patterns[i]);
        char *text = grow(10 * MEGA);
        for (size_t at = 0; at < 10 * MEGA; at++)
            text[at] = patterns[i][at % length];
        enum plyecho_code code = plyecho_tracefile_read(text, 10 * MEGA, NULL, &t, &err);
        assert_int_not_equal(code, PLYECHO_OK);
        assert_int_equal(err.code, code);
        free(text);
    }
}

static char *wide(size_t columns, bool heading)
{
    char *text = grow(3 * (columns * 8 + 16)), *p = text;
    if (heading) {
        p += sprintf(p, "time_us");
        for (size_t c = 1; c < columns; c++)
            p += sprintf(p, ",ch%zu", c % 1000);
        p += sprintf(p, "\n");
    }
    for (int row = 0; row < 2; row++) {
        p += sprintf(p, "%d", 2 * row);
        for (size_t c = 1; c < columns; c++)
            p += sprintf(p, ",-%zu", c);
        p += sprintf(p, "\n");
    }
    return text;
}

static void up_to_1024_channels_are_read(void **state)
{
    (void)state;
    struct plyecho_traces t;
    struct plyecho_error err;
    char *text = wide(1025, true);
    assert_int_equal(read_text(text, &t, &err), PLYECHO_OK);
    assert_int_equal(t.channels, 1024);
    assert_true(plyecho_traces_samples(&t, 1024)[1] == -1024.0F);
    assert_true(plyecho_traces_samples(&t, 7)[0] == -7.0F);
    plyecho_traces_clear(&t);
    free(text);
    text = wide(1026, true);
    assert_int_equal(read_text(text, &t, &err), PLYECHO_TOO_LARGE);
    assert_non_null(strstr(err.text, "1024"));
    free(text);
}

static void binary_bytes_are_no_text(void **state)
{
    (void)state;
    struct plyecho_traces t;
    struct plyecho_error err;
    static const char with_zero[] = "time_us,amplitude\n0,-1\n0.01,2\0\n0.02,3\n";
    assert_int_equal(plyecho_tracefile_read(with_zero, sizeof with_zero - 1, NULL, &t, &err),
                     PLYECHO_BAD_FILE);
    assert_int_equal(err.line, 3);
    assert_int_equal(plyecho_tracefile_read("\xff\xfe"
                                            "0\0,\0",
                                            6, NULL, &t, &err),
                     PLYECHO_BAD_FILE);
    assert_non_null(strstr(err.text, "UTF-16"));
    static const unsigned char picture[] = {0x89, 'P', 'N', 'G', 13, 10, 26, 10, 0, 0, 0, 13,
                                            'I',  'H', 'D', 'R', 0,  0,  0,  1,  0, 0, 0, 1};
    assert_int_equal(plyecho_tracefile_read(picture, sizeof picture, NULL, &t, &err),
                     PLYECHO_UNKNOWN_FORMAT);
    unsigned char noise[8192];
    uint64_t word = 20261125;
    for (int round = 0; round < 200; round++) {
        for (size_t i = 0; i < sizeof noise; i++) {
            word = word * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            noise[i] = (unsigned char)(word >> 56);
        }
        assert_int_equal(plyecho_tracefile_read(noise, sizeof noise, NULL, &t, &err),
                         PLYECHO_UNKNOWN_FORMAT);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(broken_input_is_told_with_its_line),
        cmocka_unit_test(hostile_sizes_are_refused_quickly),
        cmocka_unit_test(up_to_1024_channels_are_read),
        cmocka_unit_test(binary_bytes_are_no_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
