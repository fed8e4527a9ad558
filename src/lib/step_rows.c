#include <plyecho/step_rows.h>

#include <stdlib.h>
#include <string.h>

#include <plyecho/nearest.h>
#include <plyecho/number.h>
#include <plyecho/trace.h>

#include "alloc.h"
#include "csv_text.h"

enum column { FILE_NAME, CHANNEL, THICKNESS, THICKNESS_U, COLUMNS };

static const char *const names[COLUMNS] = {
    [FILE_NAME] = "file",
    [CHANNEL] = "channel",
    [THICKNESS] = "thickness_mm",
    [THICKNESS_U] = "thickness_u_mm",
};

/* Thicker than any wall or block that a pulse-echo trace is of. */
static const double most_mm = 1e6;

struct reader {
    struct plyecho_step_rows *rows;
    struct plyecho_error *err;
    char delimiter;
    enum column at[COLUMNS]; /* which column stands at each place */
    size_t columns;
    long line;
};

/* For "%.*s": at most 40 bytes. */
static int shown(struct pe_span cell)
{
    return cell.size < 40 ? (int)cell.size : 40;
}

static struct pe_span without_mark(const void *bytes, size_t size)
{
    struct pe_span text = {bytes, size};
    if (size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0)
        text = (struct pe_span){text.text + 3, size - 3};
    return text;
}

static bool is_row(struct pe_span line)
{
    line = pe_csv_trim(line);
    return line.size > 0 && line.text[0] != '#';
}

static char find_delimiter(struct pe_span line)
{
    static const char known[] = {';', '\t', ','};
    for (size_t k = 0; k < sizeof known; k++)
        if (memchr(line.text, known[k], line.size) != NULL)
            return known[k];
    return ',';
}

static bool is_name(struct pe_span cell, const char *name)
{
    return cell.size == strlen(name) && memcmp(cell.text, name, cell.size) == 0;
}

static enum plyecho_code name_column(struct reader *r, struct pe_span cell)
{
    size_t nearest = 0;
    for (size_t k = 0; k < COLUMNS; k++) {
        if (plyecho_edit_distance(cell.text, cell.size, names[k]) <
            plyecho_edit_distance(cell.text, cell.size, names[nearest]))
            nearest = k;
        if (!is_name(cell, names[k]))
            continue;
        for (size_t other = 0; other < r->columns; other++)
            if (r->at[other] == k)
                return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                         "column %s stands there twice; take one out",
                                         names[k]);
        r->at[r->columns++] = (enum column)k;
        return PLYECHO_OK;
    }
    return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                             "unknown column %.*s; the nearest known is %s; the heading is "
                             "file,channel,thickness_mm,thickness_u_mm",
                             shown(cell), cell.text, names[nearest]);
}

static enum plyecho_code read_heading(struct reader *r, struct pe_span line)
{
    struct pe_span cells[COLUMNS + 1];
    r->delimiter = find_delimiter(line);
    size_t count = pe_csv_split(line, r->delimiter, cells, COLUMNS + 1);
    for (size_t i = 0; i < count && i < COLUMNS + 1; i++) {
        enum plyecho_code code = name_column(r, cells[i]);
        if (code != PLYECHO_OK)
            return code;
    }
    for (size_t k = 0; k < COLUMNS; k++) {
        bool there = k == CHANNEL;
        for (size_t i = 0; i < r->columns; i++)
            there |= r->at[i] == k;
        if (!there)
            return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                     "no column %s; the heading is "
                                     "file,channel,thickness_mm,thickness_u_mm",
                                     names[k]);
    }
    return PLYECHO_OK;
}

/* Numbers above 0. */
static enum plyecho_code read_number(const struct reader *r, struct pe_span cell,
                                     enum column column, double *value)
{
    size_t used = plyecho_number_scan(cell.text, cell.size, '.', value);
    if (used != cell.size && r->delimiter != ',')
        used = plyecho_number_scan(cell.text, cell.size, ',', value);
    if (cell.size == 0 || used != cell.size)
        return plyecho_fail_line(
            r->err, PLYECHO_BAD_NUMBER, r->line,
            "%s '%.*s' is no number; write it in mm without its unit, with a "
            "decimal point",
            names[column], shown(cell), cell.text);
    if (!(*value > 0.0) || *value > most_mm)
        return plyecho_fail_line(r->err, PLYECHO_BAD_ARGUMENT, r->line,
                                 "%s %g: it must be above 0, to %g mm", names[column], *value,
                                 most_mm);
    return PLYECHO_OK;
}

static enum plyecho_code read_channel(const struct reader *r, struct pe_span cell,
                                      size_t *channel)
{
    double value = 0.0;
    if (cell.size == 0)
        return PLYECHO_OK;
    size_t used = plyecho_number_scan(cell.text, cell.size, '.', &value);
    if (used != cell.size || value < 1.0 || value > PLYECHO_MAX_CHANNELS ||
        value != (double)(size_t)value)
        return plyecho_fail_line(r->err, PLYECHO_BAD_NUMBER, r->line,
                                 "channel '%.*s' is no whole number from 1 to %d", shown(cell),
                                 cell.text, PLYECHO_MAX_CHANNELS);
    *channel = (size_t)value;
    return PLYECHO_OK;
}

