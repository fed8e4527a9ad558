/* The script of a picture: what is drawn, what is not lost, and that no text becomes a command.
 */
#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../../src/cmd/gnuplot.h"
#include "../../src/cmd/plot_data.h"
#include "../../src/cmd/plot_script.h"
#include "drawn.h"

/* ---- thinning ---- */

static void few_samples_are_all_drawn(void **state)
{
    (void)state;
    float value[40];
    size_t index[40];
    for (int i = 0; i < 40; i++)
        value[i] = (float)i;
    assert_int_equal(plot_thin_room(0, 40, 10), 40);
    assert_int_equal(plot_thin(value, 0, 40, 10, index), 40);
    for (size_t i = 0; i < 40; i++)
        assert_int_equal(index[i], i);
    assert_int_equal(plot_thin(value, 5, 5, 10, index), 0);
    assert_int_equal(plot_thin(value, 5, 8, 0, index), 0);
}

static void no_peak_is_lost_by_thinning(void **state)
{
    (void)state;
    enum { SAMPLES = 10000, COLUMNS = 100 };
    static float value[SAMPLES];
    size_t room = plot_thin_room(0, SAMPLES, COLUMNS);
    size_t *index = calloc(room, sizeof *index);
    assert_non_null(index);
    for (int peak = 0; peak < SAMPLES; peak += 37) {
        memset(value, 0, sizeof value);
        value[peak] = 1;
        value[(peak + 5000) % SAMPLES] = -1;
        size_t count = plot_thin(value, 0, SAMPLES, COLUMNS, index);
        assert_in_range(count, COLUMNS, room);
        float low = 0, high = 0;
        for (size_t i = 0; i < count; i++) {
            low = fminf(low, value[index[i]]);
            high = fmaxf(high, value[index[i]]);
            assert_true(i == 0 || index[i] > index[i - 1]);
        }
        assert_true(low == -1 && high == 1);
    }
    free(index);
}

static void a_stretch_that_is_not_finite_stays_a_gap(void **state)
{
    (void)state;
    static float value[1000];
    for (int i = 300; i < 400; i++)
        value[i] = NAN;
    size_t *index = calloc(plot_thin_room(0, 1000, 20), sizeof *index);
    size_t count = plot_thin(value, 0, 1000, 20, index);
    size_t gaps = 0;
    for (size_t i = 0; i < count; i++)
        gaps += !isfinite(value[index[i]]);
    assert_int_equal(gaps, 2); /* 100 samples are two columns of 50 */
    free(index);
}

/* ---- words ---- */

static char *quoted(const char *text, size_t width, int for_svg)
{
    char *out = NULL;
    size_t size;
    FILE *stream = open_memstream(&out, &size);
    plot_quote(stream, text, width, for_svg);
    fclose(stream);
    return out;
}

static void expect_quoted(const char *text, size_t width, int for_svg, const char *expected)
{
    char *out = quoted(text, width, for_svg);
    assert_string_equal(out, expected);
    free(out);
}

static void words_are_quoted_and_cannot_end_their_quotes(void **state)
{
    (void)state;
    expect_quoted("ring 3", 99, 0, "'ring 3'");
    expect_quoted("it's", 99, 0, "'it'.\"\\047\".'s'");
    expect_quoted("';'", 99, 0, "''.\"\\047\".';'.\"\\047\"");
    expect_quoted("a\nb\033[2J\x7f\\", 99, 0, "'ab[2J'.\"\\134\"");
    expect_quoted("", 99, 0, "''");
    expect_quoted("a & b &#x1;", 99, 0, "'a & b &#x1;'");
    expect_quoted("a &#x1;", 99, 1, "'a &#x26;#x1;'");
}

