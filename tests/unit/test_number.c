/* Numbers: scanned and printed exactly, against the C library's own strtod and against values
 * from published tables of hard cases. */
#include <float.h>
#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/number.h>

#include "decimal.h"

static uint64_t random_state = 20261125;

/* xorshift64* (S. Vigna, ACM Trans. Math. Softw. 42 (2016) 30) */
static uint64_t random_bits(void)
{
    random_state ^= random_state >> 12;
    random_state ^= random_state << 25;
    random_state ^= random_state >> 27;
    return random_state * UINT64_C(2685821657736338717);
}

static void assert_scans(const char *text, char point, size_t used, double expected)
{
    double value = -77.0;
    size_t got = plyecho_number_scan(text, strlen(text), point, &value);
    if (got != used || (used > 0 && memcmp(&value, &expected, sizeof value) != 0))
        fail_msg("'%s': used %zu value %.17g, expected %zu and %.17g", text, got, value, used,
                 expected);
}

static void numbers_end_where_they_end(void **state)
{
    (void)state;
    assert_scans("12.5", '.', 4, 12.5);
    assert_scans("12,5", ',', 4, 12.5);
    assert_scans("12,5", '.', 2, 12.0);
    assert_scans("12.5;3", '.', 4, 12.5);
    assert_scans("+.5", '.', 3, 0.5);
    assert_scans("-5.", '.', 3, -5.0);
    assert_scans("1e3us", '.', 3, 1000.0);
    assert_scans("1e", '.', 1, 1.0);
    assert_scans("1e+", '.', 1, 1.0);
    assert_scans("1E-2", '.', 4, 0.01);
    assert_scans("-0", '.', 2, -0.0);
    assert_scans("0x10", '.', 1, 0.0);
    assert_scans("000000000000000000000000000012.50000000000000000000000", '.', 54, 12.5);
    const char *const none[] = {"",    "-",   "+",    ".",  "-.", "e5",
                                "nan", "inf", "-inf", " 1", ",5"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        assert_scans(none[i], '.', 0, 0.0);
    double value;
    assert_int_equal(plyecho_number_scan("123", 2, '.', &value), 2);
    assert_true(value == 12.0);
}

/* Ties, and cases just beside one. The first two groups: V. Paxson, "A Program for Testing
 * IEEE Decimal-Binary Conversion" (1991), tables 3 and 4; from memory, so that the C library
 * is the judge here. */
static void hard_cases_are_rounded_as_strtod_does(void **state)
{
    (void)state;
    static const char *const cases[] = {
        "5e125",
        "69e267",
        "999e-26",
        "7861e-34",
        "75569e-254",
        "928609e-261",
        "9210917e80",
        "84863171e114",
        "653777767e273",
        "5232604057e-298",
        "27235667517e-109",
        "653532977297e-123",
        "3142213164987e-294",
        "46202199371337e-72",
        "231010996856685e-73",
        "9324754620109615e212",
        "78459735791271921e49",
        "272104041512242479e200",
        "6802601037806061975e198",
        "20505426358836677347e-221",
        "836168422905420598437e-234",
        "4891559871276714924261e222",
        "9e-265",
        "85e-37",
        "623e100",
        "3571e263",
        "81661e153",
        "920657e-23",
        "4603285e-24",
        "87575437e-309",
        "245540327e122",
        "6138508175e120",
        "83356057653e193",
        "619534293513e124",
        "2335141086879e218",
        "36167929443327e-159",
        "609610927149051e-255",
        "3743626360493413e-165",
        "94080055902682397e-242",
        "899810892172646163e283",
        "7120190517612959703e120",
        "25188282901709339043e-252",
        "308984926168550152811e-52",
        "6372891218502368041059e64",
        "9007199254740993",
        "9007199254740993.0000000000000000000000000000000000000001",
        "9007199254740992.9999999999999999999999999999",
        "1.7976931348623157e308",
        "1.7976931348623158e308",
        "2.2250738585072011e-308",
        "2.2250738585072014e-308",
        "4.9406564584124654e-324",
        "2.4703282292062327e-324",
        "2.4703282292062328e-324",
        "1e-400",
        "0e999999999999999999999",
        "1e-999999999999999999999999",
        "0.000000000000000000000000000000000000000000000000000000000000000000123e60",
        "8.881784197001252e-16",
        "1e23",
        "1e22",
        "18446744073709551615",
        "18446744073709551616",
        "99999999999999999999999999999999999999999e-41"};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_scans(cases[i], '.', strlen(cases[i]), strtod(cases[i], NULL));
    double value = 0.0;
    assert_int_equal(plyecho_number_scan("1e999", 5, '.', &value), 5);
    assert_true(isinf(value));
}

/* The exact half between two neighbours, written out in full: one more digit decides. */
static void digits_without_end_decide_a_tie(void **state)
{
    (void)state;
    static char text[4000];
    for (int i = 0; i < 300; i++) {
        double low = 1.0 + (double)(random_bits() >> 12) * DBL_EPSILON;
        int scale = (int)(random_bits() % 1200) - 600;
        low = ldexp(low, scale);
        long double half = ((long double)low + (long double)nextafter(low, HUGE_VAL)) / 2;
        int size = snprintf(text, sizeof text, "%.1200Lf", half);
        const char *const tails[] = {"", "0000", "0001"};
        for (size_t t = 0; t < 3; t++) {
            strcpy(text + size, tails[t]);
            assert_scans(text, '.', strlen(text), strtod(text, NULL));
        }
    }
}

static void random_digits_are_rounded_as_strtod_does(void **state)
{
    (void)state;
    char text[80];
    for (int i = 0; i < 400000; i++) {
        int digits = 1 + (int)(random_bits() % 19), exponent = (int)(random_bits() % 140) - 80;
        uint64_t word = random_bits();
        for (int d = digits; d < 20; d++)
            word /= 10;
        snprintf(text, sizeof text, "%llue%d", (unsigned long long)word, exponent);
        assert_scans(text, '.', strlen(text), strtod(text, NULL));
    }
    for (int i = 0; i < 100000; i++) {
        uint64_t bits = random_bits();
        double value;
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value))
            continue;
        snprintf(text, sizeof text, "%.*e", (int)(random_bits() % 25), value);
        assert_scans(text, '.', strlen(text), strtod(text, NULL));
    }
}

