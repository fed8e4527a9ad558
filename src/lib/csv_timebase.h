/* csv_timebase.h - from a column of the axis to sample rate and start
 */
#ifndef PLYECHO_LIB_CSV_TIMEBASE_H
#define PLYECHO_LIB_CSV_TIMEBASE_H

#include <plyecho/tracefile.h>

#include "csv_axis.h"
#include "csv_columns.h"
#include "csv_preamble.h"

/* Everything that may say something about time. */
struct pe_csv_time_sources {
    const struct plyecho_read_options *options;
    const struct plyecho_labels *labels;
    const struct pe_csv_settings *settings;
    const struct pe_csv_columns *columns;
    struct pe_csv_axis axis; /* count 0 where there is no axis column */
};

/* Sets traces->sample_rate_hz and start_s, and adds to the note. After PLYECHO_BAD_TIME_BASE
 * with *bad_row > 0 the caller puts the line in; with 0 the text is complete. */
enum plyecho_code pe_csv_timebase_find(const struct pe_csv_time_sources *sources,
                                       struct plyecho_traces *traces, size_t *bad_row,
                                       struct plyecho_error *err);

/* Append a remark to traces->note. */
void pe_csv_note(struct plyecho_traces *traces, const char *format, ...) PLYECHO_PRINTF(2, 3);

#endif
