/* How much the beam has seen, and what could lie between: counted by hand and by plane geometry. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/coverage.h>

#include "coverage_parts.h"
#include "failing_alloc.h"

static const double mm = 1e-3, pi = 3.14159265358979323846;
static const struct plyecho_part plate = {false, {false, 0.0}, NULL};

enum { MOST = 400 };

struct scan {
    struct plyecho_grid *grid;
    struct plyecho_place places[MOST];
    struct plyecho_place_reading readings[MOST];
    struct plyecho_coverage coverage;
};

static struct scan *scan_new(size_t columns, double across, size_t rows, double along,
                             const struct plyecho_part *part)
{
    static struct scan s;
    s = (struct scan){0};
    for (size_t i = 0; i < columns * rows; i++) {
        s.places[i] = (struct plyecho_place){across * (double)(i % columns),
                                             along * (double)(i / columns)};
        s.readings[i].read = true;
    }
    assert_int_equal(plyecho_grid_new(&s.grid, s.places, columns * rows, part, NULL),
                     PLYECHO_OK);
    return &s;
}

static void take(struct scan *s, double beam_m)
{
    struct plyecho_error err;
    if (plyecho_coverage_take(s->grid, s->readings, (struct plyecho_known){true, beam_m},
                              &s->coverage, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
}

static void near_to(double value, double expected, double share)
{
    if (!(fabs(value - expected) <= share * fabs(expected)))
        fail_msg("%.9g is not %.9g", value, expected);
}

/* Beams that do not touch: their number times a circle's area. */
static void beams_apart_see_their_circles(void **state)
{
    (void)state;
    const struct plyecho_part tube = {true, {true, 30 * mm}, NULL};
    struct scan *s = scan_new(24, 15.0, 8, 5 * mm, &tube);
    s->readings[7].read = false;
    s->readings[60].verdict = s->readings[60].second = PLYECHO_UNREADABLE;
    take(s, 3 * mm);
    const struct plyecho_coverage *c = &s->coverage;
    assert_int_equal(c->places, 192);
    assert_int_equal(c->read, 190);
    assert_int_equal(c->unread, 2);
    near_to(c->area_m2, pi * 30 * mm * 40 * mm, 1e-9);
    near_to(c->pitch_across_m.value, pi * 30 * mm / 24.0, 1e-9);
    near_to(c->pitch_along_m.value, 5 * mm, 1e-9);
    near_to(c->share.value, 190.0 * pi / 4.0 * 9.0 / (pi * 30.0 * 40.0), 0.002);
    plyecho_grid_free(s->grid);
}

/* A beam that reaches the corners of its cell sees all; then nothing but a missed place is far. */
static void wide_beams_see_all(void **state)
{
    (void)state;
    struct scan *s = scan_new(12, 2 * mm, 12, 2 * mm, &plate);
    take(s, 3 * mm);
    near_to(s->coverage.share.value, 1.0, 0.0);
    /* furthest are the cells' corners, half a diagonal away */
    near_to(s->coverage.unseen_m.value,
            pe_coverage_circle(3 * mm, 0.5 * hypot(2 * mm, 2 * mm), 0.2), 1e-9);
    s->readings[5 * 12 + 5].read = false;
    take(s, 3 * mm);
    near_to(s->coverage.unseen_m.value, pe_coverage_circle(3 * mm, 2 * mm, 0.2), 1e-3);
    near_to(s->coverage.unseen_at.across, 10 * mm, 0.01);
    near_to(s->coverage.unseen_at.along, 10 * mm, 0.01);
    s->readings[5 * 12 + 6].read = false; /* (5.5, 5) is as far from (5, 6) as from (6, 4) */
    take(s, 3 * mm);
    near_to(s->coverage.unseen_m.value, pe_coverage_circle(3 * mm, sqrt(5.0) * mm, 0.2), 2e-3);
    near_to(s->coverage.unseen_at.across, 11 * mm, 0.01);
    plyecho_grid_free(s->grid);
}

