#include "doubts.h"

#include <math.h>

#include <plyecho/clipping.h>

#include "fourier.h"
#include "record_faults.h"
#include "usual.h"

/* The highest reflection of a wall's front from within that a delay line gives, and what a bound
 * made of it is multiplied by before an echo above it counts as a stray one. */
static const double hardest_front = 0.35, stray_margin = 1.5;

/* An echo inside must stand this many times above what strays elsewhere, and the back wall's so
 * many. */
static const double above_strays = 4.0, back_above_strays = 3.0;

/* What a step of the base line leaves in the pass band, over its height: (1 / pi) ln(high / low), for
 * the widest band that is found. */
static const double click_of_step = 0.6;

/* Without signs, overlapping echoes are told by their heights alone. */
static const double most_odds_without_sign = 10.0;

/* ---- what a verdict becomes ---- */

static void withdraw(enum plyecho_verdict verdict, enum plyecho_reason reason,
                     struct plyecho_assessment *a)
{
    a->verdict = verdict;
    a->reason = reason;
    a->next_best = verdict == PLYECHO_UNREADABLE ? PLYECHO_UNREADABLE : PLYECHO_NO_INDICATION;
    a->evidence_ratio = 1.0;
    a->wall_seen = false;
}

static void widen(double time_u_s, double velocity_m_s, struct plyecho_thickness *t)
{
    t->time_u_s = hypot(t->time_u_s, time_u_s);
    if (t->thickness_u.known)
        t->thickness_u.value = hypot(t->thickness_u.value, 0.5 * velocity_m_s * time_u_s);
}

/* Something of this height on top of the back-wall echo turns its phase by this much time. */
static double time_from_height(const struct pe_evidence *e, double centre_hz, double height)
{
    double back = e->picks.echoes[e->picks.back].amplitude;
    return height / back / (2.0 * PE_PI * centre_hz);
}

/* ---- where the wall's echoes lie ---- */

/* Time of flight to the back wall, measured or nominal: the longer. */
static double wall_time(const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    double nominal = o->nominal_m.known ? 2.0 * o->nominal_m.value / o->velocity_m_s : 0.0;
    return fmax(nominal, e->picks.back >= 0 ? e->back_delay_s : 0.0);
}

struct stretch {
    size_t from, to;
};

static struct stretch samples_between(const struct plyecho_trace *raw, double from_s,
                                      double to_s)
{
    double last = (double)raw->samples, rate = raw->sample_rate_hz;
    return (struct stretch){(size_t)fmin(last, fmax(0.0, (from_s - raw->start_s) * rate)),
                            (size_t)fmin(last, fmax(0.0, (to_s - raw->start_s) * rate))};
}

/* From a pulse length ahead of the front to one behind the back wall; never the transmission
 * pulse. */
static struct stretch of_wall(const struct plyecho_trace *raw,
                              const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    double pulse = e->picks.pulse_s;
    return samples_between(raw, fmax(e->front_s - pulse, e->picks.initial_end_s),
                           e->front_s + wall_time(o, e) + pulse);
}

/* ---- the doubts ---- */

static bool is_clipped(const struct plyecho_trace *raw, struct stretch wall)
{
    struct plyecho_clipping clipping;
    return wall.from < wall.to && plyecho_clipping_find(raw, wall.from, wall.to, &clipping);
}

/* Where nothing follows the front, only a back wall that would have been seen is lost. */
static bool would_hide_back(const struct plyecho_conditioned *t,
                            const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    static const double weak = 0.25; /* 12 dB below expectation: far too weak already */
    double expected = e->full_scale * exp(-e->loss_np_s * wall_time(o, e));
    return weak * expected < 5.0 * t->noise;
}

/* Behind the second back wall all sound has met the wall's front from within at least twice. What is
 * higher than that allows did not come from the wall. 0: none. */
static double highest_stray(const struct plyecho_conditioned *t,
                            const struct plyecho_trace *raw,
                            const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    double pulse = e->picks.pulse_s, end = t->start_s + (double)t->samples / t->sample_rate_hz;
    if (e->picks.front < 0 || !(e->full_scale > 0.0))
        return 0.0;
    if (e->front_s > 0.0) /* the delay line's own repeat */
        end = fmin(end, 2.0 * e->front_s);
    struct stretch s = samples_between(raw, e->front_s + 2.1 * wall_time(o, e) + 0.75 * pulse,
                                       end - 1.2 * pulse);
    double highest = 0.0;
    for (size_t i = s.from; i < s.to; i++) {
        double delay = plyecho_trace_time_s(raw, (double)i) - e->front_s;
        double bound = stray_margin * hardest_front * hardest_front * e->full_scale *
                       exp(-e->loss_np_s * delay);
        double height = t->envelope[i];
        if (height > fmax(bound, 6.0 * t->noise))
            highest = fmax(highest, height);
    }
    return highest;
}

/* Is what was found, or not found, within reach of something of this height anywhere? */
static bool outweighs(const struct pe_evidence *e, const struct plyecho_assessment *a,
                      double height)
{
    if (e->picks.back < 0)
        return true;
    const struct plyecho_echo *back = &e->picks.echoes[e->picks.back];
    if (back_above_strays * height > back->amplitude)
        return true;
    bool inner = a->verdict == PLYECHO_INNER_ECHO || a->verdict == PLYECHO_DELAMINATION;
    if (e->lone)
        return false;
    double delay = inner ? e->inner.delay_s : 0.5 * (e->from_s + e->to_s);
    double full = back->amplitude * exp(e->loss_np_s * (e->back_delay_s - delay));
    return inner ? above_strays * height > e->inner.strength * full : height > e->level * full;
}

