#include "nominal.h"

#include <math.h>

#include "odds.h"
#include "outcome.h"
#include "usual.h"

/* Nominals that are wrong are rare (our choice), as a logarithm of odds; with less than that between two
 * walls neither is told. */
static const double rarely_wrong = -4.6, sure = 3.0;

/* Chi-squared per degree of freedom of an explanation that leaves nothing open. */
static const double explains_all = 1.5;

/* Two walls that differ by less than this share of a pulse length are one. */
static const double same_wall = 0.5;

/* ---- whether to look again ---- */

/* Does the highest echo behind the front stand short of where the nominal lets the back wall's be? */
static bool highest_is_short(const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    double least = 2.0 * (o->nominal_m.value - o->tolerance_m) / o->velocity_m_s;
    double back = p->back >= 0 ? p->echoes[p->back].amplitude : 0.0;
    for (int k = p->front + 1; k < p->count; k++) {
        double delay = p->echoes[k].time_s - e->front_s;
        if (delay > 0.5 * p->pulse_s && delay < least && p->echoes[k].amplitude >= back)
            return true;
    }
    return false;
}

static bool leaves_something(const struct pe_conclusion *c)
{
    return c->unexplained || (c->told && c->misfit > explains_all);
}

static bool may_mislead(const struct plyecho_assess_options *o, const struct pe_evidence *e,
                        const struct pe_conclusion *c)
{
    if (!o->wall.nominal_m.known || e->picks.front < 0)
        return false;
    /* where the nominal's echo belongs it could not be seen */
    bool hidden = e->record_short || e->line_repeats || c->lines == 0.0;
    if (!e->picks.beyond_nominal && hidden)
        return false;
    bool shadow = c->told && (c->dry || c->kind == PE_KIND_SHADOW);
    return e->picks.beyond_nominal || leaves_something(c) ||
           (!shadow && highest_is_short(&o->wall, e));
}

/* ---- with or without ---- */

/* Is the back wall's echo so far beyond the nominal's tolerance that no coat puts it there? */
static bool beyond_any_coat(const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    double most_m = o->nominal_m.value + o->tolerance_m;
    return e->back_delay_s > 2.0 * most_m / o->velocity_m_s + PE_THICKEST_COAT_S;
}

/* A wall is explained without a nominal about as well as with it, and needs no coat: then the
 * nominal is wrong. Coated walls of the simulated sets fit worse so, or keep their coat. */
static bool explains_as_well(const struct pe_conclusion *without,
                             const struct pe_conclusion *with)
{
    static const double about = 1.1;
    return !with->told || with->dry || without->misfit < about * with->misfit;
}

/* A place close behind the face is a coat's end as well. */
static bool needs_no_coat(const struct pe_conclusion *c)
{
    const struct pe_stack *s = &c->fit.stack;
    bool may_be_coat = c->coat || (s->place && s->number[PE_DEPTH] < PE_THICKEST_COAT_S);
    return c->told && !c->dry && !may_be_coat;
}

/* Odds, as a logarithm, of what was found without the nominal against what was with it. Where not the same
 * record was fitted, by what a line is explained. */
static double log_odds_without(const struct pe_conclusion *without,
                               const struct pe_conclusion *with)
{
    if (!without->told || without->dry)
        return -INFINITY;
    if (!with->told || with->dry)
        return INFINITY;
    bool same_record =
        without->looked_s == with->looked_s && without->looked_from_s == with->looked_from_s;
    double gain = same_record
                      ? without->log_evidence - with->log_evidence
                      : (with->misfit - without->misfit) * fmin(with->lines, without->lines);
    double misfit = fmax(1.0, fmin(without->misfit, with->misfit));
    return gain / misfit + rarely_wrong;
}

/* An end of the wall this far below expectation (12 dB) is none: it may be what follows the front. */
static bool may_end_wall(const struct pe_evidence *e)
{
    static const double least_balance_db = -12.0;
    return e->balance_db > least_balance_db;
}

/* Two walls, and the nominal's ends behind the other. A gap stays one where the other could be a thin
 * wall as well. */
