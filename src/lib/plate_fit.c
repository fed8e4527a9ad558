#include <plyecho/plate_fit.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "fourier.h"
#include "small_matrix.h"

enum { GATE_GRID = 256, MOST_ECHOES = 4, ITERATIONS = 15, MOST_CYCLES = 2 };
enum parameter { LOG_AMPLITUDE, START, REFLECTION, LOSS, TRANSIT, PARAMETERS };

/* Lines weaker than this share of the pulse's strongest say nothing. */
static const double least_line_share = 0.02;

/* Gates are transformed at a length from a coarse grid, so that a plan serves many traces and the
 * result does not depend on which came before. */
struct plyecho_plate_fit {
    struct plyecho_pulse_shape pulse;
    struct plyecho_band band;
    double sample_rate_hz;
    size_t length;       /* of the transform; 0: none planned yet */
    float *gate;         /* length long */
    fftwf_complex *bins; /* length / 2 + 1 long */
    fftwf_plan forward;
    size_t lines;
    double *hz;            /* lines long each */
    double complex *shape; /* the pulse's spectrum, its peak at time 0 */
    double complex *data;  /* the gate's spectrum, time 0 at the gate's first sample */
};

struct state {
    double p[PARAMETERS];
    struct pe_matrix covariance;
    double chi2;
};

static void drop_plan(struct plyecho_plate_fit *fit)
{
    if (fit->forward != NULL)
        fftwf_destroy_plan(fit->forward);
    fftwf_free(fit->gate);
    fftwf_free(fit->bins);
    free(fit->hz);
    free(fit->shape);
    free(fit->data);
    fit->forward = NULL;
    fit->gate = NULL;
    fit->bins = NULL;
    fit->hz = NULL;
    fit->shape = fit->data = NULL;
    fit->length = 0;
}

void plyecho_plate_fit_free(struct plyecho_plate_fit *fit)
{
    if (fit == NULL)
        return;
    drop_plan(fit);
    free(fit);
}

