#include <plyecho/transit.h>

#include <complex.h>
#include <math.h>
#include <string.h>

#include "fourier.h"
#include "small_matrix.h"

/* What plies and a real beam do to a time beyond noise: 1.5 ns at 10 MHz on the simulated laminates
 * of tests/reference, as a share of a period. */
static const double model_periods = 0.015;

enum { LINES = 48, PARAMETERS = 3, CYCLES = 2, ITERATIONS = 12 };

/* Spectral lines of both echoes, each about its own stretch's middle. */
struct lines {
    int count;
    double hz[LINES];
    double bend[LINES]; /* 2/pi f ln(f / f0): phase a unit of loss */
    double complex first[LINES], second[LINES];
    double apart_s;  /* between the stretches' middles: a whole number of samples */
    double variance; /* of the noise in one line */
};

enum parameter { LOG_RATIO, LOSS, TIME };

struct fit {
    int sign;
    double p[PARAMETERS];
    struct pe_matrix covariance;
    double chi2;
};

/* Tapered stretch: flat in the middle, a quarter cosine over an eighth of the length at each
 * end. */
static double taper(size_t i, size_t length)
{
    double edge = (double)length / 8.0, x = (double)i + 0.5;
    double from_end = fmin(x, (double)length - x);
    return from_end >= edge ? 1.0 : 0.5 - 0.5 * cos(PE_PI * from_end / edge);
}

static double complex line(const float *x, size_t length, double cycles_per_sample,
                           size_t middle)
{
    double complex step = cexp(-2.0 * PE_PI * I * cycles_per_sample);
    double complex turn = cexp(2.0 * PE_PI * I * cycles_per_sample * (double)middle);
    double complex sum = 0.0;
    for (size_t i = 0; i < length; i++) {
        sum += taper(i, length) * x[i] * turn;
        turn *= step;
    }
    return sum;
}

/* false: a stretch is not within the record. */
static bool take_lines(const struct plyecho_conditioned *t,
                       const struct plyecho_transit_task *task, struct lines *l)
{
    double rate = t->sample_rate_hz;
    long before = lround(task->before_s * rate), after = lround(task->after_s * rate);
    long a = lround((task->first_s - t->start_s) * rate);
    long b = lround((task->second_s - t->start_s) * rate);
    long length = before + after + 1, n = (long)t->samples;
    if (a - before < 0 || b - before < 0 || a + after >= n || b + after >= n || length < 8)
        return false;
    double step_hz =
        fmax(rate / (double)length, (t->band.high_hz - t->band.low_hz) / (LINES - 1));
    double power = 0.0;
    for (long i = 0; i < length; i++)
        power += taper((size_t)i, (size_t)length) * taper((size_t)i, (size_t)length);
    double share = (t->band.high_hz - t->band.low_hz) / (rate / 2.0);
    l->variance = t->noise * t->noise / fmax(share, 1e-3) * power;
    l->apart_s = (double)(b - a) / rate;
    l->count = 0;
    for (double f = t->band.low_hz; f <= t->band.high_hz && l->count < LINES; f += step_hz) {
        int k = l->count++;
        l->hz[k] = f;
        l->bend[k] = 2.0 / PE_PI * f * log(f / task->reference_hz);
        l->first[k] = line(t->in_phase + a - before, (size_t)length, f / rate, (size_t)before);
        l->second[k] = line(t->in_phase + b - before, (size_t)length, f / rate, (size_t)before);
    }
    return true;
}

static double complex response(const struct fit *fit, const struct lines *l, int k, double f0)
{
    double f = l->hz[k], s = fit->p[LOSS];
    double phase = -2.0 * PE_PI * f * (fit->p[TIME] - l->apart_s) + s * l->bend[k];
    double size = fit->sign * exp(fit->p[LOG_RATIO] - s * (f - f0));
    return size * cos(phase) + I * (size * sin(phase));
}

/* Normal equations about the present parameters, in scaled units: loss in 1/f0, time in
 * 1/(2 pi f0), so that the matrix is well conditioned. Returns chi-squared. */
static double normal_equations(const struct lines *l, const struct plyecho_transit_task *task,
                               const struct fit *fit, struct pe_matrix *matrix,
                               double gradient[PARAMETERS])
{
    double f0 = task->reference_hz, chi2 = 0.0;
    memset(matrix, 0, sizeof *matrix);
    memset(gradient, 0, sizeof(double) * PARAMETERS);
    for (int k = 0; k < l->count; k++) {
        double f = l->hz[k];
        double complex h = response(fit, l, k, f0);
        double size = creal(h) * creal(h) + cimag(h) * cimag(h);
        /* a complex line holds the noise's variance in its two parts together */
        double weight = 2.0 / (l->variance * (1.0 + size));
        double complex model = h * l->first[k], residual = l->second[k] - model;
        double complex d[PARAMETERS] = {
            [LOG_RATIO] = model,
            [LOSS] = model * (-(f - f0) / f0 + I * l->bend[k] / f0),
            [TIME] = model * (-I * f / f0),
        };
        chi2 +=
            weight * (creal(residual) * creal(residual) + cimag(residual) * cimag(residual));
        for (int i = 0; i < PARAMETERS; i++) {
            gradient[i] += weight * creal(conj(d[i]) * residual);
            for (int j = 0; j < PARAMETERS; j++)
                matrix->at[i][j] += weight * creal(conj(d[i]) * d[j]);
        }
    }
    if (task->loss_u_np_hz > 0.0) {
        double u = task->loss_u_np_hz * f0, off = (fit->p[LOSS] - task->loss_np_hz) * f0;
        chi2 += off * off / (u * u);
        gradient[LOSS] -= off / (u * u);
        matrix->at[LOSS][LOSS] += 1.0 / (u * u);
    }
    return chi2;
}

