/* CSV: every layout, unit and rule of docs/file-formats.md, every kind of broken input, and
 * exact round trips. The layouts are made up from what spreadsheets and instruments commonly
 * write (common practice, no source). */
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

#include "failing_alloc.h"

static enum plyecho_code read_text(const char *text, struct plyecho_traces *traces,
                                   struct plyecho_error *err)
{
    return plyecho_tracefile_read(text, strlen(text), NULL, traces, err);
}

struct good {
    const char *what;
    const char *text;
    size_t channels, samples;
    double sample_rate_hz, start_s;
    float first, last; /* first sample of the first channel, last sample of the last */
    const char *note;  /* part of it, NULL: there must be none */
};

static void check_good(const struct good *good, const struct plyecho_read_options *options)
{
    struct plyecho_traces t;
    struct plyecho_error err = {.text = ""};
    enum plyecho_code code =
        plyecho_tracefile_read(good->text, strlen(good->text), options, &t, &err);
    if (code != PLYECHO_OK)
        fail_msg("%s: line %ld: %s", good->what, err.line, err.text);
    if (t.channels != good->channels || t.samples != good->samples ||
        t.sample_rate_hz != good->sample_rate_hz || t.start_s != good->start_s ||
        t.amplitude[0] != good->first || t.amplitude[t.channels * t.samples - 1] != good->last)
        fail_msg("%s: %zu x %zu, rate %.17g, start %.17g, first %.9g, last %.9g", good->what,
                 t.channels, t.samples, t.sample_rate_hz, t.start_s, (double)t.amplitude[0],
                 (double)t.amplitude[t.channels * t.samples - 1]);
    if (good->note == NULL ? t.note[0] != '\0' : strstr(t.note, good->note) == NULL)
        fail_msg("%s: note '%s'", good->what, t.note);
    assert_int_equal(t.container, PLYECHO_CONTAINER_CSV);
    plyecho_traces_clear(&t);
}

