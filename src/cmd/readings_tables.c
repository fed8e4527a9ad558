#include <config.h>

#include <math.h>
#include <string.h>

#include "readings.h"
#include "scan_axes.h"

static const double per_mm = 1e3;

enum { PLACE_COLUMNS = 2 };

static const struct column own_columns[] = {
    {.name = "thickness_mm", .kind = COLUMN_NUMBER},
    {.name = "thickness_u_mm", .kind = COLUMN_NUMBER},
    {.name = "group", .kind = COLUMN_TEXT},
    {.name = "flagged", .kind = COLUMN_YES_NO},
    {.name = "spot", .kind = COLUMN_COUNT},
    {.name = "fall", .kind = COLUMN_TEXT},
    {.name = "outlier", .kind = COLUMN_YES_NO},
    {.name = "low_share", .kind = COLUMN_NUMBER, .digits = 4},
    {.name = "place_readings", .kind = COLUMN_COUNT},
    {.name = "place_mm", .kind = COLUMN_NUMBER, .digits = 6},
    {.name = "smooth_mm", .kind = COLUMN_NUMBER, .digits = 5},
    {.name = "off_mm", .kind = COLUMN_NUMBER, .digits = 4},
    {.name = "step_mm", .kind = COLUMN_NUMBER, .digits = 4},
    {.name = "nominal_mm", .kind = COLUMN_NUMBER},
    {.name = "beyond", .kind = COLUMN_YES_NO},
    {.name = "disagree", .kind = COLUMN_YES_NO},
    {.name = "answer", .kind = COLUMN_TEXT},
    {.name = "procedure_digest", .kind = COLUMN_TEXT},
};

enum {
    OWN_COLUMNS = sizeof own_columns / sizeof own_columns[0],
    COLUMNS = PLACE_COLUMNS + OWN_COLUMNS
};

static struct cell known(struct plyecho_known number, double scale)
{
    return number.known ? cell_number(number.value * scale) : cell_unknown();
}

/* To a nanometre: a reading in m and back is as it was written. */
static struct cell in_mm(struct plyecho_known length)
{
    return length.known ? cell_number(round(length.value * 1e9) / 1e6) : cell_unknown();
}

static bool is_flagged(const struct plyecho_gauge_place *p)
{
    bool wall = p->group == PLYECHO_GAUGE_WALL || p->group == PLYECHO_GAUGE_OTHER_WALL;
    return !wall || p->beyond || p->disagree;
}

static void own_cells(const struct readings *r, size_t reading, struct cell *cells)
{
    const struct plyecho_gauge_log *log = r->log;
    size_t place = log->place_of[reading];
    const struct plyecho_gauge_place *p = &log->place[place];
    const char *digest = r->procedure.digest;
    bool read = p->readings > 0, judged = read && log->answer != PLYECHO_GAUGE_TOO_FEW;
    const struct cell filled[OWN_COLUMNS] = {
        in_mm(r->reading[reading].wall_m),
        in_mm(r->reading[reading].u_m),
        judged || !read ? cell_text(plyecho_gauge_group_word(p->group)) : cell_unknown(),
        cell_yes_no(is_flagged(p)),
        r->member[place] > 0 ? cell_count(r->member[place]) : cell_unknown(),
        cell_text(plyecho_gauge_fall_word(p->fall)),
        judged ? cell_yes_no(p->outlier) : cell_unknown(),
        judged ? known(p->low_share, 1.0) : cell_unknown(),
        cell_count(p->readings),
        in_mm((struct plyecho_known){read, p->wall_m}),
        judged ? cell_number(p->smooth_m * per_mm) : cell_unknown(),
        judged ? cell_number(p->off_m * per_mm) : cell_unknown(),
        cell_number(p->step_m * per_mm),
        in_mm(p->nominal_m),
        cell_yes_no(p->beyond),
        cell_yes_no(p->disagree),
        cell_text(plyecho_gauge_answer_word(log->answer)),
        digest[0] != '\0' ? cell_text(digest) : cell_unknown(),
    };
    memcpy(cells, filled, sizeof filled);
}

bool readings_table(const struct readings *r, const struct table_values *values, FILE *out)
{
    const struct scan_axes *axes = scan_axes_of(r->tube);
    struct column columns[COLUMNS] = {
        {.name = axes->across.name, .kind = COLUMN_NUMBER},
        {.name = axes->along.name, .kind = COLUMN_NUMBER},
    };
    struct cell cells[COLUMNS];
    struct table table;
    memcpy(columns + PLACE_COLUMNS, own_columns, sizeof own_columns);
    table_begin(&table, values, columns, COLUMNS, out);
    bool good = true;
    for (size_t i = 0; i < r->count && good; i++) {
        const struct plyecho_place *at = &r->log->place[r->log->place_of[i]].place;
        cells[0] = cell_number(scan_axis_number(&axes->across, at->across));
        cells[1] = cell_number(scan_axis_number(&axes->along, at->along));
        own_cells(r, i, cells + PLACE_COLUMNS);
        good = table_row(&table, cells);
    }
    return good;
}