static void every_power_of_ten_is_right(void **state)
{
    (void)state;
    char text[32];
    for (int e = -400; e <= 400; e++)
        for (int m = 1; m < 200; m += 7) {
            snprintf(text, sizeof text, "%de%d", m, e);
            assert_scans(text, '.', strlen(text), strtod(text, NULL));
        }
}

static void the_decimal_sign_moves_without_a_second_rounding(void **state)
{
    (void)state;
    struct pe_decimal decimal;
    for (int i = 0; i < 20000; i++) {
        char text[40], moved[48];
        snprintf(text, sizeof text, "%.*g", 1 + (int)(random_bits() % 17),
                 (double)(random_bits() >> 20) * 1e-9);
        pe_decimal_scan(text, strlen(text), '.', &decimal);
        int exponent = 0;
        char *e = strchr(text, 'e');
        if (e != NULL) {
            exponent = atoi(e + 1);
            *e = '\0';
        }
        snprintf(moved, sizeof moved, "%se%d", text, exponent - 6);
        assert_true(pe_decimal_value(&decimal, -6) == strtod(moved, NULL));
    }
}

static void the_last_printed_digit_is_known(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int last;
    } cases[] = {{"1.250", -3}, {"1250", 0}, {"1.5e-6", -7}, {"12e2", 2}, {"0.000", -3}};
    struct pe_decimal decimal;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        pe_decimal_scan(cases[i].text, strlen(cases[i].text), '.', &decimal);
        assert_int_equal(decimal.last_exponent, cases[i].last);
    }
}

static void arguments_take_suffixes_and_nothing_else(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double value;
    } good[] = {{"12.5", 12.5}, {"79.972M", 79972000.0}, {"4k", 4000.0}, {"1G", 1e9},
                {"-3", -3.0},   {"1.25e7", 1.25e7},      {"1e3k", 1e6},  {"0", 0.0}};
    double value;
    struct plyecho_error err;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_int_equal(plyecho_number_parse(good[i].text, &value, &err), PLYECHO_OK);
        assert_true(value == good[i].value);
    }
    static const char *const bad[] = {"",       "M",   "12,5mm", "5m",    "5 M", "1e999",
                                      "1e306M", "nan", "inf",    "0x1p3", "5MM", " 5",
                                      "5 ",     "--5", "1e",     "12.5.1"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        value = 42.0;
        assert_int_equal(plyecho_number_parse(bad[i], &value, &err), PLYECHO_BAD_NUMBER);
        assert_true(value == 42.0);
        assert_non_null(strstr(err.text, bad[i]));
    }
}

static void assert_prints(double value, const char *expected)
{
    char out[PLYECHO_NUMBER_ROOM];
    assert_string_equal(plyecho_number_format(value, out), expected);
}

