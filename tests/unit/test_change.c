/* What changed between two scans: which place is which, walls beyond their uncertainties, what became of each
 * indication. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include <plyecho/change.h>

#include "failing_alloc.h"

enum { MOST = 400, COLUMNS = 24, ROWS = 8, COUNT = COLUMNS * ROWS };
static const double mm = 1e-3;

struct scan {
    struct plyecho_grid *grid;
    struct plyecho_place_reading reading[MOST];
    struct plyecho_indication indication[8];
    size_t indications;
};

/* Columns round a tube from `first` degrees, rows 4 mm apart from `from_mm`; 3.2 mm everywhere, u 0.01 mm. */
static struct scan *scan_new(size_t columns, size_t rows, double first, double from_mm)
{
    static const struct plyecho_part tube = {true, {true, 30e-3}, NULL};
    struct plyecho_place places[MOST];
    struct scan *s = test_calloc(1, sizeof *s);
    for (size_t i = 0; i < columns * rows; i++) {
        places[i] =
            (struct plyecho_place){first + 360.0 / (double)columns * (double)(i % columns),
                                   mm * (from_mm + 4.0 * (double)(i / columns))};
        s->reading[i] = (struct plyecho_place_reading){
            .place = places[i],
            .read = true,
            .wall_seen = true,
            .second_wall_m = {true, 3.2 * mm},
            .second_wall_u_m = {true, 0.01 * mm},
            .depth_u_m = {true, 0.01 * mm},
        };
    }
    assert_int_equal(plyecho_grid_new(&s->grid, places, columns * rows, &tube, NULL),
                     PLYECHO_OK);
    return s;
}

static void scan_free(struct scan *s)
{
    plyecho_grid_free(s->grid);
    test_free(s);
}

static struct plyecho_scanned scanned(const struct scan *s)
{
    return (struct plyecho_scanned){s->grid, s->reading, s->indication, s->indications};
}

/* ---- which place is which ---- */

struct match {
    size_t after_of[MOST], before_of[MOST], matched;
};

static struct match *match(const struct scan *a, const struct scan *b)
{
    static struct match m;
    m.matched = plyecho_change_match(a->grid, b->grid, m.after_of, m.before_of);
    return &m;
}

static void places_are_matched_within_half_a_spacing(void **state)
{
    (void)state;
    static const struct {
        size_t columns, rows;
        double first, from_mm;
        size_t matched;
    } cases[] = {
        {24, 8, 0.0, 20.0, COUNT}, {24, 8, 7.0, 20.0, COUNT},  {24, 8, 7.5, 20.0, 0},
        {24, 8, 8.0, 20.0, COUNT}, /* nearer to the column before */
        {24, 8, 0.0, 21.9, COUNT}, {24, 8, 0.0, 22.1, 7 * 24}, {24, 8, 0.0, 60.0, 0},
        {12, 8, 0.0, 20.0, 96},    {24, 4, 0.0, 28.0, 96},     {1, 8, 30.0, 20.0, 8},
        {24, 1, 0.0, 24.0, 24},
    };
    struct scan *a = scan_new(24, 8, 0.0, 20.0);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct scan *b =
            scan_new(cases[i].columns, cases[i].rows, cases[i].first, cases[i].from_mm);
        struct match *m = match(a, b);
        assert_int_equal(m->matched, cases[i].matched);
        size_t back = 0;
        for (size_t k = 0; k < a->grid->count; k++)
            if (m->after_of[k] != PLYECHO_NO_PLACE) {
                assert_int_equal(m->before_of[m->after_of[k]], k);
                back++;
            }
        assert_int_equal(back, m->matched);
        assert_int_equal(match(b, a)->matched, cases[i].matched);
        scan_free(b);
    }
    /* through 0: 353 degrees is that of the column at 0 */
    struct scan *b = scan_new(24, 8, 8.0, 20.0);
    assert_int_equal(match(a, b)->after_of[0], COLUMNS - 1);
    scan_free(b);
    scan_free(a);
}

