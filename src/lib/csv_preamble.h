/* csv_preamble.h - labels and settings in the lines ahead of the rows
 */
#ifndef PLYECHO_LIB_CSV_PREAMBLE_H
#define PLYECHO_LIB_CSV_PREAMBLE_H

#include "csv_heading.h"
#include "csv_layout.h"

/* What the preamble says beside its labels; 0 or no word where it says nothing. */
struct pe_csv_settings {
    double sample_rate_hz; /* from a line like "Sample rate: 100 MHz" or "Interval;10;ns" */
    double velocity_m_s;
    struct pe_csv_unit axis_unit;      /* from a line like "X unit: us" */
    struct pe_csv_unit amplitude_unit; /* "Y unit: mV" */
};

/* Lines `# key: value` are labels; settings are looked for in all lines. */
enum plyecho_code pe_csv_preamble_read(const struct pe_csv_layout *layout,
                                       struct plyecho_labels *labels,
                                       struct pe_csv_settings *settings,
                                       struct plyecho_error *err);

#endif
