/* How often which wall was read: bins, limits, numbers of the text. */
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
#include "histogram_script.h"
#include "quantile.h"
#include "scan_pictures.h"

enum { WALLS = 500 };

/* 2.5 mm + 0.001 mm x ((37 i^2 + 11 i) mod 1000) */
static void made_walls(double wall[WALLS], double scale)
{
    for (int i = 0; i < WALLS; i++)
        wall[i] = (2.5 + 0.001 * ((37 * i * i + 11 * i) % 1000)) * scale;
}

/* The same walls in numpy 1.24: 2 (q75 - q25) / 500^(1/3) is 0.133048, on the next round number 0.2. */
static void bins_are_as_wide_as_freedman_and_diaconis_say(void **state)
{
    (void)state;
    double wall[WALLS];
    made_walls(wall, 1);
    quantile_sort(wall, WALLS);
    double width =
        2 * (quantile_of(wall, WALLS, 0.75) - quantile_of(wall, WALLS, 0.25)) / cbrt(WALLS);
    assert_float_equal(width, 0.13304766286889852, 1e-12);
    struct histogram_bins bins = histogram_bins(wall, WALLS);
    assert_float_equal(bins.width, 0.2, 1e-12);
    assert_float_equal(bins.first, 2.4, 1e-12);
    assert_int_equal(bins.count, 6);
}

static void bins_are_neither_too_many_nor_too_fine(void **state)
{
    (void)state;
    double same[3] = {3, 3, 3};
    struct histogram_bins bins = histogram_bins(same, 3);
    assert_float_equal(bins.width, 0.01, 1e-12);
    assert_int_equal(bins.count, 1);
    /* All but two alike: no spread between the quarters, but a range of 50 mm. */
    double wall[100];
    for (int i = 0; i < 100; i++)
        wall[i] = 3;
    wall[0] = 1;
    wall[99] = 51;
    bins = histogram_bins(wall, 100);
    assert_in_range(bins.count, 10, 101);
    assert_true(bins.first <= 1 && bins.first + (double)bins.count * bins.width > 51);
}

static char *script_of(const struct histogram_picture *picture, enum plot_term term)
{
    struct plot_view view = {.term = term,
                             .width = term == PLOT_TEXT ? 90 : 900,
                             .height = term == PLOT_TEXT ? 40 : 700};
    struct plyecho_error err;
    char *text;
    size_t size;
    assert_int_equal(histogram_script(picture, &view, &text, &size, &err), PLYECHO_OK);
    assert_int_equal(strlen(text), size);
    return text;
}

static const char hostile[] = "'; system('echo ran > &2'); set title '`id` @x %s";

static struct histogram_picture made_picture(const double *wall)
{
    return (struct histogram_picture){.title = hostile,
                                      .wall_m = wall,
                                      .count = WALLS,
                                      .places = WALLS + 12,
                                      .nominal_m = {true, 3e-3},
                                      .tolerance_m = {true, 0.3e-3},
                                      .least_m = {true, 2.6e-3}};
}

/* Mean and standard deviation by numpy 1.24: 2.994 and 0.293485. */
static void every_wall_is_counted_once(void **state)
{
    (void)state;
    double wall[WALLS];
    made_walls(wall, 1e-3);
    struct histogram_picture picture = made_picture(wall);
    char *text = script_of(&picture, PLOT_PNG);
    const char *at = strstr(text, "$bins << END\n");
    assert_non_null(at);
    size_t sum = 0, count = 0, bins = 0;
    double middle;
    int used;
    for (at += strlen("$bins << END\n"); sscanf(at, "%lf %zu\n%n", &middle, &count, &used) == 2;
         at += used) {
        sum += count;
        bins++;
    }
    assert_int_equal(sum, WALLS);
    assert_int_equal(bins, 6);
    static const char *const words[] = {"'500 walls of 512 places, bins of 0.2 mm'",
                                        "'mean 2.994 mm, standard deviation 0.293 mm'",
                                        "title 'nominal 3 mm'",
                                        "title 'tolerance 2.7 to 3.3 mm'",
                                        "title 'least allowed 2.6 mm'",
                                        "title 'mean 2.994 mm'"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strstr(text, words[i]) == NULL)
            fail_msg("no %s", words[i]);
    free(text);
    picture.nominal_m.known = picture.least_m.known = false;
    text = script_of(&picture, PLOT_PNG);
    assert_null(strstr(text, "nominal"));
    assert_null(strstr(text, "tolerance"));
    assert_null(strstr(text, "least"));
    free(text);
}

static void without_walls_there_is_no_histogram(void **state)
{
    (void)state;
    struct histogram_picture picture = {.title = ""};
    struct plot_view view = {.term = PLOT_PNG, .width = 900, .height = 700};
    struct plyecho_error err;
    char *text;
    size_t size;
    assert_int_equal(histogram_script(&picture, &view, &text, &size, &err), PLYECHO_UNSUITABLE);
    assert_null(text);
}