static void finer_places_are_not_all_one(void **state)
{
    (void)state;
    struct scan *a = scan_new(12, 4, 0.0, 20.0), *b = scan_new(72, 4, 0.0, 20.0);
    assert_int_equal(match(a, b)->matched, 48);
    scan_free(a);
    scan_free(b);
}

static void a_point_is_looked_up(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0);
    assert_int_equal(plyecho_change_place_at(a->grid, (struct plyecho_place){359.0, 0.0215}),
                     0);
    assert_int_equal(plyecho_change_place_at(a->grid, (struct plyecho_place){22.0, 0.0261}),
                     49);
    assert_int_equal(plyecho_change_place_at(a->grid, (struct plyecho_place){0.0, 0.0501}),
                     PLYECHO_NO_PLACE);
    scan_free(a);
}

/* ---- walls ---- */

struct walls {
    struct plyecho_wall_change change[MOST];
    struct plyecho_wall_changes all;
};

static struct walls *walls_of(const struct scan *a, const struct scan *b)
{
    static struct walls w;
    struct plyecho_scanned before = scanned(a), after = scanned(b);
    struct plyecho_error err;
    if (plyecho_change_walls(&before, &after, match(a, b)->after_of, w.change, &w.all, &err) !=
        PLYECHO_OK)
        fail_msg("%s", err.text);
    return &w;
}

static void a_wall_changes_beyond_both_uncertainties(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    a->reading[5].second_wall_u_m.value = 0.03 * mm;
    b->reading[5].second_wall_u_m.value = 0.04 * mm;
    struct walls *w = walls_of(a, b);
    assert_int_equal(w->all.compared, COUNT);
    assert_int_equal(w->all.judged, COUNT);
    assert_int_equal(w->all.thinner + w->all.thicker, 0);
    /* 3.65: the normal distribution's upper 0.025 / 192, scipy.stats.norm.isf 1.10 */
    assert_float_equal(w->all.factor, 3.6522, 1e-3);
    assert_float_equal(w->change[5].u_m.value, 0.05 * mm, 1e-9);
    /* just within the limit, just beyond */
    b->reading[5].second_wall_m.value -= 0.999 * w->all.factor * 0.05 * mm;
    assert_int_equal(walls_of(a, b)->change[5].state, PLYECHO_WALL_SAME);
    b->reading[5].second_wall_m.value -= 0.002 * w->all.factor * 0.05 * mm;
    assert_int_equal(walls_of(a, b)->change[5].state, PLYECHO_WALL_THINNER);
    assert_int_equal(walls_of(b, a)->change[5].state, PLYECHO_WALL_THICKER);
    assert_int_equal(w->all.thicker, 1);
    scan_free(a);
    scan_free(b);
}

static void what_is_not_known_is_not_judged(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 7, 0.0, 20.0);
    a->reading[0].second_wall_u_m.known = false;
    b->reading[0].second_wall_m.value = 2.0 * mm;
    a->reading[1].second_wall_m.known = false;
    b->reading[2].second = PLYECHO_DELAMINATION;
    b->reading[3].read = false;
    struct walls *w = walls_of(a, b);
    assert_int_equal(w->change[0].state, PLYECHO_WALL_NOT_JUDGED);
    assert_float_equal(w->change[0].difference_m, -1.2 * mm, 1e-12);
    for (size_t i = 1; i < 4; i++)
        assert_int_equal(w->change[i].state, PLYECHO_WALL_NOT_COMPARED);
    assert_int_equal(w->change[COUNT - 1].state, PLYECHO_WALL_NOT_COMPARED);
    assert_int_equal(w->all.compared, 7 * 24 - 3);
    assert_int_equal(w->all.judged, 7 * 24 - 4);
    assert_false(w->all.shift_u_m.known);
    assert_false(w->all.shifted);
    scan_free(a);
    scan_free(b);
}

