#include "stack_fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "fourier.h"
#include "least_squares.h"

enum { GATE_GRID = 64, LEAST_LINES = 10, MOST_LINES = 320 };

/* Lines weaker than this share of the pulse's strongest say nothing. */
static const double least_line_share = 0.03;

/* Resin between plies reflects in proportion to frequency, 0.02 at 5 MHz each (common practice, no
 * source), a laminate holds a film every 0.2 mm or so. */
static const double film_per_hz = 0.02 / 5e6, film_every_s = 0.136e-6;

/* A real beam, a pulse that is not quite the reference's. */
static const double beam_error = 0.02;

struct pe_stack_fit {
    double sample_rate_hz;
    struct plyecho_pulse_shape known; /* where it is */
    struct plyecho_band band;
    size_t length;       /* of the transform; 0: none planned yet */
    size_t lines_length; /* that the lines were chosen for */
    float *gate;
    fftwf_complex *bins;
    fftwf_plan forward;
    double reference_hz;
    bool shaped;    /* the pulse is not known: its shape is fitted */
    int lines;      /* evenly spaced */
    double step_hz; /* between them */
    struct pe_line line[MOST_LINES];
    double x[MOST_LINES]; /* -1 to 1 over the band */
    double complex pulse[MOST_LINES], data[MOST_LINES];
    double weight[MOST_LINES], root_weight[MOST_LINES];
};

struct problem {
    const struct pe_stack_fit *fit;
    const struct pe_explanation_fit *fixed; /* the numbers that are not free */
    const struct pe_prior *prior;
    int count, index[PE_MOST_ROWS];
    double unit[PE_MOST_ROWS];
};

static void drop_plan(struct pe_stack_fit *fit)
{
    if (fit->forward != NULL)
        fftwf_destroy_plan(fit->forward);
    fftwf_free(fit->gate);
    fftwf_free(fit->bins);
    fit->forward = NULL;
    fit->gate = NULL;
    fit->bins = NULL;
    fit->length = 0;
}

void pe_stack_fit_free(struct pe_stack_fit *fit)
{
    if (fit == NULL)
        return;
    drop_plan(fit);
    free(fit);
}