static enum plyecho_code read_file(const struct reader *r, struct pe_span cell, char **file)
{
    if (cell.size == 0 || memchr(cell.text, '\0', cell.size) != NULL)
        return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                 "no file named; write the trace of this step there");
    *file = pe_alloc(cell.size + 1, 1);
    if (*file == NULL)
        return plyecho_fail(r->err, PLYECHO_NO_MEMORY, "out of memory");
    memcpy(*file, cell.text, cell.size);
    return PLYECHO_OK;
}

static enum plyecho_code read_cell(struct reader *r, enum column column, struct pe_span cell,
                                   struct plyecho_step_row *row)
{
    double *number = column == THICKNESS ? &row->thickness_m : &row->thickness_u_m;
    enum plyecho_code code;
    if (column == FILE_NAME)
        return read_file(r, cell, &row->file);
    if (column == CHANNEL)
        return read_channel(r, cell, &row->channel);
    code = read_number(r, cell, column, number);
    *number *= 1e-3;
    return code;
}

static size_t channel_of(const struct plyecho_step_row *row)
{
    return row->channel > 0 ? row->channel : 1;
}

/* The last row against those before it. */
static enum plyecho_code check_twice(const struct reader *r)
{
    const struct plyecho_step_row *last = &r->rows->row[r->rows->count - 1];
    for (const struct plyecho_step_row *row = r->rows->row; row < last; row++) {
        if (row->thickness_m == last->thickness_m)
            return plyecho_fail_line(
                r->err, PLYECHO_BAD_FILE, r->line,
                "thickness_mm %g stands in line %ld already: two steps of one thickness; take one "
                "out (several shots of one step: plyecho average), or measure it anew",
                last->thickness_m * 1e3, row->line);
        if (strcmp(row->file, last->file) == 0 && channel_of(row) == channel_of(last))
            return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                     "channel %zu of %s stands in line %ld already; name the "
                                     "trace of this step",
                                     channel_of(last), last->file, row->line);
    }
    if (last->thickness_u_m >= last->thickness_m)
        return plyecho_fail_line(
            r->err, PLYECHO_BAD_ARGUMENT, r->line,
            "thickness_u_mm %g is not below the thickness of %g mm; state the "
            "standard uncertainty in mm: 0.002 for 2 um",
            last->thickness_u_m * 1e3, last->thickness_m * 1e3);
    return PLYECHO_OK;
}

static enum plyecho_code read_row(struct reader *r, struct pe_span line)
{
    struct pe_span cells[COLUMNS];
    size_t count = pe_csv_split(line, r->delimiter, cells, COLUMNS);
    if (count != r->columns)
        return plyecho_fail_line(
            r->err, PLYECHO_BAD_FILE, r->line,
            "%zu cells, the heading has %zu; a decimal comma needs semicolons "
            "between cells",
            count, r->columns);
    if (r->rows->count == PLYECHO_MOST_STEPS)
        return plyecho_fail_line(r->err, PLYECHO_TOO_LARGE, r->line,
                                 "more than %d steps; take the ones that span the wall",
                                 PLYECHO_MOST_STEPS);
    struct plyecho_step_row *row = &r->rows->row[r->rows->count++];
    row->line = r->line;
    for (size_t i = 0; i < count; i++) {
        enum plyecho_code code = read_cell(r, r->at[i], cells[i], row);
        if (code != PLYECHO_OK)
            return code;
    }
    return check_twice(r);
}

static enum plyecho_code read_all(struct reader *r, struct pe_span text)
{
    struct pe_csv_lines lines = pe_csv_lines_of(text.text, text.size);
    struct pe_span line;
    while (pe_csv_next_line(&lines, &line)) {
        r->line = lines.number;
        if (!is_row(line))
            continue;
        enum plyecho_code code = r->columns == 0 ? read_heading(r, line) : read_row(r, line);
        if (code != PLYECHO_OK)
            return code;
    }
    if (r->rows->count == 0)
        return plyecho_fail(r->err, PLYECHO_BAD_FILE,
                            "no steps; write the heading "
                            "file,channel,thickness_mm,thickness_u_mm and a row for each step");
    return PLYECHO_OK;
}

enum plyecho_code plyecho_step_rows_read(struct plyecho_step_rows *rows, const void *bytes,
                                         size_t size, struct plyecho_error *err)
{
    memset(rows, 0, sizeof *rows);
    struct reader r = {.rows = rows, .err = err};
    enum plyecho_code code = read_all(&r, without_mark(bytes, size));
    if (code != PLYECHO_OK)
        plyecho_step_rows_clear(rows);
    return code;
}

void plyecho_step_rows_clear(struct plyecho_step_rows *rows)
{
    for (size_t i = 0; i < rows->count; i++)
        free(rows->row[i].file);
    memset(rows, 0, sizeof *rows);
}
