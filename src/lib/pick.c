/* Which echo is which. */
#include <plyecho/wall.h>

#include <math.h>

/* An echo this much below the highest is no interface echo: a delay line of plastic on a carbon
 * laminate reflects 0.15 to 0.3 (common practice, no source), even against a back wall without
 * loss. */
static const double least_front_share = 0.05;

/* Contact: the first echo comes no later than this many nominal walls. */
static const double contact_walls = 1.35;

static double noise_level(const struct plyecho_conditioned *t)
{
    return 5.0 * t->noise;
}

/* Where the disturbance that the record begins with has died away: the transmission pulse, or
 * its tail. The start of the record where it begins in silence. */
static double initial_end(const struct plyecho_conditioned *t, double pulse_s)
{
    size_t quiet = 0, need = (size_t)ceil(pulse_s * t->sample_rate_hz);
    float top = 0.0f;
    for (size_t i = 0; i < t->samples; i++)
        top = fmaxf(top, t->envelope[i]);
    double level = fmax(noise_level(t), 0.02 * top);
    size_t last = 0;
    bool any = false;
    for (size_t i = 0; i < t->samples && quiet <= need; i++) {
        if (t->envelope[i] > level) {
            quiet = 0;
            last = i;
            any = true;
        } else {
            quiet++;
        }
    }
    return any ? t->start_s + (double)last / t->sample_rate_hz : t->start_s;
}

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

/* Half width of the window about the expected time: the tolerance and twice the velocity's
 * share.
 */
static double expected_reach(const struct plyecho_wall_options *o)
{
    double u = o->velocity_u.known ? o->velocity_u.value / o->velocity_m_s : 0.0;
    return expected_time(o) * (o->tolerance_m / o->nominal_m.value + 2.0 * u);
}

static int first_above_share(const struct plyecho_picks *p, double from_s)
{
    int top = highest(p, from_s, INFINITY);
    for (int k = 0; top >= 0 && k < p->count; k++)
        if (p->echoes[k].time_s >= from_s &&
            p->echoes[k].amplitude >= least_front_share * p->echoes[top].amplitude)
            return k;
    return -1;
}

/* Without a nominal: in contact the wall repeats at twice the first echo's time, and nothing as
 * high as that repeat comes before it; behind a delay line the wall's echoes do. */
static bool looks_like_contact(const struct plyecho_picks *p, int first, double zero_s)
{
    double t = p->echoes[first].time_s - zero_s;
    double slack = 0.05 * t;
    int repeat = highest(p, zero_s + 2.0 * t - slack, zero_s + 2.0 * t + slack);
    int between = highest(p, zero_s + t + p->pulse_s, zero_s + 2.0 * t - slack);
    if (between < 0)
        return true;
    return repeat >= 0 && p->echoes[between].amplitude < 0.5 * p->echoes[repeat].amplitude;
}

static bool is_contact(const struct plyecho_picks *p, const struct plyecho_wall_options *o,
                       int first)
{
    double zero = o->zero_s.known ? o->zero_s.value : 0.0;
    if (o->mode == PLYECHO_MODE_1)
        return true;
    if (o->nominal_m.known)
        return p->echoes[first].time_s - zero <= contact_walls * expected_time(o);
    return looks_like_contact(p, first, zero);
}

static void pick_back(struct plyecho_picks *p, const struct plyecho_wall_options *o,
                      double origin)
{
    double to = INFINITY;
    if (o->nominal_m.known) {
        double t = expected_time(o), reach = expected_reach(o);
        p->back = highest(p, origin + t - reach, origin + t + reach);
        to = origin + 2.5 * t;
    }
    if (!p->contact && origin > 0.0) /* the delay line's own repeat */
        to = fmin(to, 2.0 * origin - 0.5 * p->pulse_s);
    if (p->back < 0)
        p->back = highest(p, origin + 0.5 * p->pulse_s, to);
}

static void pick_second(struct plyecho_picks *p, double origin)
{
    double spacing = p->echoes[p->back].time_s - origin;
    double at = p->echoes[p->back].time_s + spacing;
    double slack = fmax(0.03 * spacing, 0.25 * p->pulse_s);
    p->second = highest(p, at - slack, at + slack);
}

void plyecho_wall_pick(const struct plyecho_conditioned *t,
                       const struct plyecho_wall_options *o, struct plyecho_picks *p)
{
    *p = (struct plyecho_picks){.front = -1, .back = -1, .second = -1};
    double width = (t->band.high_hz - t->band.low_hz) / 1.7; /* pass band to -6 dB band */
    p->pulse_s = 1.6 / width;
    p->initial_end_s = initial_end(t, p->pulse_s);
    struct plyecho_echo_options options = plyecho_echo_defaults();
    options.from_s = p->initial_end_s;
    options.to_s = t->start_s + (double)t->samples / t->sample_rate_hz;
    p->count = (int)plyecho_echoes_find(t, &options, p->echoes, PLYECHO_PICKED_ECHOES);

    int first = first_above_share(p, p->initial_end_s);
    if (first < 0)
        return;
    p->contact = is_contact(p, o, first);
    double origin = o->zero_s.known ? o->zero_s.value : 0.0;
    if (!p->contact) {
        p->front = first;
        origin = p->echoes[first].time_s;
    }
    pick_back(p, o, origin);
    if (p->back >= 0)
        pick_second(p, origin);
}
