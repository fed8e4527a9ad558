#include "stacks.h"

#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "explain.h"
#include "line_repeat.h"
#include "pi.h"
#include "usual.h"

/* Relative standard uncertainty of the loss in a wall: where attenuation is stated, and where not. */
static const double stated_slope_u = 0.15, usual_slope_u = 0.5;

/* The wall is this near to its nominal (standard deviation over the tolerance, and at least). */
static const double nominal_spread = 0.35, least_spread = 0.02;

static const double front_u = 0.08; /* of the reflection of the wall's face */

/* Records that are this many walls deep hold the first repeat of the back wall too. */
static const double walls_deep = 2.5;

/* The reporting level is a rule: an echo that stands above it in the envelope counts for an echo inside,
 * one that stays below it against, and less where the pulse is known, since the fit then sees more (as
 * logarithms of odds; chosen on simulated walls). */
static const double above_level = 4.5, above_with_pulse = 1.5, below_level = -3.0;
static const double level_none = 0.95,
                    level_all = 1.25; /* over the level: no weight, full weight */
static const double clearly_below = 0.8;

/* Odds, as a logarithm, of a plain wall that leaves nothing to explain against an echo inside: what the
 * full comparison gives for such traces (measured on simulated walls). */
static const double quiet_log_odds = 8.0;

/* The same where whatever else was tried stayed far behind: more than is ever told. */
static const double outdone_log_odds = 50.0;

/* A back wall this far below expectation is not quiet. */
static const double least_quiet_db = -4.0;

/* With more chi-squared per degree of freedom than this nothing here explains the trace. */
static const double most_misfit = 3.5;

/* A gap that leaves less of the beam, or no more than its uncertainty, leaves a lone echo, as the end of a
 * thin wall does. */
static const double least_left = 0.04;

/* Nearest to front and back wall that echoes were told apart on simulated walls (tests/reference): a ply
 * with the pulse known, shares of a pulse length without. */
static const double nearest_told_s = 0.13e-6, blind_front = 0.7, blind_back = 0.8;

/* A pulse whose shape is fitted takes the shape of an echo that close: one there has to make up for this (as
 * a logarithm of odds; chosen on simulated walls). Less where a gap would be missed. */
static const double blind = 3.0, blind_gap = 1.0;

/* An echo inside barely as strong as the least reported is as likely the laminate's own: up to this share
 * above it, it has to make up for as much (likewise). */
static const double barely = 0.2, barely_reported = 3.0;

/* What a lossy wall lacks at its back at least, in dB, as single echoes show it where the pulse is not known. */
static const double least_lack_db = 5.0;

/* Power of the odds at which they come true on simulated walls (tests/reference/calibrate_odds.py: 0.54 to
 * 1.03 with the pulse known, 0.58 to 0.90 without). */
static const double tempered = 0.75;

static const double least_seen = 0.2; /* of the wall */

/* Two carriers that differ by less are one. */
static const double same_phase = 0.5;

struct plyecho_stacks {
    struct pe_stack_fit *fit;
    struct pe_line_repeat *line;
    bool pulse_known;
};