/* Through 0 degrees the distance is the short one. */
static void a_gap_at_zero_is_as_wide_as_elsewhere(void **state)
{
    (void)state;
    const struct plyecho_part tube = {true, {true, 360 * mm / pi}, NULL}; /* a degree is a mm */
    struct scan *s = scan_new(36, 10.0, 3, 10 * mm, &tube);
    s->readings[36].read = false;
    take(s, 6 * mm);
    near_to(s->coverage.unseen_m.value, pe_coverage_circle(6 * mm, 10 * mm, 0.2), 1e-3);
    double at = s->coverage.unseen_at.across;
    assert_true(at >= 0.0 && at < 360.0 && (at < 0.1 || at > 359.9));
    plyecho_grid_free(s->grid);
}

/* Rows shifted by half the spacing: cells overlap, the area they share is counted once. */
static void shared_area_counts_once(void **state)
{
    (void)state;
    struct scan *s = scan_new(5, 2 * mm, 10, 1 * mm, &plate);
    plyecho_grid_free(s->grid);
    for (size_t i = 0; i < 50; i++)
        s->places[i].across += (double)(i / 5 % 2) * mm;
    assert_int_equal(plyecho_grid_new(&s->grid, s->places, 50, &plate, NULL), PLYECHO_OK);
    take(s, 5 * mm);
    /* two squares of 10 mm, shifted by 1 mm both ways */
    near_to(s->coverage.area_m2, 119e-6, 0.01);
    near_to(s->coverage.share.value, 1.0, 1e-9);
    plyecho_grid_free(s->grid);
}

/* ---- against points laid over the cells ---- */

enum { POINTS = 23 }; /* a cell each way */

static double place_apart(const struct scan *s, size_t i, double x, double y)
{
    return hypot(s->places[i].across - x, s->places[i].along - y);
}

/* The point's weight: a share of it for each cell that it lies in. */
static double weight(const struct scan *s, double x, double y)
{
    size_t cells = 0;
    for (size_t i = 0; i < s->grid->count; i++) {
        struct plyecho_cell c = plyecho_grid_cell(s->grid, i);
        cells += x > c.from_across && x < c.to_across && y > c.from_along && y < c.to_along;
    }
    return 1.0 / (double)cells;
}

static bool is_seen(const struct scan *s, double x, double y, double beam_m)
{
    for (size_t i = 0; i < s->grid->count; i++)
        if (s->readings[i].read && place_apart(s, i, x, y) <= 0.5 * beam_m)
            return true;
    return false;
}

static double share_of_points(const struct scan *s, double beam_m)
{
    double all = 0.0, seen = 0.0;
    for (size_t i = 0; i < s->grid->count; i++) {
        struct plyecho_cell c = plyecho_grid_cell(s->grid, i);
        double width = (c.to_across - c.from_across) / POINTS;
        double height = (c.to_along - c.from_along) / POINTS;
        for (size_t k = 0; k < POINTS * POINTS; k++) {
            double x = c.from_across + ((double)(k % POINTS) + 0.5) * width;
            double y = c.from_along + ((double)(k / POINTS) + 0.5) * height;
            double part = width * height * weight(s, x, y);
            all += part;
            seen += is_seen(s, x, y, beam_m) ? part : 0.0;
        }
    }
    return seen / all;
}

/* Narrow beams and such that reach over many spacings, cells of their own and shared ones, whole parts not read. */
static void the_share_is_that_of_points(void **state)
{
    (void)state;
    static const double beams[] = {1.0, 2.5, 9.0, 30.0};
    for (size_t k = 0; k < 8; k++) {
        double beam_m = beams[k / 2] * mm;
        struct scan *s = scan_new(18, 2 * mm, 14, 2 * mm, &plate);
        plyecho_grid_free(s->grid);
        for (size_t i = 0; i < 252; i++) {
            size_t column = i % 18, row = i / 18;
            if (k % 2 == 1)
                s->places[i].across += (double)(row % 2) * 0.7 * mm;
            s->readings[i].read = column < 2 + row / 6 && i % 11 != 0;
        }
        assert_int_equal(plyecho_grid_new(&s->grid, s->places, 252, &plate, NULL), PLYECHO_OK);
        take(s, beam_m);
        double expected = share_of_points(s, beam_m);
        assert_true(expected > 0.02 && expected < 0.98);
        assert_float_equal(s->coverage.share.value, expected, 0.004);
        plyecho_grid_free(s->grid);
    }
}

