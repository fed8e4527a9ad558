#include <config.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "table.h"
#include "utf8.h"

static const struct column columns[] = {
    {.name = "trace", .kind = COLUMN_FILE, .width = 8},
    {.name = "channel", .kind = COLUMN_COUNT},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "thickness_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    {.name = "rate_hz", .kind = COLUMN_NUMBER, .where = COLUMN_NOT_IN_TEXT},
    {.name = "digest", .kind = COLUMN_TEXT, .where = COLUMN_ONLY_IN_JSON},
    {.name = "reason", .kind = COLUMN_TEXT},
};
enum { COLUMNS = sizeof columns / sizeof columns[0] };

static const struct cell *row(const char *trace, double thickness_mm, const char *reason)
{
    static struct cell cells[COLUMNS];
    cells[0] = cell_text(trace);
    cells[1] = cell_count(12);
    cells[2] = cell_yes_no(true);
    cells[3] = cell_number(thickness_mm);
    cells[4] = cell_number(79972000.25);
    cells[5] = cell_text("abc");
    cells[6] = cell_text(reason);
    return cells;
}

/* A table of one row, header included unless no_header; freed by the caller. */
static char *print(enum table_format format, bool no_header, const struct cell *cells)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    const struct table_values values = {.format = {true, format}, .no_header = no_header};
    struct table table;
    table_begin(&table, &values, columns, COLUMNS, to);
    assert_true(table_row(&table, cells));
    fclose(to);
    return text;
}

static void check(enum table_format format, bool no_header, const struct cell *cells,
                  const char *expected)
{
    char *text = print(format, no_header, cells);
    assert_string_equal(text, expected);
    free(text);
}

static void test_text(void **state)
{
    (void)state;
    check(TABLE_TEXT, false, row("a.wav", 2.0 / 3.0, "it is so"),
          "trace     channel  flagged  thickness_mm  reason\n"
          "a.wav          12  yes             0.667  it is so\n");
    check(TABLE_TEXT, true, row("a-longer-name.wav", NAN, NULL),
          "a-longer-name.wav       12  yes                 -  -\n");
    /* a letter of two bytes takes one place; control characters do not reach the terminal */
    check(TABLE_TEXT, true, row("\xc3\xa4.wav", 1.0, "a\x1b[2Jb\nc"),
          "\xc3\xa4.wav          12  yes             1.000  a?[2Jb?c\n");
}

static void test_csv(void **state)
{
    (void)state;
    check(TABLE_CSV, false, row("a.wav", 2.0 / 3.0, "it is so"),
          "trace,channel,flagged,thickness_mm,rate_hz,reason\n"
          "a.wav,12,yes,0.666667,79972000.25,it is so\n");
    check(TABLE_CSV, true, row("a.wav", INFINITY, NULL), "a.wav,12,yes,,79972000.25,\n");
    /* spaces belong to the text (rule 4), but many readers trim what is not quoted */
    check(TABLE_CSV, true, row(" a", 1.0, "b "), "\" a\",12,yes,1,79972000.25,\"b \"\n");
    /* RFC 4180, section 2, rules 6 and 7 */
    check(TABLE_CSV, true, row("a,b.wav", 1.0, "6\" pipe\nnext"),
          "\"a,b.wav\",12,yes,1,79972000.25,\"6\"\" pipe\nnext\"\n");
}

