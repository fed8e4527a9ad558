/* named_rows.h - a table whose columns are known by the names in its heading
 *
 * CSV that people write by hand or a spreadsheet saves: columns in any order, cells parted by comma,
 * semicolon or tab (with the latter two numbers may have a decimal comma), empty lines and lines that
 * begin with # skipped, a byte-order mark and CRLF do no harm. Faults have their line and cure.
 */
#ifndef PLYECHO_LIB_NAMED_ROWS_H
#define PLYECHO_LIB_NAMED_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

#include "csv_text.h"

enum { PE_MOST_NAMED_COLUMNS = 16 };

struct pe_named_column {
    const char *name;
    bool optional;
};

/* What a table may hold; the caller's, unchanged while it is read. */
struct pe_named_table {
    const struct pe_named_column *column;
    int columns; /* to PE_MOST_NAMED_COLUMNS */
    bool
        others; /* columns of other names are passed over, unless one is nearly one of these that is missing */
    const char *heading; /* as cures tell it */
};

struct pe_named_rows {
    const struct pe_named_table *table;
    struct pe_csv_lines lines;
    struct pe_span row; /* given last */
    long line;          /* its number, from 1 */
    char delimiter;
    int at[PE_MOST_NAMED_COLUMNS]; /* which column stands at each place, -1: none of these */
    size_t places;                 /* 0: no heading was there */
    struct plyecho_error *err;
};

/* Is it such a table: does its heading have the first of the columns? */
bool pe_named_rows_are(const struct pe_named_table *table, const void *bytes, size_t size);

/* Read the heading. An unknown, doubled or missing column is refused; a text without any line is not. */
enum plyecho_code pe_named_rows_open(struct pe_named_rows *rows,
                                     const struct pe_named_table *table, const void *bytes,
                                     size_t size, struct plyecho_error *err);

/* Does the heading have a column? */
bool pe_named_rows_has(const struct pe_named_rows *rows, int column);

/* The next row's cells by column, empty where there is none. *more false: the table is at its end. */
enum plyecho_code pe_named_rows_next(struct pe_named_rows *rows,
                                     struct pe_span cell[PE_MOST_NAMED_COLUMNS], bool *more);

/* Cells as values. A number that is none is refused in the words `unit`: "mm without its unit", say. */
enum plyecho_code pe_named_number(const struct pe_named_rows *rows, int column,
                                  struct pe_span cell, const char *unit, double *value);

/* A whole number from 1 to PLYECHO_MAX_CHANNELS; an empty cell leaves *channel as it is. */
enum plyecho_code pe_named_channel(const struct pe_named_rows *rows, struct pe_span cell,
                                   size_t *channel);

/* A copy, freed with free(), of two quotes in a quoted cell one (RFC 4180, 2.7). Empty: refused, in the words `cure`. */
enum plyecho_code pe_named_text(const struct pe_named_rows *rows, struct pe_span cell,
                                const char *cure, char **text);

#endif