static void layouts_are_understood_without_being_told(void **state)
{
    (void)state;
    static const struct good cases[] = {
        {"our own form", "time_us,amplitude\n0,-1\n0.01,2\n0.02,0.5\n", 1, 3, 1e8, 0, -1, 0.5,
         NULL},
        {"several channels", "time_us,ch1,ch2\n1,-1,2\n1.01,3,4\n1.02,5,6\n", 2, 3, 1e8, 1e-6,
         -1, 6, NULL},
        {"CR LF and blank lines", "time_us,amplitude\r\n\r\n0,-1\r\n\r\n0.01,2\r\n\r\n", 1, 2,
         1e8, 0, -1, 2, NULL},
        {"CR alone", "time_us,amplitude\r0,-1\r0.01,2\r", 1, 2, 1e8, 0, -1, 2, NULL},
        {"byte order mark", "\xef\xbb\xbftime_us,amplitude\n0,-1\n0.01,2\n", 1, 2, 1e8, 0, -1,
         2, NULL},
        {"no line end at the end", "time_us,amplitude\n0,-1\n0.01,2", 1, 2, 1e8, 0, -1, 2,
         NULL},
        {"semicolon and decimal comma", "Zeit [\xc2\xb5s];Spannung [V]\n0,00;-0,5\n0,01;0,25\n",
         1, 2, 1e8, 0, -0.5F, 0.25F, NULL},
        {"semicolon, comma only later", "t [us];y\n0;-1\n1;2\n2;0,5\n", 1, 3, 1e6, 0, -1, 0.5F,
         NULL},
        {"tabs", "Time (ns)\tVolts (V)\n0\t-1\n10\t2\n20\t3\n", 1, 3, 1e8, 0, -1, 3, NULL},
        {"tabs and decimal comma", "Time (ns)\tVolts (V)\n0,0\t-1\n10,0\t2,5\n", 1, 2, 1e8, 0,
         -1, 2.5F, NULL},
        {"runs of spaces", "  time (us)   amplitude (V)\n   0.00     -1.0\n   0.01      2.0\n",
         1, 2, 1e8, 0, -1, 2, NULL},
        {"spaces and decimal comma", "0,00 -1,5\n0,01 2,5\n", 1, 2, 1e8, 0, -1.5F, 2.5F,
         "taken as us"},
        {"comma and space", "t/us, y\n0.00, -1.5\n0.01, 2.5\n", 1, 2, 1e8, 0, -1.5F, 2.5F,
         NULL},
        {"quoted cells", "\"time_us\",\"amplitude\"\n\"0.00\",\"-1.5\"\n\"0.01\",\"2.5\"\n", 1,
         2, 1e8, 0, -1.5F, 2.5F, NULL},
        {"quoted decimal commas",
         "\"time_us\",\"amplitude\"\n\"0,00\",\"-1,5\"\n\"0,01\",\"2,5\"\n", 1, 2, 1e8, 0,
         -1.5F, 2.5F, NULL},
        {"delimiter at the end of rows", "time_us,amplitude,\n0,-1,\n0.01,2,\n", 1, 2, 1e8, 0,
         -1, 2, NULL},
        {"exponents", "TIME,VOLT\n0.000E+00,-1.0E-03\n1.000E-08,2.0E-03\n", 1, 2, 1e8, 0,
         -1e-3F, 2e-3F, "taken as s"},
        {"preamble and a row of units",
         "Recorder,bench 2\nRecord length,3\nNote,steerer tube\n\nTime,Channel "
         "A\n(us),(mV)\n\n0.00,-1\n0.02,2\n0.04,3\n",
         1, 3, 5e7, 0, -1, 3, NULL},
        {"unit from the preamble", "X unit,us\nY unit,mV\nx,y\n0,-1\n0.01,2\n", 1, 2, 1e8, 0,
         -1, 2, NULL},
        {"heading in a comment", "# time_us, amplitude\n0,-1\n0.01,2\n", 1, 2, 1e8, 0, -1, 2,
         NULL},
        {"comments between rows", "time_us,amplitude\n0,-1\n# lifted here\n0.01,2\n", 1, 2, 1e8,
         0, -1, 2, NULL},
        {"milliseconds", "time (ms),v\n0.00000,-1\n0.00001,2\n0.00002,2\n", 1, 3, 1e8, 0, -1, 2,
         NULL},
        {"micro sign in Latin-1", "t (\xb5s);y\n0;-1\n0.01;2\n", 1, 2, 1e8, 0, -1, 2, NULL},
        {"Greek mu", "t (\xce\xbcs);y\n0;-1\n0.01;2\n", 1, 2, 1e8, 0, -1, 2, NULL},
        {"a column that counts beside the time", "No,time_us,y\n1,0,-1\n2,0.01,2\n", 1, 2, 1e8,
         0, -1, 2, NULL},
        {"counted samples with a stated interval",
         "Sample interval: 10 ns\nindex,y\n0,-1\n1,2\n2,4\n", 1, 3, 1e8, 0, -1, 4, NULL},
        {"amplitude alone with a stated rate", "Sampling rate: 125 MS/s\ny\n-1\n2\n4\n", 1, 3,
         1.25e8, 0, -1, 4, NULL},
        {"amplitude alone, decimal comma", "# sample_rate_hz: 1e8\n-0,5\n0,25\n1\n", 1, 3, 1e8,
         0, -0.5F, 1, "decimal signs"},
        {"amplitude alone, whole number first", "# sample_rate_hz: 1e8\n0\n-0,5\n0,25\n0,5\n",
         1, 4, 1e8, 0, 0, 0.5F, "decimal signs"},
        {"pairs of whole numbers", "# sample_rate_hz: 1e8\n0,-12\n10,15\n20,7\n", 1, 3, 1e8, 0,
         -12, 7, "delimiters"},
        {"depth in mm with a label of velocity",
         "# velocity_m_s: 3000\ndepth_mm,amplitude\n0,-1\n0.015,2\n0.03,4\n", 1, 3, 1e8, 0, -1,
         4, NULL},
        {"label wins over a rounded column",
         "# sample_rate_hz: 79972000\n# start_us: 1.25\ntime_us,amplitude\n"
         "1.25,-1\n1.26,2\n1.28,3\n1.29,4\n",
         1, 4, 79972000.0, 1.25e-6, -1, 4, NULL},
        {"label and column differ",
         "# sample_rate_hz: 50000000\ntime_us,amplitude\n0,-1\n0.01,2\n0.02,4\n", 1, 3, 5e7, 0,
         -1, 4, "column says"},
        {"a number ahead of the rows", "3\n0.00,-1\n0.01,2\n0.02,4\n", 1, 3, 1e8, 0, -1, 4,
         "line 1"},
        {"a third column of another kind", "time_us,amplitude,depth_mm\n0,-1,0\n0.01,2,0.015\n",
         1, 2, 1e8, 0, -1, 2, NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        check_good(&cases[i], NULL);
}

static void options_fill_in_what_a_file_does_not_say(void **state)
{
    (void)state;
    const struct plyecho_read_options rate = {.sample_rate_hz = 8e7};
    const struct plyecho_read_options velocity = {.velocity_m_s = 2540};
    static const struct good with_rate[] = {
        {"amplitude alone", "-1\n2\n3\n", 1, 3, 8e7, 0, -1, 3, NULL},
        {"two channels alone", "-1.0,5\n2,4\n-3,3\n", 2, 3, 8e7, 0, -1, 3, NULL},
        {"one channel rather than two", "-1,5\n2,4\n-3,3\n", 1, 3, 8e7, 0, -1.5F, -3.3F,
         "decimal signs"},
        {"counted samples", "0,-1\n1,2\n2,3\n", 1, 3, 8e7, 0, -1, 3, "delimiters"},
        {"rate wins over the label", "# sample_rate_hz: 1e8\ny\n-1\n2\n", 1, 2, 8e7, 0, -1, 2,
         NULL},
        {"rate settles the unit", "t,y\n0,-1\n12.5,2\n25,3\n", 1, 3, 8e7, 0, -1, 3, NULL},
    };
    static const struct good with_velocity[] = {
        {"depth in inch", "depth (in);y\n0;-1\n0.0005;2\n0.001;3\n", 1, 3, 1e8, 0, -1, 3, NULL},
    };
    for (size_t i = 0; i < sizeof with_rate / sizeof with_rate[0]; i++)
        check_good(&with_rate[i], &rate);
    for (size_t i = 0; i < sizeof with_velocity / sizeof with_velocity[0]; i++)
        check_good(&with_velocity[i], &velocity);
    struct plyecho_traces t;
    const struct plyecho_read_options bad[] = {
        {.sample_rate_hz = -1}, {.velocity_m_s = -1}, {.sample_rate_hz = NAN}};
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(plyecho_tracefile_read("1\n2\n", 4, &bad[i], &t, NULL),
                         PLYECHO_BAD_ARGUMENT);
}

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

static char *grow(size_t size)
{
    char *text = malloc(size + 1);
    assert_non_null(text);
    text[size] = '\0';
    return text;
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

/* A column of `samples` times, printed with `decimals`, in the unit of 1e6/rate per step. */
static char *rounded_times(double rate_hz, double start_us, int samples, char form, int digits)
{
    char *text = grow((size_t)samples * 64 + 64), *p = text;
    p += sprintf(p, "time_us,amplitude\n");
    for (int i = 0; i < samples; i++) {
        double time_us = start_us + i * 1e6 / rate_hz;
        if (form == 'f')
            p += sprintf(p, "%.*f", digits, time_us);
        else if (form == 'e')
            p += sprintf(p, "%.*e", digits, time_us);
        else
            p += sprintf(p, "%.*g", digits, time_us);
        p += sprintf(p, ",%d\n", i % 2 == 0 ? -i : i);
    }
    return text;
}

static void a_rounded_time_column_gives_the_rate_back(void **state)
{
    (void)state;
    static const struct {
        double rate_hz;
        char form;
        int digits, samples;
    } exact[] = {
        {100e6, 'f', 2, 2048},    {100e6, 'f', 1, 2048},   {100e6, 'f', 0, 4096},
        {79.972e6, 'f', 3, 2048}, {79.972e6, 'f', 5, 512}, {80e6, 'f', 2, 2048},
        {62.5e6, 'f', 3, 1000},   {125e6, 'e', 3, 2000},   {250e6, 'e', 4, 4000},
        {40e6, 'g', 9, 10},       {48e6, 'f', 4, 2048},    {100e6, 'f', 6, 2},
        {78.125e6, 'g', 17, 100}, {1e9, 'f', 2, 8192},     {44.1e6, 'g', 17, 777},
    };
    for (size_t i = 0; i < sizeof exact / sizeof exact[0]; i++) {
        struct plyecho_traces t;
        struct plyecho_error err;
        char *text = rounded_times(exact[i].rate_hz, 5.0, exact[i].samples, exact[i].form,
                                   exact[i].digits);
        if (read_text(text, &t, &err) != PLYECHO_OK)
            fail_msg("%zu: line %ld: %s", i, err.line, err.text);
        if (t.sample_rate_hz != exact[i].rate_hz || fabs(t.start_s - 5e-6) > 0.51e-6)
            fail_msg("%zu: %.17g Hz from %.17g s", i, t.sample_rate_hz, t.start_s);
        plyecho_traces_clear(&t);
        free(text);
    }
}

/* Rates without a short form: as near as the digits allow, which for n rows rounded to q is at
 * worst q/((n-1) dt), from the first and last row alone. */
static void any_rate_is_found_within_what_rounding_allows(void **state)
{
    (void)state;
    for (int i = 0; i < 200; i++) {
        double rate = 20e6 * exp(0.0177 * i) * 1.000123456789, start = 0.317 * i;
        int samples = 64 + 37 * i;
        struct plyecho_traces t;
        struct plyecho_error err;
        char *text = rounded_times(rate, start, samples, 'f', 2 + i % 2);
        double q = i % 2 == 0 ? 1e-8 : 1e-9;
        if (read_text(text, &t, &err) != PLYECHO_OK)
            fail_msg("%.9g Hz: line %ld: %s", rate, err.line, err.text);
        double bound = q * rate / (samples - 1);
        if (fabs(t.sample_rate_hz / rate - 1.0) > bound || fabs(t.start_s - start * 1e-6) > q)
            fail_msg("%.9g Hz came back as %.9g, bound %g, start %g", rate, t.sample_rate_hz,
                     bound, t.start_s - start * 1e-6);
        plyecho_traces_clear(&t);
        free(text);
    }
}

/* Times that were worked out in single precision, and then printed with all their digits. */
static void times_of_single_precision_are_no_jumps(void **state)
{
    (void)state;
    char *text = grow(200000), *p = text;
    struct plyecho_traces t;
    struct plyecho_error err;
    p += sprintf(p, "time (s),y\n");
    for (int i = 0; i < 2048; i++)
        p += sprintf(p, "%.9e,%d\n", (double)((float)i * 1e-8F), i % 2 == 0 ? -i : i);
    if (read_text(text, &t, &err) != PLYECHO_OK)
        fail_msg("line %ld: %s", err.line, err.text);
    assert_true(fabs(t.sample_rate_hz / 1e8 - 1.0) < 1e-6);
    plyecho_traces_clear(&t);
    free(text);
}

static char *burst(const char *heading, double offset, double scale, int kind)
{
    char *text = grow(200000), *p = text;
    p += sprintf(p, "%s", heading);
    for (int i = 0; i < 1000; i++) {
        double a =
            exp(-0.5 * pow((i - 200) / 15.0, 2)) + 0.5 * exp(-0.5 * pow((i - 600) / 15.0, 2));
        double x = a * cos(0.6 * (i - 200)), y = x;
        if (kind == 1)
            y = fabs(x);
        else if (kind == 2)
            y = a;
        else if (kind == 3)
            y = 20 * log10(a + 1e-4);
        p += sprintf(p, "%.2f,%.0f\n", i * 0.01, offset + scale * y);
    }
    return text;
}

static void states_are_recognised_unless_a_label_says_them(void **state)
{
    (void)state;
    static const struct {
        const char *heading;
        double offset, scale;
        int kind;
        enum plyecho_signal signal;
        double full_scale, step;
        const char *unit;
    } cases[] = {
        {"time_us,amplitude\n", 0, 1000, 0, PLYECHO_SIGNAL_RF, 0, 1, NULL},
        {"time_us,amplitude\n", 2048, 1000, 0, PLYECHO_SIGNAL_RF, 0, 1, NULL},
        {"time_us,amplitude (counts)\n", 128, 100, 0, PLYECHO_SIGNAL_RF, 0, 1, "counts"},
        {"time_us,amplitude\n", 0, 1000, 1, PLYECHO_SIGNAL_RECTIFIED, 0, 1, NULL},
        {"time_us,amplitude [%]\n", 0, 80, 1, PLYECHO_SIGNAL_RECTIFIED, 100, 1, "percent"},
        {"time_us,amplitude (mV)\n", 0, 1000, 2, PLYECHO_SIGNAL_ENVELOPE, 0, 1, "mV"},
        {"time_us,amplitude_db\n", 0, 1, 3, PLYECHO_SIGNAL_LOG, 0, 1, "dB"},
        {"time_us,amplitude (dB)\n", 90, 1, 3, PLYECHO_SIGNAL_LOG, 0, 1, "dB"},
        {"# signal: rf\ntime_us,amplitude\n", 0, 1000, 1, PLYECHO_SIGNAL_RF, 0, 0, NULL},
        {"# signal: envelope\n# full_scale: 511\n# unit: V\ntime_us,amplitude (mV)\n", 0, 1000,
         1, PLYECHO_SIGNAL_ENVELOPE, 511, 0, "V"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct plyecho_traces t;
        struct plyecho_error err;
        char *text = burst(cases[i].heading, cases[i].offset, cases[i].scale, cases[i].kind);
        if (read_text(text, &t, &err) != PLYECHO_OK)
            fail_msg("%zu: line %ld: %s", i, err.line, err.text);
        if (t.signal != cases[i].signal || t.full_scale != cases[i].full_scale ||
            t.step != cases[i].step)
            fail_msg("%zu: %s, full scale %g, step %g", i, plyecho_signal_word(t.signal),
                     t.full_scale, t.step);
        const char *unit = plyecho_labels_get(&t.labels, "unit", 0);
        if (cases[i].unit == NULL)
            assert_null(unit);
        else
            assert_string_equal(unit, cases[i].unit);
        plyecho_traces_clear(&t);
        free(text);
    }
}

static void labels_and_names_are_kept(void **state)
{
    (void)state;
    struct plyecho_traces t;
    const char *text = "# part: T-104, left: \"outer\"\n# angle_deg[2]: 52.5\n#gain_db:40\n"
                       "# 12 shots were averaged\n# Operator's note: dry spot\n"
                       "time_us,north,ch2,180deg\n0,-1,2,3\n0.01,4,5,6\n";
    assert_int_equal(read_text(text, &t, NULL), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&t.labels, "part", 0), "T-104, left: \"outer\"");
    assert_string_equal(plyecho_labels_get(&t.labels, "angle_deg", 2), "52.5");
    assert_string_equal(plyecho_labels_get(&t.labels, "gain_db", 3), "40");
    assert_string_equal(plyecho_labels_get(&t.labels, "Operator's note", 0), "dry spot");
    assert_string_equal(plyecho_labels_get(&t.labels, "name", 1), "north");
    assert_null(plyecho_labels_get(&t.labels, "name", 2));
    assert_string_equal(plyecho_labels_get(&t.labels, "name", 3), "180deg");
    plyecho_traces_clear(&t);
    text = "time_us,a (mV),b (V),c (mV)\n0,-1,2,3\n0.01,4,5,6\n";
    assert_int_equal(read_text(text, &t, NULL), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&t.labels, "name", 2), "b (V)");
    assert_string_equal(plyecho_labels_get(&t.labels, "unit", 1), "mV");
    assert_string_equal(plyecho_labels_get(&t.labels, "unit", 2), "V");
    assert_string_equal(plyecho_labels_get(&t.labels, "unit", 3), "mV");
    plyecho_traces_clear(&t);
}

static struct plyecho_traces sample_traces(size_t channels, size_t samples, double rate,
                                           double start)
{
    struct plyecho_traces t;
    uint64_t word = 20261125;
    assert_int_equal(plyecho_traces_init(&t, channels, samples, NULL), PLYECHO_OK);
    for (size_t i = 0; i < channels * samples; i++) {
        word = word * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        t.amplitude[i] = (float)ldexp((double)(int64_t)word, -63 - (int)(word % 40));
    }
    t.sample_rate_hz = rate;
    t.start_s = start;
    plyecho_labels_set(&t.labels, "part", 0, "T-104: left", NULL);
    plyecho_labels_set(&t.labels, "angle_deg", 1, "52.5", NULL);
    return t;
}

static void assert_same(const struct plyecho_traces *a, const struct plyecho_traces *b)
{
    assert_int_equal(a->channels, b->channels);
    assert_int_equal(a->samples, b->samples);
    assert_memory_equal(a->amplitude, b->amplitude, a->channels * a->samples * sizeof(float));
    assert_true(a->sample_rate_hz == b->sample_rate_hz);
    assert_true(a->start_s == b->start_s);
    assert_int_equal(a->signal, b->signal);
    assert_true(a->full_scale == b->full_scale);
    assert_true(a->step == b->step);
    assert_string_equal(b->note, "");
}

/* traces -> CSV -> WAV -> CSV: all bits, all labels, the same bytes. */
static void round_trips_are_exact(void **state)
{
    (void)state;
    static const double rates[] = {1e8, 79.972e6, 1e9 / 3.0, 1.0, 44100.7, 5e9};
    static const double starts[] = {0.0, 1.25e-6, 1e-6 / 3.0, -3.1e-7, 0.0, 1e-3};
    for (int i = 0; i < 6; i++) {
        struct plyecho_traces t =
            sample_traces(1 + (size_t)i % 3, 2 + 100 * (size_t)i, rates[i], starts[i]);
        struct plyecho_traces from_csv, from_wav;
        struct plyecho_error err;
        t.signal = (enum plyecho_signal)(i % 4);
        t.full_scale = i % 2 == 0 ? 0.0 : 0.7;
        t.step = i % 2 == 0 ? 0.0 : 0.7 / 2048;
        void *csv, *wav, *again;
        size_t csv_size, wav_size, again_size;
        assert_int_equal(
            plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &csv, &csv_size, &err), 0);
        if (plyecho_tracefile_read(csv, csv_size, NULL, &from_csv, &err) != PLYECHO_OK)
            fail_msg("%d: line %ld: %s", i, err.line, err.text);
        assert_same(&t, &from_csv);
        assert_int_equal(
            plyecho_tracefile_write(&from_csv, PLYECHO_CONTAINER_WAV, &wav, &wav_size, &err),
            0);
        if (plyecho_tracefile_read(wav, wav_size, NULL, &from_wav, &err) != PLYECHO_OK)
            fail_msg("%d: %s", i, err.text);
        assert_same(&t, &from_wav);
        assert_int_equal(plyecho_tracefile_write(&from_wav, PLYECHO_CONTAINER_CSV, &again,
                                                 &again_size, &err),
                         0);
        assert_int_equal(again_size, csv_size);
        assert_memory_equal(again, csv, csv_size);
        free(csv);
        free(wav);
        free(again);
        plyecho_traces_clear(&from_csv);
        plyecho_traces_clear(&from_wav);
        plyecho_traces_clear(&t);
    }
}

static void a_written_file_looks_as_documented(void **state)
{
    (void)state;
    struct plyecho_traces t;
    void *bytes;
    size_t size;
    plyecho_traces_init(&t, 2, 3, NULL);
    t.sample_rate_hz = 79.972e6;
    t.start_s = 1.5e-6;
    t.amplitude[0] = 0.1F;
    t.amplitude[5] = -3.0F;
    plyecho_labels_set(&t.labels, "part", 0, "T-104", NULL);
    assert_int_equal(plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &bytes, &size, NULL),
                     PLYECHO_OK);
    static const char expected[] =
        "# part: T-104\n# sample_rate_hz: 79972000\n# start_us: 1.5\n# signal: rf\n"
        "time_us,ch1,ch2\n1.5,0.1,0\n1.51250438,0,0\n1.52500875,0,-3\n";
    assert_int_equal(size, sizeof expected - 1);
    assert_memory_equal(bytes, expected, size);
    free(bytes);
    t.amplitude[2] = NAN;
    assert_int_equal(plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &bytes, &size, NULL),
                     PLYECHO_BAD_ARGUMENT);
    assert_null(bytes);
    plyecho_traces_clear(&t);
}