static void bytes_that_are_no_utf8_become_question_marks(void **state)
{
    (void)state;
    expect_quoted("52.5°, µs", 99, 0, "'52.5°, µs'");
    expect_quoted("\xb5s", 99, 0, "'?s'");
    expect_quoted("\xc0\xaf", 99, 0, "'\?\?'");             /* overlong '/' */
    expect_quoted("\xed\xa0\x80", 99, 0, "'\?\?\?'");       /* surrogate */
    expect_quoted("\xf5\x80\x80\x80", 99, 0, "'\?\?\?\?'"); /* beyond U+10FFFF */
    expect_quoted("\xe2\x80", 99, 0, "'\?\?'");             /* cut short */
    expect_quoted("a\xe2\x80\xae"
                  "b",
                  99, 0, "'ab'"); /* right-to-left override */
    expect_quoted("\xc2\x9b"
                  "2J",
                  99, 0, "'2J'");                /* C1 control */
    expect_quoted("\xef\xbf\xbf", 99, 0, "'?'"); /* no character, illegal in XML */
}

static void long_words_are_cut_by_characters(void **state)
{
    (void)state;
    assert_int_equal(plot_text_width("°°°°"), 4);
    expect_quoted("°°°°°°", 6, 0, "'°°°°°°'");
    expect_quoted("°°°°°°°", 6, 0, "'°°°'.'...'");
    expect_quoted("''''''''", 6, 0, "''.\"\\047\\047\\047\".'...'");
}

static void steps_are_round_and_not_too_many(void **state)
{
    (void)state;
    assert_float_equal(plot_nice_step(10, 5), 2, 1e-12);
    assert_float_equal(plot_nice_step(10.1, 5), 5, 1e-12);
    assert_float_equal(plot_nice_step(0.8, 8), 0.1, 1e-12);
    assert_float_equal(plot_nice_step(49, 8), 10, 1e-12);
    for (double span = 1e-7; span < 1e7; span *= 1.37) {
        double step = plot_nice_step(span, 8);
        assert_true(span / step <= 8 * (1 + 1e-9) && span / step > 8 / 2.5 * (1 - 1e-9));
    }
}

/* ---- whole scripts ---- */

enum { SAMPLES = 5 };
static const float small_trace[SAMPLES] = {0, 0.5f, -1, 0.25f, 0};
static const float small_envelope[SAMPLES] = {0.1f, 0.6f, 1, 0.3f, 0};
static const struct plot_mark small_marks[] = {{1, 12e-6, 1, 0}, {2, 90e-6, 1, -6}};

static const char *const small_notes[] = {"10 MHz", NULL};

static struct plot_picture small_picture(void)
{
    return (struct plot_picture){
        .title = "Tube 7, it's ring 3",
        .notes = small_notes,
        .trace_text = "Trace",
        .amplitude_text = "Amplitude",
        .unit = "V",
        .trace = {small_trace, SAMPLES, 10e-6, 1e6},
        .envelope = {small_envelope, SAMPLES, 10e-6, 1e6},
        .marks = small_marks,
        .mark_count = 2,
        .noise = 0.05,
        .noise_text = "Noise",
        .velocity_m_s = 3000,
        .depth_zero_s = 11e-6,
        .depth_end_s = INFINITY,
        .from_s = 10e-6,
        .to_s = 14e-6,
        .two_sided = true,
    };
}

static char *script_of(const struct plot_picture *picture, enum plot_term term, unsigned width,
                       unsigned height)
{
    struct plot_view view = {.term = term, .width = width, .height = height};
    struct plyecho_error err;
    char *text;
    size_t size;
    assert_int_equal(plot_script(picture, &view, &text, &size, &err), PLYECHO_OK);
    assert_int_equal(strlen(text), size);
    return text;
}