/* Gauss-Newton from where fit stands, steps limited to a tenth of a cycle, so that each start
 * keeps to its cycle. */
static bool refine(const struct lines *l, const struct plyecho_transit_task *task,
                   struct fit *fit)
{
    double f0 = task->reference_hz;
    const double unit[PARAMETERS] = {1.0, 1.0 / f0, 1.0 / (2.0 * PE_PI * f0)};
    struct pe_matrix matrix, inverse;
    double gradient[PARAMETERS];
    for (int round = 0; round < ITERATIONS; round++) {
        normal_equations(l, task, fit, &matrix, gradient);
        if (!pe_invert(PARAMETERS, &matrix, &inverse))
            return false;
        double largest = pe_newton_step(PARAMETERS, &inverse, gradient, unit, 0.6, fit->p);
        if (largest < 1e-5)
            break;
    }
    fit->chi2 = normal_equations(l, task, fit, &matrix, gradient);
    if (!pe_invert(PARAMETERS, &matrix, &inverse) || !isfinite(fit->chi2))
        return false;
    pe_in_units(PARAMETERS, &inverse, unit, &fit->covariance);
    return true;
}

static double start_log_ratio(const struct lines *l)
{
    double first = 0.0, second = 0.0;
    for (int k = 0; k < l->count; k++) {
        first += creal(l->first[k] * conj(l->first[k]));
        second += creal(l->second[k] * conj(l->second[k]));
    }
    return 0.5 * log(fmax(second, 1e-300) / fmax(first, 1e-300));
}

/* The chance of the cycles that were not taken, and what they would add to the variance. */
static void other_cycles(const struct fit *fits, int count, int best, double misfit,
                         struct plyecho_transit *out)
{
    double total = 0.0, other = 0.0, spread = 0.0;
    for (int k = 0; k < count; k++) {
        double apart = fits[k].p[TIME] - fits[best].p[TIME];
        bool same = fabs(apart) < 1e-12;
        if (k != best && same)
            continue; /* two starts that met */
        double odds = exp(-0.5 * (fits[k].chi2 - fits[best].chi2) / fmax(1.0, misfit));
        total += odds;
        spread += odds * apart * apart;
        if (k != best)
            other += odds;
    }
    out->other_cycle = other / total;
    out->u_s = sqrt(out->u_s * out->u_s + spread / total);
}

enum plyecho_code plyecho_transit_fit(const struct plyecho_conditioned *t,
                                      const struct plyecho_transit_task *task,
                                      struct plyecho_transit *out, struct plyecho_error *err)
{
    struct lines l;
    memset(out, 0, sizeof *out);
    if (!t->has_sign)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "an envelope or rectified trace has no phase to compare");
    if (!take_lines(t, task, &l))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "an echo lies too near an end of the record; take a longer record");

    struct fit fits[2 * (2 * CYCLES + 1)];
    int count = 0, best = -1;
    double f0 = task->reference_hz;
    double group = task->loss_np_hz / (PE_PI * PE_PI); /* phase delay minus group delay */
    for (int sign = -1; sign <= 1; sign += 2) {
        if (task->sign != 0 && sign != task->sign)
            continue;
        /* of a known sign only whole cycles can be confused */
        for (int cycle = -CYCLES; cycle <= CYCLES; cycle += task->sign != 0 ? 2 : 1) {
            struct fit *fit = &fits[count];
            *fit = (struct fit){.sign = sign};
            fit->p[LOG_RATIO] = start_log_ratio(&l);
            fit->p[LOSS] = task->loss_np_hz;
            fit->p[TIME] = task->second_s - task->first_s + group + 0.5 * cycle / f0;
            if (!refine(&l, task, fit))
                continue;
            if (best < 0 || fit->chi2 < fits[best].chi2)
                best = count;
            count++;
        }
    }
    if (best < 0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE, "nothing stands out of the noise");
    const struct fit *fit = &fits[best];
    int freedom = 2 * l.count - PARAMETERS;
    out->time_s = fit->p[TIME];
    out->ratio = fit->sign * exp(fit->p[LOG_RATIO]);
    out->loss_np_hz = fit->p[LOSS];
    out->misfit = fit->chi2 / fmax(1.0, freedom);
    double scale = fmax(1.0, out->misfit);
    out->u_s = hypot(sqrt(scale * fit->covariance.at[TIME][TIME]), model_periods / f0);
    out->ratio_u = fabs(out->ratio) * sqrt(scale * fit->covariance.at[LOG_RATIO][LOG_RATIO]);
    other_cycles(fits, count, best, out->misfit, out);
    return PLYECHO_OK;
}
