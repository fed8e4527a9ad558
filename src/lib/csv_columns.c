#include "csv_columns.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

enum { PEEK_ROWS = 16, NONE = PE_CSV_MOST_COLUMNS };

/* What the heading lines say about each column. */
static void read_headings(const struct pe_csv_layout *layout, struct pe_csv_heading *headings)
{
    struct pe_span cells[PE_CSV_MOST_COLUMNS], units[PE_CSV_MOST_COLUMNS];
    size_t count = 0, unit_count = 0;
    if (layout->names.size > 0)
        count = pe_csv_split(layout->names, layout->heading_delimiter, cells, layout->columns);
    if (layout->units.size > 0)
        unit_count =
            pe_csv_split(layout->units, layout->heading_delimiter, units, layout->columns);
    for (size_t i = 0; i < layout->columns && i < count; i++) {
        headings[i] = pe_csv_heading_of(cells[i]);
        if (i >= unit_count)
            continue;
        struct pe_csv_heading below = pe_csv_heading_of(units[i]);
        if (below.unit.word == NULL)
            continue;
        headings[i].unit = below.unit;
        headings[i].role = below.unit.role;
    }
}

static size_t first_with(const struct pe_csv_heading *headings, size_t count,
                         enum pe_csv_role role)
{
    for (size_t i = 0; i < count; i++)
        if (headings[i].role == role)
            return i;
    return NONE;
}

/* The first column of the first rows never turns round. */
static bool first_column_goes_one_way(const struct pe_csv_layout *layout, const char *end)
{
    struct pe_csv_lines lines = {.next = layout->data, .end = end, .newline = layout->newline};
    struct pe_span line;
    struct pe_decimal decimal;
    double first = 0.0, last = 0.0;
    bool up = true, down = true;
    for (size_t rows = 0; rows < PEEK_ROWS && pe_csv_next_line(&lines, &line);) {
        if (pe_csv_is_skipped(line))
            continue;
        if (pe_csv_scan_cell(line.text, line.text + line.size, layout->delimiter, layout->point,
                             &decimal) == NULL)
            break;
        double value = pe_decimal_value(&decimal, 0);
        if (rows++ == 0)
            first = value;
        else {
            up = up && value >= last;
            down = down && value <= last;
        }
        last = value;
    }
    return last != first && (up || down);
}

static size_t find_axis(const struct pe_csv_layout *layout, const char *end,
                        const struct pe_csv_heading *headings)
{
    static const enum pe_csv_role order[] = {PE_CSV_TIME, PE_CSV_DISTANCE, PE_CSV_INDEX};
    if (layout->columns < 2)
        return NONE;
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        size_t column = first_with(headings, layout->columns, order[i]);
        if (column != NONE)
            return column;
    }
    bool open = headings[0].role == PE_CSV_UNKNOWN;
    return open && first_column_goes_one_way(layout, end) ? 0 : NONE;
}

static void assign(const struct pe_csv_layout *layout, const struct pe_csv_heading *headings,
                   size_t axis, struct pe_csv_columns *columns, struct pe_csv_rows *rows)
{
    columns->has_axis = axis != NONE;
    if (columns->has_axis)
        columns->axis = headings[axis];
    for (size_t i = 0; i < layout->columns; i++) {
        enum pe_csv_role role = headings[i].role;
        bool sample =
            layout->columns == 1 || role == PE_CSV_UNKNOWN || role == PE_CSV_AMPLITUDE;
        if (i == axis) {
            rows->channel_of[i] = PE_CSV_AXIS;
        } else if (!sample) {
            rows->channel_of[i] = PE_CSV_IGNORED;
        } else {
            if (columns->channels == 0)
                columns->amplitude = headings[i];
            rows->channel_of[i] = (int16_t)columns->channels++;
        }
    }
}

enum plyecho_code pe_csv_columns_find(const struct pe_csv_layout *layout, const char *end,
                                      struct pe_csv_columns *columns, struct pe_csv_rows *rows,
                                      struct plyecho_error *err)
{
    *columns = (struct pe_csv_columns){0};
    struct pe_csv_heading *headings = pe_alloc(layout->columns, sizeof *headings);
    if (headings == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for %zu columns",
                            layout->columns);
    read_headings(layout, headings);
    assign(layout, headings, find_axis(layout, end, headings), columns, rows);
    free(headings);
    if (columns->channels == 0)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, layout->data_line,
                                 "no column of amplitudes beside the axis; export one, headed "
                                 "'amplitude'");
    if (columns->channels > PLYECHO_MAX_CHANNELS)
        return plyecho_fail_line(err, PLYECHO_TOO_LARGE, layout->data_line,
                                 "%zu channels; at most %d are read, so split the file",
                                 columns->channels, PLYECHO_MAX_CHANNELS);
    return PLYECHO_OK;
}

/* A label of a channel, unless the file has it already; a heading that cannot be one is left. */
static enum plyecho_code add_label(struct plyecho_labels *labels, const char *key,
                                   size_t channel, const char *value, struct plyecho_error *err)
{
    if (plyecho_labels_get(labels, key, channel) != NULL)
        return PLYECHO_OK;
    enum plyecho_code code = plyecho_labels_set(labels, key, channel, value, err);
    return code == PLYECHO_BAD_ARGUMENT ? PLYECHO_OK : code;
}

static enum plyecho_code label_name(struct pe_span cell, size_t channel,
                                    struct plyecho_labels *labels, struct plyecho_error *err)
{
    char name[128];
    if (cell.size >= sizeof name || pe_csv_is_plain_name(cell))
        return PLYECHO_OK;
    memcpy(name, cell.text, cell.size);
    name[cell.size] = '\0';
    return add_label(labels, "name", channel, name, err);
}

enum plyecho_code pe_csv_columns_label(const struct pe_csv_layout *layout,
                                       const struct pe_csv_rows *rows,
                                       struct plyecho_labels *labels, struct plyecho_error *err)
{
    struct pe_span cells[PE_CSV_MOST_COLUMNS], below[PE_CSV_MOST_COLUMNS];
    if (layout->names.size == 0 || layout->columns < 3)
        return PLYECHO_OK;
    size_t count =
        pe_csv_split(layout->names, layout->heading_delimiter, cells, layout->columns);
    size_t units =
        layout->units.size > 0
            ? pe_csv_split(layout->units, layout->heading_delimiter, below, layout->columns)
            : 0;
    struct pe_csv_unit first = {.word = NULL};
    enum plyecho_code code = PLYECHO_OK;
    for (size_t i = 0; i < count && i < layout->columns && code == PLYECHO_OK; i++) {
        if (rows->channel_of[i] < 0)
            continue;
        size_t channel = (size_t)rows->channel_of[i] + 1;
        struct pe_csv_unit unit = pe_csv_heading_of(i < units ? below[i] : cells[i]).unit;
        if (channel == 1)
            first = unit;
        code = label_name(cells[i], channel, labels, err);
        if (code == PLYECHO_OK && unit.label != NULL && first.label != NULL &&
            strcmp(unit.label, first.label) != 0)
            code = add_label(labels, "unit", channel, unit.label, err);
    }
    return code;
}