static void the_script_of_a_small_picture(void **state)
{
    (void)state;
    static const char expected[] =
        "reset\n"
        "set encoding utf8\n"
        "set terminal svg size 800,400 noenhanced font 'sans-serif,11.6' background '#FFFFFF'\n"
        "set origin 0,0.0000\n"
        "set size 0.7241,1.0000\n"
        "set border 7\n"
        "set key outside bottom center horizontal height 0.5 samplen 3\n"
        "set grid xtics ytics linewidth 0.7 linetype 1 linecolor rgb '#D0D0D0'\n"
        "set title 'Tube 7, it'.\"\\047\".'s ring 3'.\"\\n"
        "\".'10 MHz'\n"
        "set xrange [10:14]\n"
        "set xlabel 'Time (µs)'\n"
        "set mxtics\n"
        "set xtics nomirror out\n"
        "set x2range [-1.5:4.5]\n"
        "set x2tics 0,1,4.5 out\n"
        "set x2label 'Depth at 3000 m/s (mm)'\n"
        "set yrange [-1.1:1.3]\n"
        "set ytics out nomirror\n"
        "set ylabel 'Amplitude (V)'\n"
        "set label 'Echo' at screen 0.7241, screen 1 right offset 4,-2.5\n"
        "set label 'Time' at screen 0.7241, screen 1 right offset 11,-2.5\n"
        "set label 'Depth' at screen 0.7241, screen 1 right offset 17.5,-2.5\n"
        "set label 'dB to' at screen 0.7241, screen 1 right offset 25.5,-2.5\n"
        "set label 'µs' at screen 0.7241, screen 1 right offset 11,-3.5\n"
        "set label 'mm' at screen 0.7241, screen 1 right offset 17.5,-3.5\n"
        "set label 'largest' at screen 0.7241, screen 1 right offset 25.5,-3.5\n"
        "set label '1' at screen 0.7241, screen 1 right offset 4,-4.5\n"
        "set label '12.000' at screen 0.7241, screen 1 right offset 11,-4.5\n"
        "set label '1.50' at screen 0.7241, screen 1 right offset 17.5,-4.5\n"
        "set label '0.0' at screen 0.7241, screen 1 right offset 25.5,-4.5\n"
        "$trace << END\n"
        "10 0\n"
        "11 0.5\n"
        "12 -1\n"
        "13 0.25\n"
        "14 0\n"
        "END\n"
        "$envelope << END\n"
        "10 0.1\n"
        "11 0.6\n"
        "12 1\n"
        "13 0.3\n"
        "14 0\n"
        "END\n"
        "$marks << END\n"
        "12 1 1 1\n"
        "END\n"
        "plot $trace using 1:2 with lines linewidth 1.2 linecolor rgb '#000000' title 'Trace', "
        "$envelope using 1:2 with lines linewidth 2.2 dashtype (9,4) linecolor rgb '#0072B2' "
        "title 'Envelope', 0.05 with lines linewidth 2 dashtype (3,3) linecolor rgb '#CC79A7' "
        "title 'Noise', $marks using 1:2 with points pointtype 9 pointsize 0.7 linecolor rgb "
        "'#D55E00' title 'Echo', $marks using 1:3:4 with labels offset 0,0.9 notitle\n";
    struct plot_picture picture = small_picture();
    char *text = script_of(&picture, PLOT_SVG, 800, 400);
    assert_string_equal(text, expected);
    free(text);
}

static void what_is_not_given_is_not_drawn(void **state)
{
    (void)state;
    struct plot_picture picture = small_picture();
    picture.envelope.value = NULL;
    picture.noise = NAN;
    picture.velocity_m_s = 0;
    picture.mark_count = 0;
    picture.notes = &small_notes[1];
    picture.unit = NULL;
    char *text = script_of(&picture, PLOT_PNG, 800, 400);
    static const char *const absent[] = {"$envelope", "Noise", "x2", "set label",
                                         "title 'Echo'"};
    for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++)
        assert_null(strstr(text, absent[i]));
    assert_non_null(strstr(text, "set title 'Tube 7, it'.\"\\047\".'s ring 3'\n"));
    assert_non_null(strstr(text, "set ylabel 'Amplitude'\n"));
    free(text);
}

static void a_gate_stands_under_the_curves(void **state)
{
    (void)state;
    struct plot_gate gates[] = {{9e-6, 12e-6, "it's"}, {20e-6, 30e-6, "beyond"}};
    struct plot_picture picture = small_picture();
    picture.gates = gates;
    picture.gate_count = 2;
    char *text = script_of(&picture, PLOT_PNG, 800, 400);
    assert_non_null(strstr(text, "set arrow from first 10, graph 0.0467 to first 12, graph"));
    assert_non_null(strstr(text, "set label 'it'.\"\\047\".'s' at first 11,"));
    assert_null(strstr(text, "beyond"));
    double low = 0, high = 0;
    assert_int_equal(sscanf(strstr(text, "set yrange"), "set yrange [%lf:%lf]", &low, &high),
                     2);
    /* The deepest sample, -1, lies above the gate and its words. */
    assert_true((-1 - low) / (high - low) > 0.1);
    free(text);
    text = script_of(&picture, PLOT_TEXT, 80, 36);
    assert_null(strstr(text, "set arrow"));
    free(text);
}

