/* csv_layout.h - how a text of numbers is laid out, found by looking at its first lines
 */
#ifndef PLYECHO_LIB_CSV_LAYOUT_H
#define PLYECHO_LIB_CSV_LAYOUT_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/trace.h>

#include "csv_text.h"
#include "decimal.h"

enum { PE_CSV_MOST_COLUMNS = PLYECHO_MAX_CHANNELS + 1 }; /* with the time column */

struct pe_csv_layout {
    char newline;
    char delimiter; /* ' ' is any run of blanks; 0 where there is one column */
    char point;
    bool point_seen; /* in the first row */
    size_t columns;
    bool trailing;        /* each row ends in one more delimiter */
    bool bare_commas;     /* no heading tells whether a lone comma parts or is a decimal sign */
    struct pe_span names; /* heading lines; size 0 where there is none */
    struct pe_span units;
    char heading_delimiter;  /* of these two lines */
    struct pe_span preamble; /* all lines in front of the first row */
    const char *data;        /* first row */
    long data_line;          /* its number, from 1 */
    long left_out; /* line of bare numbers in front of the rows, 0 where there is none */
};

/* Find the first row and what parts its cells. No row of numbers is an error. */
enum plyecho_code pe_csv_layout_find(const char *text, size_t size,
                                     struct pe_csv_layout *layout, struct plyecho_error *err);

/* Scan the cell at p: blanks, perhaps quotes, a number. Returns the place behind it and its
 * blanks, where a delimiter or `end` should be, or NULL where no number stands. */
const char *pe_csv_scan_cell(const char *p, const char *end, char delimiter, char point,
                             struct pe_decimal *decimal);

/* A line that is skipped between rows: blank, or a comment. */
bool pe_csv_is_skipped(struct pe_span line);

#endif
