#include "decimal.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Digits -> double follows W. D. Clinger, "How to read floating point numbers accurately", PLDI
 * 1990, where digits and power of ten are both exact doubles, and D. Lemire, "Number parsing at
 * a gigabyte per second", Softw. Pract. Exper. 51 (2021) 1700-1727, for the rest of the usual
 * range. What is left goes to strtod as digits and exponent without a decimal sign, so that no
 * locale plays a part. */

enum {
    EXACT_POWER = 22,  /* largest power of ten that is an exact double */
    POWER_FIRST = -64, /* first and last power of ten in the table below */
    POWER_LAST = 38,
    DIGITS_KEPT = 19,   /* fit into 64 bits */
    DIGITS_ENOUGH = 800 /* more than the 767 that can decide a rounding */
};

static const double exact_powers[EXACT_POWER + 1] = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* 5^q as 128 bits with the top bit set, cut off for q >= 0, rounded up for q < 0. */
static const struct {
    uint64_t high, low;
} powers_of_five[POWER_LAST - POWER_FIRST + 1] = {
    {0xa87fea27a539e9a5U, 0x3f2398d747b36224U}, /* -64 */
    {0xd29fe4b18e88640eU, 0x8eec7f0d19a03aadU}, /* -63 */
    {0x83a3eeeef9153e89U, 0x1953cf68300424acU}, /* -62 */
    {0xa48ceaaab75a8e2bU, 0x5fa8c3423c052dd7U}, /* -61 */
    {0xcdb02555653131b6U, 0x3792f412cb06794dU}, /* -60 */
    {0x808e17555f3ebf11U, 0xe2bbd88bbee40bd0U}, /* -59 */
    {0xa0b19d2ab70e6ed6U, 0x5b6aceaeae9d0ec4U}, /* -58 */
    {0xc8de047564d20a8bU, 0xf245825a5a445275U}, /* -57 */
    {0xfb158592be068d2eU, 0xeed6e2f0f0d56712U}, /* -56 */
    {0x9ced737bb6c4183dU, 0x55464dd69685606bU}, /* -55 */
    {0xc428d05aa4751e4cU, 0xaa97e14c3c26b886U}, /* -54 */
    {0xf53304714d9265dfU, 0xd53dd99f4b3066a8U}, /* -53 */
    {0x993fe2c6d07b7fabU, 0xe546a8038efe4029U}, /* -52 */
    {0xbf8fdb78849a5f96U, 0xde98520472bdd033U}, /* -51 */
    {0xef73d256a5c0f77cU, 0x963e66858f6d4440U}, /* -50 */
    {0x95a8637627989aadU, 0xdde7001379a44aa8U}, /* -49 */
    {0xbb127c53b17ec159U, 0x5560c018580d5d52U}, /* -48 */
    {0xe9d71b689dde71afU, 0xaab8f01e6e10b4a6U}, /* -47 */
    {0x9226712162ab070dU, 0xcab3961304ca70e8U}, /* -46 */
    {0xb6b00d69bb55c8d1U, 0x3d607b97c5fd0d22U}, /* -45 */
    {0xe45c10c42a2b3b05U, 0x8cb89a7db77c506aU}, /* -44 */
    {0x8eb98a7a9a5b04e3U, 0x77f3608e92adb242U}, /* -43 */
    {0xb267ed1940f1c61cU, 0x55f038b237591ed3U}, /* -42 */
    {0xdf01e85f912e37a3U, 0x6b6c46dec52f6688U}, /* -41 */
    {0x8b61313bbabce2c6U, 0x2323ac4b3b3da015U}, /* -40 */
    {0xae397d8aa96c1b77U, 0xabec975e0a0d081aU}, /* -39 */
    {0xd9c7dced53c72255U, 0x96e7bd358c904a21U}, /* -38 */
    {0x881cea14545c7575U, 0x7e50d64177da2e54U}, /* -37 */
    {0xaa242499697392d2U, 0xdde50bd1d5d0b9e9U}, /* -36 */
    {0xd4ad2dbfc3d07787U, 0x955e4ec64b44e864U}, /* -35 */
    {0x84ec3c97da624ab4U, 0xbd5af13bef0b113eU}, /* -34 */
    {0xa6274bbdd0fadd61U, 0xecb1ad8aeacdd58eU}, /* -33 */
    {0xcfb11ead453994baU, 0x67de18eda5814af2U}, /* -32 */
    {0x81ceb32c4b43fcf4U, 0x80eacf948770ced7U}, /* -31 */
    {0xa2425ff75e14fc31U, 0xa1258379a94d028dU}, /* -30 */
    {0xcad2f7f5359a3b3eU, 0x096ee45813a04330U}, /* -29 */
    {0xfd87b5f28300ca0dU, 0x8bca9d6e188853fcU}, /* -28 */
    {0x9e74d1b791e07e48U, 0x775ea264cf55347eU}, /* -27 */
    {0xc612062576589ddaU, 0x95364afe032a819eU}, /* -26 */
    {0xf79687aed3eec551U, 0x3a83ddbd83f52205U}, /* -25 */
    {0x9abe14cd44753b52U, 0xc4926a9672793543U}, /* -24 */
    {0xc16d9a0095928a27U, 0x75b7053c0f178294U}, /* -23 */
    {0xf1c90080baf72cb1U, 0x5324c68b12dd6339U}, /* -22 */
    {0x971da05074da7beeU, 0xd3f6fc16ebca5e04U}, /* -21 */
    {0xbce5086492111aeaU, 0x88f4bb1ca6bcf585U}, /* -20 */
    {0xec1e4a7db69561a5U, 0x2b31e9e3d06c32e6U}, /* -19 */
    {0x9392ee8e921d5d07U, 0x3aff322e62439fd0U}, /* -18 */
    {0xb877aa3236a4b449U, 0x09befeb9fad487c3U}, /* -17 */
    {0xe69594bec44de15bU, 0x4c2ebe687989a9b4U}, /* -16 */
    {0x901d7cf73ab0acd9U, 0x0f9d37014bf60a11U}, /* -15 */
    {0xb424dc35095cd80fU, 0x538484c19ef38c95U}, /* -14 */
    {0xe12e13424bb40e13U, 0x2865a5f206b06fbaU}, /* -13 */
    {0x8cbccc096f5088cbU, 0xf93f87b7442e45d4U}, /* -12 */
    {0xafebff0bcb24aafeU, 0xf78f69a51539d749U}, /* -11 */
    {0xdbe6fecebdedd5beU, 0xb573440e5a884d1cU}, /* -10 */
    {0x89705f4136b4a597U, 0x31680a88f8953031U}, /* -9 */
    {0xabcc77118461cefcU, 0xfdc20d2b36ba7c3eU}, /* -8 */
    {0xd6bf94d5e57a42bcU, 0x3d32907604691b4dU}, /* -7 */
    {0x8637bd05af6c69b5U, 0xa63f9a49c2c1b110U}, /* -6 */
    {0xa7c5ac471b478423U, 0x0fcf80dc33721d54U}, /* -5 */
    {0xd1b71758e219652bU, 0xd3c36113404ea4a9U}, /* -4 */
    {0x83126e978d4fdf3bU, 0x645a1cac083126eaU}, /* -3 */
    {0xa3d70a3d70a3d70aU, 0x3d70a3d70a3d70a4U}, /* -2 */
    {0xccccccccccccccccU, 0xcccccccccccccccdU}, /* -1 */
    {0x8000000000000000U, 0x0000000000000000U}, /* 0 */
    {0xa000000000000000U, 0x0000000000000000U}, /* 1 */
    {0xc800000000000000U, 0x0000000000000000U}, /* 2 */
    {0xfa00000000000000U, 0x0000000000000000U}, /* 3 */
    {0x9c40000000000000U, 0x0000000000000000U}, /* 4 */
    {0xc350000000000000U, 0x0000000000000000U}, /* 5 */
    {0xf424000000000000U, 0x0000000000000000U}, /* 6 */
    {0x9896800000000000U, 0x0000000000000000U}, /* 7 */
    {0xbebc200000000000U, 0x0000000000000000U}, /* 8 */
    {0xee6b280000000000U, 0x0000000000000000U}, /* 9 */
    {0x9502f90000000000U, 0x0000000000000000U}, /* 10 */
    {0xba43b74000000000U, 0x0000000000000000U}, /* 11 */
    {0xe8d4a51000000000U, 0x0000000000000000U}, /* 12 */
    {0x9184e72a00000000U, 0x0000000000000000U}, /* 13 */
    {0xb5e620f480000000U, 0x0000000000000000U}, /* 14 */
    {0xe35fa931a0000000U, 0x0000000000000000U}, /* 15 */
    {0x8e1bc9bf04000000U, 0x0000000000000000U}, /* 16 */
    {0xb1a2bc2ec5000000U, 0x0000000000000000U}, /* 17 */
    {0xde0b6b3a76400000U, 0x0000000000000000U}, /* 18 */
    {0x8ac7230489e80000U, 0x0000000000000000U}, /* 19 */
    {0xad78ebc5ac620000U, 0x0000000000000000U}, /* 20 */
    {0xd8d726b7177a8000U, 0x0000000000000000U}, /* 21 */
    {0x878678326eac9000U, 0x0000000000000000U}, /* 22 */
    {0xa968163f0a57b400U, 0x0000000000000000U}, /* 23 */
    {0xd3c21bcecceda100U, 0x0000000000000000U}, /* 24 */
    {0x84595161401484a0U, 0x0000000000000000U}, /* 25 */
    {0xa56fa5b99019a5c8U, 0x0000000000000000U}, /* 26 */
    {0xcecb8f27f4200f3aU, 0x0000000000000000U}, /* 27 */
    {0x813f3978f8940984U, 0x4000000000000000U}, /* 28 */
    {0xa18f07d736b90be5U, 0x5000000000000000U}, /* 29 */
    {0xc9f2c9cd04674edeU, 0xa400000000000000U}, /* 30 */
    {0xfc6f7c4045812296U, 0x4d00000000000000U}, /* 31 */
    {0x9dc5ada82b70b59dU, 0xf020000000000000U}, /* 32 */
    {0xc5371912364ce305U, 0x6c28000000000000U}, /* 33 */
    {0xf684df56c3e01bc6U, 0xc732000000000000U}, /* 34 */
    {0x9a130b963a6c115cU, 0x3c7f400000000000U}, /* 35 */
    {0xc097ce7bc90715b3U, 0x4b9f100000000000U}, /* 36 */
    {0xf0bdc21abb48db20U, 0x1e86d40000000000U}, /* 37 */
    {0x96769950b50d88f4U, 0x1314448000000000U}, /* 38 */
};

