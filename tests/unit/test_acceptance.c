/* The verdict of the part: each limit with its reading, where it holds, is broken, or stays open.
 *
 * The decision rules are those of JCGM 106:2012, from memory: 8.3.2, guarded acceptance, accepts only where the
 * measured value keeps off the tolerance limit by a guard band, here the expanded uncertainty for k = 2. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics.h>

#include <plyecho/acceptance.h>

#include "made_scan.h"

static const double mm = 1e-3, mm2 = 1e-6;

/* A scan with its limits, indications and coverage. */
struct part {
    struct made_scan scan;
    struct plyecho_procedure procedure;
    struct plyecho_indication indications[4];
    size_t count;
    struct plyecho_coverage coverage;
    const char *wall_doubts;
    size_t copies;
    struct plyecho_acceptance acceptance;
};

static void part_new(struct part *p, const char *acceptance)
{
    char text[400];
    struct plyecho_error err;
    *p = (struct part){.coverage = {.read = 24 * 8, .share = {true, 1.0}}};
    made_scan_new(&p->scan, 24, 8);
    made_scan_nominal(&p->scan);
    snprintf(text, sizeof text, "[acceptance]\n%s", acceptance);
    if (plyecho_procedure_read(&p->procedure, text, strlen(text), &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
}

static void part_judge(struct part *p)
{
    made_scan_judge(&p->scan);
    struct plyecho_error err;
    const struct plyecho_part_reading part = {
        .procedure = &p->procedure,
        .grid = p->scan.grid,
        .readings = p->scan.reading,
        .indications = p->indications,
        .count = p->count,
        .coverage = &p->coverage,
        .sound = &p->scan.sound,
        .wall_doubts = p->wall_doubts,
        .copies = p->copies,
    };
    assert_int_equal(plyecho_accept(&part, &p->acceptance, &err), PLYECHO_OK);
}

static void part_free(struct part *p)
{
    made_scan_free(&p->scan);
    plyecho_procedure_clear(&p->procedure);
}

static const struct plyecho_limit *row_of(const struct part *p, const char *key)
{
    for (size_t k = 0; k < p->acceptance.count; k++)
        if (strcmp(p->acceptance.limit[k].key, key) == 0)
            return &p->acceptance.limit[k];
    return NULL;
}

static void expect_row(const struct part *p, const char *key, enum plyecho_limit_state state,
                       const char *words)
{
    const struct plyecho_limit *row = row_of(p, key);
    if (row == NULL)
        fail_msg("no row %s", key);
    else if (row->state != state || strcmp(row->words, words) != 0)
        fail_msg("%s: %s, '%s'", key, plyecho_limit_state_word(row->state), row->words);
}

static void expect_verdict(const struct part *p, enum plyecho_part_verdict verdict)
{
    if (p->acceptance.verdict != verdict)
        fail_msg("%s", plyecho_part_verdict_word(p->acceptance.verdict));
}

/* One of 10 by 8 mm about 90 deg, 10 mm. */
static struct plyecho_indication *indication(struct part *p, enum plyecho_verdict kind)
{
    struct plyecho_indication *i = &p->indications[p->count++];
    *i = (struct plyecho_indication){.kind = kind,
                                     .places = 4,
                                     .worst = 2 * 24 + 6,
                                     .arc_m = 10 * mm,
                                     .arc_u_m = 1 * mm,
                                     .along_m = 8 * mm,
                                     .along_u_m = 1.2 * mm,
                                     .area_m2 = 60 * mm2};
    return i;
}

static void without_limits_nothing_is_accepted(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "");
    made_inside(made_scan_at(&p.scan, 3, 3), PLYECHO_DELAMINATION, 1 * mm, -1.0);
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_NOT_EVALUATED);
    assert_int_equal(p.acceptance.count, 0);
    part_free(&p);
}

static void a_sound_part_is_accepted(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    made_wall(made_scan_at(&p.scan, 9, 2), 3.1 * mm);
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    assert_int_equal(p.acceptance.count, 1);
    expect_row(&p, "least_mm", PLYECHO_LIMIT_HOLDS,
               "least wall 3.1 mm (u 0.01 mm) at 135 deg, 10 mm: above 3 mm by 2 u or more");
    assert_float_equal(p.acceptance.limit[0].limit.value, 3.0, 1e-12);
    assert_float_equal(p.acceptance.limit[0].reading.value, 3.1, 1e-12);
    part_free(&p);
}

/* Guarded acceptance: from the limit to 2 u above it nothing is decided, and a wall at the end of the band conforms
 * with a probability of 97.7 % (JCGM 106, 7.3: of a normal distribution about the reading). */
