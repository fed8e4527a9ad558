#include <config.h>

#include "results_tables.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "memory.h"
#include "scan_axes.h"

static const double mm = 1e-3, mm2 = 1e-6;

/* A row of which cells are taken one by one; the first fault is kept, and all behind it is empty. */
struct row {
    const struct plyecho_rows *rows;
    size_t index;
    enum plyecho_code code;
    struct plyecho_error *err;
};

static size_t column(struct row *r, const char *name)
{
    size_t found = plyecho_rows_find(r->rows, name);
    if (found == PLYECHO_NO_COLUMN && r->code == PLYECHO_OK)
        r->code = plyecho_fail(r->err, PLYECHO_BAD_FILE,
                               "no column %s: not as scan wrote it; scan again", name);
    return found;
}

/* A scan writes every cell of a row: one that is not there was cut off. */
static size_t cell(struct row *r, const char *name)
{
    size_t at = column(r, name);
    if (r->code == PLYECHO_OK && !plyecho_rows_has(r->rows, r->index, at))
        r->code =
            plyecho_fail_line(r->err, PLYECHO_BAD_FILE, plyecho_rows_line(r->rows, r->index),
                              "ends before %s: cut off; scan again", name);
    return at;
}

static const char *text(struct row *r, const char *name)
{
    return plyecho_rows_text(r->rows, r->index, cell(r, name));
}

static struct plyecho_known number(struct row *r, const char *name, double scale)
{
    struct plyecho_known value = {false, 0.0};
    size_t at = cell(r, name);
    if (r->code == PLYECHO_OK)
        r->code = plyecho_rows_number(r->rows, r->index, at, &value, r->err);
    value.value *= scale;
    return value;
}

/* A number that no row lacks. */
static double given(struct row *r, const char *name, double scale)
{
    struct plyecho_known value = number(r, name, scale);
    if (r->code == PLYECHO_OK && !value.known)
        r->code =
            plyecho_fail_line(r->err, PLYECHO_BAD_FILE, plyecho_rows_line(r->rows, r->index),
                              "%s is empty: not as scan wrote it; scan again", name);
    return value.value;
}

/* A whole number of things, 0 where the cell is empty. */
static size_t count(struct row *r, const char *name)
{
    static const double most = 1e9;
    struct plyecho_known value = number(r, name, 1.0);
    if (r->code == PLYECHO_OK &&
        !(value.value >= 0.0 && value.value <= most && value.value == floor(value.value)))
        r->code =
            plyecho_fail_line(r->err, PLYECHO_BAD_FILE, plyecho_rows_line(r->rows, r->index),
                              "%s is no count: not as scan wrote it; scan again", name);
    return r->code == PLYECHO_OK ? (size_t)value.value : 0;
}

static double or_nan(struct plyecho_known value)
{
    return value.known ? value.value : NAN;
}

static bool yes(struct row *r, const char *name)
{
    return strcmp(text(r, name), "yes") == 0;
}

/* The words of an enumeration, as columns have them. */
typedef const char *word_of(int value);

static const char *verdict_word(int value)
{
    return plyecho_verdict_word((enum plyecho_verdict)value);
}

static const char *context_word(int value)
{
    return plyecho_context_word((enum plyecho_context)value);
}

static int word(struct row *r, const char *name, word_of *of, int count)
{
    const char *is = text(r, name);
    for (int k = 0; k < count; k++)
        if (strcmp(is, of(k)) == 0)
            return k;
    if (r->code == PLYECHO_OK)
        r->code =
            plyecho_fail_line(r->err, PLYECHO_BAD_FILE, plyecho_rows_line(r->rows, r->index),
                              "'%.40s' under %s is none of its words; scan again", is, name);
    return 0;
}

/* ---- readings ---- */

static double strength_of(struct plyecho_known db)
{
    return db.known ? pow(10.0, db.value / 20.0) : 0.0;
}

static void take_raw(struct row *r, struct plyecho_place_reading *p)
{
    p->verdict = (enum plyecho_verdict)word(r, "verdict", verdict_word, PLYECHO_VERDICT_COUNT);
    p->flagged = yes(r, "flagged");
    p->evidence_ratio = number(r, "evidence_ratio", 1.0).value;
    struct plyecho_known wall = number(r, "thickness_mm", mm);
    p->wall_seen = wall.known;
    p->wall_m = wall.value;
    p->wall_u_m = number(r, "thickness_u_mm", mm);
    struct plyecho_known depth = number(r, "indication_depth_mm", mm);
    p->has_indication = depth.known;
    p->depth_m = depth.value;
    p->depth_u_m = number(r, "indication_depth_u_mm", mm);
    p->strength = strength_of(number(r, "indication_db", 1.0));
    p->balance_db = number(r, "balance_db", 1.0);
    p->highest_inner = number(r, "highest_inner", 1.0);
}

static void take_second(struct row *r, struct plyecho_place_reading *p)
{
    p->second =
        (enum plyecho_verdict)word(r, "second_verdict", verdict_word, PLYECHO_VERDICT_COUNT);
    p->second_flagged = yes(r, "second_flagged");
    p->context = (enum plyecho_context)word(r, "context", context_word, PLYECHO_CONTEXT_COUNT);
    p->second_wall_m = number(r, "second_thickness_mm", mm);
    p->second_wall_u_m = number(r, "second_thickness_u_mm", mm);
    p->second_depth_m = number(r, "second_depth_mm", mm).value;
    p->nominal_m = number(r, "nominal_mm", mm);
}

static double coordinate(struct row *r, const char *before, const struct scan_axis *axis)
{
    char name[40];
    snprintf(name, sizeof name, "%s%s", before, axis->name);
    return given(r, name, axis->unit);
}

