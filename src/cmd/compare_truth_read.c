/* The table of what was measured otherwise. */
#include "compare_truth.h"

#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure.h>

#include "file.h"
#include "memory.h"
#include "scan_axes.h"

static const double mm = 1e-3;

/* Cells of the table, the first fault kept. */
struct cells {
    const struct plyecho_rows *rows;
    size_t across, along, thickness, thickness_u, depth; /* columns */
    size_t row;
    enum plyecho_code code;
    struct plyecho_error *err;
};

static enum plyecho_code find_columns(struct cells *c, bool tube, struct plyecho_error *err)
{
    const struct scan_axes *axes = scan_axes_of(tube);
    c->across = plyecho_rows_find(c->rows, axes->across.name);
    c->along = plyecho_rows_find(c->rows, axes->along.name);
    c->thickness = plyecho_rows_find(c->rows, "thickness_mm");
    c->thickness_u = plyecho_rows_find(c->rows, "thickness_u_mm");
    c->depth = plyecho_rows_find(c->rows, "indication_depth_mm");
    if (c->across == PLYECHO_NO_COLUMN || c->along == PLYECHO_NO_COLUMN)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the scan is of a %s: the heading needs %s and %s",
                            tube ? "tube" : "plate", axes->across.name, axes->along.name);
    if (c->thickness == PLYECHO_NO_COLUMN && c->depth == PLYECHO_NO_COLUMN)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "nothing was measured: the heading needs thickness_mm or "
                            "indication_depth_mm");
    return PLYECHO_OK;
}

static bool failed(struct cells *c, enum plyecho_code code, const char *name, const char *rule)
{
    c->code = plyecho_fail_line(c->err, code, plyecho_rows_line(c->rows, c->row), "%s %s", name,
                                rule);
    return false;
}

/* A number from least to most in the unit of its name. */
static struct plyecho_known number(struct cells *c, size_t column, const char *name,
                                   double least, double most)
{
    struct plyecho_known x = {false, 0.0};
    char rule[80];
    if (c->code == PLYECHO_OK && column != PLYECHO_NO_COLUMN)
        c->code = plyecho_rows_number(c->rows, c->row, column, &x, c->err);
    snprintf(rule, sizeof rule, "is %g: give a number from %g to %g", x.value, least, most);
    if (c->code == PLYECHO_OK && x.known && !(x.value >= least && x.value <= most))
        failed(c, PLYECHO_BAD_ARGUMENT, name, rule);
    return x;
}

static void take_place(struct cells *c, bool tube, struct truth_row *row)
{
    const struct scan_axes *axes = scan_axes_of(tube);
    const double far_mm = 1e6;
    struct plyecho_known across =
        number(c, c->across, axes->across.name, tube ? -180.0 : -far_mm, tube ? 360.0 : far_mm);
    struct plyecho_known along = number(c, c->along, axes->along.name, -far_mm, far_mm);
    if (c->code == PLYECHO_OK && (!across.known || !along.known))
        failed(c, PLYECHO_BAD_FILE, !across.known ? axes->across.name : axes->along.name,
               "is empty: say where it was measured");
    row->place = (struct plyecho_place){across.value * axes->across.unit,
                                        along.value * axes->along.unit};
    if (tube && row->place.across < 0.0)
        row->place.across += 360.0;
    if (tube && row->place.across >= 360.0)
        row->place.across -= 360.0;
}

static void take_values(struct cells *c, struct truth_row *row)
{
    const char *cut = plyecho_rows_text(c->rows, c->row, c->depth);
    row->thickness_m =
        number(c, c->thickness, "thickness_mm", PLYECHO_WALL_LEAST_MM, PLYECHO_WALL_MOST_MM);
    row->thickness_u_m = number(c, c->thickness_u, "thickness_u_mm", 0.0, PLYECHO_WALL_MOST_MM);
    row->thickness_m.value *= mm;
    row->thickness_u_m.value *= mm;
    if (strcmp(cut, "none") == 0) {
        row->cut = TRUTH_NOTHING_FOUND;
        return;
    }
    bool faultless = c->code == PLYECHO_OK;
    struct plyecho_known depth =
        number(c, c->depth, "indication_depth_mm", PLYECHO_WALL_LEAST_MM, PLYECHO_WALL_MOST_MM);
    if (faultless && c->code == PLYECHO_BAD_NUMBER)
        failed(c, PLYECHO_BAD_NUMBER, "indication_depth_mm",
               "is no number: give the depth in mm, or none where nothing was found");
    if (depth.known) {
        row->cut = TRUTH_DELAMINATION;
        row->depth_m = depth.value * mm;
    }
}

static enum plyecho_code take_rows(struct truth *t, const struct plyecho_rows *rows,
                                   struct plyecho_error *err)
{
    struct cells c = {.rows = rows, .err = err};
    c.code = find_columns(&c, t->scan->results.tube, err);
    if (c.code != PLYECHO_OK)
        return c.code;
    size_t count = plyecho_rows_count(rows);
    t->row = memory_take(count, sizeof *t->row);
    for (; c.row < count && c.code == PLYECHO_OK; c.row++) {
        struct truth_row *row = &t->row[t->count];
        *row = (struct truth_row){.line = plyecho_rows_line(rows, c.row)};
        take_place(&c, t->scan->results.tube, row);
        take_values(&c, row);
        bool has = row->thickness_m.known || row->cut != TRUTH_NOT_CUT;
        t->count += has;
        t->empty += !has;
    }
    if (c.code == PLYECHO_OK && t->count == 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "no row with a value; write in what was measured");
    return c.code;
}

static enum plyecho_code find_places(struct truth *t, struct plyecho_error *err)
{
    for (size_t i = 0; i < t->count; i++) {
        t->row[i].at = plyecho_change_place_at(t->scan->grid, t->row[i].place);
        t->scanned += t->row[i].at != PLYECHO_NO_PLACE;
    }
    if (t->scanned > 0)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "none of its %zu measured places lies within half a spacing of one in "
                        "%.60s; measure from the same zero mark, where it was scanned",
                        t->count, t->scan->folder);
}

bool truth_read(struct truth *t, const struct compare_scan *scan, const char *file,
                struct messages *messages)
{
    struct file_bytes bytes = {0};
    struct plyecho_rows *rows = NULL;
    struct plyecho_error err;
    *t = (struct truth){.scan = scan, .file = file};
    enum plyecho_code code = file_read(file, &bytes, &err);
    if (code == PLYECHO_OK)
        code = plyecho_rows_read(&rows, bytes.data, bytes.size, &err);
    if (code == PLYECHO_OK)
        code = take_rows(t, rows, &err);
    if (code == PLYECHO_OK)
        code = find_places(t, &err);
    if (code != PLYECHO_OK)
        message_error(messages, file, &err);
    else if (t->empty > 0)
        message_note(messages, file, "%zu rows have no value and are left out", t->empty);
    plyecho_rows_free(rows);
    free(bytes.data);
    return code == PLYECHO_OK;
}

void truth_clear(struct truth *t)
{
    free(t->row);
    t->row = NULL;
}
