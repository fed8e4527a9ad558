/* step_rows.h - the table of a calibration's steps: which trace is of which thickness
 *
 * CSV with a heading: file,channel,thickness_mm,thickness_u_mm in any order, channel may be left out.
 * Cells are parted by comma, semicolon or tab; with a semicolon or tab numbers may have a decimal comma.
 * Empty lines and lines that begin with # are skipped; a byte-order mark and CRLF do no harm.
 */
#ifndef PLYECHO_STEP_ROWS_H
#define PLYECHO_STEP_ROWS_H

#include <stddef.h>

#include <plyecho/calibration.h>
#include <plyecho/error.h>

struct plyecho_step_row {
    char *file;     /* as it stands there */
    size_t channel; /* from 1; 0 where it is not said */
    double thickness_m;
    double thickness_u_m; /* standard uncertainty, above 0 */
    long line;            /* where it stands, from 1 */
};

struct plyecho_step_rows {
    struct plyecho_step_row row[PLYECHO_MOST_STEPS];
    size_t count; /* at least 1 once read */
};

/* Read a table from memory; *rows is overwritten. On failure it is left empty and err has the line and
 * the cure: an unknown or missing column, text for a number, a thickness or uncertainty out of its range,
 * one thickness or one trace twice, more than PLYECHO_MOST_STEPS rows, none at all. */
PLYECHO_API enum plyecho_code plyecho_step_rows_read(struct plyecho_step_rows *rows,
                                                     const void *bytes, size_t size,
                                                     struct plyecho_error *err);

/* Free what it owns and empty it; a zeroed one is fine. */
PLYECHO_API void plyecho_step_rows_clear(struct plyecho_step_rows *rows);

#endif