enum plyecho_code plyecho_stacks_new(struct plyecho_stacks **out, double sample_rate_hz,
                                     const struct plyecho_pulse_shape *pulse,
                                     struct plyecho_error *err)
{
    *out = NULL;
    struct plyecho_stacks *stacks = pe_alloc(1, sizeof *stacks);
    if (stacks == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for explanations");
    stacks->pulse_known = pulse != NULL;
    enum plyecho_code code = pe_stack_fit_new(&stacks->fit, sample_rate_hz, pulse, err);
    if (code == PLYECHO_OK)
        code = pe_line_repeat_new(&stacks->line, sample_rate_hz, err);
    if (code != PLYECHO_OK) {
        plyecho_stacks_free(stacks);
        return code;
    }
    *out = stacks;
    return PLYECHO_OK;
}

void plyecho_stacks_free(struct plyecho_stacks *stacks)
{
    if (stacks == NULL)
        return;
    pe_stack_fit_free(stacks->fit);
    pe_line_repeat_free(stacks->line);
    free(stacks);
}

/* ---- what is known beforehand ---- */

/* Where the wall begins: where the reference says that the delay line ends, unless that is another
 * line's. */
static double origin_of(const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    static const double same_line_s = 0.6e-6;
    double off = o->front_s.value - e->front_s;
    return o->front_s.known && fabs(off) < same_line_s ? o->front_s.value : e->front_s;
}

static void expect_wall(const struct plyecho_wall_options *o, const struct pe_evidence *e,
                        struct pe_prospect *p)
{
    p->nominal_known = o->nominal_m.known;
    bool stands = e->picks.back >= 0 && !e->lone;
    if (o->nominal_m.known) {
        double whole = 2.0 * o->nominal_m.value / o->velocity_m_s;
        double spread = nominal_spread * o->tolerance_m / o->nominal_m.value;
        p->transit = (struct pe_prior){whole, fmax(spread, least_spread) * whole};
        p->whole_picked = stands;
        double picked = e->front_s + e->back_delay_s - origin_of(o, e);
        p->whole_s = stands ? picked : whole;
        p->lone_s = e->picks.back >= 0 && e->lone ? picked : 0.0;
    } else {
        p->transit = (struct pe_prior){e->back_delay_s, 0.1 * e->back_delay_s};
        p->whole_picked = true;
        p->whole_s = e->back_delay_s;
    }
}

static void expect_pulse(const struct plyecho_conditioned *t, const struct pe_evidence *e,
                         struct pe_prospect *p)
{
    const struct plyecho_picks *picks = &e->picks;
    p->centre_hz = t->centre_hz;
    p->phase_rad[0] = picks->echoes[picks->front].phase_rad;
    p->phases = 1;
    if (picks->back < 0)
        return;
    p->phase_rad[1] = picks->echoes[picks->back].phase_rad + PE_PI;
    if (fabs(remainder(p->phase_rad[1] - p->phase_rad[0], 2.0 * PE_PI)) > same_phase)
        p->phases = 2;
}

static void expect(const struct plyecho_stacks *stacks, const struct plyecho_conditioned *t,
                   const struct plyecho_assess_options *options, const struct pe_evidence *e,
                   struct pe_prospect *p)
{
    const struct plyecho_wall_options *o = &options->wall;
    double slope =
        (o->attenuation.known ? o->attenuation.value : PE_USUAL_LOSS) * o->velocity_m_s;
    *p = (struct pe_prospect){
        .pulse_known = stacks->pulse_known,
        .scale_known = stacks->pulse_known && e->reference_scale > 0.0,
        .loss_known = o->attenuation.known,
        .slope = {slope, fmax(slope * (o->attenuation.known ? stated_slope_u : usual_slope_u),
                              0.1 * PE_USUAL_LOSS * o->velocity_m_s)},
        .front = {e->usual_front, front_u},
        .least = pe_level_per_hz * t->centre_hz,
    };
    double scale = p->scale_known ? e->reference_scale : e->full_scale;
    if (stacks->pulse_known && !p->scale_known)
        scale = e->full_scale / fmax(options->reference->amplitude, 1e-30);
    p->log_scale = log(fmax(scale, 1e-30));
    expect_wall(o, e, p);
    expect_pulse(t, e, p);
}

/* Do single echoes, too, tell of nothing but a plain wall? */
static bool is_quiet(const struct pe_evidence *e)
{
    bool stands = e->picks.back >= 0 && !e->lone && !e->back_is_repeat &&
                  e->thickness.reason == PLYECHO_REASON_NONE;
    bool silent = !e->has_inner || e->inner.strength < clearly_below * e->inner_level;
    return stands && silent && (!e->expectation || e->balance_db > least_quiet_db);
}

/* ---- what they come to ---- */

/* The verdict that an explanation comes to; a lone echo short of the nominal may be anything. */
static enum plyecho_verdict verdict_of(enum pe_kind kind, const struct pe_explanation_fit *fit,
                                       const struct plyecho_wall_options *o)
{
    static const enum plyecho_verdict verdicts[PE_KINDS] = {
        [PE_KIND_PLAIN] = PLYECHO_NO_INDICATION,  [PE_KIND_STEP] = PLYECHO_INNER_ECHO,
        [PE_KIND_GLUE] = PLYECHO_INNER_ECHO,      [PE_KIND_WET] = PLYECHO_INNER_ECHO,
        [PE_KIND_GAP] = PLYECHO_DELAMINATION,     [PE_KIND_SHADOW] = PLYECHO_DELAMINATION,
        [PE_KIND_DISBOND] = PLYECHO_DELAMINATION, [PE_KIND_LOSSY] = PLYECHO_ATTENUATED,
        [PE_KIND_DRY] = PLYECHO_UNREADABLE,
    };
    const double *n = fit->stack.number;
    double left = fmax(least_left, 2.0 * fit->u[PE_COVER]);
    bool all = fit->stack.gap && n[PE_COVER] > 1.0 - left;
    if (kind != PE_KIND_SHADOW && !(all && o->nominal_m.known))
        return verdicts[kind];
    double wall = 0.5 * o->velocity_m_s * n[all ? PE_DEPTH : PE_TRANSIT];
    if (wall > o->nominal_m.value - o->tolerance_m)
        return PLYECHO_NO_INDICATION;
    return wall < PE_SHADOW_SHARE * o->nominal_m.value ? PLYECHO_DELAMINATION
                                                       : PLYECHO_UNDECIDED;
}

/* ---- what single echoes and the limits of sight say of a fit ---- */

/* Is a place inside where a pulse that is not known hides it? */
static bool is_blind(const struct pe_prospect *p, double pulse_s,
                     const struct pe_explanation_fit *f)
{
    const double *n = f->stack.number;
    return !p->pulse_known && f->stack.place &&
           (n[PE_DEPTH] < blind_front * pulse_s ||
            n[PE_DEPTH] > n[PE_TRANSIT] - blind_back * pulse_s);
}

static double credit(const struct pe_prospect *p, const struct pe_evidence *e, double pulse_s,
                     enum pe_kind kind, const struct pe_explanation_fit *f)
{
    double lost = 0.0;
    if (is_blind(p, pulse_s, f))
        lost += f->stack.gap ? blind_gap : blind;
    if (f->stack.place && !f->stack.gap) {
        double over = (pe_stack_strength(f, p->centre_hz) / p->least - 1.0) / barely;
        lost += barely_reported * fmax(0.0, 1.0 - over);
    }
    if (kind == PE_KIND_LOSSY && !p->pulse_known && e->expectation) {
        double over = fmax(0.0, e->balance_db + least_lack_db) / e->balance_u_db;
        lost += 0.5 * over * over;
    }
    return -lost;
}

/* An explanation that is possible. */
struct possible {
    const struct pe_explanation_fit *fit;
    enum pe_kind kind;
    bool coat;
    int next; /* place to go on from; 0 at first */
};

/* Go on to the next that is possible; false: there are no more. */
static bool next_possible(const struct pe_explained *x, struct possible *p)
{
    while (p->next < 2 * PE_KINDS) {
        p->kind = (enum pe_kind)(p->next / 2);
        p->coat = p->next % 2 > 0;
        p->fit = &x->fit[p->kind][p->coat];
        p->next++;
        if (!isinf(p->fit->log_evidence))
            return true;
    }
    return false;
}

static void give_credit(const struct pe_prospect *p, const struct pe_evidence *e,
                        double pulse_s, struct pe_explained *x)
{
    struct possible one = {0};
    while (next_possible(x, &one))
        x->fit[one.kind][one.coat].log_evidence += credit(p, e, pulse_s, one.kind, one.fit);
}

struct weights {
    double of[PLYECHO_VERDICT_COUNT];
    const struct pe_explanation_fit *best[PLYECHO_VERDICT_COUNT];
    enum pe_kind kind[PLYECHO_VERDICT_COUNT];
    bool coat[PLYECHO_VERDICT_COUNT];
};

static void weigh(const struct pe_explained *x, const struct plyecho_wall_options *o,
                  struct weights *w)
{
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++) {
        w->of[v] = -INFINITY;
        w->best[v] = NULL;
    }
    struct possible one = {0};
    while (next_possible(x, &one)) {
        enum plyecho_verdict v = verdict_of(one.kind, one.fit, o);
        w->of[v] = pe_log_sum(w->of[v], one.fit->log_evidence);
        if (w->best[v] != NULL && w->best[v]->log_evidence >= one.fit->log_evidence)
            continue;
        w->best[v] = one.fit;
        w->kind[v] = one.kind;
        w->coat[v] = one.coat;
    }
}