static enum pe_nominal weigh_short(const struct plyecho_wall_options *o, double log_odds,
                                   const struct pe_evidence *other,
                                   const struct pe_conclusion *with,
                                   const struct pe_conclusion *without)
{
    double share = 0.5 * o->velocity_m_s * other->back_delay_s / o->nominal_m.value;
    bool gap_lost = with->told && with->verdict == PLYECHO_DELAMINATION &&
                    without->verdict != PLYECHO_DELAMINATION && share >= PE_SHADOW_SHARE;
    return log_odds > sure && !gap_lost && may_end_wall(other) ? PE_NOMINAL_SHORT
                                                               : PE_NOMINAL_UNSURE;
}

/* Echoes of front and back stand clear, further apart than the nominal lets them. */
static enum pe_nominal weigh_beyond(const struct plyecho_wall_options *o,
                                    const struct pe_evidence *e,
                                    const struct pe_conclusion *with,
                                    const struct pe_conclusion *without)
{
    bool misleads =
        needs_no_coat(without) && (beyond_any_coat(o, e) || explains_as_well(without, with));
    return misleads ? PE_NOMINAL_BEYOND : PE_NOMINAL_HOLDS;
}

static enum pe_nominal weigh(const struct plyecho_wall_options *o, double pulse_s,
                             const struct pe_evidence *e, const struct pe_conclusion *with,
                             const struct pe_evidence *other,
                             const struct pe_conclusion *without)
{
    if (e->picks.beyond_nominal)
        return weigh_beyond(o, e, with, without);
    if (!with->told && !without->told)
        return with->unexplained && highest_is_short(o, e) ? PE_NOMINAL_UNSURE
                                                           : PE_NOMINAL_HOLDS;
    double wall = without->fit.stack.number[PE_TRANSIT];
    double log_odds = log_odds_without(without, with);
    bool same = with->told && without->told &&
                fabs(wall - with->fit.stack.number[PE_TRANSIT]) < same_wall * pulse_s;
    bool shadow = with->kind == PE_KIND_SHADOW;
    if (log_odds < -sure || (same && (!shadow || log_odds < sure)))
        return PE_NOMINAL_HOLDS;
    if (wall < 2.0 * o->nominal_m.value / o->velocity_m_s)
        return weigh_short(o, log_odds, other, with, without);
    /* a wall that is too long without its coat is not so because of that */
    double most_s = 2.0 * (o->nominal_m.value + o->tolerance_m) / o->velocity_m_s;
    bool long_alone = without->coat && wall > most_s + same_wall * pulse_s;
    if ((!needs_no_coat(without) && !long_alone) || without->misfit > explains_all)
        return PE_NOMINAL_HOLDS;
    return log_odds > sure ? PE_NOMINAL_BEYOND : PE_NOMINAL_UNSURE;
}

/* ---- other walls ---- */

/* What a trace comes to with one wall expected, or none. */
struct look {
    struct plyecho_assess_options options;
    struct pe_evidence evidence;
    struct pe_conclusion conclusion;
};

static void look(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                 double look_s, struct look *l)
{
    pe_evidence_take(t, raw, &l->options, &l->evidence);
    pe_stacks_conclude(l->options.stacks, t, &l->options, &l->evidence, look_s, &l->conclusion);
}

/* Without a nominal the highest echo is taken for the back wall's; a bonded layer under the wall may send a higher one
 * ahead of it, and what comes behind both may be higher still. Each of the echoes beyond the nominal that may
 * be a back wall is tried: what explains the trace best is kept, of these only what leaves nothing open. */
static void look_beyond(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                        const struct plyecho_wall_options *o, const struct pe_evidence *e,
                        double look_s, struct look *best)
{
    static const double farthest = 2.0, least_share = 0.25;
    double most_s = 2.0 * (o->nominal_m.value + o->tolerance_m) / o->velocity_m_s;
    double highest = 0.0;
    struct look tried = *best;
    for (int k = e->picks.front + 1; k < e->picks.count; k++)
        highest = fmax(highest, e->picks.echoes[k].amplitude);
    for (int k = e->picks.front + 1; k < e->picks.count; k++) {
        double delay = e->picks.echoes[k].time_s - e->front_s;
        if (delay < most_s || delay > farthest * most_s ||
            e->picks.echoes[k].amplitude < least_share * highest)
            continue;
        tried.options.wall.nominal_m =
            (struct plyecho_known){true, 0.5 * o->velocity_m_s * delay};
        tried.options.wall.tolerance_m = 0.5 * o->velocity_m_s * t->pulse_s;
        look(t, raw, look_s, &tried);
        bool better = tried.conclusion.told && !tried.conclusion.dry &&
                      tried.conclusion.misfit < explains_all &&
                      (!best->conclusion.told || best->conclusion.dry ||
                       tried.conclusion.misfit < best->conclusion.misfit);
        if (better)
            *best = tried;
    }
}

