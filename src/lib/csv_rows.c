#include "csv_rows.h"

#include <float.h>
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
    int64_t finest;    /* both of the axis column, as pe_csv_rows has them */
    uint64_t most_digits;
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

static inline void store(struct walk *walk, size_t column, const struct cell *cell)
{
    int channel = walk->rows->channel_of[column];
    if (channel >= 0) {
        walk->traces->amplitude[(size_t)channel * walk->room + walk->row] = (float)cell->value;
        walk->exponents |= cell->last_exponent;
    } else if (channel == PE_CSV_AXIS) {
        walk->rows->axis[walk->row] = cell->value;
        if (cell->last_exponent < walk->finest)
            walk->finest = cell->last_exponent;
        if (cell->digits > walk->most_digits)
            walk->most_digits = cell->digits;
    }
}

/* False where the value is beyond what a sample can hold. */
static bool store_decimal(struct walk *walk, size_t column, const struct pe_decimal *decimal)
{
    const struct cell cell = {pe_decimal_value(decimal, 0), decimal->digits,
                              decimal->last_exponent};
    store(walk, column, &cell);
    return isfinite(walk->rows->channel_of[column] >= 0 ? (float)cell.value : cell.value);
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

/* Eight bytes as one word, the first in the lowest place. */
static inline uint64_t load_eight(const char *text)
{
    const unsigned char *p = (const unsigned char *)text;
    return (uint64_t)p[0] | (uint64_t)p[1] << 8 | (uint64_t)p[2] << 16 | (uint64_t)p[3] << 24 |
           (uint64_t)p[4] << 32 | (uint64_t)p[5] << 40 | (uint64_t)p[6] << 48 |
           (uint64_t)p[7] << 56;
}

/* Not 0 in the bytes of a word that are not '0' to '9', up to the first of them at least. */
static inline uint64_t not_digits(uint64_t word)
{
    const uint64_t upper = 0xf0f0f0f0f0f0f0f0, zeros = 0x3030303030303030;
    return ((word & upper) ^ zeros) | (((word + 0x0606060606060606) & upper) ^ zeros);
}

/* The number that eight digits are, the first in the lowest place; zero bytes count as '0'. */
static inline uint64_t number_of(uint64_t word)
{
    word = (word & 0x0f0f0f0f0f0f0f0f) * 2561 >> 8;                      /* 10 a + b */
    word = (word & 0x00ff00ff00ff00ff) * 6553601 >> 16;                  /* 100 ab + cd */
    return (word & 0x0000ffff0000ffff) * UINT64_C(42949672960001) >> 32; /* 10000 abcd + efgh */
}

/* As many digits of a word as `count` says, behind those in *digits. */
static inline void append(uint64_t word, int count, uint64_t power, uint64_t *digits)
{
    *digits = power * *digits + number_of(word << (64 - 8 * count));
}

/* The same as scan_digits with eight digits at a time, up to the last bytes before `end`. Cases rather
 * than arithmetic with their number, so that a processor that guesses it can go on with what follows. */
static inline const char *scan_many_digits(const char *p, const char *end, uint64_t *digits)
{
    while (end - p >= 8) {
        uint64_t word = load_eight(p), others = not_digits(word);
        if (others == 0) {
            append(word, 8, 100000000, digits);
            p += 8;
            continue;
        }
        switch (__builtin_ctzll(others) / 8) {
        case 0:
            return p;
        case 1:
            append(word, 1, 10, digits);
            return p + 1;
        case 2:
            append(word, 2, 100, digits);
            return p + 2;
        case 3:
            append(word, 3, 1000, digits);
            return p + 3;
        case 4:
            append(word, 4, 10000, digits);
            return p + 4;
        case 5:
            append(word, 5, 100000, digits);
            return p + 5;
        case 6:
            append(word, 6, 1000000, digits);
            return p + 6;
        default:
            append(word, 7, 10000000, digits);
            return p + 7;
        }
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

/* A number of up to 19 digits at p, where some byte ahead is no digit: the case that must be fast. No
 * larger than a sample can hold. Returns what follows, or NULL where it is no such number. */
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
    if (!exact) {
        value = pe_decimal_compose(digits, exponent, &exact);
        exact = exact && value <= (double)FLT_MAX;
    }
    cell->value = value * signs[negative]; /* samples change their sign too often to guess it */
    cell->digits = digits;
    cell->last_exponent = exponent;
    return exact ? p : NULL;
}

/* One plain row; NULL where it is anything else. */
static inline const char *read_plain_row(struct walk *walk, const char *p, const char *end)
{
    const struct pe_csv_layout *layout = walk->layout;
    const size_t columns = layout->columns;
    struct cell cell;
    for (size_t column = 0; column < columns; column++) {
        p = scan_short(p, end, layout->point, &cell);
        if (p == NULL)
            return NULL;
        store(walk, column, &cell);
        bool last = column + 1 == columns;
        if (last && *p == '\r' && layout->newline == '\n')
            p++;
        if (*p++ != (last ? layout->newline : layout->delimiter))
            return NULL;
    }
    return p;
}

/* Plain rows, up to the first one that is anything else. `end` is behind a line end, so that no
 * scan of digits runs over it. Returns the start of the line that was not taken: read_row reads
 * every row that is a row. */
static const char *read_plain_rows(struct walk *walk, const char *p, const char *end)
{
    while (p < end && walk->row < walk->room) {
        const char *next = read_plain_row(walk, p, end);
        if (next == NULL)
            break;
        p = next;
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
    struct walk walk = {.layout = layout, .rows = rows, .traces = traces, .finest = INT64_MAX};
    rows->axis = NULL;
    enum plyecho_code code =
        make_room(layout, (size_t)(end - layout->data), channels, &walk, err);
    if (code == PLYECHO_OK)
        code = read_rows(&walk, end, err);
    if (code == PLYECHO_OK && walk.row < 2)
        code = plyecho_fail_line(err, PLYECHO_BAD_FILE, layout->data_line,
                                 "one row only; a trace needs at least 2, so export it whole");
    close_gaps(&walk);
    rows->finest = walk.finest;
    rows->most_digits = walk.most_digits;
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