enum plyecho_code plyecho_plate_fit_new(struct plyecho_plate_fit **out,
                                        const struct plyecho_pulse_shape *pulse,
                                        const struct plyecho_band *band, double sample_rate_hz,
                                        struct plyecho_error *err)
{
    *out = NULL;
    if (pulse->samples < 2 || pulse->samples > PLYECHO_PULSE_ROOM || !(sample_rate_hz > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a pulse of %zu samples: 2 to %d serve",
                            pulse->samples, PLYECHO_PULSE_ROOM);
    struct plyecho_plate_fit *fit = pe_alloc(1, sizeof *fit);
    if (fit == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a fit");
    fit->pulse = *pulse;
    fit->band = *band;
    fit->sample_rate_hz = sample_rate_hz;
    *out = fit;
    return PLYECHO_OK;
}

/* Fourier transform of the pulse at one frequency, in samples of the trace. */
static double complex pulse_line(const struct plyecho_plate_fit *fit, double hz)
{
    const struct plyecho_pulse_shape *p = &fit->pulse;
    double turn = 2.0 * PE_PI * hz / p->sample_rate_hz;
    double complex step = cexp(-I * turn), at = cexp(I * turn * p->peak_sample), sum = 0.0;
    for (size_t i = 0; i < p->samples; i++) {
        sum += p->amplitude[i] * at;
        at *= step;
    }
    return sum * fit->sample_rate_hz / p->sample_rate_hz;
}

/* The lines of the band in which the pulse is strong enough. */
static void choose_lines(struct plyecho_plate_fit *fit)
{
    double step = fit->sample_rate_hz / (double)fit->length, strongest = 0.0;
    size_t all = 0;
    for (size_t k = 1; k < fit->length / 2; k++) {
        double hz = step * (double)k;
        if (hz < fit->band.low_hz || hz > fit->band.high_hz)
            continue;
        fit->hz[all] = hz;
        fit->shape[all] = pulse_line(fit, hz);
        strongest = fmax(strongest, cabs(fit->shape[all++]));
    }
    fit->lines = 0;
    for (size_t k = 0; k < all; k++)
        if (cabs(fit->shape[k]) > least_line_share * strongest) {
            fit->hz[fit->lines] = fit->hz[k];
            fit->shape[fit->lines++] = fit->shape[k];
        }
}

static enum plyecho_code plan_length(struct plyecho_plate_fit *fit, size_t gate,
                                     struct plyecho_error *err)
{
    size_t length = (gate + GATE_GRID - 1) / GATE_GRID * GATE_GRID;
    if (length == fit->length)
        return PLYECHO_OK;
    drop_plan(fit);
    size_t most = length / 2 + 1;
    fit->gate = fftwf_alloc_real(length);
    fit->bins = fftwf_alloc_complex(most);
    fit->hz = pe_alloc(most, sizeof *fit->hz);
    fit->shape = pe_alloc(most, sizeof *fit->shape);
    fit->data = pe_alloc(most, sizeof *fit->data);
    bool whole = fit->gate != NULL && fit->bins != NULL && fit->hz != NULL &&
                 fit->shape != NULL && fit->data != NULL;
    if (whole)
        fit->forward = fftwf_plan_dft_r2c_1d((int)length, fit->gate, fit->bins, FFTW_ESTIMATE);
    if (fit->forward == NULL) {
        drop_plan(fit);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to fit %zu samples", gate);
    }
    fit->length = length;
    choose_lines(fit);
    return PLYECHO_OK;
}

/* ---- the model ---- */

struct gate {
    size_t first, samples; /* stretch of the record */
    int echoes;            /* back-wall echoes within it */
    double weight;         /* of a line: its share of what the gate can tell, over the noise */
};

/* Reflection of the layer and its derivatives by r and by E. */
static double complex reflection(double r, double complex e, int echoes, double complex *by_r,
                                 double complex *by_e)
{
    double complex sum = 0.0, sum_r = 0.0, sum_e = 0.0, power = 1.0; /* E^(n-1) */
    double r_power = 1.0;                                            /* r^(n-1) */
    for (int n = 1; n <= echoes; n++) {
        sum += r_power * power * e;
        sum_e += n * r_power * power;
        if (n > 1)
            sum_r += (n - 1) * r_power / r * power * e;
        power *= e;
        r_power *= r;
    }
    double through = 1.0 - r * r;
    *by_r = 1.0 + 2.0 * r * sum - through * sum_r;
    *by_e = -through * sum_e;
    return r - through * sum;
}

static double normal_equations(const struct plyecho_plate_fit *fit, const struct gate *gate,
                               const struct plyecho_plate_task *task, const struct state *s,
                               struct pe_matrix *matrix, double gradient[PARAMETERS])
{
    double f0 = task->reference_hz, amplitude = exp(s->p[LOG_AMPLITUDE]), chi2 = 0.0;
    memset(matrix, 0, sizeof *matrix);
    memset(gradient, 0, sizeof(double) * PARAMETERS);
    for (size_t k = 0; k < fit->lines; k++) {
        double f = fit->hz[k], bend = 2.0 / PE_PI * f * log(f / f0);
        double complex e = exp(-s->p[LOSS] * f) *
                           cexp(I * (-2.0 * PE_PI * f * s->p[TRANSIT] + s->p[LOSS] * bend));
        double complex by_r, by_e;
        double complex g = reflection(s->p[REFLECTION], e, gate->echoes, &by_r, &by_e);
        double complex carrier =
            amplitude * fit->shape[k] * cexp(-2.0 * PE_PI * I * f * s->p[START]);
        double complex model = carrier * g, residual = fit->data[k] - model;
        /* scaled units: time in 1 / (2 pi f0), loss in 1 / f0 */
        const double complex d[PARAMETERS] = {
            [LOG_AMPLITUDE] = model,
            [START] = model * (-I * f / f0),
            [REFLECTION] = carrier * by_r,
            [LOSS] = carrier * by_e * e * (-f + I * bend) / f0,
            [TRANSIT] = carrier * by_e * e * (-I * f / f0),
        };
        chi2 += gate->weight *
                (creal(residual) * creal(residual) + cimag(residual) * cimag(residual));
        for (int i = 0; i < PARAMETERS; i++) {
            gradient[i] += gate->weight * creal(conj(d[i]) * residual);
            for (int j = 0; j <= i; j++)
                matrix->at[i][j] += gate->weight * creal(conj(d[i]) * d[j]);
        }
    }
    if (task->loss_u_np_hz > 0.0) {
        double u = task->loss_u_np_hz * f0, off = (s->p[LOSS] - task->loss_np_hz) * f0;
        chi2 += off * off / (u * u);
        gradient[LOSS] -= off / (u * u);
        matrix->at[LOSS][LOSS] += 1.0 / (u * u);
    }
    for (int i = 0; i < PARAMETERS; i++)
        for (int j = i + 1; j < PARAMETERS; j++)
            matrix->at[i][j] = matrix->at[j][i];
    return chi2;
}

/* Gauss-Newton with steps of at most a tenth of a cycle. */
static bool refine(const struct plyecho_plate_fit *fit, const struct gate *gate,
                   const struct plyecho_plate_task *task, struct state *s)
{
    double f0 = task->reference_hz, cycle = 1.0 / (2.0 * PE_PI * f0);
    const double unit[PARAMETERS] = {1.0, cycle, 1.0, 1.0 / f0, cycle};
    struct pe_matrix matrix, inverse;
    double gradient[PARAMETERS];
    for (int round = 0; round < ITERATIONS; round++) {
        normal_equations(fit, gate, task, s, &matrix, gradient);
        if (!pe_invert(PARAMETERS, &matrix, &inverse))
            return false;
        double largest = pe_newton_step(PARAMETERS, &inverse, gradient, unit, 0.5, s->p);
        if (!(fabs(s->p[REFLECTION]) < 0.95) || fabs(s->p[REFLECTION]) < 1e-3)
            return false;
        if (largest < 1e-6)
            break;
    }
    s->chi2 = normal_equations(fit, gate, task, s, &matrix, gradient);
    if (!pe_invert(PARAMETERS, &matrix, &inverse) || !isfinite(s->chi2))
        return false;
    pe_in_units(PARAMETERS, &inverse, unit, &s->covariance);
    return true;
}

/* ---- one trace ---- */

/* From a pulse length before the front to behind the last echo that fits: half a wall, or two pulse
 * lengths where that is shorter. */
static bool choose_gate(const struct plyecho_conditioned *t,
                        const struct plyecho_plate_task *task, struct gate *gate)
{
    double rate = t->sample_rate_hz;
    double end_s = fmin(task->end_s, t->start_s + (double)t->samples / rate);
    int echoes = (int)floor((end_s - task->front_s - t->pulse_s) / task->transit_s);
    gate->echoes = echoes < MOST_ECHOES ? echoes : MOST_ECHOES;
    double first = (task->front_s - t->pulse_s - t->start_s) * rate;
    double last = (task->front_s + gate->echoes * task->transit_s +
                   fmin(0.5 * task->transit_s, 2.0 * t->pulse_s) - t->start_s) *
                  rate;
    if (gate->echoes < 1 || first < 0.0)
        return false;
    gate->first = (size_t)first;
    gate->samples = (size_t)fmin(last, (end_s - t->start_s) * rate) - gate->first;
    return true;
}

/* The gate's spectrum, its first and last samples faded. */
static void take_data(struct plyecho_plate_fit *fit, const struct plyecho_conditioned *t,
                      struct gate *gate)
{
    enum { FADE = 8 };
    memset(fit->gate, 0, fit->length * sizeof *fit->gate);
    memcpy(fit->gate, t->in_phase + gate->first, gate->samples * sizeof *fit->gate);
    for (size_t i = 0; i < FADE && i < gate->samples; i++) {
        float w = (float)(0.5 - 0.5 * cos(PE_PI * ((double)i + 0.5) / FADE));
        fit->gate[i] *= w;
        fit->gate[gate->samples - 1 - i] *= w;
    }
    fftwf_execute(fit->forward);
    double step = fit->sample_rate_hz / (double)fit->length;
    for (size_t k = 0; k < fit->lines; k++) {
        size_t bin = (size_t)lround(fit->hz[k] / step);
        fit->data[k] = (double complex)fit->bins[bin];
    }
    double share = (t->band.high_hz - t->band.low_hz) / (t->sample_rate_hz / 2.0);
    double variance = t->noise * t->noise / fmax(share, 1e-3) * (double)gate->samples;
    /* padding makes more lines than are independent */
    gate->weight = 2.0 / variance * (double)gate->samples / (double)fit->length;
}

/* What the starts that were not taken would add: their chance, and the variance of the transit. */
static void weigh_cycles(const struct state *states, int count, int best, double hz,
                         struct plyecho_plate *plate)
{
    double total = 0.0, other = 0.0, spread = 0.0, scale = fmax(1.0, plate->misfit);
    for (int k = 0; k < count; k++) {
        double apart = states[k].p[TRANSIT] - states[best].p[TRANSIT];
        if (k != best && fabs(apart) < 0.1 / hz)
            continue; /* two starts that met */
        double odds = exp(-0.5 * (states[k].chi2 - states[best].chi2) / scale);
        total += odds;
        spread += odds * apart * apart;
        other += k != best ? odds : 0.0;
    }
    plate->other_cycle = other / total;
    plate->transit_u_s = sqrt(plate->transit_u_s * plate->transit_u_s + spread / total);
}

static double start_log_amplitude(const struct plyecho_plate_fit *fit,
                                  const struct plyecho_conditioned *t,
                                  const struct plyecho_plate_task *task)
{
    double x = (task->front_s - t->start_s) * t->sample_rate_hz;
    double front = t->envelope[(size_t)lround(fmax(x, 0.0))];
    double peak = 0.0; /* the pulse's own envelope peak, from its strongest half-cycle */
    for (size_t i = 0; i < fit->pulse.samples; i++)
        peak = fmax(peak, fabs(fit->pulse.amplitude[i]));
    return log(fmax(front, 1e-30) / (fmax(peak, 1e-30) * fabs(task->front_reflection)));
}

enum plyecho_code plyecho_plate_fit_run(struct plyecho_plate_fit *fit,
                                        const struct plyecho_conditioned *t,
                                        const struct plyecho_plate_task *task,
                                        struct plyecho_plate *plate, struct plyecho_error *err)
{
    memset(plate, 0, sizeof *plate);
    struct gate gate;
    if (!t->has_sign || t->sample_rate_hz != fit->sample_rate_hz ||
        !choose_gate(t, task, &gate))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the record does not hold the first back-wall echo");
    enum plyecho_code code = plan_length(fit, gate.samples, err);
    if (code != PLYECHO_OK)
        return code;
    take_data(fit, t, &gate);
    struct state states[2 * MOST_CYCLES + 1];
    int count = 0, best = -1, cycles = task->cycles < MOST_CYCLES ? task->cycles : MOST_CYCLES;
    for (int cycle = -cycles; cycle <= cycles && fit->lines > PARAMETERS; cycle++) {
        struct state *s = &states[count];
        *s = (struct state){
            .p = {
                [LOG_AMPLITUDE] = start_log_amplitude(fit, t, task),
                [START] = task->front_s - t->start_s - (double)gate.first / t->sample_rate_hz,
                [REFLECTION] = task->front_reflection,
                [LOSS] = task->loss_np_hz,
                [TRANSIT] = task->transit_s + cycle / task->reference_hz,
            }};
        if (!refine(fit, &gate, task, s))
            continue;
        if (best < 0 || s->chi2 < states[best].chi2)
            best = count;
        count++;
    }
    if (best < 0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the fit of the whole trace does not settle");
    const struct state *s = &states[best];
    double independent = (double)gate.samples / (double)fit->length;
    double freedom = 2.0 * (double)fit->lines * independent - PARAMETERS;
    plate->misfit = s->chi2 / fmax(freedom, 1.0);
    plate->transit_s = s->p[TRANSIT];
    plate->transit_bound_s = sqrt(s->covariance.at[TRANSIT][TRANSIT]);
    plate->transit_u_s = plate->transit_bound_s * sqrt(fmax(1.0, plate->misfit));
    weigh_cycles(states, count, best, task->reference_hz, plate);
    plate->front_reflection = s->p[REFLECTION];
    plate->loss_np_hz = s->p[LOSS];
    plate->amplitude = exp(s->p[LOG_AMPLITUDE]);
    return PLYECHO_OK;
}
