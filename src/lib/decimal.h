/* decimal.h - decimal text to binary and back, correctly rounded, whatever the locale
 *
 * The public face is plyecho/number.h. What is here lets a reader scan first and convert later,
 * and move the decimal sign on the way (12.5 us is 12.5e-6 s, rounded once, not twice).
 */
#ifndef PLYECHO_LIB_DECIMAL_H
#define PLYECHO_LIB_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <plyecho/number.h>

/* value = digits x 10^exponent, with the sign in `negative`. */
struct pe_decimal {
    uint64_t digits; /* the significant digits, at most 19 of them */
    int64_t exponent;
    int64_t last_exponent; /* power of ten of the last printed digit: -3 for 1.250 */
    bool negative;
    bool cut;         /* more than 19 significant digits: the value comes from the text */
    const char *text; /* where it was scanned */
    size_t used;      /* bytes of text */
};

/* Scan a number at the start of text, see plyecho_number_scan. Returns decimal->used. */
size_t pe_decimal_scan(const char *text, size_t size, char point, struct pe_decimal *decimal);

/* The value times 10^shift, correctly rounded; +-HUGE_VAL beyond the range of double. */
double pe_decimal_value(const struct pe_decimal *decimal, int shift);

/* digits x 10^exponent for at most 19 digits, correctly rounded where *exact comes back true.
 */
double pe_decimal_compose(uint64_t digits, int64_t exponent, bool *exact);

/* Shortest text of value x 10^shift: scanned with the shift -shift it gives value back. */
const char *pe_decimal_format(double value, int shift, char out[PLYECHO_NUMBER_ROOM]);

/* A number of value fixed decimals without trailing zeros: 12345, 3 -> "12.345". */
const char *pe_decimal_format_fixed(int64_t value, int decimals, char out[PLYECHO_NUMBER_ROOM]);

#endif
