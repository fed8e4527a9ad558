#include "csv_layout.h"

#include "csv_heading.h"

#include <string.h>

enum { PEEK_ROWS = 100 }; /* rows that are looked at where the first one leaves a doubt */

/* What one line looks like as a row of numbers; columns is 0 where it is none. */
struct shape {
    char delimiter, point;
    bool point_seen; /* a number has a fraction, so the decimal sign is known */
    bool trailing;
    size_t columns;
};

static bool is_gap(char c, char delimiter)
{
    return c == ' ' || (c == '\t' && delimiter != '\t');
}

/* "1," and ",5" are no numbers: there the comma parts cells. */
static bool has_inner_comma_only(const char *number, size_t size)
{
    return number[size - 1] != ',' && number[0] != ',' &&
           (size < 2 || number[1] != ',' || (number[0] != '-' && number[0] != '+'));
}

const char *pe_csv_scan_cell(const char *p, const char *end, char delimiter, char point,
                             struct pe_decimal *decimal)
{
    while (p < end && is_gap(*p, delimiter))
        p++;
    bool quoted = p < end && *p == '"';
    p += quoted;
    while (quoted && p < end && *p == ' ')
        p++;
    size_t used = pe_decimal_scan(p, (size_t)(end - p), point, decimal);
    if (used == 0 || (point == ',' && !has_inner_comma_only(p, used)))
        return NULL;
    p += used;
    while (quoted && p < end && *p == ' ')
        p++;
    if (quoted && (p >= end || *p++ != '"'))
        return NULL;
    while (p < end && is_gap(*p, delimiter))
        p++;
    return p;
}

bool pe_csv_is_skipped(struct pe_span line)
{
    line = pe_csv_trim(line);
    return line.size == 0 || line.text[0] == '#';
}

/* Read the line as numbers under one reading. Stops where the columns are too many to be read.
 */
static struct shape try_reading(struct pe_span line, char delimiter, char point)
{
    struct shape shape = {.delimiter = delimiter, .point = point};
    const struct shape none = {.columns = 0};
    const char *p = line.text, *const end = line.text + line.size;
    struct pe_decimal decimal;
    while (shape.columns <= PE_CSV_MOST_COLUMNS) {
        const char *start = p;
        p = pe_csv_scan_cell(p, end, delimiter, point, &decimal);
        if (p == NULL)
            return none;
        shape.columns++;
        shape.point_seen |= memchr(start, point, (size_t)(p - start)) != NULL;
        if (p == end)
            return shape;
        if (delimiter == ' ') {
            if (!pe_csv_is_blank(p[-1]))
                return none;
            continue;
        }
        if (*p++ != delimiter)
            return none;
        struct pe_span rest = pe_csv_trim((struct pe_span){p, (size_t)(end - p)});
        if (rest.size == 0) {
            shape.trailing = true;
            return shape;
        }
    }
    return shape;
}

/* The readings in the order of preference. A comma as the decimal sign with blanks between
 * numbers comes before a comma as the delimiter only where every comma stands inside a number.
 */
static struct shape shape_of(struct pe_span line)
{
    static const struct {
        char delimiter, point;
    } readings[] = {{'\t', '.'}, {'\t', ','}, {';', '.'}, {';', ','}, {' ', '.'},
                    {' ', ','},  {',', '.'},  {',', ','}, {0, '.'},   {0, ','}};
    struct shape single = {.columns = 0};
    line = pe_csv_trim(line);
    for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
        if (readings[i].delimiter == '\t' || readings[i].delimiter == ';')
            if (memchr(line.text, readings[i].delimiter, line.size) == NULL)
                continue;
        struct shape shape = try_reading(line, readings[i].delimiter, readings[i].point);
        if (shape.columns > 1 || (shape.columns == 1 && shape.trailing))
            return shape;
        if (shape.columns == 1 && single.columns == 0)
            single = shape;
    }
    if (single.columns == 1)
        single.delimiter = '\0';
    return single;
}

static bool next_row(struct pe_csv_lines *lines, struct pe_span *line)
{
    while (pe_csv_next_line(lines, line))
        if (!pe_csv_is_skipped(*line))
            return true;
    return false;
}

