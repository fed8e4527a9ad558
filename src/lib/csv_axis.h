/* csv_axis.h - the even steps behind a column of rounded times
 */
#ifndef PLYECHO_LIB_CSV_AXIS_H
#define PLYECHO_LIB_CSV_AXIS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <plyecho/error.h>

/* The printed values, and how finely the column is printed: never finer than 10^finest, and
 * never with more digits than `significant`. (Trailing zeros may be left out, so a single value
 * does not tell.) */
struct pe_csv_axis {
    const double *value;
    size_t count; /* at least 2 */
    int finest;
    int significant;
};

struct pe_csv_steps {
    double step;  /* of the line through all rows, in the column's unit */
    double start; /* of row 0 on that line */
    double room; /* relative: how far rounding of the first and last row leaves the step open */
    /* The step, or its inverse, is digits x 10^exponent where few digits explain all rows.
     * Digits is 0 where none do: then `step` is all that is known. */
    uint64_t digits;
    int exponent;
    bool inverse;    /* the digits are those of 1/step */
    bool start_kept; /* start is the value printed in row 0 */
    size_t bad_row;  /* after PLYECHO_BAD_TIME_BASE: this row does not follow the one before */
};

/* A printed time may be off by half a unit of the last digit. Any line that passes all rows
 * within that is possible; the steps of all these lines form an interval, and within it the
 * number with the fewest digits is taken where that can hardly be chance, else the middle. Rows
 * off the best line by a tenth of a step more than their rounding are PLYECHO_BAD_TIME_BASE
 * (err without text).
 */
enum plyecho_code pe_csv_axis_fit(const struct pe_csv_axis *axis, struct pe_csv_steps *steps);

#endif
