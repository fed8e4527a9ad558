#include "named_rows.h"

#include <string.h>

#include <plyecho/nearest.h>
#include <plyecho/number.h>
#include <plyecho/trace.h>

#include "alloc.h"

/* Letters that a misspelt name is off by, at most. */
enum { MOST_SLIPS = 2 };

static bool is_row(struct pe_span line)
{
    line = pe_csv_trim(line);
    return line.size > 0 && line.text[0] != '#';
}

static bool next_line(struct pe_named_rows *r, struct pe_span *line)
{
    while (pe_csv_next_line(&r->lines, line))
        if (is_row(*line)) {
            r->row = *line;
            r->line = r->lines.number;
            return true;
        }
    return false;
}

static char find_delimiter(struct pe_span line)
{
    static const char known[] = {';', '\t', ','};
    for (size_t k = 0; k < sizeof known; k++)
        if (memchr(line.text, known[k], line.size) != NULL)
            return known[k];
    return ',';
}

bool pe_named_rows_has(const struct pe_named_rows *r, int column)
{
    for (size_t i = 0; i < r->places; i++)
        if (r->at[i] == column)
            return true;
    return false;
}

static enum plyecho_code unknown(const struct pe_named_rows *r, struct pe_span cell,
                                 int nearest)
{
    return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                             "unknown column %.*s; the nearest known is %s; the heading is %s",
                             pe_span_shown(cell), cell.text, r->table->column[nearest].name,
                             r->table->heading);
}

/* The column whose name is nearest, of those that are not there yet unless all is set; -1: none. */
static int nearest_column(const struct pe_named_rows *r, struct pe_span cell, bool all,
                          size_t *off)
{
    int nearest = -1;
    for (int k = 0; k < r->table->columns; k++) {
        if (!all && pe_named_rows_has(r, k))
            continue;
        size_t distance = plyecho_edit_distance(cell.text, cell.size, r->table->column[k].name);
        if (nearest >= 0 && distance >= *off)
            continue;
        nearest = k;
        *off = distance;
    }
    return nearest;
}

static enum plyecho_code name_column(struct pe_named_rows *r, struct pe_span cell)
{
    size_t off;
    for (int k = 0; k < r->table->columns; k++) {
        if (!pe_span_is(cell, r->table->column[k].name))
            continue;
        if (pe_named_rows_has(r, k))
            return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                     "column %s stands there twice; take one out",
                                     r->table->column[k].name);
        r->at[r->places++] = k;
        return PLYECHO_OK;
    }
    if (!r->table->others)
        return unknown(r, cell, nearest_column(r, cell, true, &off));
    r->at[r->places++] = -1;
    return PLYECHO_OK;
}

/* A column that is passed over must not be one that is missing, misspelt. */
static enum plyecho_code check_passed_over(const struct pe_named_rows *r,
                                           const struct pe_span *cells)
{
    for (size_t i = 0; i < r->places; i++) {
        size_t off = 0;
        int nearest = r->at[i] < 0 ? nearest_column(r, cells[i], false, &off) : -1;
        if (nearest >= 0 && off <= MOST_SLIPS)
            return unknown(r, cells[i], nearest);
    }
    return PLYECHO_OK;
}

static enum plyecho_code read_heading(struct pe_named_rows *r, struct pe_span line)
{
    struct pe_span cells[PE_MOST_NAMED_COLUMNS + 1];
    size_t room = PE_MOST_NAMED_COLUMNS + 1;
    if (!r->table->others)
        room = (size_t)r->table->columns + 1;
    r->delimiter = find_delimiter(line);
    size_t count = pe_csv_split(line, r->delimiter, cells, room);
    if (r->table->others && count > PE_MOST_NAMED_COLUMNS)
        return plyecho_fail_line(r->err, PLYECHO_TOO_LARGE, r->line,
                                 "%zu columns; leave out what is not needed, %d are read",
                                 count, PE_MOST_NAMED_COLUMNS);
    for (size_t i = 0; i < count && i < room; i++) {
        enum plyecho_code code = name_column(r, cells[i]);
        if (code != PLYECHO_OK)
            return code;
    }
    enum plyecho_code code = check_passed_over(r, cells);
    if (code != PLYECHO_OK)
        return code;
    for (int k = 0; k < r->table->columns; k++)
        if (!r->table->column[k].optional && !pe_named_rows_has(r, k))
            return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                     "no column %s; the heading is %s",
                                     r->table->column[k].name, r->table->heading);
    return PLYECHO_OK;
}