static bool alike(const struct shape *a, const struct shape *b)
{
    if (a->columns == 0 || b->columns == 0)
        return false;
    return a->columns == b->columns && (a->delimiter == b->delimiter || a->columns == 1);
}

/* Two lines "0,12" may be pairs of whole numbers or single numbers with a decimal comma. */
static bool is_lone_comma(const struct shape *shape, struct pe_span line)
{
    return shape->delimiter == ',' && shape->point == '.' && !shape->point_seen &&
           shape->columns == 2 && !shape->trailing &&
           memchr(line.text, ' ', line.size) == NULL &&
           memchr(line.text, '"', line.size) == NULL &&
           memchr(line.text, '\t', line.size) == NULL;
}

/* What the rows say about a lone comma: a row without one, or a first column that does not go
 * forward, speak for a decimal sign; a sign behind it or a point for a delimiter. */
static bool comma_is_decimal(const char *data, const char *end)
{
    struct pe_csv_lines lines = pe_csv_lines_of(data, (size_t)(end - data));
    struct pe_span line;
    double first = 0.0, last = 0.0;
    size_t rows = 0;
    bool forward = true;
    while (rows < PEEK_ROWS && next_row(&lines, &line)) {
        struct shape pair = try_reading(pe_csv_trim(line), ',', '.');
        if (pair.columns != 2)
            return try_reading(pe_csv_trim(line), '\0', ',').columns == 1;
        const char *comma = memchr(line.text, ',', line.size);
        if (pair.point_seen || comma[1] == '-' || comma[1] == '+')
            return false;
        double value = 0.0;
        struct pe_decimal decimal;
        if (pe_csv_scan_cell(line.text, comma, ',', '.', &decimal) != NULL)
            value = pe_decimal_value(&decimal, 0);
        forward = forward && (rows == 0 || value >= last);
        first = rows == 0 ? value : first;
        last = value;
        rows++;
    }
    return !forward || last <= first;
}

struct search {
    struct pe_csv_lines lines;
    struct pe_span line;
    struct shape shape;
    const char *first; /* a lone row of numbers, where no two agree */
    struct shape first_shape;
    long first_line;
};

/* With a decimal comma a row "1" is followed by "0,5", and the other way round. */
static bool alike_with_comma(const struct shape *before, const struct shape *shape,
                             struct pe_span line, const struct pe_csv_lines *lines)
{
    if (before->columns == 2 && shape->columns == 1)
        return before->delimiter == ',' && !before->point_seen && !shape->point_seen;
    return before->columns == 1 && !before->point_seen && is_lone_comma(shape, line) &&
           comma_is_decimal(line.text, lines->end);
}

/* Move to the first row that the next row agrees with. */
static bool find_first_row(struct search *search)
{
    struct pe_span line;
    struct shape before = {.columns = 0};
    const char *before_text = NULL;
    long before_line = 0;
    while (next_row(&search->lines, &line)) {
        struct shape shape = shape_of(line);
        if (alike(&before, &shape) || alike_with_comma(&before, &shape, line, &search->lines)) {
            search->shape = before;
            search->first = before_text;
            search->first_line = before_line;
            return true;
        }
        if (shape.columns > 0 && search->first == NULL) {
            search->first = line.text;
            search->first_shape = shape;
            search->first_line = search->lines.number;
        }
        before = shape;
        before_text = line.text;
        before_line = search->lines.number;
    }
    search->shape = search->first_shape;
    return search->first != NULL;
}

/* Whole numbers in the first row leave the decimal sign open: any comma further down decides.
 */
static void settle_point(struct pe_csv_layout *layout, const struct shape *shape,
                         const char *end)
{
    layout->point = shape->point;
    if (shape->point_seen || layout->delimiter == ',')
        return;
    size_t left = (size_t)(end - layout->data);
    if (memchr(layout->data, ',', left) != NULL && memchr(layout->data, '.', left) == NULL) {
        layout->point = ',';
        layout->bare_commas = layout->columns == 1 && layout->names.size == 0;
    }
}

