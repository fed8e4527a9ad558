#include "evidence.h"

#include <math.h>

#include "fourier.h"
#include "usual.h"

/* Front and back echo vary against each other from place to place. */
static const double level_jitter_db = 1.0;

/* Relative standard uncertainty of a stated attenuation, and of the usual one. */
static const double stated_loss_u = 0.1, usual_loss_u = 0.5;

/* Above this share of the reference's echo the probe's face is dry. */
static const double dry_reflection = 0.6;

/* What draws the peak of an inner echo's envelope aside, in pulse lengths (measured on the simulated
 * walls of tests/reference): as much at any strength, noise, the laminate's own echoes. */
static const double drawn_always = 0.015, drawn_by_noise = 0.4, drawn_by_plies = 0.03;

/* Share of the reportable level that the laminate's own echoes have (standard deviation). */
static const double own_echoes = 0.4;

static const double noise_levels = 3.5; /* standard deviations of noise that come on top */

static double envelope_at(const struct plyecho_conditioned *t, double time_s)
{
    double x = (time_s - t->start_s) * t->sample_rate_hz;
    if (x < 0.0 || x > (double)(t->samples - 1))
        return 0.0;
    return t->envelope[(size_t)lround(x)];
}

static void take_loss(const struct plyecho_conditioned *t, const struct plyecho_wall_options *o,
                      struct pe_evidence *e)
{
    double per_m_hz = o->attenuation.known ? o->attenuation.value : PE_USUAL_LOSS;
    e->loss_np_s = per_m_hz * t->centre_hz * o->velocity_m_s;
    e->loss_u_np_s = e->loss_np_s * (o->attenuation.known ? stated_loss_u : usual_loss_u);
    e->expectation = o->attenuation.known;
}

/* Factor that brings the reference's amplitude to the trace's scale; 0 where there is none. */
static double common_scale(const struct plyecho_trace *raw, const struct plyecho_reference *r)
{
    struct plyecho_known gain;
    double factor = 1.0;
    bool both_full = raw->full_scale > 0.0 && r->full_scale > 0.0;
    if (plyecho_labels_known(raw->labels, "gain_db", raw->channel, &gain, NULL) != PLYECHO_OK)
        return 0.0;
    if (both_full)
        factor = raw->full_scale / r->full_scale;
    if (gain.known && r->gain_db.known)
        return factor * pow(10.0, (gain.value - r->gain_db.value) / 20.0);
    return both_full && gain.known == r->gain_db.known ? factor : 0.0;
}

/* Interface echo where nothing is stated: the usual plastic delay line's, unless the second back-wall
 * echo shows that the front reflects far more from within, as it does behind a water path. A lossy
 * wall only makes that echo weaker, so it cannot look like one. */
static double reflection_from_repeats(const struct pe_evidence *e)
{
    static const double water_path = 0.35;
    const struct plyecho_picks *p = &e->picks;
    if (p->back < 0 || p->second < 0)
        return PE_USUAL_FRONT_REFLECTION;
    double transit = p->echoes[p->second].time_s - p->echoes[p->back].time_s;
    double ratio = p->echoes[p->second].amplitude / p->echoes[p->back].amplitude;
    double reflection = ratio * exp(e->loss_np_s * transit);
    return reflection > water_path && reflection < 0.9 ? reflection : PE_USUAL_FRONT_REFLECTION;
}

/* The interface echo against the reference: reflection, coupling, and the full scale that
 * follows.
 */
static void take_front(const struct plyecho_trace *raw, const struct plyecho_reference *r,
                       const struct plyecho_echo *front, bool has_sign, struct pe_evidence *e)
{
    double reflection = e->usual_front = reflection_from_repeats(e);
    e->full_scale = front->amplitude * (1.0 - reflection * reflection) / reflection;
    e->full_scale_u_db = hypot(PE_USUAL_FRONT_U_DB, level_jitter_db);
    /* how much of the height a rectifier left is not known */
    double scale = r != NULL && has_sign ? common_scale(raw, r) : 0.0;
    e->reference_scale = scale;
    if (scale <= 0.0)
        return;
    double full = r->amplitude * scale / fabs(r->reflection);
    double turn = cos(front->phase_rad - r->phase_rad) * (r->reflection < 0.0 ? -1.0 : 1.0);
    reflection = front->amplitude / full;
    bool as_air = turn < 0.0;
    e->front_reflection = (struct plyecho_known){true, as_air ? -reflection : reflection};
    if (reflection > dry_reflection) {
        /* no laminate is so much harder than a delay line: the polarity may be inverted */
        e->coupling = as_air ? PE_NOT_COUPLED : PE_COUPLING_UNKNOWN;
        return;
    }
    e->coupling = PE_COUPLED;
    reflection = fmin(reflection, 0.9);
    e->full_scale = full * (1.0 - reflection * reflection);
    e->full_scale_u_db = level_jitter_db;
}

