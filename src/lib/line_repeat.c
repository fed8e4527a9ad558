#include "line_repeat.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "fourier.h"

/* Time lost or doubled is looked for up to this share of the wall's, from two samples on, in steps of
 * that share of a period at the most, then in samples about the best. */
static const double most_gap = 0.35, step_periods = 0.2;
enum { LEAST_GAP = 2 };

/* Walls that are compared: from the front on, and in the repeat. */
static const double walls_first = 2.5, walls_again = 2.2, walls_needed = 1.1;

/* The transmission pulse's time against the time base's 0: a pulse length, and at least this. */
static const double least_reach_s = 0.3e-6;

/* The front's echo stands for the pulse; lines of less than about this share of its strongest line's power
 * are kept down. */
static const double weak_line = 0.02;

/* What the line takes from its repeat grows with frequency: losses tried, Np at the centre frequency, with the
 * dispersion that goes with them. */
static const double line_loss[] = {0.0, 0.5, 1.0, 1.5, 2.0};
enum { LOSSES = sizeof line_loss / sizeof line_loss[0] };

/* Less of a second pass than this share is not compared. */
static const double least_held = 0.1;

/* Shares of what the repeat holds beyond noise that the wall must explain, for the repeat to be this wall's
 * and for lost time to be believed; and how far it must stand above noise. */
static const double share_of_wall = 0.4, share_of_lost = 0.7, least_taken = 40.0;

/* Logarithms of odds, over what is left of chi-squared per degree of freedom, that tell lost time and a
 * whole record: on whole simulated records hardly ever above 25, on cut ones mostly above 50. */
static const double least_gain = 30.0, whole_gain = -5.0;

enum part { BEFORE, ACROSS, BEHIND, PARTS };
enum { PULSE = PARTS, AGAIN, ARRAYS };

struct pe_line_repeat {
    double sample_rate_hz;
    size_t length; /* of the transforms; 0: none planned yet */
    fftwf_complex *line[ARRAYS], *seen[PARTS], *over;
    double *energy;
    fftwf_plan forward, backward;
};

/* Sample numbers of the record. */
struct stretches {
    long first, split, end;    /* the wall, cut in two */
    long front, pulse;         /* the interface echo; a pulse length */
    long again, again_end;     /* its repeat */
    long expected, reach, gap; /* lag of the repeat, how far it may be off; the longest gap */
};

static void drop_plan(struct pe_line_repeat *r)
{
    if (r->forward != NULL)
        fftwf_destroy_plan(r->forward);
    if (r->backward != NULL)
        fftwf_destroy_plan(r->backward);
    for (int k = 0; k < ARRAYS; k++) {
        fftwf_free(r->line[k]);
        r->line[k] = NULL;
    }
    for (int k = 0; k < PARTS; k++) {
        fftwf_free(r->seen[k]);
        r->seen[k] = NULL;
    }
    fftwf_free(r->over);
    r->over = NULL;
    free(r->energy);
    r->energy = NULL;
    r->forward = r->backward = NULL;
    r->length = 0;
}

