#include "doubts.h"

#include <math.h>

#include <plyecho/clipping.h>

#include "distortion.h"
#include "extremes.h"
#include "fourier.h"
#include "outcome.h"
#include "record_faults.h"
#include "usual.h"

/* The highest reflection of a wall's front from within that a plastic delay line gives (common
 * practice, no source); where the second back-wall echo shows a higher one, as in water, that and a
 * fifth counts. */
static const double hardest_front = 0.32, more_than_shown = 1.2;

/* Ahead of the front nothing is higher than this share of it: what lies lower passes for what the
 * transmission pulse leaves. */
static const double most_ahead = 0.1;

/* A stronger echo inside leaves so many paths to and fro that no spacing is told from another. */
static const double most_inner = 0.25;

/* An echo inside must stand this many times above what strays elsewhere, and the back wall's so
 * many. */
static const double above_strays = 4.0, back_above_strays = 3.0;

/* What a step of the base line leaves in the pass band, over its height: (1 / pi) ln(high / low), for
 * the widest band that is found. */
static const double click_of_step = 0.6;

/* Of the reference's centre frequency: echoes that lie further off are not the pulse's. */
static const double other_pulse = 0.3;

/* Without signs, overlapping echoes are told by their heights alone. */
static const double most_odds_without_sign = 10.0;

/* Where the delay line's repeat does not bear out what the wall's echoes show. */
static const double most_odds_line_disagrees = 3.0;

/* ---- what a verdict becomes ---- */

