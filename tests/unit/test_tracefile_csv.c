/* CSV: every layout, unit and rule of docs/file-formats.md. The layouts are made up from what
 * spreadsheets and instruments commonly write (common practice, no source). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/tracefile.h>

#include "read_text.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(layouts_are_understood_without_being_told),
        cmocka_unit_test(options_fill_in_what_a_file_does_not_say),
        cmocka_unit_test(states_are_recognised_unless_a_label_says_them),
        cmocka_unit_test(labels_and_names_are_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
