#include <config.h>

#include "scan_tables.h"

#include <string.h>

#include "assess_cells.h"
#include "scan_axes.h"

static const double per_mm = 1e3, per_mm2 = 1e6;
static const struct table_values as_csv = {.format.index = TABLE_CSV};

static struct cell known(struct plyecho_known number, double scale)
{
    return number.known ? cell_number(number.value * scale) : cell_unknown();
}

static struct cell when(bool holds, double number)
{
    return holds ? cell_number(number) : cell_unknown();
}

/* ---- readings ---- */

enum { PLACE_COLUMNS = 2 };

static const struct column scan_columns[] = {
    {.name = "shots", .kind = COLUMN_COUNT},
    {.name = "shots_spread_mm", .kind = COLUMN_NUMBER, .digits = 3},
    {.name = "second_verdict", .kind = COLUMN_TEXT},
    {.name = "second_flagged", .kind = COLUMN_YES_NO},
    {.name = "context", .kind = COLUMN_TEXT},
    {.name = "second_thickness_mm", .kind = COLUMN_NUMBER, .digits = 6},
    {.name = "second_thickness_u_mm", .kind = COLUMN_NUMBER, .digits = 2},
    {.name = "second_depth_mm", .kind = COLUMN_NUMBER, .digits = 4},
    {.name = "against_sound_db", .kind = COLUMN_NUMBER, .digits = 3},
    {.name = "nominal_mm", .kind = COLUMN_NUMBER},
    {.name = "indication", .kind = COLUMN_COUNT},
    {.name = "trace_digest", .kind = COLUMN_TEXT},
    {.name = "trouble", .kind = COLUMN_TEXT},
};

enum {
    SCAN_COLUMNS = sizeof scan_columns / sizeof scan_columns[0],
    READING_COLUMNS = PLACE_COLUMNS + ASSESS_COLUMNS + SCAN_COLUMNS
};

static void place_cells(const struct scan_results *r, const struct plyecho_place *place,
                        struct cell cells[PLACE_COLUMNS])
{
    const struct scan_axes *axes = scan_axes_of(r->manifest->tube);
    cells[0] = cell_number(scan_axis_number(&axes->across, place->across));
    cells[1] = cell_number(scan_axis_number(&axes->along, place->along));
}

/* The best coupled shot's assessment, with what the other shots did to it. */
static struct plyecho_assessment combined(const struct plyecho_place_reading *reading,
                                          const struct plyecho_assessment *best)
{
    struct plyecho_assessment a = *best;
    if (reading->verdict != a.verdict) {
        a.verdict = a.next_best = reading->verdict;
        a.reason = reading->reason;
        a.flagged = reading->flagged;
        a.evidence_ratio = reading->evidence_ratio;
    }
    if (a.thickness.thickness_u.known && reading->wall_u_m.known)
        a.thickness.thickness_u = reading->wall_u_m;
    return a;
}

static struct cell against_sound(const struct scan_results *r,
                                 const struct plyecho_place_reading *reading)
{
    const struct plyecho_known *sound = &r->sound.balance_db;
    return when(reading->balance_db.known && sound->known,
                reading->balance_db.value - sound->value);
}

static void own_cells(const struct scan_results *r, size_t place, const struct scan_shot *shot,
                      struct cell *cells)
{
    const struct plyecho_place_reading *p = &r->reading[place];
    const struct cell filled[SCAN_COLUMNS] = {
        cell_count(p->read ? p->shots : 0),
        known(r->spread_m[place], per_mm),
        cell_text(plyecho_verdict_word(p->read ? p->second : PLYECHO_UNREADABLE)),
        cell_yes_no(!p->read || p->second_flagged),
        cell_text(plyecho_context_word(p->context)),
        known(p->second_wall_m, per_mm),
        when(p->second_wall_m.known && p->second_wall_u_m.known,
             p->second_wall_u_m.value * per_mm),
        when(p->read && plyecho_verdict_has_echo(p->second), p->second_depth_m * per_mm),
        against_sound(r, p),
        known(p->nominal_m, per_mm),
        r->member[place] > 0 ? cell_count(r->member[place]) : cell_unknown(),
        shot->digest[0] != '\0' ? cell_text(shot->digest) : cell_unknown(),
        p->read ? cell_unknown() : cell_text(shot->trouble.text),
    };
    memcpy(cells, filled, sizeof filled);
}

