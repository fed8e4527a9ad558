#include <plyecho/step_rows.h>

#include <stdlib.h>
#include <string.h>

#include "named_rows.h"

enum column { FILE_NAME, CHANNEL, THICKNESS, THICKNESS_U, COLUMNS };

static const struct pe_named_column columns[COLUMNS] = {
    [FILE_NAME] = {"file", false},
    [CHANNEL] = {"channel", true},
    [THICKNESS] = {"thickness_mm", false},
    [THICKNESS_U] = {"thickness_u_mm", false},
};

static const struct pe_named_table table = {columns, COLUMNS, false,
                                            "file,channel,thickness_mm,thickness_u_mm"};

/* Thicker than any wall or block that a pulse-echo trace is of. */
static const double most_mm = 1e6;

/* From mm, above 0. */
static enum plyecho_code read_length(const struct pe_named_rows *r, enum column column,
                                     struct pe_span cell, double *value_m)
{
    double value = 0.0;
    enum plyecho_code code =
        pe_named_number(r, (int)column, cell, "mm without its unit", &value);
    if (code != PLYECHO_OK)
        return code;
    if (!(value > 0.0) || value > most_mm)
        return plyecho_fail_line(r->err, PLYECHO_BAD_ARGUMENT, r->line,
                                 "%s %g: it must be above 0, to %g mm", columns[column].name,
                                 value, most_mm);
    *value_m = value * 1e-3;
    return PLYECHO_OK;
}

static size_t channel_of(const struct plyecho_step_row *row)
{
    return row->channel > 0 ? row->channel : 1;
}

/* The last row against those before it. */
static enum plyecho_code check_twice(const struct plyecho_step_rows *rows,
                                     struct plyecho_error *err)
{
    const struct plyecho_step_row *last = &rows->row[rows->count - 1];
    for (const struct plyecho_step_row *row = rows->row; row < last; row++) {
        if (row->thickness_m == last->thickness_m)
            return plyecho_fail_line(
                err, PLYECHO_BAD_FILE, last->line,
                "thickness_mm %g stands in line %ld already: two steps of one thickness; take one "
                "out (several shots of one step: plyecho average), or measure it anew",
                last->thickness_m * 1e3, row->line);
        if (strcmp(row->file, last->file) == 0 && channel_of(row) == channel_of(last))
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, last->line,
                                     "channel %zu of %s stands in line %ld already; name the "
                                     "trace of this step",
                                     channel_of(last), last->file, row->line);
    }
    if (last->thickness_u_m >= last->thickness_m)
        return plyecho_fail_line(
            err, PLYECHO_BAD_ARGUMENT, last->line,
            "thickness_u_mm %g is not below the thickness of %g mm; state the "
            "standard uncertainty in mm: 0.002 for 2 um",
            last->thickness_u_m * 1e3, last->thickness_m * 1e3);
    return PLYECHO_OK;
}

static enum plyecho_code read_row(const struct pe_named_rows *r, const struct pe_span *cell,
                                  struct plyecho_step_rows *rows)
{
    if (rows->count == PLYECHO_MOST_STEPS)
        return plyecho_fail_line(r->err, PLYECHO_TOO_LARGE, r->line,
                                 "more than %d steps; take the ones that span the wall",
                                 PLYECHO_MOST_STEPS);
    struct plyecho_step_row *row = &rows->row[rows->count++];
    row->line = r->line;
    enum plyecho_code code = pe_named_text(
        r, cell[FILE_NAME], "no file named; write the trace of this step there", &row->file);
    if (code == PLYECHO_OK)
        code = pe_named_channel(r, cell[CHANNEL], &row->channel);
    if (code == PLYECHO_OK)
        code = read_length(r, THICKNESS, cell[THICKNESS], &row->thickness_m);
    if (code == PLYECHO_OK)
        code = read_length(r, THICKNESS_U, cell[THICKNESS_U], &row->thickness_u_m);
    return code == PLYECHO_OK ? check_twice(rows, r->err) : code;
}

static enum plyecho_code read_all(struct plyecho_step_rows *rows, const void *bytes,
                                  size_t size, struct plyecho_error *err)
{
    struct pe_named_rows r;
    struct pe_span cell[PE_MOST_NAMED_COLUMNS];
    bool more = true;
    enum plyecho_code code = pe_named_rows_open(&r, &table, bytes, size, err);
    while (code == PLYECHO_OK && more) {
        code = pe_named_rows_next(&r, cell, &more);
        if (code == PLYECHO_OK && more)
            code = read_row(&r, cell, rows);
    }
    if (code == PLYECHO_OK && rows->count == 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "no steps; write the heading %s and a row for each step",
                            table.heading);
    return code;
}

enum plyecho_code plyecho_step_rows_read(struct plyecho_step_rows *rows, const void *bytes,
                                         size_t size, struct plyecho_error *err)
{
    memset(rows, 0, sizeof *rows);
    enum plyecho_code code = read_all(rows, bytes, size, err);
    if (code != PLYECHO_OK)
        plyecho_step_rows_clear(rows);
    return code;
}

void plyecho_step_rows_clear(struct plyecho_step_rows *rows)
{
    for (size_t i = 0; i < rows->count; i++)
        free(rows->row[i].file);
    memset(rows, 0, sizeof *rows);
}