static void a_wall_is_held_to_a_guarded_limit(void **state)
{
    (void)state;
    static const struct {
        double wall_mm, u_mm;
        enum plyecho_limit_state state;
    } rows[] = {
        {2.99, 0.02, PLYECHO_LIMIT_BROKEN}, {2.99, 0.2, PLYECHO_LIMIT_BROKEN},
        {3.001, 0.02, PLYECHO_LIMIT_OPEN},  {3.039, 0.02, PLYECHO_LIMIT_OPEN},
        {3.041, 0.02, PLYECHO_LIMIT_HOLDS}, {3.19, 0.1, PLYECHO_LIMIT_OPEN},
        {3.001, 0.0, PLYECHO_LIMIT_HOLDS},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct part p;
        part_new(&p, "least_mm = 3.0\n");
        struct plyecho_place_reading *r = made_scan_at(&p.scan, 9, 2);
        for (size_t i = 0; i < p.scan.grid->count; i++) /* so that nothing falls at once */
            made_wall(&p.scan.reading[i], 3.12 * mm);
        made_wall(r, rows[k].wall_mm * mm);
        r->wall_u_m.value = rows[k].u_mm * mm;
        part_judge(&p);
        if (row_of(&p, "least_mm")->state != rows[k].state)
            fail_msg("%g mm, u %g mm: %s", rows[k].wall_mm, rows[k].u_mm,
                     row_of(&p, "least_mm")->words);
        if (rows[k].u_mm > 0.0 && rows[k].state == PLYECHO_LIMIT_HOLDS)
            assert_true(gsl_cdf_gaussian_P(rows[k].wall_mm - 3.0, rows[k].u_mm) > 0.977);
        part_free(&p);
    }
}

static void a_wall_without_an_uncertainty_stays_open(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    for (size_t i = 0; i < p.scan.grid->count; i++)
        p.scan.reading[i].wall_u_m.known = false;
    made_wall(made_scan_at(&p.scan, 9, 2), 3.15 * mm);
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    expect_row(&p, "least_mm", PLYECHO_LIMIT_OPEN,
               "least wall 3.15 mm (u not known) at 135 deg, 10 mm: nothing tells how surely "
               "it is above 3 mm");
    part_free(&p);
}

/* Not the thinnest wall, but one that is less sure. */
static void the_least_sure_wall_counts(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    made_wall(made_scan_at(&p.scan, 9, 2), 3.05 * mm);
    made_wall(made_scan_at(&p.scan, 11, 2), 3.1 * mm);
    made_scan_at(&p.scan, 11, 2)->wall_u_m.value = 0.06 * mm;
    part_judge(&p);
    expect_row(&p, "least_mm", PLYECHO_LIMIT_OPEN,
               "least wall 3.1 mm (u 0.06 mm) at 165 deg, 10 mm: not above 3 mm by 2 u");
    part_free(&p);
}

/* The depth of a shadow is no wall, and behind a part delamination a repeat may stand for one. */
static void a_delamination_without_a_limit_rejects(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    made_wall(made_scan_at(&p.scan, 9, 2), 1.2 * mm);
    made_wall(made_scan_at(&p.scan, 10, 2), 1.2 * mm);
    made_inside(made_scan_at(&p.scan, 11, 2), PLYECHO_DELAMINATION, 1.2 * mm, -0.6);
    made_wall(made_scan_at(&p.scan, 11, 2), 2.4 * mm);
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_REJECTED);
    expect_row(
        &p, "least_mm", PLYECHO_LIMIT_OPEN,
        "least wall 3.196 mm (u 0.01 mm) at 180 deg, 5 mm, where a wall was seen (189 of 192 "
        "places): above 3 mm by 2 u or more; of the others it is not known");
    expect_row(&p, "delamination", PLYECHO_LIMIT_BROKEN,
               "3 places delamination, the first at 135 deg, 10 mm: none is allowed, since no "
               "limit is stated");
    assert_false(row_of(&p, "delamination")->limit.known);
    part_free(&p);
}

/* A delamination that is allowed hides the wall behind it all the same. */
static void a_tolerated_delamination_leaves_the_wall_open(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\nmost_delamination_mm = 30\n");
    made_inside(made_scan_at(&p.scan, 11, 2), PLYECHO_DELAMINATION, 1.2 * mm, -0.9);
    made_scan_at(&p.scan, 11, 2)->wall_seen = false;
    indication(&p, PLYECHO_DELAMINATION);
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    assert_int_equal(row_of(&p, "most_delamination_mm")->state, PLYECHO_LIMIT_HOLDS);
    assert_int_equal(row_of(&p, "least_mm")->state, PLYECHO_LIMIT_OPEN);
    expect_row(
        &p, "no-wall", PLYECHO_LIMIT_OPEN,
        "1 place whose wall was not surely seen, the first at 165 deg, 10 mm: behind a "
        "delamination or a weak back wall nothing tells whether it holds least_mm; a "
        "micrometer where it reaches, a reading from the other side as well, or a section "
        "tells");
    plyecho_procedure_clear(&p.procedure);
    struct plyecho_error err; /* without a limit on the wall nothing asks for it */
    static const char text[] = "[acceptance]\nmost_delamination_mm = 30\n";
    assert_int_equal(plyecho_procedure_read(&p.procedure, text, strlen(text), &err),
                     PLYECHO_OK);
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    assert_null(row_of(&p, "no-wall"));
    part_free(&p);
}