static double by_level(const struct pe_evidence *e, double origin_s, double most,
                       const struct weights *w)
{
    if (!e->has_inner)
        return below_level;
    const struct pe_explanation_fit *plain = w->best[PLYECHO_NO_INDICATION];
    double delay = e->front_s + e->inner.delay_s - origin_s;
    if (plain != NULL && w->coat[PLYECHO_NO_INDICATION] &&
        delay < plain->stack.number[PE_START] + plain->stack.number[PE_COAT_TIME] +
                    0.35 * e->picks.pulse_s)
        return 0.0; /* the wall's own front, under the coat */
    double share = (e->inner.strength / e->inner_level - level_none) / (level_all - level_none);
    return fmax(below_level, fmin(most, (share > 0.0 ? most : above_level) * share));
}

/* What stands next where nothing else could be fitted at all. */
static enum plyecho_verdict rival_of(enum plyecho_verdict verdict)
{
    return verdict == PLYECHO_NO_INDICATION ? PLYECHO_INNER_ECHO : PLYECHO_NO_INDICATION;
}

static void choose(const struct weights *w, bool outdone, struct pe_conclusion *c)
{
    int best = -1, next = -1;
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++) {
        if (w->best[v] == NULL)
            continue;
        if (best < 0 || w->of[v] > w->of[best]) {
            next = best;
            best = v;
        } else if (next < 0 || w->of[v] > w->of[next]) {
            next = v;
        }
    }
    if (best < 0)
        return;
    c->told = true;
    c->verdict = (enum plyecho_verdict)best;
    c->next = next >= 0 ? (enum plyecho_verdict)next : rival_of(c->verdict);
    c->log_odds = next >= 0 ? w->of[best] - w->of[next]
                  : outdone ? outdone_log_odds
                            : quiet_log_odds;
    c->kind = w->kind[best];
    c->coat = w->coat[best];
    c->fit = *w->best[best];
    c->dry = c->kind == PE_KIND_DRY;
}