/* Amplitude of a full reflector at a delay, from the scale at the front. */
static double full_at(const struct pe_evidence *e, double scale, double delay_s)
{
    return scale * exp(-e->loss_np_s * delay_s);
}

static void take_balance(struct pe_evidence *e)
{
    const struct plyecho_echo *back = &e->picks.echoes[e->picks.back];
    double expected = full_at(e, e->full_scale, e->back_delay_s);
    e->balance_db = pe_decibel(back->amplitude / expected);
    double loss_u_db = e->loss_u_np_s * e->back_delay_s * PE_DB_PER_NP;
    e->balance_u_db = sqrt(e->full_scale_u_db * e->full_scale_u_db + loss_u_db * loss_u_db +
                           level_jitter_db * level_jitter_db);
}

/* Where attenuation is not stated, what the back wall lacks against the usual one is put down to
 * attenuation, as far as its uncertainty is the larger one (weighted mean). */
static void learn_loss(struct pe_evidence *e)
{
    double path_db = PE_DB_PER_NP * e->back_delay_s; /* dB per Np/s */
    double own = e->loss_u_np_s * path_db;
    double share = own * own / (e->balance_u_db * e->balance_u_db);
    e->loss_np_s = fmax(0.0, e->loss_np_s - share * e->balance_db / path_db);
    e->loss_u_np_s *= sqrt(1.0 - share);
}

/* Level at a delay from which an echo is reported, in units of strength. */
static double level_at(const struct plyecho_conditioned *t, const struct pe_evidence *e,
                       double delay_s)
{
    double noise = t->noise / full_at(e, e->scale, delay_s);
    return hypot(pe_level_per_hz * t->centre_hz, noise_levels * noise);
}

/* What is left of the front echo at a delay: 20 dB down at 0.8 of the pulse length behind its
 * peak, the allowance for probes that ring down (a Gaussian needs 0.5). */
static double front_tail(const struct pe_evidence *e, double delay_s)
{
    if (e->picks.front < 0)
        return 0.0;
    double front = e->picks.echoes[e->picks.front].amplitude;
    return front * pow(10.0, -delay_s / (0.8 * e->picks.pulse_s));
}

/* In contact: the delay at which the transmission pulse has fallen to half of the reportable level,
 * looked for back from the first echo. */
static double initial_pulse_gone(const struct plyecho_conditioned *t,
                                 const struct pe_evidence *e)
{
    double step = 1.0 / t->sample_rate_hz;
    double delay = fmax(0.0, e->picks.initial_end_s - e->front_s);
    while (delay > 0.0 && 2.0 * envelope_at(t, e->front_s + delay) <
                              level_at(t, e, delay) * full_at(e, e->scale, delay))
        delay -= step;
    return fmax(delay, 0.0);
}

static void take_range(const struct plyecho_conditioned *t, double end_s, struct pe_evidence *e)
{
    double step = 1.0 / t->sample_rate_hz;
    double from = e->picks.contact ? initial_pulse_gone(t, e) : 0.5 * e->picks.pulse_s;
    while (from < end_s &&
           2.0 * front_tail(e, from) > level_at(t, e, from) * full_at(e, e->scale, from))
        from += step;
    e->from_s = from;
    e->to_s = fmax(from, end_s - 0.6 * e->picks.pulse_s);
    e->level = level_at(t, e, 0.5 * (e->from_s + e->to_s));
}

/* Phase of an echo against what a gap at its depth would show, from the back wall's: the
 * carrier turns by 2/pi of the loss between the two, since group and phase delay part with the
 * loss. */