/* Numbers of neighbours stand at different heights, those far apart over their marks. */
static void numbers_of_close_echoes_do_not_touch(void **state)
{
    (void)state;
    struct plot_mark marks[] = {{1, 11e-6, 0.5, 0}, {2, 11.05e-6, 0.5, 0}, {3, 13e-6, 0.5, 0}};
    struct plot_picture picture = small_picture();
    picture.marks = marks;
    picture.mark_count = 3;
    char *text = script_of(&picture, PLOT_PNG, 1200, 750);
    const char *data = strstr(text, "$marks << END\n");
    double time[3], level[3], at[3];
    unsigned number[3];
    assert_non_null(data);
    assert_int_equal(sscanf(data, "$marks << END %lf %lf %lf %u %lf %lf %lf %u %lf %lf %lf %u",
                            &time[0], &level[0], &at[0], &number[0], &time[1], &level[1],
                            &at[1], &number[1], &time[2], &level[2], &at[2], &number[2]),
                     12);
    assert_true(at[0] == 0.5 && at[1] > 0.55 && at[2] == 0.5);
    assert_true(level[1] == 0.5 && number[1] == 2);
    free(text);
}

/* ---- with gnuplot itself, where it is installed ---- */

static void gnuplot_draws_each_kind_of_file(void **state)
{
    (void)state;
    static const struct {
        enum plot_term term;
        const char *start;
    } kinds[] = {{PLOT_PNG, "\x89PNG\r\n"}, {PLOT_SVG, "<?xml"}, {PLOT_PDF, "%PDF-"}};
    struct plot_gate gate = {11e-6, 13e-6, "gate 'one'"};
    struct plot_picture picture = small_picture();
    picture.gates = &gate;
    picture.gate_count = 1;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        char *script = script_of(&picture, kinds[i].term, 800, 500), *out = NULL;
        size_t size = 0;
        if (drawn(script, &out, &size)) {
            assert_true(size > 1000);
            assert_memory_equal(out, kinds[i].start, strlen(kinds[i].start));
        }
        free(out);
        free(script);
    }
}

/* Whichever gnuplot is installed: it has a window terminal, or says in one line what would help. */
static void without_a_window_terminal_the_script_says_so(void **state)
{
    (void)state;
    struct plot_picture picture = small_picture();
    char *script = script_of(&picture, PLOT_WINDOW, 800, 500), *out = NULL;
    size_t size = 0;
    struct plyecho_error err;
    char probe[] = "set print '-'; print strstrt(GPVAL_TERMINALS, ' qt ') + "
                   "strstrt(GPVAL_TERMINALS, ' wxt ') + strstrt(GPVAL_TERMINALS, ' x11 ')\n";
    if (drawn(probe, &out, &size) && strcmp(out, "0\n") == 0) {
        free(out);
        assert_int_equal(gnuplot_run(script, strlen(script), 60, &out, &size, &err),
                         PLYECHO_UNSUITABLE);
        assert_non_null(strstr(err.text, "no window terminal in this gnuplot: apt-get install "
                                         "gnuplot-qt, or use -o picture.png"));
    }
    free(out);
    free(script);
}

static void behind_the_wall_there_is_no_depth(void **state)
{
    (void)state;
    struct plot_picture picture = small_picture();
    picture.depth_end_s = 11.9e-6; /* 1.35 mm; the echo comes at 12 us */
    char *script = script_of(&picture, PLOT_SVG, 800, 400);
    assert_non_null(strstr(script, "set x2tics 0,1,1.35 out"));
    assert_non_null(strstr(script, "set label '12.000'"));
    assert_null(strstr(script, "set label '1.50'"));
    free(script);
}

