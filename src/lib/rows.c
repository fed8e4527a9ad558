#include <plyecho/rows.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>

#include "alloc.h"
#include "csv_text.h"
#include "span.h"

struct plyecho_rows {
    char *text; /* a copy, in which the cells lie, ended by zero bytes */
    const char **name;
    size_t columns;
    const char **cell; /* [count * columns]; NULL where the row ended before */
    long *line;        /* [count] */
    size_t count, room;
    char delimiter;
};

/* Where the reading is. Cells are unquoted in place: what is written never overtakes what is read. */
struct reader {
    char *next, *end;
    long line;
    struct plyecho_error *err;
};

static bool at_line_end(const struct reader *r)
{
    return r->next == r->end || *r->next == '\n' || *r->next == '\r';
}

static void skip_line_end(struct reader *r)
{
    if (r->next < r->end && *r->next == '\r')
        r->next++;
    if (r->next < r->end && *r->next == '\n')
        r->next++;
    r->line++;
}

/* Empty lines and comments. False at the end of the text. */
static bool find_row(struct reader *r)
{
    while (r->next < r->end) {
        char *p = r->next;
        while (p < r->end && pe_is_blank(*p))
            p++;
        if (p < r->end && *p != '#' && *p != '\n' && *p != '\r')
            return true;
        while (!at_line_end(r))
            r->next++;
        skip_line_end(r);
    }
    return false;
}

/* From the opening quote on; *to is where the cell's text ends. */
static enum plyecho_code take_quoted(struct reader *r, char **to)
{
    long opened = r->line;
    for (r->next++; r->next < r->end; r->next++) {
        if (*r->next == '"' && (r->next + 1 == r->end || r->next[1] != '"')) {
            r->next++;
            return PLYECHO_OK;
        }
        if (*r->next == '"')
            r->next++;
        r->line += *r->next == '\n';
        *(*to)++ = *r->next;
    }
    return plyecho_fail_line(
        r->err, PLYECHO_BAD_FILE, opened,
        "a quote is opened and never closed; a quote within quotes is doubled");
}

static void skip_blanks(struct reader *r, char delimiter)
{
    while (r->next < r->end && pe_is_blank(*r->next) && *r->next != delimiter)
        r->next++;
}

/* Up to the delimiter, without the blanks ahead of it. */
static void take_plain(struct reader *r, char delimiter, char **to)
{
    char *from = *to;
    while (!at_line_end(r) && *r->next != delimiter)
        *(*to)++ = *r->next++;
    while (*to > from && pe_is_blank((*to)[-1]))
        (*to)--;
}

/* One cell and its delimiter, ended by a zero byte once what lies there is read. */
static enum plyecho_code take_cell(struct reader *r, char delimiter, char **cell, bool *more)
{
    skip_blanks(r, delimiter);
    char *to = *cell = r->next;
    if (r->next < r->end && *r->next == '"') {
        enum plyecho_code code = take_quoted(r, &to);
        if (code != PLYECHO_OK)
            return code;
        skip_blanks(r, delimiter);
        if (!at_line_end(r) && *r->next != delimiter)
            return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, r->line,
                                     "text behind a closing quote; quote the whole cell, a "
                                     "quote within it is doubled");
    } else {
        take_plain(r, delimiter, &to);
    }
    *more = !at_line_end(r);
    if (*more)
        r->next++;
    else
        skip_line_end(r);
    *to = '\0';
    return PLYECHO_OK;
}

/* All cells of a row, `room` at most; one more, if empty, is how some programs end a row. */
static enum plyecho_code take_row(struct reader *r, char delimiter, const char **cells,
                                  size_t room, size_t *count)
{
    long line = r->line;
    bool more = true;
    for (*count = 0; more;) {
        char *cell;
        enum plyecho_code code = take_cell(r, delimiter, &cell, &more);
        if (code != PLYECHO_OK)
            return code;
        if (*count < room)
            cells[(*count)++] = cell;
        else if (cell[0] != '\0')
            return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, line,
                                     "more cells than the heading's %zu; quotes belong round a "
                                     "text that has the delimiter in it",
                                     room);
    }
    return PLYECHO_OK;
}

/* ---- heading and rows ---- */

static char find_delimiter(const struct reader *r)
{
    bool tab = false;
    for (const char *p = r->next; p < r->end && *p != '\n' && *p != '\r'; p++) {
        if (*p == ';')
            return ';';
        tab = tab || *p == '\t';
    }
    return tab ? '\t' : ',';
}

static enum plyecho_code no_memory(struct plyecho_error *err)
{
    return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory");
}