/* A flaw under the beam's middle covers a fifth of it with sqrt(0.2) of its width; one with a straight edge cuts
 * a segment off it: (acos h - h sqrt(1 - h^2)) / pi, textbook plane geometry. */
static void circles_cover_what_geometry_says(void **state)
{
    (void)state;
    near_to(pe_coverage_circle(3 * mm, 0.0, 0.2), sqrt(0.2) * 3 * mm, 1e-9);
    double far = 1e4 * mm, h = (far - 0.5 * pe_coverage_circle(2 * mm, far, 0.2)) / mm;
    near_to((acos(h) - h * sqrt(1.0 - h * h)) / pi, 0.2, 1e-3);
}

static void what_is_not_known_stays_so(void **state)
{
    (void)state;
    const struct plyecho_part bare = {true, {false, 0.0}, NULL};
    struct scan *s = scan_new(24, 15.0, 8, 5 * mm, &bare);
    take(s, 3 * mm);
    assert_true(isnan(s->coverage.area_m2));
    assert_false(s->coverage.share.known || s->coverage.unseen_m.known);
    assert_false(s->coverage.pitch_across_m.known);
    assert_true(s->coverage.pitch_along_m.known);
    plyecho_grid_free(s->grid);

    s = scan_new(5, 2 * mm, 5, 2 * mm, &plate);
    const struct plyecho_known none = {false, 0.0};
    assert_int_equal(plyecho_coverage_take(s->grid, s->readings, none, &s->coverage, NULL),
                     PLYECHO_OK);
    near_to(s->coverage.area_m2, 100e-6, 1e-9);
    assert_false(s->coverage.share.known || s->coverage.unseen_m.known);
    for (size_t i = 0; i < 25; i++)
        s->readings[i].read = false;
    take(s, 3 * mm);
    assert_true(s->coverage.share.known && s->coverage.share.value == 0.0);
    assert_false(s->coverage.unseen_m.known); /* no limit to what nobody looked at */
    plyecho_grid_free(s->grid);

    s = scan_new(1, 2 * mm, 1, 2 * mm, &plate); /* a place alone stands for no area */
    take(s, 3 * mm);
    assert_int_equal(s->coverage.read, 1);
    assert_false(s->coverage.share.known || s->coverage.unseen_m.known);
    const double bad[] = {0.0, -1.0, NAN, INFINITY};
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++)
        assert_int_equal(plyecho_coverage_take(s->grid, s->readings,
                                               (struct plyecho_known){true, bad[k]},
                                               &s->coverage, NULL),
                         PLYECHO_BAD_ARGUMENT);
    plyecho_grid_free(s->grid);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    struct scan *s = scan_new(5, 2 * mm, 5, 2 * mm, &plate);
    const struct plyecho_known beam = {true, 3 * mm};
    long n = 0;
    for (bool done = false; !done; n++) {
        struct plyecho_error err;
        fail_allocation(n);
        enum plyecho_code code =
            plyecho_coverage_take(s->grid, s->readings, beam, &s->coverage, &err);
        fail_no_allocation();
        done = code == PLYECHO_OK;
        if (!done)
            assert_int_equal(code, PLYECHO_NO_MEMORY);
    }
    assert_int_equal(n, 8);
    plyecho_grid_free(s->grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(beams_apart_see_their_circles),
        cmocka_unit_test(wide_beams_see_all),
        cmocka_unit_test(a_gap_at_zero_is_as_wide_as_elsewhere),
        cmocka_unit_test(shared_area_counts_once),
        cmocka_unit_test(the_share_is_that_of_points),
        cmocka_unit_test(circles_cover_what_geometry_says),
        cmocka_unit_test(what_is_not_known_stays_so),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
