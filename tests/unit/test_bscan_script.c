/* A section through the wall: what is drawn where, no echo lost, nothing made up where nothing was recorded. */
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

#include "bscan_script.h"
#include "drawn.h"
#include "made_map.h"
#include "palette.h"
#include "svg_patches.h"

enum { SAMPLES = 400 };

/* 0.001 everywhere but a full reflector of 1 at the front, at depth 0. */
static float *made_envelope(const struct made_map *s)
{
    float *envelope = calloc(s->grid->count * SAMPLES, sizeof *envelope);
    for (size_t i = 0; i < s->grid->count * SAMPLES; i++)
        envelope[i] = i % SAMPLES == 0 ? 1 : 0.001f;
    return envelope;
}

static struct bscan_picture made_section(const struct made_map *s, const float *envelope)
{
    return (struct bscan_picture){.scan = &s->picture,
                                  .line = 1,
                                  .envelope = envelope,
                                  .samples = SAMPLES,
                                  .step_m = 0.01e-3,
                                  .velocity_m_s = 2950};
}

static char *script_of(const struct bscan_picture *picture, enum plot_term term)
{
    struct plot_view view = {.term = term, .width = 900, .height = 700};
    struct plyecho_error err;
    char *text;
    size_t size;
    assert_int_equal(bscan_script(picture, &view, &text, &size, &err), PLYECHO_OK);
    assert_int_equal(strlen(text), size);
    return text;
}

/* How often a colour stands in the block $cells. */
static size_t colours_of(const char *text, unsigned colour)
{
    char word[24];
    const char *at = strstr(text, "$cells << END\n"), *end = strstr(at, "\nEND\n");
    size_t count = 0;
    snprintf(word, sizeof word, " %u\n", colour);
    while ((at = strstr(at, word)) != NULL && at < end) {
        at++;
        count++;
    }
    return count;
}

/* 20 log10(0.1) = -20 dB is the middle of 0 to -40 dB. One sample of 400 is kept though a piece has several. */
static void a_narrow_echo_keeps_its_colour(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 4, 3);
    float *envelope = made_envelope(&s);
    struct bscan_picture picture = made_section(&s, envelope);
    char *text = script_of(&picture, PLOT_PNG);
    size_t before = colours_of(text, palette_colour(0.5));
    assert_int_equal(before, 0);
    /* The front of each of the four places. */
    assert_int_equal(colours_of(text, palette_colour(1)), 4);
    free(text);
    envelope[5 * SAMPLES + 237] = 0.1f; /* row 1 has places 4 to 7 */
    envelope[2 * SAMPLES + 100] = 0.1f; /* of another row */
    text = script_of(&picture, PLOT_PNG);
    assert_int_equal(colours_of(text, palette_colour(0.5)), 1);
    free(text);
    picture.full = (struct plyecho_known){true, 10};
    text = script_of(&picture, PLOT_PNG);
    assert_int_equal(colours_of(text, palette_colour(0.5)), 4);
    assert_non_null(strstr(text, "'0 dB: a full reflector'"));
    free(text);
    free(envelope);
    made_map_free(&s);
}

static void what_was_not_recorded_is_not_silence(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 4, 3);
    float *envelope = made_envelope(&s);
    struct bscan_picture picture = made_section(&s, envelope);
    unsigned none = map_look(MAP_NO_TRACE).fill;
    s.readings[6].read = false;
    char *text = script_of(&picture, PLOT_PNG);
    assert_int_equal(colours_of(text, none), 1);
    assert_non_null(strstr(text, "$strokes << END\n1e9 1e9\n\n135 "));
    assert_non_null(strstr(text, "'no trace (1)'"));
    free(text);
    s.readings[6].read = true;
    for (size_t k = 200; k < SAMPLES; k++)
        envelope[6 * SAMPLES + k] = NAN;
    text = script_of(&picture, PLOT_PNG);
    assert_int_equal(colours_of(text, none), 1);
    assert_int_equal(colours_of(text, palette_colour(1)), 4);
    assert_null(strstr(text, "'no trace ("));
    free(text);
    free(envelope);
    made_map_free(&s);
}