static void settle_comma(struct pe_csv_layout *layout, const struct shape *shape,
                         const char *end)
{
    struct pe_span row = {layout->data, 0};
    struct pe_csv_lines lines = pe_csv_lines_of(layout->data, (size_t)(end - layout->data));
    if (!pe_csv_next_line(&lines, &row) || !is_lone_comma(shape, row))
        return;
    size_t headings = layout->names.size > 0
                          ? pe_csv_split(layout->names, layout->heading_delimiter, NULL, 0)
                          : 0;
    bool decimal = comma_is_decimal(layout->data, end);
    if (headings > 1)
        decimal = false;
    layout->bare_commas = headings == 0;
    if (!decimal)
        return;
    layout->delimiter = '\0';
    layout->point = ',';
    layout->columns = 1;
}

/* The delimiter that cuts a heading into as many cells as rows have; 0 where none does. */
static char heading_delimiter(const struct pe_csv_layout *layout, struct pe_span line)
{
    const char tried[] = {layout->delimiter, '\t', ';', ',', ' '};
    for (size_t i = 0; i < sizeof tried; i++) {
        if (tried[i] == '\0')
            continue;
        size_t cells = pe_csv_split(line, tried[i], NULL, 0);
        if (cells == layout->columns + layout->trailing || cells == layout->columns)
            return tried[i];
    }
    return '\0';
}

