/* The comparison of explanations. */
#include <plyecho/verdict.h>

#include <math.h>

#include "doubts.h"
#include "explain.h"
#include "layers_verdict.h"
#include "nominal.h"
#include "odds.h"
#include "outcome.h"
#include "profile_take.h"
#include "stack_verdict.h"
#include "usual.h"

/* Odds are never given as higher: the model is not that good. */
static const double most_odds = 1000.0;

/* An echo this far below expectation may be anything: the back wall counts as lost. */
static const double lost_db = -22.0;

/* Below these odds a quiet wall is not told from one that hides something. */
static const double least_odds = 1.5;

/* Noise that would hide an echo of this strength hides what the reading is for. */
static const double most_level = 0.2;

static const char *const words[PLYECHO_VERDICT_COUNT] = {
    [PLYECHO_NO_INDICATION] = "no-indication", [PLYECHO_INNER_ECHO] = "inner-echo",
    [PLYECHO_DELAMINATION] = "delamination",   [PLYECHO_THIN] = "thin",
    [PLYECHO_ATTENUATED] = "attenuated",       [PLYECHO_UNDECIDED] = "undecided",
    [PLYECHO_UNREADABLE] = "unreadable",
};

const char *plyecho_verdict_word(enum plyecho_verdict verdict)
{
    if ((unsigned)verdict >= PLYECHO_VERDICT_COUNT || words[verdict] == NULL)
        return "unknown";
    return words[verdict];
}

/* ---- a trace whose back wall stands where it belongs ---- */

double pe_odds(double log_best, double log_next)
{
    return fmin(most_odds, fmax(1.0, exp(fmin(log_best - log_next, 20.0))));
}

/* The best explanation, and the best of another verdict. Explanations of one verdict add up. */
static void conclude(const struct pe_weighing *w, struct plyecho_assessment *a)
{
    double sum[PLYECHO_VERDICT_COUNT];
    int best = -1, next = -1, kind = 0;
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++)
        sum[v] = -INFINITY;
    for (int k = 0; k < PE_EXPLANATIONS; k++) {
        enum plyecho_verdict v = pe_verdict_of((enum pe_explanation)k);
        sum[v] = pe_log_sum(sum[v], w->log_weight[k]);
    }
    for (int v = 0; v < PLYECHO_VERDICT_COUNT; v++) {
        if (best < 0 || sum[v] > sum[best]) {
            next = best;
            best = v;
        } else if (next < 0 || sum[v] > sum[next]) {
            next = v;
        }
    }
    for (int k = 1; k < PE_EXPLANATIONS; k++)
        if (w->log_weight[k] > w->log_weight[kind])
            kind = k;
    a->verdict = (enum plyecho_verdict)best;
    a->next_best = (enum plyecho_verdict)next;
    a->evidence_ratio = pe_odds(sum[best], sum[next]);
    a->film = a->verdict == PLYECHO_INNER_ECHO && kind == PE_FILM;
}

/* Nothing reported, nothing lost: all that remains is that a reportable echo hides under noise and
 * the laminate's own echoes. */
static void judge_quiet_wall(const struct pe_evidence *e, struct plyecho_assessment *a)
{
    double u = e->has_inner ? hypot(e->inner_level / 5.0, e->inner.noise) : e->level / 5.0;
    double room = e->has_inner ? e->inner_level - e->inner.strength : e->level;
    double hidden = 0.2 * exp(-0.5 * (room / u) * (room / u));
    a->verdict = PLYECHO_NO_INDICATION;
    a->next_best = PLYECHO_INNER_ECHO;
    a->evidence_ratio = pe_odds(0.0, log(fmax(hidden, 1e-9)));
}

static void judge_standing_wall(const struct pe_evidence *e, bool has_sign,
                                struct plyecho_assessment *a)
{
    struct pe_weighing w;
    pe_weigh(e, has_sign, &w);
    if (isinf(w.log_weight[PE_STEP]) && isinf(w.log_weight[PE_LOSSY]))
        judge_quiet_wall(e, a);
    else
        conclude(&w, a);
}

