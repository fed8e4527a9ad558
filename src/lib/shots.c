#include <plyecho/shots.h>

#include <math.h>

#include "moments.h"

/* Interface echoes nearer to each other than this are of one coupling. */
static const double same_coupling = 0.02;

static bool is_readable(const struct plyecho_assessment *a)
{
    return a->verdict != PLYECHO_UNREADABLE;
}

/* A dry seat reflects more at the delay line's end; what comes back surest decides between equal ones. */
static bool is_better(const struct plyecho_assessment *a, const struct plyecho_assessment *best)
{
    if (is_readable(a) != is_readable(best))
        return is_readable(a);
    const struct plyecho_known *one = &a->front_reflection, *other = &best->front_reflection;
    double less = fabs(other->value) - fabs(one->value);
    if (one->known && other->known && fabs(less) > same_coupling)
        return less > 0.0;
    if (a->wall_seen != best->wall_seen)
        return a->wall_seen;
    return a->wall_seen && a->thickness.time_u_s < best->thickness.time_u_s;
}

static size_t choose(const struct plyecho_assessment *const *shots, size_t count)
{
    size_t best = 0;
    for (size_t k = 1; k < count; k++)
        if (is_better(shots[k], shots[best]))
            best = k;
    return best;
}

/* Standard deviation of the walls that were seen. */
static struct plyecho_known spread(const struct plyecho_assessment *const *shots, size_t count)
{
    struct pe_moments walls = {0};
    for (size_t k = 0; k < count; k++)
        if (is_readable(shots[k]) && shots[k]->wall_seen)
            pe_moments_add(&walls, shots[k]->thickness.thickness_m);
    return pe_moments_sd(&walls);
}

/* Does another readable shot find what the best one does not, be it an echo where no back wall belongs? A delamination
 * is graver than whatever else was found. */
static bool disagree(const struct plyecho_assessment *const *shots, size_t count, size_t best)
{
    bool grave = shots[best]->verdict == PLYECHO_DELAMINATION ||
                 shots[best]->verdict == PLYECHO_UNREADABLE ||
                 shots[best]->verdict == PLYECHO_UNDECIDED;
    for (size_t k = 0; k < count; k++) {
        bool decides = shots[k]->verdict != PLYECHO_UNDECIDED || shots[k]->lone_m.known;
        bool finds = !shots[best]->flagged && shots[k]->flagged && decides;
        bool graver = !grave && shots[k]->verdict == PLYECHO_DELAMINATION;
        if (is_readable(shots[k]) && (finds || graver))
            return true;
    }
    return false;
}

/* What was timed is the lone echo, with the uncertainty of a wall. */
static struct plyecho_known lone_u(const struct plyecho_assessment *a)
{
    bool lone =
        !a->wall_seen && a->lone_m.known && a->thickness.thickness_u.known &&
        fabs(a->thickness.thickness_m - a->lone_m.value) < a->thickness.thickness_u.value;
    return (struct plyecho_known){lone, lone ? a->thickness.thickness_u.value : 0.0};
}

static void take(const struct plyecho_assessment *a, double tolerance_m,
                 struct plyecho_place_reading *r)
{
    const struct plyecho_thickness *t = &a->thickness;
    bool usual = !a->expectation && a->usual_balance_db.known;
    r->verdict = a->verdict;
    r->flagged = a->flagged;
    r->reason = a->reason;
    r->evidence_ratio = a->evidence_ratio;
    r->wall_seen = a->wall_seen;
    r->wall_m = a->wall_seen ? t->thickness_m : 0.0;
    r->wall_u_m = (struct plyecho_known){a->wall_seen && t->thickness_u.known,
                                         a->wall_seen ? t->thickness_u.value : 0.0};
    if (a->wall_seen && a->coat_s.known && t->time_s > 0.0)
        r->coat_m = (struct plyecho_known){true, a->coat_s.value * t->thickness_m / t->time_s};
    if (!a->wall_seen)
        r->lone_m = a->lone_m;
    r->lone_u_m = lone_u(a);
    r->nominal_m = (struct plyecho_known){a->nominal_known, a->nominal_m};
    r->tolerance_m = tolerance_m;
    r->has_indication = a->has_indication;
    r->depth_m = a->depth_m;
    r->depth_u_m = a->depth_u;
    r->strength = a->strength;
    r->besides = a->layers.count > 0 && a->layers.besides;
    r->range_known = a->range_known;
    r->level = a->level;
    r->highest_inner =
        (struct plyecho_known){a->range_known && a->highest_known, a->highest_inner};
    r->profile = a->profile;
    r->expectation = a->expectation;
    r->balance_db =
        usual ? a->usual_balance_db : (struct plyecho_known){a->expectation, a->balance_db};
}

size_t plyecho_shots_combine(const struct plyecho_assessment *const *shots, size_t count,
                             double tolerance_m, struct plyecho_place_reading *r,
                             struct plyecho_known *spread_m)
{
    size_t best = choose(shots, count);
    struct plyecho_place place = r->place;
    *r = (struct plyecho_place_reading){.place = place, .read = true, .shots = count};
    take(shots[best], tolerance_m, r);
    *spread_m = spread(shots, count);
    if (spread_m->known && r->wall_u_m.known)
        r->wall_u_m.value = hypot(r->wall_u_m.value, spread_m->value);
    if (disagree(shots, count, best)) {
        r->verdict = PLYECHO_UNDECIDED;
        r->reason = PLYECHO_REASON_SHOTS_DISAGREE;
        r->flagged = true;
        r->evidence_ratio = 1.0;
    }
    return best;
}
