/* Which echo is which. */
#include <plyecho/wall.h>

#include <math.h>

#include "extremes.h"
#include "usual.h"

/* An echo this much below the highest is no interface echo: a delay line of plastic on a carbon
 * laminate reflects 0.15 to 0.3 (common practice, no source), even against a back wall without
 * loss. */
static const double least_front_share = 0.12;

/* An echo in the back wall's place this many times weaker than one before it is not the wall's: a
 * gap over more than five sixths of the beam casts a full shadow. */
static const double most_shadow = 6.0;

/* Delay lines and water paths take longer there and back: 7 mm of plastic (common practice, no
 * source). Beyond it, an echo and its repeat are the line's, not a thick wall's. */
static const double shortest_delay_s = 5e-6;

/* A back wall far weaker than expected (12 dB) proves no wall, and one that is so many times weaker than
 * another is not the wall's. */
static const double least_back = 0.25, far_higher = 3.0;

/* The delay line ends where the reference says, give or take. */
static const double same_front_s = 0.15e-6;

/* The wall's highest echo comes no later than this many nominal walls behind its front. */
static const double most_walls = 1.35;

static int highest(const struct plyecho_picks *p, double from_s, double to_s)
{
    int best = -1;
    for (int k = 0; k < p->count; k++)
        if (p->echoes[k].time_s >= from_s && p->echoes[k].time_s <= to_s &&
            (best < 0 || p->echoes[k].amplitude > p->echoes[best].amplitude))
            best = k;
    return best;
}

static double expected_time(const struct plyecho_wall_options *o)
{
    return 2.0 * o->nominal_m.value / o->velocity_m_s;
}

static bool is_expected_front(const struct plyecho_wall_options *o,
                              const struct plyecho_echo *echo)
{
    return o->front_s.known && fabs(echo->time_s - o->front_s.value) < same_front_s;
}

/* Half width of the window about the expected time: the tolerance and twice the velocity's
 * share.
 */
static double expected_reach(const struct plyecho_wall_options *o)
{
    double u = o->velocity_u.known ? o->velocity_u.value / o->velocity_m_s : 0.0;
    return expected_time(o) * (o->tolerance_m / o->nominal_m.value + 2.0 * u);
}

/* Does an echo rise out of what was there a pulse length or two earlier? What a transmission pulse
 * leaves behind falls steadily. */
static bool stands_out(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                       int k)
{
    double length = p->pulse_s * t->sample_rate_hz, at = (double)p->echoes[k].sample;
    size_t from = (size_t)fmax(0.0, at - 2.5 * length),
           to = (size_t)fmax(0.0, at - 1.2 * length);
    float before = from < to ? pe_highest(t->envelope + from, to - from) : 0.0f;
    return before < 4.5 * t->noise || p->echoes[k].amplitude > 3.0 * before;
}

/* What the trace holds where the reference says that the delay line ends: an interface echo may be too
 * weak to be picked, under a coat that matches the line. */
static bool expected_front(const struct plyecho_conditioned *t,
                           const struct plyecho_wall_options *o, struct plyecho_echo *echo)
{
    if (!o->front_s.known)
        return false;
    double x = (o->front_s.value - t->start_s) * t->sample_rate_hz;
    if (x < 0.0 || x > (double)(t->samples - 1))
        return false;
    size_t at = (size_t)lround(x);
    double height = t->envelope[at];
    *echo = (struct plyecho_echo){
        .time_s = o->front_s.value,
        .amplitude = height,
        .phase_rad = atan2(t->quadrature[at], t->in_phase[at]),
        .polarity = t->in_phase[at] < 0.0f ? -1 : 1,
        .snr_db = 20.0 * log10(fmax(height, 1e-30) / fmax(t->noise, 1e-30)),
        .sample = at,
    };
    return true;
}

/* The reference is believed against a later echo no further off than the wall is deep: that may be the
 * back wall's. */
static int use_expected_front(const struct plyecho_conditioned *t,
                              const struct plyecho_wall_options *o, int first,
                              struct plyecho_picks *p)
{
    struct plyecho_echo echo;
    if (!expected_front(t, o, &echo))
        return first;
    double late = p->echoes[first].time_s - echo.time_s;
    double most = o->nominal_m.known ? most_walls * expected_time(o) : PE_THICKEST_COAT_S;
    if (late < same_front_s || late > most)
        return first;
    for (int k = 0; k < first; k++)
        if (is_expected_front(o, &p->echoes[k]))
            return k;
    if (late < PE_THICKEST_COAT_S || p->count == PLYECHO_PICKED_ECHOES)
        return first;
    int at = first;
    while (at > 0 && p->echoes[at - 1].time_s > echo.time_s)
        at--;
    for (int k = p->count++; k > at; k--)
        p->echoes[k] = p->echoes[k - 1];
    p->echoes[at] = echo;
    return at;
}