static void gnuplot_draws_it_in_every_kind(void **state)
{
    (void)state;
    static const struct {
        enum plot_term term;
        const char *start;
    } kinds[] = {
        {PLOT_PNG, "\x89PNG\r\n"}, {PLOT_SVG, "<?xml"}, {PLOT_PDF, "%PDF-"}, {PLOT_TEXT, ""}};
    double wall[WALLS];
    made_walls(wall, 1e-3);
    struct histogram_picture picture = made_picture(wall);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        char *script = script_of(&picture, kinds[i].term), *out = NULL;
        size_t size;
        if (drawn(script, &out, &size))
            assert_memory_equal(out, kinds[i].start, strlen(kinds[i].start));
        if (kinds[i].term == PLOT_TEXT && out != NULL)
            assert_non_null(strstr(out, hostile));
        free(out);
        free(script);
    }
}

/* ---- of a part's places ---- */

enum { PLACES = 20 };

/* Half of them 3 mm, the others with a sleeve of `sleeve_m` more, each up to 0.0194 mm off. */
static void made_places(struct plyecho_place_reading place[PLACES], double sleeve_m)
{
    for (size_t i = 0; i < PLACES; i++) {
        double nominal_m = 3e-3 + (i < PLACES / 2 ? 0 : sleeve_m);
        place[i] = (struct plyecho_place_reading){
            .read = true,
            .verdict = PLYECHO_NO_INDICATION,
            .second = PLYECHO_NO_INDICATION,
            .second_wall_m = {true, nominal_m - ((double)i + 0.4) * 1e-6},
            .nominal_m = {true, nominal_m},
            .tolerance_m = 0.3e-3,
        };
    }
}

static char *histogram_of(const struct plyecho_place_reading place[PLACES])
{
    const struct plot_view view = {.term = PLOT_PNG, .width = 900, .height = 700};
    struct plyecho_error err;
    char *text;
    size_t size;
    assert_int_equal(scan_pictures_histogram("tube", false, place, PLACES,
                                             (struct plyecho_known){true, 2.6e-3}, &view, &text,
                                             &size, &err),
                     PLYECHO_OK);
    return text;
}

static void check_words(const char *text, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strstr(text, words[i]) == NULL)
            fail_msg("no %s", words[i]);
}

/* Of a sleeve in half of the part walls would be two heaps: each is held against its own nominal; the limit, which is of
 * walls, is told. 3 mm less 0.0094 mm is the thinnest. */
static void several_nominals_are_taken_off(void **state)
{
    (void)state;
    static const char *const words[] = {
        "'Wall less nominal (mm)'",
        "title 'nominal of each place, 0 mm'",
        "title 'tolerance -0.3 to 0.3 mm'",
        "'mean -0.010 mm off the nominal, standard deviation 0.006 mm'",
        "'thinnest 2.991 mm, least allowed 2.6 mm'",
        "$bins << END\n-0.015 10\n-0.005 10\nEND\n"};
    struct plyecho_place_reading place[PLACES];
    made_places(place, 1.2e-3);
    char *text = histogram_of(place);
    check_words(text, words, sizeof words / sizeof words[0]);
    assert_null(strstr(text, "title 'least allowed"));
    free(text);
    place[3].tolerance_m = 0.2e-3; /* not one tolerance of all */
    text = histogram_of(place);
    assert_null(strstr(text, "tolerance"));
    free(text);
}

/* One nominal, one that differs a little, one place without: walls are walls. */
static void a_histogram_of_one_nominal_is_of_walls(void **state)
{
    (void)state;
    static const char *const words[] = {"'Wall thickness (mm)'", "title 'nominal 3 mm'",
                                        "title 'tolerance 2.7 to 3.3 mm'",
                                        "title 'least allowed 2.6 mm'"};
    struct plyecho_place_reading place[PLACES];
    made_places(place, 0.0);
    char *text = histogram_of(place);
    check_words(text, words, sizeof words / sizeof words[0]);
    assert_null(strstr(text, "thinnest"));
    free(text);
    made_places(place, 0.2e-3);
    text = histogram_of(place);
    check_words(text, words, 1);
    assert_null(strstr(text, "title 'nominal"));
    free(text);
    made_places(place, 1.2e-3);
    place[4].nominal_m.known = false;
    text = histogram_of(place);
    check_words(text, words, 1);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bins_are_as_wide_as_freedman_and_diaconis_say),
        cmocka_unit_test(bins_are_neither_too_many_nor_too_fine),
        cmocka_unit_test(every_wall_is_counted_once),
        cmocka_unit_test(without_walls_there_is_no_histogram),
        cmocka_unit_test(gnuplot_draws_it_in_every_kind),
        cmocka_unit_test(several_nominals_are_taken_off),
        cmocka_unit_test(a_histogram_of_one_nominal_is_of_walls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
