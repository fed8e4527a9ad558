/* The day by which a calibration is judged: that of the readings where it is stated, else the one that is given. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "own_folder.h"
#include "setup.h"

#define FILE_NAME "tube.ini"

/* A calibration of 2024-11-01 that holds for 30 days. */
struct opened {
    struct setup setup;
    char *said;
};

static void open_setup(struct opened *o, const char *inspection, const char *day)
{
    FILE *file = fopen(FILE_NAME, "w");
    struct setup_values values = {.procedure = {true, FILE_NAME}, .day = day};
    size_t size = 0;
    assert_non_null(file);
    fprintf(file,
            "%s[material]\nvelocity_m_s = 2950\nvelocity_u_m_s = 5\n[calibration]\ndate = "
            "2024-11-01T10:00\nvalid_days = 30\nsteps = 5\nfreedom = 3\n",
            inspection);
    fclose(file);
    o->said = NULL;
    struct messages messages = {.to = open_memstream(&o->said, &size)};
    assert_non_null(messages.to);
    assert_true(setup_open(&o->setup, &values, true, 0.0, &messages));
    fclose(messages.to);
}

static void close_setup(struct opened *o)
{
    setup_close(&o->setup);
    free(o->said);
}

static void the_day_of_the_readings_counts(void **state)
{
    (void)state;
    static const struct {
        const char *inspection, *day, *judged_on, *doubt, *note;
    } rows[] = {
        {"", "2024-12-01", "2024-12-01", NULL, NULL},
        {"", "2024-12-02", "2024-12-02", "is 31 days ago", NULL},
        {"[inspection]\ndate = 2024-12-01\n", "2024-12-01", "2024-12-01", NULL, NULL},
        {"[inspection]\ndate = 2024-12-02T09:00Z\n", "2024-12-01", "2024-12-02",
         "is 31 days before the readings of 2024-12-02T09:00Z", NULL},
        /* held then, not today: never without a word */
        {"[inspection]\ndate = 2024-12-01\n", "2026-11-28", "2024-12-01", NULL,
         "the calibration held on 2024-12-01, the [inspection] date, and has expired since"},
        {"[inspection]\ndate = 2024-11-01\n", "2024-12-01", "2024-11-01", NULL, NULL},
        {"[inspection]\ndate = 2024-11-01T09:00\n", "2024-12-01", "2024-11-01",
         "the calibration of 2024-11-01T10:00 came after the readings of 2024-11-01T09:00",
         NULL},
        {"[inspection]\ndate = 2020-01-01\n", "2024-12-01", "2020-01-01",
         "the calibration of 2024-11-01T10:00 came after the readings of 2020-01-01", NULL},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct opened o;
        open_setup(&o, rows[k].inspection, rows[k].day);
        assert_string_equal(o.setup.judged_on, rows[k].judged_on);
        if (rows[k].doubt == NULL) {
            assert_null(o.setup.doubts);
            assert_null(o.setup.wall_doubts);
        } else {
            assert_non_null(o.setup.doubts);
            if (strstr(o.setup.doubts, rows[k].doubt) == NULL)
                fail_msg("row %zu: %s", k, o.setup.doubts);
            assert_string_equal(o.setup.wall_doubts, "date");
        }
        assert_int_equal(strstr(o.said, "expired since") != NULL, rows[k].note != NULL);
        if (rows[k].note != NULL)
            assert_non_null(strstr(o.said, rows[k].note));
        close_setup(&o);
    }
}

/* Without a date of the calibration no day counts: the same results on every day. */
static void without_a_calibrations_date_no_day_counts(void **state)
{
    (void)state;
    const struct setup_values values = {.velocity_m_s = {true, 2950.0}};
    struct setup setup;
    char *said = NULL;
    size_t size = 0;
    struct messages messages = {.to = open_memstream(&said, &size)};
    assert_true(setup_open(&setup, &values, true, 0.0, &messages));
    assert_string_equal(setup.judged_on, "");
    fclose(messages.to);
    setup_close(&setup);
    free(said);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_day_of_the_readings_counts, enter_folder,
                                        leave_folder),
        cmocka_unit_test(without_a_calibrations_date_no_day_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