static void weigh_coat(const struct pe_explained *x, const struct plyecho_wall_options *o,
                       struct pe_conclusion *c)
{
    double of[2] = {-INFINITY, -INFINITY};
    struct possible one = {0};
    while (next_possible(x, &one))
        if (verdict_of(one.kind, one.fit, o) == c->verdict)
            of[one.coat] = pe_log_sum(of[one.coat], one.fit->log_evidence);
    c->coat_log_odds = of[1] - of[0];
}

/* Explanations of one verdict that put the back wall elsewhere widen its uncertainty. */
static void spread_transit(const struct pe_explained *x, const struct plyecho_wall_options *o,
                           struct pe_conclusion *c)
{
    double total = 0.0, sum = 0.0, widen = fmax(1.0, c->misfit);
    struct possible one = {0};
    while (next_possible(x, &one)) {
        /* a shadow's transit is its depth, not the wall's */
        bool alike = (one.kind == PE_KIND_SHADOW) == (c->kind == PE_KIND_SHADOW);
        if (!alike || verdict_of(one.kind, one.fit, o) != c->verdict)
            continue;
        double odds = exp((one.fit->log_evidence - c->fit.log_evidence) / widen);
        double off = one.fit->stack.number[PE_TRANSIT] - c->fit.stack.number[PE_TRANSIT];
        double u = one.fit->u[PE_TRANSIT];
        total += odds;
        sum += odds * (u * u * widen + off * off);
    }
    c->transit_u_s = sqrt(sum / total);
}

/* ---- all of it ---- */

/* Can stacks be fitted to it: is there an interface echo, an oscillation and a place for the back wall? */
static bool can_be_fitted(const struct plyecho_stacks *stacks,
                          const struct plyecho_conditioned *t,
                          const struct plyecho_assess_options *options,
                          const struct pe_evidence *e)
{
    bool somewhere = options->wall.nominal_m.known || e->picks.back >= 0;
    return stacks != NULL && t->has_sign && e->picks.front >= 0 && somewhere &&
           (!stacks->pulse_known || options->reference != NULL);
}

static struct pe_stack_gate gate_of(const struct plyecho_conditioned *t,
                                    const struct plyecho_wall_options *o,
                                    const struct pe_evidence *e,
                                    const struct pe_prospect *prospect, double least_look_s)
{
    double origin = origin_of(o, e), wall = fmax(prospect->transit.mean, least_look_s);
    return (struct pe_stack_gate){
        .origin_s = origin,
        .end_s = fmin(2.0 * origin - t->pulse_s, origin + walls_deep * wall),
        .until_s = origin + walls_deep * wall,
        .wall_s = wall,
        .slope = prospect->slope.mean,
        .reference_hz = t->centre_hz,
        .full_scale = exp(prospect->log_scale),
    };
}

