/* table.h - result tables: text for a person, CSV or JSON Lines for a program
 *
 * A verb lists its columns once and then gives row after row, each written out at once.
 *   text: aligned columns, a header line, decimals as the column says, unknown "-"; a column
 * may be left out of it. csv:  RFC 4180 with '\n' at the end of a line; exactly one header line
 * (none with
 *         --no-header), numbers to the column's significant digits, unknown an empty cell. A
 *         spreadsheet takes a text that begins with = + - @ (or a tab) for a formula: a file
 * name gets "./" in front there, which names the same file, other text gets "'". json: one
 * object a line with every column, numbers in their shortest exact form, unknown null. Text is
 * always valid UTF-8: bytes that are not come out as U+FFFD. Numbers have a decimal point
 * whatever the locale.
 */
#ifndef PLYECHO_CMD_TABLE_H
#define PLYECHO_CMD_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "options.h"

/* Options of every verb that prints a table: --format, --no-header. */
struct table_values {
    struct option_word format; /* index is an enum table_format */
    bool no_header;
};

extern const struct option table_options[];

enum table_format { TABLE_TEXT, TABLE_CSV, TABLE_JSON };

enum column_kind {
    COLUMN_TEXT,
    COLUMN_FILE, /* text that is a file's name */
    COLUMN_NUMBER,
    COLUMN_COUNT,  /* whole number */
    COLUMN_YES_NO, /* "yes", "no"; true, false in JSON */
    COLUMN_JSON    /* text that is JSON already; only in JSON */
};

enum column_where {
    COLUMN_EVERYWHERE,
    COLUMN_NOT_IN_TEXT,
    COLUMN_ONLY_IN_JSON,
    COLUMN_ONLY_IN_CSV
};

struct column {
    const char *name; /* with its unit: "thickness_mm" */
    enum column_kind kind;
    int decimals;     /* of a number in text */
    int least_digits; /* that a small number keeps in text; 0: as decimals say */
    int digits;   /* significant digits of a number in CSV that comes without an uncertainty; 0:
                     shortest exact form */
    size_t width; /* characters in text; at least those of the name are used */
    enum column_where where;
};

/* One value of a row; made by the functions below. */
struct cell {
    bool known;
    bool yes;
    double number;
    double u; /* its standard uncertainty; 0: not told here */
    const char *text;
};

struct cell cell_text(const char *text); /* NULL: unknown */
struct cell cell_number(double number);  /* NaN, infinite: unknown */
/* With its standard uncertainty: CSV gives it to about a hundredth of that. */
struct cell cell_measured(double number, double u);
struct cell cell_count(size_t count);
struct cell cell_yes_no(bool yes);
struct cell cell_unknown(void);

/* An amplitude over another in decibels, -120 at the least. */
double decibels(double ratio);

/* Digits behind the decimal point whose last is the power of ten nearest to a hundredth of an uncertainty
 * above 0: 4 for 0.0032 to 0.031. */
int table_places(double u);

/* A table in progress; the columns stay the caller's. */
struct table {
    FILE *to;
    enum table_format format;
    const struct column *columns;
    size_t count;
};

/* Begin a table: the header line is written now (json has none). */
void table_begin(struct table *table, const struct table_values *values,
                 const struct column *columns, size_t count, FILE *to);

/* Write a row of table->count cells. False where it could not be written: no use in going on;
 * the program says why when it ends. */
bool table_row(const struct table *table, const struct cell *cells);

#endif