enum plyecho_code pe_line_repeat_new(struct pe_line_repeat **out, double sample_rate_hz,
                                     struct plyecho_error *err)
{
    *out = pe_alloc(1, sizeof **out);
    if (*out == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for the delay line's repeat");
    (*out)->sample_rate_hz = sample_rate_hz;
    return PLYECHO_OK;
}

void pe_line_repeat_free(struct pe_line_repeat *r)
{
    if (r == NULL)
        return;
    drop_plan(r);
    free(r);
}

static bool plan(struct pe_line_repeat *r, size_t least)
{
    size_t length = pe_good_length(least);
    if (length == r->length)
        return length > 0;
    drop_plan(r);
    bool held = length > 0;
    for (int k = 0; k < ARRAYS && held; k++)
        held = (r->line[k] = fftwf_alloc_complex(length)) != NULL;
    for (int k = 0; k < PARTS && held; k++)
        held = (r->seen[k] = fftwf_alloc_complex(length)) != NULL;
    held = held && (r->over = fftwf_alloc_complex(length)) != NULL;
    held = held && (r->energy = pe_alloc(length + 1, sizeof *r->energy)) != NULL;
    if (held) {
        r->forward =
            fftwf_plan_dft_1d((int)length, r->line[0], r->line[0], FFTW_FORWARD, FFTW_ESTIMATE);
        r->backward = fftwf_plan_dft_1d((int)length, r->line[0], r->line[0], FFTW_BACKWARD,
                                        FFTW_ESTIMATE);
    }
    if (r->forward == NULL || r->backward == NULL) {
        drop_plan(r);
        return false;
    }
    r->length = length;
    return true;
}

/* Where the stretches lie; false where the record does not hold them. */
static bool find_stretches(const struct plyecho_conditioned *t, const struct pe_evidence *e,
                           struct stretches *s)
{
    const struct plyecho_picks *p = &e->picks;
    if (!t->has_sign || p->front < 0 || p->back <= p->front || !(e->front_s > 0.0))
        return false;
    double rate = t->sample_rate_hz, wall = e->back_delay_s * rate;
    s->pulse = lround(p->pulse_s * rate);
    s->front = lround((e->front_s - t->start_s) * rate);
    s->reach = lround(fmax(p->pulse_s, least_reach_s) * rate);
    s->gap = lround(most_gap * wall);
    long repeat = lround((2.0 * e->front_s - t->start_s) * rate);
    s->first = s->front - s->pulse;
    s->end = (long)fmin((double)s->front + walls_first * wall,
                        (double)(repeat - s->pulse - s->reach));
    s->again = repeat - s->pulse - s->reach - s->gap;
    s->again = s->again > s->end ? s->again : s->end;
    s->again_end =
        (long)fmin((double)t->samples, (double)(repeat + s->pulse) + walls_again * wall);
    s->expected = repeat - s->again - s->pulse;
    return s->first >= 0 && (double)(s->end - s->front) > wall + (double)s->pulse &&
           (double)(s->again_end - repeat) > walls_needed * wall + (double)s->pulse;
}

/* The analytic signal of some samples, its end faded, as lines. */
static void take(struct pe_line_repeat *r, int array, const struct plyecho_conditioned *t,
                 long origin, long from, long to, long fade)
{
    fftwf_complex *x = r->line[array];
    memset(x, 0, r->length * sizeof *x);
    for (long i = from; i < to; i++) {
        float w = i >= to - fade ? (float)(to - i) / (float)(fade + 1) : 1.0f;
        x[i - origin] = w * (t->in_phase[i] + I * t->quadrature[i]);
    }
    fftwf_execute_dft(r->forward, x, x);
}

/* From the spectrum of the first pass squared to that of the second, but for a factor; the record's negative
 * frequencies are empty. */
static void weigh_lines(struct pe_line_repeat *r, double centre_hz, double loss)
{
    double strongest = 0.0, step = r->sample_rate_hz / (double)r->length / centre_hz;
    size_t half = r->length / 2;
    for (size_t k = 0; k < half; k++)
        strongest = fmax(strongest, cabs(r->line[PULSE][k]));
    double floor = weak_line * strongest * strongest;
    memset(r->over, 0, r->length * sizeof *r->over);
    for (size_t k = 1; k < half; k++) {
        double complex f = r->line[PULSE][k];
        double x = (double)k * step, lost = loss * x, turn = 2.0 / PE_PI * lost * log(x);
        double height = exp(-lost) / (creal(f * conj(f)) + floor) / (double)r->length;
        r->over[k] = (float complex)(conj(f) * height * (cos(turn) + I * sin(turn)));
    }
}

/* The second pass from the first: what met the wall twice before a place, on either side of it, and
 * behind it; each as samples in line[], and against the repeat, by lag, in seen[]. */
static void predict(struct pe_line_repeat *r, const struct plyecho_conditioned *t,
                    const struct stretches *s)
{
    enum { FADE = 8 };
    take(r, BEFORE, t, s->first, s->first, s->split, 0);
    take(r, BEHIND, t, s->first, s->split, s->end, FADE);
    for (size_t k = 0; k < r->length; k++) {
        float complex a = r->line[BEFORE][k], b = r->line[BEHIND][k];
        r->line[BEFORE][k] = a * a * r->over[k];
        r->line[ACROSS][k] = 2.0f * a * b * r->over[k];
        r->line[BEHIND][k] = b * b * r->over[k];
    }
    for (int part = 0; part < PARTS; part++) {
        for (size_t k = 0; k < r->length; k++)
            r->seen[part][k] = r->line[AGAIN][k] * conjf(r->line[part][k]);
        fftwf_execute_dft(r->backward, r->seen[part], r->seen[part]);
        fftwf_execute_dft(r->backward, r->line[part], r->line[part]);
    }
}

static size_t wrapped(const struct pe_line_repeat *r, long i)
{
    long n = (long)r->length;
    return (size_t)((i % n + n) % n);
}

/* Most of the repeat's energy that the second pass takes, from a first one with `gap` samples put in
 * at the place. The whole record is `gap` samples short before the repeat, too. */
static double energy_taken(struct pe_line_repeat *r, const struct stretches *s, long gap)
{
    double most = 0.0, *sum = r->energy;
    long n = (long)r->length, held = s->again_end - s->again;
    size_t across = wrapped(r, -gap), behind = wrapped(r, -2 * gap);
    sum[0] = 0.0;
    for (long i = 0; i < n; i++) {
        float complex x =
            r->line[BEFORE][i] + r->line[ACROSS][across] + r->line[BEHIND][behind];
        sum[i + 1] = sum[i] + (double)(crealf(x) * crealf(x) + cimagf(x) * cimagf(x));
        across = across + 1 < r->length ? across + 1 : 0;
        behind = behind + 1 < r->length ? behind + 1 : 0;
    }
    for (long off = -s->reach; off <= s->reach; off++) {
        long lag = s->expected - gap + off;
        float complex c = r->seen[BEFORE][wrapped(r, lag)] +
                          r->seen[ACROSS][wrapped(r, lag + gap)] +
                          r->seen[BEHIND][wrapped(r, lag + 2 * gap)];
        long from = lag < 0 ? -lag : 0, to = held - lag < n ? held - lag : n;
        double energy = from < to ? sum[to] - sum[from] : 0.0;
        if (energy > least_held * sum[n])
            most = fmax(most, (double)crealf(c * conjf(c)) / energy);
    }
    return most;
}

struct found {
    double as_it_is, best;
    long gap;
};

static void try_gap(struct pe_line_repeat *r, const struct stretches *s, long gap,
                    struct found *f)
{
    double taken = energy_taken(r, s, gap);
    if (taken <= f->best)
        return;
    f->best = taken;
    f->gap = gap;
}

/* In steps first (what is taken follows an envelope, not its carrier), then each about the best. */
static void try_gaps(struct pe_line_repeat *r, const struct stretches *s, long step,
                     struct found *all)
{
    struct found f = {.as_it_is = energy_taken(r, s, 0)};
    for (long gap = LEAST_GAP; gap <= s->gap; gap += step)
        for (int sign = -1; sign <= 1; sign += 2)
            try_gap(r, s, sign * gap, &f);
    for (long gap = f.gap - step + 1, last = f.gap + step; gap < last; gap++)
        if (labs(gap) >= LEAST_GAP && labs(gap) <= s->gap)
            try_gap(r, s, gap, &f);
    all->as_it_is = fmax(all->as_it_is, f.as_it_is);
    if (f.best > all->best) {
        all->best = f.best;
        all->gap = f.gap;
    }
}

static struct pe_line_says weigh(const struct plyecho_conditioned *t, const struct stretches *s,
                                 const struct found *f, double all)
{
    double variance = 2.0 * t->noise * t->noise,
           noise = variance * (double)(s->again_end - s->again);
    double independent = 2.0 * (t->band.high_hz - t->band.low_hz) / t->sample_rate_hz;
    double taken = fmax(f->best, f->as_it_is), left = (all - taken) / noise;
    double gain = (f->best - f->as_it_is) * independent / variance / fmax(1.0, left);
    double share = taken / fmax(all - noise, 1e-30);
    bool of_wall = taken * independent > least_taken * variance && share > share_of_wall;
    bool lost = of_wall && gain > least_gain;
    return (struct pe_line_says){
        .whole = of_wall && gain < whole_gain,
        .lost_s = lost && share > share_of_lost ? (double)f->gap / t->sample_rate_hz : 0.0,
        .disagrees = lost && share <= share_of_lost,
    };
}

struct pe_line_says pe_line_repeat_ask(struct pe_line_repeat *r,
                                       const struct plyecho_conditioned *t,
                                       const struct pe_evidence *e)
{
    struct stretches s;
    struct found found = {0};
    if (!(t->noise > 0.0) || t->sample_rate_hz != r->sample_rate_hz ||
        !find_stretches(t, e, &s) ||
        !plan(r, (size_t)(2 * (s.end - s.first + s.gap) + s.again_end - s.again)))
        return (struct pe_line_says){0};
    double all = 0.0;
    for (long i = s.again; i < s.again_end; i++)
        all += (double)t->envelope[i] * (double)t->envelope[i];
    take(r, PULSE, t, s.first, s.first, s.front + s.pulse, s.pulse / 2);
    take(r, AGAIN, t, s.again, s.again, s.again_end, 0);
    long step = (long)fmax(1.0, floor(step_periods * t->sample_rate_hz / t->centre_hz));
    double wall = e->back_delay_s * t->sample_rate_hz;
    const long near = lround(0.8 * (double)s.pulse), places[] = {near, lround(wall) - near};
    for (int k = 0; k < 2 * LOSSES; k++) {
        long place = places[k % 2] > s.pulse / 2 ? places[k % 2] : s.pulse / 2;
        s.split = s.front + place;
        weigh_lines(r, t->centre_hz, line_loss[k / 2]);
        predict(r, t, &s);
        try_gaps(r, &s, step, &found);
    }
    return weigh(t, &s, &found, all);
}
