#include "distortion.h"

#include <complex.h>
#include <math.h>

#include "record_faults.h"

/* Third harmonic over the fundamental in the highest echo. Limiting at 0.7 of the peak gives 0.065, hard or
 * soft. What a known pulse holds itself is taken off; of simulated pulses that is up to 0.055. */
static const double most_third = 0.06, most_beyond_pulse = 0.04, noise_thirds = 3.5;

/* Radians off the phase of a flattened crest: up to 0.6 where a wave was limited. */
static const double most_turned = 0.9;

/* An echo this high against the highest is limited too; it holds less of the third harmonic, but not less
 * than this share of what the square of its height lets expect. */
static const double high_too = 0.7, least_of_expected = 0.4;

struct pe_third pe_third_harmonic(const struct plyecho_trace *raw, size_t sample,
                                  double centre_hz)
{
    static const double thirds[] = {2.8, 3.0, PE_HIGHEST_THIRD};
    size_t reach = (size_t)lround(2.5 * raw->sample_rate_hz / centre_hz);
    double complex line[3], first;
    double noise, highest = 0.0;
    for (int k = 0; k < 3; k++) {
        line[k] = pe_line_at(raw, sample, reach, thirds[k] * centre_hz, &noise);
        highest = fmax(highest, cabs(line[k]));
    }
    first = pe_line_at(raw, sample, reach, centre_hz, &noise);
    return (struct pe_third){
        .share = highest / cabs(first),
        .noise = noise / cabs(first),
        .turned_rad = fabs(carg(-line[1] * cpow(conj(first) / cabs(first), 3.0))),
    };
}

static int highest_of_wall(const struct pe_evidence *e)
{
    const struct plyecho_picks *p = &e->picks;
    int best = -1;
    for (int k = p->front >= 0 ? p->front : 0; k <= p->back || k == p->front; k++)
        if (best < 0 || p->echoes[k].amplitude > p->echoes[best].amplitude)
            best = k;
    return best;
}

/* Limiting spares no echo of about the same height. */
static bool spares_another(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                           const struct pe_evidence *e, int highest, double share)
{
    const struct plyecho_picks *p = &e->picks;
    const int walls[] = {p->front, p->back};
    for (int i = 0; i < 2; i++) {
        if (walls[i] < 0 || walls[i] == highest)
            continue;
        const struct plyecho_echo *echo = &p->echoes[walls[i]];
        double height = echo->amplitude / p->echoes[highest].amplitude;
        double its = pe_third_harmonic(raw, echo->sample, t->centre_hz).share;
        if (height > high_too && its < least_of_expected * height * height * share)
            return true;
    }
    return false;
}

bool pe_distorted(const struct plyecho_conditioned *t, const struct plyecho_trace *raw,
                  const struct plyecho_reference *reference, const struct pe_evidence *e)
{
    double nyquist = 0.5 * raw->sample_rate_hz;
    int highest = highest_of_wall(e);
    if (!t->has_sign || highest < 0 || PE_HIGHEST_THIRD * t->centre_hz > 0.95 * nyquist)
        return false;
    struct pe_third third =
        pe_third_harmonic(raw, e->picks.echoes[highest].sample, t->centre_hz);
    double density = sqrt(nyquist / (t->band.high_hz - t->band.low_hz));
    double most = reference != NULL ? reference->third + most_beyond_pulse : most_third;
    return third.share > most &&
           third.share > noise_thirds * third.noise * density * t->noise &&
           third.turned_rad < most_turned && !spares_another(t, raw, e, highest, third.share);
}