/* Thin against the nominal wall, and within the limit: both are said. */
static void a_thin_place_within_the_limit_is_told_of(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 2.5\n");
    for (int column = -3; column <= 3; column++) /* filed down */
        for (int row = -2; row <= 2; row++)
            made_wall(made_scan_at(&p.scan, (size_t)(9 + column), (size_t)(2 + row)),
                      (3.2 - 0.45 * fmax(0.0, 1.0 - 0.3 * hypot(column, row))) * mm);
    made_scan_at(&p.scan, 9, 2)->verdict = PLYECHO_THIN;
    part_judge(&p);
    assert_int_equal(made_scan_at(&p.scan, 9, 2)->second, PLYECHO_THIN);
    expect_row(&p, "least_mm", PLYECHO_LIMIT_HOLDS,
               "least wall 2.75 mm (u 0.01 mm) at 135 deg, 10 mm: above 2.5 mm by 2 u or more; "
               "thin against the nominal wall: 1 place");
    p.procedure.acceptance.least_m.value = 2.74 * mm;
    part_judge(&p);
    expect_row(&p, "least_mm", PLYECHO_LIMIT_OPEN,
               "least wall 2.75 mm (u 0.01 mm) at 135 deg, 10 mm: not above 2.74 mm by 2 u; "
               "thin against the nominal wall: 1 place");
    p.procedure.acceptance.least_m.value = 2.76 * mm;
    part_judge(&p);
    expect_row(&p, "least_mm", PLYECHO_LIMIT_BROKEN,
               "least wall 2.75 mm (u 0.01 mm) at 135 deg, 10 mm: below 2.76 mm");
    part_free(&p);
}

static void thin_without_a_limit_rejects(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "most_spread_mm = 2\n");
    made_wall(made_scan_at(&p.scan, 9, 2), 3.1 * mm);
    made_scan_at(&p.scan, 9, 2)->verdict = PLYECHO_THIN;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_REJECTED);
    assert_int_equal(row_of(&p, "thin")->state, PLYECHO_LIMIT_BROKEN);
    part_free(&p);
}

static void what_else_has_no_limit_leaves_the_part_undecided(void **state)
{
    (void)state;
    static const struct {
        enum plyecho_verdict verdict;
        const char *key;
    } rows[] = {{PLYECHO_ATTENUATED, "attenuated"},
                {PLYECHO_INNER_ECHO, "inner-echo"},
                {PLYECHO_UNDECIDED, "undecided"},
                {PLYECHO_UNREADABLE, "unreadable"}};
    for (size_t k = 0; k < 5; k++) {
        struct part p;
        part_new(&p, "least_mm = 3.0\n");
        struct plyecho_place_reading *r = made_scan_at(&p.scan, 9, 2);
        r->flagged = true;
        r->wall_seen = false;
        if (k < 4)
            r->verdict = rows[k].verdict;
        else
            r->read = false;
        part_judge(&p);
        expect_verdict(&p, PLYECHO_PART_UNDECIDED);
        /* of what was told without a back wall, that too */
        assert_int_equal(p.acceptance.count, k < 2 ? 3 : 2);
        assert_string_equal(p.acceptance.limit[1].key, k < 4 ? rows[k].key : "unread");
        assert_int_equal(p.acceptance.limit[1].state, PLYECHO_LIMIT_OPEN);
        assert_float_equal(p.acceptance.limit[1].reading.value, 1.0, 1e-12);
        part_free(&p);
    }
}

static void a_declared_inner_echo_bars_nothing(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    made_inside(made_scan_at(&p.scan, 9, 2), PLYECHO_INNER_ECHO, 1.5 * mm, 0.2);
    made_scan_at(&p.scan, 9, 2)->flagged = false;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    assert_int_equal(p.acceptance.count, 1);
    part_free(&p);
    part_new(&p, "least_mm = 3.0\nmost_inner_echo_mm2 = 50\nleast_distance_mm = 20\n");
    made_inside(made_scan_at(&p.scan, 9, 2), PLYECHO_INNER_ECHO, 1.5 * mm, 0.2);
    made_scan_at(&p.scan, 9, 2)->flagged = false;
    indication(&p, PLYECHO_INNER_ECHO)->declared = true;
    indication(&p, PLYECHO_INNER_ECHO)->declared = true;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    expect_row(&p, "most_inner_echo_mm2", PLYECHO_LIMIT_HOLDS, "no undeclared inner echo");
    expect_row(&p, "least_distance_mm", PLYECHO_LIMIT_HOLDS, "fewer than two indications");
    part_free(&p);
}

/* It is held against the limit by its own size, however much around it is as declared. */
static void what_is_not_as_declared_has_its_limit(void **state)
{
    (void)state;
    static const struct {
        const char *most_mm2;
        enum plyecho_limit_state state;
        enum plyecho_part_verdict verdict;
    } rows[] = {{"50", PLYECHO_LIMIT_BROKEN, PLYECHO_PART_REJECTED},
                {"65", PLYECHO_LIMIT_OPEN, PLYECHO_PART_UNDECIDED},
                {"90", PLYECHO_LIMIT_HOLDS, PLYECHO_PART_ACCEPTED}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        char text[80];
        struct part p;
        snprintf(text, sizeof text, "least_mm = 3.0\nmost_inner_echo_mm2 = %s\n",
                 rows[k].most_mm2);
        part_new(&p, text);
        made_inside(made_scan_at(&p.scan, 6, 2), PLYECHO_INNER_ECHO, 1.5 * mm, 0.2);
        made_inside(made_scan_at(&p.scan, 7, 2), PLYECHO_INNER_ECHO, 1.5 * mm, 0.2);
        made_scan_at(&p.scan, 7, 2)->flagged = false;
        indication(&p, PLYECHO_INNER_ECHO)->declared = true;
        indication(&p, PLYECHO_INNER_ECHO);
        part_judge(&p);
        expect_verdict(&p, rows[k].verdict);
        assert_int_equal(row_of(&p, "most_inner_echo_mm2")->state, rows[k].state);
        assert_float_equal(row_of(&p, "most_inner_echo_mm2")->reading.value, 60.0, 1e-9);
        assert_null(row_of(&p, "inner-echo"));
        part_free(&p);
    }
}

