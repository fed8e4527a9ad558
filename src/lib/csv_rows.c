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

/* A number of a row: its value, and what its digits say about its rounding. */
struct cell {
    double value;
    uint64_t digits;
    int64_t last_exponent;
};

/* False where the value is beyond what a sample can hold. */
static inline bool store(struct walk *walk, size_t column, const struct cell *cell)
{
    int channel = walk->rows->channel_of[column];
    if (channel >= 0) {
        float sample = (float)cell->value;
        walk->traces->amplitude[(size_t)channel * walk->room + walk->row] = sample;
        walk->exponents |= cell->last_exponent;
        return isfinite(sample);
    }
    if (channel == PE_CSV_AXIS) {
        struct pe_csv_rows *rows = walk->rows;
        rows->axis[walk->row] = cell->value;
        if (cell->last_exponent < rows->finest)
            rows->finest = cell->last_exponent;
        if (cell->digits > rows->most_digits)
            rows->most_digits = cell->digits;
    }
    return isfinite(cell->value);
}

static bool store_decimal(struct walk *walk, size_t column, const struct pe_decimal *decimal)
{
    const struct cell cell = {pe_decimal_value(decimal, 0), decimal->digits,
                              decimal->last_exponent};
    return store(walk, column, &cell);
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
        if (p == NULL || !store_decimal(walk, column, &decimal))
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

static inline bool is_digit(char c)
{
    return (unsigned char)(c - '0') < 10;
}

/* Digits at p behind those in *digits, which overflow where they are too many. */
static inline const char *scan_digits(const char *p, uint64_t *digits)
{
    for (; is_digit(*p); p++)
        *digits = 10 * *digits + (uint64_t)(*p - '0');
    return p;
}

/* Four bytes as one word, the first in the lowest place. */
static inline uint32_t load_four(const char *p)
{
    return (uint32_t)(unsigned char)p[0] | (uint32_t)(unsigned char)p[1] << 8 |
           (uint32_t)(unsigned char)p[2] << 16 | (uint32_t)(unsigned char)p[3] << 24;
}

/* The same as scan_digits with four digits at a time, up to the last bytes before `end`. */
static inline const char *scan_many_digits(const char *p, const char *end, uint64_t *digits)
{
    while (end - p >= 4) {
        uint32_t word = load_four(p);
        if (((word & 0xf0f0f0f0) | (((word + 0x06060606) & 0xf0f0f0f0) >> 4)) != 0x33333333)
            break;                              /* not all of them '0' to '9' */
        word = (word & 0x0f0f0f0f) * 2561 >> 8; /* pairs: 10 a + b */
        *digits = 10000 * *digits + ((word & 0x00ff00ff) * 6553601 >> 16); /* 100 ab + cd */
        p += 4;
    }
    return scan_digits(p, digits);
}

/* `e`, sign, at most 3 digits; NULL where it is anything else. */
static const char *scan_exponent(const char *p, ptrdiff_t *exponent)
{
    uint64_t size = 0;
    bool negative = *++p == '-';
    p += negative || *p == '+';
    const char *const first = p;
    p = scan_digits(p, &size);
    if (p == first || p - first > 3)
        return NULL;
    *exponent += negative ? -(ptrdiff_t)size : (ptrdiff_t)size;
    return p;
}

/* The value where digits and power of ten are exact doubles, so that one operation rounds right. */
static inline bool compose_exactly(uint64_t digits, ptrdiff_t exponent, double *value)
{
    static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                    1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    if (digits > (uint64_t)1 << 53 || exponent > 0 || exponent < -22)
        return false;
    *value = (double)(int64_t)digits / powers[-exponent];
    return true;
}

/* A number of up to 19 digits at p, where some byte ahead is no digit: the case that must be fast.
 * Returns what follows, or NULL where it is no such number. */
static inline const char *scan_short(const char *p, const char *end, char point,
                                     struct cell *cell)
{
    enum { MOST_DIGITS = 19 };
    static const double signs[] = {1.0, -1.0};
    const bool negative = *p == '-';
    p += negative;
    uint64_t digits = 0;
    const char *const first = p;
    p = scan_digits(p, &digits);
    ptrdiff_t count = p - first, exponent = 0;
    if (*p == point && count > 0) {
        const char *const fraction = ++p;
        p = scan_many_digits(p, end, &digits);
        exponent = fraction - p;
        count -= exponent;
        if (exponent == 0)
            return NULL;
    }
    if (count < 1 || count > MOST_DIGITS)
        return NULL;
    if ((*p == 'e' || *p == 'E') && (p = scan_exponent(p, &exponent)) == NULL)
        return NULL;
    double value;
    bool exact = compose_exactly(digits, exponent, &value);
    if (!exact)
        value = pe_decimal_compose(digits, exponent, &exact);
    cell->value = value * signs[negative]; /* samples change their sign too often to guess it */
    cell->digits = digits;
    cell->last_exponent = exponent;
    return exact ? p : NULL;
}

/* Plain rows, up to the first one that is anything else. `end` is behind a line end, so that no
 * scan of digits runs over it. Returns the start of the line that was not taken: read_row reads
 * every row that is a row. */
static const char *read_plain_rows(struct walk *walk, const char *p, const char *end)
{
    const struct pe_csv_layout *layout = walk->layout;
    const char delimiter = layout->delimiter, point = layout->point;
    const char newline = layout->newline;
    const size_t columns = layout->columns;
    struct cell cell;
    while (p < end && walk->row < walk->room) {
        const char *q = p;
        for (size_t column = 0; column < columns; column++) {
            q = scan_short(q, end, point, &cell);
            if (q == NULL || !store(walk, column, &cell))
                return p;
            bool last = column + 1 == columns;
            if (last && *q == '\r' && newline == '\n')
                q++;
            if (*q != (last ? newline : delimiter))
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
    const bool plain = layout->delimiter != ' ';
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