static void withdraw(enum plyecho_verdict verdict, enum plyecho_reason reason,
                     struct plyecho_assessment *a)
{
    pe_withdraw(verdict, reason, a);
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

/* Reflection of the front from within, at the most. */
static double most_front_reflection(const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    if (p->back < 0 || p->second < 0)
        return hardest_front;
    double transit = p->echoes[p->second].time_s - p->echoes[p->back].time_s;
    double shown = p->echoes[p->second].amplitude / p->echoes[p->back].amplitude;
    return fmin(0.9,
                fmax(hardest_front, more_than_shown * shown * exp(e->loss_np_s * transit)));
}

/* Behind the second back wall all sound has met the wall's front from within, and again the front or an
 * echo inside. What is higher than that allows did not come from the wall. 0: none. */
static double highest_behind_wall(const struct plyecho_conditioned *t,
                                  const struct plyecho_trace *raw,
                                  const struct plyecho_wall_options *o,
                                  const struct pe_evidence *e)
{
    double pulse = e->picks.pulse_s, end = t->start_s + (double)t->samples / t->sample_rate_hz;
    double reflection = most_front_reflection(e), highest = 0.0;
    double again = reflection + (e->has_inner ? fmin(1.0, e->inner.strength) : 0.0);
    if (e->front_s > 0.0) /* the delay line's own repeat */
        end = fmin(end, 2.0 * e->front_s);
    struct stretch s = samples_between(raw, e->front_s + 2.1 * wall_time(o, e) + 0.75 * pulse,
                                       end - 1.2 * pulse);
    for (size_t i = s.from; i < s.to; i++) {
        double height = t->envelope[i];
        if (height <= highest || height <= 6.0 * t->noise)
            continue;
        double delay = plyecho_trace_time_s(raw, (double)i) - e->front_s;
        double bound = reflection * again * e->full_scale * exp(-e->loss_np_s * delay);
        if (height > bound)
            highest = height;
    }
    return highest;
}

static double highest_between(const struct plyecho_conditioned *t,
                              const struct plyecho_trace *raw, double from_s, double to_s)
{
    struct stretch s = samples_between(raw, from_s, to_s);
    return s.from < s.to ? (double)pe_highest(t->envelope + s.from, s.to - s.from) : 0.0;
}

/* Ahead of the front an echo that rises out of quiet is a stray one; what the transmission pulse
 * leaves behind falls. 0: none. */
static double highest_ahead(const struct plyecho_conditioned *t,
                            const struct plyecho_trace *raw, const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    double least = fmax(most_ahead * p->echoes[p->front].amplitude, 6.0 * t->noise),
           highest = 0.0;
    for (int k = 0; k < p->front; k++) {
        double at = p->echoes[k].time_s, height = p->echoes[k].amplitude;
        if (e->front_s - at < 1.5 * p->pulse_s || height < least)
            continue;
        double before = highest_between(t, raw, at - 2.5 * p->pulse_s, at - 1.2 * p->pulse_s);
        if (before < height / 3.0)
            highest = fmax(highest, height);
    }
    return highest;
}

/* Echoes of one height at one spacing come from a clock: sound is weaker at each turn. 0: none. */
static double height_of_train(const struct plyecho_picks *p)
{
    enum { LEAST = 5 };
    static const double alike = 0.8, in_time = 0.25, least_apart = 2.0;
    double highest = 0.0;
    for (int i = 0; i < p->count; i++)
        for (int j = i + 1; j < p->count; j++) {
            double height = p->echoes[i].amplitude;
            double apart = p->echoes[j].time_s - p->echoes[i].time_s;
            double due = p->echoes[i].time_s + apart;
            int count = 1;
            for (int k = j; k < p->count && apart > least_apart * p->pulse_s; k++) {
                double off = p->echoes[k].time_s - due, h = p->echoes[k].amplitude;
                if (fabs(off) > in_time * p->pulse_s ||
                    fmin(h, height) < alike * fmax(h, height))
                    continue;
                count++;
                due = p->echoes[k].time_s + apart;
            }
            if (count >= LEAST)
                highest = fmax(highest, height);
        }
    return highest;
}

static double highest_stray(const struct plyecho_conditioned *t,
                            const struct plyecho_trace *raw,
                            const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    double train = height_of_train(&e->picks);
    if (e->picks.front < 0 || !(e->full_scale > 0.0))
        return train;
    return fmax(train, fmax(highest_behind_wall(t, raw, o, e), highest_ahead(t, raw, e)));
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

/* Can an echo so far behind the back wall come of sound that ran to and fro between front, back and
 * an echo inside? */
static bool is_of_inner(const struct pe_evidence *e, double behind_s)
{
    static const double heard =
        0.1; /* below this share of the back wall's, paths over it are lower
                                        than a second back-wall echo */
    const struct plyecho_picks *p = &e->picks;
    double wall = e->back_delay_s, reach = 0.4 * p->pulse_s;
    for (int k = 0; k < p->back; k++) {
        double d = p->echoes[k].time_s - e->front_s;
        if (d < 0.3 * p->pulse_s ||
            p->echoes[k].amplitude < heard * p->echoes[p->back].amplitude)
            continue;
        const double paths[] = {d,
                                2.0 * d,
                                wall - d,
                                2.0 * (wall - d),
                                2.0 * d - wall,
                                3.0 * d - wall,
                                2.0 * wall - d};
        for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
            if (fabs(paths[i] - behind_s) < reach)
                return true;
    }
    return false;
}

/* As high as the second back-wall echo would be? A wall that took more than stated from the first takes
 * it again. */
static bool like_second(const struct pe_evidence *e, const struct plyecho_echo *echo,
                        double behind_s)
{
    const struct plyecho_echo *back = &e->picks.echoes[e->picks.back];
    double most = back->amplitude * PE_USUAL_FRONT_REFLECTION;
    double stated = exp(-e->loss_np_s * behind_s), shown = back->amplitude / e->full_scale;
    return echo->amplitude > 0.4 * most * fmin(stated, shown) &&
           echo->amplitude < 2.5 * most * stated;
}

/* The back wall's own repeat, where it was found; else the highest echo behind the back wall, about a
 * wall further, that can be nothing else. -1: none. */
static int find_second(const struct pe_evidence *e, double wall_s)
{
    const struct plyecho_picks *p = &e->picks;
    if (p->second >= 0 && !e->lone)
        return p->second;
    int best = -1;
    for (int k = p->back + 1; k < p->count; k++) {
        double behind = p->echoes[k].time_s - p->echoes[p->back].time_s;
        bool of_line = e->front_s > 0.0 && p->echoes[k].time_s > 2.0 * e->front_s - p->pulse_s;
        bool near = behind > 0.5 * wall_s && behind < 1.6 * wall_s;
        if (near && !of_line && like_second(e, &p->echoes[k], behind) &&
            !is_of_inner(e, behind) &&
            (best < 0 || p->echoes[k].amplitude > p->echoes[best].amplitude))
            best = k;
    }
    return best;
}

/* The wall's echoes follow each other at one spacing. Where the back wall's repeat is not where it
 * belongs, samples are missing or doubled, or the back wall is another. Returns by how much in time; 0
 * where nothing is amiss. */
static double spacing_off(const struct plyecho_wall_options *o, const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    bool strong_inner = e->has_inner && e->inner.strength > most_inner;
    if (p->front < 0 || p->back < 0 || e->back_is_repeat || strong_inner)
        return 0.0;
    double wall = e->lone ? 2.0 * o->nominal_m.value / o->velocity_m_s : e->back_delay_s;
    int k = find_second(e, wall);
    if (k < 0)
        return 0.0;
    double behind = p->echoes[k].time_s - p->echoes[p->back].time_s;
    double off = fabs(behind - e->back_delay_s);
    if (e->lone) { /* a shadow repeats at its own depth, not at the nominal wall's */
        double from_repeat = fabs(remainder(behind, e->back_delay_s));
        return fabs(behind - wall) < 0.15 * wall && from_repeat > 0.5 * p->pulse_s ? off : 0.0;
    }
    return off > 0.2 * p->pulse_s ? off : 0.0;
}

static void doubt_spacing(const struct plyecho_wall_options *o, const struct pe_evidence *e,
                          struct plyecho_assessment *a)
{
    double off = e->explained ? 0.0 : spacing_off(o, e);
    if (e->lost_s != 0.0)
        off = fabs(e->lost_s);
    if (off <= 0.0)
        return;
    bool lone = e->lone;
    widen(off, o->velocity_m_s, &a->thickness);
    a->thickness.reason = PLYECHO_REASON_SAMPLES_LOST;
    if (lone || a->verdict != PLYECHO_UNDECIDED)
        withdraw(PLYECHO_UNDECIDED, PLYECHO_REASON_SAMPLES_LOST, a);
}

/* ---- the delay line's repeat ---- */

/* Which of the two is amiss is not known: the wall's time may be off by a cycle. */
static void doubt_line(const struct plyecho_wall_options *o, const struct pe_evidence *e,
                       double centre_hz, struct plyecho_assessment *a)
{
    if (!e->line.disagrees)
        return;
    a->evidence_ratio = fmin(a->evidence_ratio, most_odds_line_disagrees);
    widen(1.0 / centre_hz, o->velocity_m_s, &a->thickness);
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

/* ---- all of them ---- */

static void doubt_reading(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                          const struct plyecho_assess_options *options,
                          const struct pe_evidence *e, struct plyecho_assessment *a)
{
    const struct plyecho_wall_options *o = &options->wall;
    struct stretch wall = of_wall(raw, o, e);
    if (options->reference != NULL &&
        !plyecho_reference_fits(t, raw, options->reference, other_pulse))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_DISTURBED, a);
    else if (is_clipped(raw, wall))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_CLIPPED, a);
    else if (pe_distorted(t, raw, options->reference, e))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_DISTORTED, a);
    else if (pe_held_samples(raw, wall.from, wall.to))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_SAMPLES_LOST, a);
    else if (a->verdict == PLYECHO_ATTENUATED && !a->wall_seen && would_hide_back(t, o, e))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_TOO_NOISY, a);
    if (a->verdict == PLYECHO_UNREADABLE)
        return;
    doubt_strays(t, raw, o, e, a);
    doubt_base_line(t, raw, o, e, wall, a);
    doubt_spacing(o, e, a);
    doubt_line(o, e, t->centre_hz, a);
    doubt_sign(t->has_sign, a);
}

void pe_doubt(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
              const struct plyecho_assess_options *o, const struct pe_evidence *e,
              struct plyecho_assessment *a)
{
    if (pe_one_sided(raw))
        withdraw(PLYECHO_UNREADABLE, PLYECHO_REASON_ONE_SIDED, a);
    else if (a->verdict != PLYECHO_UNREADABLE)
        doubt_reading(t, raw, o, e, a);
    if (a->verdict == PLYECHO_UNREADABLE)
        a->wall_seen = false;
}