/* 10 by 8 mm, u 1 and 1.2 mm; 60 mm2, whose u is the root of (1 * 8)^2 + (1.2 * 10)^2, 14.4 mm2. */
static void a_delaminations_size_is_held_to_both_limits(void **state)
{
    (void)state;
    static const struct {
        const char *limits;
        enum plyecho_limit_state extent, area;
        enum plyecho_part_verdict verdict;
    } rows[] = {
        {"most_delamination_mm = 12.1\nmost_delamination_mm2 = 89\n", PLYECHO_LIMIT_HOLDS,
         PLYECHO_LIMIT_HOLDS, PLYECHO_PART_ACCEPTED},
        {"most_delamination_mm = 11.9\nmost_delamination_mm2 = 89\n", PLYECHO_LIMIT_OPEN,
         PLYECHO_LIMIT_HOLDS, PLYECHO_PART_UNDECIDED},
        {"most_delamination_mm = 12.1\nmost_delamination_mm2 = 88\n", PLYECHO_LIMIT_HOLDS,
         PLYECHO_LIMIT_OPEN, PLYECHO_PART_UNDECIDED},
        {"most_delamination_mm = 9.9\nmost_delamination_mm2 = 89\n", PLYECHO_LIMIT_BROKEN,
         PLYECHO_LIMIT_HOLDS, PLYECHO_PART_REJECTED},
        {"most_delamination_mm = 12.1\nmost_delamination_mm2 = 59\n", PLYECHO_LIMIT_HOLDS,
         PLYECHO_LIMIT_BROKEN, PLYECHO_PART_REJECTED},
        {"most_delamination_mm = 0\nmost_delamination_mm2 = 89\n", PLYECHO_LIMIT_BROKEN,
         PLYECHO_LIMIT_HOLDS, PLYECHO_PART_REJECTED},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct part p;
        part_new(&p, rows[k].limits);
        made_inside(made_scan_at(&p.scan, 6, 2), PLYECHO_DELAMINATION, 1 * mm, -0.95);
        indication(&p, PLYECHO_DELAMINATION);
        part_judge(&p);
        assert_int_equal(row_of(&p, "most_delamination_mm")->state, rows[k].extent);
        assert_int_equal(row_of(&p, "most_delamination_mm2")->state, rows[k].area);
        expect_verdict(&p, rows[k].verdict);
        assert_null(row_of(&p, "delamination"));
        part_free(&p);
    }
}

static void a_size_that_is_not_known_stays_open(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "most_delamination_mm = 30\n");
    struct plyecho_indication *i = indication(&p, PLYECHO_DELAMINATION);
    i->within_beam = true;
    part_judge(&p);
    expect_row(&p, "most_delamination_mm", PLYECHO_LIMIT_OPEN,
               "delamination at 90 deg, 10 mm: 10 mm (u 1 mm), limit 30 mm: one way its extent "
               "cannot be told from the beam's, as the places are spaced: there it may be "
               "smaller");
    i->within_beam = false;
    i->open_ended = true;
    part_judge(&p);
    assert_int_equal(row_of(&p, "most_delamination_mm")->state, PLYECHO_LIMIT_OPEN);
    i->open_ended = false;
    i->arc_m = i->area_m2 = NAN;
    part_judge(&p);
    assert_int_equal(row_of(&p, "most_delamination_mm")->state, PLYECHO_LIMIT_OPEN);
    assert_false(row_of(&p, "most_delamination_mm")->reading.known);
    /* what is seen of it is enough to reject */
    i->along_m = 31 * mm;
    part_judge(&p);
    expect_row(&p, "most_delamination_mm", PLYECHO_LIMIT_BROKEN,
               "delamination at 90 deg, 10 mm: at least 31 mm, limit 30 mm: above it");
    /* of places on one ring, or of one alone, even less is known */
    i->arc_m = 12 * mm;
    i->along_m = i->along_u_m = NAN;
    part_judge(&p);
    expect_row(&p, "most_delamination_mm", PLYECHO_LIMIT_OPEN,
               "delamination at 90 deg, 10 mm: at least 12 mm, limit 30 mm: its size is not "
               "known: that takes a tube's diameter and places on several lines");
    i->arc_m = i->arc_u_m = NAN;
    part_judge(&p);
    expect_row(
        &p, "most_delamination_mm", PLYECHO_LIMIT_OPEN,
        "delamination at 90 deg, 10 mm: limit 30 mm: its size is not known: that takes a "
        "tube's diameter and places on several lines");
    i->along_m = 31 * mm;
    i->arc_m = 31 * mm;
    i->open_ended = true;
    part_judge(&p);
    assert_int_equal(row_of(&p, "most_delamination_mm")->state, PLYECHO_LIMIT_BROKEN);
    /* but one within the beam may be smaller; where none is allowed that helps it nothing */
    i->within_beam = true;
    part_judge(&p);
    assert_int_equal(row_of(&p, "most_delamination_mm")->state, PLYECHO_LIMIT_OPEN);
    p.procedure.acceptance.most_delamination_m.value = 0.0;
    part_judge(&p);
    assert_int_equal(row_of(&p, "most_delamination_mm")->state, PLYECHO_LIMIT_BROKEN);
    part_free(&p);
}

