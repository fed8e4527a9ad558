/* Maps of a scan: what each place shows, the colours' range, cells, and that no text becomes a command. */
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

#include "drawn.h"
#include "made_map.h"
#include "map_cells.h"
#include "map_script.h"
#include "palette.h"
#include "pattern.h"
#include "svg_patches.h"

static char *script_of(const struct map_picture *picture, enum plot_term term, unsigned width,
                       unsigned height)
{
    struct plot_view view = {.term = term, .width = width, .height = height};
    struct plyecho_error err;
    char *text;
    size_t size;
    assert_int_equal(map_script(picture, &view, &text, &size, &err), PLYECHO_OK);
    assert_int_equal(strlen(text), size);
    return text;
}

/* ---- colours ---- */

static double luminance(unsigned colour)
{
    return 0.2126 * (colour >> 16 & 0xff) + 0.7152 * (colour >> 8 & 0xff) +
           0.0722 * (colour & 0xff);
}

/* Some of the table of 256 colours as matplotlib 3.6.3 has it, rounded to bytes. */
static void the_palette_is_the_published_one(void **state)
{
    (void)state;
    static const struct {
        unsigned at, colour;
    } table[] = {{0, 0x00224e},   {17, 0x002e6c},  {34, 0x1e3a6f},  {51, 0x35456c},
                 {68, 0x47516c},  {85, 0x575d6d},  {102, 0x666970}, {119, 0x757575},
                 {136, 0x848279}, {153, 0x948e77}, {170, 0xa59c74}, {187, 0xb7a96e},
                 {204, 0xc8b866}, {221, 0xdbc75a}, {238, 0xeed649}, {255, 0xfee838}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        unsigned colour = palette_colour(table[i].at / 255.0);
        for (unsigned shift = 0; shift <= 16; shift += 8) {
            int got = (int)(colour >> shift & 0xff);
            int expected = (int)(table[i].colour >> shift & 0xff);
            assert_in_range(got - expected + 3, 0, 6);
        }
    }
    assert_int_equal(palette_colour(-1), 0x00224e);
    assert_int_equal(palette_colour(NAN), 0x00224e);
    assert_int_equal(palette_colour(2), 0xfee838);
}

static void higher_values_are_lighter_in_grey(void **state)
{
    (void)state;
    for (int i = 1; i <= 20; i++)
        assert_true(luminance(palette_colour(i / 20.0)) >
                    luminance(palette_colour((i - 1) / 20.0)));
}

/* ---- what a place shows ---- */

static struct plyecho_place_reading plain_reading(void)
{
    return (struct plyecho_place_reading){
        .read = true,
        .second_wall_m = {true, 3e-3},
        .balance_db = {true, -2},
    };
}

static enum map_state state_of(const struct plyecho_place_reading *reading,
                               enum map_quantity quantity, double *value)
{
    struct map_picture picture = {
        .quantity = quantity, .readings = reading, .sound_level_db = {true, -1}};
    return map_state_of(&picture, 0, value);
}

static void a_wall_or_why_there_is_none(void **state)
{
    (void)state;
    double value = 0;
    struct plyecho_place_reading r = plain_reading();
    assert_int_equal(state_of(&r, MAP_WALL, &value), MAP_VALUE);
    assert_float_equal(value, 3, 1e-12);
    assert_int_equal(state_of(&r, MAP_LEVEL, &value), MAP_VALUE);
    assert_float_equal(value, -1, 1e-12);
    static const struct {
        enum plyecho_verdict verdict;
        enum map_state state;
    } cases[] = {
        {PLYECHO_DELAMINATION, MAP_DELAMINATION}, {PLYECHO_ATTENUATED, MAP_ATTENUATED},
        {PLYECHO_UNDECIDED, MAP_UNDECIDED},       {PLYECHO_UNREADABLE, MAP_UNREADABLE},
        {PLYECHO_INNER_ECHO, MAP_NOT_SEEN},       {PLYECHO_NO_INDICATION, MAP_NOT_SEEN}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        r.second_wall_m.known = false;
        r.second = cases[i].verdict;
        assert_int_equal(state_of(&r, MAP_WALL, &value), cases[i].state);
    }
    r.read = false;
    assert_int_equal(state_of(&r, MAP_WALL, &value), MAP_NO_TRACE);
    struct map_picture picture = {.readings = &r};
    assert_int_equal(map_state_of(&picture, PLYECHO_NO_PLACE, &value), MAP_NO_TRACE);
}

