/* rows.h - a table with a heading, read whole: cells by the names of their columns
 *
 * CSV after RFC 4180, as our own tables are and as spreadsheets save it: cells parted by comma, semicolon or tab
 * (with the latter two numbers may have a decimal comma), quoted cells with line ends and doubled quotes in
 * them. Empty lines and lines that begin with # are skipped, blanks round a cell are no part of it; a
 * byte-order mark and CRLF do no harm. A row may end before the heading does, as people and loggers leave empty cells
 * out at its end; whoever reads a table that a program wrote whole takes that for damage (plyecho_rows_has).
 */
#ifndef PLYECHO_ROWS_H
#define PLYECHO_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

struct plyecho_rows;

enum { PLYECHO_ROWS_MOST_COLUMNS = 256 };

#define PLYECHO_NO_COLUMN ((size_t)-1)

/* Read a table from memory, which is copied. PLYECHO_BAD_FILE with the line where there is no heading, it names a
 * column twice, a row has more cells than it, a quote is never closed or has text behind it, or a byte is 0;
 * PLYECHO_TOO_LARGE beyond the columns above; PLYECHO_NO_MEMORY. *rows is then NULL. No row below the heading is fine. */
PLYECHO_API enum plyecho_code plyecho_rows_read(struct plyecho_rows **rows, const void *bytes,
                                                size_t size, struct plyecho_error *err);

/* Rows below the heading. */
PLYECHO_API size_t plyecho_rows_count(const struct plyecho_rows *rows);

/* The column of this name, or PLYECHO_NO_COLUMN. */
PLYECHO_API size_t plyecho_rows_find(const struct plyecho_rows *rows, const char *name);

/* Line of the file at which a row (from 0) begins. */
PLYECHO_API long plyecho_rows_line(const struct plyecho_rows *rows, size_t row);

/* A cell as text; "" where it is empty, left out, or of no column. It holds as long as rows. */
PLYECHO_API const char *plyecho_rows_text(const struct plyecho_rows *rows, size_t row,
                                          size_t column);

/* Does the row go as far as this column, be the cell empty or not? */
PLYECHO_API bool plyecho_rows_has(const struct plyecho_rows *rows, size_t row, size_t column);

/* A cell as a number; not known where the text is "". PLYECHO_BAD_NUMBER with line and column for anything
 * else that is no number. */
PLYECHO_API enum plyecho_code plyecho_rows_number(const struct plyecho_rows *rows, size_t row,
                                                  size_t column, struct plyecho_known *number,
                                                  struct plyecho_error *err);

/* NULL is fine. */
PLYECHO_API void plyecho_rows_free(struct plyecho_rows *rows);

#endif