/* To the power of ten nearest to a hundredth of the standard uncertainty; JSON has it all. */
static void test_csv_measured(void **state)
{
    (void)state;
    static const struct {
        double number, u;
        const char *expected;
    } cases[] = {
        {3.20145678, 0.0112, "3.2015"},   {3.20145678, 0.1, "3.201"},
        {3.20145678, 0.0033, "3.2015"},   {3.20145678, 0.0031, "3.20146"},
        {3.20145678, 2.5e-4, "3.201457"}, {1234.5678, 300.0, "1235"},
        {3.20145678, 0.0, "3.20146"},     {3.2, 0.0112, "3.2"},
        {1e300, 1e-300, "1e300"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct cell cells[COLUMNS];
        char line[100];
        memcpy(cells, row("a.wav", 1.0, NULL), sizeof cells);
        cells[3] = cell_measured(cases[i].number, cases[i].u);
        snprintf(line, sizeof line, "a.wav,12,yes,%s,79972000.25,\n", cases[i].expected);
        check(TABLE_CSV, true, cells, line);
    }
    struct cell cells[COLUMNS];
    memcpy(cells, row("a.wav", 1.0, NULL), sizeof cells);
    cells[3] = cell_measured(3.20145678, 0.0112);
    char *text = print(TABLE_JSON, false, cells);
    assert_non_null(strstr(text, "\"thickness_mm\": 3.20145678,"));
    free(text);
}

static void test_csv_formulas(void **state)
{
    (void)state;
    check(TABLE_CSV, true, row("=1+1.wav", 1.0, "=1+1"),
          "./=1+1.wav,12,yes,1,79972000.25,'=1+1\n");
    check(TABLE_CSV, true, row("@a,b.wav", 1.0, "-dry, wet"),
          "\"./@a,b.wav\",12,yes,1,79972000.25,\"'-dry, wet\"\n");
    check(TABLE_CSV, true, row("-", -1.0, "+"), "-,12,yes,-1,79972000.25,'+\n");
    /* JSON is for programs: as it is */
    check(TABLE_CSV, true, row("-", -1.0, "-1.5"), "-,12,yes,-1,79972000.25,-1.5\n");
    check(TABLE_CSV, true, row("-", -1.0, "-1.5+A1"), "-,12,yes,-1,79972000.25,'-1.5+A1\n");
    check(TABLE_JSON, true, row("=1.wav", 1.0, "-x"),
          "{\"trace\": \"=1.wav\", \"channel\": 12, \"flagged\": true, \"thickness_mm\": 1, "
          "\"rate_hz\": 79972000.25, \"digest\": \"abc\", \"reason\": \"-x\"}\n");
}

static void test_json(void **state)
{
    (void)state;
    check(TABLE_JSON, false, row("a.wav", 0.1, NULL),
          "{\"trace\": \"a.wav\", \"channel\": 12, \"flagged\": true, \"thickness_mm\": 0.1, "
          "\"rate_hz\": 79972000.25, \"digest\": \"abc\", \"reason\": null}\n");
    /* RFC 8259, section 7; 0xff is no UTF-8 */
    check(TABLE_JSON, false, row("a\xff\"\\.wav", NAN, "\b\t\n\x01/"),
          "{\"trace\": \"a\xef\xbf\xbd\\\"\\\\.wav\", \"channel\": 12, \"flagged\": true, "
          "\"thickness_mm\": null, \"rate_hz\": 79972000.25, \"digest\": \"abc\", "
          "\"reason\": \"\\b\\t\\n\\u0001/\"}\n");
}

static void test_full_device(void **state)
{
    (void)state;
    FILE *to = fopen("/dev/full", "w");
    if (to == NULL)
        skip();
    const struct table_values values = {.format = {true, TABLE_CSV}};
    struct table table;
    table_begin(&table, &values, columns, COLUMNS, to);
    assert_false(table_row(&table, row("a.wav", 1.0, NULL)));
    fclose(to);
}

static void check_utf8(const char *bytes, const char *expected)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    utf8_put(to, bytes, UTF8_CSV);
    fclose(to);
    assert_string_equal(text, expected);
    free(text);
}

/* Which byte sequences are characters: RFC 3629, section 4 */
static void test_utf8(void **state)
{
    (void)state;
    static const char *const valid[] = {
        "a",
        "\xc2\xa0",
        "\xdf\xbf",
        "\xe0\xa0\x80",
        "\xed\x9f\xbf",
        "\xee\x80\x80",
        "\xef\xbf\xbf",
        "\xf0\x90\x80\x80",
        "\xf4\x8f\xbf\xbf",
    };
    for (size_t i = 0; i < sizeof valid / sizeof valid[0]; i++) {
        check_utf8(valid[i], valid[i]);
        assert_int_equal(utf8_length(valid[i]), 1);
    }
    check_utf8("\xc2\x9b", "?"); /* a control, ISO 6429 */
    static const char *const invalid[] = {
        "\x80",
        "\xc0\x80",
        "\xc1\xbf",
        "\xc3",
        "\xe0\x9f\xbf",
        "\xe2\x82",
        "\xed\xa0\x80",
        "\xf0\x8f\xbf\xbf",
        "\xf4\x90\x80\x80",
        "\xf5\x80\x80\x80",
        "\xff",
    };
    for (size_t i = 0; i < sizeof invalid / sizeof invalid[0]; i++) {
        char expected[32] = "";
        for (size_t k = 0; k < strlen(invalid[i]); k++)
            strcat(expected, "\xef\xbf\xbd");
        check_utf8(invalid[i], expected);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text),         cmocka_unit_test(test_csv),
        cmocka_unit_test(test_csv_measured), cmocka_unit_test(test_csv_formulas),
        cmocka_unit_test(test_json),         cmocka_unit_test(test_full_device),
        cmocka_unit_test(test_utf8),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
