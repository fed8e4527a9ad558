#include <plyecho/transit.h>

#include <math.h>
#include <string.h>

#include "band_gain.h"
#include "least_squares.h"
#include "pi.h"

/* Above this the repeats may not be the wall's: the first two echoes are tried alone. */
static const double most_misfit = 2.0;

enum {
    LINES = 48,
    STRETCH = 1024, /* samples of an echo, at most */
    ROUNDS = 15,
    LOOK_ROUNDS = 2 /* enough to see how good another cycle is */
};

/* Spectral lines of all echoes, each about its own stretch's middle. Real and imaginary parts stand
 * apart, because complex products in C look for infinities. */
struct lines {
    int count;
    double hz[LINES];
    double weight[LINES]; /* over the noise variance, which a complex line holds in two parts */
    double bend[LINES];   /* 2/pi f ln(f / f0): phase a unit of loss */
    int echoes;           /* the first among them */
    int passages[PLYECHO_TRANSIT_ECHOES + 1]; /* through the wall: 0 for the first */
    double re[PLYECHO_TRANSIT_ECHOES + 1][LINES], im[PLYECHO_TRANSIT_ECHOES + 1][LINES];
    double power[PLYECHO_TRANSIT_ECHOES + 1]; /* sum over the lines */
    double apart_s;  /* between the stretches' middles: a whole number of samples */
    double variance; /* of the noise in one line, as if the stretch were not tapered: the echo
                        itself lies where it is not */
    double tapered;  /* share of that noise which the taper lets through */
};

enum parameter { LOG_RATIO, LOSS, TIME, LOG_REPEAT, PARAMETERS };

_Static_assert((int)PARAMETERS <= (int)PE_MOST_ROWS,
               "a fit's numbers have to fit into a matrix");
_Static_assert(PLYECHO_TRANSIT_ECHOES - 1 <= 8 * sizeof(unsigned),
               "each further echo has its bit in a task");

/* What the equations need; the parameters stand apart. */
struct problem {
    const struct lines *lines;
    const struct plyecho_transit_task *task;
    int sign;
    int parameters; /* LOG_REPEAT only where an echo tells of it */
};

struct fit {
    int sign;
    double p[PARAMETERS];
    struct pe_least_squares_result result;
};

/* ---- the data ---- */

/* Tapered stretch: flat in the middle, a quarter cosine over an eighth of the length at each end. */
static double fill_taper(double *taper, size_t length)
{
    double edge = (double)length / 8.0, power = 0.0;
    for (size_t i = 0; i < length; i++) {
        double x = (double)i + 0.5, from_end = fmin(x, (double)length - x);
        taper[i] = from_end >= edge ? 1.0 : 0.5 - 0.5 * cos(PE_PI * from_end / edge);
        power += taper[i] * taper[i];
    }
    return power;
}

/* One line of every echo's stretch; `first` is the first echo's first sample, `apart` the spacing. */
static void take_line(struct lines *l, int k, const float *first, long apart,
                      const double *taper, long length, long middle, double turn)
{
    double step_re = cos(turn), step_im = -sin(turn);
    double c = cos(turn * (double)middle), s = sin(turn * (double)middle);
    double re[PLYECHO_TRANSIT_ECHOES + 1] = {0}, im[PLYECHO_TRANSIT_ECHOES + 1] = {0};
    for (long i = 0; i < length; i++) {
        double a = taper[i] * c, b = taper[i] * s;
        for (int e = 0; e < l->echoes; e++) {
            double x = first[l->passages[e] * apart + i];
            re[e] += x * a;
            im[e] += x * b;
        }
        double turned = c * step_re - s * step_im;
        s = c * step_im + s * step_re;
        c = turned;
    }
    for (int e = 0; e < l->echoes; e++) {
        l->re[e][k] = re[e];
        l->im[e][k] = im[e];
        l->power[e] += re[e] * re[e] + im[e] * im[e];
    }
}