/* ---- the other cases ---- */

/* No echo behind the front at all. */
static void judge_silence(const struct pe_evidence *e, struct plyecho_assessment *a)
{
    a->reason = PLYECHO_REASON_NO_BACK_ECHO;
    a->next_best = PLYECHO_UNREADABLE;
    if (e->coupling == PE_COUPLED) {
        a->verdict = PLYECHO_ATTENUATED;
        a->evidence_ratio = 10.0;
        return;
    }
    a->verdict = PLYECHO_UNREADABLE;
    a->next_best = PLYECHO_ATTENUATED;
    a->evidence_ratio = 1.0;
}

/* So weak a back wall is as good as none. */
static void judge_lost_wall(const struct pe_evidence *e, struct plyecho_assessment *a)
{
    if (a->verdict != PLYECHO_ATTENUATED || e->balance_db >= lost_db)
        return;
    a->wall_seen = false;
    judge_silence(e, a);
}

/* An echo alone, short of where the nominal wall belongs: shadow or thin wall. */
static void judge_lone_echo(const struct pe_evidence *e, const struct plyecho_assess_options *o,
                            struct plyecho_assessment *a)
{
    double wall = 0.5 * o->wall.velocity_m_s * e->back_delay_s;
    double share = wall / o->wall.nominal_m.value;
    a->verdict = PLYECHO_UNDECIDED;
    a->next_best = PLYECHO_UNDECIDED;
    a->evidence_ratio = 1.0;
    a->reason = PLYECHO_REASON_NOT_A_WALL;
    if (share >= PE_SHADOW_SHARE)
        return;
    a->verdict = PLYECHO_DELAMINATION;
    a->next_best = PLYECHO_THIN;
    a->evidence_ratio = pe_odds(pe_shadow_log_odds(share), 0.0);
    const struct plyecho_echo *back = &e->picks.echoes[e->picks.back];
    double strength = back->amplitude / (e->full_scale * exp(-e->loss_np_s * e->back_delay_s));
    if (strength < 0.1) { /* nothing but what follows the front */
        judge_silence(e, a);
        return;
    }
    if (strength < 0.3) { /* too weak to have taken all the sound */
        a->verdict = e->expectation ? PLYECHO_ATTENUATED : PLYECHO_UNDECIDED;
        a->next_best = PLYECHO_DELAMINATION;
        a->evidence_ratio = 2.0;
    }
}

/* An echo that runs into the front's or the back wall's changes their phases: the time may then be
 * off by a cycle, and its uncertainty has to hold that; not where the wall's repeats fit both. */
static void doubt_time(const struct pe_evidence *e, double centre_hz, double velocity_m_s,
                       struct plyecho_assessment *a)
{
    bool inside = a->verdict == PLYECHO_INNER_ECHO || a->verdict == PLYECHO_DELAMINATION;
    double near = 1.2 * e->picks.pulse_s, behind = e->back_delay_s - e->inner.delay_s;
    bool at_front = e->inner.delay_s < near && a->thickness.mode == PLYECHO_MODE_2;
    if (!inside || (!at_front && behind > near) || a->thickness.repeats_agree)
        return;
    a->reason = a->thickness.reason = PLYECHO_REASON_CYCLE;
    a->thickness.time_u_s = hypot(a->thickness.time_u_s, 1.0 / centre_hz);
    if (a->thickness.thickness_u.known)
        a->thickness.thickness_u.value =
            hypot(a->thickness.thickness_u.value, 0.5 * velocity_m_s / centre_hz);
}

