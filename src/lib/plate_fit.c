#include <plyecho/plate_fit.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <fftw3.h>

#include "alloc.h"
#include "band_gain.h"
#include "least_squares.h"
#include "pi.h"

enum { GATE_GRID = 256, MOST_ECHOES = 4, ROUNDS = 20, MOST_CYCLES = 2 };
enum parameter { LOG_AMPLITUDE, START, REFLECTION, LOSS, TRANSIT, PARAMETERS };
_Static_assert((int)PARAMETERS <= (int)PE_MOST_ROWS,
               "a fit's numbers have to fit into a matrix");

/* Lines weaker than this share of the pulse's strongest say nothing. */
static const double least_line_share = 0.02;

/* Gates are transformed at a length from a coarse grid, so that a plan serves many traces and the
 * result does not depend on which came before. */
struct plyecho_plate_fit {
    struct plyecho_pulse_shape pulse;
    struct plyecho_band band;
    double sample_rate_hz;
    size_t length;    /* of the transform; 0: none planned yet */
    float *gate;      /* length long */
    float (*bins)[2]; /* length / 2 + 1 long: an fftwf_complex is two floats */
    fftwf_plan forward;
    size_t lines;
    struct line *line; /* lines long */
};

/* One line of the spectrum. Real and imaginary parts stand apart, because complex products in C look for
 * infinities. */
struct line {
    double hz;
    size_t bin;
    double weight; /* 1 where the band passes everything; noise is less in its edges */
    double shape_re, shape_im; /* the pulse, its peak at time 0 */
    double re, im;             /* the gate, time 0 at its first sample */
};

struct state {
    double p[PARAMETERS];
    struct pe_least_squares_result result;
};