/* Nobody may book the depth of a delamination as a wall: the raw verdict took it for one, the neighbours did not. */
static void a_shadow_is_no_wall(void **state)
{
    (void)state;
    double value;
    struct plyecho_place_reading r = plain_reading();
    r.verdict = PLYECHO_THIN;
    r.wall_seen = true;
    r.wall_m = 1.2e-3;
    r.second = PLYECHO_DELAMINATION;
    r.second_wall_m.known = false;
    assert_int_equal(state_of(&r, MAP_WALL, &value), MAP_DELAMINATION);
    assert_int_equal(state_of(&r, MAP_LEVEL, &value), MAP_DELAMINATION);
    /* A lone echo that the neighbours made a thin wall. */
    r.second = PLYECHO_THIN;
    r.second_wall_m.known = true;
    assert_int_equal(state_of(&r, MAP_WALL, &value), MAP_VALUE);
    assert_float_equal(value, 3, 1e-12);
}

/* Colour-blind or printed grey: each state has a pattern of its own. */
static void states_differ_by_pattern_alone(void **state)
{
    (void)state;
    for (int i = MAP_VALUE + 1; i < MAP_STATE_COUNT; i++) {
        struct map_look look = map_look((enum map_state)i);
        assert_int_not_equal(look.pattern, PATTERN_NONE);
        for (int k = MAP_VALUE + 1; k < i; k++) {
            assert_int_not_equal(map_look((enum map_state)k).pattern, look.pattern);
            assert_int_not_equal(map_look((enum map_state)k).fill, look.fill);
        }
    }
}

/* ---- the colours' range ---- */

/* numpy 1.24 percentile([2.5, 2.9 x 49, 3.1 x 49, 9], [2, 98]) is 2.9 and 3.1. */
static void the_range_is_that_of_nearly_all(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 10, 10);
    for (size_t i = 0; i < 100; i++)
        s.readings[i].second_wall_m.value = i < 50 ? 2.9e-3 : 3.1e-3;
    s.readings[0].second_wall_m.value = 2.5e-3;
    s.readings[99].second_wall_m.value = 9e-3;
    struct map_range range = map_range(&s.picture);
    /* The median is 3.0: 5 % of it to both sides; then down to the thinnest. */
    assert_float_equal(range.low, 2.5, 1e-9);
    assert_float_equal(range.high, 3.2, 1e-9);
    assert_int_equal(range.values, 100);
    assert_true(range.stretched);
    assert_float_equal(range.least, 2.5, 1e-12);
    assert_int_equal(range.below, 0);
    assert_int_equal(range.above, 1);
    s.readings[0].second_wall_m.value = 2.9e-3;
    range = map_range(&s.picture);
    assert_float_equal(range.low, 2.84, 1e-9);
    assert_float_equal(range.high, 3.16, 1e-9);
    assert_false(range.stretched);
    for (size_t i = 0; i < 100; i++)
        s.readings[i].nominal_m.value = 3.4e-3;
    range = map_range(&s.picture);
    assert_true(range.nominal_known && range.high >= 3.4 && range.high < 3.45);
    made_map_free(&s);
}

/* The one wall that is filed away has the end's colour to itself, and the key says why the scale is so long; a level
 * may lie below. */