/* false: a stretch of the first two echoes is not within the record. */
static bool take_lines(const struct plyecho_conditioned *t,
                       const struct plyecho_transit_task *task, struct lines *l)
{
    double rate = t->sample_rate_hz, taper[STRETCH];
    long before = lround(task->before_s * rate), after = lround(task->after_s * rate);
    long first = lround((task->first_s - t->start_s) * rate) - before;
    long apart = lround((task->second_s - task->first_s) * rate);
    long length = before + after + 1, n = (long)t->samples;
    if (length < 8 || length > STRETCH || first < 0 || first + apart + length > n || apart < 1)
        return false;
    l->echoes = 0;
    for (int passages = 0; passages <= PLYECHO_TRANSIT_ECHOES; passages++) {
        bool wanted = passages < 2 || (task->further >> (passages - 2) & 1u) != 0;
        if (wanted && first + passages * apart + length <= n)
            l->passages[l->echoes++] = passages;
    }
    double low_hz = t->band.low_hz, high_hz = t->band.high_hz, nyquist_hz = 0.5 * rate;
    double step_hz = fmax(rate / (double)length, (high_hz - low_hz) / (LINES - 1));
    double share = pe_band_power_share(&t->band, nyquist_hz);
    l->variance = t->noise * t->noise / fmax(share, 1e-3) * (double)length;
    l->tapered = fill_taper(taper, (size_t)length) / (double)length;
    l->apart_s = (double)apart / rate;
    l->count = 0;
    memset(l->power, 0, sizeof l->power);
    for (double f = low_hz; f <= high_hz && l->count < LINES; f += step_hz) {
        int k = l->count++;
        double gain = pe_band_gain(&t->band, nyquist_hz, f);
        l->hz[k] = f;
        l->weight[k] = 2.0 / (l->variance * gain * gain);
        l->bend[k] = 2.0 / PE_PI * f * log(f / task->reference_hz);
        take_line(l, k, t->in_phase + first, apart, taper, length, before,
                  2.0 * PE_PI * f / rate);
    }
    return true;
}

/* ---- the model ---- */

/* Sums over the later echoes of one line, all that the equations need: with c_n the model over S, the
 * derivatives of c_n are c_n times a factor of n, and n - 1 for LOG_REPEAT. */
struct line_sums {
    double shape;              /* |S|^2 */
    double left;               /* sum of |X_n - c_n S|^2 */
    double w, wn, wnn;         /* sums of |c_n|^2, n |c_n|^2, n^2 |c_n|^2 from n = 1 on */
    double t_re, tn_re, tn_im; /* of conj(c_n S) (X_n - c_n S), and the same times n */
};

static void sum_line(const struct problem *problem, const double *p, int k, double ratio,
                     double repeat, struct line_sums *sums)
{
    const struct lines *l = problem->lines;
    double f = l->hz[k];
    double phase = -2.0 * PE_PI * f * (p[TIME] - l->apart_s) + p[LOSS] * l->bend[k];
    double size = exp(-p[LOSS] * (f - problem->task->reference_hz));
    double g_re = size * cos(phase), g_im = size * sin(phase);
    double c_re[PLYECHO_TRANSIT_ECHOES + 1] = {1.0}, c_im[PLYECHO_TRANSIT_ECHOES + 1] = {0.0};
    double s_re = l->re[0][k], s_im = l->im[0][k], at_re = ratio * g_re, at_im = ratio * g_im;
    *sums = (struct line_sums){0};
    for (int e = 1, n = 1; e < l->echoes; e++) {
        for (; n < l->passages[e]; n++) {
            double re = repeat * (at_re * g_re - at_im * g_im);
            at_im = repeat * (at_re * g_im + at_im * g_re);
            at_re = re;
        }
        double w = at_re * at_re + at_im * at_im;
        c_re[e] = at_re;
        c_im[e] = at_im;
        s_re += at_re * l->re[e][k] + at_im * l->im[e][k];
        s_im += at_re * l->im[e][k] - at_im * l->re[e][k];
        sums->w += w;
        sums->wn += n * w;
        sums->wnn += n * n * w;
    }
    s_re /= 1.0 + sums->w;
    s_im /= 1.0 + sums->w;
    sums->shape = s_re * s_re + s_im * s_im;
    for (int e = 0; e < l->echoes; e++) {
        double m_re = c_re[e] * s_re - c_im[e] * s_im, m_im = c_re[e] * s_im + c_im[e] * s_re;
        double r_re = l->re[e][k] - m_re, r_im = l->im[e][k] - m_im;
        double t_re = m_re * r_re + m_im * r_im, t_im = m_re * r_im - m_im * r_re;
        sums->left += r_re * r_re + r_im * r_im;
        if (e > 0) {
            sums->t_re += t_re;
            sums->tn_re += l->passages[e] * t_re;
            sums->tn_im += l->passages[e] * t_im;
        }
    }
}