static void a_shift_of_all_is_told_apart(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    for (size_t i = 0; i < COUNT; i++)
        b->reading[i].second_wall_m.value += (i % 2 ? 0.021 : 0.019) * mm;
    for (size_t i = 0; i < 20; i++)
        b->reading[i].second_wall_m.value = 2.5 * mm;
    struct walls *w = walls_of(a, b);
    assert_float_equal(w->all.median_m.value, 0.019 * mm, 1e-9);
    assert_float_equal(w->all.shift_u_m.value, sqrt(2.0) * 0.01 * mm, 1e-9);
    assert_float_equal(w->all.spread_m.value, 1.4826 * 0.002 * mm, 1e-9);
    assert_false(w->all.shifted);
    assert_int_equal(w->all.thinner, 20);
    assert_int_equal(w->all.thicker, 0);
    for (size_t i = 20; i < COUNT; i++)
        b->reading[i].second_wall_m.value += 0.01 * mm;
    w = walls_of(a, b);
    assert_true(w->all.shifted); /* 0.029 is beyond twice 0.0141 */
    scan_free(a);
    scan_free(b);
}

/* What all uncertainties have in common hides a small change of one place, the scatter of all does not. */
static void a_small_change_stands_out(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    for (size_t i = 0; i < COUNT; i++)
        b->reading[i].second_wall_m.value += (i % 2 ? 0.011 : 0.009) * mm;
    b->reading[7].second_wall_m.value -= 0.02 * mm;
    struct walls *w = walls_of(a, b);
    assert_int_equal(w->change[7].state, PLYECHO_WALL_STANDS_OUT);
    assert_int_equal(w->all.standing_out, 1);
    assert_int_equal(w->all.thinner, 0);
    a->reading[7].second_wall_u_m.known = false;
    assert_int_equal(walls_of(a, b)->change[7].state, PLYECHO_WALL_STANDS_OUT);
    a->reading[7].wall_seen = false; /* a lone echo, which the neighbours take for the wall */
    assert_int_equal(walls_of(a, b)->change[7].state, PLYECHO_WALL_NOT_JUDGED);
    scan_free(a);
    scan_free(b);
    /* a handful has no scatter to speak of */
    a = scan_new(12, 1, 0.0, 20.0);
    b = scan_new(12, 1, 0.0, 20.0);
    for (size_t i = 0; i < 12; i++)
        b->reading[i].second_wall_m.value += (i % 2 ? 0.001 : -0.001) * mm;
    b->reading[7].second_wall_m.value -= 0.02 * mm;
    assert_int_equal(walls_of(a, b)->change[7].state, PLYECHO_WALL_SAME);
    scan_free(a);
    scan_free(b);
}

static void every_state_has_its_word(void **state)
{
    (void)state;
    for (int k = 0; k <= PLYECHO_WALL_THICKER; k++)
        assert_true(plyecho_wall_change_word((enum plyecho_wall_change_state)k)[0] != '\0');
    for (int k = 0; k <= PLYECHO_INDICATION_NOT_COMPARABLE; k++)
        assert_true(plyecho_indication_state_word((enum plyecho_indication_state)k)[0] != '\0');
}

static void nothing_in_common_tells_nothing(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 120.0);
    struct walls *w = walls_of(a, b);
    assert_int_equal(w->all.compared, 0);
    assert_false(w->all.median_m.known);
    assert_float_equal(w->all.factor, 0.0, 0.0);
    scan_free(a);
    scan_free(b);
}

/* ---- indications ---- */

