/* Values of a report in words, and which indication matters most. */
#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report.h"

static char words[REPORT_WORDS_ROOM + 1024]; /* what lies behind must stay as it is */

static const struct plyecho_indication gap = {.kind = PLYECHO_DELAMINATION,
                                              .across = 78.5,
                                              .arc_m = 17.67e-3,
                                              .along_m = 14.02e-3,
                                              .least_depth_m = 1.395e-3,
                                              .most_depth_m = 1.41e-3};

static const char *size_of(bool tube, struct plyecho_indication n)
{
    const struct results r = {.tube = tube};
    return report_size(&r, &n, words);
}

static void a_size_has_what_is_known(void **state)
{
    (void)state;
    struct plyecho_indication n = gap;
    assert_string_equal(size_of(true, n), "17.7 mm round, 14.0 mm along, 1.40 to 1.41 mm deep");
    assert_string_equal(size_of(false, n), "17.7 mm in x, 14.0 mm in y, 1.40 to 1.41 mm deep");
    n.most_depth_m = 1.3951e-3; /* the same in words */
    assert_string_equal(size_of(true, n), "17.7 mm round, 14.0 mm along, 1.40 mm deep");
    n.least_depth_m = n.most_depth_m = NAN;
    assert_string_equal(size_of(true, n), "17.7 mm round, 14.0 mm along");
    n.arc_m = NAN; /* no diameter */
    assert_string_equal(size_of(true, n), "78.5 deg round, 14.0 mm along");
    n.across = 360.0;
    assert_string_equal(size_of(true, n), "all round, 14.0 mm along");
}

/* A table that is not ours may say anything; its numbers have 300 digits at the most. */
static void no_number_is_too_long(void **state)
{
    (void)state;
    struct plyecho_indication n = gap;
    memset(words, '#', sizeof words);
    n.arc_m = n.along_m = n.least_depth_m = -1e300;
    n.most_depth_m = 1e300;
    assert_true(strlen(size_of(true, n)) < REPORT_WORDS_ROOM);
    const struct results r = {.tube = true};
    const struct plyecho_place far = {-1e300, 1e300};
    assert_true(strlen(report_place(&r, &far, words)) < REPORT_WORDS_ROOM);
    const struct plyecho_known most = {true, 1e300};
    assert_true(strlen(report_wall(most, most, words)) < REPORT_WORDS_ROOM);
    for (size_t i = REPORT_WORDS_ROOM; i < sizeof words; i++)
        assert_int_equal(words[i], '#');
}

static void a_wall_is_never_surer_than_it_is(void **state)
{
    (void)state;
    const struct plyecho_known wall = {true, 2.7588e-3}, u = {true, 0.01e-3}, none = {false, 0};
    assert_string_equal(report_wall(wall, u, words), "2.759 mm \302\261 0.020 mm (k = 2)");
    assert_string_equal(report_wall(wall, none, words), "2.759 mm (uncertainty not known)");
    assert_string_equal(report_wall(none, u, words), "not seen");
    const struct plyecho_known tiny = {true, 1e-8};
    assert_string_equal(report_wall(wall, tiny, words), "2.759 mm \302\261 0.002 mm (k = 2)");
    assert_true(report_shown_u(u).value == u.value && !report_shown_u(none).known);
}

static void a_depth_is_told_once_where_it_is_one(void **state)
{
    (void)state;
    struct plyecho_indication n = gap;
    assert_string_equal(report_depth(&n, words), "1.40 to 1.41 mm");
    n.most_depth_m = 1.3951e-3;
    assert_string_equal(report_depth(&n, words), "1.40 mm");
}

static size_t worst_of_limited(const enum plyecho_verdict *kinds, size_t count, size_t declared,
                               const char *limits)
{
    struct plyecho_indication list[8];
    for (size_t i = 0; i < count; i++)
        list[i] = (struct plyecho_indication){.kind = kinds[i],
                                              .places = 10 * (i + 1),
                                              .declared = i == declared,
                                              .area_m2 = NAN};
    struct report report = {.results = {.indication = list, .indications = count}};
    report.results.summary = json_loads(limits, 0, NULL);
    assert_non_null(report.results.summary);
    report.order = report_order(&report.results);
    size_t worst = report_worst(&report);
    json_decref(report.results.summary);
    free(report.order);
    return worst;
}

static size_t worst_of(const enum plyecho_verdict *kinds, size_t count, size_t declared)
{
    return worst_of_limited(kinds, count, declared, "{}");
}

/* What broke a limit comes before what is tolerated, and that before nothing: the part was rejected for it. */
static void what_decided_comes_first(void **state)
{
    (void)state;
    static const enum plyecho_verdict kinds[] = {PLYECHO_THIN, PLYECHO_DELAMINATION,
                                                 PLYECHO_ATTENUATED};
#define LIMIT(key, state) "{\"key\": \"" key "\", \"state\": \"" state "\"}"
    assert_int_equal(worst_of_limited(kinds, 3, 3,
                                      "{\"limits\": [" LIMIT("least_mm", "broken") ", " LIMIT(
                                          "most_delamination_mm", "holds") "]}"),
                     0);
    assert_int_equal(worst_of_limited(kinds, 3, 3,
                                      "{\"limits\": [" LIMIT("least_mm", "holds") ", " LIMIT(
                                          "attenuated", "open") "]}"),
                     2);
    assert_int_equal(worst_of_limited(kinds, 3, 3, "{\"limits\": [1, {}, null]}"), 1);
}

static void a_delamination_is_worse_than_all(void **state)
{
    (void)state;
    static const enum plyecho_verdict kinds[] = {PLYECHO_THIN,       PLYECHO_ATTENUATED,
                                                 PLYECHO_UNDECIDED,  PLYECHO_DELAMINATION,
                                                 PLYECHO_INNER_ECHO, PLYECHO_DELAMINATION};
    assert_int_equal(worst_of(kinds, 6, 6), 5); /* the larger of two */
    assert_int_equal(worst_of(kinds, 6, 5), 3); /* one that belongs there is none */
    assert_int_equal(worst_of(kinds, 3, 6), 0);
    assert_int_equal(worst_of(kinds + 1, 2, 6), 1); /* of one weight, the larger */
    assert_int_equal(worst_of(kinds + 4, 1, 6), 0);
    assert_int_equal(worst_of(kinds + 4, 1, 0), 1); /* there is none */
    assert_int_equal(worst_of(kinds, 0, 6), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_size_has_what_is_known),
        cmocka_unit_test(no_number_is_too_long),
        cmocka_unit_test(a_wall_is_never_surer_than_it_is),
        cmocka_unit_test(a_depth_is_told_once_where_it_is_one),
        cmocka_unit_test(a_delamination_is_worse_than_all),
        cmocka_unit_test(what_decided_comes_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