static void the_thinnest_place_is_on_the_scale(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 40, 10);
    for (size_t i = 0; i < s.grid->count; i++) {
        s.readings[i].second_wall_m = (struct plyecho_known){true, i % 2 ? 3.05e-3 : 2.95e-3};
        s.readings[i].balance_db.value = -1;
    }
    s.readings[7].second_wall_m.value = 0.813e-3;
    s.readings[8].balance_db.value = -30;
    struct map_range range = map_range(&s.picture);
    assert_true(range.low <= 0.813 && range.low > 0.6);
    assert_int_equal(range.below, 0);
    char *text = script_of(&s.picture, PLOT_PNG, 900, 700);
    assert_non_null(strstr(text, "'down to the least: 0.813 mm'"));
    free(text);
    for (size_t i = 0; i < s.grid->count; i++)
        s.readings[i].nominal_m = (struct plyecho_known){true, i < 200 ? 3e-3 : 2.5e-3};
    s.picture.quantity = MAP_OFF_NOMINAL;
    range = map_range(&s.picture);
    assert_true(range.stretched && range.low <= -2.187 && range.below == 0);
    s.picture.quantity = MAP_LEVEL;
    range = map_range(&s.picture);
    assert_true(!range.stretched && range.low > -10 && range.below == 1);
    text = script_of(&s.picture, PLOT_PNG, 900, 700);
    assert_non_null(strstr(text, "'beyond: 1 below'"));
    free(text);
    made_map_free(&s);
}

/* A sleeve of 1.2 mm in half of the part: the places differ by hundredths where they are held against their own
 * nominal wall, and nothing is told where one has none. */
static void several_nominals_are_taken_off(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 10, 10);
    assert_false(map_nominals_differ(s.readings, s.grid->count));
    for (size_t i = 0; i < 100; i++) {
        double nominal_m = i < 50 ? 3.0e-3 : 4.2e-3;
        s.readings[i].nominal_m = (struct plyecho_known){true, nominal_m};
        s.readings[i].second_wall_m.value = nominal_m + (i % 2 ? 0.02e-3 : -0.03e-3);
    }
    assert_true(map_nominals_differ(s.readings, s.grid->count));
    s.picture.quantity = MAP_OFF_NOMINAL;
    double value = 0;
    assert_int_equal(map_state_of(&s.picture, 51, &value), MAP_VALUE);
    assert_float_equal(value, 0.02, 1e-9);
    struct map_range range = map_range(&s.picture);
    assert_true(range.low >= -0.2 && range.low <= -0.1 && range.high >= 0.07 &&
                range.high <= 0.2);
    assert_true(range.nominal_known && range.nominal_low == 0 && range.nominal_high == 0);
    s.readings[51].nominal_m.known = false;
    assert_int_equal(map_state_of(&s.picture, 51, &value), MAP_NOT_SEEN);
    assert_false(map_nominals_differ(s.readings, s.grid->count));
    made_map_free(&s);
}

static void without_a_wall_there_is_a_range_all_the_same(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 4, 3);
    for (size_t i = 0; i < 12; i++)
        s.readings[i].read = false;
    struct map_range range = map_range(&s.picture);
    assert_int_equal(range.values, 0);
    assert_true(range.low < range.high);
    char *text = script_of(&s.picture, PLOT_PNG, 900, 700);
    assert_non_null(strstr(text, "'nowhere was a wall seen'"));
    assert_null(strstr(text, "Wall thickness (mm)"));
    free(text);
    made_map_free(&s);
}

/* ---- cells ---- */

static void every_crossing_has_its_cell(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 48, 20);
    struct map_cells cells;
    map_cells_make(&cells, &s.picture);
    assert_int_equal(s.grid->count, 48 * 20 - 4);
    assert_int_equal(cells.count, 48 * 20);
    size_t missing = 0, not_read = 0;
    for (size_t i = 0; i < cells.count; i++) {
        missing += cells.cell[i].place == PLYECHO_NO_PLACE;
        not_read += cells.cell[i].state == MAP_NO_TRACE;
        assert_float_equal(cells.cell[i].patch.to_across - cells.cell[i].patch.from_across, 7.5,
                           1e-9);
        assert_float_equal(cells.cell[i].patch.to_along - cells.cell[i].patch.from_along, 5,
                           1e-9);
    }
    assert_int_equal(missing, 4);
    assert_int_equal(not_read, cells.counts[MAP_NO_TRACE]);
    assert_true(not_read > 4);
    assert_float_equal(cells.bounds.from_across, -3.75, 1e-9);
    assert_float_equal(cells.bounds.to_across, 356.25, 1e-9);
    assert_float_equal(cells.bounds.from_along, 7.5, 1e-9);
    map_cells_free(&cells);
    made_map_free(&s);
}

