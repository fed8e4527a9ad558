/* Whether a log of checks speaks for readings or against them. A row is date, flagged and set-up. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "check_log.h"

#define HEADING "date,trace,flagged,beyond,setup_digest\n"

static struct check_log log_of(const char *text)
{
    struct check_log log;
    struct plyecho_error err;
    if (check_log_read(&log, text, strlen(text), "ours", &err) != PLYECHO_OK)
        fail_msg("%s", err.text);
    return log;
}

static const char *date_of(const struct check_log_row *row)
{
    return row != NULL ? row->date : "-";
}

static void checks_count_on_the_side_where_they_surely_are(void **state)
{
    (void)state;
    static const struct {
        const char *date, *rows, *failed, *before, *after;
        size_t unplaced, foreign;
    } cases[] = {
        /* the usual day */
        {"2024-11-30T14:30", "2024-11-30T13:10,a,no,,ours\n2024-11-30T16:40,a,no,,ours\n", "-",
         "2024-11-30T13:10", "2024-11-30T16:40", 0, 0},
        {"2024-11-30T14:30",
         "2024-11-30T13:10,a,no,,ours\n2024-11-30T16:40,a,yes,velocity,ours\n",
         "2024-11-30T16:40", "2024-11-30T13:10", "-", 0, 0},
        /* failed, mended, good before the readings: a good check parts it from them */
        {"2024-11-30T14:30", "2024-11-30T08:00,a,yes,zero,ours\n2024-11-30T13:10,a,no,,ours\n",
         "-", "2024-11-30T13:10", "-", 0, 0},
        /* the same where the readings have no time of day: nothing parts it */
        {"2024-11-30", "2024-11-30T08:00,a,yes,zero,ours\n2024-11-30T16:40,a,no,,ours\n",
         "2024-11-30T08:00", "-", "-", 1, 0},
        /* no date of the readings: a failed check speaks against them, a good one vouches for nothing */
        {NULL, "2024-11-30,a,yes,zero,ours\n2026-11-30,a,no,,ours\n", "2024-11-30", "-", "-", 1,
         0},
        {NULL, "2024-11-30,a,no,,ours\n", "-", "-", "-", 1, 0},
        /* zones */
        {"2024-11-30T14:30+02:00",
         "2024-11-30T08:00Z,a,yes,zero,ours\n2024-11-30T13:30Z,a,no,,ours\n",
         "2024-11-30T08:00Z", "-", "2024-11-30T13:30Z", 0, 0},
        /* a failed check without a date */
        {"2024-11-30T14:30", "yesterday,a,yes,zero,ours\n2024-11-30T13:10,a,no,,ours\n", "",
         "2024-11-30T13:10", "-", 0, 0},
        /* of another set-up, either way */
        {"2024-11-30T14:30",
         "2024-11-30T13:10,a,no,,theirs\n2024-11-30T16:40,a,yes,zero,theirs\n", "-", "-", "-",
         0, 2},
        /* the nearest ones, in any order of the log */
        {"2024-11-30",
         "2024-12-02,a,no,,ours\n2024-11-28,a,no,,ours\n2024-11-29,a,no,,ours\n"
         "2024-12-01,a,no,,ours\n2024-11-27,a,no,,ours\n",
         "-", "2024-11-29", "2024-12-01", 0, 0},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        char text[1024];
        snprintf(text, sizeof text, HEADING "%s", cases[k].rows);
        struct check_log log = log_of(text);
        struct check_log_judgement j = check_log_judge(&log, cases[k].date);
        assert_string_equal(date_of(j.failed), cases[k].failed);
        assert_string_equal(date_of(j.before), cases[k].before);
        assert_string_equal(date_of(j.after), cases[k].after);
        assert_int_equal(j.unplaced, cases[k].unplaced);
        assert_int_equal(j.foreign, cases[k].foreign);
        check_log_clear(&log);
    }
}

static void another_table_is_refused(void **state)
{
    (void)state;
    struct check_log log;
    struct plyecho_error err;
    static const char *const bad[] = {"", "date,flagged\n", "angle_deg,axial_mm\n0,1\n"};
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
        assert_int_equal(check_log_read(&log, bad[k], strlen(bad[k]), "ours", &err),
                         PLYECHO_BAD_FILE);
        check_log_clear(&log);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(checks_count_on_the_side_where_they_surely_are),
        cmocka_unit_test(another_table_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
