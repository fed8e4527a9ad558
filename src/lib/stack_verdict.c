#include "stack_verdict.h"

#include <math.h>

#include "odds.h"
#include "outcome.h"

/* A back wall that this share of the sound reaches is seen. */
static const double least_left = 0.1;

/* With more, a plain wall is not what the trace shows, though nothing else here is either. */
static const double least_misfit = 2.0;

/* No wall passes with odds below this (as a logarithm) against a delamination. */
static const double least_to_pass = 1.1;

/* Odds, as a logarithm, from which a coat is taken off the wall. */
static const double sure_coat = 3.0;

/* What a real beam does to a time beyond noise (our choice). */
static const double least_time_u_periods = 0.01;

/* Chi-squared per degree of freedom of a stack that leaves nothing open, and an echo inside that is strong
 * enough to make single echoes seem to stand elsewhere. */
static const double well_explained = 1.5, least_mixing = 0.15;

static const double *numbers(const struct pe_conclusion *c)
{
    return c->fit.stack.number;
}

static bool is_inside(enum pe_kind kind)
{
    return kind == PE_KIND_STEP || kind == PE_KIND_GLUE || kind == PE_KIND_WET ||
           kind == PE_KIND_GAP || kind == PE_KIND_DISBOND;
}

static double depth_u_s(const struct pe_conclusion *c, double centre_hz)
{
    double u = c->kind == PE_KIND_SHADOW ? c->transit_u_s : c->fit.u[PE_DEPTH];
    return hypot(u * sqrt(fmax(1.0, c->misfit)), least_time_u_periods / centre_hz);
}

/* The wall by the stack's transit. */
static struct plyecho_thickness wall_of(const struct pe_conclusion *c, double centre_hz,
                                        const struct plyecho_wall_options *o)
{
    struct plyecho_thickness t = {.mode = PLYECHO_MODE_2};
    t.time_s = numbers(c)[PE_TRANSIT];
    t.time_u_s = hypot(c->transit_u_s, least_time_u_periods / centre_hz);
    plyecho_wall_thickness(o, &t);
    t.loss_np_hz = numbers(c)[PE_SLOPE] * t.time_s;
    double u = t.thickness_u.known ? t.thickness_u.value : 0.0;
    if (o->nominal_m.known &&
        fabs(t.thickness_m - o->nominal_m.value) > o->tolerance_m + 2.0 * u)
        t.reason = PLYECHO_REASON_OFF_NOMINAL;
    return t;
}

static void widen(double by_s, const struct plyecho_wall_options *o,
                  struct plyecho_thickness *t)
{
    t->time_u_s = hypot(t->time_u_s, by_s);
    if (t->thickness_u.known)
        t->thickness_u.value = hypot(t->thickness_u.value, 0.5 * o->velocity_m_s * by_s);
}

/* Two ways to the same wall that do not agree leave it doubtful, by their difference. */
static void compare(const struct plyecho_thickness *by_stack, double centre_hz,
                    const struct plyecho_wall_options *o, struct plyecho_thickness *t)
{
    double apart = fabs(by_stack->time_s - t->time_s);
    if (apart < 4.0 * hypot(by_stack->time_u_s, t->time_u_s) + 0.2 / centre_hz)
        return;
    t->reason = PLYECHO_REASON_CYCLE;
    widen(apart, o, t);
}

static void refine_wall(const struct pe_conclusion *c, const struct plyecho_conditioned *t,
                        const struct plyecho_wall_options *o, struct pe_evidence *e)
{
    struct plyecho_thickness by_stack = wall_of(c, t->centre_hz, o);
    if (o->mode != PLYECHO_MODE_AUTO && o->mode != PLYECHO_MODE_2)
        return;
    bool measured = e->thickness.time_s > 0.0 && !e->lone;
    if (c->coat) { /* there or not: variance of a choice between the two */
        double p = 1.0 / (1.0 + exp(-c->coat_log_odds));
        widen(sqrt(p * (1.0 - p)) * numbers(c)[PE_COAT_TIME], o, &by_stack);
    }
    if (!measured || (c->coat && c->coat_log_odds > sure_coat))
        e->thickness = by_stack;
    else if (e->thickness.reason == PLYECHO_REASON_NONE)
        compare(&by_stack, t->centre_hz, o, &e->thickness);
}

static void refine_interfaces(const struct pe_conclusion *c, double centre_hz,
                              struct pe_evidence *e)
{
    double strength = pe_stack_strength(&c->fit, centre_hz), delay = numbers(c)[PE_DEPTH];
    if (c->fit.stack.film) /* seen as one echo: its middle */
        delay += 0.5 * numbers(c)[PE_FILM_TIME];
    int at = 0;
    while (at < e->interface_count &&
           fabs(e->interfaces[at].delay_s - delay) > 0.35 * e->picks.pulse_s)
        at++;
    const struct pe_interface one = {
        .delay_s = delay,
        .of_middle = c->fit.stack.film,
        .u_s = depth_u_s(c, centre_hz),
        .strength = strength,
        .strength_u = 0.4 * e->level,
        .sign = c->fit.stack.film                                      ? 0
                : numbers(c)[PE_STEP_THERE] > 0.0 && !c->fit.stack.gap ? 1
                                                                       : -1,
    };
    if (at < e->interface_count)
        e->interfaces[at] = one;
    else
        pe_interface_add(e->interfaces, &e->interface_count, &one);
}