/* The first echo that may be the wall's front: high enough, rising out of quiet, and with a nominal
 * not further ahead of the highest than the wall is deep. */
static int first_candidate(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                           const struct plyecho_wall_options *o, int top)
{
    double from = -INFINITY;
    if (o->nominal_m.known)
        from = p->echoes[top].time_s - most_walls * expected_time(o);
    for (int k = 0; k < top; k++)
        if (p->echoes[k].time_s >= from && stands_out(t, p, k) &&
            p->echoes[k].amplitude >= least_front_share * p->echoes[top].amplitude)
            return k;
    return top;
}

/* The front, not its forerunner: a pulse with a sudden onset rings a little ahead of itself in a
 * zero-phase filter. A later echo is the front if it is twice as high within half a pulse, or seven
 * times within a whole one; a gap close behind the front is five times as high at the most. */
static int main_of_cluster(const struct plyecho_picks *p, int first)
{
    int best = first;
    for (int k = first + 1; k < p->count; k++) {
        double apart = (p->echoes[k].time_s - p->echoes[first].time_s) / p->pulse_s;
        double higher = p->echoes[k].amplitude / p->echoes[best].amplitude;
        if ((apart < 0.5 && higher > 2.0) || (apart < 1.0 && higher > 7.0))
            best = k;
    }
    return best;
}

/* Without a nominal: in contact the wall repeats at twice the first echo's time, and nothing as
 * high as that repeat comes before it; behind a delay line the wall's echoes do. */
static bool looks_like_contact(const struct plyecho_picks *p, int first, double zero_s)
{
    double t = p->echoes[first].time_s - zero_s;
    double slack = 0.05 * t;
    int repeat = highest(p, zero_s + 2.0 * t - slack, zero_s + 2.0 * t + slack);
    int between = highest(p, zero_s + t + p->pulse_s, zero_s + 2.0 * t - slack);
    return repeat >= 0 &&
           (between < 0 || p->echoes[between].amplitude < 0.5 * p->echoes[repeat].amplitude);
}

static bool is_contact(const struct plyecho_picks *p, const struct plyecho_wall_options *o,
                       int first, int top)
{
    double zero = o->zero_s.known ? o->zero_s.value : 0.0;
    if (o->mode == PLYECHO_MODE_1)
        return true;
    if (o->mode == PLYECHO_MODE_2 || o->front_s.known)
        return false;
    if (o->nominal_m.known)
        return p->echoes[top].time_s - zero <= most_walls * expected_time(o);
    return p->echoes[first].time_s - zero < shortest_delay_s &&
           looks_like_contact(p, first, zero);
}

/* An echo's amplitude, with what has been lost on the way from an earlier one taken back. */
static double without_loss(const struct plyecho_wall_options *o, double centre_hz,
                           const struct plyecho_echo *later, const struct plyecho_echo *earlier)
{
    double per_m = o->attenuation.known ? o->attenuation.value : PE_USUAL_LOSS;
    double loss = per_m * centre_hz * o->velocity_m_s * (later->time_s - earlier->time_s);
    return later->amplitude * exp(loss);
}

static bool far_weaker(const struct plyecho_wall_options *o, double centre_hz,
                       const struct plyecho_echo *later, const struct plyecho_echo *earlier)
{
    return without_loss(o, centre_hz, later, earlier) < earlier->amplitude / most_shadow;
}

static double delay_of(const struct plyecho_picks *p, int k, double origin)
{
    return p->echoes[k].time_s - origin;
}

/* Did sound run to and fro to two echoes, each higher than this one, one after the other? */
static bool is_sum(const struct plyecho_picks *p, int at, double origin, double reach)
{
    double delay = delay_of(p, at, origin), height = p->echoes[at].amplitude;
    for (int i = p->back; i < at; i++) {
        if (p->echoes[i].amplitude < height)
            continue;
        for (int k = i; k < at; k++)
            if (p->echoes[k].amplitude > height &&
                fabs(delay - delay_of(p, i, origin) - delay_of(p, k, origin)) < reach)
                return true;
    }
    return false;
}

/* The share of the highest echo that the front sends back in again, at the most: a front of
 * reflection r lets 1 - r^2 through both ways, so an echo is not above (1 - r^2)/r of its own. A coat may hide
 * the wall's front behind a lower one. */
