/* Days: which exist is in test_procedure_keys, here how they are counted. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include <plyecho/date.h>

/* POSIX.1-2017, 4.16: a day has 86400 seconds since the epoch; the C library's calendar is the judge. */
static void every_day_of_three_centuries_is_counted_as_the_c_library_does(void **state)
{
    (void)state;
    for (long day = -40000; day < 70000; day++) {
        time_t seconds = (time_t)day * 86400;
        struct tm parts;
        char text[40];
        assert_non_null(gmtime_r(&seconds, &parts));
        strftime(text, sizeof text, "%Y-%m-%dT%H:%M", &parts);
        assert_true(plyecho_date_is(text, strlen(text)));
        assert_int_equal(plyecho_date_days(text), day);
    }
}

static void only_as_many_bytes_as_stated_are_read(void **state)
{
    (void)state;
    assert_true(plyecho_date_is("2026-11-28 ; autumn", 10));
    assert_false(plyecho_date_is("2026-11-28", 9));
    assert_false(plyecho_date_is("", 0));
}

/* By hand from ISO 8601; UTC-12:00 and UTC+14:00 are the outermost zones in use (common knowledge, from memory). */
static void which_came_first_is_told_where_it_can_be(void **state)
{
    (void)state;
    static const struct {
        const char *a, *b;
        int order;
    } cases[] = {
        {"2024-11-29", "2024-11-30", -1},
        {"2024-11-30", "2024-11-30", 0},
        {"2024-11-30", "2024-11-30T08:00", 0},
        {"2024-11-30T08:00", "2024-12-01", -1},
        {"2024-11-30T08:00", "2024-11-30T08:01", -1},
        {"2024-11-30T08:00", "2024-11-30T08:00", 0},
        {"2024-11-30T08:00:10", "2024-11-30T08:00:11", -1},
        {"2024-11-30T08:00", "2024-11-30T08:00:30", 0},
        {"2024-11-30T14:30+02:00", "2024-11-30T13:30Z", -1},
        {"2024-11-30T14:30-02:00", "2024-11-30T13:30Z", 1},
        {"2024-11-30T14:30", "2024-11-30T13:30Z", 0},
        {"2024-11-30T14:30", "2024-11-30T00:20Z", 1},
        {"2024-11-30T14:30", "2024-12-01T02:40Z", -1},
        {"2024-12-31T23:30-01:00", "2025-01-01T00:29Z", 1},
    };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        assert_int_equal(plyecho_date_order(cases[k].a, cases[k].b), cases[k].order);
        assert_int_equal(plyecho_date_order(cases[k].b, cases[k].a), -cases[k].order);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_day_of_three_centuries_is_counted_as_the_c_library_does),
        cmocka_unit_test(which_came_first_is_told_where_it_can_be),
        cmocka_unit_test(only_as_many_bytes_as_stated_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
