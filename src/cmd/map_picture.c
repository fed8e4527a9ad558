#include <config.h>

#include "map_picture.h"

#include <math.h>
#include <stdlib.h>

#include "memory.h"
#include "plot_data.h"
#include "quantile.h"

#define MM 1e3 /* in a metre */
#define ROBUST_LOW 0.02
#define ROBUST_HIGH 0.98
#define LEAST_SHARE 0.05 /* of the median wall, to both sides */
#define LEAST_DB 3.0
#define LEAST_OFF_MM 0.1
#define OTHER_NOMINAL 0.1 /* of a nominal wall */
#define RANGE_STEPS 20
#define ROUNDING 1e-9 /* of a step, or of the range: a value on an end is not beyond it */

/* ---- states ---- */

static const struct {
    struct map_look look;
    const char *words;
} states[MAP_STATE_COUNT] = {
    [MAP_VALUE] = {{0xffffff, PATTERN_NONE}, "seen"},
    [MAP_DELAMINATION] = {{0xd55e00, PATTERN_HATCH}, "delamination, no wall"},
    [MAP_ATTENUATED] = {{0x56b4e9, PATTERN_POSTS}, "attenuated, no wall"},
    [MAP_UNDECIDED] = {{0xcc79a7, PATTERN_BARS}, "undecided, no wall"},
    [MAP_NOT_SEEN] = {{0xe69f00, PATTERN_BACK_HATCH}, "wall not seen"},
    [MAP_UNREADABLE] = {{0xb0b0b0, PATTERN_CROSS}, "unreadable"},
    [MAP_NO_TRACE] = {{0xffffff, PATTERN_STROKE}, "no trace"},
};

struct map_look map_look(enum map_state state)
{
    return states[state].look;
}

const char *map_state_words(enum map_state state)
{
    return states[state].words;
}

static enum map_state state_without(enum plyecho_verdict second)
{
    switch (second) {
    case PLYECHO_DELAMINATION:
        return MAP_DELAMINATION;
    case PLYECHO_ATTENUATED:
        return MAP_ATTENUATED;
    case PLYECHO_UNDECIDED:
        return MAP_UNDECIDED;
    case PLYECHO_UNREADABLE:
        return MAP_UNREADABLE;
    default:
        return MAP_NOT_SEEN;
    }
}

/* A back wall may be too weak for a thickness and still have a level; behind a delamination that took it all,
 * what looked like it was the delamination. */
static bool has_level(const struct plyecho_place_reading *r)
{
    bool taken = r->second == PLYECHO_DELAMINATION && !r->second_wall_m.known;
    return r->balance_db.known && r->second != PLYECHO_UNREADABLE && !taken;
}

enum map_state map_state_of(const struct map_picture *p, size_t place, double *value)
{
    if (place == PLYECHO_NO_PLACE || !p->readings[place].read)
        return MAP_NO_TRACE;
    const struct plyecho_place_reading *r = &p->readings[place];
    if (p->quantity != MAP_LEVEL ? !r->second_wall_m.known : !has_level(r))
        return state_without(r->second);
    double zero_db = p->sound_level_db.known ? p->sound_level_db.value : 0;
    double zero_m = p->quantity != MAP_OFF_NOMINAL ? 0
                    : r->nominal_m.known           ? r->nominal_m.value
                                                   : NAN;
    *value = p->quantity == MAP_LEVEL ? r->balance_db.value - zero_db
                                      : (r->second_wall_m.value - zero_m) * MM;
    return isfinite(*value) ? MAP_VALUE : MAP_NOT_SEEN;
}

/* ---- range ---- */

static size_t take_values(const struct map_picture *p, double *value)
{
    size_t count = 0;
    for (size_t i = 0; i < p->grid->count; i++)
        if (map_state_of(p, i, &value[count]) == MAP_VALUE)
            count++;
    quantile_sort(value, count);
    return count;
}

static void take_nominal_walls(const struct plyecho_place_reading *readings, size_t count,
                               struct map_range *range)
{
    range->nominal_low = INFINITY;
    range->nominal_high = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_place_reading *r = &readings[i];
        if (!r->read || !r->nominal_m.known)
            continue;
        range->nominal_low = fmin(range->nominal_low, r->nominal_m.value * MM);
        range->nominal_high = fmax(range->nominal_high, r->nominal_m.value * MM);
    }
}

static void take_nominal(const struct map_picture *p, struct map_range *range)
{
    if (p->quantity != MAP_WALL)
        range->nominal_low = range->nominal_high = 0;
    else
        take_nominal_walls(p->readings, p->grid->count, range);
    range->nominal_known = range->nominal_low <= range->nominal_high;
}

bool map_nominals_differ(const struct plyecho_place_reading *readings, size_t count)
{
    struct map_range range;
    take_nominal_walls(readings, count, &range);
    for (size_t i = 0; i < count; i++)
        if (readings[i].second_wall_m.known && !readings[i].nominal_m.known)
            return false;
    return range.nominal_high > (1 + OTHER_NOMINAL) * range.nominal_low;
}

static void round_out(struct map_range *range)
{
    double step = plot_nice_step(fmax(range->high - range->low, 1e-6), RANGE_STEPS);
    range->low = floor(range->low / step + ROUNDING) * step;
    range->high = ceil(range->high / step - ROUNDING) * step;
}

static void widen(const struct map_picture *p, double median, struct map_range *range)
{
    double least = p->quantity == MAP_WALL    ? LEAST_SHARE * fabs(median)
                   : p->quantity == MAP_LEVEL ? LEAST_DB
                                              : LEAST_OFF_MM;
    range->low = fmin(range->low, median - least);
    range->high = fmax(range->high, median + least);
    if (range->nominal_known) {
        range->low = fmin(range->low, range->nominal_low);
        range->high = fmax(range->high, range->nominal_high);
    }
    round_out(range);
}

static bool is_below(const struct map_range *range, double value)
{
    return value < range->low - ROUNDING * (range->high - range->low);
}

/* A few walls that are too thick may lie beyond, none that is too thin. */
static void stretch(const struct map_picture *p, struct map_range *range)
{
    range->stretched = p->quantity != MAP_LEVEL && is_below(range, range->least);
    if (!range->stretched)
        return;
    range->low = range->least;
    round_out(range);
}

struct map_range map_range(const struct map_picture *p)
{
    struct map_range range = {.low = 0, .high = 1};
    double *value = memory_take(p->grid->count + 1, sizeof *value);
    range.values = take_values(p, value);
    take_nominal(p, &range);
    if (range.values > 0) {
        range.low = quantile_of(value, range.values, ROBUST_LOW);
        range.high = quantile_of(value, range.values, ROBUST_HIGH);
        range.least = value[0];
        widen(p, quantile_of(value, range.values, 0.5), &range);
        stretch(p, &range);
    }
    for (size_t i = 0; i < range.values; i++) {
        range.below += is_below(&range, value[i]);
        range.above += value[i] > range.high + ROUNDING * (range.high - range.low);
    }
    free(value);
    return range;
}