static double phase_against_gap(const struct pe_evidence *e, const struct plyecho_echo *echo,
                                const struct plyecho_echo *like_gap, double apart_s)
{
    double turn = 2.0 / PE_PI * e->loss_np_s * apart_s;
    return remainder(echo->phase_rad - like_gap->phase_rad - turn, 2.0 * PE_PI);
}

/* A gap's repeat: a peak at twice the delay, weaker by the front's reflection from within and the
 * loss. The flank of another echo is none. */
static bool repeats(const struct plyecho_conditioned *t, const struct pe_evidence *e,
                    double delay_s, double amplitude)
{
    double at = e->front_s + 2.0 * delay_s, reach = 0.25 * e->picks.pulse_s;
    double expected = amplitude * PE_USUAL_FRONT_REFLECTION * exp(-e->loss_np_s * delay_s);
    double highest = 0.0, flank = fmax(envelope_at(t, at - reach), envelope_at(t, at + reach));
    for (double s = at - reach; s <= at + reach; s += 1.0 / t->sample_rate_hz)
        highest = fmax(highest, envelope_at(t, s));
    return highest > flank && highest > 5.0 * t->noise && highest > 0.5 * expected &&
           highest < 2.5 * expected;
}

/* Keep a reportable echo as an interface. Its envelope's peak is drawn aside by noise and by the
 * laminate's own echoes; the phase lags behind the envelope by the dispersion that loss brings. */
static void add_interface(const struct plyecho_conditioned *t, const struct pe_inner *inner,
                          double level, bool has_sign, struct pe_evidence *e)
{
    if (inner->strength < level)
        return;
    double turn = cos(inner->phase_rad);
    double own = own_echoes * level;
    double aside =
        hypot(drawn_always,
              hypot(drawn_by_noise * inner->noise, drawn_by_plies * own) / inner->strength);
    double lag = e->loss_np_s / (PE_PI * PE_PI * t->centre_hz);
    const struct pe_interface one = {
        .delay_s = inner->delay_s * (1.0 + lag),
        .u_s = aside * e->picks.pulse_s,
        .strength = inner->strength,
        .strength_u = hypot(inner->noise, own),
        .sign = !has_sign || fabs(turn) < 0.5 ? 0
                : turn > 0.0                  ? -1
                                              : 1,
    };
    pe_interface_add(e->interfaces, &e->interface_count, &one);
}

/* Keep an echo inside the wall if it is the strongest so far, against the level at its depth. */
static void consider(const struct plyecho_conditioned *t, const struct plyecho_echo *back,
                     const struct plyecho_echo *echo, struct pe_evidence *e)
{
    double delay = echo->time_s - e->front_s;
    if (echo->amplitude < 2.0 * front_tail(e, delay))
        return;
    double full = full_at(e, e->scale, delay);
    double level = level_at(t, e, delay);
    struct pe_inner inner = {
        .delay_s = delay,
        .strength = echo->amplitude / full,
        .noise = t->noise / full,
        .phase_rad =
            back != NULL ? phase_against_gap(e, echo, back, e->back_delay_s - delay) : 0.0,
    };
    add_interface(t, &inner, level, back != NULL, e);
    if (e->has_inner && inner.strength / level <= e->inner.strength / e->inner_level)
        return;
    inner.repeats = repeats(t, e, delay, echo->amplitude);
    e->has_inner = true;
    e->inner_level = level;
    e->inner = inner;
}

static void consider_all(const struct plyecho_conditioned *t, const struct plyecho_echo *back,
                         double from_s, double to_s, struct pe_evidence *e)
{
    struct plyecho_echo found[PLYECHO_PICKED_ECHOES];
    struct plyecho_echo_options options = plyecho_echo_defaults();
    options.least_snr_db = 10.0;
    options.least_level_db = -60.0;
    options.from_s = e->front_s + from_s;
    options.to_s = e->front_s + to_s;
    int count = 0;
    if (to_s > from_s)
        count = (int)plyecho_echoes_find(t, &options, found, PLYECHO_PICKED_ECHOES);
    for (int k = 0; k < count; k++)
        consider(t, back, &found[k], e);
}