static void depths_stand_where_they_were_read(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 4, 3);
    float *envelope = made_envelope(&s);
    struct bscan_picture picture = made_section(&s, envelope);
    s.readings[5].second = PLYECHO_DELAMINATION;
    s.readings[5].second_depth_m = 1.25e-3;
    s.readings[5].second_wall_m.known = false;
    char *text = script_of(&picture, PLOT_PNG);
    assert_non_null(strstr(text, "$indications << END\n1e9 1e9\n\n90 1.25\nEND\n"));
    assert_non_null(strstr(text, "$nominal << END\n1e9 1e9\n\n-45 3\n45 3\n"));
    assert_non_null(strstr(text, "'B-scan round the tube at axial 15 mm'"));
    free(text);
    /* The same place on the line along the tube: across is axial now. */
    picture.along = true;
    text = script_of(&picture, PLOT_PNG);
    assert_non_null(strstr(text, "$indications << END\n1e9 1e9\n\n15 1.25\nEND\n"));
    assert_non_null(strstr(text, "'B-scan along the tube at 90°'"));
    free(text);
    free(envelope);
    made_map_free(&s);
}

static void what_cannot_be_drawn_is_refused(void **state)
{
    (void)state;
    struct made_map s = made_map(false, 4, 3);
    float *envelope = made_envelope(&s);
    struct plot_view view = {.term = PLOT_PNG, .width = 900, .height = 700};
    struct plyecho_error err;
    char *text;
    size_t size;
    struct bscan_picture picture = made_section(&s, envelope);
    picture.line = 3;
    assert_int_equal(bscan_script(&picture, &view, &text, &size, &err), PLYECHO_BAD_ARGUMENT);
    assert_null(text);
    picture.along = true; /* a column it has */
    assert_int_equal(bscan_script(&picture, &view, &text, &size, &err), PLYECHO_OK);
    free(text);
    picture.step_m = 0;
    assert_int_equal(bscan_script(&picture, &view, &text, &size, &err), PLYECHO_BAD_ARGUMENT);
    picture = made_section(&s, envelope);
    view.term = PLOT_TEXT;
    assert_int_equal(bscan_script(&picture, &view, &text, &size, &err), PLYECHO_UNSUITABLE);
    free(envelope);
    made_map_free(&s);
}

/* What a reader sees: depth downwards, each stretch in its colour. 0, -20 and -40 dB. */
static void depths_have_their_own_colours(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 4, 3);
    float *envelope = made_envelope(&s);
    for (size_t i = 0; i < s.grid->count * SAMPLES; i++)
        envelope[i] = i % SAMPLES < 100 ? 1 : i % SAMPLES < 300 ? 0.1f : 0.001f;
    struct bscan_picture picture = made_section(&s, envelope);
    char *script = script_of(&picture, PLOT_SVG), *out = NULL;
    size_t size = 0;
    if (drawn(script, &out, &size)) {
        const char *at = out;
        struct svg_patch part[3];
        for (size_t i = 0; i < 4; i++) {
            for (size_t k = 0; k < 3; k++)
                assert_int_equal(svg_next_patch(&at, &part[k]), 1);
            double whole = part[2].bottom - part[0].top;
            assert_float_equal((part[0].bottom - part[0].top) / whole, 0.25, 0.01);
            assert_float_equal((part[1].bottom - part[1].top) / whole, 0.5, 0.01);
            assert_int_equal(part[0].colour, palette_colour(1));
            assert_int_equal(part[1].colour, palette_colour(0.5));
            assert_int_equal(part[2].colour, palette_colour(0));
        }
    }
    free(out);
    free(script);
    free(envelope);
    made_map_free(&s);
}

static void gnuplot_draws_sections_of_every_kind(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++) {
        struct made_map s = made_map(i % 2, 20, 16);
        float *envelope = made_envelope(&s);
        struct bscan_picture picture = made_section(&s, envelope);
        picture.line = 11;
        picture.along = i / 2;
        char *script = script_of(&picture, PLOT_PNG), *out = NULL;
        size_t size = 0;
        if (drawn(script, &out, &size))
            assert_memory_equal(out, "\x89PNG\r\n", 6);
        free(out);
        free(script);
        free(envelope);
        made_map_free(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_narrow_echo_keeps_its_colour),
        cmocka_unit_test(what_was_not_recorded_is_not_silence),
        cmocka_unit_test(depths_stand_where_they_were_read),
        cmocka_unit_test(what_cannot_be_drawn_is_refused),
        cmocka_unit_test(depths_have_their_own_colours),
        cmocka_unit_test(gnuplot_draws_sections_of_every_kind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
