#include <config.h>

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/rows.h>

#include "file.h"
#include "memory.h"
#include "quantile.h"
#include "readings.h"
#include "scan_axes.h"

struct columns {
    size_t across, along, wall, u;
};

static bool has_both(const struct plyecho_rows *rows, bool tube, struct columns *c)
{
    const struct scan_axes *axes = scan_axes_of(tube);
    c->across = plyecho_rows_find(rows, axes->across.name);
    c->along = plyecho_rows_find(rows, axes->along.name);
    return c->across != PLYECHO_NO_COLUMN && c->along != PLYECHO_NO_COLUMN;
}

/* A heading that names another unit says what to do. */
static enum plyecho_code no_thickness(const struct plyecho_rows *rows,
                                      struct plyecho_error *err)
{
    static const struct {
        const char *name, *cure;
    } others[] = {
        {"file", "it lists traces: give it to scan"},
        {"thickness", "name its unit: thickness_mm, in mm"},
        {"thickness_m", "it is in m: times 1000 it is thickness_mm"},
        {"thickness_in", "it is in inches: times 25.4 it is thickness_mm"},
        {"thickness_inch", "it is in inches: times 25.4 it is thickness_mm"},
        {"thickness_um", "it is in um: over 1000 it is thickness_mm"},
        {"wall_mm", "call it thickness_mm"},
    };
    for (size_t k = 0; k < sizeof others / sizeof others[0]; k++)
        if (plyecho_rows_find(rows, others[k].name) != PLYECHO_NO_COLUMN)
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, 1,
                                     "has a column %s, but none thickness_mm; %s",
                                     others[k].name, others[k].cure);
    return plyecho_fail_line(
        err, PLYECHO_BAD_FILE, 1,
        "has no column thickness_mm; the first line is to name the columns: "
        "angle_deg,axial_mm,thickness_mm, or x_mm,y_mm,thickness_mm of a "
        "plate");
}

/* A scan's own table has thickness_mm, too, but what a gauge would have read is not in it. */
static bool is_of_a_scan(const struct plyecho_rows *rows)
{
    return plyecho_rows_find(rows, "second_verdict") != PLYECHO_NO_COLUMN ||
           plyecho_rows_find(rows, "trace_digest") != PLYECHO_NO_COLUMN;
}

static enum plyecho_code find_columns(const struct plyecho_rows *rows, struct readings *r,
                                      struct columns *c, struct plyecho_error *err)
{
    struct columns plate;
    bool is_tube = has_both(rows, true, c), is_plate = has_both(rows, false, &plate);
    if (is_of_a_scan(rows))
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, 1,
                                 "is a scan's table, which has verdicts already; see the "
                                 "scan's indications.csv, or give its folder to report");
    if (plyecho_rows_find(rows, "thickness_mm") == PLYECHO_NO_COLUMN)
        return no_thickness(rows, err);
    if (is_tube && is_plate)
        return plyecho_fail_line(
            err, PLYECHO_BAD_FILE, 1,
            "has angle_deg,axial_mm and x_mm,y_mm; keep those of a tube or "
            "those of a plate");
    if (!is_tube && !is_plate)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, 1,
                                 "does not say where the readings were taken; add columns "
                                 "angle_deg and axial_mm (0 where there is one ring only), or "
                                 "x_mm and y_mm of a plate");
    r->tube = is_tube;
    if (is_plate)
        *c = plate;
    c->wall = plyecho_rows_find(rows, "thickness_mm");
    c->u = plyecho_rows_find(rows, "thickness_u_mm");
    return PLYECHO_OK;
}

/* ---- rows ---- */

static enum plyecho_code read_coordinate(const struct plyecho_rows *rows, size_t row,
                                         size_t column, const struct scan_axis *axis,
                                         double *coordinate, struct plyecho_error *err)
{
    struct plyecho_known number;
    enum plyecho_code code = plyecho_rows_number(rows, row, column, &number, err);
    if (code != PLYECHO_OK)
        return code;
    if (!number.known || fabs(number.value) > 1e6)
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, plyecho_rows_line(rows, row),
                                 "%s is empty or beyond 1e6; a reading needs its place",
                                 axis->name);
    *coordinate = number.value * axis->unit;
    return PLYECHO_OK;
}