struct product {
    uint64_t high, low;
};

static struct product multiply(uint64_t a, uint64_t b)
{
    uint64_t a0 = a & UINT32_MAX, a1 = a >> 32, b0 = b & UINT32_MAX, b1 = b >> 32;
    uint64_t low = a0 * b0, mid = a1 * b0 + (low >> 32), cross = a0 * b1 + (mid & UINT32_MAX);
    struct product p = {a1 * b1 + (mid >> 32) + (cross >> 32),
                        (cross << 32) | (low & UINT32_MAX)};
    return p;
}

static int leading_zeros(uint64_t word)
{
    int zeros = 0;
    for (int step = 32; step > 0; step /= 2)
        if (word >> (64 - step) == 0) {
            word <<= step;
            zeros += step;
        }
    return zeros;
}

/* Lemire's algorithm for q inside the table; digits are not 0. */
static double compose_by_table(uint64_t digits, int q, bool *exact)
{
    int zeros = leading_zeros(digits);
    uint64_t w = digits << zeros;
    struct product p = multiply(w, powers_of_five[q - POWER_FIRST].high);
    if ((p.high & 0x1ff) == 0x1ff) {
        uint64_t more = multiply(w, powers_of_five[q - POWER_FIRST].low).high;
        p.low += more;
        p.high += more > p.low;
    }
    *exact = p.low != UINT64_MAX || (q >= -27 && q <= 55);
    int upper = (int)(p.high >> 63);
    uint64_t mantissa = p.high >> (upper + 9);
    /* floor(q * log2(10)), kept positive for the shift */
    int power = ((217706 * q + (1 << 26)) >> 16) - (1 << 10) + 63 + upper - zeros + 1023;
    bool half_way = p.low <= 1 && q >= -4 && q <= 23 && (mantissa & 3) == 1 &&
                    mantissa << (upper + 9) == p.high;
    if (half_way)
        mantissa &= ~(uint64_t)1; /* a tie goes to the even neighbour */
    mantissa = (mantissa + (mantissa & 1)) >> 1;
    if (mantissa >> 53 != 0) {
        mantissa >>= 1;
        power++;
    }
    uint64_t bits = (mantissa & ~((uint64_t)1 << 52)) | (uint64_t)power << 52;
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

double pe_decimal_compose(uint64_t digits, int64_t exponent, bool *exact)
{
    *exact = true;
    if (digits <= (uint64_t)1 << 53) {
        if (exponent >= 0 && exponent <= EXACT_POWER)
            return (double)digits * exact_powers[exponent];
        if (exponent < 0 && exponent >= -EXACT_POWER)
            return (double)digits / exact_powers[-exponent];
        if (digits == 0)
            return 0.0;
    }
    if (exponent >= POWER_FIRST && exponent <= POWER_LAST)
        return compose_by_table(digits, (int)exponent, exact);
    *exact = false;
    return 0.0;
}

static bool is_digit(char c)
{
    return (unsigned char)(c - '0') < 10;
}

/* The text as plain digits and an exponent, for strtod. */
static double compose_by_library(const struct pe_decimal *decimal, int shift)
{
    char plain[DIGITS_ENOUGH + 32];
    size_t count = 0;
    int64_t exponent = decimal->last_exponent + shift;
    bool rest = false;
    for (size_t i = 0; i < decimal->used; i++) {
        char c = decimal->text[i];
        if (c == 'e' || c == 'E')
            break;
        if (!is_digit(c) || (count == 0 && c == '0'))
            continue;
        if (count < DIGITS_ENOUGH) {
            plain[count++] = c;
        } else {
            rest = rest || c != '0';
            exponent++;
        }
    }
    if (count == 0)
        return 0.0;
    if (rest) {
        plain[count++] = '1'; /* stands for all that was left out */
        exponent--;
    }
    exponent = exponent > 99999 ? 99999 : exponent < -99999 ? -99999 : exponent;
    snprintf(plain + count, sizeof plain - count, "e%d", (int)exponent);
    return strtod(plain, NULL);
}

double pe_decimal_value(const struct pe_decimal *decimal, int shift)
{
    bool exact = false;
    double value = 0.0;
    if (!decimal->cut)
        value = pe_decimal_compose(decimal->digits, decimal->exponent + shift, &exact);
    if (!exact)
        value = compose_by_library(decimal, shift);
    return decimal->negative ? -value : value;
}

/* Digits that do not fit: keep the first 19 significant ones. */
static void keep_leading_digits(const char *p, const char *end, struct pe_decimal *decimal)
{
    int kept = 0;
    uint64_t digits = 0;
    for (; p < end; p++) {
        if (!is_digit(*p) || (digits == 0 && *p == '0'))
            continue;
        if (kept < DIGITS_KEPT) {
            digits = digits * 10 + (uint64_t)(*p - '0');
            kept++;
        } else {
            decimal->exponent++;
            decimal->cut = decimal->cut || *p != '0';
        }
    }
    decimal->digits = digits;
}

/* `e`, sign, digits at p; returns what follows, p itself where there is no exponent. */
static const char *scan_exponent(const char *p, const char *end, int64_t *exponent)
{
    const char *q = p + 1;
    bool negative = q < end && *q == '-';
    if (q < end && (*q == '-' || *q == '+'))
        q++;
    if (q >= end || !is_digit(*q))
        return p;
    int64_t size = 0;
    for (; q < end && is_digit(*q); q++)
        if (size < INT64_C(1000000000000))
            size = size * 10 + (*q - '0');
    *exponent = negative ? -size : size;
    return q;
}

size_t pe_decimal_scan(const char *text, size_t size, char point, struct pe_decimal *decimal)
{
    const char *p = text, *const end = text + size;
    decimal->negative = p < end && *p == '-';
    if (p < end && (*p == '-' || *p == '+'))
        p++;
    const char *const first = p;
    uint64_t digits = 0;
    for (; p < end && is_digit(*p); p++)
        digits = digits * 10 + (uint64_t)(*p - '0');
    size_t count = (size_t)(p - first);
    int64_t exponent = 0;
    if (p < end && *p == point) {
        const char *const fraction = ++p;
        for (; p < end && is_digit(*p); p++)
            digits = digits * 10 + (uint64_t)(*p - '0');
        exponent = fraction - p;
        count += (size_t)(p - fraction);
    }
    if (count == 0)
        return decimal->used = 0;
    const char *const after_digits = p;
    if (p < end && (*p == 'e' || *p == 'E')) {
        int64_t explicit_exponent = 0;
        p = scan_exponent(p, end, &explicit_exponent);
        exponent += explicit_exponent;
    }
    decimal->digits = digits;
    decimal->exponent = exponent;
    decimal->last_exponent = exponent;
    decimal->cut = false;
    decimal->text = text;
    if (count > DIGITS_KEPT)
        keep_leading_digits(first, after_digits, decimal);
    return decimal->used = (size_t)(p - text);
}