/* What must not pass as `no-indication`, whatever the echoes say. */
static void doubt_quiet_wall(const struct pe_evidence *e, struct plyecho_assessment *a)
{
    if (a->verdict != PLYECHO_NO_INDICATION)
        return;
    if (e->level > most_level)
        pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_TOO_NOISY, a);
    else if (e->to_s <= e->from_s)
        pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_NOT_INSPECTED, a);
    else if (e->thickness.reason == PLYECHO_REASON_OFF_NOMINAL || e->thickness.modes_disagree)
        pe_withdraw(PLYECHO_UNDECIDED, e->thickness.reason, a);
    else if (a->evidence_ratio < least_odds)
        pe_withdraw(PLYECHO_UNDECIDED, a->reason, a);
    else if (!a->nominal_known && a->reason == PLYECHO_REASON_NONE)
        a->reason = PLYECHO_REASON_NO_NOMINAL;
}

/* A wall that stands, below the acceptance limit. */
static void judge_limit(const struct plyecho_assess_options *o, struct plyecho_assessment *a)
{
    if (!o->least_m.known || a->verdict != PLYECHO_NO_INDICATION || !a->wall_seen)
        return;
    double below = o->least_m.value - a->thickness.thickness_m;
    double u = a->thickness.thickness_u.known ? a->thickness.thickness_u.value : 0.0;
    if (below <= 0.0)
        return;
    a->verdict = PLYECHO_THIN;
    a->next_best = PLYECHO_NO_INDICATION;
    double z = u > 0.0 ? below / u : 10.0;
    a->evidence_ratio = pe_odds(0.5 * z * z, 0.0);
}

/* A coat taken off the wall makes it thin: plies close under the face look like one, and odds of less than a thousand
 * (our choice) are too few to reject a part by. */
static void doubt_coat(const struct pe_conclusion *c, const struct plyecho_assess_options *o,
                       struct plyecho_assessment *a)
{
    static const double sure_log_odds = 6.9;
    bool taken_off = c->coat && a->thickness.time_s == c->fit.stack.number[PE_TRANSIT];
    if (a->verdict != PLYECHO_THIN || !taken_off || c->coat_log_odds >= sure_log_odds)
        return;
    double coat_m = 0.5 * o->wall.velocity_m_s * c->fit.stack.number[PE_COAT_TIME];
    if (a->thickness.thickness_m + coat_m >= o->least_m.value)
        pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_COAT_UNSURE, a);
}

static void tell_indication(const struct pe_evidence *e, const struct pe_conclusion *c,
                            const struct plyecho_assess_options *o,
                            const struct plyecho_conditioned *t, struct plyecho_assessment *a)
{
    double velocity = o->wall.velocity_m_s;
    bool of_inner = a->verdict == PLYECHO_INNER_ECHO || a->verdict == PLYECHO_DELAMINATION;
    if (of_inner && c->told && c->verdict == a->verdict) {
        pe_stacks_tell(c, o, t, a);
        a->repeats = e->inner.repeats;
        return;
    }
    if (!of_inner)
        return;
    a->has_indication = true;
    double delay = e->lone ? e->back_delay_s : e->inner.delay_s;
    a->depth_m = 0.5 * velocity * delay;
    double time_u = 0.1 * e->picks.pulse_s;
    if (o->wall.velocity_u.known)
        a->depth_u = (struct plyecho_known){
            true, hypot(0.5 * delay * o->wall.velocity_u.value, 0.5 * velocity * time_u)};
    if (e->lone) {
        const struct plyecho_echo *back = &e->picks.echoes[e->picks.back];
        double full = e->full_scale * exp(-e->loss_np_s * delay);
        a->strength = -fmin(1.0, back->amplitude / full);
        a->cover = 1.0;
        a->sign_known = false;
        return;
    }
    double s = e->inner.strength;
    double turn = cos(e->inner.phase_rad);
    a->sign_known = t->has_sign && fabs(turn) > 0.5;
    a->repeats = e->inner.repeats;
    a->strength = a->sign_known && turn < 0.0 ? s : -s;
    if (a->verdict == PLYECHO_DELAMINATION) {
        a->cover = e->back_is_repeat ? 1.0 : s / (1.0 + s);
        a->strength = -a->cover;
    }
}

_Static_assert((int)PLYECHO_INNER_ECHOES == (int)PE_INTERFACES, "all of them are told");