static void between_staggered_places_nothing_is_missing(void **state)
{
    (void)state;
    struct plyecho_place places[16];
    struct plyecho_place_reading readings[16];
    const struct plyecho_part tube = {true, {true, 30e-3}, NULL};
    struct plyecho_error err;
    struct plyecho_grid *grid;
    for (size_t i = 0; i < 16; i++) {
        places[i] = (struct plyecho_place){(double)(i % 4) * 90 + (double)(i / 4 % 2) * 45,
                                           (double)(i / 4) * 5e-3};
        readings[i] = plain_reading();
    }
    assert_int_equal(plyecho_grid_new(&grid, places, 16, &tube, &err), PLYECHO_OK);
    struct map_picture picture = {.grid = grid, .readings = readings};
    struct map_cells cells;
    map_cells_make(&cells, &picture);
    assert_int_equal(cells.counts[MAP_NO_TRACE], 0);
    map_cells_free(&cells);
    plyecho_grid_free(grid);
}

static void a_single_place_is_a_cell(void **state)
{
    (void)state;
    const struct plyecho_place place = {0, 0};
    const struct plyecho_part plate = {false, {false, 0}, NULL};
    struct plyecho_place_reading reading = plain_reading();
    struct plyecho_error err;
    struct plyecho_grid *grid;
    assert_int_equal(plyecho_grid_new(&grid, &place, 1, &plate, &err), PLYECHO_OK);
    struct map_picture picture = {.grid = grid, .readings = &reading};
    struct map_cells cells;
    map_cells_make(&cells, &picture);
    assert_true(cells.bounds.to_across > cells.bounds.from_across);
    assert_true(cells.bounds.to_along > cells.bounds.from_along);
    map_cells_free(&cells);
    plyecho_grid_free(grid);
}

/* ---- projection and patterns ---- */

static void a_ring_turns_as_stated(void **state)
{
    (void)state;
    struct patch_projection p = {.ring = true, .turn = 1, .inner_edge = 10, .outer_edge = 50};
    struct patch_point at = patch_project(&p, 0, 50);
    assert_float_equal(at.x, 0, 1e-12);
    assert_float_equal(at.y, 1, 1e-12); /* 0 at the top, the highest axial outside */
    at = patch_project(&p, 90, 10);
    assert_float_equal(at.x, PATCH_BORE, 1e-12); /* clockwise: 90 at the right */
    p.turn = -1;
    assert_float_equal(patch_project(&p, 90, 10).x, -PATCH_BORE, 1e-12);
}

static void a_pattern_is_cut_at_a_cell(void **state)
{
    (void)state;
    struct pattern_line line = {0, 0, 1, 1};
    assert_int_equal(pattern_clip(&line, 0.25, 0.25, 0.5, 0.25), 1);
    assert_float_equal(line.x0, 0.25, 1e-12);
    assert_float_equal(line.y1, 0.5, 1e-12);
    line = (struct pattern_line){0, 0, 1, 1};
    assert_int_equal(pattern_clip(&line, 0.5, 0, 0.5, 0.5), 0);
    line = (struct pattern_line){0, 0.75, 1, 0.75};
    assert_int_equal(pattern_clip(&line, 0, 0, 1, 0.5), 0);
}

/* ---- whole scripts ---- */