enum plyecho_code pe_stack_fit_new(struct pe_stack_fit **out, double sample_rate_hz,
                                   const struct plyecho_pulse_shape *pulse,
                                   struct plyecho_error *err)
{
    *out = NULL;
    if (!(sample_rate_hz > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "sample rate %g Hz: it must be above 0",
                            sample_rate_hz);
    struct pe_stack_fit *fit = pe_alloc(1, sizeof *fit);
    if (fit == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a fit");
    fit->sample_rate_hz = sample_rate_hz;
    fit->shaped = pulse == NULL;
    if (pulse != NULL)
        fit->known = *pulse;
    *out = fit;
    return PLYECHO_OK;
}

static enum plyecho_code plan_length(struct pe_stack_fit *fit, size_t gate,
                                     struct plyecho_error *err)
{
    size_t length = (gate + GATE_GRID - 1) / GATE_GRID * GATE_GRID;
    if (length == fit->length)
        return PLYECHO_OK;
    drop_plan(fit);
    fit->gate = fftwf_alloc_real(length);
    fit->bins = fftwf_alloc_complex(length / 2 + 1);
    if (fit->gate != NULL && fit->bins != NULL)
        fit->forward = fftwf_plan_dft_r2c_1d((int)length, fit->gate, fit->bins, FFTW_ESTIMATE);
    if (fit->forward == NULL) {
        drop_plan(fit);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to fit %zu samples", gate);
    }
    fit->length = length;
    return PLYECHO_OK;
}

/* Fourier transform of a pulse at one frequency, in samples of the trace, its peak at time 0. */
static double complex pulse_line(const struct plyecho_pulse_shape *p, double rate, double hz)
{
    double turn = 2.0 * PE_PI * hz / p->sample_rate_hz;
    double complex step = cexp(-I * turn), at = cexp(I * turn * p->peak_sample), sum = 0.0;
    for (size_t i = 0; i < p->samples; i++) {
        sum += p->amplitude[i] * at;
        at *= step;
    }
    return sum * rate / p->sample_rate_hz;
}

/* A Gaussian envelope of height 1 whose -6 dB band is that of the conditioned trace less what its
 * pass band reaches beyond. */
static double complex gaussian_line(const struct plyecho_conditioned *t, double rate, double hz)
{
    double width = (t->band.high_hz - t->band.low_hz) / 2.5;
    double off = (hz - t->centre_hz) / width;
    return exp(-2.7725887 * off * off) * rate / width * 0.9394;
}

/* Lines, and the pulse there: kept from trace to trace as long as nothing of them changes. */
static void choose_lines(struct pe_stack_fit *fit, const struct plyecho_conditioned *t,
                         const struct pe_stack_gate *gate)
{
    bool same = fit->lines > 0 && fit->lines_length == fit->length &&
                fit->band.low_hz == t->band.low_hz && fit->band.high_hz == t->band.high_hz &&
                fit->reference_hz == gate->reference_hz;
    if (same)
        return;
    fit->lines_length = fit->length;
    fit->band = t->band;
    fit->reference_hz = gate->reference_hz;
    double step = fit->sample_rate_hz / (double)fit->length, strongest = 0.0;
    struct plyecho_band band = fit->band;
    int all = 0;
    for (size_t k = 1; k < fit->length / 2 && all < MOST_LINES; k++) {
        double hz = step * (double)k;
        if (hz < band.low_hz || hz > band.high_hz)
            continue;
        fit->line[all].hz = hz;
        fit->pulse[all] = !fit->shaped ? pulse_line(&fit->known, fit->sample_rate_hz, hz)
                                       : gaussian_line(t, fit->sample_rate_hz, hz);
        strongest = fmax(strongest, cabs(fit->pulse[all++]));
    }
    int from = 0, to = all;
    while (from < to && cabs(fit->pulse[from]) < least_line_share * strongest)
        from++;
    while (to > from && cabs(fit->pulse[to - 1]) < least_line_share * strongest)
        to--;
    double middle = 0.5 * (band.low_hz + band.high_hz),
           half = 0.5 * (band.high_hz - band.low_hz);
    fit->lines = to - from;
    fit->step_hz = step;
    for (int k = 0; k < fit->lines; k++) {
        double hz = fit->line[from + k].hz;
        fit->pulse[k] = fit->pulse[from + k];
        fit->x[k] = (hz - middle) / half;
        fit->line[k] = (struct pe_line){hz, 2.0 * PE_PI * hz,
                                        2.0 / PE_PI * hz * log(hz / gate->reference_hz)};
    }
}

/* Samples of the record from `first` on, with the gap closed or opened. */
static void copy_gate(const struct pe_stack_gate *gate, const struct plyecho_conditioned *t,
                      size_t first, size_t samples, float *out)
{
    double gap = round(gate->gap_s * t->sample_rate_hz);
    double at = ceil((gate->gap_at_s - t->start_s) * t->sample_rate_hz);
    for (size_t i = 0; i < samples; i++) {
        double from = (double)(first + i);
        if (gap != 0.0 && from >= at)
            from = from - gap < at && gap > 0.0 ? -1.0 : from - gap;
        out[i] = from >= 0.0 && from < (double)t->samples ? t->in_phase[(size_t)from] : 0.0f;
    }
}

enum plyecho_code pe_stack_fit_take(struct pe_stack_fit *fit,
                                    const struct plyecho_conditioned *t,
                                    const struct pe_stack_gate *gate, struct plyecho_error *err)
{
    enum { FADE = 8 };
    double rate = fit->sample_rate_hz;
    double end_s = fmin(gate->end_s, t->start_s + (double)t->samples / rate);
    double from = fmax(0.0, (gate->origin_s - t->pulse_s - t->start_s) * rate);
    double to = (end_s - t->start_s) * rate;
    if (!t->has_sign || t->sample_rate_hz != rate || to - from < 32.0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the record does not hold the wall's echoes");
    size_t first = (size_t)from, samples = (size_t)to - first;
    enum plyecho_code code = plan_length(fit, samples, err);
    if (code != PLYECHO_OK)
        return code;
    choose_lines(fit, t, gate);
    if (fit->lines < LEAST_LINES || fit->lines >= MOST_LINES)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "%d spectral lines: the wall is too thick, or the band too narrow, "
                            "for a fit of stacks",
                            fit->lines);
    memset(fit->gate, 0, fit->length * sizeof *fit->gate);
    copy_gate(gate, t, first, samples, fit->gate);
    for (size_t i = 0; i < FADE && i < samples; i++) {
        float w = (float)(0.5 - 0.5 * cos(PE_PI * ((double)i + 0.5) / FADE));
        fit->gate[i] *= w;
        fit->gate[samples - 1 - i] *= w;
    }
    fftwf_execute(fit->forward);
    double step = rate / (double)fit->length;
    double late = gate->origin_s - t->start_s - (double)first / rate;
    double share = (t->band.high_hz - t->band.low_hz) / (rate / 2.0);
    double noise = t->noise * t->noise / fmax(share, 1e-3) * (double)samples;
    double films = fmax(1.0, gate->wall_s / film_every_s);
    double crowd = fmax(1.0, (double)fit->length / rate / gate->wall_s);
    for (int k = 0; k < fit->lines; k++) {
        size_t bin = (size_t)lround(fit->line[k].hz / step);
        double turn = fit->line[k].omega * late;
        fit->data[k] = (double complex)fit->bins[bin] * (cos(turn) + I * sin(turn));
        double own = gate->full_scale * cabs(fit->pulse[k]);
        double lost = 2.0 * gate->slope * fit->line[k].hz * gate->wall_s;
        double ply =
            film_per_hz * fit->line[k].hz * sqrt(lost > 1e-6 ? (1.0 - exp(-lost)) / lost : 1.0);
        double astray = own * own * (films * ply * ply + beam_error * beam_error) * crowd;
        fit->weight[k] = 2.0 / (noise + astray);
        fit->root_weight[k] = sqrt(fit->weight[k]);
    }
    return PLYECHO_OK;
}

void pe_stack_fit_invert(struct pe_stack_fit *fit)
{
    for (int k = 0; k < fit->lines; k++)
        fit->data[k] = -fit->data[k];
}

size_t pe_stack_fit_lines(const struct pe_stack_fit *fit)
{
    return (size_t)fit->lines;
}

static double unit_of(const struct pe_stack_fit *fit, int number)
{
    switch (number) {
    case PE_START:
    case PE_TRANSIT:
    case PE_DEPTH:
    case PE_FILM_TIME:
    case PE_COAT_TIME:
        return 1.0 / (2.0 * PE_PI * fit->reference_hz);
    case PE_SLOPE:
        return 1e6 / fit->reference_hz;
    default:
        return 1.0;
    }
}

static void place_numbers(const struct problem *p, const double *parameters,
                          struct pe_explanation_fit *at)
{
    *at = *p->fixed;
    for (int i = 0; i < p->count; i++) {
        int n = p->index[i];
        if (n < PE_STACK_NUMBERS)
            at->stack.number[n] = parameters[i];
        else
            at->shape[n - PE_STACK_NUMBERS] = parameters[i];
    }
}

/* Exponents of x for the shape's terms: b_0, a_1, a_2, b_2, a_3, b_3. */
static const struct {
    int power;
    bool turns;
} terms[PE_SHAPE_TERMS] = {{0, true}, {1, false}, {2, false}, {2, true}, {3, false}, {3, true}};

/* The pulse with its amplitude, start and shape: all but the reflection. */
static double complex carrier_line(const struct pe_stack_fit *fit,
                                   const struct pe_explanation_fit *at, double amplitude, int k,
                                   double powers[4])
{
    double x = fit->x[k], bend = 0.0, turn = -fit->line[k].omega * at->stack.number[PE_START];
    powers[0] = 1.0;
    for (int i = 1; i < 4; i++)
        powers[i] = powers[i - 1] * x;
    for (int i = 0; i < PE_SHAPE_TERMS && fit->shaped; i++)
        *(terms[i].turns ? &turn : &bend) += at->shape[i] * powers[terms[i].power];
    double size = fit->shaped ? amplitude * exp(bend) : amplitude;
    return fit->pulse[k] * (size * cos(turn) + I * (size * sin(turn)));
}

void pe_stack_fit_scan(const struct pe_stack_fit *fit, const struct pe_explanation_fit *at,
                       bool front_only, double step_s, int count, struct pe_stray *stray)
{
    const double *number = at->stack.number;
    double complex left[MOST_LINES], turn[MOST_LINES];
    double amplitude = exp(number[PE_AMPLITUDE]), size[MOST_LINES];
    struct pe_stack_walk walk;
    pe_stack_walk_start(&walk, &at->stack, fit->line[0].hz, fit->step_hz);
    for (int k = 0; k < fit->lines; k++) {
        double powers[4];
        double complex by[PE_STACK_NUMBERS];
        double complex carrier = carrier_line(fit, at, amplitude, k, powers);
        double complex g = pe_stack_walk_on(&walk, &fit->line[k], by);
        if (front_only)
            g = number[PE_FRONT] * exp(number[PE_JITTER]);
        double complex residual = fit->data[k] - carrier * g;
        double phase = fit->line[k].omega * step_s;
        left[k] = fit->weight[k] * residual * conj(carrier);
        turn[k] = cos(phase) + I * sin(phase);
        size[k] = fit->weight[k] * creal(carrier * conj(carrier));
    }
    for (int i = 0; i < count; i++) {
        double complex sum = 0.0;
        double energy = 0.0;
        for (int k = 0; k < fit->lines; k++) {
            sum += left[k];
            energy += size[k];
            left[k] *= turn[k];
        }
        stray[i].size = sum / energy;
        stray[i].gain = creal(sum * conj(sum)) / energy;
    }
}

double pe_stack_fit_align(const struct pe_stack_fit *fit, double reach_s)
{
    double step = 0.05 / fit->reference_hz, best = -INFINITY, at = 0.0;
    double complex left[MOST_LINES], turn[MOST_LINES];
    for (int k = 0; k < fit->lines; k++) {
        double phase = -fit->line[k].omega * reach_s;
        left[k] =
            fit->weight[k] * fit->data[k] * conj(fit->pulse[k]) * (cos(phase) + I * sin(phase));
        phase = fit->line[k].omega * step;
        turn[k] = cos(phase) + I * sin(phase);
    }
    for (double late = -reach_s; late <= reach_s; late += step) {
        double sum = 0.0;
        for (int k = 0; k < fit->lines; k++) {
            sum += creal(left[k]);
            left[k] *= turn[k];
        }
        if (sum > best) {
            best = sum;
            at = late;
        }
    }
    return at;
}

/* Derivatives and residual of all lines, weighted, real and imaginary parts one after the other. */
struct columns {
    double by[PE_MOST_ROWS][2 * MOST_LINES];
    double residual[2 * MOST_LINES];
};

static double dot(const double *a, const double *b, int count)
{
    double sum[4] = {0.0, 0.0, 0.0, 0.0};
    int i = 0;
    for (; i + 4 <= count; i += 4)
        for (int k = 0; k < 4; k++)
            sum[k] += a[i + k] * b[i + k];
    for (; i < count; i++)
        sum[0] += a[i] * b[i];
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

static void fill_columns(const struct problem *p, const struct pe_explanation_fit *at,
                         struct columns *c)
{
    const struct pe_stack_fit *fit = p->fit;
    struct pe_stack_walk walk;
    double amplitude = exp(at->stack.number[PE_AMPLITUDE]);
    pe_stack_walk_start(&walk, &at->stack, fit->line[0].hz, fit->step_hz);
    for (int k = 0; k < fit->lines; k++) {
        const struct pe_line *line = &fit->line[k];
        double complex by[PE_STACK_NUMBERS];
        double powers[4], root = fit->root_weight[k];
        double complex g = pe_stack_walk_on(&walk, line, by);
        double complex carrier = root * carrier_line(fit, at, amplitude, k, powers);
        double complex model = carrier * g, residual = root * fit->data[k] - model;
        c->residual[2 * k] = creal(residual);
        c->residual[2 * k + 1] = cimag(residual);
        for (int i = 0; i < p->count; i++) {
            int m = p->index[i];
            double complex d;
            if (m >= PE_STACK_NUMBERS)
                d = model * powers[terms[m - PE_STACK_NUMBERS].power] *
                    (terms[m - PE_STACK_NUMBERS].turns ? I : 1.0);
            else if (m == PE_AMPLITUDE)
                d = model;
            else if (m == PE_START)
                d = model * (-I * line->omega * p->unit[i]);
            else
                d = carrier * by[m] * p->unit[i];
            c->by[i][2 * k] = creal(d);
            c->by[i][2 * k + 1] = cimag(d);
        }
    }
}

static double equations(const void *problem, const double *parameters, struct pe_matrix *matrix,
                        double *gradient)
{
    const struct problem *p = problem;
    struct pe_explanation_fit at;
    struct columns c;
    int n = p->count, rows = 2 * p->fit->lines;
    place_numbers(p, parameters, &at);
    const double *number = at.stack.number;
    if (fabs(number[PE_FRONT]) > 1.0 || fabs(number[PE_STEP_THERE]) > 0.95 ||
        number[PE_TRANSIT] <= 0.0)
        return INFINITY;
    fill_columns(p, &at, &c);
    double chi2 = dot(c.residual, c.residual, rows);
    for (int i = 0; i < n; i++) {
        gradient[i] = dot(c.by[i], c.residual, rows);
        for (int j = 0; j <= i; j++)
            matrix->at[i][j] = matrix->at[j][i] = dot(c.by[i], c.by[j], rows);
        const struct pe_prior *prior = &p->prior[p->index[i]];
        if (prior->u <= 0.0)
            continue;
        double u = prior->u / p->unit[i], off = (parameters[i] - prior->mean) / p->unit[i];
        chi2 += off * off / (u * u);
        gradient[i] -= off / (u * u);
        matrix->at[i][i] += 1.0 / (u * u);
    }
    return chi2;
}

/* The free numbers and where they stand. false: too many. */
static bool set_problem(const struct pe_stack_fit *fit, const bool *free,
                        const struct pe_prior *prior, const struct pe_explanation_fit *at,
                        struct problem *p, double *parameters)
{
    *p = (struct problem){.fit = fit, .fixed = at, .prior = prior};
    for (int n = 0; n < PE_FIT_NUMBERS; n++) {
        if (!free[n])
            continue;
        if (p->count == PE_MOST_ROWS)
            return false;
        p->unit[p->count] = unit_of(fit, n);
        parameters[p->count] =
            n < PE_STACK_NUMBERS ? at->stack.number[n] : at->shape[n - PE_STACK_NUMBERS];
        p->index[p->count++] = n;
    }
    return true;
}

/* Share of an echo's energy that no change of the free numbers looks like. */
static double own_share(const struct columns *c, int count, int rows,
                        const struct pe_matrix *covariance, const double *echo)
{
    double by[PE_MOST_ROWS], all = dot(echo, echo, rows), own = all;
    for (int i = 0; i < count; i++)
        by[i] = dot(c->by[i], echo, rows);
    for (int i = 0; i < count; i++)
        for (int j = 0; j < count; j++)
            own -= by[i] * covariance->at[i][j] * by[j];
    return own / all;
}

/* First delay, from start_s on in steps of step_s (either sign), at which the echo is seen. */
static bool first_seen(const struct problem *p, const struct columns *c,
                       const struct pe_matrix *covariance, double share, double start_s,
                       double step_s, int steps, double *seen_s)
{
    const struct pe_stack_fit *fit = p->fit;
    const double *n = p->fixed->stack.number;
    double echo[2 * MOST_LINES], amplitude = exp(n[PE_AMPLITUDE]);
    double through = -(1.0 - n[PE_FRONT] * n[PE_FRONT]);
    double complex at[MOST_LINES], turn[MOST_LINES];
    for (int k = 0; k < fit->lines; k++) {
        const struct pe_line *line = &fit->line[k];
        double powers[4];
        double complex per_s = n[PE_SLOPE] * (-line->hz + I * line->bend) - I * line->omega;
        double complex carrier =
            fit->root_weight[k] * carrier_line(fit, p->fixed, amplitude, k, powers);
        at[k] = through * carrier * cexp(per_s * start_s);
        turn[k] = cexp(per_s * step_s);
    }
    for (int i = 0; i < steps; i++) {
        for (int k = 0; k < fit->lines; k++) {
            echo[2 * k] = creal(at[k]);
            echo[2 * k + 1] = cimag(at[k]);
            at[k] *= turn[k];
        }
        if (own_share(c, p->count, 2 * fit->lines, covariance, echo) >= share) {
            *seen_s = start_s + i * step_s;
            return true;
        }
    }
    return false;
}

bool pe_stack_fit_visible(const struct pe_stack_fit *fit, const bool *free,
                          const struct pe_prior *prior, const struct pe_explanation_fit *at,
                          double share, double *from_s, double *to_s)
{
    struct problem p;
    struct columns c;
    struct pe_matrix matrix, covariance;
    double parameters[PE_MOST_ROWS], gradient[PE_MOST_ROWS];
    double step = 0.1 / fit->reference_hz;
    int steps = (int)fmax(0.0, (*to_s - *from_s) / step) + 1;
    if (!set_problem(fit, free, prior, at, &p, parameters) ||
        !isfinite(equations(&p, parameters, &matrix, gradient)) ||
        !pe_invert(p.count, &matrix, &covariance))
        return false;
    fill_columns(&p, at, &c);
    return first_seen(&p, &c, &covariance, share, *from_s, step, steps, from_s) &&
           first_seen(&p, &c, &covariance, share, *to_s, -step, steps, to_s) && *to_s > *from_s;
}

bool pe_stack_fit_run(const struct pe_stack_fit *fit, const bool *free,
                      const struct pe_prior *prior, double hopeless,
                      struct pe_explanation_fit *out)
{
    struct pe_explanation_fit start = *out;
    struct problem problem;
    double parameters[PE_MOST_ROWS];
    memset(out->u, 0, sizeof out->u);
    if (!set_problem(fit, free, prior, &start, &problem, parameters))
        return false;
    struct pe_least_squares plan = {.parameters = problem.count,
                                    .unit = problem.unit,
                                    .longest_step = 0.5,

                                    .enough = 3e-3,
                                    .rounds = 16,
                                    .hopeless = hopeless};
    struct pe_least_squares_result result;
    if (!pe_least_squares_run(&plan, equations, &problem, parameters, &result))
        return false;
    place_numbers(&problem, parameters, out);
    out->chi2 = result.chi2;
    out->log_evidence = -0.5 * result.chi2;
    struct pe_matrix l = result.covariance;
    for (int i = 0; i < problem.count; i++) {
        double u = sqrt(l.at[i][i]);
        out->u[problem.index[i]] = u;
        const struct pe_prior *p = &prior[problem.index[i]];
        if (p->u > 0.0)
            out->log_evidence -= log(p->u * 2.5066282746310002);
    }
    /* log of the determinant of the covariance, by elimination */
    for (int i = 0; i < problem.count; i++) {
        double pivot = l.at[i][i];
        if (!(pivot > 0.0))
            return false;
        out->log_evidence += 0.5 * log(pivot) + 0.91893853320467274;
        for (int r = i + 1; r < problem.count; r++) {
            double factor = l.at[r][i] / pivot;
            for (int c = i; c < problem.count; c++)
                l.at[r][c] -= factor * l.at[i][c];
        }
    }
    return true;
}
