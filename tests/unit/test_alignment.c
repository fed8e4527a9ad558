/* Do the walls of two scans lie on each other: as they lie, turned, pushed, counted the other way; and where that
 * cannot be told. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include <plyecho/alignment.h>

#include "failing_alloc.h"
#include "pi.h"
#include "relief.h"

enum { COLUMNS = 24, ROWS = 8, COUNT = COLUMNS * ROWS };
static const double pitch_deg = 15.0, pitch_m = 4e-3, noise_m = 4e-6;

struct scan {
    struct plyecho_grid *grid;
    struct plyecho_place_reading reading[COUNT];
};

/* The wall of a tube, by what is varied: eccentric by so much, and of hills laid up by hand. */
struct tube {
    double eccentric_m, hills_m;
    unsigned long seed; /* of the hills */
};

static const struct tube usual = {60e-6, 15e-6, 1};

static double hill(const struct tube *tube, double degrees, double along_m)
{
    double sum = 0.0;
    for (int k = 2; k < 7; k++) {
        double phase =
            (double)((tube->seed * 7919u + (unsigned long)k * 104729u) % 628u) * 0.01;
        sum += cos(k * degrees * PE_PI / 180.0 + phase + 150.0 * along_m * (k % 3));
    }
    return tube->hills_m * sum / 2.2;
}

static double wall(const struct tube *tube, double degrees, double along_m)
{
    return 3.2e-3 + 2e-3 * along_m + tube->eccentric_m * cos((degrees - 40.0) * PE_PI / 180.0) +
           hill(tube, degrees, along_m);
}

/* Read by a technician whose angle 0 lies at `turned` degrees, who counts up or (way -1) down, and whose axial 0 lies
 * `pushed` along. */
static struct scan *read_tube(const struct tube *tube, double turned, int way, double pushed_m,
                              unsigned long noise_seed)
{
    static const struct plyecho_part part = {true, {true, 28.6e-3}, NULL};
    struct plyecho_place places[COUNT];
    struct scan *s = test_calloc(1, sizeof *s);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, noise_seed);
    for (size_t i = 0; i < COUNT; i++) {
        places[i] = (struct plyecho_place){pitch_deg * (double)(i % COLUMNS),
                                           20e-3 + pitch_m * (double)(i / COLUMNS)};
        double at = turned + way * places[i].across;
        s->reading[i] = (struct plyecho_place_reading){
            .place = places[i],
            .read = true,
            .second = PLYECHO_NO_INDICATION,
            .second_wall_m = {true, wall(tube, at, pushed_m + places[i].along) +
                                        gsl_ran_gaussian(random, noise_m)},
            .second_wall_u_m = {true, 1e-5},
        };
    }
    gsl_rng_free(random);
    assert_int_equal(plyecho_grid_new(&s->grid, places, COUNT, &part, NULL), PLYECHO_OK);
    return s;
}

static void scan_free(struct scan *s)
{
    plyecho_grid_free(s->grid);
    test_free(s);
}