static void the_key_names_what_is_there(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 48, 20);
    s.picture.indications = s.indications;
    char *text = script_of(&s.picture, PLOT_PNG, 1200, 900);
    static const char *const words[] = {"'Steerer tube 7'",
                                        "'zero mark: saw cut at the crown end, opposite the "
                                        "brake hole'",
                                        "'angles rise clockwise, looking along rising axial'",
                                        "'Wall thickness (mm)'",
                                        "'nominal 3 mm'",
                                        "'delamination, no wall (",
                                        "'attenuated, no wall (",
                                        "'undecided, no wall (",
                                        "'unreadable (",
                                        "'no trace (",
                                        "'delamination 1, 3'",
                                        "'inner-echo 2'",
                                        "mm, ø 30 mm'",
                                        "'Angle (°)'",
                                        "'Axial (mm)'"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strstr(text, words[i]) == NULL)
            fail_msg("no %s", words[i]);
    free(text);
    s.picture.zero_mark = NULL;
    s.picture.turn = MAP_TURN_UNKNOWN;
    s.picture.projection = MAP_RING;
    s.picture.quantity = MAP_LEVEL;
    text = script_of(&s.picture, PLOT_SVG, 480, 800);
    assert_non_null(strstr(text, "'zero mark not stated'"));
    assert_non_null(strstr(text, "'direction of angles not stated: drawn clockwise'"));
    assert_non_null(strstr(text, "'Back-wall level (dB)'"));
    /* pi x 30 mm / 36 */
    assert_non_null(strstr(text, "'10° = 2.62 mm of arc, ø 30 mm'"));
    free(text);
    made_map_free(&s);
}

static void what_cannot_be_drawn_is_refused(void **state)
{
    (void)state;
    struct made_map s = made_map(false, 4, 3);
    struct plot_view view = {.term = PLOT_PNG, .width = 800, .height = 600};
    struct plyecho_error err;
    char *text;
    size_t size;
    s.picture.projection = MAP_RING;
    assert_int_equal(map_script(&s.picture, &view, &text, &size, &err), PLYECHO_BAD_ARGUMENT);
    assert_null(text);
    s.picture.projection = MAP_UNROLLED;
    view.term = PLOT_TEXT;
    assert_int_equal(map_script(&s.picture, &view, &text, &size, &err), PLYECHO_UNSUITABLE);
    assert_null(text);
    made_map_free(&s);
}

/* ---- with gnuplot itself, where it is installed ---- */

static void gnuplot_draws_maps_of_every_kind(void **state)
{
    (void)state;
    static const struct {
        enum plot_term term;
        const char *start;
    } kinds[] = {{PLOT_PNG, "\x89PNG\r\n"}, {PLOT_SVG, "<?xml"}, {PLOT_PDF, "%PDF-"}};
    for (int tube = 0; tube < 2; tube++) {
        struct made_map s = made_map(tube, 20, 16);
        s.picture.indications = s.indications;
        for (size_t i = 0; i < 3 * 4; i++) {
            s.picture.quantity = i % 2 ? MAP_LEVEL : MAP_WALL;
            s.picture.projection = tube && i / 2 % 2 ? MAP_RING : MAP_UNROLLED;
            char *script = script_of(&s.picture, kinds[i / 4].term, 800, 500), *out = NULL;
            size_t size = 0;
            if (drawn(script, &out, &size)) {
                assert_true(size > 1000);
                assert_memory_equal(out, kinds[i / 4].start, strlen(kinds[i / 4].start));
            }
            free(out);
            free(script);
        }
        made_map_free(&s);
    }
}

/* What a reader sees: every cell in its place and in its colour. */
static void each_cell_has_its_own_colour(void **state)
{
    (void)state;
    struct made_map s = made_map(false, 4, 3);
    struct map_range range = map_range(&s.picture);
    char *script = script_of(&s.picture, PLOT_SVG, 900, 700), *out = NULL;
    size_t size = 0;
    if (drawn(script, &out, &size)) {
        const char *at = out;
        double right = 0, top = 1e9;
        for (size_t i = 0; i < 12; i++) {
            struct svg_patch patch;
            double value;
            assert_int_equal(svg_next_patch(&at, &patch), 1);
            assert_int_equal(map_state_of(&s.picture, i, &value), MAP_VALUE);
            double share = (value - range.low) / (range.high - range.low);
            assert_int_equal(patch.colour, palette_colour(round(share * 255) / 255));
            if (i % 4 == 0)
                assert_true(patch.bottom < top + 1); /* rows rise */
            else
                assert_float_equal(patch.left, right, 0.1);
            right = patch.right;
            top = patch.top;
        }
    }
    free(out);
    free(script);
    made_map_free(&s);
}