static void of_several_the_worst_is_told(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "most_attenuated_mm2 = 100\n");
    indication(&p, PLYECHO_ATTENUATED)->area_m2 = 20 * mm2;
    indication(&p, PLYECHO_DELAMINATION)->area_m2 = 300 * mm2;
    indication(&p, PLYECHO_ATTENUATED)->area_m2 = 120 * mm2;
    p.indications[2].worst = 0;
    part_judge(&p);
    expect_row(&p, "most_attenuated_mm2", PLYECHO_LIMIT_BROKEN,
               "attenuated place at 0 deg, 0 mm: 120 mm2 (u 14 mm2), limit 100 mm2: above it; "
               "the worst of 2");
    part_free(&p);
}

static void indications_keep_their_distance(void **state)
{
    (void)state;
    static const double distances[] = {19.9, 23.0, 24.0};
    static const enum plyecho_limit_state states[] = {PLYECHO_LIMIT_BROKEN, PLYECHO_LIMIT_OPEN,
                                                      PLYECHO_LIMIT_HOLDS};
    for (size_t k = 0; k < 3; k++) { /* u = sqrt(2) * 1.2 mm = 1.7 mm */
        struct part p;
        part_new(&p, "least_distance_mm = 20\n");
        indication(&p, PLYECHO_ATTENUATED)->next_m =
            (struct plyecho_known){true, distances[k] * mm};
        indication(&p, PLYECHO_DELAMINATION)->next_m =
            (struct plyecho_known){true, distances[k] * mm};
        part_judge(&p);
        assert_int_equal(row_of(&p, "least_distance_mm")->state, states[k]);
        p.indications[0].next_m.known = p.indications[1].next_m.known = false;
        part_judge(&p);
        assert_int_equal(row_of(&p, "least_distance_mm")->state, PLYECHO_LIMIT_OPEN);
        part_free(&p);
    }
}

/* Against GSL's standard deviation; where each place has a nominal, of what walls are off it. */
static void the_spread_is_a_standard_deviation(void **state)
{
    (void)state;
    struct part p;
    double walls[MADE_PLACES];
    part_new(&p, "most_spread_mm = 0.1\n");
    size_t count = p.scan.grid->count;
    for (size_t i = 0; i < count; i++) {
        walls[i] = 3.2 + 0.08 * cos(0.7 * (double)i);
        made_wall(&p.scan.reading[i], walls[i] * mm);
    }
    part_judge(&p);
    double sd = gsl_stats_sd(walls, 1, count);
    assert_float_equal(row_of(&p, "most_spread_mm")->reading.value, sd, 1e-9);
    assert_int_equal(row_of(&p, "most_spread_mm")->state, PLYECHO_LIMIT_HOLDS);
    made_scan_nominal(&p.scan);
    for (size_t i = 0; i < count; i++) { /* a taper from 3.2 to 2.8 mm: none of it is spread */
        double off = 0.4 * mm * (double)i / (double)count;
        p.scan.reading[i].nominal_m.value -= off;
        p.scan.reading[i].wall_m -= off;
    }
    part_judge(&p);
    assert_float_equal(row_of(&p, "most_spread_mm")->reading.value, sd, 1e-9);
    part_free(&p);
}

/* Of 192 walls the standard deviation is known to s / sqrt(382), 5 % (JCGM 100, E.4.3, from memory). */
static void the_spread_has_a_guard_band_too(void **state)
{
    (void)state;
    static const char *const limits[] = {"most_spread_mm = 0.0559\n", "most_spread_mm = 0.06\n",
                                         "most_spread_mm = 0.0636\n"};
    static const enum plyecho_limit_state states[] = {PLYECHO_LIMIT_BROKEN, PLYECHO_LIMIT_OPEN,
                                                      PLYECHO_LIMIT_HOLDS};
    for (size_t k = 0; k < 3; k++) { /* the sine's: 0.08 / sqrt(2) = 0.0566 mm */
        struct part p;
        part_new(&p, limits[k]);
        for (size_t i = 0; i < p.scan.grid->count; i++)
            made_wall(&p.scan.reading[i], (3.2 + 0.08 * cos(0.7 * (double)i)) * mm);
        part_judge(&p);
        if (row_of(&p, "most_spread_mm")->state != states[k])
            fail_msg("%s%s", limits[k], row_of(&p, "most_spread_mm")->words);
        part_free(&p);
    }
}