static struct plyecho_alignment check(const struct scan *before, const struct scan *after)
{
    struct plyecho_scanned a = {before->grid, before->reading, NULL, 0},
                           b = {after->grid, after->reading, NULL, 0};
    struct plyecho_alignment alignment;
    struct plyecho_error err;
    if (plyecho_alignment_check(&a, &b, &alignment, &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return alignment;
}

/* A second reading of the same tube with the mark taken wrong. */
static struct plyecho_alignment check_reading(const struct tube *tube, double turned, int way,
                                              double pushed_m)
{
    struct scan *a = read_tube(tube, 0.0, 1, 0.0, 1),
                *b = read_tube(tube, turned, way, pushed_m, 2);
    struct plyecho_alignment found = check(a, b);
    scan_free(a);
    scan_free(b);
    return found;
}

static void the_same_tube_fits(void **state)
{
    (void)state;
    struct plyecho_alignment a = check_reading(&usual, 0.0, 1, 0.0);
    assert_int_equal(a.state, PLYECHO_ALIGNED);
    assert_int_equal(a.zero.places, COUNT);
    assert_true(a.zero.correlation > 0.98);
    assert_false(a.ambiguous);
    /* 24 angles by 5 rows, both ways */
    assert_int_equal(a.tried, 240);
}

static void a_mark_taken_wrong_is_found(void **state)
{
    (void)state;
    for (double turned = -165.0; turned < 181.0; turned += 15.0) {
        if (turned == 0.0)
            continue;
        struct plyecho_alignment a = check_reading(&usual, turned, 1, 0.0);
        assert_int_equal(a.state, PLYECHO_MISALIGNED);
        assert_false(a.best.mirrored);
        assert_float_equal(a.best.across, turned, 1e-9);
        assert_float_equal(a.best.along_m, 0.0, 1e-12);
    }
    struct plyecho_alignment a = check_reading(&usual, 30.0, -1, 0.0);
    assert_int_equal(a.state, PLYECHO_MISALIGNED);
    assert_true(a.best.mirrored);
    assert_float_equal(a.best.across, 30.0, 1e-9);
    a = check_reading(&usual, 0.0, 1, pitch_m);
    assert_int_equal(a.state, PLYECHO_MISALIGNED);
    assert_float_equal(a.best.along_m, pitch_m, 1e-12);
    /* the row at the end has no counterpart */
    assert_int_equal(a.best.places, COUNT - COLUMNS);
}

/* Half a column off is told as the nearest, between columns by straight lines. */
static void between_columns_it_is_the_nearest(void **state)
{
    (void)state;
    struct plyecho_alignment a = check_reading(&usual, 49.0, 1, 0.0);
    assert_int_equal(a.state, PLYECHO_MISALIGNED);
    assert_float_equal(a.best.across, 45.0, 1e-9);
}

static void what_has_no_shape_cannot_be_checked(void **state)
{
    (void)state;
    const struct tube even = {0.0, 0.0, 1};
    assert_int_equal(check_reading(&even, 0.0, 1, 0.0).state, PLYECHO_ALIGNMENT_FEATURELESS);
    struct scan *a = read_tube(&usual, 0.0, 1, 0.0, 1), *b = read_tube(&usual, 0.0, 1, 0.0, 2);
    for (size_t i = PLYECHO_ALIGNMENT_LEAST - 1; i < COUNT; i++)
        a->reading[i].second = PLYECHO_DELAMINATION; /* whose wall nobody vouches for */
    assert_int_equal(check(a, b).state, PLYECHO_ALIGNMENT_FEW);
    scan_free(a);
    scan_free(b);
}

/* A bore off its centre alone is its own mirror image. */
static void an_eccentric_bore_does_not_tell_the_way_round(void **state)
{
    (void)state;
    const struct tube bored = {60e-6, 0.0, 1};
    struct plyecho_alignment a = check_reading(&bored, 0.0, 1, 0.0);
    assert_int_equal(a.state, PLYECHO_ALIGNED);
    assert_true(a.ambiguous);
    assert_true(a.rival.mirrored || a.rival.along_m != 0.0);
    assert_int_equal(check_reading(&bored, 45.0, 1, 0.0).state, PLYECHO_MISALIGNED);
}

static void another_tube_does_not_fit(void **state)
{
    (void)state;
    const struct tube one = {30e-6, 30e-6, 1}, other = {30e-6, 30e-6, 5};
    struct scan *a = read_tube(&one, 0.0, 1, 0.0, 1), *b = read_tube(&other, 110.0, 1, 0.0, 2);
    struct plyecho_alignment found = check(a, b);
    assert_int_equal(found.state, PLYECHO_ALIGNMENT_UNLIKE);
    assert_true(found.best.correlation < 0.8);
    scan_free(a);
    scan_free(b);
}

/* What was filed in between does not turn the tube. */
static void what_changed_decides_nothing(void **state)
{
    (void)state;
    struct scan *a = read_tube(&usual, 0.0, 1, 0.0, 1), *b = read_tube(&usual, 0.0, 1, 0.0, 2);
    for (size_t row = 2; row < 5; row++)
        for (size_t column = 18; column < 21; column++)
            b->reading[row * COLUMNS + column].second_wall_m.value -= 0.4e-3;
    struct plyecho_alignment found = check(a, b);
    assert_int_equal(found.state, PLYECHO_ALIGNED);
    assert_true(found.zero.correlation > 0.8);
    scan_free(a);
    scan_free(b);
}

/* At 5 %: of 200 readings of one tube at most 20 are called misaligned, 4 standard deviations above 10. */
static void chance_is_held(void **state)
{
    (void)state;
    const struct tube flat = {10e-6, 3e-6, 3}; /* hardly above the noise */
    struct scan *a = read_tube(&flat, 0.0, 1, 0.0, 1000);
    int wrong = 0;
    for (unsigned long seed = 1; seed <= 200; seed++) {
        struct scan *b = read_tube(&flat, 0.0, 1, 0.0, seed);
        wrong += check(a, b).state == PLYECHO_MISALIGNED;
        scan_free(b);
    }
    scan_free(a);
    assert_true(wrong <= 20);
}

static void plates_are_pushed_but_not_turned(void **state)
{
    (void)state;
    struct plyecho_place places[COUNT];
    static struct plyecho_place_reading one[COUNT], other[COUNT];
    const struct plyecho_part plate = {false, {false, 0.0}, NULL};
    struct plyecho_grid *grid;
    for (size_t i = 0; i < COUNT; i++) {
        double x = (double)(i % COLUMNS), y = (double)(i / COLUMNS);
        places[i] = (struct plyecho_place){5e-3 * x, 5e-3 * y};
        one[i] = (struct plyecho_place_reading){.read = true, .second_wall_m.known = true};
        one[i].second_wall_m.value = 4e-3 + 3e-5 * sin(1.1 * x + 0.02 * x * x + y);
        other[i] = one[i];
        x += 2.0;
        other[i].second_wall_m.value = 4e-3 + 3e-5 * sin(1.1 * x + 0.02 * x * x + y) +
                                       1e-6 * sin(2.4 * (double)(i * i % 97));
    }
    assert_int_equal(plyecho_grid_new(&grid, places, COUNT, &plate, NULL), PLYECHO_OK);
    struct plyecho_scanned a = {grid, one, NULL, 0}, b = {grid, other, NULL, 0};
    struct plyecho_alignment found;
    assert_int_equal(plyecho_alignment_check(&a, &b, &found, NULL), PLYECHO_OK);
    assert_int_equal(found.tried, 25);
    assert_int_equal(found.state, PLYECHO_MISALIGNED);
    assert_float_equal(found.best.across, 10e-3, 1e-9);
    plyecho_grid_free(grid);
}

static void places_between_columns(void **state)
{
    (void)state;
    struct scan *s = read_tube(&usual, 0.0, 1, 0.0, 1);
    struct pe_between b = pe_relief_column(s->grid, 352.5);
    assert_int_equal(b.lower, COLUMNS - 1);
    assert_int_equal(b.upper, 0);
    assert_float_equal(b.share, 0.5, 1e-12);
    b = pe_relief_column(s->grid, 374.9999999999);
    assert_int_equal(b.lower, 1);
    assert_int_equal(b.upper, 1);
    assert_int_equal(pe_relief_row(s->grid, 21.9e-3), 0);
    assert_int_equal(pe_relief_row(s->grid, 22.1e-3), 1);
    assert_int_equal(pe_relief_row(s->grid, 17e-3), PLYECHO_NO_PLACE);
    assert_int_equal(pe_relief_row(s->grid, 51e-3), PLYECHO_NO_PLACE);
    scan_free(s);
}

static void lost_memory_is_said(void **state)
{
    (void)state;
    struct scan *s = read_tube(&usual, 0.0, 1, 0.0, 1);
    struct plyecho_scanned a = {s->grid, s->reading, NULL, 0};
    struct plyecho_alignment found;
    long n = 0;
    for (;; n++) {
        fail_allocation(n);
        enum plyecho_code code = plyecho_alignment_check(&a, &a, &found, NULL);
        fail_no_allocation();
        if (code == PLYECHO_OK)
            break;
        assert_int_equal(code, PLYECHO_NO_MEMORY);
    }
    assert_true(n > 5);
    scan_free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_tube_fits),
        cmocka_unit_test(a_mark_taken_wrong_is_found),
        cmocka_unit_test(between_columns_it_is_the_nearest),
        cmocka_unit_test(what_has_no_shape_cannot_be_checked),
        cmocka_unit_test(an_eccentric_bore_does_not_tell_the_way_round),
        cmocka_unit_test(another_tube_does_not_fit),
        cmocka_unit_test(what_changed_decides_nothing),
        cmocka_unit_test(chance_is_held),
        cmocka_unit_test(plates_are_pushed_but_not_turned),
        cmocka_unit_test(places_between_columns),
        cmocka_unit_test(lost_memory_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