static size_t take_reading(struct row *r, const struct scan_axes *axes,
                           struct plyecho_place_reading *p)
{
    p->place.across = coordinate(r, "", &axes->across);
    p->place.along = coordinate(r, "", &axes->along);
    p->read = strcmp(text(r, "reason"), "not-read") != 0;
    p->shots = count(r, "shots");
    take_raw(r, p);
    take_second(r, p);
    return count(r, "indication");
}

static void check_member(struct row *r, const struct results *results)
{
    if (r->code == PLYECHO_OK && results->member[r->index] > plyecho_rows_count(results->found))
        r->code = plyecho_fail_line(
            r->err, PLYECHO_BAD_FILE, plyecho_rows_line(r->rows, r->index),
            "belongs to an indication that indications.csv lacks; scan again");
}

enum plyecho_code results_take_readings(struct results *results, struct plyecho_error *err)
{
    struct row r = {results->readings, 0, PLYECHO_OK, err};
    results->tube =
        plyecho_rows_find(r.rows, scan_axes_of(true)->across.name) != PLYECHO_NO_COLUMN;
    const struct scan_axes *axes = scan_axes_of(results->tube);
    results->places = plyecho_rows_count(r.rows);
    results->reading = memory_take(results->places, sizeof *results->reading);
    results->member = memory_take(results->places, sizeof *results->member);
    if (results->places == 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "no places: not as scan wrote it; scan again");
    for (; r.index < results->places && r.code == PLYECHO_OK; r.index++) {
        results->member[r.index] = take_reading(&r, axes, &results->reading[r.index]);
        check_member(&r, results);
    }
    return r.code;
}

/* ---- indications ---- */

static void take_across(struct row *r, bool tube, struct plyecho_indication *n)
{
    double scale = tube ? 1.0 : mm;
    n->from_across = given(r, tube ? "from_deg" : "from_x_mm", scale);
    n->to_across = given(r, tube ? "to_deg" : "to_x_mm", scale);
    n->arc_m = or_nan(number(r, tube ? "extent_arc_mm" : "extent_x_mm", mm));
    n->arc_u_m = or_nan(number(r, tube ? "extent_arc_u_mm" : "extent_x_u_mm", mm));
    n->across = tube ? or_nan(number(r, "extent_deg", 1.0)) : n->arc_m;
}

static void take_along(struct row *r, bool tube, struct plyecho_indication *n)
{
    n->from_along_m = given(r, tube ? "from_axial_mm" : "from_y_mm", mm);
    n->to_along_m = given(r, tube ? "to_axial_mm" : "to_y_mm", mm);
    n->along_m = or_nan(number(r, tube ? "extent_axial_mm" : "extent_y_mm", mm));
    n->along_u_m = or_nan(number(r, tube ? "extent_axial_u_mm" : "extent_y_u_mm", mm));
}

static void take_indication(struct row *r, const struct results *results,
                            struct plyecho_indication *n)
{
    bool tube = results->tube;
    n->kind = (enum plyecho_verdict)word(r, "kind", verdict_word, PLYECHO_VERDICT_COUNT);
    n->declared = yes(r, "declared");
    n->places = count(r, "places");
    take_across(r, tube, n);
    take_along(r, tube, n);
    n->area_m2 = or_nan(number(r, "area_mm2", mm2));
    n->least_depth_m = or_nan(number(r, "least_depth_mm", mm));
    n->most_depth_m = or_nan(number(r, "most_depth_mm", mm));
    struct plyecho_known db = number(r, "worst_db", 1.0);
    n->strength = db.known ? strength_of(db) : NAN;
    n->least_wall_m = number(r, "least_thickness_mm", mm);
    n->next_m = number(r, "next_mm", mm);
    n->within_beam = yes(r, "within_beam");
    n->open_ended = yes(r, "open_ended");
    n->seam_like = yes(r, "seam_like");
    n->worst = results->places; /* find_worst tells */
}

/* Their worst places by the coordinates, which were written from these; each is one of its own. */
static enum plyecho_code find_worst(struct results *results, struct plyecho_error *err)
{
    struct row r = {results->found, 0, PLYECHO_OK, err};
    const struct scan_axes *axes = scan_axes_of(results->tube);
    for (size_t i = 0; i < results->places && r.code == PLYECHO_OK; i++) {
        const struct plyecho_place *p = &results->reading[i].place;
        if (results->member[i] == 0)
            continue;
        r.index = results->member[i] - 1;
        double across = coordinate(&r, "worst_", &axes->across);
        double along = coordinate(&r, "worst_", &axes->along);
        if (fabs(p->across - across) < 1e-9 && fabs(p->along - along) < 1e-12)
            results->indication[r.index].worst = i;
    }
    for (size_t k = 0; k < results->indications && r.code == PLYECHO_OK; k++)
        if (results->indication[k].worst == results->places)
            r.code =
                plyecho_fail_line(err, PLYECHO_BAD_FILE, plyecho_rows_line(results->found, k),
                                  "its worst place is not in readings.csv; scan again");
    return r.code;
}

enum plyecho_code results_take_indications(struct results *results, struct plyecho_error *err)
{
    struct row r = {results->found, 0, PLYECHO_OK, err};
    results->indications = plyecho_rows_count(r.rows);
    results->indication = memory_take(results->indications, sizeof *results->indication);
    for (; r.index < results->indications && r.code == PLYECHO_OK; r.index++)
        take_indication(&r, results, &results->indication[r.index]);
    return r.code == PLYECHO_OK ? find_worst(results, err) : r.code;
}