static void coverage_is_open_until_it_is_known(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_coverage_percent = 95\nmost_unseen_mm = 5\n");
    p.coverage.share.known = false;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    assert_int_equal(row_of(&p, "least_coverage_percent")->state, PLYECHO_LIMIT_OPEN);
    assert_int_equal(row_of(&p, "most_unseen_mm")->state, PLYECHO_LIMIT_OPEN);
    p.coverage.share = (struct plyecho_known){true, 0.96};
    p.coverage.unseen_m = (struct plyecho_known){true, 4.2 * mm};
    p.coverage.unseen_at = (struct plyecho_place){7.5, 2.5 * mm};
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    expect_row(&p, "least_coverage_percent", PLYECHO_LIMIT_HOLDS,
               "the beam was on 96 % of the surface: not below 95 %");
    expect_row(&p, "most_unseen_mm", PLYECHO_LIMIT_HOLDS,
               "a flaw of 4.2 mm could lie unseen at 7.5 deg, 2.5 mm: not above 5 mm");
    p.coverage.share.value = 0.94;
    p.coverage.unseen_m.value = 5.1 * mm;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    expect_row(&p, "least_coverage_percent", PLYECHO_LIMIT_OPEN,
               "the beam was on 94 % of the surface: below 95 %; read more places between");
    p.coverage.unread = 3;
    part_judge(&p);
    expect_row(&p, "most_unseen_mm", PLYECHO_LIMIT_OPEN,
               "a flaw of 5.1 mm could lie unseen at 7.5 deg, 2.5 mm: above 5 mm; couple the "
               "unread places again, then read more places between, or with a narrower beam");
    part_free(&p);
}

/* Nobody read anything, or one place only: that is no flaw of the part. */
static void what_was_not_read_is_not_rejected_for_its_coverage(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_coverage_percent = 95\nmost_unseen_mm = 5\n");
    for (size_t i = 0; i < p.scan.grid->count; i++)
        made_unreadable(&p.scan.reading[i]);
    p.coverage.read = 0;
    p.coverage.share.value = 0.0;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    expect_row(&p, "least_coverage_percent", PLYECHO_LIMIT_OPEN,
               "no place was read: nothing was seen of the surface");
    p.coverage.read = 1;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    part_free(&p);
}

/* ---- what nobody asked ---- */

static void coverage_without_a_limit_bars_acceptance(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    p.coverage.share.value = 0.9975;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    assert_int_equal(p.acceptance.count, 2);
    expect_row(&p, "coverage", PLYECHO_LIMIT_OPEN,
               "the beam was on 99.75 % of the surface, and no limit says whether that is "
               "enough: state least_coverage_percent or most_unseen_mm");
    assert_float_equal(row_of(&p, "coverage")->reading.value, 99.75, 1e-9);
    p.coverage.share.known = false;
    part_judge(&p);
    expect_row(
        &p, "coverage", PLYECHO_LIMIT_OPEN,
        "how much of the surface the beam was on is not known, and no limit says whether "
        "that is enough: state least_coverage_percent or most_unseen_mm, with beam_mm "
        "and a tube's diameter_mm");
    assert_false(row_of(&p, "coverage")->reading.known);
    part_free(&p);
    static const char *const stated[] = {"least_coverage_percent = 50\n",
                                         "most_unseen_mm = 5\n"};
    for (size_t k = 0; k < 2; k++) {
        part_new(&p, stated[k]);
        p.coverage.share.value = 0.6;
        p.coverage.unseen_m = (struct plyecho_known){true, 4 * mm};
        part_judge(&p);
        expect_verdict(&p, PLYECHO_PART_ACCEPTED);
        part_free(&p);
    }
}

static void one_ring_or_line_is_no_part(void **state)
{
    (void)state;
    static const struct {
        bool tube;
        size_t columns, rows;
        const char *words; /* NULL: all is well */
    } rows[] = {
        {true, 24, 1,
         "all places lie on one ring, and nothing is known of the part beside it: "
         "read several, as far as the part has to hold"},
        {true, 24, 2, NULL},
        {false, 6, 1,
         "all places lie on one line, and nothing is known of the part beside it: "
         "read several, as far as the part has to hold"},
        {false, 1, 6,
         "all places lie on one line, and nothing is known of the part beside it: "
         "read several, as far as the part has to hold"},
        {false, 6, 2, NULL},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        const struct plyecho_part kind = {rows[k].tube, {true, 30 * mm}, NULL};
        struct plyecho_place places[48];
        size_t count = rows[k].columns * rows[k].rows;
        struct part p;
        part_new(&p, "least_mm = 3.0\n");
        plyecho_grid_free(p.scan.grid);
        for (size_t i = 0; i < count; i++) {
            places[i] = (struct plyecho_place){(rows[k].tube ? 15.0 : 5 * mm) *
                                                   (double)(i % rows[k].columns),
                                               5 * mm * (double)(i / rows[k].columns)};
            p.scan.reading[i].place = places[i];
        }
        assert_int_equal(plyecho_grid_new(&p.scan.grid, places, count, &kind, NULL),
                         PLYECHO_OK);
        part_judge(&p);
        expect_verdict(&p,
                       rows[k].words == NULL ? PLYECHO_PART_ACCEPTED : PLYECHO_PART_UNDECIDED);
        if (rows[k].words != NULL)
            expect_row(&p, "single-line", PLYECHO_LIMIT_OPEN, rows[k].words);
        part_free(&p);
    }
}