/* May it be the repeat of another: at twice its delay, and as strong as one that met that other twice and
 * the wall's face from within, give or take 8 dB? */
static bool may_be_repeat(const struct pe_evidence *e, double delay_s, double strength)
{
    static const double give = 2.5;
    for (int k = 0; k < e->interface_count; k++) {
        const struct pe_interface *in = &e->interfaces[k];
        double most = give * PE_USUAL_FRONT_REFLECTION * in->strength * in->strength;
        if (strength < most && fabs(delay_s - 2.0 * in->delay_s) < 0.35 * e->picks.pulse_s)
            return true;
    }
    return false;
}

/* Strengths are over what the back wall's echo says; the share that a gap took from it makes the
 * laminate's own echoes look as much stronger. */
static double strength_of(const struct pe_evidence *e, const struct plyecho_assessment *a,
                          const struct pe_interface *in)
{
    bool stands = e->picks.back >= 0 && !e->lone && !e->back_is_repeat;
    bool told_of = fabs(in->delay_s - e->indication_s) < 0.35 * e->picks.pulse_s;
    if (a->verdict != PLYECHO_DELAMINATION || !stands || told_of)
        return in->strength;
    return in->strength * fmax(0.1, 1.0 - a->cover);
}

/* By depth: each goes in ahead of the deeper ones. */
static void tell_inner_echoes(const struct pe_evidence *e, double velocity_m_s,
                              struct plyecho_assessment *a)
{
    for (int k = 0; a->has_indication && k < e->interface_count; k++) {
        const struct pe_interface *in = &e->interfaces[k];
        double strength = strength_of(e, a, in);
        if (strength < e->level)
            continue;
        int at = a->inner_count++;
        for (; at > 0 && a->inner[at - 1].delay_s > in->delay_s; at--)
            a->inner[at] = a->inner[at - 1];
        a->inner[at] = (struct plyecho_inner_echo){
            .delay_s = in->delay_s,
            .depth_m = 0.5 * velocity_m_s * in->delay_s,
            .strength = fmin(strength, 1.0), /* none reflects more than all */
            .as_repeat = may_be_repeat(e, in->delay_s, strength),
        };
    }
}

/* Of the echoes told of the highest; where there is none, of the others. A coat's repeats stand among
 * those: then it is no higher. */
static void tell_highest(const struct pe_evidence *e, const struct pe_conclusion *c,
                         struct plyecho_assessment *a)
{
    double highest = a->has_indication ? fabs(a->strength)
                     : e->has_inner    ? e->inner.strength
                                       : 0.0;
    for (int k = 0; k < a->inner_count; k++)
        highest = fmax(highest, a->inner[k].strength);
    a->highest_known = a->has_indication || !c->told || !c->coat;
    a->highest_inner = fmin(1.0, highest); /* none reflects more than all */
}

/* A coat counts as parted where the wall's time is that of the stack under it. */
static void tell_coat(const struct pe_evidence *e, const struct pe_conclusion *c,
                      struct plyecho_assessment *a)
{
    const double *number = c->fit.stack.number;
    bool parted =
        c->told && c->coat && a->wall_seen && e->thickness.time_s == number[PE_TRANSIT];
    a->coat_s = (struct plyecho_known){parted, parted ? number[PE_COAT_TIME] : 0.0};
}

static void tell_range(const struct pe_evidence *e, const struct plyecho_assess_options *o,
                       struct plyecho_assessment *a)
{
    double half_velocity = 0.5 * o->wall.velocity_m_s;
    a->range_known = e->to_s > e->from_s;
    a->from_m = half_velocity * e->from_s;
    a->to_m = half_velocity * e->to_s;
    a->level = e->level;
    bool compared = e->picks.front >= 0 && e->picks.back >= 0 && !e->lone;
    a->expectation = e->expectation && e->picks.back >= 0;
    a->usual_balance_db = (struct plyecho_known){compared && !e->expectation, e->balance_db};
    a->balance_db = e->balance_db;
    a->balance_u_db = e->balance_u_db;
    a->front_reflection = e->front_reflection;
    a->lone_m = (struct plyecho_known){e->lone, half_velocity * e->back_delay_s};
}