/* Is the back wall's echo all within the gate and the record? */
static bool holds_back_wall(const struct plyecho_conditioned *t, double wall_s,
                            const struct pe_stack_gate *gate)
{
    double end_s = fmin(gate->end_s, t->start_s + (double)t->samples / t->sample_rate_hz);
    return end_s >= gate->origin_s + wall_s + t->pulse_s;
}

static void tell_range(const struct pe_explained *x, double pulse_s, bool pulse_known,
                       double wall_s, struct pe_conclusion *c)
{
    /* what was tried: gaps under a fifth of the beam one ply away, and so much of a pulse without it */
    double front_s = pulse_known ? nearest_told_s : blind_front * pulse_s;
    double back_s = pulse_known ? nearest_told_s : blind_back * pulse_s;
    c->from_s = fmax(x->from_s, front_s);
    c->to_s = fmin(x->to_s, c->fit.stack.number[PE_TRANSIT] - back_s);
    /* a sliver of the wall is not an inspection */
    c->range_known = x->range_known && c->to_s - c->from_s > least_seen * wall_s;
}

/* From the explanations to a verdict and its odds. false: none is possible. */
static bool compare(const struct plyecho_stacks *stacks, double origin_s,
                    const struct plyecho_wall_options *o, const struct pe_evidence *e,
                    const struct pe_explained *x, struct pe_conclusion *c)
{
    struct weights w;
    weigh(x, o, &w);
    double most = stacks->pulse_known ? above_with_pulse : above_level;
    double level = by_level(e, origin_s, most, &w);
    w.of[PLYECHO_INNER_ECHO] += level;
    w.of[PLYECHO_DELAMINATION] += fmax(0.0, level); /* a gap may hide behind front or back */
    choose(&w, x->outdone, c);
    if (!c->told)
        return false;
    if (!x->thorough) /* nothing else was worth a trial */
        c->log_odds = quiet_log_odds - 0.5 * x->left_over;
    c->misfit = pe_stack_misfit(x, &c->fit);
    c->told = c->misfit < most_misfit;
    c->unexplained = !c->told;
    c->log_odds *= tempered / fmax(1.0, c->misfit);
    weigh_coat(x, o, c);
    spread_transit(x, o, c);
    return true;
}

void pe_stacks_conclude(struct plyecho_stacks *stacks, const struct plyecho_conditioned *t,
                        const struct plyecho_assess_options *options,
                        const struct pe_evidence *e, double least_look_s,
                        struct pe_conclusion *c)
{
    *c = (struct pe_conclusion){.verdict = PLYECHO_UNDECIDED};
    if (!can_be_fitted(stacks, t, options, e))
        return;
    struct pe_prospect prospect;
    struct pe_explained explained;
    expect(stacks, t, options, e, &prospect);
    if (!pe_stack_search_holds(&prospect))
        return;
    if (e->picks.back < 0 && !prospect.scale_known)
        return; /* nothing behind the front, and nothing tells whether it was coupled */
    struct pe_stack_gate gate = gate_of(t, &options->wall, e, &prospect, least_look_s);
    if (!holds_back_wall(t, prospect.transit.mean, &gate) ||
        pe_stack_fit_take(stacks->fit, t, &gate, NULL) != PLYECHO_OK)
        return;
    c->inverted = pe_stack_search_both_ways(stacks->fit, &prospect,
                                            !options->thorough && is_quiet(e), &explained);
    if (explained.thorough) { /* it takes its time */
        c->line = pe_line_repeat_ask(stacks->line, t, e);
        c->lost_s = c->line.lost_s;
    }
    give_credit(&prospect, e, e->picks.pulse_s, &explained);
    c->log_evidence = pe_stack_best(&explained)->log_evidence;
    c->lines = (double)explained.lines;
    c->looked_from_s = gate.origin_s;
    c->looked_s = gate.wall_s;
    if (!compare(stacks, gate.origin_s, &options->wall, e, &explained, c))
        return;
    tell_range(&explained, e->picks.pulse_s, stacks->pulse_known, prospect.transit.mean, c);
    bool may_be_lost = explained.thorough && c->lost_s == 0.0 && !c->line.whole;
    if (may_be_lost && (c->told || stacks->pulse_known))
        c->train = pe_lost_time_seek(stacks->fit, t, e, &gate, &prospect, c->log_evidence);
    if (c->lost_s == 0.0)
        c->lost_s = c->train.lost_s;
}