enum pe_nominal pe_nominal_look(const struct plyecho_conditioned *t,
                                const struct plyecho_trace *raw,
                                struct plyecho_assess_options *o, struct pe_evidence *e,
                                struct pe_conclusion *c, double *other_wall_s)
{
    struct look other = {.options = *o};
    pe_evidence_take(t, raw, o, e);
    pe_stacks_conclude(o->stacks, t, o, e, 0.0, c);
    if (!may_mislead(o, e, c))
        return PE_NOMINAL_HOLDS;
    other.options.wall.nominal_m.known = false;
    double look_s = e->picks.beyond_nominal ? 0.0 : c->looked_s;
    look(t, raw, look_s, &other);
    if (leaves_something(c))
        look_beyond(t, raw, &o->wall, e, look_s, &other);
    const struct pe_conclusion *found = &other.conclusion;
    enum pe_nominal nominal = weigh(&o->wall, t->pulse_s, e, c, &other.evidence, found);
    *other_wall_s = found->told ? found->fit.stack.number[PE_TRANSIT] : 0.0;
    if (nominal == PE_NOMINAL_HOLDS || nominal == PE_NOMINAL_UNSURE)
        return nominal;
    other.options.wall.nominal_m.known = false;
    *o = other.options;
    *e = other.evidence;
    *c = other.conclusion;
    e->lone = nominal == PE_NOMINAL_SHORT;
    return nominal;
}

/* ---- what becomes of the verdict ---- */

double pe_shadow_log_odds(double share)
{
    return log(10.0) * (1.0 + 10.0 * (PE_SHADOW_SHARE - share));
}

/* What else is found in such a wall is told; that it is sound is not. */
static void doubt_thick(struct plyecho_assessment *a)
{
    a->thickness.reason = PLYECHO_REASON_OFF_NOMINAL;
    pe_refuse_pass(PLYECHO_REASON_OFF_NOMINAL, a);
}

/* What ends short of the nominal is a lone echo: the far shorter, the less a thin wall or another nominal
 * explains it. A gap ahead of it is told all the same. */
static void doubt_short(const struct plyecho_wall_options *o, const struct pe_evidence *e,
                        struct plyecho_assessment *a)
{
    double share = 0.5 * o->velocity_m_s * e->back_delay_s / o->nominal_m.value;
    a->wall_seen = false;
    a->thickness.reason = PLYECHO_REASON_NOT_A_WALL;
    a->reason = PLYECHO_REASON_NOT_A_WALL;
    if (a->verdict == PLYECHO_DELAMINATION)
        return;
    pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_NOT_A_WALL, a);
    if (share >= PE_SHADOW_SHARE)
        return;
    a->verdict = PLYECHO_DELAMINATION;
    a->next_best = PLYECHO_THIN;
    a->evidence_ratio = pe_odds(pe_shadow_log_odds(share), 0.0);
}

/* The wall at the nominal, or another: neither is told, and the verdict rests on the nominal. */
static void doubt_both(double velocity_m_s, double other_wall_s, struct plyecho_assessment *a)
{
    static const double most_odds = 3.0;
    a->wall_seen = false;
    a->evidence_ratio = fmin(a->evidence_ratio, most_odds);
    if (other_wall_s > 0.0)
        a->other_wall_m = (struct plyecho_known){true, 0.5 * velocity_m_s * other_wall_s};
    pe_refuse_pass(PLYECHO_REASON_OFF_NOMINAL, a);
}

void pe_nominal_doubt(enum pe_nominal nominal, const struct plyecho_wall_options *given,
                      double other_wall_s, const struct pe_evidence *e,
                      struct plyecho_assessment *a)
{
    if (a->verdict == PLYECHO_UNREADABLE || nominal == PE_NOMINAL_HOLDS)
        return;
    if (nominal == PE_NOMINAL_UNSURE)
        doubt_both(given->velocity_m_s, other_wall_s, a);
    else if (nominal == PE_NOMINAL_BEYOND)
        doubt_thick(a);
    else
        doubt_short(given, e, a);
}