/* What whole stacks come to, where they could be fitted; else what single echoes do. */
static void judge_stacks(const struct pe_conclusion *c, const struct pe_evidence *e,
                         const struct plyecho_assess_options *o, struct plyecho_assessment *a)
{
    pe_stacks_judge(c, e, a);
    judge_limit(o, a);
    doubt_coat(c, o, a);
    doubt_quiet_wall(e, a);
    judge_lost_wall(e, a);
}

/* The reference says where the delay line ends; a record that begins behind that place lacks the interface
 * echo, and another would stand for it. */
static bool begins_late(const struct plyecho_assess_options *o,
                        const struct plyecho_conditioned *t)
{
    return o->wall.front_s.known && o->wall.front_s.value < t->start_s;
}

static void judge(const struct pe_evidence *e, const struct pe_conclusion *c,
                  const struct plyecho_assess_options *o,
                  const struct plyecho_conditioned *trace, struct plyecho_assessment *a)
{
    bool has_sign = trace->has_sign;
    if (begins_late(o, trace))
        pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_OUTSIDE_TIME_BASE, a);
    else if (e->picks.count == 0)
        pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_NO_ECHO, a);
    else if (c->told ? c->dry : e->coupling == PE_NOT_COUPLED)
        pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_NO_COUPLING, a);
    else if (e->thickness.reason == PLYECHO_REASON_CLIPPED)
        pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_CLIPPED, a);
    else if (e->record_short || e->thickness.reason == PLYECHO_REASON_OUTSIDE_TIME_BASE)
        pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_OUTSIDE_TIME_BASE, a);
    else if (e->line_repeats)
        pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_LINE_REPEATS, a);
    else if (c->told)
        judge_stacks(c, e, o, a);
    else if (e->picks.back < 0)
        judge_silence(e, a);
    else if (e->lone)
        judge_lone_echo(e, o, a);
    else if (e->back_is_repeat) {
        a->verdict = PLYECHO_DELAMINATION;
        a->next_best = PLYECHO_INNER_ECHO;
        a->evidence_ratio = 100.0;
        a->reason = PLYECHO_REASON_NOT_A_WALL;
    } else {
        judge_standing_wall(e, has_sign, a);
        a->wall_seen = e->thickness.time_s > 0.0;
        a->reason = e->thickness.reason;
        judge_limit(o, a);
        doubt_time(e, trace->centre_hz, o->wall.velocity_m_s, a);
        doubt_quiet_wall(e, a);
        judge_lost_wall(e, a);
    }
}

/* What single echoes suggest, where no stack of layers accounts for the trace, is a hint at most. */
static void doubt_unexplained(struct plyecho_assessment *a)
{
    static const double most_odds_unexplained = 3.0;
    if (a->verdict == PLYECHO_UNREADABLE || a->verdict == PLYECHO_UNDECIDED)
        return;
    a->evidence_ratio = fmin(a->evidence_ratio, most_odds_unexplained);
    pe_refuse_pass(PLYECHO_REASON_NOT_EXPLAINED, a);
}

/* No wall passes with higher odds than these; where they were higher, that rival stands next. */
static void cap_pass(double most, enum plyecho_verdict rival, struct plyecho_assessment *a)
{
    if (a->verdict != PLYECHO_NO_INDICATION || a->evidence_ratio < most)
        return;
    a->evidence_ratio = most;
    a->next_best = rival;
}

/* Of walls whose back-wall level is not judged some are porous: so many sound ones to one (common
 * practice, no source), fewer where the echo is weak for a usual laminate's. */
static void doubt_level(struct plyecho_assessment *a)
{
    static const double most_odds_unassessed = 10.0, most_odds_weak = 3.0;
    const struct plyecho_known *usual = &a->usual_balance_db;
    bool weak = usual->known && usual->value < -2.0 * a->balance_u_db;
    if (!a->expectation)
        cap_pass(weak ? most_odds_weak : most_odds_unassessed, PLYECHO_ATTENUATED, a);
}

