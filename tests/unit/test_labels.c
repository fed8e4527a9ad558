/* Labels: what may stand in one, whose it is, and that a list survives text, copies and a
 * failing allocation. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/labels.h>

#include "failing_alloc.h"

static enum plyecho_code read_line(struct plyecho_labels *labels, const char *line)
{
    return plyecho_labels_read_line(labels, line, strlen(line), NULL);
}

static void a_channel_has_its_own_value_else_the_files(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0};
    assert_int_equal(plyecho_labels_set(&labels, "part", 0, "T-104", NULL), PLYECHO_OK);
    assert_int_equal(plyecho_labels_set_number(&labels, "angle_deg", 17, 52.5, NULL),
                     PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&labels, "part", 17), "T-104");
    assert_string_equal(plyecho_labels_get(&labels, "angle_deg", 17), "52.5");
    assert_null(plyecho_labels_get(&labels, "angle_deg", 16));
    assert_null(plyecho_labels_get(&labels, "angle_deg", 0));
    assert_int_equal(plyecho_labels_set(&labels, "part", 17, "  T-105\t", NULL), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&labels, "part", 17), "T-105");
    assert_string_equal(plyecho_labels_get(&labels, "part", 1), "T-104");
    plyecho_labels_remove(&labels, "part", 17);
    plyecho_labels_remove(&labels, "part", 17);
    assert_string_equal(plyecho_labels_get(&labels, "part", 17), "T-104");
    assert_int_equal(labels.count, 2);
    plyecho_labels_clear(&labels);
    plyecho_labels_clear(&labels);
}

static void numbers_in_labels_are_plain_or_an_error(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0};
    struct plyecho_error err;
    double value = 3.0;
    assert_int_equal(plyecho_labels_number(&labels, "gain_db", 0, &value, &err), PLYECHO_OK);
    assert_true(value == 3.0);
    plyecho_labels_set(&labels, "gain_db", 0, "42.5", NULL);
    assert_int_equal(plyecho_labels_number(&labels, "gain_db", 3, &value, &err), PLYECHO_OK);
    assert_true(value == 42.5);
    static const char *const bad[] = {"", "loud", "1 2", "nan", "1e999", "12,5"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        plyecho_labels_set(&labels, "gain_db", 0, bad[i], NULL);
        assert_int_equal(plyecho_labels_number(&labels, "gain_db", 0, &value, &err),
                         PLYECHO_BAD_NUMBER);
        assert_non_null(strstr(err.text, "gain_db"));
        assert_true(value == 42.5);
    }
    plyecho_labels_clear(&labels);
}

static void hostile_keys_and_values_are_refused(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0};
    struct plyecho_error err;
    static const char *const keys[] = {"", " a", "a ", "a:b", "a[1]", "a\nb", "a\033", "\t"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        assert_int_equal(plyecho_labels_set(&labels, keys[i], 0, "x", &err),
                         PLYECHO_BAD_ARGUMENT);
    static const char *const values[] = {"a\nb", "a\r", "\033[2J", "\x7f", "\x01"};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        assert_int_equal(plyecho_labels_set(&labels, "note", 0, values[i], &err),
                         PLYECHO_BAD_ARGUMENT);
    assert_int_equal(plyecho_labels_set(&labels, "a", 1025, "x", &err), PLYECHO_BAD_ARGUMENT);
    assert_int_equal(labels.count, 0);
    assert_int_equal(plyecho_labels_set(&labels, "note", 0, "a\tb: [c] \xc2\xb5", &err),
                     PLYECHO_OK);
    plyecho_labels_clear(&labels);
}

static void lines_are_labels_or_an_error(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0};
    assert_int_equal(read_line(&labels, "part: T-104: left"), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&labels, "part", 0), "T-104: left");
    assert_int_equal(read_line(&labels, " angle_deg[17] :52.5 \r\n"), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&labels, "angle_deg", 17), "52.5");
    assert_int_equal(read_line(&labels, "empty:"), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&labels, "empty", 0), "");
    assert_int_equal(read_line(&labels, "part: again"), PLYECHO_OK);
    assert_string_equal(plyecho_labels_get(&labels, "part", 0), "again");
    assert_int_equal(labels.count, 3);
    static const char *const bad[] = {"",          "no colon",   ": value",
                                      "a[0]: 1",   "a[01]: 1",   "a[x]: 1",
                                      "a[]: 1",    "a[1: 1",     "[1]: 1",
                                      "a[1]b: 1",  "a[1025]: 1", "a[99999999999999999999]: 1",
                                      "a: b\033c", "a]b[: 1",    "a[1][2]: 1"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(read_line(&labels, bad[i]), PLYECHO_BAD_FILE);
    assert_int_equal(plyecho_labels_read_line(&labels, "a\0b: c", 6, NULL), PLYECHO_BAD_FILE);
    assert_int_equal(labels.count, 3);
    plyecho_labels_clear(&labels);
}

static void too_many_labels_are_refused(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0};
    enum plyecho_code code = PLYECHO_OK;
    char key[32];
    int taken = 0;
    for (; taken < 20000 && code == PLYECHO_OK; taken++) {
        snprintf(key, sizeof key, "key%d", taken / 8);
        code = plyecho_labels_set(&labels, key, 1 + (size_t)taken % 8, "x", NULL);
    }
    assert_int_equal(code, PLYECHO_TOO_LARGE);
    assert_int_equal(labels.count, taken - 1);
    assert_true(taken > 16 * 1024);
    plyecho_labels_clear(&labels);
}

static void fill(struct plyecho_labels *labels)
{
    assert_int_equal(read_line(labels, "part: T-104"), PLYECHO_OK);
    for (int i = 1; i <= 40; i++) {
        char line[64];
        snprintf(line, sizeof line, "angle_deg[%d]: %g", i, i * 2.5);
        assert_int_equal(read_line(labels, line), PLYECHO_OK);
    }
}

static void text_and_copies_keep_order_and_content(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0}, back = {0}, copy;
    fill(&labels);
    char *text, *again;
    size_t size, again_size;
    assert_int_equal(plyecho_labels_text(&labels, "# ", &text, &size, NULL), PLYECHO_OK);
    assert_int_equal(strncmp(text, "# part: T-104\n# angle_deg[1]: 2.5\n", 34), 0);
    assert_int_equal(strlen(text), size);
    for (char *line = text; *line != '\0'; line = strchr(line, '\n') + 1)
        assert_int_equal(plyecho_labels_read_line(
                             &back, line + 2, (size_t)(strchr(line, '\n') - line) - 2, NULL),
                         PLYECHO_OK);
    assert_int_equal(plyecho_labels_copy(&copy, &back, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_labels_text(&copy, "# ", &again, &again_size, NULL), PLYECHO_OK);
    assert_string_equal(text, again);
    free(text);
    free(again);
    plyecho_labels_clear(&labels);
    plyecho_labels_clear(&back);
    assert_int_equal(plyecho_labels_copy(&back, &labels, NULL), PLYECHO_OK);
    assert_int_equal(plyecho_labels_text(&labels, "", &text, &size, NULL), PLYECHO_OK);
    assert_int_equal(size, 0);
    free(text);
    plyecho_labels_clear(&copy);
}

static void only_common_labels_are_kept(void **state)
{
    (void)state;
    struct plyecho_labels a = {0}, b = {0};
    static const char *const of_a[] = {"part: T-104", "gain_db: 40", "angle_deg[1]: 5",
                                       "shot: 1"};
    static const char *const of_b[] = {"shot: 2", "part: T-104", "angle_deg: 5", "gain_db: 40"};
    for (int i = 0; i < 4; i++) {
        read_line(&a, of_a[i]);
        read_line(&b, of_b[i]);
    }
    plyecho_labels_keep_common(&a, &b);
    assert_int_equal(a.count, 2);
    assert_string_equal(a.items[0].key, "part");
    assert_string_equal(a.items[1].key, "gain_db");
    plyecho_labels_clear(&a);
    plyecho_labels_clear(&b);
}

static void a_failing_allocation_is_reported_and_leaks_nothing(void **state)
{
    (void)state;
    struct plyecho_labels labels = {0}, copy = {0};
    fill(&labels);
    enum plyecho_code last = PLYECHO_NO_MEMORY;
    for (long n = 0; last != PLYECHO_OK; n++) {
        struct plyecho_labels fresh = {0};
        struct plyecho_error err = {0};
        char *text = NULL;
        size_t size;
        fail_allocation(n);
        enum plyecho_code code = PLYECHO_OK;
        for (size_t i = 0; i < labels.count && code == PLYECHO_OK; i++)
            code = plyecho_labels_set(&fresh, labels.items[i].key, labels.items[i].channel,
                                      labels.items[i].value, &err);
        if (code == PLYECHO_OK)
            code = plyecho_labels_copy(&copy, &fresh, &err);
        if (code == PLYECHO_OK)
            code = plyecho_labels_text(&copy, "", &text, &size, &err);
        fail_no_allocation();
        assert_true(code == PLYECHO_NO_MEMORY || (code == PLYECHO_OK && n > 2));
        last = code;
        assert_int_equal(err.code, code);
        free(text);
        plyecho_labels_clear(&fresh);
        plyecho_labels_clear(&copy);
    }
    plyecho_labels_clear(&labels);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_channel_has_its_own_value_else_the_files),
        cmocka_unit_test(numbers_in_labels_are_plain_or_an_error),
        cmocka_unit_test(hostile_keys_and_values_are_refused),
        cmocka_unit_test(lines_are_labels_or_an_error),
        cmocka_unit_test(too_many_labels_are_refused),
        cmocka_unit_test(text_and_copies_keep_order_and_content),
        cmocka_unit_test(only_common_labels_are_kept),
        cmocka_unit_test(a_failing_allocation_is_reported_and_leaks_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
