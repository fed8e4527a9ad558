#include "csv_rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

/* State of one walk over the rows. */
struct walk {
    const struct pe_csv_layout *layout;
    struct pe_csv_rows *rows;
    struct plyecho_traces *traces;
    size_t room; /* rows that fit */
    size_t row;
    int64_t exponents; /* not 0 once a sample had a fraction or an exponent */
};

static size_t count_lines(const char *text, size_t size, char newline)
{
    enum { BLOCK = 128 }; /* a sum of bytes that cannot overflow, so that it vectorises */
    size_t lines = 0, i = 0;
    for (; i + BLOCK <= size; i += BLOCK) {
        unsigned char sum = 0;
        for (size_t j = 0; j < BLOCK; j++)
            sum = (unsigned char)(sum + (text[i + j] == newline));
        lines += sum;
    }
    for (; i < size; i++)
        lines += text[i] == newline;
    return lines;
}

/* A cell takes two bytes at least, so hostile input cannot ask for more than a few times its
 * own size. */
static size_t most_rows(const struct pe_csv_layout *layout, size_t size)
{
    size_t lines = count_lines(layout->data, size, layout->newline) + 1;
    size_t most = size / (2 * layout->columns) + 1;
    size_t rows = lines < most ? lines : most;
    return rows < 2 ? 2 : rows;
}