static void doubt_strays(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                         const struct plyecho_wall_options *o, const struct pe_evidence *e,
                         struct plyecho_assessment *a)
{
    double height = highest_stray(t, raw, o, e);
    if (height <= 0.0)
        return;
    if (outweighs(e, a, height))
        withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_DISTURBED, a);
    else
        widen(time_from_height(e, t->centre_hz, height), o->velocity_m_s, &a->thickness);
}

static void doubt_base_line(const struct plyecho_conditioned *t,
                            const struct plyecho_trace *raw,
                            const struct plyecho_wall_options *o, const struct pe_evidence *e,
                            struct stretch wall, struct plyecho_assessment *a)
{
    struct pe_level_change change;
    pe_level_change_find(raw, wall.from, wall.to, &change);
    double height = click_of_step * fabs(change.height);
    double front = e->picks.front >= 0 ? e->picks.echoes[e->picks.front].amplitude : 0.0;
    double back = e->picks.back >= 0 ? e->picks.echoes[e->picks.back].amplitude : 0.0;
    if (height < fmax(0.05 * fmax(front, back), 2.0 * t->noise))
        return;
    if (outweighs(e, a, height))
        withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_BASE_STEP, a);
    else
        widen(time_from_height(e, t->centre_hz, height), o->velocity_m_s, &a->thickness);
}

/* ---- spacings ---- */

/* The highest echo behind the back wall and before its second repeat; -1 where none. */
static int highest_behind(const struct pe_evidence *e, double wall_s)
{
    const struct plyecho_picks *p = &e->picks;
    int best = -1;
    for (int k = p->back + 1; k < p->count; k++) {
        double behind = p->echoes[k].time_s - p->echoes[p->back].time_s;
        bool looked_at =
            behind > 0.5 * wall_s && behind < 1.6 * wall_s &&
            (e->front_s <= 0.0 || p->echoes[k].time_s < 2.0 * e->front_s - p->pulse_s);
        if (looked_at && (best < 0 || p->echoes[k].amplitude > p->echoes[best].amplitude))
            best = k;
    }
    return best;
}

/* As high as the second back-wall echo would be? */
static bool like_second(const struct pe_evidence *e, const struct plyecho_echo *echo,
                        double behind_s)
{
    const struct plyecho_echo *back = &e->picks.echoes[e->picks.back];
    double expected =
        back->amplitude * PE_USUAL_FRONT_REFLECTION * exp(-e->loss_np_s * behind_s);
    return echo->amplitude > 0.4 * expected && echo->amplitude < 2.5 * expected;
}

/* The wall's echoes follow each other at one spacing. Where the highest echo behind the back wall
 * looks like its repeat but is not where it belongs, samples are missing or doubled, or the back wall
 * is another. Returns by how much in time; 0 where nothing is amiss. */
static double spacing_off(const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    if (p->front < 0 || p->back < 0 || e->back_is_repeat)
        return 0.0;
    double wall = e->lone ? 2.0 * o->nominal_m.value / o->velocity_m_s : e->back_delay_s;
    int k = highest_behind(e, wall);
    if (k < 0)
        return 0.0;
    double behind = p->echoes[k].time_s - p->echoes[p->back].time_s;
    double off = fabs(behind - e->back_delay_s);
    if (!like_second(e, &p->echoes[k], behind))
        return 0.0;
    if (e->lone) /* a shadow repeats at its own depth, not at the nominal wall's */
        return fabs(behind - wall) < 0.1 * wall && off > 0.15 * wall ? off : 0.0;
    bool quiet = !e->has_inner || e->inner.strength < e->inner_level;
    return quiet && p->second < 0 && off > 0.25 * p->pulse_s ? off : 0.0;
}

static void doubt_spacing(const struct plyecho_wall_options *o, const struct pe_evidence *e,
                          struct plyecho_assessment *a)
{
    double off = spacing_off(o, e);
    if (off <= 0.0)
        return;
    bool lone = e->lone;
    widen(off, o->velocity_m_s, &a->thickness);
    a->thickness.reason = PLYECHO_REASON_SAMPLES_LOST;
    if (lone || a->verdict != PLYECHO_UNDECIDED)
        withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_SAMPLES_LOST, a);
}

/* ---- the sign ---- */

static void doubt_sign(bool has_sign, struct plyecho_assessment *a)
{
    if (has_sign)
        return;
    a->sign_lost = true;
    a->evidence_ratio = fmin(most_odds_without_sign, sqrt(a->evidence_ratio));
    if (a->reason == PLYECHO_REASON_NONE)
        a->reason = PLYECHO_REASON_SIGN_LOST;
}

static void doubt_reading(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                          const struct plyecho_wall_options *o, const struct pe_evidence *e,
                          struct plyecho_assessment *a)
{
    struct stretch wall = of_wall(raw, o, e);
    if (is_clipped(raw, wall))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_CLIPPED, a);
    else if (pe_held_samples(raw, wall.from, wall.to))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_SAMPLES_LOST, a);
    else if (a->verdict == PLYECHO_ATTENUATED && !a->wall_seen && would_hide_back(t, o, e))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_TOO_NOISY, a);
    if (a->verdict == PLYECHO_UNREADABLE)
        return;
    doubt_strays(t, raw, o, e, a);
    doubt_base_line(t, raw, o, e, wall, a);
    doubt_spacing(o, e, a);
    doubt_sign(t->has_sign, a);
}

void pe_doubt(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
              const struct plyecho_assess_options *o, const struct pe_evidence *e,
              struct plyecho_assessment *a)
{
    if (pe_one_sided(raw))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_ONE_SIDED, a);
    else if (a->verdict != PLYECHO_UNREADABLE)
        doubt_reading(t, raw, &o->wall, e, a);
    if (a->verdict == PLYECHO_UNREADABLE)
        a->wall_seen = false;
}