static void numbers_print_as_people_write_them(void **state)
{
    (void)state;
    assert_prints(0.0, "0");
    assert_prints(-0.0, "-0");
    assert_prints(1e8, "100000000");
    assert_prints(79972000.0, "79972000");
    assert_prints(0.1, "0.1");
    assert_prints(-12.5, "-12.5");
    assert_prints(1.0 / 3.0, "0.3333333333333333");
    assert_prints(1e-5, "0.00001");
    assert_prints(1e-6, "1e-6");
    assert_prints(1.5e-7, "1.5e-7");
    assert_prints(1e16, "1e16");
    assert_prints(123456789012345678.0, "1.2345678901234568e17");
    assert_prints(5e-324, "5e-324");
    assert_prints(DBL_MAX, "1.7976931348623157e308");
    /* a power of two has a nearer neighbour below: only the digit above serves */
    assert_prints(ldexp(1.0, -44), "5.684341886080802e-14");
    assert_prints(NAN, "");
    assert_prints(-HUGE_VAL, "");
    char out[PLYECHO_NUMBER_ROOM];
    assert_string_equal(plyecho_number_format_float(0.1F, out), "0.1");
    assert_string_equal(plyecho_number_format_float(-16777216.0F, out), "-16777216");
    assert_string_equal(plyecho_number_format_float(FLT_MAX, out), "3.4028235e38");
    assert_string_equal(plyecho_number_format_float(1e-45F, out), "1e-45");
    assert_string_equal(plyecho_number_format_float(NAN, out), "");
    assert_string_equal(pe_decimal_format(1e-8, 6, out), "0.01");
    assert_string_equal(pe_decimal_format_fixed(-12340, 3, out), "-12.34");
    assert_string_equal(pe_decimal_format_fixed(0, 3, out), "0");
}

/* Fewest digits for which the C library's own printf and strtod agree. */
static int fewest_digits(double value, bool single)
{
    char text[64];
    for (int digits = 1; digits < 17; digits++) {
        snprintf(text, sizeof text, "%.*e", digits - 1, value);
        if (single ? strtof(text, NULL) == (float)value : strtod(text, NULL) == value)
            return digits;
    }
    return 17;
}

static int count_digits(const char *text)
{
    int count = 0, zeros = 0;
    for (; *text != '\0' && *text != 'e'; text++)
        if (*text >= '0' && *text <= '9') {
            if (count == 0 && *text == '0')
                continue;
            zeros = *text == '0' ? zeros + 1 : 0;
            count++;
        }
    return count - zeros;
}

static void printed_numbers_are_shortest_and_read_back(void **state)
{
    (void)state;
    char out[PLYECHO_NUMBER_ROOM];
    for (int i = 0; i < 60000; i++) {
        uint64_t bits = random_bits();
        double value;
        memcpy(&value, &bits, sizeof value);
        if (i % 3 == 0)
            value = (double)(int64_t)(bits >> 40) / 1000.0;
        if (!isfinite(value))
            continue;
        plyecho_number_format(value, out);
        assert_true(strtod(out, NULL) == value);
        assert_true(count_digits(out) <= fewest_digits(value, false));
    }
    for (int i = 0; i < 300000; i++) {
        uint32_t bits = (uint32_t)(random_bits() >> 32);
        float value;
        memcpy(&value, &bits, sizeof value);
        if (i % 3 != 0)
            value = (float)((double)(int32_t)bits / 2147483648.0 * (i % 3 == 1 ? 1.0 : 1000.0));
        if (!isfinite(value))
            continue;
        plyecho_number_format_float(value, out);
        double back = 0.0;
        assert_int_equal(plyecho_number_scan(out, strlen(out), '.', &back), strlen(out));
        assert_true(strtof(out, NULL) == value && (float)back == value);
        assert_true(count_digits(out) <= fewest_digits((double)value, true));
    }
}

static void a_locale_with_decimal_comma_changes_nothing(void **state)
{
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8",
                                        "nl_NL.UTF-8"};
    bool found = false;
    for (size_t i = 0; i < sizeof names / sizeof names[0] && !found; i++)
        found = setlocale(LC_ALL, names[i]) != NULL;
    if (!found)
        skip();
    numbers_end_where_they_end(state);
    numbers_print_as_people_write_them(state);
    double value;
    assert_int_equal(plyecho_number_scan("1.5e-300", 8, '.', &value), 8);
    setlocale(LC_ALL, "C");
    assert_true(value == 1.5e-300);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_end_where_they_end),
        cmocka_unit_test(hard_cases_are_rounded_as_strtod_does),
        cmocka_unit_test(digits_without_end_decide_a_tie),
        cmocka_unit_test(random_digits_are_rounded_as_strtod_does),
        cmocka_unit_test(every_power_of_ten_is_right),
        cmocka_unit_test(the_decimal_sign_moves_without_a_second_rounding),
        cmocka_unit_test(the_last_printed_digit_is_known),
        cmocka_unit_test(arguments_take_suffixes_and_nothing_else),
        cmocka_unit_test(numbers_print_as_people_write_them),
        cmocka_unit_test(printed_numbers_are_shortest_and_read_back),
        cmocka_unit_test(a_locale_with_decimal_comma_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
