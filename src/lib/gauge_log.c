#include <plyecho/gauge_log.h>

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "gauge_log_inside.h"

/* Fewer places that fall at once are spots: our choice. */
enum { LEAST_MIXED = 3 };

const char *plyecho_gauge_answer_word(enum plyecho_gauge_answer answer)
{
    static const char *const words[PLYECHO_GAUGE_ANSWER_COUNT] = {
        [PLYECHO_GAUGE_TOO_FEW] = "too-few",
        [PLYECHO_GAUGE_TWO_WALLS] = "two-walls",
        [PLYECHO_GAUGE_MIXED] = "mixed",
        [PLYECHO_GAUGE_LOW_SPOTS] = "low-spots",
        [PLYECHO_GAUGE_HIGH_SPOTS] = "high-spots",
        [PLYECHO_GAUGE_SCATTERED] = "scattered",
        [PLYECHO_GAUGE_BEYOND_TOLERANCE] = "beyond-tolerance",
        [PLYECHO_GAUGE_UNREAD_PLACES] = "unread-places",
        [PLYECHO_GAUGE_ONE_WALL] = "one-wall",
    };
    return words[answer];
}

const char *plyecho_gauge_group_word(enum plyecho_gauge_group group)
{
    static const char *const words[] = {"wall", "low", "high", "other-wall", "unread"};
    return words[group];
}

const char *plyecho_gauge_fall_word(enum plyecho_gauge_fall fall)
{
    static const char *const words[] = {"", "at-once", "in-steps", "open"};
    return words[fall];
}

/* ---- what was counted ---- */

static void count_place(struct plyecho_gauge_log *log, const struct plyecho_gauge_place *p)
{
    log->wall += p->group == PLYECHO_GAUGE_WALL;
    log->low += p->group == PLYECHO_GAUGE_LOW;
    log->high += p->group == PLYECHO_GAUGE_HIGH;
    log->other += p->group == PLYECHO_GAUGE_OTHER_WALL;
    log->at_once += p->fall == PLYECHO_GAUGE_AT_ONCE;
    log->alone += p->fall == PLYECHO_GAUGE_FALL_OPEN && isinf(p->step_m);
    log->in_steps += p->fall == PLYECHO_GAUGE_IN_STEPS;
    log->in_patches += p->in_patch;
    log->beside_unread += p->beside_unread;
    log->outliers += p->outlier;
    log->disagreeing += p->disagree;
    log->beyond += p->beyond;
}

static void summarise(struct plyecho_gauge_log *log)
{
    double mean = 0.0, off = 0.0, squares = 0.0, n = 0.0;
    log->least = PLYECHO_NO_PLACE;
    for (size_t i = 0; i < log->count; i++) {
        const struct plyecho_gauge_place *p = &log->place[i];
        count_place(log, p);
        if (p->readings > 0 &&
            (log->least == PLYECHO_NO_PLACE || p->wall_m < log->place[log->least].wall_m))
            log->least = i;
        if (p->group != PLYECHO_GAUGE_WALL)
            continue;
        n += 1.0;
        mean += (p->wall_m - mean) / n;
        double from = p->off_m - off;
        off += from / n;
        squares += from * (p->off_m - off);
    }
    log->mean_m = mean;
    log->spread_m.known = n > 1.0;
    log->spread_m.value = n > 1.0 ? sqrt(squares / (n - 1.0)) : 0.0;
}

/* Where no reading leads to the low ones, the groups alone tell. */
static bool is_mixed(const struct plyecho_gauge_log *log)
{
    double apart = log->clusters.high.mean - log->clusters.low.mean;
    size_t alone = apart > log->tolerance_m ? log->alone : 0;
    return log->two && log->at_once + alone >= LEAST_MIXED;
}

static enum plyecho_gauge_answer answer_of(const struct plyecho_gauge_log *log)
{
    if (log->read < PLYECHO_GAUGE_LEAST)
        return PLYECHO_GAUGE_TOO_FEW;
    if (log->parted && log->low == 0 && log->high == 0)
        return PLYECHO_GAUGE_TWO_WALLS;
    if (is_mixed(log))
        return PLYECHO_GAUGE_MIXED;
    if (log->low > 0)
        return PLYECHO_GAUGE_LOW_SPOTS;
    if (log->high > 0)
        return PLYECHO_GAUGE_HIGH_SPOTS;
    if (log->clusters.one.spread > log->counts_m || log->disagreeing > 0)
        return PLYECHO_GAUGE_SCATTERED;
    if (log->beyond > 0)
        return PLYECHO_GAUGE_BEYOND_TOLERANCE;
    return log->unread > 0 ? PLYECHO_GAUGE_UNREAD_PLACES : PLYECHO_GAUGE_ONE_WALL;
}

/* ---- all of it ---- */

/* Places that form no grid have no neighbours, which is no error. */
static enum plyecho_code lay_grid(struct plyecho_gauge_log *log,
                                  const struct plyecho_part *part, struct plyecho_error *err)
{
    struct plyecho_place *places = pe_alloc(log->count, sizeof *places);
    if (places == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", log->count);
    for (size_t i = 0; i < log->count; i++)
        places[i] = log->place[i].place;
    enum plyecho_code code = plyecho_grid_new(&log->grid, places, log->count, part, err);
    free(places);
    return code == PLYECHO_TOO_LARGE ? PLYECHO_OK : code;
}

static enum plyecho_code judge(struct plyecho_gauge_log *log,
                               const struct plyecho_gauge_reading *readings,
                               const struct plyecho_gauge_log_options *options,
                               struct plyecho_error *err)
{
    enum plyecho_code code = pe_gauge_places(log, readings, options, err);
    if (code == PLYECHO_OK)
        code = lay_grid(log, &options->part, err);
    if (code == PLYECHO_OK && log->read >= PLYECHO_GAUGE_LEAST)
        code = pe_gauge_groups(log, err);
    if (code == PLYECHO_OK && log->two)
        code = pe_gauge_parts(log, err);
    if (code == PLYECHO_OK)
        code = pe_gauge_falls(log, err);
    if (code == PLYECHO_OK) {
        summarise(log);
        log->answer = answer_of(log);
    }
    return code;
}

enum plyecho_code plyecho_gauge_log_new(struct plyecho_gauge_log **log,
                                        const struct plyecho_gauge_reading *readings,
                                        size_t count,
                                        const struct plyecho_gauge_log_options *options,
                                        struct plyecho_error *err)
{
    *log = NULL;
    if (count > PLYECHO_GAUGE_MOST)
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "%zu readings are more than %d; give the log in parts", count,
                            PLYECHO_GAUGE_MOST);
    struct plyecho_gauge_log *l = pe_alloc(1, sizeof *l);
    if (l == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a log of readings");
    l->tube = options->part.tube;
    l->readings = count;
    enum plyecho_code code = judge(l, readings, options, err);
    if (code != PLYECHO_OK) {
        plyecho_gauge_log_free(l);
        return code;
    }
    *log = l;
    return PLYECHO_OK;
}

void plyecho_gauge_log_free(struct plyecho_gauge_log *log)
{
    if (log == NULL)
        return;
    free(log->place);
    free(log->place_of);
    plyecho_grid_free(log->grid);
    free(log);
}