static void a_wall_without_a_nominal_bars_acceptance(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    made_scan_at(&p.scan, 9, 2)->nominal_m.known = false;
    made_scan_at(&p.scan, 9, 3)->nominal_m.known = false;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    assert_int_equal(p.acceptance.count, 2);
    expect_row(
        &p, "no-nominal", PLYECHO_LIMIT_OPEN,
        "2 places without a nominal wall, the first at 135 deg, 10 mm: a delamination "
        "under all of the beam would pass for the wall: state nominal_mm, or the layers");
    part_free(&p);
}

/* Sound places stand for the attenuation, unless they are weak themselves, as all of a porous part's are. */
static void a_level_that_nothing_tells_bars_acceptance(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    size_t count = p.scan.grid->count;
    part_judge(&p);
    assert_true(p.scan.sound.balance_db.known);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    for (size_t i = 0; i < count; i++)
        p.scan.reading[i].balance_db.value -= 6.0; /* to -7 dB */
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    expect_row(&p, "no-level", PLYECHO_LIMIT_OPEN,
               "192 places whose back wall's level was not assessed, the first at 0 deg, 0 mm: "
               "porosity is not ruled out: state attenuation_db_mm_mhz, and read through a "
               "delay line");
    for (size_t i = 0; i < count; i++)
        p.scan.reading[i].balance_db.known = false;
    part_judge(&p);
    assert_int_equal(row_of(&p, "no-level")->state, PLYECHO_LIMIT_OPEN);
    for (size_t i = 0; i < count; i++)
        p.scan.reading[i].expectation = i != 2;
    part_judge(&p);
    assert_float_equal(row_of(&p, "no-level")->reading.value, 1.0, 1e-12);
    p.scan.reading[2].expectation = true;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_ACCEPTED);
    part_free(&p);
}

static void walls_in_doubt_bar_acceptance(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    p.wall_doubts = "temperature_c, date";
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    expect_row(&p, "wall-doubt", PLYECHO_LIMIT_OPEN,
               "the walls may be wrong by what the procedure says of temperature_c, date: mend "
               "it there, as its doubts tell, and scan again");
    part_free(&p);
}

static void copies_are_no_readings(void **state)
{
    (void)state;
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    p.copies = 2;
    part_judge(&p);
    expect_verdict(&p, PLYECHO_PART_UNDECIDED);
    expect_row(&p, "copied", PLYECHO_LIMIT_OPEN,
               "2 traces are each a copy of another, and no reading of its place: read it "
               "again");
    assert_float_equal(row_of(&p, "copied")->reading.value, 2.0, 1e-12);
    part_free(&p);
}

/* Words that have no room say that they are cut. */
static void long_words_are_cut_with_a_sign(void **state)
{
    (void)state;
    char doubts[PLYECHO_LIMIT_WORDS_ROOM + 100];
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    memset(doubts, 'x', sizeof doubts - 1);
    doubts[sizeof doubts - 1] = '\0';
    p.wall_doubts = doubts;
    part_judge(&p);
    const char *words = row_of(&p, "wall-doubt")->words;
    assert_int_equal(strlen(words), PLYECHO_LIMIT_WORDS_ROOM - 1);
    assert_string_equal(words + PLYECHO_LIMIT_WORDS_ROOM - 5, "x...");
    part_free(&p);
}

/* The manifest lacks a place, the last angles, a row; round a tube and on a plate. */
static void what_was_not_scanned_bars_acceptance(void **state)
{
    (void)state;
    static const struct plyecho_part tube = {true, {true, 30e-3}, NULL},
                                     plate = {.tube = false};
    enum { COLUMNS = 12, ROWS = 12 };
    for (int lacks = 0; lacks < 8; lacks++) {
        struct plyecho_place places[COLUMNS * ROWS];
        struct part p;
        size_t count = 0;
        bool flat = lacks >= 4;
        part_new(&p, "least_mm = 3.0\n");
        plyecho_grid_free(p.scan.grid);
        for (size_t k = 0; k < COLUMNS * ROWS; k++) {
            size_t column = k % COLUMNS, row = k / COLUMNS;
            if ((lacks % 4 == 1 && k == 3 * COLUMNS + 5) || (lacks % 4 == 2 && column > 9) ||
                (lacks % 4 == 3 && row == 3))
                continue;
            places[count] = (struct plyecho_place){(flat ? 5e-3 : 30.0) * (double)column,
                                                   5e-3 * (double)row};
            p.scan.reading[count].place = places[count];
            count++;
        }
        assert_int_equal(
            plyecho_grid_new(&p.scan.grid, places, count, flat ? &plate : &tube, NULL),
            PLYECHO_OK);
        part_judge(&p);
        bool whole = lacks == 0 || lacks == 4 || lacks == 6; /* a plate may end anywhere */
        expect_verdict(&p, whole ? PLYECHO_PART_ACCEPTED : PLYECHO_PART_UNDECIDED);
        assert_int_equal(row_of(&p, "unscanned") == NULL, whole);
        if (lacks == 1)
            expect_row(&p, "unscanned", PLYECHO_LIMIT_OPEN,
                       "1 gap between the places listed, the first behind that at 120 deg, 15 "
                       "mm: what lies there was not scanned");
        if (lacks == 5)
            expect_row(
                &p, "unscanned", PLYECHO_LIMIT_OPEN,
                "1 gap between the places listed, the first behind that at x 20 mm, y 15 "
                "mm: what lies there was not scanned");
        part_free(&p);
    }
}

