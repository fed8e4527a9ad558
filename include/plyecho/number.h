/* number.h - numbers as people and instruments write them, always in the C locale
 */
#ifndef PLYECHO_NUMBER_H
#define PLYECHO_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

enum { PLYECHO_NUMBER_ROOM = 32 }; /* bytes that any formatted number fits into */

/* Scan a decimal number at the start of text[0..size): optional sign, digits with `point` as
 * the decimal sign ('.' or ','), optional exponent. Returns the bytes used, 0 where there is no
 * number. The value is correctly rounded. "nan", "inf" and hexadecimal are not numbers here. */
PLYECHO_API size_t plyecho_number_scan(const char *text, size_t size, char point,
                                       double *value);

/* A whole argument: a plain number, an exponent or one of the suffixes k, M, G (1e3, 1e6, 1e9).
 * Anything left over, an overflow or an empty text is PLYECHO_BAD_NUMBER with the text named.
 */
PLYECHO_API enum plyecho_code plyecho_number_parse(const char *text, double *value,
                                                   struct plyecho_error *err);

/* Shortest text that reads back as the same double; "nan" and "inf" come out as "".
 * Returns out. */
PLYECHO_API const char *plyecho_number_format(double value, char out[PLYECHO_NUMBER_ROOM]);

/* The same for a sample: shortest text that reads back as the same float. */
PLYECHO_API const char *plyecho_number_format_float(float value, char out[PLYECHO_NUMBER_ROOM]);

#endif
