/* Limits on the wall, and on how much of it was seen. */
#include <math.h>

#include <plyecho/walls.h>

#include "acceptance_inside.h"

static const struct plyecho_known unknown = {false, 0.0};

/* ---- the wall ---- */

static enum plyecho_limit_state wall_state(const struct plyecho_place_reading *r, double least)
{
    double above = r->second_wall_m.value - least;
    if (above < 0.0)
        return PLYECHO_LIMIT_BROKEN;
    bool sure = r->second_wall_u_m.known && above >= PE_ACCEPT_GUARD * r->second_wall_u_m.value;
    return sure ? PLYECHO_LIMIT_HOLDS : PLYECHO_LIMIT_OPEN;
}

/* The place where the limit holds least: a thicker wall that is less sure may be it. NULL: no wall. */
static const struct plyecho_place_reading *worst_wall(const struct pe_acceptor *j, double least)
{
    const struct plyecho_place_reading *worst = NULL;
    for (size_t i = 0; i < j->part->grid->count; i++) {
        const struct plyecho_place_reading *r = &j->part->readings[i];
        if (!plyecho_walls_has(r))
            continue;
        int more = worst == NULL ? 1
                                 : pe_accept_weight(wall_state(r, least)) -
                                       pe_accept_weight(wall_state(worst, least));
        if (more > 0 || (more == 0 && r->second_wall_m.value < worst->second_wall_m.value))
            worst = r;
    }
    return worst;
}

/* Places whose wall was seen, and those of them that are short of their own nominal wall. */
struct seen {
    size_t walls, thin;
};

static struct seen count_seen(const struct pe_acceptor *j)
{
    struct seen seen = {0, 0};
    for (size_t i = 0; i < j->part->grid->count; i++) {
        bool has = plyecho_walls_has(&j->part->readings[i]);
        seen.walls += has;
        seen.thin += has && j->part->readings[i].second == PLYECHO_THIN;
    }
    return seen;
}

static void say_wall(struct plyecho_limit *row, const struct plyecho_place_reading *r,
                     const struct plyecho_grid *grid, const struct seen *seen)
{
    pe_accept_say(row, "least wall %.4g mm ", r->second_wall_m.value * MM);
    if (r->second_wall_u_m.known)
        pe_accept_say(row, "(u %.2g mm)", r->second_wall_u_m.value * MM);
    else
        pe_accept_say(row, "(u not known)");
    pe_accept_say_place(row, grid, &r->place);
    if (seen->walls < grid->count)
        pe_accept_say(row, ", where a wall was seen (%zu of %zu places)", seen->walls,
                      grid->count);
}

static void judge_least_wall(const struct pe_acceptor *j)
{
    const struct plyecho_setting *setting = &j->part->procedure->acceptance.least_m;
    if (!setting->set)
        return;
    struct plyecho_known limit = pe_accept_limit(setting, MM);
    const struct plyecho_place_reading *r = worst_wall(j, setting->value);
    if (r == NULL) {
        pe_accept_say(pe_accept_row(j, PE_LIMIT_LEAST_WALL, limit, unknown, PLYECHO_LIMIT_OPEN),
                      "no wall was seen");
        return;
    }
    const struct seen seen = count_seen(j);
    enum plyecho_limit_state there = wall_state(r, setting->value), state = there;
    if (there == PLYECHO_LIMIT_HOLDS && seen.walls < j->part->grid->count)
        state = PLYECHO_LIMIT_OPEN; /* nobody may book a wall that nobody saw */
    const struct plyecho_known reading = {true, r->second_wall_m.value * MM};
    struct plyecho_limit *row = pe_accept_row(j, PE_LIMIT_LEAST_WALL, limit, reading, state);
    say_wall(row, r, j->part->grid, &seen);
    pe_accept_say(row,
                  there == PLYECHO_LIMIT_BROKEN  ? ": below %g mm"
                  : there == PLYECHO_LIMIT_HOLDS ? ": above %g mm by 2 u or more"
                  : r->second_wall_u_m.known     ? ": not above %g mm by 2 u"
                                             : ": nothing tells how surely it is above %g mm",
                  limit.value);
    if (seen.thin > 0 && there != PLYECHO_LIMIT_BROKEN)
        pe_accept_say(row, "; thin against the nominal wall: %zu place%s", seen.thin,
                      seen.thin > 1 ? "s" : "");
    if (state != there)
        pe_accept_say(row, "; of the others it is not known");
}

/* A standard deviation of n normal values has the standard deviation s / sqrt(2 (n - 1)) itself (JCGM 100,
 * E.4.3). */