/* Put one on, with its places. */
static void put(struct scan *s, enum plyecho_verdict kind, double from_deg, double wide_deg,
                double from_mm, double to_mm, double depth_mm)
{
    const double arc = wide_deg * 15e-3 * 0.017453292519943295;
    struct plyecho_indication *n = &s->indication[s->indications++];
    *n = (struct plyecho_indication){
        .kind = kind,
        .from_across = from_deg,
        .to_across = fmod(from_deg + wide_deg, 360.0),
        .across = wide_deg,
        .arc_m = arc,
        .from_along_m = from_mm * mm,
        .to_along_m = to_mm * mm,
        .along_m = (to_mm - from_mm) * mm,
        .arc_u_m = 1.5 * mm,
        .along_u_m = 1.6 * mm,
        .least_depth_m = depth_mm > 0.0 ? depth_mm * mm : NAN,
        .most_depth_m = depth_mm > 0.0 ? (depth_mm + 0.01) * mm : NAN,
        .area_m2 = 0.785 * arc * (to_mm - from_mm) * mm,
    };
    for (size_t i = 0; i < s->grid->count; i++) {
        struct plyecho_place_reading *r = &s->reading[i];
        double up = r->place.across - from_deg;
        up -= 360.0 * floor(up / 360.0);
        if (up > wide_deg || r->place.along < n->from_along_m || r->place.along > n->to_along_m)
            continue;
        r->second = kind;
        n->places++;
        n->worst = i;
    }
}

struct changes {
    struct plyecho_indication_change change[16];
    size_t count;
};