static void failing_allocations_are_reported_and_leak_nothing(void **state)
{
    (void)state;
    static const char text[] = "# part: T-104\n# angle_deg[1]: 5\nt (us);north;south (V)\n"
                               "0,00;-0,5;1\n0,01;0,25;2\n0,03;0,25;2\n0,04;1;1\n";
    enum plyecho_code code = PLYECHO_NO_MEMORY;
    long n = 0;
    for (; code == PLYECHO_NO_MEMORY; n++) {
        struct plyecho_traces t;
        struct plyecho_error err = {.text = ""};
        void *bytes = NULL;
        size_t size = 0;
        fail_allocation(n);
        code = read_text(text, &t, &err);
        if (code == PLYECHO_OK)
            code = plyecho_tracefile_write(&t, PLYECHO_CONTAINER_CSV, &bytes, &size, &err);
        fail_no_allocation();
        if (code != PLYECHO_OK && code != PLYECHO_NO_MEMORY)
            fail_msg("%ld: line %ld: %s", n, err.line, err.text);
        free(bytes);
        plyecho_traces_clear(&t);
    }
    assert_true(n > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(layouts_are_understood_without_being_told),
        cmocka_unit_test(options_fill_in_what_a_file_does_not_say),
        cmocka_unit_test(broken_input_is_told_with_its_line),
        cmocka_unit_test(hostile_sizes_are_refused_quickly),
        cmocka_unit_test(up_to_1024_channels_are_read),
        cmocka_unit_test(binary_bytes_are_no_text),
        cmocka_unit_test(a_rounded_time_column_gives_the_rate_back),
        cmocka_unit_test(any_rate_is_found_within_what_rounding_allows),
        cmocka_unit_test(times_of_single_precision_are_no_jumps),
        cmocka_unit_test(states_are_recognised_unless_a_label_says_them),
        cmocka_unit_test(labels_and_names_are_kept),
        cmocka_unit_test(round_trips_are_exact),
        cmocka_unit_test(a_written_file_looks_as_documented),
        cmocka_unit_test(failing_allocations_are_reported_and_leak_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