static bool write_reading(const struct scan_results *r, const struct table *table, size_t place)
{
    const struct plyecho_shot *of = &r->manifest->shot[r->best[place]];
    const struct plyecho_place_reading *reading = &r->reading[place];
    struct cell cells[READING_COLUMNS];
    struct scan_shot shot = {.judged = false};
    struct assess_texts texts;
    struct plyecho_assessment a;
    scan_journal_get(r->journal, r->best[place], &shot);
    place_cells(r, &reading->place, cells);
    a = reading->read ? combined(reading, &shot.assessment) : plyecho_assessment_of_silence();
    const struct assess_row row = {of->file, of->channel, &a, r->procedure->digest, NULL};
    assess_cells(&row, &texts, cells + PLACE_COLUMNS);
    if (!reading->read)
        cells[PLACE_COLUMNS + ASSESS_REASON] = cell_text("not-read");
    own_cells(r, place, &shot, cells + PLACE_COLUMNS + ASSESS_COLUMNS);
    return table_row(table, cells);
}

bool scan_readings_write(const struct scan_results *r, FILE *out)
{
    const struct scan_axes *axes = scan_axes_of(r->manifest->tube);
    struct column columns[READING_COLUMNS] = {
        {.name = axes->across.name, .kind = COLUMN_NUMBER},
        {.name = axes->along.name, .kind = COLUMN_NUMBER},
    };
    struct table table;
    memcpy(columns + PLACE_COLUMNS, assess_columns, sizeof(struct column[ASSESS_COLUMNS]));
    memcpy(columns + PLACE_COLUMNS + ASSESS_COLUMNS, scan_columns, sizeof scan_columns);
    table_begin(&table, &as_csv, columns, READING_COLUMNS, out);
    bool good = true;
    for (size_t i = 0; i < r->places.count && good; i++)
        good = write_reading(r, &table, i);
    return good;
}

/* ---- indications ---- */

/* Columns of the place have a name on a tube and one on a plate; "": not there. */
static const struct indication_column {
    struct column column;
    const char *on_plate; /* NULL: the same */
} indication_columns[] = {
    {{.name = "kind", .kind = COLUMN_TEXT}, NULL},
    {{.name = "number", .kind = COLUMN_COUNT}, NULL},
    {{.name = "declared", .kind = COLUMN_YES_NO}, NULL},
    {{.name = "places", .kind = COLUMN_COUNT}, NULL},
    {{.name = "from_deg", .kind = COLUMN_NUMBER, .digits = 5}, "from_x_mm"},
    {{.name = "to_deg", .kind = COLUMN_NUMBER, .digits = 5}, "to_x_mm"},
    {{.name = "extent_deg", .kind = COLUMN_NUMBER, .digits = 4}, ""},
    {{.name = "extent_arc_mm", .kind = COLUMN_NUMBER, .digits = 4}, "extent_x_mm"},
    {{.name = "extent_arc_u_mm", .kind = COLUMN_NUMBER, .digits = 2}, "extent_x_u_mm"},
    {{.name = "from_axial_mm", .kind = COLUMN_NUMBER, .digits = 5}, "from_y_mm"},
    {{.name = "to_axial_mm", .kind = COLUMN_NUMBER, .digits = 5}, "to_y_mm"},
    {{.name = "extent_axial_mm", .kind = COLUMN_NUMBER, .digits = 4}, "extent_y_mm"},
    {{.name = "extent_axial_u_mm", .kind = COLUMN_NUMBER, .digits = 2}, "extent_y_u_mm"},
    {{.name = "area_mm2", .kind = COLUMN_NUMBER, .digits = 4}, NULL},
    {{.name = "least_depth_mm", .kind = COLUMN_NUMBER, .digits = 4}, NULL},
    {{.name = "most_depth_mm", .kind = COLUMN_NUMBER, .digits = 4}, NULL},
    {{.name = "worst_db", .kind = COLUMN_NUMBER, .digits = 3}, NULL},
    {{.name = "worst_angle_deg", .kind = COLUMN_NUMBER}, "worst_x_mm"},
    {{.name = "worst_axial_mm", .kind = COLUMN_NUMBER}, "worst_y_mm"},
    {{.name = "least_thickness_mm", .kind = COLUMN_NUMBER, .digits = 5}, NULL},
    {{.name = "next_mm", .kind = COLUMN_NUMBER, .digits = 4}, NULL},
    {{.name = "within_beam", .kind = COLUMN_YES_NO}, NULL},
    {{.name = "open_ended", .kind = COLUMN_YES_NO}, NULL},
    {{.name = "seam_like", .kind = COLUMN_YES_NO}, NULL},
};