/* An echo inside at about the reportable level may as well lie on its other side. Without a coat, the front under
 * which is the highest. Of 194 simulated walls that passed from 0.8 to 1 of the level three were wrong, of 33
 * from 1 to 1.25 seven. */
static void doubt_near_level(const struct pe_evidence *e, struct plyecho_assessment *a)
{
    static const double clear = 0.8, odds_clear = 300.0, beyond = 1.05, odds_beyond = 5.0;
    if (!e->has_inner || a->coat_s.known)
        return;
    double near = (e->inner.strength / e->inner_level - clear) / (beyond - clear);
    if (near > 0.0)
        cap_pass(odds_clear * pow(odds_beyond / odds_clear, fmin(near, 1.0)),
                 PLYECHO_INNER_ECHO, a);
}

/* An attenuation far too high, or a gain on record that was not the trace's: levels say nothing, and the
 * dispersion that goes with the attenuation shifts the wall. */
static void doubt_excess(struct plyecho_assessment *a)
{
    static const double most_odds_excess = 3.0;
    if (!a->expectation || a->balance_db < PE_MOST_EXCESS_DB)
        return;
    a->wall_seen = false;
    a->evidence_ratio = fmin(a->evidence_ratio, most_odds_excess);
    if (a->verdict == PLYECHO_NO_INDICATION || a->verdict == PLYECHO_THIN)
        pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_NOT_EXPLAINED, a);
    else if (a->reason == PLYECHO_REASON_NONE)
        a->reason = PLYECHO_REASON_NOT_EXPLAINED;
}

/* Without a nominal a full shadow looks like a wall: no trace alone tells them apart, so that odds against
 * anything else say little (one in four is our choice). */
static void doubt_without_nominal(struct plyecho_assessment *a)
{
    static const double most_odds_alone = 3.0;
    if (!a->nominal_known)
        cap_pass(most_odds_alone, PLYECHO_DELAMINATION, a);
}

/* Far short of the nominal for its uncertainty, though within the tolerance, a disbonded sleeve or layer leaves such
 * a wall too (the limits are our choice). */
static void doubt_short_wall(struct plyecho_assessment *a)
{
    static const double least_short_m = 0.5e-3, least_short_u = 5.0, most_odds_short = 3.0;
    const struct plyecho_thickness *w = &a->thickness;
    double short_m = a->nominal_m - w->thickness_m;
    double u = w->thickness_u.known ? w->thickness_u.value : 0.0;
    if (a->nominal_known && a->wall_seen && short_m > least_short_m &&
        short_m > least_short_u * u)
        cap_pass(most_odds_short, PLYECHO_DELAMINATION, a);
}

/* In contact by the time of its first echo alone: a delay line about as long as the wall, or shorter, looks
 * the same. */
static void doubt_contact(const struct plyecho_assess_options *o, const struct pe_evidence *e,
                          struct plyecho_assessment *a)
{
    static const double most_odds_assumed = 2.0;
    bool stated = o->wall.mode == PLYECHO_MODE_1 || o->wall.zero_s.known;
    if (!e->picks.contact || stated || a->verdict == PLYECHO_UNREADABLE)
        return;
    a->wall_seen = false;
    a->evidence_ratio = fmin(a->evidence_ratio, most_odds_assumed);
    if (a->verdict == PLYECHO_NO_INDICATION || a->verdict == PLYECHO_THIN)
        pe_withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_NO_ZERO, a);
}

/* Whatever led to it: no wall passes that was not seen, and what is told inside a wall that stands is not sure
 * where nothing would have been seen (three to one is our choice). */