static double most_sent_back(const struct plyecho_picks *p)
{
    static const double usual = 0.32, margin = 1.5;
    if (p->front < 0)
        return 1.0;
    double h = p->echoes[p->back].amplitude / p->echoes[p->front].amplitude;
    return fmin(1.0, margin * fmax(usual, 0.5 * (sqrt(h * h + 4.0) - h)));
}

/* Is an echo a repeat of the highest one: in its place, and no higher than it can be? */
static bool is_repeat(const struct plyecho_picks *p, int at, double origin, double reach)
{
    double high = delay_of(p, p->back, origin);
    double order = round(delay_of(p, at, origin) / high);
    double most = p->echoes[p->back].amplitude * pow(most_sent_back(p), order - 1.0);
    return fabs(delay_of(p, at, origin) - order * high) < reach &&
           p->echoes[at].amplitude <= most;
}

/* Can an echo come of sound that ran to and fro: a repeat of the highest, the highest and one
 * before it together (above that one, or between the two), or two from the highest on? */
static bool is_reverberation(const struct plyecho_picks *p, int at, double origin)
{
    double delay = delay_of(p, at, origin), high = delay_of(p, p->back, origin);
    double reach = 0.5 * p->pulse_s;
    if (is_repeat(p, at, origin, reach))
        return true;
    for (int k = 0; k < p->back; k++) {
        double inner = delay_of(p, k, origin);
        if (inner > reach &&
            (fabs(delay - high - inner) < reach || fabs(delay - 2.0 * high + inner) < reach))
            return true;
    }
    return is_sum(p, at, origin, reach);
}

/* Without a nominal: is there, behind the highest echo, one that is neither reverberation nor far too
 * weak? Then the highest lies inside the wall, and the later one is the back wall's. */
static int behind_highest(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                          const struct plyecho_wall_options *o, double origin, double to)
{
    const struct plyecho_echo *high = &p->echoes[p->back];
    int best = -1;
    for (int k = p->back + 1; k < p->count && p->echoes[k].time_s < to; k++) {
        bool close = p->echoes[k].time_s - high->time_s < p->pulse_s;
        if (close || is_reverberation(p, k, origin) ||
            far_weaker(o, t->centre_hz, &p->echoes[k], high))
            continue;
        if (best < 0 || p->echoes[k].amplitude > p->echoes[best].amplitude)
            best = k;
    }
    return best;
}

/* With a nominal: the highest echo in its window, unless one before it took nearly all of the
 * sound, or a far higher one comes a coat later. */
static int within_nominal(const struct plyecho_conditioned *t, const struct plyecho_picks *p,
                          const struct plyecho_wall_options *o, double origin, double from)
{
    double expected = expected_time(o), reach = expected_reach(o);
    int before = highest(p, from, origin + expected - reach);
    double to = origin + expected + reach;
    int within = highest(p, origin + expected - reach, to);
    int after = highest(p, to, to + PE_THICKEST_COAT_S);
    if (within >= 0 && after >= 0 &&
        p->echoes[after].amplitude > far_higher * p->echoes[within].amplitude)
        within = after;
    if (within < 0 || before < 0)
        return within;
    bool shadowed = far_weaker(o, t->centre_hz, &p->echoes[within], &p->echoes[before]);
    return shadowed ? before : within;
}

/* The back wall; without anything better to go by it is the highest echo behind the front. The delay line's
 * own repeat begins at twice its time, or a pulse before, where a gap's echo covers the front's. */
static void pick_back(const struct plyecho_conditioned *t, struct plyecho_picks *p,
                      const struct plyecho_wall_options *o, double origin, double line_s)
{
    /* nearer than that the front itself still rings */
    double to = INFINITY, from = origin + (o->nominal_m.known ? 0.5 : 0.8) * p->pulse_s;
    if (o->nominal_m.known)
        to = origin + 2.5 * expected_time(o);
    if (origin > (p->contact ? shortest_delay_s : 0.0))
        to = fmin(to, 2.0 * line_s - (o->nominal_m.known ? 0.5 : 1.5) * p->pulse_s);
    p->back = highest(p, from, to);
    if (p->back < 0)
        return;
    int better = o->nominal_m.known ? within_nominal(t, p, o, origin, from)
                                    : behind_highest(t, p, o, origin, to);
    if (better >= 0)
        p->back = better;
}

static void pick_second(struct plyecho_picks *p, double origin)
{
    double spacing = p->echoes[p->back].time_s - origin;
    double at = p->echoes[p->back].time_s + spacing;
    /* in contact the origin is a zero, which may mean another place on a pulse than its peak */
    double slack = fmax(0.03 * spacing, (p->contact ? 0.5 : 0.25) * p->pulse_s);
    p->second = highest(p, at - slack, at + slack);
}