enum { INDICATION_COLUMNS = sizeof indication_columns / sizeof indication_columns[0] };

static void indication_cells(const struct scan_results *r, size_t i, struct cell *cells)
{
    const struct plyecho_indication *n = &r->indication[i];
    const struct scan_axis *across = &scan_axes_of(r->manifest->tube)->across;
    struct cell worst[PLACE_COLUMNS];
    place_cells(r, &r->reading[n->worst].place, worst);
    const struct cell filled[INDICATION_COLUMNS] = {
        cell_text(plyecho_verdict_word(n->kind)),
        cell_count(i + 1),
        cell_yes_no(n->declared),
        cell_count(n->places),
        cell_number(n->from_across / across->unit),
        cell_number(n->to_across / across->unit),
        cell_number(n->across),
        cell_number(n->arc_m * per_mm),
        cell_number(n->arc_u_m * per_mm),
        cell_number(n->from_along_m * per_mm),
        cell_number(n->to_along_m * per_mm),
        cell_number(n->along_m * per_mm),
        cell_number(n->along_u_m * per_mm),
        cell_number(n->area_m2 * per_mm2),
        cell_number(n->least_depth_m * per_mm),
        cell_number(n->most_depth_m * per_mm),
        when(plyecho_verdict_has_echo(n->kind), decibels(n->strength)),
        worst[0],
        worst[1],
        known(n->least_wall_m, per_mm),
        known(n->next_m, per_mm),
        cell_yes_no(n->within_beam),
        cell_yes_no(n->open_ended),
        cell_yes_no(n->seam_like),
    };
    memcpy(cells, filled, sizeof filled);
}

bool scan_indications_write(const struct scan_results *r, FILE *out)
{
    struct column columns[INDICATION_COLUMNS];
    struct cell all[INDICATION_COLUMNS], cells[INDICATION_COLUMNS];
    size_t at[INDICATION_COLUMNS], count = 0;
    struct table table;
    for (size_t k = 0; k < INDICATION_COLUMNS; k++) {
        const struct indication_column *c = &indication_columns[k];
        const char *name = c->column.name;
        if (!r->manifest->tube && c->on_plate != NULL)
            name = c->on_plate;
        if (name[0] == '\0')
            continue;
        columns[count] = c->column;
        columns[count].name = name;
        at[count++] = k;
    }
    table_begin(&table, &as_csv, columns, count, out);
    bool good = true;
    for (size_t i = 0; i < r->indications && good; i++) {
        indication_cells(r, i, all);
        for (size_t k = 0; k < count; k++)
            cells[k] = all[at[k]];
        good = table_row(&table, cells);
    }
    return good;
}
