#include "line_repeat.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "fourier.h"
#include "second_pass.h"

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
enum { LOSSES = sizeof line_loss / sizeof line_loss[0], PLACES = 2 };

/* Shares of what the repeat holds beyond noise that the wall must explain, for the repeat to be this wall's
 * and for lost time to be believed; and how far it must stand above noise. */
static const double share_of_wall = 0.4, share_of_lost = 0.7, least_taken = 40.0;

/* Logarithms of odds, over what is left of chi-squared per degree of freedom, that tell lost time and a
 * whole record: on whole simulated records hardly ever above 25, on cut ones mostly above 50. */
static const double least_gain = 30.0, whole_gain = -5.0;

/* Gaps and losses are gone through on the lines of the band alone, on a time base with so many samples a
 * period of its width, where delays are rounded to whole ones; the best are looked at with all samples. */
enum { SAMPLES_A_PERIOD = 3 };

enum { PULSE, BEFORE, BEHIND, AGAIN, SPECTRA };
enum { COARSE, FINE, PASSES };

struct pe_line_repeat {
    double sample_rate_hz;
    struct plyecho_band band; /* that the coarse pass holds */
    size_t length;            /* of the spectra; 0: none planned yet */
    fftwf_complex *spectrum[SPECTRA], *over;
    fftwf_plan forward;
    struct pe_second_pass pass[PASSES];
};

/* Sample numbers of the record. */
struct stretches {
    long first, split, end;    /* the wall, cut in two */
    long front, pulse;         /* the interface echo; a pulse length */
    long again, again_end;     /* its repeat */
    long expected, reach, gap; /* lag of the repeat, how far it may be off; the longest gap */
};

static void drop_plans(struct pe_line_repeat *r)
{
    if (r->forward != NULL)
        fftwf_destroy_plan(r->forward);
    for (int k = 0; k < SPECTRA; k++)
        fftwf_free(r->spectrum[k]);
    fftwf_free(r->over);
    for (int k = 0; k < PASSES; k++)
        pe_second_pass_drop(&r->pass[k]);
    *r = (struct pe_line_repeat){.sample_rate_hz = r->sample_rate_hz};
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
    drop_plans(r);
    free(r);
}

static size_t length_for(size_t least)
{
    return PE_PASS_ABREAST * pe_good_length((least + PE_PASS_ABREAST - 1) / PE_PASS_ABREAST);
}

static bool plan_all(struct pe_line_repeat *r, size_t length)
{
    double lines = (double)length / r->sample_rate_hz;
    long half = (long)length / 2, low = (long)(r->band.low_hz * lines),
         high = (long)(r->band.high_hz * lines) + 2;
    low = low > 1 ? low : 1;
    high = high < half ? high : half;
    bool held = low < high && (r->over = fftwf_alloc_complex(length)) != NULL;
    for (int k = 0; k < SPECTRA && held; k++)
        held = (r->spectrum[k] = fftwf_alloc_complex(length)) != NULL;
    if (!held)
        return false;
    r->forward = fftwf_plan_dft_1d((int)length, r->spectrum[0], r->spectrum[0], FFTW_FORWARD,
                                   FFTW_ESTIMATE);
    size_t few = length_for(SAMPLES_A_PERIOD * (size_t)(high - low));
    return r->forward != NULL && pe_second_pass_plan(&r->pass[FINE], length, length, 1, half) &&
           pe_second_pass_plan(&r->pass[COARSE], few < length ? few : length, length, low,
                               high);
}