/* In mm in the file; empty is not known. `empty` says when the cell is to be so. */
static enum plyecho_code read_length(const struct plyecho_rows *rows, size_t row, size_t column,
                                     double least, const char *empty,
                                     struct plyecho_known *length, struct plyecho_error *err)
{
    struct plyecho_error why;
    long line = plyecho_rows_line(rows, row);
    enum plyecho_code code = plyecho_rows_number(rows, row, column, length, &why);
    if (code != PLYECHO_OK)
        return plyecho_fail_line(err, code, line, "%.200s; leave the cell empty where %s",
                                 why.text, empty);
    if (length->known && !(length->value >= least))
        return plyecho_fail_line(err, PLYECHO_BAD_FILE, line,
                                 "%g mm cannot be; leave the cell empty where %s",
                                 length->value, empty);
    length->value *= 1e-3;
    return PLYECHO_OK;
}

static enum plyecho_code read_row(const struct plyecho_rows *rows, size_t row, bool tube,
                                  const struct columns *c, struct plyecho_gauge_reading *r,
                                  struct plyecho_error *err)
{
    const struct scan_axes *axes = scan_axes_of(tube);
    enum plyecho_code code =
        read_coordinate(rows, row, c->across, &axes->across, &r->place.across, err);
    if (code == PLYECHO_OK)
        code = read_coordinate(rows, row, c->along, &axes->along, &r->place.along, err);
    if (code == PLYECHO_OK)
        code =
            read_length(rows, row, c->wall, DBL_MIN, "the gauge showed none", &r->wall_m, err);
    if (code == PLYECHO_OK && c->u != PLYECHO_NO_COLUMN)
        code = read_length(rows, row, c->u, 0.0, "it is not known", &r->u_m, err);
    return code;
}

static enum plyecho_code read_rows(const struct plyecho_rows *rows, struct readings *r,
                                   struct plyecho_error *err)
{
    struct columns columns = {PLYECHO_NO_COLUMN, PLYECHO_NO_COLUMN, PLYECHO_NO_COLUMN,
                              PLYECHO_NO_COLUMN};
    enum plyecho_code code = find_columns(rows, r, &columns, err);
    if (code != PLYECHO_OK)
        return code;
    r->count = plyecho_rows_count(rows);
    r->reading = memory_take(r->count + 1, sizeof *r->reading);
    for (size_t i = 0; i < r->count && code == PLYECHO_OK; i++)
        code = read_row(rows, i, r->tube, &columns, &r->reading[i], err);
    return code;
}

bool readings_read(struct readings *r, const char *name, struct messages *messages)
{
    struct file_bytes bytes = {0};
    struct plyecho_rows *rows = NULL;
    struct plyecho_error err;
    r->name = name;
    enum plyecho_code code = file_read(name, &bytes, &err);
    if (code == PLYECHO_OK) {
        plyecho_digest(bytes.data, bytes.size, r->digest);
        code = plyecho_rows_read(&rows, bytes.data, bytes.size, &err);
    }
    if (code == PLYECHO_OK)
        code = read_rows(rows, r, &err);
    if (code != PLYECHO_OK)
        message_error(messages, name, &err);
    plyecho_rows_free(rows);
    free(bytes.data);
    return code == PLYECHO_OK;
}

/* ---- units ---- */

/* Median reading in mm; 0 without one. */
static double median_mm(const struct readings *r)
{
    double *mm = memory_take(r->count + 1, sizeof *mm);
    size_t count = 0;
    for (size_t i = 0; i < r->count; i++)
        if (r->reading[i].wall_m.known)
            mm[count++] = r->reading[i].wall_m.value * 1e3;
    quantile_sort(mm, count);
    double median = count > 0 ? quantile_of(mm, count, 0.5) : 0.0;
    free(mm);
    return median;
}