bool pe_named_rows_are(const struct pe_named_table *table, const void *bytes, size_t size)
{
    struct pe_span text = pe_span_unmarked(bytes, size), line;
    struct pe_span cells[PE_MOST_NAMED_COLUMNS];
    struct pe_named_rows r = {.table = table};
    r.lines = pe_csv_lines_of(text.text, text.size);
    if (!next_line(&r, &line))
        return false;
    size_t count = pe_csv_split(line, find_delimiter(line), cells, PE_MOST_NAMED_COLUMNS);
    for (size_t i = 0; i < count && i < PE_MOST_NAMED_COLUMNS; i++)
        if (pe_span_is(cells[i], table->column[0].name))
            return true;
    return false;
}

enum plyecho_code pe_named_rows_open(struct pe_named_rows *r,
                                     const struct pe_named_table *table, const void *bytes,
                                     size_t size, struct plyecho_error *err)
{
    struct pe_span text = pe_span_unmarked(bytes, size), line;
    *r = (struct pe_named_rows){.table = table, .err = err};
    r->lines = pe_csv_lines_of(text.text, text.size);
    return next_line(r, &line) ? read_heading(r, line) : PLYECHO_OK;
}

enum plyecho_code pe_named_rows_next(struct pe_named_rows *r,
                                     struct pe_span cell[PE_MOST_NAMED_COLUMNS], bool *more)
{
    struct pe_span line, cells[PE_MOST_NAMED_COLUMNS];
    *more = r->places > 0 && next_line(r, &line);
    if (!*more)
        return PLYECHO_OK;
    size_t count = pe_csv_split(line, r->delimiter, cells, PE_MOST_NAMED_COLUMNS);
    if (count != r->places)
        return plyecho_fail_line(
            r->err, PLYECHO_BAD_FILE, r->line,
            "%zu cells, the heading has %zu; a decimal comma needs semicolons "
            "between cells",
            count, r->places);
    for (int k = 0; k < r->table->columns; k++)
        cell[k] = (struct pe_span){"", 0};
    for (size_t i = 0; i < count; i++)
        if (r->at[i] >= 0)
            cell[r->at[i]] = cells[i];
    return PLYECHO_OK;
}

/* The whole cell, or nothing. */
static bool scan(const struct pe_named_rows *r, struct pe_span cell, double *value)
{
    size_t used = plyecho_number_scan(cell.text, cell.size, '.', value);
    if (used != cell.size && r->delimiter != ',')
        used = plyecho_number_scan(cell.text, cell.size, ',', value);
    return cell.size > 0 && used == cell.size;
}

enum plyecho_code pe_named_number(const struct pe_named_rows *r, int column,
                                  struct pe_span cell, const char *unit, double *value)
{
    if (scan(r, cell, value))
        return PLYECHO_OK;
    return plyecho_fail_line(r->err, PLYECHO_BAD_NUMBER, r->line,
                             "%s '%.*s' is no number; write it in %s, with a decimal point",
                             r->table->column[column].name, pe_span_shown(cell), cell.text,
                             unit);
}

enum plyecho_code pe_named_channel(const struct pe_named_rows *r, struct pe_span cell,
                                   size_t *channel)
{
    double value = 0.0;
    if (cell.size == 0)
        return PLYECHO_OK;
    if (!scan(r, cell, &value) || value < 1.0 || value > PLYECHO_MAX_CHANNELS ||
        value != (double)(size_t)value)
        return plyecho_fail_line(r->err, PLYECHO_BAD_NUMBER, r->line,
                                 "channel '%.*s' is no whole number from 1 to %d",
                                 pe_span_shown(cell), cell.text, PLYECHO_MAX_CHANNELS);
    *channel = (size_t)value;
    return PLYECHO_OK;
}

/* The quotes round a cell are off it already. */
static bool was_quoted(const struct pe_named_rows *r, struct pe_span cell)
{
    const char *before = cell.text;
    while (before > r->row.text && pe_csv_is_blank(before[-1]) && before[-1] != r->delimiter)
        before--;
    return before > r->row.text && before[-1] == '"';
}

static void copy_text(const struct pe_named_rows *r, struct pe_span cell, char *text)
{
    bool quoted = was_quoted(r, cell);
    for (size_t i = 0; i < cell.size; i++) {
        *text++ = cell.text[i];
        if (quoted && cell.text[i] == '"' && i + 1 < cell.size && cell.text[i + 1] == '"')
            i++;
    }
    *text = '\0';
}

enum plyecho_code pe_named_text(const struct pe_named_rows *r, struct pe_span cell,
                                const char *cure, char **text)
{
    if (cell.size == 0 || memchr(cell.text, '\0', cell.size) != NULL)
        return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line, "%s", cure);
    *text = pe_alloc(cell.size + 1, 1);
    if (*text == NULL)
        return plyecho_fail(r->err, PLYECHO_NO_MEMORY, "out of memory");
    copy_text(r, cell, *text);
    return PLYECHO_OK;
}
