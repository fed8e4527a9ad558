/* Is each of two groups by itself in a part of its own? A sleeve's end, or a step in the wall, goes all round a tube, or
 * straight over a plate: line by line the readings are of one group or of the other. */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "gauge_log_inside.h"

/* Fewer places on a line, or in a group, say nothing of it; more changes along the part are no step. Our choice. */
enum { LEAST_ON_LINE = 4, LEAST_IN_GROUP = 6, MOST_CHANGES = 2 };

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
        *(p->low_share.value > 0.5 ? &l->low : &l->high) += 1;
    }
    return parts(line, lines);
}

/* A place that is off its own wall stays low or high. */
static enum plyecho_gauge_group group_of(const struct plyecho_gauge_log *log,
                                         const struct plyecho_gauge_place *p)
{
    const struct plyecho_clusters *c = &log->clusters;
    bool low = p->low_share.value > 0.5;
    bool low_is_wall = log->wall_off_m < 0.5 * (c->low.mean + c->high.mean);
    double off = p->off_m - (low ? c->low.mean : c->high.mean);
    if (fabs(off) > log->counts_m)
        return off < 0.0 ? PLYECHO_GAUGE_LOW : PLYECHO_GAUGE_HIGH;
    return low == low_is_wall ? PLYECHO_GAUGE_WALL : PLYECHO_GAUGE_OTHER_WALL;
}

enum plyecho_code pe_gauge_parts(struct plyecho_gauge_log *log, struct plyecho_error *err)
{
    const struct plyecho_grid *g = log->grid;
    const struct plyecho_clusters *c = &log->clusters;
    if (g == NULL || c->low.spread > log->counts_m || c->high.spread > log->counts_m)
        return PLYECHO_OK;
    size_t most = g->rows > g->columns ? g->rows : g->columns;
    struct line *line = pe_alloc(most, sizeof *line);
    if (line == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu lines", most);
    log->parted = parts_along(log, g->row, line, g->rows) ||
                  (!log->tube && parts_along(log, g->column, line, g->columns));
    free(line);
    for (size_t i = 0; i < log->count && log->parted; i++)
        if (log->place[i].readings > 0)
            log->place[i].group = group_of(log, &log->place[i]);
    return PLYECHO_OK;
}