/* Lengths in steps, so that plans serve many traces. */
static bool plan(struct pe_line_repeat *r, size_t least, struct plyecho_band band)
{
    enum { STEP = 256 };
    size_t length = length_for((least + STEP - 1) / STEP * STEP);
    bool same_band = band.low_hz == r->band.low_hz && band.high_hz == r->band.high_hz;
    if (length == r->length && same_band)
        return length > 0;
    drop_plans(r);
    r->band = band;
    if (length == 0 || !plan_all(r, length)) {
        drop_plans(r);
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
static void take(struct pe_line_repeat *r, int which, const struct plyecho_conditioned *t,
                 long origin, long from, long to, long fade)
{
    fftwf_complex *x = r->spectrum[which];
    memset(x, 0, r->length * sizeof *x);
    for (long i = from; i < to; i++) {
        float w = i >= to - fade ? (float)(to - i) / (float)(fade + 1) : 1.0f;
        x[i - origin] = w * (t->in_phase[i] + I * t->quadrature[i]);
    }
    fftwf_execute_dft(r->forward, x, x);
}

/* What met the wall before a place, and what met it behind. */
static void take_parts(struct pe_line_repeat *r, const struct plyecho_conditioned *t,
                       const struct stretches *s)
{
    enum { FADE = 8 };
    take(r, BEFORE, t, s->first, s->first, s->split, 0);
    take(r, BEHIND, t, s->first, s->split, s->end, FADE);
}

/* From the spectrum of the first pass squared to that of the second, but for a factor; the record's negative
 * frequencies are empty. */
static void weigh_lines(struct pe_line_repeat *r, const struct pe_second_pass *p,
                        double centre_hz, double loss)
{
    float strongest = 0.0f;
    double step = r->sample_rate_hz / (double)r->length / centre_hz;
    const fftwf_complex *pulse = r->spectrum[PULSE];
    for (long k = p->low; k < p->high; k++)
        strongest = fmaxf(strongest, crealf(pulse[k] * conjf(pulse[k])));
    double floor = weak_line * strongest;
    for (long k = p->low; k < p->high; k++) {
        double x = (double)k * step, lost = loss * x, turn = 2.0 / PE_PI * lost * log(x);
        double power = (double)crealf(pulse[k] * conjf(pulse[k]));
        double height = exp(-lost) / (power + floor) / (double)r->length;
        r->over[k] = conjf(pulse[k]) * (float complex)(height * (cos(turn) + I * sin(turn)));
    }
}

static void predict(struct pe_line_repeat *r, int pass, double centre_hz, double loss)
{
    weigh_lines(r, &r->pass[pass], centre_hz, loss);
    struct pe_pass_spectra s = {r->spectrum[BEFORE], r->spectrum[BEHIND], r->spectrum[AGAIN],
                                r->over};
    pe_second_pass_predict(&r->pass[pass], &s);
}

static double taken(struct pe_line_repeat *r, int pass, const struct stretches *s, long gap)
{
    struct pe_lags lags = {s->expected, s->reach, s->again_end - s->again};
    return pe_second_pass_taken(&r->pass[pass], &lags, gap);
}

/* A second pass: at which place time is missing, what the line takes, how much is missing. */
struct guess {
    int place, loss;
    long gap;
    double taken;
};

static void keep_higher(struct guess *best, const struct guess *g)
{
    if (g->taken > best->taken)
        *best = *g;
}

struct found {
    struct guess as_it_is, best;
};

/* In steps (what is taken follows an envelope, not its carrier). */
static void try_gaps(struct pe_line_repeat *r, const struct stretches *s, struct guess g,
                     long step, struct found *f)
{
    g.taken = taken(r, COARSE, s, 0);
    keep_higher(&f->as_it_is, &g);
    for (long gap = LEAST_GAP; gap <= s->gap; gap += step)
        for (int sign = -1; sign <= 1; sign += 2) {
            g.gap = sign * gap;
            g.taken = taken(r, COARSE, s, g.gap);
            keep_higher(&f->best, &g);
        }
}

static struct pe_line_says weigh(const struct plyecho_conditioned *t, const struct stretches *s,
                                 const struct found *f, double all)
{
    double variance = 2.0 * t->noise * t->noise,
           noise = variance * (double)(s->again_end - s->again);
    double independent = 2.0 * (t->band.high_hz - t->band.low_hz) / t->sample_rate_hz;
    double best = f->best.taken, as_it_is = f->as_it_is.taken, taken = fmax(best, as_it_is);
    double left = (all - taken) / noise;
    double gain = (best - as_it_is) * independent / variance / fmax(1.0, left);
    double share = taken / fmax(all - noise, 1e-30);
    bool of_wall = taken * independent > least_taken * variance && share > share_of_wall;
    bool lost = of_wall && gain > least_gain;
    return (struct pe_line_says){
        .whole = of_wall && gain < whole_gain,
        .lost_s = lost && share > share_of_lost ? (double)f->best.gap / t->sample_rate_hz : 0.0,
        .disagrees = lost && share <= share_of_lost,
    };
}

/* The places where time is looked for: a little behind the front, and ahead of the back wall. */
static void set_place(const struct pe_evidence *e, double rate, int place, struct stretches *s)
{
    long near = lround(0.8 * (double)s->pulse), least = s->pulse / 2;
    long behind = place == 0 ? near : lround(e->back_delay_s * rate) - near;
    s->split = s->front + (behind > least ? behind : least);
}

/* Every gap with every loss, roughly. */
static void look_through(struct pe_line_repeat *r, const struct plyecho_conditioned *t,
                         const struct pe_evidence *e, struct stretches *s, long step,
                         struct found *f)
{
    for (int place = 0; place < PLACES; place++) {
        set_place(e, t->sample_rate_hz, place, s);
        take_parts(r, t, s);
        for (int loss = 0; loss < LOSSES; loss++) {
            predict(r, COARSE, t->centre_hz, line_loss[loss]);
            try_gaps(r, s, (struct guess){.place = place, .loss = loss}, step, f);
        }
    }
}

/* The best of them, and the record as it is, with every sample. */
static void look_closely(struct pe_line_repeat *r, const struct plyecho_conditioned *t,
                         const struct pe_evidence *e, struct stretches *s, long step,
                         struct found *f)
{
    struct guess starts[] = {f->as_it_is, f->best};
    *f = (struct found){0};
    for (int i = 0; i < 2; i++) {
        struct guess g = starts[i];
        long from = g.gap - step + 1, to = g.gap + step;
        set_place(e, t->sample_rate_hz, g.place, s);
        take_parts(r, t, s);
        predict(r, FINE, t->centre_hz, line_loss[g.loss]);
        for (g.gap = from; i > 0 && g.gap < to; g.gap++) {
            if (labs(g.gap) < LEAST_GAP || labs(g.gap) > s->gap)
                continue;
            g.taken = taken(r, FINE, s, g.gap);
            keep_higher(&f->best, &g);
        }
        g.gap = 0;
        g.taken = taken(r, FINE, s, 0);
        keep_higher(&f->as_it_is, &g);
    }
}

struct pe_line_says pe_line_repeat_ask(struct pe_line_repeat *r,
                                       const struct plyecho_conditioned *t,
                                       const struct pe_evidence *e)
{
    struct stretches s;
    struct found found = {0};
    if (!(t->noise > 0.0) || t->sample_rate_hz != r->sample_rate_hz ||
        !find_stretches(t, e, &s) ||
        !plan(r, (size_t)(2 * (s.end - s.first + s.gap) + s.again_end - s.again), t->band))
        return (struct pe_line_says){0};
    double all = 0.0;
    for (long i = s.again; i < s.again_end; i++)
        all += (double)t->envelope[i] * (double)t->envelope[i];
    take(r, PULSE, t, s.first, s.first, s.front + s.pulse, s.pulse / 2);
    take(r, AGAIN, t, s.again, s.again, s.again_end, 0);
    long step = (long)fmax(1.0, floor(step_periods * t->sample_rate_hz / t->centre_hz));
    look_through(r, t, e, &s, step, &found);
    look_closely(r, t, e, &s, step, &found);
    return weigh(t, &s, &found, all);
}
