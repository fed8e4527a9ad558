#include "decimal.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Significant digits d1 d2 d3... with the decimal sign after d1, times 10^exponent. */
struct shortest {
    char digits[20];
    int count;
    int exponent;
};

enum { PLAIN_FIRST = -5, PLAIN_LAST = 15 }; /* exponents that are written without `e` */

static void drop_trailing_zeros(struct shortest *s)
{
    while (s->count > 1 && s->digits[s->count - 1] == '0')
        s->count--;
}

/* Digits of an integer times 10^exponent. */
static void from_integer(uint64_t value, int exponent, struct shortest *s)
{
    char reversed[20];
    int count = 0;
    do {
        reversed[count++] = (char)('0' + value % 10);
        value /= 10;
    } while (value > 0);
    for (int i = 0; i < count; i++)
        s->digits[i] = reversed[count - 1 - i];
    s->count = count;
    s->exponent = exponent + count - 1;
    drop_trailing_zeros(s);
}

/* `precision` digits of a positive value. printf rounds correctly; its decimal sign, which
 * depends on the locale, is stepped over. Returns the digits as an integer. */
static uint64_t print_digits(double value, int precision, int *exponent)
{
    char text[64];
    snprintf(text, sizeof text, "%.*e", precision - 1, value);
    uint64_t digits = 0;
    const char *p = text;
    for (; *p != 'e' && *p != '\0'; p++)
        if (*p >= '0' && *p <= '9')
            digits = digits * 10 + (uint64_t)(*p - '0');
    *exponent = *p == 'e' ? atoi(p + 1) - (precision - 1) : 0;
    return digits;
}

static double read_back(uint64_t digits, int exponent)
{
    char text[PLYECHO_NUMBER_ROOM];
    bool exact;
    double value = pe_decimal_compose(digits, exponent, &exact);
    if (!exact) {
        snprintf(text, sizeof text, "%llue%d", (unsigned long long)digits, exponent);
        value = strtod(text, NULL);
    }
    return value;
}

static bool same(double value, double back, bool single)
{
    return single ? (float)back == (float)value : back == value;
}

/* A type of n sure digits gives any decimal of n digits back, so the n-digit text without its
 * trailing zeros is the shortest where it serves at all. Only subnormals are poorer. */
static void find_shortest(double value, bool single, struct shortest *s)
{
    const int sure = single ? FLT_DIG : DBL_DIG;
    const int most = single ? FLT_DECIMAL_DIG : DBL_DECIMAL_DIG;
    const double least = single ? (double)FLT_MIN : DBL_MIN;
    for (int precision = value < least ? 1 : sure; precision <= most; precision++) {
        int exponent;
        uint64_t digits = print_digits(value, precision, &exponent);
        /* below a power of two the neighbours are nearer: only the digits above may serve */
        if (!same(value, read_back(digits, exponent), single)) {
            digits++;
            if (precision < most && !same(value, read_back(digits, exponent), single))
                continue;
        }
        from_integer(digits, exponent, s);
        return;
    }
}

static const char *lay_out(const struct shortest *s, bool negative, char *out)
{
    char *p = out;
    int exponent = s->exponent, i = 0;
    if (negative)
        *p++ = '-';
    if (exponent < PLAIN_FIRST || exponent > PLAIN_LAST) {
        *p++ = s->digits[i++];
        if (i < s->count)
            *p++ = '.';
        while (i < s->count)
            *p++ = s->digits[i++];
        snprintf(p, 8, "e%d", exponent);
        return out;
    }
    for (int place = exponent; place >= 0; place--)
        *p++ = i < s->count ? s->digits[i++] : '0';
    if (exponent < 0)
        *p++ = '0';
    if (i < s->count)
        *p++ = '.';
    for (int place = -1; place > exponent; place--)
        *p++ = '0';
    while (i < s->count)
        *p++ = s->digits[i++];
    *p = '\0';
    return out;
}

static const char *format(double value, bool single, int shift, char *out)
{
    struct shortest s = {.digits = "0", .count = 1};
    if (!isfinite(value)) {
        out[0] = '\0';
        return out;
    }
    if (value != 0.0) {
        find_shortest(fabs(value), single, &s);
        s.exponent += shift;
    }
    return lay_out(&s, signbit(value), out);
}

const char *pe_decimal_format(double value, int shift, char out[PLYECHO_NUMBER_ROOM])
{
    return format(value, false, shift, out);
}

const char *pe_decimal_format_fixed(int64_t value, int decimals, char out[PLYECHO_NUMBER_ROOM])
{
    struct shortest s = {.digits = "0", .count = 1};
    uint64_t size = value < 0 ? 0U - (uint64_t)value : (uint64_t)value;
    if (size > 0)
        from_integer(size, -decimals, &s);
    return lay_out(&s, value < 0, out);
}

const char *plyecho_number_format(double value, char out[PLYECHO_NUMBER_ROOM])
{
    return format(value, false, 0, out);
}

/* Samples are many, so the usual ones go without printf: with at most 9 digits and a power of
 * ten up to 22 both steps below are exact or rounded once. */
static bool find_shortest_fast(double value, struct shortest *s)
{
    static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                    1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    if (!(value >= 1e-13 && value < 1e6))
        return false;
    int decimals = FLT_DIG;
    for (double low = 1.0; value < low && decimals < 22; low /= 10)
        decimals++;
    for (int i = 1; i < FLT_DIG && value >= powers[i]; i++)
        decimals--;
    for (int more = 0; more <= FLT_DECIMAL_DIG - FLT_DIG; more++) {
        int d = decimals - 1 + more;
        if (d > 22)
            return false;
        double digits = nearbyint(value * powers[d]);
        if ((float)(digits / powers[d]) == (float)value) {
            from_integer((uint64_t)digits, -d, s);
            return true;
        }
    }
    return false;
}

const char *plyecho_number_format_float(float value, char out[PLYECHO_NUMBER_ROOM])
{
    struct shortest s = {.digits = "0", .count = 1};
    if (!isfinite(value)) {
        out[0] = '\0';
        return out;
    }
    double size = fabs((double)value);
    if (size != 0.0 && !find_shortest_fast(size, &s))
        find_shortest(size, true, &s);
    return lay_out(&s, signbit(value), out);
}
