/* Tables by the names of their columns: RFC 4180, spreadsheets' ways, and refusals. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/rows.h>

#include "failing_alloc.h"

static struct plyecho_rows *good(const char *text)
{
    struct plyecho_rows *rows;
    struct plyecho_error err;
    if (plyecho_rows_read(&rows, text, strlen(text), &err) != PLYECHO_OK)
        fail_msg("line %ld: %s", err.line, err.text);
    return rows;
}

static void check_text(const struct plyecho_rows *rows, size_t row, const char *column,
                       const char *text)
{
    assert_string_equal(plyecho_rows_text(rows, row, plyecho_rows_find(rows, column)), text);
}

static void check_number(const struct plyecho_rows *rows, size_t row, const char *column,
                         double value)
{
    struct plyecho_known number;
    struct plyecho_error err;
    assert_int_equal(
        plyecho_rows_number(rows, row, plyecho_rows_find(rows, column), &number, &err),
        PLYECHO_OK);
    assert_true(number.known);
    assert_true(number.value == value);
}

/* RFC 4180, section 2: CRLF, the last one may lack, quoted cells with commas, quotes and line ends. */
static void as_rfc_4180_has_it(void **state)
{
    (void)state;
    struct plyecho_rows *rows =
        good("aaa,\"b \"\"bb\"\"\",ccc\r\n\"a\r\nb\",\"x,y\",\r\nzzz,,\"\"");
    assert_int_equal(plyecho_rows_count(rows), 2);
    check_text(rows, 0, "aaa", "a\r\nb");
    check_text(rows, 0, "b \"bb\"", "x,y");
    check_text(rows, 0, "ccc", "");
    check_text(rows, 1, "aaa", "zzz");
    check_text(rows, 1, "ccc", "");
    check_text(rows, 1, "no such", "");
    assert_int_equal(plyecho_rows_line(rows, 0), 2);
    assert_int_equal(plyecho_rows_line(rows, 1), 4);
    plyecho_rows_free(rows);
}

static void as_spreadsheets_have_it(void **state)
{
    (void)state;
    struct plyecho_rows *rows = good(
        "\xef\xbb\xbf# measured by hand\n\nangle_deg; thickness_mm ;\n15; 3,25;\n30;3.5\n\n");
    assert_int_equal(plyecho_rows_count(rows), 2);
    check_number(rows, 0, "thickness_mm", 3.25);
    check_number(rows, 1, "thickness_mm", 3.5);
    assert_int_equal(plyecho_rows_line(rows, 0), 4);
    plyecho_rows_free(rows);
    rows = good("a\tb\r1\t2,5\r");
    check_number(rows, 0, "b", 2.5);
    plyecho_rows_free(rows);
    rows = good("a,b\n");
    assert_int_equal(plyecho_rows_count(rows), 0);
    assert_true(plyecho_rows_find(rows, "c") == PLYECHO_NO_COLUMN);
    plyecho_rows_free(rows);
}

/* The last cells may be left out, which is not the same as empty. */
static void a_row_may_end_early(void **state)
{
    (void)state;
    struct plyecho_rows *rows = good("a,b,c\n1\n1,\n1,2,\n\"1\" , \"2\" ,3,\n");
    static const size_t cells[] = {1, 2, 3, 3};
    assert_int_equal(plyecho_rows_count(rows), 4);
    for (size_t i = 0; i < 4; i++)
        for (size_t k = 0; k < 4; k++)
            assert_true(plyecho_rows_has(rows, i, k) == (k < cells[i]));
    check_text(rows, 0, "c", "");
    check_text(rows, 3, "b", "2");
    assert_false(plyecho_rows_has(rows, 0, PLYECHO_NO_COLUMN));
    plyecho_rows_free(rows);
}

static void numbers_that_are_none(void **state)
{
    (void)state;
    struct plyecho_rows *rows = good("a,b\n3.2 mm,\n");
    struct plyecho_known number;
    struct plyecho_error err;
    assert_int_equal(plyecho_rows_number(rows, 0, 0, &number, &err), PLYECHO_BAD_NUMBER);
    assert_false(number.known);
    assert_int_equal(err.line, 2);
    assert_string_equal(err.text, "'3.2 mm' under a is no number");
    assert_int_equal(plyecho_rows_number(rows, 0, 1, &number, &err), PLYECHO_OK);
    assert_false(number.known);
    plyecho_rows_free(rows);
    rows = good("a,b\n1e308,-1e309\n");
    assert_int_equal(plyecho_rows_number(rows, 0, 0, &number, &err), PLYECHO_OK);
    assert_int_equal(plyecho_rows_number(rows, 0, 1, &number, &err), PLYECHO_BAD_NUMBER);
    assert_true(!number.known && number.value == 0.0);
    plyecho_rows_free(rows);
}

static void what_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t size;
        long line;
    } bad[] = {
        {"", 0, 0},
        {"\n# only\n", 8, 0},
        {"a,b\n1,2,3\n", 10, 2},
        {"a,b\n1,\"2\n3\n", 11, 2},
        {"a,b,a\n", 6, 1},
        {"a,b\n\"1\"x,2\n", 11, 2},
        {"a,b\n1,\"2\" x\n", 12, 2},
        {"a,b\n1,\"\" \"2\"\n", 13, 2},
        {"a,b\n\"1\n\"x,2\n", 12, 3},
        {"\"a\"b,c\n", 7, 1},
        {"a,b\n1\0,2\n", 9, 0},
    };
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++) {
        struct plyecho_rows *rows;
        struct plyecho_error err = {.code = PLYECHO_OK};
        assert_int_equal(plyecho_rows_read(&rows, bad[k].text, bad[k].size, &err),
                         PLYECHO_BAD_FILE);
        assert_null(rows);
        assert_int_equal(err.line, bad[k].line);
    }
    char wide[2 * (PLYECHO_ROWS_MOST_COLUMNS + 1)];
    struct plyecho_rows *rows;
    memset(wide, ',', sizeof wide);
    assert_int_equal(plyecho_rows_read(&rows, wide, sizeof wide, NULL), PLYECHO_TOO_LARGE);
    assert_null(rows);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    static const char text[] = "a,b\n1,2\n3,4\n";
    enum { ALLOCATIONS = 5 }; /* the object, its text, names, cells, lines */
    for (long n = 0; n <= ALLOCATIONS; n++) {
        struct plyecho_rows *rows;
        fail_allocation(n);
        enum plyecho_code code = plyecho_rows_read(&rows, text, sizeof text - 1, NULL);
        fail_no_allocation();
        assert_int_equal(code, n < ALLOCATIONS ? PLYECHO_NO_MEMORY : PLYECHO_OK);
        assert_true((rows == NULL) == (n < ALLOCATIONS));
        plyecho_rows_free(rows);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_rfc_4180_has_it),  cmocka_unit_test(as_spreadsheets_have_it),
        cmocka_unit_test(a_row_may_end_early), cmocka_unit_test(numbers_that_are_none),
        cmocka_unit_test(what_is_refused),     cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
