/* csv_rows.h - rows of numbers to one column of times and channels of samples
 */
#ifndef PLYECHO_LIB_CSV_ROWS_H
#define PLYECHO_LIB_CSV_ROWS_H

#include <stdbool.h>
#include <stdint.h>

#include "csv_layout.h"

enum { PE_CSV_AXIS = -1, PE_CSV_IGNORED = -2 };

struct pe_csv_rows {
    /* by the caller: for each column its channel from 0, or one of the two above */
    int16_t channel_of[PE_CSV_MOST_COLUMNS];
    /* by the reader: the axis column, row by row, the finest power of ten of a last digit in
     * it, and its most digits as one integer */
    double *axis;
    int64_t finest;
    uint64_t most_digits;
    bool whole_numbers; /* all samples are written without fraction and exponent */
};

/* Read all rows into traces->amplitude (channel-major), which is made here. */
enum plyecho_code pe_csv_rows_read(const struct pe_csv_layout *layout, const char *end,
                                   size_t channels, struct pe_csv_rows *rows,
                                   struct plyecho_traces *traces, struct plyecho_error *err);

/* Number of the line that holds a row (from 0). */
long pe_csv_rows_line(const struct pe_csv_layout *layout, const char *end, size_t row);

void pe_csv_rows_clear(struct pe_csv_rows *rows);

#endif