/* Units: loss in 1/f0, time in 1/(2 pi f0), so that the matrix is well conditioned. */
static double normal_equations(const void *data, const double *p, struct pe_matrix *matrix,
                               double *gradient)
{
    const struct problem *problem = data;
    const struct lines *l = problem->lines;
    const struct plyecho_transit_task *task = problem->task;
    double f0 = task->reference_hz, chi2 = 0.0;
    double ratio = problem->sign * exp(p[LOG_RATIO]);
    double repeat = problem->parameters > LOG_REPEAT ? exp(p[LOG_REPEAT]) : 0.0;
    double m[PARAMETERS][PARAMETERS] = {{0}}, g[PARAMETERS] = {0};
    for (int k = 0; k < l->count; k++) {
        struct line_sums s;
        sum_line(problem, p, k, ratio, repeat, &s);
        double f = l->hz[k], weight = l->weight[k];
        /* n (re + j im) is the factor of n for each parameter */
        double loss_re = -(f - f0) / f0, loss_im = l->bend[k] / f0, time_im = -f / f0;
        double all = 1.0 + s.w, power = weight * s.shape;
        double w = power * s.w * (1.0 - s.w / all);       /* of 1 with 1 */
        double wn = power * s.wn * (1.0 - s.w / all);     /* of 1 with n */
        double wnn = power * (s.wnn - s.wn * s.wn / all); /* of n with n */
        chi2 += weight * s.left;
        m[LOG_RATIO][LOG_RATIO] += w;
        m[LOSS][LOG_RATIO] += loss_re * wn;
        m[LOSS][LOSS] += (loss_re * loss_re + loss_im * loss_im) * wnn;
        m[TIME][LOSS] += loss_im * time_im * wnn;
        m[TIME][TIME] += time_im * time_im * wnn;
        m[LOG_REPEAT][LOG_RATIO] += wn - w;
        m[LOG_REPEAT][LOSS] += loss_re * (wnn - wn);
        m[LOG_REPEAT][LOG_REPEAT] += wnn - 2.0 * wn + w;
        g[LOG_RATIO] += weight * s.t_re;
        g[LOSS] += weight * (loss_re * s.tn_re + loss_im * s.tn_im);
        g[TIME] += weight * time_im * s.tn_im;
        g[LOG_REPEAT] += weight * (s.tn_re - s.t_re);
    }
    if (task->loss_u_np_hz > 0.0) {
        double u = task->loss_u_np_hz * f0, off = (p[LOSS] - task->loss_np_hz) * f0;
        chi2 += off * off / (u * u);
        g[LOSS] -= off / (u * u);
        m[LOSS][LOSS] += 1.0 / (u * u);
    }
    for (int i = 0; i < problem->parameters; i++) {
        gradient[i] = g[i];
        for (int j = 0; j <= i; j++)
            matrix->at[i][j] = matrix->at[j][i] = m[i][j];
    }
    return chi2;
}

/* Steps are limited to a tenth of a cycle, so that each start keeps to its cycle. */
static bool refine(const struct lines *l, const struct plyecho_transit_task *task, int rounds,
                   struct fit *fit)
{
    double f0 = task->reference_hz;
    const double unit[PARAMETERS] = {1.0, 1.0 / f0, 1.0 / (2.0 * PE_PI * f0), 1.0};
    struct problem problem = {l, task, fit->sign, l->echoes > 2 ? PARAMETERS : LOG_REPEAT};
    struct pe_least_squares plan = {.parameters = problem.parameters,
                                    .unit = unit,
                                    .longest_step = 0.6,
                                    .enough = 2e-5,
                                    .rounds = rounds};
    return pe_least_squares_run(&plan, normal_equations, &problem, fit->p, &fit->result);
}

/* ---- starts ---- */

static double log_ratio(const struct lines *l, int later, int earlier)
{
    return 0.5 * log(fmax(l->power[later], 1e-300) / fmax(l->power[earlier], 1e-300));
}

static struct fit start(const struct lines *l, const struct plyecho_transit_task *task)
{
    double group = task->loss_np_hz / (PE_PI * PE_PI); /* phase delay minus group delay */
    struct fit fit = {.sign = task->sign != 0 ? task->sign : -1};
    fit.p[LOG_RATIO] = log_ratio(l, 1, 0);
    fit.p[LOSS] = task->loss_np_hz;
    fit.p[TIME] = task->second_s - task->first_s + group;
    if (l->echoes > 2)
        fit.p[LOG_REPEAT] = fmin(0.0, log_ratio(l, 2, 1) / (l->passages[2] - 1));
    return fit;
}