static void hold_together(struct plyecho_assessment *a)
{
    static const double most_odds_outside = 3.0;
    if ((a->verdict == PLYECHO_NO_INDICATION || a->verdict == PLYECHO_THIN) && !a->wall_seen)
        pe_withdraw(PLYECHO_UNDECIDED,
                    a->reason == PLYECHO_REASON_NONE ? PLYECHO_REASON_NOT_EXPLAINED : a->reason,
                    a);
    bool outside = a->has_indication && a->range_known && a->wall_seen &&
                   (a->depth_m < a->from_m || a->depth_m > a->to_m);
    if (outside && a->evidence_ratio > most_odds_outside)
        a->evidence_ratio = most_odds_outside;
}

/* What is undecided or unreadable was not weighed against anything. */
static void drop_odds(struct plyecho_assessment *a)
{
    if (a->verdict != PLYECHO_UNDECIDED && a->verdict != PLYECHO_UNREADABLE)
        return;
    a->next_best = a->verdict;
    a->evidence_ratio = 1.0;
}

/* Without a reference the first echo seen counts as the interface's. One that is as weak as a good coupling
 * and a coat make it (pick.c, least_front_share) would drown in this noise, and another stand for it. */
static void doubt_front(const struct plyecho_assess_options *o, const struct pe_evidence *e,
                        struct plyecho_assessment *a)
{
    static const double least_snr_db = 26.0, unsure_odds = 2.0;
    double snr_db = -INFINITY;
    for (int k = 0; k < e->picks.count; k++)
        snr_db = fmax(snr_db, e->picks.echoes[k].snr_db);
    bool sure = o->reference != NULL || e->picks.contact || snr_db > least_snr_db;
    if (sure || a->verdict == PLYECHO_UNREADABLE)
        return;
    a->front_unsure = true;
    a->evidence_ratio = fmin(a->evidence_ratio, unsure_odds);
    if (a->verdict == PLYECHO_NO_INDICATION)
        pe_withdraw(PLYECHO_UNDECIDED, a->reason, a);
}

struct plyecho_assessment plyecho_assessment_of_silence(void)
{
    struct plyecho_assessment a = {.thickness.reason = PLYECHO_REASON_NO_ECHO};
    pe_withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_NO_ECHO, &a);
    a.flagged = true;
    return a;
}

void plyecho_assess(const struct plyecho_conditioned *trace, const struct plyecho_trace *raw,
                    const struct plyecho_assess_options *given, struct plyecho_assessment *a)
{
    struct plyecho_assess_options taken = *given, *options = &taken;
    struct pe_evidence e;
    struct pe_conclusion c;
    *a = (struct plyecho_assessment){.verdict = PLYECHO_UNREADABLE};
    double other_wall_s = 0.0;
    enum pe_nominal nominal = pe_nominal_look(trace, raw, options, &e, &c, &other_wall_s);
    pe_stacks_refine(&c, trace, options, &e);
    a->thickness = e.thickness;
    pe_layers_measure(&e, trace, options, a);
    a->nominal_known = given->wall.nominal_m.known;
    a->nominal_m = given->wall.nominal_m.value;
    judge(&e, &c, options, trace, a);
    if (c.unexplained)
        doubt_unexplained(a);
    pe_nominal_doubt(nominal, &given->wall, other_wall_s, &e, a);
    doubt_front(options, &e, a);
    pe_doubt(trace, raw, options, &e, a);
    if (a->verdict != PLYECHO_UNREADABLE) {
        tell_range(&e, options, a);
        tell_indication(&e, &c, options, trace, a);
        tell_inner_echoes(&e, options->wall.velocity_m_s, a);
        tell_highest(&e, &c, a);
        tell_coat(&e, &c, a);
        pe_profile_take(trace, &e, options->wall.velocity_m_s, &a->profile);
    }
    doubt_level(a);
    doubt_near_level(&e, a);
    doubt_excess(a);
    doubt_without_nominal(a);
    doubt_short_wall(a);
    doubt_contact(options, &e, a);
    hold_together(a);
    drop_odds(a);
    if (a->verdict == PLYECHO_ATTENUATED && e.lone)
        a->wall_seen = false;
    a->flagged = a->verdict != PLYECHO_NO_INDICATION;
    pe_layers_judge(&e, trace, options, a);
}