/* No two places on one line, on a plate: they form no lines either way. */
static void positions_that_scatter_have_a_row_of_their_own(void **state)
{
    (void)state;
    static const struct plyecho_part plate = {.tube = false};
    struct plyecho_place places[9];
    struct part p;
    part_new(&p, "least_mm = 3.0\n");
    plyecho_grid_free(p.scan.grid);
    for (size_t k = 0; k < 9; k++) {
        places[k] = (struct plyecho_place){5e-3 * (double)(k % 3) + 1e-5 * (double)(k / 3),
                                           5e-3 * (double)(k / 3) + 1e-5 * (double)(k % 3)};
        p.scan.reading[k].place = places[k];
    }
    assert_int_equal(plyecho_grid_new(&p.scan.grid, places, 9, &plate, NULL), PLYECHO_OK);
    part_judge(&p);
    expect_row(&p, "no-lines", PLYECHO_LIMIT_OPEN,
               "the places form no lines along the part, so that none has a neighbour there: "
               "round their positions to the spacing that was meant");
    part_free(&p);
}

/* Every row that there can be has room, in the order of the keys. */
static void all_rows_come_in_their_order(void **state)
{
    (void)state;
    static const char *const keys[] = {"least_mm",
                                       "most_spread_mm",
                                       "most_delamination_mm",
                                       "most_delamination_mm2",
                                       "most_inner_echo_mm2",
                                       "most_attenuated_mm2",
                                       "least_distance_mm",
                                       "least_coverage_percent",
                                       "most_unseen_mm"};
    struct part p;
    part_new(&p, "most_unseen_mm = 5\nleast_coverage_percent = 95\nleast_distance_mm = 20\n"
                 "most_attenuated_mm2 = 9\nmost_inner_echo_mm2 = 9\nmost_delamination_mm2 = 9\n"
                 "most_delamination_mm = 9\nmost_spread_mm = 1\nleast_mm = 3\n");
    part_judge(&p);
    assert_int_equal(p.acceptance.count, 9);
    for (size_t k = 0; k < 9; k++) {
        assert_string_equal(p.acceptance.limit[k].key, keys[k]);
        assert_true(p.acceptance.limit[k].limit.known);
        assert_true(strlen(p.acceptance.limit[k].words) > 0);
    }
    part_free(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_limits_nothing_is_accepted),
        cmocka_unit_test(a_sound_part_is_accepted),
        cmocka_unit_test(a_wall_is_held_to_a_guarded_limit),
        cmocka_unit_test(a_wall_without_an_uncertainty_stays_open),
        cmocka_unit_test(the_least_sure_wall_counts),
        cmocka_unit_test(a_delamination_without_a_limit_rejects),
        cmocka_unit_test(a_tolerated_delamination_leaves_the_wall_open),
        cmocka_unit_test(a_thin_place_within_the_limit_is_told_of),
        cmocka_unit_test(thin_without_a_limit_rejects),
        cmocka_unit_test(what_else_has_no_limit_leaves_the_part_undecided),
        cmocka_unit_test(a_declared_inner_echo_bars_nothing),
        cmocka_unit_test(what_is_not_as_declared_has_its_limit),
        cmocka_unit_test(a_delaminations_size_is_held_to_both_limits),
        cmocka_unit_test(a_size_that_is_not_known_stays_open),
        cmocka_unit_test(of_several_the_worst_is_told),
        cmocka_unit_test(indications_keep_their_distance),
        cmocka_unit_test(the_spread_is_a_standard_deviation),
        cmocka_unit_test(the_spread_has_a_guard_band_too),
        cmocka_unit_test(coverage_is_open_until_it_is_known),
        cmocka_unit_test(what_was_not_read_is_not_rejected_for_its_coverage),
        cmocka_unit_test(coverage_without_a_limit_bars_acceptance),
        cmocka_unit_test(one_ring_or_line_is_no_part),
        cmocka_unit_test(a_wall_without_a_nominal_bars_acceptance),
        cmocka_unit_test(a_level_that_nothing_tells_bars_acceptance),
        cmocka_unit_test(walls_in_doubt_bar_acceptance),
        cmocka_unit_test(copies_are_no_readings),
        cmocka_unit_test(long_words_are_cut_with_a_sign),
        cmocka_unit_test(positions_that_scatter_have_a_row_of_their_own),
        cmocka_unit_test(what_was_not_scanned_bars_acceptance),
        cmocka_unit_test(all_rows_come_in_their_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