/* Chi-squared per degree of freedom, and how much of it its own scatter does not explain; at least 1. */
static double misfit_of(const struct lines *l, const struct fit *fit, double *unexplained)
{
    double freedom = 2.0 * l->count * (l->echoes - 1) * l->tapered -
                     (l->echoes > 2 ? PARAMETERS : LOG_REPEAT);
    freedom = fmax(1.0, freedom);
    double misfit = fit->result.chi2 / freedom;
    *unexplained = fmax(1.0, misfit - sqrt(2.0 / freedom));
    return misfit;
}

/* The fits about the best one: whole cycles off, or half a cycle where the sign is not known. */
struct others {
    struct fit fits[4];
    int count;
};

/* A look at each; those whose chances are not below exp(-30) are refined. Returns the best of them, -1
 * where the fit they surround is better. */
static int try_others(const struct lines *l, const struct plyecho_transit_task *task,
                      const struct fit *best, struct others *others)
{
    double unexplained, least = best->result.chi2;
    int better = -1;
    misfit_of(l, best, &unexplained);
    others->count = 0;
    for (int half = -2; half <= 2; half++) {
        if (half == 0 || (half % 2 != 0 && task->sign != 0))
            continue;
        struct fit *fit = &others->fits[others->count];
        *fit = *best;
        fit->sign = half % 2 != 0 ? -best->sign : best->sign;
        fit->p[TIME] += 0.5 * half / task->reference_hz;
        if (!refine(l, task, LOOK_ROUNDS, fit) ||
            fit->result.chi2 > best->result.chi2 + 60.0 * unexplained ||
            !refine(l, task, ROUNDS, fit))
            continue;
        if (fit->result.chi2 < least) {
            least = fit->result.chi2;
            better = others->count;
        }
        others->count++;
    }
    return better;
}

/* Their chance, and what they would add to the variance. */
static void weigh_others(const struct fit *best, const struct others *others, double misfit,
                         struct plyecho_transit *out)
{
    double total = 1.0, spread = 0.0;
    for (int k = 0; k < others->count; k++) {
        const struct fit *fit = &others->fits[k];
        double apart = fit->p[TIME] - best->p[TIME];
        if (fabs(apart) < 1e-9 && fit->sign == best->sign)
            continue; /* it went back to the best */
        double odds = exp(-0.5 * (fit->result.chi2 - best->result.chi2) / fmax(1.0, misfit));
        total += odds;
        spread += odds * apart * apart;
    }
    out->other_cycle = 1.0 - 1.0 / total;
    out->u_s = sqrt(out->u_s * out->u_s + spread / total);
}

/* The best fit and what it says. false: nothing settles. */
static bool fit_lines(const struct lines *l, const struct plyecho_transit_task *task,
                      struct plyecho_transit *out)
{
    struct fit best = start(l, task);
    struct others others;
    if (!refine(l, task, ROUNDS, &best))
        return false;
    int better = try_others(l, task, &best, &others);
    if (better >= 0) { /* no further: the envelopes' peaks are not more than a cycle off */
        struct fit left = best;
        best = others.fits[better];
        others.fits[better] = left;
    }
    const struct pe_matrix *covariance = &best.result.covariance;
    double unexplained;
    out->time_s = best.p[TIME];
    out->echoes = l->echoes - 1;
    out->ratio = best.sign * exp(best.p[LOG_RATIO]);
    out->loss_np_hz = best.p[LOSS];
    out->misfit = misfit_of(l, &best, &unexplained);
    out->bound_s = sqrt(covariance->at[TIME][TIME]);
    out->u_s = sqrt(unexplained) * out->bound_s;
    out->ratio_u = fabs(out->ratio) * sqrt(unexplained * covariance->at[LOG_RATIO][LOG_RATIO]);
    weigh_others(&best, &others, out->misfit, out);
    return true;
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

    if (!fit_lines(&l, task, out))
        return plyecho_fail(err, PLYECHO_UNSUITABLE, "nothing stands out of the noise");
    if (l.echoes > 2 && out->misfit > most_misfit) {
        struct plyecho_transit two;
        l.echoes = 2;
        if (fit_lines(&l, task, &two) && two.u_s < 0.5 * out->u_s)
            *out = two;
    }
    return PLYECHO_OK;
}