static enum plyecho_code take_heading(struct plyecho_rows *rows, struct reader *r)
{
    const char *name[PLYECHO_ROWS_MOST_COLUMNS + 1];
    long line = r->line;
    rows->delimiter = find_delimiter(r);
    enum plyecho_code code =
        take_row(r, rows->delimiter, name, PLYECHO_ROWS_MOST_COLUMNS + 1, &rows->columns);
    if (code != PLYECHO_OK)
        return code;
    if (rows->columns > PLYECHO_ROWS_MOST_COLUMNS)
        return plyecho_fail_line(r->err, PLYECHO_TOO_LARGE, line,
                                 "more than %d columns; leave out what is not needed",
                                 PLYECHO_ROWS_MOST_COLUMNS);
    for (size_t k = 0; k < rows->columns; k++)
        for (size_t i = 0; i < k; i++)
            if (name[k][0] != '\0' && strcmp(name[i], name[k]) == 0)
                return plyecho_fail_line(r->err, PLYECHO_BAD_FILE, line,
                                         "column %.40s stands there twice; take one out",
                                         name[k]);
    rows->name = pe_alloc(rows->columns, sizeof *rows->name);
    if (rows->name == NULL)
        return no_memory(r->err);
    memcpy(rows->name, name, rows->columns * sizeof *name);
    return PLYECHO_OK;
}

static enum plyecho_code make_room(struct plyecho_rows *rows, struct plyecho_error *err)
{
    if (rows->count < rows->room)
        return PLYECHO_OK;
    size_t room = 2 * rows->room + 64;
    const char **cell = pe_resize(rows->cell, room, rows->columns * sizeof *cell);
    if (cell == NULL)
        return no_memory(err);
    rows->cell = cell;
    long *line = pe_resize(rows->line, room, sizeof *line);
    if (line == NULL)
        return no_memory(err);
    rows->line = line;
    rows->room = room;
    return PLYECHO_OK;
}

static enum plyecho_code take_rows(struct plyecho_rows *rows, struct reader *r)
{
    while (find_row(r)) {
        enum plyecho_code code = make_room(rows, r->err);
        if (code != PLYECHO_OK)
            return code;
        const char **cells = rows->cell + rows->count * rows->columns;
        size_t count;
        rows->line[rows->count] = r->line;
        code = take_row(r, rows->delimiter, cells, rows->columns, &count);
        if (code != PLYECHO_OK)
            return code;
        for (; count < rows->columns; count++)
            cells[count] = NULL;
        rows->count++;
    }
    return PLYECHO_OK;
}

static enum plyecho_code take_all(struct plyecho_rows *rows, struct pe_span text,
                                  struct plyecho_error *err)
{
    if (text.size > 0 && memchr(text.text, '\0', text.size) != NULL)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "has bytes of zero, so it is no table; save it as CSV in UTF-8");
    rows->text = pe_alloc(text.size + 1, 1);
    if (rows->text == NULL)
        return no_memory(err);
    if (text.size > 0)
        memcpy(rows->text, text.text, text.size);
    struct reader r = {rows->text, rows->text + text.size, 1, err};
    if (!find_row(&r))
        return plyecho_fail(err, PLYECHO_BAD_FILE, "empty: not even a heading");
    enum plyecho_code code = take_heading(rows, &r);
    return code == PLYECHO_OK ? take_rows(rows, &r) : code;
}

enum plyecho_code plyecho_rows_read(struct plyecho_rows **out, const void *bytes, size_t size,
                                    struct plyecho_error *err)
{
    *out = NULL;
    struct plyecho_rows *rows = pe_alloc(1, sizeof *rows);
    if (rows == NULL)
        return no_memory(err);
    enum plyecho_code code = take_all(rows, pe_span_unmarked(bytes, size), err);
    if (code == PLYECHO_OK)
        *out = rows;
    else
        plyecho_rows_free(rows);
    return code;
}

/* ---- what is in it ---- */

size_t plyecho_rows_count(const struct plyecho_rows *rows)
{
    return rows->count;
}

size_t plyecho_rows_find(const struct plyecho_rows *rows, const char *name)
{
    for (size_t k = 0; k < rows->columns; k++)
        if (strcmp(rows->name[k], name) == 0)
            return k;
    return PLYECHO_NO_COLUMN;
}

long plyecho_rows_line(const struct plyecho_rows *rows, size_t row)
{
    return rows->line[row];
}

bool plyecho_rows_has(const struct plyecho_rows *rows, size_t row, size_t column)
{
    return column < rows->columns && rows->cell[row * rows->columns + column] != NULL;
}

const char *plyecho_rows_text(const struct plyecho_rows *rows, size_t row, size_t column)
{
    return plyecho_rows_has(rows, row, column) ? rows->cell[row * rows->columns + column] : "";
}

enum plyecho_code plyecho_rows_number(const struct plyecho_rows *rows, size_t row,
                                      size_t column, struct plyecho_known *number,
                                      struct plyecho_error *err)
{
    const char *text = plyecho_rows_text(rows, row, column);
    size_t size = strlen(text);
    *number = (struct plyecho_known){size > 0, 0.0};
    if (size == 0)
        return PLYECHO_OK;
    bool whole = plyecho_number_scan(text, size, '.', &number->value) == size ||
                 (rows->delimiter != ',' &&
                  plyecho_number_scan(text, size, ',', &number->value) == size);
    if (whole && isfinite(number->value))
        return PLYECHO_OK;
    *number = (struct plyecho_known){false, 0.0};
    return plyecho_fail_line(err, PLYECHO_BAD_NUMBER, rows->line[row],
                             "'%.40s' under %.40s is no number", text, rows->name[column]);
}

void plyecho_rows_free(struct plyecho_rows *rows)
{
    if (rows == NULL)
        return;
    free(rows->text);
    free(rows->name);
    free(rows->cell);
    free(rows->line);
    free(rows);
}
