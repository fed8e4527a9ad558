#include "lost_time.h"

#include <math.h>

/* Time lost from a record, or doubled: at most this share of the wall's, less where a reportable echo inside has
 * paths of its own behind the back wall, and so many ways to see it. What
 * puts it right must explain so much more (as a logarithm of odds). A pulse whose shape is fitted can
 * bend: then it must leave no more chi-squared per degree of freedom than this, and put the back wall
 * where its echo then is, within a share of the pulse length. Limits from whole and cut simulated
 * records. */
enum { MOST_GAPS = 3 };
static const double most_gap = 0.6, most_gap_beside_inner = 0.25, least_gain = 7.0,
                    least_gain_unknown_pulse = 12.0;
static const double most_put_right = 2.0, same_wall = 0.3;

/* Whole counts of samples by which the record would have to be longer within the wall for one of its
 * echoes to be the back wall's repeat; none where the highest that may be is in its place. */
static int gaps_to_try(const struct plyecho_conditioned *t, const struct pe_evidence *e,
                       double *gap_s)
{
    enum { LEAST = 2 };
    const struct plyecho_picks *p = &e->picks;
    bool inner = e->has_inner && e->inner.strength >= e->inner_level;
    double most = (inner ? most_gap_beside_inner : most_gap) * e->back_delay_s;
    double in_place = 0.0, elsewhere = 0.0;
    int count = 0;
    for (int k = p->back + 1; p->back >= 0 && k < p->count; k++) {
        double behind = p->echoes[k].time_s - p->echoes[p->back].time_s;
        double samples = round((behind - e->back_delay_s) * t->sample_rate_hz);
        double gap = samples / t->sample_rate_hz;
        if (fabs(gap) > most)
            continue;
        double *highest = fabs(samples) < LEAST ? &in_place : &elsewhere;
        *highest = fmax(*highest, p->echoes[k].amplitude);
        if (fabs(samples) >= LEAST && count < MOST_GAPS)
            gap_s[count++] = gap;
    }
    return in_place > elsewhere ? 0 : count;
}

/* How much better the trace is explained with a gap put right: as a logarithm of odds. */
static double gain_of_gap(struct pe_stack_fit *fit, const struct plyecho_conditioned *t,
                          const struct pe_stack_gate *gate, const struct pe_prospect *prospect,
                          double as_it_is)
{
    struct pe_prospect longer = *prospect;
    struct pe_explained x;
    longer.whole_s += gate->gap_s;
    longer.to_beat_known = isfinite(as_it_is);
    longer.to_beat = as_it_is;
    if (pe_stack_fit_take(fit, t, gate, NULL) != PLYECHO_OK)
        return -INFINITY;
    pe_stack_search_both_ways(fit, &longer, true, &x);
    const struct pe_explanation_fit *best = pe_stack_best(&x);
    double off = fabs(best->stack.number[PE_TRANSIT] - longer.whole_s);
    bool stands = pe_stack_misfit(&x, best) < most_put_right && off < same_wall * t->pulse_s;
    if (isinf(best->log_evidence) || (!prospect->pulse_known && !stands))
        return -INFINITY;
    return (best->log_evidence - as_it_is) / fmax(1.0, pe_stack_misfit(&x, best));
}

struct pe_lost_time pe_lost_time_seek(struct pe_stack_fit *fit,
                                      const struct plyecho_conditioned *t,
                                      const struct pe_evidence *e,
                                      const struct pe_stack_gate *gate,
                                      const struct pe_prospect *prospect, double as_it_is)
{
    double gap_s[MOST_GAPS], most = -INFINITY, near = 0.75 * e->picks.pulse_s;
    int count = gaps_to_try(t, e, gap_s), best = 0;
    const double places[] = {e->front_s + near, e->front_s + e->back_delay_s - near};
    for (int i = 0; i < 2 * count; i++) {
        struct pe_stack_gate longer = *gate;
        longer.gap_s = gap_s[i / 2];
        longer.gap_at_s = places[i % 2];
        double gain = gain_of_gap(fit, t, &longer, prospect, as_it_is);
        if (gain > most) {
            most = gain;
            best = i / 2;
        }
    }
    double enough = prospect->pulse_known ? least_gain : least_gain_unknown_pulse;
    return (struct pe_lost_time){.lost_s = most > enough ? gap_s[best] : 0.0,
                                 .none = count > 0 && most < 0.0};
}