static void gnuplot_draws_text_with_the_list_of_echoes(void **state)
{
    (void)state;
    struct plot_picture picture = small_picture();
    char *script = script_of(&picture, PLOT_TEXT, 80, 36), *out = NULL;
    size_t size = 0;
    if (drawn(script, &out, &size)) {
        assert_non_null(strstr(out, "Tube 7, it's ring 3"));
        assert_non_null(strstr(out, "Time (µs)"));
        assert_non_null(strstr(out, "Depth at 3000 m/s (mm)"));
        assert_non_null(strstr(out, "Echo   Time  Depth   dB to"));
        assert_non_null(strstr(out, "1 12.000   1.50     0.0"));
    }
    free(out);
    free(script);
}

static void hostile_words_are_drawn_as_they_stand(void **state)
{
    (void)state;
    static const char hostile[] =
        "'; system('echo ran > &2'); set title '`id` @x {/=9 y} \\n %s &#x1;<b>";
    struct plot_picture picture = small_picture();
    const char *const notes[] = {hostile, hostile, NULL};
    picture.notes = notes;
    picture.title = picture.amplitude_text = picture.noise_text = hostile;
    picture.trace_text = hostile;
    char *script = script_of(&picture, PLOT_SVG, 4000, 3000), *out = NULL;
    size_t size = 0;
    if (drawn(script, &out, &size))
        assert_non_null(strstr(out,
                               "'; system('echo ran > &#x26;2'); set title '`id` @x {/=9 y} "
                               "\\n %s &#x26;#x1;&lt;b>"));
    free(out);
    free(script);
}

/* All words of up to 4 characters that mean something to gnuplot or to a shell, in one run. */
static void every_short_word_comes_back_as_it_was(void **state)
{
    (void)state;
    static const char alphabet[] = "'\"\\`@#;$%{&a";
    enum { LETTERS = sizeof alphabet - 1 };
    char *script = NULL, *expected = NULL, *out = NULL;
    size_t script_size, expected_size, size = 0;
    FILE *to_script = open_memstream(&script, &script_size);
    FILE *to_expected = open_memstream(&expected, &expected_size);
    assert_true(to_script != NULL && to_expected != NULL);
    fputs("set print '-'\n", to_script);
    for (size_t n = 0; n < (size_t)LETTERS * LETTERS * LETTERS * LETTERS; n++) {
        char word[5] = "";
        size_t length = 0;
        for (size_t rest = n; rest > 0; rest /= LETTERS)
            word[length++] = alphabet[rest % LETTERS];
        fputs("print ", to_script);
        plot_quote(to_script, word, 99, 0);
        fputc('\n', to_script);
        fprintf(to_expected, "%s\n", word);
    }
    assert_int_equal(fclose(to_script), 0);
    assert_int_equal(fclose(to_expected), 0);
    if (drawn(script, &out, &size)) {
        assert_int_equal(size, expected_size);
        assert_memory_equal(out, expected, size);
    }
    free(out);
    free(script);
    free(expected);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(few_samples_are_all_drawn),
        cmocka_unit_test(no_peak_is_lost_by_thinning),
        cmocka_unit_test(a_stretch_that_is_not_finite_stays_a_gap),
        cmocka_unit_test(words_are_quoted_and_cannot_end_their_quotes),
        cmocka_unit_test(bytes_that_are_no_utf8_become_question_marks),
        cmocka_unit_test(long_words_are_cut_by_characters),
        cmocka_unit_test(steps_are_round_and_not_too_many),
        cmocka_unit_test(the_script_of_a_small_picture),
        cmocka_unit_test(what_is_not_given_is_not_drawn),
        cmocka_unit_test(a_gate_stands_under_the_curves),
        cmocka_unit_test(numbers_of_close_echoes_do_not_touch),
        cmocka_unit_test(gnuplot_draws_each_kind_of_file),
        cmocka_unit_test(without_a_window_terminal_the_script_says_so),
        cmocka_unit_test(behind_the_wall_there_is_no_depth),
        cmocka_unit_test(gnuplot_draws_text_with_the_list_of_echoes),
        cmocka_unit_test(hostile_words_are_drawn_as_they_stand),
        cmocka_unit_test(every_short_word_comes_back_as_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