/* In contact, what a probe's face may reflect from within the wall. */
static const double hardest_face = 0.9;

/* Is the echo taken for the back wall's only the repeat of a strong one inside? */
static bool is_repeat(const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    double back = p->echoes[p->back].amplitude;
    for (int k = 0; k < p->count; k++) {
        double delay = p->echoes[k].time_s - e->front_s;
        if (delay < 0.5 * p->pulse_s || k == p->back)
            continue;
        double order = e->back_delay_s / delay, near = round(order);
        if (near < 2.0 || near > 4.0 || fabs(order - near) * delay > 0.35 * p->pulse_s)
            continue;
        double again = p->contact ? hardest_face : 1.9 * PE_USUAL_FRONT_REFLECTION;
        double most =
            p->echoes[k].amplitude * pow(again * exp(-e->loss_np_s * delay), near - 1.0);
        double strength = p->echoes[k].amplitude / full_at(e, e->full_scale, delay);
        if (back < most && strength > 0.4)
            return true;
    }
    return false;
}

static bool within_tolerance(const struct pe_evidence *e, const struct plyecho_wall_options *o)
{
    double u = o->velocity_u.known ? o->velocity_u.value / o->velocity_m_s : 0.0;
    double wall = 0.5 * o->velocity_m_s * e->back_delay_s;
    return fabs(wall - o->nominal_m.value) <= o->tolerance_m + 2.0 * u * o->nominal_m.value;
}

/* Where the nominal back wall would be: does the record reach it, and does the delay line's repeat
 * (time 0 is the transmission pulse) lie in front of it? */
static void check_record(const struct plyecho_conditioned *t,
                         const struct plyecho_wall_options *o, struct pe_evidence *e)
{
    if (!o->nominal_m.known || e->picks.count == 0)
        return;
    double expected = 2.0 * o->nominal_m.value / o->velocity_m_s;
    double end_s = t->start_s + (double)t->samples / t->sample_rate_hz;
    bool within = e->picks.back >= 0 &&
                  e->picks.echoes[e->picks.back].time_s - e->front_s > 0.85 * expected;
    e->record_short = !within && end_s < e->front_s + expected + 0.5 * e->picks.pulse_s;
    e->line_repeats =
        !e->picks.contact && e->front_s > 0.0 && e->front_s < expected + 0.5 * e->picks.pulse_s;
}

void pe_evidence_take(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                      const struct plyecho_assess_options *options, struct pe_evidence *e)
{
    const struct plyecho_wall_options *o = &options->wall;
    *e = (struct pe_evidence){.coupling = PE_COUPLING_UNKNOWN};
    plyecho_wall_pick(t, o, &e->picks);
    plyecho_wall_measure(t, raw, o, &e->picks, &e->thickness);
    take_loss(t, o, e);
    const struct plyecho_picks *p = &e->picks;
    e->front_s = p->front >= 0     ? p->echoes[p->front].time_s
                 : o->zero_s.known ? o->zero_s.value
                                   : 0.0;
    if (p->front >= 0)
        take_front(raw, options->reference, &p->echoes[p->front], t->has_sign, e);
    check_record(t, o, e);
    e->scale = e->full_scale;
    if (p->back < 0)
        return;
    const struct plyecho_echo *back = &p->echoes[p->back];
    e->back_delay_s = back->time_s - e->front_s;
    if (p->front < 0) { /* contact: the back wall is the only scale there is */
        e->full_scale = back->amplitude * exp(e->loss_np_s * e->back_delay_s);
        e->expectation = false;
    }
    e->lone = o->nominal_m.known && !within_tolerance(e, o);
    e->back_is_repeat = !e->lone && is_repeat(e);
    take_balance(e);
    if (!o->attenuation.known)
        learn_loss(e);
    bool back_stands = !e->lone && !e->back_is_repeat;
    e->scale =
        back_stands ? back->amplitude * exp(e->loss_np_s * e->back_delay_s) : e->full_scale;
    take_range(t, e->back_delay_s, e);
    consider_all(t, t->has_sign ? back : NULL, 0.3 * p->pulse_s, e->to_s, e);
    e->indication_s = e->lone ? e->back_delay_s : e->inner.delay_s;
}