/* Tell which of the echoes found is which. */
static void assign(const struct plyecho_conditioned *t, const struct plyecho_wall_options *o,
                   struct plyecho_picks *p)
{
    p->front = p->back = p->second = -1;
    p->contact = false;
    int top = highest(p, -INFINITY, INFINITY);
    if (top < 0)
        return;
    int first = first_candidate(t, p, o, top);
    double line = p->echoes[first].time_s; /* the front may rather be a gap close behind it */
    first = main_of_cluster(p, first);
    first = use_expected_front(t, o, first, p);
    top = highest(p, -INFINITY, INFINITY);
    p->contact = is_contact(p, o, first, top);
    double origin = o->zero_s.known ? o->zero_s.value : 0.0;
    if (!p->contact) {
        p->front = first;
        origin = p->echoes[first].time_s;
    }
    pick_back(t, p, o, origin, p->contact ? origin : fmin(line, origin));
    if (p->back >= 0)
        pick_second(p, origin);
}

/* Do front and back wall stand clear: of opposite signs, the back wall about as high as the usual face of a
 * laminate lets it be, the front where the reference says? */
static bool shows_wall(const struct plyecho_conditioned *t,
                       const struct plyecho_wall_options *o, const struct plyecho_picks *p)
{
    if (p->front < 0 || p->back < 0)
        return false;
    const struct plyecho_echo *front = &p->echoes[p->front], *back = &p->echoes[p->back];
    double r = PE_USUAL_FRONT_REFLECTION, full = front->amplitude * (1.0 - r * r) / r;
    bool opposed = !t->has_sign || cos(back->phase_rad - front->phase_rad) < 0.0;
    bool in_place = !o->front_s.known || is_expected_front(o, front);
    return opposed && in_place &&
           without_loss(o, t->centre_hz, back, front) > least_back * full;
}

static double back_height(const struct plyecho_picks *p)
{
    return p->back >= 0 ? p->echoes[p->back].amplitude : 0.0;
}

/* Is the highest echo of all the back wall's, and where the nominal has it? */
static bool stands_as_expected(const struct plyecho_picks *p,
                               const struct plyecho_wall_options *o)
{
    if (p->contact || p->back < 0 || p->back != highest(p, -INFINITY, INFINITY))
        return false;
    double delay = p->echoes[p->back].time_s - p->echoes[p->front].time_s;
    return fabs(delay - expected_time(o)) <= expected_reach(o);
}

/* With a nominal that is wrong, echoes are sought where none are, or the back wall's passes for the
 * front. Where echoes tell of a wall by themselves, and far weaker ones or none stand where the nominal has
 * it, they are believed. */
static void doubt_nominal(const struct plyecho_conditioned *t,
                          const struct plyecho_wall_options *o, struct plyecho_picks *p)
{
    struct plyecho_wall_options no_nominal = *o;
    no_nominal.nominal_m.known = false;
    struct plyecho_picks by_itself = *p;
    assign(t, &no_nominal, &by_itself);
    if (!shows_wall(t, o, &by_itself))
        return;
    double delay =
        by_itself.echoes[by_itself.back].time_s - by_itself.echoes[by_itself.front].time_s;
    bool beyond = delay > expected_time(o) + expected_reach(o);
    bool same = p->front == by_itself.front && p->back == by_itself.back;
    double most = back_height(&by_itself);
    if (p->contact ? back_height(p) >= most
                   : !same && (!beyond || far_higher * back_height(p) > most))
        return;
    *p = by_itself;
    p->beyond_nominal = beyond;
}

void plyecho_wall_pick(const struct plyecho_conditioned *t,
                       const struct plyecho_wall_options *o, struct plyecho_picks *p)
{
    *p = (struct plyecho_picks){.front = -1, .back = -1, .second = -1};
    p->pulse_s = t->pulse_s;
    p->initial_end_s = t->first_rise_s;
    struct plyecho_echo_options options = plyecho_echo_defaults();
    options.from_s = p->initial_end_s;
    options.to_s = t->start_s + (double)t->samples / t->sample_rate_hz;
    p->count = (int)plyecho_echoes_find(t, &options, p->echoes, PLYECHO_PICKED_ECHOES);
    assign(t, o, p);
    if (o->nominal_m.known && o->mode != PLYECHO_MODE_1 && !stands_as_expected(p, o))
        doubt_nominal(t, o, p);
}