/* Single echoes were counted from the outer face: count them from under the coat, and leave out where
 * the coat's own echo from the wall's face stands. */
static void begin_under(double coat_s, struct pe_evidence *e)
{
    double nearest = 0.5 * e->picks.pulse_s;
    int kept = 0;
    for (int k = 0; k < e->interface_count; k++) {
        struct pe_interface one = e->interfaces[k];
        one.delay_s -= coat_s;
        if (one.delay_s > nearest)
            e->interfaces[kept++] = one;
    }
    e->interface_count = kept;
    e->inner.delay_s -= coat_s;
    e->has_inner = e->has_inner && e->inner.delay_s > nearest;
    e->from_s = fmax(nearest, e->from_s - coat_s);
    e->to_s -= coat_s;
    e->indication_s -= coat_s;
}

void pe_stacks_refine(const struct pe_conclusion *c, const struct plyecho_conditioned *t,
                      const struct plyecho_assess_options *options, struct pe_evidence *e)
{
    e->lost_s = c->lost_s;
    e->line = c->line;
    if (!c->told || c->dry)
        return;
    bool mixing = is_inside(c->kind) && pe_stack_strength(&c->fit, t->centre_hz) > least_mixing;
    e->explained = c->misfit < well_explained && (mixing || c->train.none);
    if (c->coat)
        begin_under(numbers(c)[PE_COAT_TIME], e);
    if (c->range_known) {
        e->from_s = c->from_s;
        e->to_s = c->to_s;
    }
    if (is_inside(c->kind) || c->kind == PE_KIND_SHADOW)
        e->indication_s = numbers(c)[c->kind == PE_KIND_SHADOW ? PE_TRANSIT : PE_DEPTH];
    if (c->kind != PE_KIND_SHADOW || c->verdict == PLYECHO_NO_INDICATION)
        refine_wall(c, t, &options->wall, e);
    if (is_inside(c->kind))
        refine_interfaces(c, t->centre_hz, e);
}

void pe_stacks_judge(const struct pe_conclusion *c, const struct pe_evidence *e,
                     struct plyecho_assessment *a)
{
    a->verdict = c->verdict;
    a->next_best = c->next == PLYECHO_UNDECIDED ? PLYECHO_THIN : c->next;
    a->evidence_ratio = pe_odds(c->log_odds, 0.0);
    a->reason = e->thickness.reason;
    a->film = c->fit.stack.film;
    a->wall_seen = e->thickness.time_s > 0.0;
    if (c->kind == PE_KIND_SHADOW && c->verdict != PLYECHO_NO_INDICATION) {
        a->wall_seen = false;
        a->reason = PLYECHO_REASON_NOT_A_WALL;
    }
    bool close = c->verdict == PLYECHO_NO_INDICATION && c->next == PLYECHO_DELAMINATION &&
                 c->log_odds < least_to_pass;
    if (c->verdict == PLYECHO_UNDECIDED || close)
        pe_withdraw(PLYECHO_UNDECIDED, a->reason, a);
    if (c->fit.stack.gap && numbers(c)[PE_COVER] > 1.0 - least_left)
        a->wall_seen = false;
    /* reversed against the reference, but for the interface echo: what stands behind the wall is not air */
    bool odd = c->inverted && e->front_reflection.known && e->front_reflection.value > 0.0;
    a->inverted = c->inverted && !odd;
    if (odd || (c->verdict == PLYECHO_NO_INDICATION && c->misfit > least_misfit))
        pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_NOT_EXPLAINED, a);
}

void pe_stacks_tell(const struct pe_conclusion *c, const struct plyecho_assess_options *options,
                    const struct plyecho_conditioned *t, struct plyecho_assessment *a)
{
    const struct plyecho_wall_options *o = &options->wall;
    bool shadow = c->kind == PE_KIND_SHADOW;
    double delay = numbers(c)[shadow ? PE_TRANSIT : PE_DEPTH];
    double strength = shadow ? 1.0 : pe_stack_strength(&c->fit, t->centre_hz);
    a->has_indication = true;
    a->depth_m = 0.5 * o->velocity_m_s * delay;
    if (o->velocity_u.known)
        a->depth_u = (struct plyecho_known){
            true, hypot(0.5 * delay * o->velocity_u.value,
                        0.5 * o->velocity_m_s * depth_u_s(c, t->centre_hz))};
    bool harder = c->kind == PE_KIND_STEP && numbers(c)[PE_STEP_THERE] > 0.0;
    a->sign_known = !c->fit.stack.film;
    a->strength = harder ? strength : -fmin(strength, 1.0);
    if (a->verdict == PLYECHO_DELAMINATION)
        a->cover = fmin(strength, 1.0);
}