static void drop_plan(struct plyecho_plate_fit *fit)
{
    if (fit->forward != NULL)
        fftwf_destroy_plan(fit->forward);
    fftwf_free(fit->gate);
    fftwf_free(fit->bins);
    free(fit->line);
    fit->forward = NULL;
    fit->gate = NULL;
    fit->bins = NULL;
    fit->line = NULL;
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
static void take_shape(const struct plyecho_plate_fit *fit, struct line *line)
{
    const struct plyecho_pulse_shape *p = &fit->pulse;
    double turn = 2.0 * PE_PI * line->hz / p->sample_rate_hz;
    double step_re = cos(turn), step_im = -sin(turn), re = 0.0, im = 0.0;
    double at_re = cos(turn * p->peak_sample), at_im = sin(turn * p->peak_sample);
    for (size_t i = 0; i < p->samples; i++) {
        re += p->amplitude[i] * at_re;
        im += p->amplitude[i] * at_im;
        double turned = at_re * step_re - at_im * step_im;
        at_im = at_re * step_im + at_im * step_re;
        at_re = turned;
    }
    double scale = fit->sample_rate_hz / p->sample_rate_hz;
    line->shape_re = re * scale;
    line->shape_im = im * scale;
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
        struct line *line = &fit->line[all++];
        double gain = pe_band_gain(&fit->band, 0.5 * fit->sample_rate_hz, hz);
        *line = (struct line){.hz = hz, .bin = k, .weight = 1.0 / (gain * gain)};
        take_shape(fit, line);
        strongest = fmax(strongest, hypot(line->shape_re, line->shape_im));
    }
    fit->lines = 0;
    for (size_t k = 0; k < all; k++)
        if (hypot(fit->line[k].shape_re, fit->line[k].shape_im) > least_line_share * strongest)
            fit->line[fit->lines++] = fit->line[k];
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
    fit->line = pe_alloc(most, sizeof *fit->line);
    if (fit->gate != NULL && fit->bins != NULL && fit->line != NULL)
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

/* What the equations need; the parameters stand apart. */
struct problem {
    const struct plyecho_plate_fit *fit;
    const struct gate *gate;
    const struct plyecho_plate_task *task;
};

struct number {
    double re, im;
};

static struct number times(struct number a, struct number b)
{
    return (struct number){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/* Reflection of the layer, its derivative by r, and E times its derivative by E. */
struct reflection {
    struct number whole, by_r, by_e;
};

static struct reflection reflect(double r, struct number e, int echoes)
{
    struct number sum = {0.0, 0.0}, sum_r = {0.0, 0.0}, sum_e = {0.0, 0.0}, power = e; /* E^n */
    double weight = 1.0, weight_r = 0.0; /* r^(n-1) and its derivative */
    double through = 1.0 - r * r;
    for (int n = 1; n <= echoes; n++) {
        sum = (struct number){sum.re + weight * power.re, sum.im + weight * power.im};
        sum_r = (struct number){sum_r.re + weight_r * power.re, sum_r.im + weight_r * power.im};
        sum_e =
            (struct number){sum_e.re + n * weight * power.re, sum_e.im + n * weight * power.im};
        power = times(power, e);
        weight_r = n * weight;
        weight *= r;
    }
    return (struct reflection){
        .whole = {r - through * sum.re, -through * sum.im},
        .by_r = {1.0 + 2.0 * r * sum.re - through * sum_r.re,
                 2.0 * r * sum.im - through * sum_r.im},
        .by_e = {-through * sum_e.re, -through * sum_e.im},
    };
}

/* The model of one line and its derivatives, in scaled units: times in 1 / (2 pi f0), loss in 1 / f0. */
static struct number model_line(const struct problem *problem, const struct line *line,
                                const double *p, double amplitude, struct number d[PARAMETERS])
{
    double f0 = problem->task->reference_hz, f = line->hz;
    double bend = 2.0 / PE_PI * f * log(f / f0), size = exp(-p[LOSS] * f);
    double phase = -2.0 * PE_PI * f * p[TRANSIT] + p[LOSS] * bend;
    struct number e = {size * cos(phase), size * sin(phase)};
    struct reflection g = reflect(p[REFLECTION], e, problem->gate->echoes);
    double start = -2.0 * PE_PI * f * p[START];
    struct number carrier =
        times((struct number){line->shape_re, line->shape_im},
              (struct number){amplitude * cos(start), amplitude * sin(start)});
    struct number model = times(carrier, g.whole), by_e = times(carrier, g.by_e);
    d[LOG_AMPLITUDE] = model;
    d[START] = (struct number){model.im * f / f0, -model.re * f / f0};
    d[REFLECTION] = times(carrier, g.by_r);
    d[LOSS] = times(by_e, (struct number){-f / f0, bend / f0});
    d[TRANSIT] = (struct number){by_e.im * f / f0, -by_e.re * f / f0};
    return model;
}

static double normal_equations(const void *data, const double *p, struct pe_matrix *matrix,
                               double *gradient)
{
    const struct problem *problem = data;
    const struct plyecho_plate_task *task = problem->task;
    double f0 = task->reference_hz, amplitude = exp(p[LOG_AMPLITUDE]), chi2 = 0.0;
    double m[PARAMETERS][PARAMETERS] = {{0}};
    double g[PARAMETERS] = {0};
    if (!(fabs(p[REFLECTION]) < 0.95))
        return INFINITY;
    for (size_t k = 0; k < problem->fit->lines; k++) {
        const struct line *line = &problem->fit->line[k];
        struct number d[PARAMETERS];
        struct number model = model_line(problem, line, p, amplitude, d);
        double re = line->re - model.re, im = line->im - model.im;
        double weight = problem->gate->weight * line->weight;
        chi2 += weight * (re * re + im * im);
        for (int i = 0; i < PARAMETERS; i++) {
            g[i] += weight * (d[i].re * re + d[i].im * im);
            for (int j = 0; j <= i; j++)
                m[i][j] += weight * (d[i].re * d[j].re + d[i].im * d[j].im);
        }
    }
    for (int i = 0; i < PARAMETERS; i++) {
        gradient[i] = g[i];
        for (int j = 0; j <= i; j++)
            matrix->at[i][j] = matrix->at[j][i] = m[i][j];
    }
    if (task->loss_u_np_hz > 0.0) {
        double u = task->loss_u_np_hz * f0, off = (p[LOSS] - task->loss_np_hz) * f0;
        chi2 += off * off / (u * u);
        gradient[LOSS] -= off / (u * u);
        matrix->at[LOSS][LOSS] += 1.0 / (u * u);
    }
    return chi2;
}

/* Steps of at most a tenth of a cycle, so that each start keeps to its cycle. */
static bool refine(const struct plyecho_plate_fit *fit, const struct gate *gate,
                   const struct plyecho_plate_task *task, struct state *s)
{
    double f0 = task->reference_hz, cycle = 1.0 / (2.0 * PE_PI * f0);
    const double unit[PARAMETERS] = {1.0, cycle, 1.0, 1.0 / f0, cycle};
    struct problem problem = {fit, gate, task};
    struct pe_least_squares plan = {.parameters = PARAMETERS,
                                    .unit = unit,
                                    .longest_step = 0.5,
                                    .enough = 2e-5,
                                    .rounds = ROUNDS};
    return pe_least_squares_run(&plan, normal_equations, &problem, s->p, &s->result);
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
    for (size_t k = 0; k < fit->lines; k++) {
        struct line *line = &fit->line[k];
        line->re = fit->bins[line->bin][0];
        line->im = fit->bins[line->bin][1];
    }
    double share = pe_band_power_share(&t->band, 0.5 * t->sample_rate_hz);
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
        double odds = exp(-0.5 * (states[k].result.chi2 - states[best].result.chi2) / scale);
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
        if (best < 0 || s->result.chi2 < states[best].result.chi2)
            best = count;
        count++;
    }
    if (best < 0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the fit of the whole trace does not settle");
    const struct state *s = &states[best];
    double independent = (double)gate.samples / (double)fit->length;
    double freedom = 2.0 * (double)fit->lines * independent - PARAMETERS;
    plate->misfit = s->result.chi2 / fmax(freedom, 1.0);
    plate->transit_s = s->p[TRANSIT];
    plate->transit_bound_s = sqrt(s->result.covariance.at[TRANSIT][TRANSIT]);
    /* what chi-squared scatters by is no misfit */
    double unexplained = plate->misfit - sqrt(2.0 / fmax(freedom, 1.0));
    plate->transit_u_s = plate->transit_bound_s * sqrt(fmax(1.0, unexplained));
    weigh_cycles(states, count, best, task->reference_hz, plate);
    plate->front_reflection = s->p[REFLECTION];
    plate->loss_np_hz = s->p[LOSS];
    plate->amplitude = exp(s->p[LOG_AMPLITUDE]);
    return PLYECHO_OK;
}