static enum plyecho_code make_room(const struct pe_csv_layout *layout, size_t size,
                                   size_t channels, struct walk *walk,
                                   struct plyecho_error *err)
{
    walk->room = most_rows(layout, size);
    enum plyecho_code code = plyecho_traces_init(walk->traces, channels, walk->room, err);
    if (code != PLYECHO_OK)
        return code;
    walk->rows->axis = pe_alloc(walk->room, sizeof *walk->rows->axis);
    if (walk->rows->axis == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for %zu rows", walk->room);
    return PLYECHO_OK;
}

static bool store(struct walk *walk, size_t column, const struct pe_decimal *decimal)
{
    int channel = walk->rows->channel_of[column];
    double value = pe_decimal_value(decimal, 0);
    if (channel >= 0) {
        float sample = (float)value;
        walk->traces->amplitude[(size_t)channel * walk->room + walk->row] = sample;
        walk->exponents |= decimal->last_exponent;
        return isfinite(sample);
    }
    if (channel == PE_CSV_AXIS) {
        struct pe_csv_rows *rows = walk->rows;
        rows->axis[walk->row] = value;
        if (decimal->last_exponent < rows->finest)
            rows->finest = decimal->last_exponent;
        if (decimal->digits > rows->most_digits)
            rows->most_digits = decimal->digits;
    }
    return isfinite(value);
}

static enum plyecho_code bad_cell(const struct walk *walk, struct pe_span line, size_t column,
                                  struct plyecho_error *err)
{
    struct pe_span cells[PE_CSV_MOST_COLUMNS + 1];
    char delimiter = walk->layout->delimiter != '\0' ? walk->layout->delimiter : '\n';
    size_t count = pe_csv_split(line, delimiter, cells, PE_CSV_MOST_COLUMNS + 1);
    long number = pe_csv_rows_line(walk->layout, line.text + line.size, walk->row);
    size_t wanted = walk->layout->columns;
    if (count > wanted && walk->layout->trailing && cells[count - 1].size == 0)
        count--;
    if (count != wanted)
        return plyecho_fail_line(
            err, PLYECHO_BAD_FILE, number,
            "%zu cell%s where the rows before have %zu; complete the row, or "
            "take it out where it is the cut-off end",
            count, count == 1 ? "" : "s", wanted);
    if (column >= count)
        column = count - 1;
    if (memchr(line.text, '\0', line.size) != NULL)
        return plyecho_fail_line(
            err, PLYECHO_BAD_FILE, number,
            "a zero byte among the numbers; the file is damaged, so copy or "
            "export it again");
    return plyecho_fail_line(err, PLYECHO_BAD_NUMBER, number,
                             "'%.*s' in column %zu, where a finite number like %s is expected; "
                             "mend it or take the row out",
                             cells[column].size > 40 ? 40 : (int)cells[column].size,
                             cells[column].text, column + 1,
                             walk->layout->point == ',' ? "0,25" : "0.25");
}

/* Any row: quotes, blanks, a trailing delimiter, or an error. */
static enum plyecho_code read_row(struct walk *walk, struct pe_span line,
                                  struct plyecho_error *err)
{
    const struct pe_csv_layout *layout = walk->layout;
    const char *p = line.text, *const end = line.text + line.size;
    struct pe_decimal decimal;
    for (size_t column = 0; column < layout->columns; column++) {
        const char *start = p;
        p = pe_csv_scan_cell(p, end, layout->delimiter, layout->point, &decimal);
        if (p == NULL || !store(walk, column, &decimal))
            return bad_cell(walk, line, column, err);
        bool last = column + 1 == layout->columns;
        if (last && p < end && *p == layout->delimiter && layout->trailing)
            p = end - pe_csv_trim((struct pe_span){p + 1, (size_t)(end - p - 1)}).size;
        if (last ? p != end : p == end)
            return bad_cell(walk, line, column, err);
        if (last)
            break;
        if (layout->delimiter == ' ' ? !pe_csv_is_blank(p[-1]) || p == start
                                     : *p++ != layout->delimiter)
            return bad_cell(walk, line, column, err);
    }
    walk->row++;
    return PLYECHO_OK;
}

/* Plain rows, up to the first one that is anything else. `end` is behind a line end, so that no
 * scan of digits runs over it. Returns the start of the line that was not taken. */
static const char *read_plain_rows(struct walk *walk, const char *p, const char *end)
{
    const struct pe_csv_layout *layout = walk->layout;
    const char delimiter = layout->delimiter, point = layout->point;
    struct pe_decimal decimal;
    while (p < end && walk->row < walk->room) {
        const char *q = p;
        for (size_t column = 0; column < layout->columns; column++) {
            size_t used = pe_decimal_scan(q, (size_t)(end - q), point, &decimal);
            q += used;
            if (used == 0 || !store(walk, column, &decimal))
                return p;
            bool last = column + 1 == layout->columns;
            if (last && *q == '\r')
                q++;
            if (q >= end || *q != (last ? layout->newline : delimiter))
                return p;
            q++;
        }
        p = q;
        walk->row++;
    }
    return p;
}

static enum plyecho_code read_rows(struct walk *walk, const char *end,
                                   struct plyecho_error *err)
{
    const struct pe_csv_layout *layout = walk->layout;
    struct pe_csv_lines lines = {.next = layout->data, .end = end, .newline = layout->newline};
    const char *plain_end = end;
    while (plain_end > layout->data && plain_end[-1] != layout->newline)
        plain_end--;
    const bool plain = layout->delimiter != ' ' && layout->point == '.';
    struct pe_span line;
    enum plyecho_code code = PLYECHO_OK;
    while (code == PLYECHO_OK) {
        if (plain && lines.next < plain_end)
            lines.next = read_plain_rows(walk, lines.next, plain_end);
        if (!pe_csv_next_line(&lines, &line))
            break;
        if (pe_csv_is_skipped(line))
            continue;
        if (walk->row >= walk->room)
            return bad_cell(walk, line, 0, err); /* lines shorter than a row can be */
        code = read_row(walk, line, err);
    }
    return code;
}

/* Bring channels that were read with room for more rows together. */
static void close_gaps(struct walk *walk)
{
    struct plyecho_traces *traces = walk->traces;
    for (size_t c = 1; c < traces->channels && walk->row < walk->room; c++)
        memmove(traces->amplitude + c * walk->row, traces->amplitude + c * walk->room,
                walk->row * sizeof *traces->amplitude);
    traces->samples = walk->row;
}

enum plyecho_code pe_csv_rows_read(const struct pe_csv_layout *layout, const char *end,
                                   size_t channels, struct pe_csv_rows *rows,
                                   struct plyecho_traces *traces, struct plyecho_error *err)
{
    struct walk walk = {.layout = layout, .rows = rows, .traces = traces};
    rows->axis = NULL;
    rows->finest = INT64_MAX;
    rows->most_digits = 0;
    enum plyecho_code code =
        make_room(layout, (size_t)(end - layout->data), channels, &walk, err);
    if (code == PLYECHO_OK)
        code = read_rows(&walk, end, err);
    if (code == PLYECHO_OK && walk.row < 2)
        code = plyecho_fail_line(err, PLYECHO_BAD_FILE, layout->data_line,
                                 "one row only; a trace needs at least 2, so export it whole");
    close_gaps(&walk);
    rows->whole_numbers = walk.exponents == 0;
    return code;
}

long pe_csv_rows_line(const struct pe_csv_layout *layout, const char *end, size_t row)
{
    struct pe_csv_lines lines = {.next = layout->data, .end = end, .newline = layout->newline};
    struct pe_span line;
    size_t seen = 0;
    while (pe_csv_next_line(&lines, &line))
        if (!pe_csv_is_skipped(line) && seen++ == row)
            break;
    return layout->data_line - 1 + lines.number;
}

void pe_csv_rows_clear(struct pe_csv_rows *rows)
{
    free(rows->axis);
    rows->axis = NULL;
}
