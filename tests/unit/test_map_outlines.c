/* Where a map says that its indications are: frames at the stated edges, lines round their places. */
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

#include "made_map.h"
#include "map_script.h"
#include "patch.h"

static void take_script(const struct map_picture *picture, char **text)
{
    const struct plot_view view = {.term = PLOT_PNG, .width = 900, .height = 700};
    struct plyecho_error err;
    size_t size;
    assert_int_equal(map_script(picture, &view, text, &size, &err), PLYECHO_OK);
}

/* Eight columns of 45 degrees from -22.5, four rows of 5 mm from 7.5; one indication, without places yet. */
static struct made_map map_of_one(void)
{
    struct made_map s = made_map(true, 8, 4);
    s.picture.member = s.member;
    s.picture.indication_count = 1;
    return s;
}

/* Lines of a data block with nothing but what is expected. */
static void check_block(const struct made_map *s, const char *expected)
{
    struct map_picture picture = s->picture;
    picture.indications = s->indications;
    char *text;
    take_script(&picture, &text);
    if (strstr(text, expected) == NULL)
        fail_msg("no %s", expected);
    free(text);
}

/* Where an extent is not known the places are framed; the outline of one has four sides. */
static void an_outline_goes_round_its_places(void **state)
{
    (void)state;
    struct made_map s = map_of_one();
    s.picture.indications = s.indications;
    s.member[9] = 1;
    s.indications[0].worst = 9;
    char *text;
    take_script(&s.picture, &text);
    const char *expected = "$outlines << END\n1e9 1e9\n\nEND\n"
                           "$frames << END\n1e9 1e9\n\n"
                           "67.5 12.5\n67.5 17.5\n\n"
                           "22.5 12.5\n22.5 17.5\n\n"
                           "22.5 17.5\n67.5 17.5\n\n"
                           "22.5 12.5\n67.5 12.5\n\nEND\n";
    assert_non_null(strstr(text, expected));
    assert_null(strstr(text, "'frames: "));
    assert_non_null(strstr(text, "set label '1' at first 45,15 "));
    free(text);
    /* A neighbour of the same indication on the other side of angle 0 opens the outline there. */
    s.member[9] = 0;
    s.member[8] = s.member[15] = 1;
    take_script(&s.picture, &text);
    assert_null(strstr(text, "\n-22.5 12.5\n-22.5 17.5\n"));
    assert_non_null(strstr(text, "\n22.5 12.5\n22.5 17.5\n"));
    free(text);
    made_map_free(&s);
}

static void extend(struct made_map *s, double from, double across, double from_mm, double to_mm)
{
    struct plyecho_indication *i = &s->indications[0];
    i->from_across = from;
    i->across = across;
    i->to_across = fmod(from + across, 360);
    i->from_along_m = from_mm * 1e-3;
    i->to_along_m = to_mm * 1e-3;
    i->along_m = (to_mm - from_mm) * 1e-3;
}

/* The frame stands at the edges of the table, not at those of the cells, whose places have a line of their own. */
static void a_frame_stands_at_the_stated_edges(void **state)
{
    (void)state;
    struct made_map s = map_of_one();
    s.member[9] = 1;
    extend(&s, 30, 20, 13, 16);
    check_block(&s, "$outlines << END\n1e9 1e9\n\n"
                    "67.5 12.5\n67.5 17.5\n\n22.5 12.5\n22.5 17.5\n\n"
                    "22.5 17.5\n67.5 17.5\n\n22.5 12.5\n67.5 12.5\n\nEND\n");
    check_block(&s, "$frames << END\n1e9 1e9\n\n30 13\n50 13\n\n30 16\n50 16\n\n"
                    "30 13\n30 16\n\n50 13\n50 16\n\nEND\n");
    check_block(&s, "'heavy frame: stated edges'");
    made_map_free(&s);
}

/* The map ends at 337.5 degrees: what goes on beyond comes in at -22.5, without an end there. */
static void a_frame_goes_on_through_zero(void **state)
{
    (void)state;
    struct made_map s = map_of_one();
    s.member[0] = s.member[7] = 1;
    extend(&s, 320, 50, 8, 12);
    check_block(&s, "$frames << END\n1e9 1e9\n\n"
                    "-22.5 8\n10 8\n\n-22.5 12\n10 12\n\n10 8\n10 12\n\n"
                    "320 8\n337.5 8\n\n320 12\n337.5 12\n\n320 8\n320 12\n\nEND\n");
    extend(&s, 350, 20, 8, 12); /* all of it behind the map's end */
    check_block(&s, "$frames << END\n1e9 1e9\n\n-10 8\n10 8\n\n-10 12\n10 12\n\n"
                    "-10 8\n-10 12\n\n10 8\n10 12\n\nEND\n");
    extend(&s, 0, 360, 8, 12); /* all round has no ends */
    check_block(&s, "$frames << END\n1e9 1e9\n\n-22.5 8\n0 8\n\n-22.5 12\n0 12\n\n"
                    "0 8\n337.5 8\n\n0 12\n337.5 12\n\nEND\n");
    made_map_free(&s);
}

/* How far the lines of the frames go to both sides, all of them on the ring. Returns their points. */
static size_t look_at_frames(const char *text, double *least, double *most)
{
    size_t points = 0;
    const char *at = strstr(text, "$frames << END\n1e9 1e9\n\n");
    assert_non_null(at);
    for (at = strstr(at, "\n\n"); strncmp(at, "\nEND", 4) != 0; at = strchr(at + 1, '\n')) {
        double x, y;
        if (at[1] == '\n' || sscanf(at, "%lf %lf", &x, &y) != 2)
            continue;
        points++;
        *least = fmin(*least, x);
        *most = fmax(*most, x);
        assert_true(hypot(x, y) > PATCH_BORE - 1e-3 && hypot(x, y) < 1 + 1e-3);
    }
    return points;
}

/* On a ring in one go: round from 320 to 10 degrees, 3 degrees a piece at the most, then both ends. */
static void on_a_ring_a_frame_is_one(void **state)
{
    (void)state;
    struct made_map s = map_of_one();
    double least = 1, most = -1;
    s.picture.projection = MAP_RING;
    s.picture.indications = s.indications;
    s.member[0] = s.member[7] = 1;
    extend(&s, 320, 50, 7.5, 27.5);
    char *text;
    take_script(&s.picture, &text);
    assert_int_equal(look_at_frames(text, &least, &most), 2 * (17 + 1) + 2 * 2);
    assert_float_equal(least, sin(-40 * M_PI / 180), 1e-3);
    assert_float_equal(most, sin(10 * M_PI / 180), 1e-3);
    free(text);
    made_map_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_outline_goes_round_its_places),
        cmocka_unit_test(a_frame_stands_at_the_stated_edges),
        cmocka_unit_test(a_frame_goes_on_through_zero),
        cmocka_unit_test(on_a_ring_a_frame_is_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
