/* csv_columns.h - which column is the axis and which are channels
 */
#ifndef PLYECHO_LIB_CSV_COLUMNS_H
#define PLYECHO_LIB_CSV_COLUMNS_H

#include "csv_heading.h"
#include "csv_layout.h"
#include "csv_rows.h"

struct pe_csv_columns {
    bool has_axis;
    struct pe_csv_heading axis;      /* role PE_CSV_UNKNOWN where no heading says what it is */
    struct pe_csv_heading amplitude; /* of the first channel */
    size_t channels;
};

/* From the headings, and where they say nothing, from the first rows: a first column that only
 * goes forward (or only backwards) is an axis. Fills rows->channel_of. */
enum plyecho_code pe_csv_columns_find(const struct pe_csv_layout *layout, const char *end,
                                      struct pe_csv_columns *columns, struct pe_csv_rows *rows,
                                      struct plyecho_error *err);

/* What headings say of channels, as labels: their names as `name[n]`, where those are more than a
 * number, and units as `unit[n]`, where they differ from that of the first channel. */
enum plyecho_code pe_csv_columns_label(const struct pe_csv_layout *layout,
                                       const struct pe_csv_rows *rows,
                                       struct plyecho_labels *labels,
                                       struct plyecho_error *err);

#endif