static void a_ring_shows_90_degrees_where_it_says(void **state)
{
    (void)state;
    struct made_map s = made_map(true, 4, 3);
    s.picture.projection = MAP_RING;
    s.readings[5].second_wall_m.known = false;
    s.readings[5].second = PLYECHO_DELAMINATION;
    for (int turn = MAP_CLOCKWISE; turn <= MAP_COUNTERCLOCKWISE; turn++) {
        s.picture.turn = (enum map_turn)turn;
        char *script = script_of(&s.picture, PLOT_SVG, 900, 700), *out = NULL;
        size_t size = 0, found = 0;
        double left = 1e9, right = -1e9, found_left = 1e9, found_right = -1e9;
        struct svg_patch patch;
        if (!drawn(script, &out, &size)) {
            free(script);
            continue;
        }
        const char *at = out;
        for (size_t i = 0; i < 12 * 30; i++) { /* a quarter in pieces of 3 degrees */
            assert_int_equal(svg_next_patch(&at, &patch), 1);
            left = fmin(left, patch.left);
            right = fmax(right, patch.right);
            if (patch.colour != map_look(MAP_DELAMINATION).fill)
                continue;
            found++;
            found_left = fmin(found_left, patch.left);
            found_right = fmax(found_right, patch.right);
        }
        assert_int_equal(found, 30);
        if (turn == MAP_CLOCKWISE)
            assert_true(found_left > (left + right) / 2);
        else
            assert_true(found_right < (left + right) / 2);
        free(out);
        free(script);
    }
    made_map_free(&s);
}

static void hostile_words_are_drawn_as_they_stand(void **state)
{
    (void)state;
    static const char hostile[] =
        "'; system('echo ran > &2'); set title '`id` @x {/=9 y} \\n %s &#x1;<b>";
    struct made_map s = made_map(true, 4, 3);
    s.picture.title = s.picture.zero_mark = hostile;
    char *script = script_of(&s.picture, PLOT_SVG, 4000, 3000), *out = NULL;
    size_t size = 0;
    if (drawn(script, &out, &size)) {
        const char *first = strstr(out, "system(");
        assert_non_null(first);
        assert_non_null(strstr(first + 1, "system("));
        assert_null(strstr(out, "<b>"));
    }
    free(out);
    free(script);
    made_map_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_palette_is_the_published_one),
        cmocka_unit_test(higher_values_are_lighter_in_grey),
        cmocka_unit_test(a_wall_or_why_there_is_none),
        cmocka_unit_test(a_shadow_is_no_wall),
        cmocka_unit_test(states_differ_by_pattern_alone),
        cmocka_unit_test(the_range_is_that_of_nearly_all),
        cmocka_unit_test(the_thinnest_place_is_on_the_scale),
        cmocka_unit_test(several_nominals_are_taken_off),
        cmocka_unit_test(without_a_wall_there_is_a_range_all_the_same),
        cmocka_unit_test(every_crossing_has_its_cell),
        cmocka_unit_test(between_staggered_places_nothing_is_missing),
        cmocka_unit_test(a_single_place_is_a_cell),
        cmocka_unit_test(a_ring_turns_as_stated),
        cmocka_unit_test(a_pattern_is_cut_at_a_cell),
        cmocka_unit_test(the_key_names_what_is_there),
        cmocka_unit_test(what_cannot_be_drawn_is_refused),
        cmocka_unit_test(gnuplot_draws_maps_of_every_kind),
        cmocka_unit_test(each_cell_has_its_own_colour),
        cmocka_unit_test(a_ring_shows_90_degrees_where_it_says),
        cmocka_unit_test(hostile_words_are_drawn_as_they_stand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
