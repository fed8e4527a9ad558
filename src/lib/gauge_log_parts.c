/* Is each of two groups by itself in a part of its own? A sleeve's end, or a step in the wall, goes all round a tube, or
 * straight over a plate: line by line the readings are of one group or of the other. So do a crushed ring's and a loose
 * sleeve's, which read low. */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "gauge_log_inside.h"

/* Fewer places on a line, or in a group, say nothing of it; more changes along the part are no step. Our choice. */
enum { LEAST_ON_LINE = 4, LEAST_IN_GROUP = 6, MOST_CHANGES = 2 };

/* Without a nominal a lower level at or below this share of the upper is no wall: our choice, as for a lone echo of a
 * scan, which is then taken for a full shadow. */
static const double full_shadow = 0.7;

struct line {
    size_t low, high; /* places of each group */
};

enum line_kind { LINE_LOW, LINE_HIGH, LINE_BETWEEN, LINE_UNREAD };

static enum line_kind kind_of(const struct line *l)
{
    if (l->low + l->high == 0)
        return LINE_UNREAD;
    if (l->low + l->high < LEAST_ON_LINE || (l->low > 0 && l->high > 0))
        return LINE_BETWEEN;
    return l->low > 0 ? LINE_LOW : LINE_HIGH;
}

/* One line of both groups is a step that falls on it: between a low and a high line, never two. */
static bool parts(const struct line *line, size_t count)
{
    enum line_kind last = LINE_UNREAD; /* of low, high */
    size_t changes = 0, low = 0, high = 0;
    bool between = false;
    for (size_t k = 0; k < count; k++) {
        enum line_kind kind = kind_of(&line[k]);
        low += line[k].low;
        high += line[k].high;
        if (kind == LINE_UNREAD)
            continue;
        if (kind == LINE_BETWEEN) {
            if (between || last == LINE_UNREAD)
                return false;
            between = true;
            continue;
        }
        if (between && kind == last)
            return false;
        changes += last != LINE_UNREAD && kind != last;
        between = false;
        last = kind;
    }
    return !between && changes >= 1 && changes <= MOST_CHANGES && low >= LEAST_IN_GROUP &&
           high >= LEAST_IN_GROUP;
}

static bool is_lower(const struct plyecho_gauge_place *p)
{
    return p->low_share.value > 0.5;
}

static bool parts_along(const struct plyecho_gauge_log *log, const size_t *line_of,
                        struct line *line, size_t lines)
{
    for (size_t k = 0; k < lines; k++)
        line[k] = (struct line){0, 0};
    for (size_t i = 0; i < log->count; i++) {
        const struct plyecho_gauge_place *p = &log->place[i];
        if (p->readings == 0)
            continue;
        struct line *l = &line[line_of[i]];
        *(is_lower(p) ? &l->low : &l->high) += 1;
    }
    return parts(line, lines);
}

/* ---- may the lower level be a wall? ---- */

/* Means over the places of one group. */
struct level {
    double wall_m, off_nominal_m;
};

static struct level level_of(const struct plyecho_gauge_log *log, bool lower)
{
    struct level sum = {0.0, 0.0};
    double count = 0.0;
    for (size_t i = 0; i < log->count; i++) {
        const struct plyecho_gauge_place *p = &log->place[i];
        if (p->readings == 0 || is_lower(p) != lower)
            continue;
        count += 1.0;
        sum.wall_m += (p->wall_m - sum.wall_m) / count;
        if (p->nominal_m.known)
            sum.off_nominal_m += (p->wall_m - p->nominal_m.value - sum.off_nominal_m) / count;
    }
    return sum;
}

/* By the nominal where there is one; a delamination that goes all round has an even level, too. */
static bool may_be_wall(const struct plyecho_gauge_log *log)
{
    struct level lower = level_of(log, true);
    if (log->nominal_known)
        return lower.off_nominal_m >= -log->tolerance_m;
    return lower.wall_m > full_shadow * level_of(log, false).wall_m;
}

/* ---- what each place is taken for ---- */

/* A place that is off its own wall stays low or high. */
static enum plyecho_gauge_group group_of(const struct plyecho_gauge_log *log,
                                         const struct plyecho_gauge_place *p)
{
    const struct plyecho_clusters *c = &log->clusters;
    bool low = is_lower(p);
    bool low_is_wall = log->wall_off_m < 0.5 * (c->low.mean + c->high.mean);
    double off = p->off_m - (low ? c->low.mean : c->high.mean);
    if (low && !log->parted)
        return PLYECHO_GAUGE_LOW;
    if (fabs(off) > log->counts_m)
        return off < 0.0 ? PLYECHO_GAUGE_LOW : PLYECHO_GAUGE_HIGH;
    return low == low_is_wall ? PLYECHO_GAUGE_WALL : PLYECHO_GAUGE_OTHER_WALL;
}

static enum plyecho_code find_parts(const struct plyecho_gauge_log *log, bool *found,
                                    struct plyecho_error *err)
{
    const struct plyecho_grid *g = log->grid;
    size_t most = g->rows > g->columns ? g->rows : g->columns;
    struct line *line = pe_alloc(most, sizeof *line);
    if (line == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu lines", most);
    *found = parts_along(log, g->row, line, g->rows) ||
             (!log->tube && parts_along(log, g->column, line, g->columns));
    free(line);
    return PLYECHO_OK;
}

enum plyecho_code pe_gauge_parts(struct plyecho_gauge_log *log, struct plyecho_error *err)
{
    const struct plyecho_clusters *c = &log->clusters;
    bool found = false;
    if (log->grid == NULL || c->low.spread > log->counts_m || c->high.spread > log->counts_m)
        return PLYECHO_OK;
    enum plyecho_code code = find_parts(log, &found, err);
    if (code != PLYECHO_OK || !found)
        return code;
    log->parted = may_be_wall(log);
    if (!log->parted)
        log->wall_off_m = c->high.mean;
    for (size_t i = 0; i < log->count; i++)
        if (log->place[i].readings > 0)
            log->place[i].group = group_of(log, &log->place[i]);
    return PLYECHO_OK;
}