static struct changes changes_of(const struct scan *a, const struct scan *b)
{
    struct changes c = {.count = 0};
    struct plyecho_indication_change *list;
    struct plyecho_scanned before = scanned(a), after = scanned(b);
    struct match *m = match(a, b);
    struct plyecho_error err;
    if (plyecho_change_indications(&before, &after, m->after_of, m->before_of, &list, &c.count,
                                   &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    for (size_t i = 0; i < c.count; i++)
        c.change[i] = list[i];
    free(list);
    return c;
}

static void what_became_of_one(void **state)
{
    (void)state;
    const enum plyecho_verdict gap = PLYECHO_DELAMINATION, bond = PLYECHO_INNER_ECHO,
                               thin = PLYECHO_THIN;
    /* kind, degrees from, wide, mm from, to, depth; width 0: none */
    struct put {
        enum plyecho_verdict kind;
        double from, wide, from_mm, to_mm, depth;
    };
    static const struct {
        enum plyecho_indication_state state;
        double from_a;
        struct put a, b;
    } cases[] = {
        {PLYECHO_INDICATION_SAME, 0, {gap, 160, 80, 28, 42, 1.4}, {gap, 160, 80, 28, 42, 1.4}},
        /* within the uncertainty of its size: 2 sqrt(1.6^2 + 1.6^2) = 4.5 mm */
        {PLYECHO_INDICATION_SAME, 0, {gap, 160, 80, 28, 42, 1.4}, {gap, 160, 85, 28, 43, 1.41}},
        {PLYECHO_INDICATION_GREW, 0, {gap, 160, 80, 28, 42, 1.4}, {gap, 160, 80, 25, 46, 1.4}},
        {PLYECHO_INDICATION_GREW, 0, {gap, 160, 60, 28, 42, 1.4}, {gap, 150, 90, 28, 42, 1.4}},
        {PLYECHO_INDICATION_SHRANK,
         0,
         {gap, 160, 90, 28, 42, 1.4},
         {gap, 165, 50, 28, 42, 1.4}},
        /* over 0 */
        {PLYECHO_INDICATION_SAME, 0, {gap, 340, 40, 28, 42, 1.4}, {gap, 350, 40, 28, 42, 1.4}},
        {PLYECHO_INDICATION_SAME, 0, {gap, 0, 360, 28, 42, 1.4}, {gap, 0, 360, 28, 42, 1.4}},
        {PLYECHO_INDICATION_OTHER_KIND,
         0,
         {bond, 0, 360, 28, 42, 2.0},
         {gap, 90, 60, 28, 42, 2.0}},
        {PLYECHO_INDICATION_OTHER_KIND,
         0,
         {thin, 90, 60, 28, 42, 0},
         {gap, 90, 60, 28, 42, 2.0}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
        const struct put *p = &cases[i].a, *q = &cases[i].b;
        put(a, p->kind, p->from, p->wide, p->from_mm, p->to_mm, p->depth);
        put(b, q->kind, q->from, q->wide, q->from_mm, q->to_mm, q->depth);
        struct changes c = changes_of(a, b);
        assert_int_equal(c.count, 1);
        assert_int_equal(c.change[0].state, cases[i].state);
        assert_int_equal(c.change[0].before, 0);
        assert_int_equal(c.change[0].after, 0);
        scan_free(a);
        scan_free(b);
    }
}

static void new_and_gone_need_a_look_at_the_same_place(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    put(b, PLYECHO_DELAMINATION, 160, 80, 28, 42, 1.4);
    assert_int_equal(changes_of(a, b).change[0].state, PLYECHO_INDICATION_NEW);
    assert_int_equal(changes_of(b, a).change[0].state, PLYECHO_INDICATION_GONE);
    for (size_t i = 0; i < COUNT; i++)
        a->reading[i].second = PLYECHO_UNREADABLE;
    assert_int_equal(changes_of(a, b).change[0].state, PLYECHO_INDICATION_NOT_COMPARABLE);
    assert_int_equal(changes_of(b, a).change[0].state, PLYECHO_INDICATION_NOT_COMPARABLE);
    struct scan *elsewhere = scan_new(24, 2, 0.0, 20.0);
    assert_int_equal(changes_of(elsewhere, b).change[0].state,
                     PLYECHO_INDICATION_NOT_COMPARABLE);
    scan_free(elsewhere);
    scan_free(a);
    scan_free(b);
}

/* A bond seen before lies behind a new delamination: nobody may call it gone. */
static void what_lies_behind_another_is_hidden(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    put(a, PLYECHO_INNER_ECHO, 160, 30, 28, 42, 2.2);
    put(a, PLYECHO_DELAMINATION, 190, 50, 28, 42, 1.0);
    put(b, PLYECHO_DELAMINATION, 160, 80, 28, 42, 1.0);
    struct changes c = changes_of(a, b);
    assert_int_equal(c.count, 2);
    assert_int_equal(c.change[0].state, PLYECHO_INDICATION_HIDDEN);
    assert_int_equal(c.change[1].state, PLYECHO_INDICATION_GREW);
    scan_free(a);
    scan_free(b);
}

/* A place of a declared layer that is not as declared is no part of the layer, nor hidden by it once it is again. */
static void a_declared_layer_swallows_nothing(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    put(a, PLYECHO_INNER_ECHO, 0, 360, 24, 46, 2.2);
    put(b, PLYECHO_INNER_ECHO, 0, 360, 24, 46, 2.2);
    a->indication[0].declared = b->indication[0].declared = true;
    put(b, PLYECHO_INNER_ECHO, 160, 60, 28, 40, 2.2);
    struct changes c = changes_of(a, b);
    assert_int_equal(c.count, 2);
    assert_int_equal(c.change[0].state, PLYECHO_INDICATION_SAME);
    assert_int_equal(c.change[1].state, PLYECHO_INDICATION_NEW);
    c = changes_of(b, a);
    assert_int_equal(c.count, 2);
    assert_int_equal(c.change[1].state, PLYECHO_INDICATION_GONE);
    /* at another depth it may well lie behind */
    a->indication[0].least_depth_m = a->indication[0].most_depth_m = 1.2 * mm;
    assert_int_equal(changes_of(b, a).change[1].state, PLYECHO_INDICATION_HIDDEN);
    scan_free(a);
    scan_free(b);
}

static void a_layer_no_longer_as_declared_is_of_another_kind(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    put(a, PLYECHO_INNER_ECHO, 0, 360, 24, 46, 2.2);
    put(b, PLYECHO_INNER_ECHO, 0, 360, 24, 46, 2.2);
    a->indication[0].declared = true;
    struct changes c = changes_of(a, b);
    assert_int_equal(c.count, 1);
    assert_int_equal(c.change[0].state, PLYECHO_INDICATION_OTHER_KIND);
    scan_free(a);
    scan_free(b);
}

static void depth_parts_what_lies_on_one_place(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    put(a, PLYECHO_DELAMINATION, 160, 80, 28, 42, 1.4);
    put(b, PLYECHO_DELAMINATION, 160, 80, 28, 42, 1.5);
    struct changes c = changes_of(a, b);
    assert_int_equal(c.count, 2);
    assert_int_equal(c.change[0].state, PLYECHO_INDICATION_HIDDEN);
    assert_int_equal(c.change[1].state, PLYECHO_INDICATION_NEW);
    /* nobody knows how sure the depths are: within a tenth they agree */
    for (size_t i = 0; i < COUNT; i++)
        a->reading[i].depth_u_m.known = b->reading[i].depth_u_m.known = false;
    assert_int_equal(changes_of(a, b).count, 1);
    scan_free(a);
    scan_free(b);
}

static void what_grew_together_is_one(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0), *b = scan_new(24, 8, 0.0, 20.0);
    put(a, PLYECHO_DELAMINATION, 30, 30, 24, 32, 1.4);
    put(a, PLYECHO_DELAMINATION, 90, 45, 24, 32, 1.4);
    put(a, PLYECHO_DELAMINATION, 250, 30, 24, 32, 1.4);
    put(b, PLYECHO_DELAMINATION, 30, 105, 24, 32, 1.4);
    struct changes c = changes_of(a, b);
    assert_int_equal(c.count, 2);
    assert_int_equal(c.change[0].before_count, 2);
    assert_int_equal(c.change[0].before, 1);
    assert_int_equal(c.change[0].after, 0);
    assert_true(c.change[0].area_m2.known);
    assert_false(c.change[0].arc_m.known);
    assert_int_equal(c.change[1].state, PLYECHO_INDICATION_GONE);
    assert_int_equal(c.change[1].after, PLYECHO_NO_INDICATION_INDEX);
    scan_free(a);
    scan_free(b);
}

static void none_is_none_and_lost_memory_is_said(void **state)
{
    (void)state;
    struct scan *a = scan_new(24, 8, 0.0, 20.0);
    assert_int_equal(changes_of(a, a).count, 0);
    put(a, PLYECHO_DELAMINATION, 160, 80, 28, 42, 1.4);
    struct plyecho_scanned s = scanned(a);
    struct match *m = match(a, a);
    struct plyecho_indication_change *list;
    static struct walls w;
    size_t count;
    for (long n = 0; n < 3; n++) {
        fail_allocation(n);
        enum plyecho_code code =
            plyecho_change_indications(&s, &s, m->after_of, m->before_of, &list, &count, NULL);
        fail_no_allocation();
        assert_int_equal(code, PLYECHO_NO_MEMORY);
        free(list);
    }
    fail_allocation(0);
    enum plyecho_code code = plyecho_change_walls(&s, &s, m->after_of, w.change, &w.all, NULL);
    fail_no_allocation();
    assert_int_equal(code, PLYECHO_NO_MEMORY);
    scan_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(places_are_matched_within_half_a_spacing),
        cmocka_unit_test(finer_places_are_not_all_one),
        cmocka_unit_test(a_point_is_looked_up),
        cmocka_unit_test(a_wall_changes_beyond_both_uncertainties),
        cmocka_unit_test(what_is_not_known_is_not_judged),
        cmocka_unit_test(a_shift_of_all_is_told_apart),
        cmocka_unit_test(a_small_change_stands_out),
        cmocka_unit_test(every_state_has_its_word),
        cmocka_unit_test(nothing_in_common_tells_nothing),
        cmocka_unit_test(what_became_of_one),
        cmocka_unit_test(new_and_gone_need_a_look_at_the_same_place),
        cmocka_unit_test(what_lies_behind_another_is_hidden),
        cmocka_unit_test(a_declared_layer_swallows_nothing),
        cmocka_unit_test(a_layer_no_longer_as_declared_is_of_another_kind),
        cmocka_unit_test(depth_parts_what_lies_on_one_place),
        cmocka_unit_test(what_grew_together_is_one),
        cmocka_unit_test(none_is_none_and_lost_memory_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