/* The unit that a ratio to the nominal is near to, give or take a third. */
static const char *unit_of(double ratio)
{
    static const struct {
        double ratio;
        const char *words;
    } units[] = {
        {1e-3, "m; times 1000 they are mm"},
        {1.0 / 25.4, "inches; times 25.4 they are mm"},
        {1e3, "um; over 1000 they are mm"},
        {1e3 / 25.4, "thousandths of an inch; times 0.0254 they are mm"},
    };
    for (size_t k = 0; k < sizeof units / sizeof units[0]; k++)
        if (fabs(log(ratio / units[k].ratio)) < log(1.5))
            return units[k].words;
    return NULL;
}

static void warn_of_radians(const struct readings *r, struct messages *messages)
{
    double most = 0.0;
    for (size_t i = 0; i < r->count; i++)
        most = fmax(most, fabs(r->reading[i].place.across));
    if (r->tube && r->count >= 4 && most > 1.0 && most < 6.29)
        message_note(messages, r->name,
                     "no angle_deg is above %.3g; if these are radians, give degrees", most);
}

/* Is the nominal that is used the procedure's, where somebody sat down to write it? */
static bool is_from_procedure(const struct readings *r)
{
    const struct plyecho_setting *stated = &r->procedure.part.nominal_m;
    if (!r->nominal_m.known)
        return r->procedure.part.nominal_along_m.count > 0;
    return stated->set && fabs(stated->value - r->nominal_m.value) < 1e-9;
}

/* Both in inches agree with each other. A foil can be so thin: its procedure says so, and a doubt stays. */
static bool check_thin(const struct readings *r, double mm, struct messages *messages)
{
    static const double thin_mm = 0.5; /* as in procedure_doubts.c */
    if (!(mm > 0.0 && mm < thin_mm))
        return true;
    if (is_from_procedure(r)) {
        message_note(messages, r->name,
                     "a median reading of %.4g mm is thinner than any wall of this trade, as "
                     "nominal_mm is: they look like inches; %.4g in is %.4g mm",
                     mm, mm, mm * 25.4);
        return true;
    }
    message_trouble(messages, r->name,
                    "a median reading of %.4g mm is thinner than any wall of this trade: it "
                    "looks like inches; %.4g in is %.4g mm: write mm, and --nominal in mm. If "
                    "it is a foil, state its nominal_mm in a procedure file (--procedure)",
                    mm, mm, mm * 25.4);
    return false;
}

bool readings_check_unit(const struct readings *r, struct messages *messages)
{
    double mm = median_mm(r), nominal = r->nominal_m.known ? r->nominal_m.value * 1e3 : 0.0;
    const char *unit = nominal > 0.0 && mm > 0.0 ? unit_of(mm / nominal) : NULL;
    bool absurd = mm > 0.0 && (nominal > 0.0 ? mm < 0.1 * nominal || mm > 10.0 * nominal
                                             : mm < 0.2 || mm > 300.0);
    if (unit != NULL)
        message_trouble(
            messages, r->name,
            "the median reading is %.4g where the nominal wall is %.4g mm: they look "
            "like %s",
            mm, nominal, unit);
    else if (absurd && nominal > 0.0)
        message_trouble(
            messages, r->name,
            "the median reading is %.4g mm where the nominal wall is %.4g mm; check "
            "the unit, the gauge, or the nominal",
            mm, nominal);
    else if (absurd)
        message_trouble(messages, r->name,
                        "a median reading of %.4g mm is no composite wall; check the unit (m, "
                        "inch, um?), or give one nominal wall (below 0.5 mm by nominal_mm in a "
                        "procedure file)",
                        mm);
    warn_of_radians(r, messages);
    return unit == NULL && !absurd && check_thin(r, mm, messages);
}