static void judge_spread(const struct pe_acceptor *j)
{
    const struct plyecho_setting *setting = &j->part->procedure->acceptance.most_spread_m;
    if (!setting->set)
        return;
    /* where each wall has a nominal of its own, of what they are off it */
    struct plyecho_walls walls = plyecho_walls_take(j->part->readings, j->part->grid->count);
    size_t count = walls.count;
    struct plyecho_known spread = walls.about_nominal ? walls.spread_about_m : walls.spread_m;
    struct plyecho_known limit = pe_accept_limit(setting, MM);
    if (!spread.known) {
        pe_accept_say(pe_accept_row(j, PE_LIMIT_SPREAD, limit, unknown, PLYECHO_LIMIT_OPEN),
                      "fewer than two walls were read");
        return;
    }
    double u = spread.value / sqrt(2.0 * (double)(count - 1));
    enum plyecho_limit_state state = spread.value > setting->value ? PLYECHO_LIMIT_BROKEN
                                     : spread.value + PE_ACCEPT_GUARD * u > setting->value
                                         ? PLYECHO_LIMIT_OPEN
                                         : PLYECHO_LIMIT_HOLDS;
    spread.value *= MM;
    pe_accept_say(pe_accept_row(j, PE_LIMIT_SPREAD, limit, spread, state),
                  "standard deviation of %zu walls %.3g mm (u %.2g mm): %s %g mm%s", count,
                  spread.value, u * MM, state == PLYECHO_LIMIT_BROKEN ? "above" : "not above",
                  limit.value, state == PLYECHO_LIMIT_OPEN ? ", but not by 2 u" : "");
}

void pe_accept_walls(const struct pe_acceptor *j)
{
    judge_least_wall(j);
    judge_spread(j);
}

/* ---- coverage ---- */

/* A part that was read too widely is not bad, it is not known: below these limits nothing is broken. */
static bool some_read(const struct pe_acceptor *j)
{
    return j->part->coverage->read > 0;
}

/* What would settle it: places that gave nothing, or more places. */
static const char *more_reading(const struct pe_acceptor *j)
{
    return j->part->coverage->unread > 0
               ? "couple the unread places again, then read more places between"
               : "read more places between";
}

static void judge_coverage(const struct pe_acceptor *j)
{
    const struct plyecho_setting *setting = &j->part->procedure->acceptance.least_coverage;
    struct plyecho_known limit = pe_accept_limit(setting, PERCENT),
                         share = j->part->coverage->share;
    if (!setting->set)
        return;
    share.value *= PERCENT;
    bool enough = share.known && some_read(j) && share.value >= limit.value;
    struct plyecho_limit *row =
        pe_accept_row(j, PE_LIMIT_LEAST_COVERAGE, limit, share,
                      enough ? PLYECHO_LIMIT_HOLDS : PLYECHO_LIMIT_OPEN);
    if (!share.known)
        pe_accept_say(
            row,
            "coverage is not known: that takes the beam's width, a tube's diameter and places on "
            "several lines");
    else if (!some_read(j))
        pe_accept_say(row, "no place was read: nothing was seen of the surface");
    else
        pe_accept_say(row, "the beam was on %.4g %% of the surface: %s %g %%", share.value,
                      enough ? "not below" : "below", limit.value);
    if (share.known && some_read(j) && !enough)
        pe_accept_say(row, "; %s", more_reading(j));
}

static void judge_unseen(const struct pe_acceptor *j)
{
    const struct plyecho_setting *setting = &j->part->procedure->acceptance.most_unseen_m;
    struct plyecho_known limit = pe_accept_limit(setting, MM),
                         unseen = j->part->coverage->unseen_m;
    if (!setting->set)
        return;
    unseen.value *= MM;
    bool enough = unseen.known && unseen.value <= limit.value;
    struct plyecho_limit *row =
        pe_accept_row(j, PE_LIMIT_MOST_UNSEEN, limit, unseen,
                      enough ? PLYECHO_LIMIT_HOLDS : PLYECHO_LIMIT_OPEN);
    if (!unseen.known) {
        pe_accept_say(row, "%s",
                      some_read(j)
                          ? "what could lie unseen is not known: that takes the beam's "
                            "width, a tube's diameter and places on several lines"
                          : "no place was read: anything could lie unseen");
        return;
    }
    pe_accept_say(row, "a flaw of %.3g mm could lie unseen", unseen.value);
    pe_accept_say_place(row, j->part->grid, &j->part->coverage->unseen_at);
    pe_accept_say(row, ": %s %g mm", enough ? "not above" : "above", limit.value);
    if (!enough)
        pe_accept_say(row, "; %s, or with a narrower beam", more_reading(j));
}

void pe_accept_coverage(const struct pe_acceptor *j)
{
    judge_coverage(j);
    judge_unseen(j);
}