static bool has_letter(struct pe_span line)
{
    for (size_t i = 0; i < line.size; i++) {
        unsigned char c = (unsigned char)line.text[i];
        if ((c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c >= 0x80)
            return true;
    }
    return false;
}

/* "Sample interval,1e-8" has two cells and heads nothing. */
static bool is_setting(struct pe_span line)
{
    static const char *const words_of_settings[] = {
        "interval", "step",  "increment", "period",   "spacing", "rate", "frequency",
        "unit",     "units", "velocity",  "material", "gain",    "date", NULL};
    struct pe_csv_words words;
    pe_csv_words_of(line, &words);
    return pe_csv_any_word(&words, words_of_settings);
}

static bool can_head(const struct pe_csv_layout *layout, struct pe_span line, char *delimiter)
{
    *delimiter = line.size > 0 && has_letter(line) ? heading_delimiter(layout, line) : '\0';
    return *delimiter != '\0' && !(layout->columns == 2 && is_setting(line));
}

/* The last two lines in front of the data, and the last comment that is no label. */
struct heading_lines {
    struct pe_span last, before, comment;
    long last_number;
};

static struct heading_lines collect_headings(const struct pe_csv_layout *layout)
{
    struct heading_lines found = {.last_number = 0};
    struct pe_csv_lines lines = {.next = layout->preamble.text,
                                 .end = layout->preamble.text + layout->preamble.size,
                                 .newline = layout->newline};
    struct pe_span line;
    while (pe_csv_next_line(&lines, &line)) {
        struct pe_span text = pe_csv_trim(line);
        if (text.size == 0)
            continue;
        if (text.text[0] != '#') {
            found.before = found.last;
            found.last = text;
            found.last_number = lines.number;
        } else if (memchr(text.text, ':', text.size) == NULL) {
            found.comment = pe_csv_trim((struct pe_span){text.text + 1, text.size - 1});
        }
    }
    return found;
}

/* A row with text in a number's place would otherwise pass as a heading. */
static enum plyecho_code check_heading(const struct pe_csv_layout *layout, long line,
                                       const struct pe_span *cells, size_t count,
                                       struct plyecho_error *err)
{
    struct pe_decimal decimal;
    const char *end = cells[0].text + cells[0].size;
    if (count < 2 ||
        pe_csv_scan_cell(cells[0].text, end, layout->delimiter, layout->point, &decimal) != end)
        return PLYECHO_OK;
    for (size_t i = 1; i < count; i++) {
        end = cells[i].text + cells[i].size;
        if (pe_csv_scan_cell(cells[i].text, end, layout->delimiter, layout->point, &decimal) !=
            end)
            return plyecho_fail_line(
                err, PLYECHO_BAD_NUMBER, line,
                "'%.*s' in column %zu, where a number is expected; mend it "
                "or take the row out",
                cells[i].size > 40 ? 40 : (int)cells[i].size, cells[i].text, i + 1);
    }
    return PLYECHO_OK;
}

/* Decimal commas and commas between cells cannot be told apart. */
static enum plyecho_code check_commas(const struct pe_csv_layout *layout,
                                      struct pe_span heading, struct plyecho_error *err)
{
    if (layout->delimiter != ',' || layout->point_seen || layout->columns % 2 != 0 ||
        layout->columns < 4 || !has_letter(heading) ||
        2 * pe_csv_split(heading, ',', NULL, 0) != layout->columns)
        return PLYECHO_OK;
    return plyecho_fail_line(
        err, PLYECHO_BAD_FILE, layout->data_line,
        "%zu cells where the heading has %zu: a comma is both decimal sign "
        "and delimiter; export with ';' or tabs between columns",
        layout->columns, layout->columns / 2);
}

/* The heading is the last line of text in front of the data that has a cell for each column,
 * with perhaps a row of units under it. A comment will do where there is no other line. */
static enum plyecho_code find_heading(struct pe_csv_layout *layout, struct plyecho_error *err)
{
    struct heading_lines found = collect_headings(layout);
    struct pe_span cells[PE_CSV_MOST_COLUMNS];
    char delimiter, above;
    if (found.last.size == 0 && can_head(layout, found.comment, &delimiter)) {
        layout->names = found.comment;
        layout->heading_delimiter = delimiter;
        return PLYECHO_OK;
    }
    if (!can_head(layout, found.last, &delimiter)) {
        if (found.last.size > 0 && !has_letter(found.last))
            layout->left_out = found.last_number;
        return check_commas(layout, found.last, err);
    }
    layout->names = found.last;
    layout->heading_delimiter = delimiter;
    size_t count = pe_csv_split(found.last, delimiter, cells, layout->columns);
    count = count < layout->columns ? count : layout->columns;
    if (pe_csv_is_units_row(cells, count) && can_head(layout, found.before, &above) &&
        above == delimiter) {
        layout->units = found.last;
        layout->names = found.before;
    }
    return check_heading(layout, found.last_number, cells, count, err);
}

static enum plyecho_code no_rows(const char *text, size_t size, struct plyecho_error *err)
{
    size_t i = 0;
    while (i < size && (pe_csv_is_blank(text[i]) || text[i] == '\n'))
        i++;
    if (i == size)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the file is empty; record or copy it again");
    return plyecho_fail(err, PLYECHO_UNKNOWN_FORMAT,
                        "text without rows of numbers; a trace has a row a sample, like "
                        "'0.01,-0.25'");
}

enum plyecho_code pe_csv_layout_find(const char *text, size_t size,
                                     struct pe_csv_layout *layout, struct plyecho_error *err)
{
    struct search search = {.lines = pe_csv_lines_of(text, size)};
    *layout = (struct pe_csv_layout){.newline = search.lines.newline};
    if (!find_first_row(&search))
        return no_rows(text, size, err);
    layout->delimiter = search.shape.delimiter;
    layout->columns = search.shape.columns;
    layout->trailing = search.shape.trailing;
    layout->point_seen = search.shape.point_seen;
    layout->data = search.first;
    layout->data_line = search.first_line;
    layout->preamble = (struct pe_span){text, (size_t)(layout->data - text)};
    if (layout->columns > PE_CSV_MOST_COLUMNS)
        return plyecho_fail_line(
            err, PLYECHO_TOO_LARGE, layout->data_line,
            "more than %d columns; at most %d channels beside the time are "
            "read, so split the file",
            PE_CSV_MOST_COLUMNS, PLYECHO_MAX_CHANNELS);
    enum plyecho_code code = find_heading(layout, err);
    if (code != PLYECHO_OK)
        return code;
    settle_point(layout, &search.shape, text + size);
    settle_comma(layout, &search.shape, text + size);
    return PLYECHO_OK;
}
