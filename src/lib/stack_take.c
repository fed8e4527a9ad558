#include <config.h>

#include "stack_fit_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "fourier.h"

enum { GATE_GRID = 64, LEAST_LINES = 10 };

/* Lines weaker than this share of the pulse's strongest say nothing. */
static const double least_line_share = 0.03;

/* Resin between plies reflects in proportion to frequency, 0.02 at 5 MHz each (common practice, no
 * source), a laminate holds a film every 0.2 mm or so. */
static const double film_per_hz = 0.02 / 5e6, film_every_s = 0.136e-6;

/* A real beam, a pulse that is not quite the reference's. */
static const double beam_error = 0.02;

static void drop_plan(struct pe_stack_fit *fit)
{
    if (fit->forward != NULL)
        fftwf_destroy_plan(fit->forward);
    if (fit->backward != NULL)
        fftwf_destroy_plan(fit->backward);
    fftwf_free(fit->gate);
    fftwf_free(fit->bins);
    fit->forward = fit->backward = NULL;
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
    if (fit->forward != NULL)
        fit->backward = fftwf_plan_dft_c2r_1d((int)length, fit->bins, fit->gate, FFTW_ESTIMATE);
    if (fit->backward == NULL) {
        drop_plan(fit);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to fit %zu samples", gate);
    }
    fit->length = length;
    return PLYECHO_OK;
}

/* ---- lines, and the pulse there ---- */

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

/* The pulse at the bins of the band where it is strong enough. Returns their number. */
static int find_pulse(struct pe_stack_fit *fit, const struct plyecho_conditioned *t,
                      double complex *pulse)
{
    double strongest = 0.0;
    size_t low = (size_t)fmax(1.0, ceil(fit->band.low_hz / fit->step_hz));
    size_t high = (size_t)fmax(0.0, floor(fit->band.high_hz / fit->step_hz)) + 1;
    int from = 0, to = 0;
    for (size_t k = low; k < high && k < fit->length / 2 && to < PE_MOST_LINES; k++) {
        double hz = fit->step_hz * (double)k;
        pulse[to] = !fit->shaped ? pulse_line(&fit->known, fit->sample_rate_hz, hz)
                                 : gaussian_line(t, fit->sample_rate_hz, hz);
        strongest = fmax(strongest, cabs(pulse[to++]));
    }
    while (from < to && cabs(pulse[from]) < least_line_share * strongest)
        from++;
    while (to > from && cabs(pulse[to - 1]) < least_line_share * strongest)
        to--;
    fit->first_bin = low + (size_t)from;
    memmove(pulse, pulse + from, (size_t)(to - from) * sizeof *pulse);
    return to - from;
}

/* Kept from trace to trace as long as nothing of them changes. */
static void choose_lines(struct pe_stack_fit *fit, const struct plyecho_conditioned *t,
                         const struct pe_stack_gate *gate)
{
    double complex pulse[PE_MOST_LINES];
    bool same = fit->lines > 0 && fit->lines_length == fit->length &&
                fit->band.low_hz == t->band.low_hz && fit->band.high_hz == t->band.high_hz &&
                fit->reference_hz == gate->reference_hz;
    if (same)
        return;
    fit->lines_length = fit->length;
    fit->band = t->band;
    fit->reference_hz = gate->reference_hz;
    fit->step_hz = fit->sample_rate_hz / (double)fit->length;
    fit->lines = find_pulse(fit, t, pulse);
    fit->blocks = (fit->lines + PE_LANES - 1) / PE_LANES;
    double middle = 0.5 * (fit->band.low_hz + fit->band.high_hz);
    double half = 0.5 * (fit->band.high_hz - fit->band.low_hz);
    fit->x_first = ((double)fit->first_bin * fit->step_hz - middle) / half;
    fit->x_step = fit->step_hz / half;
    for (int k = 0; k < fit->blocks * PE_LANES; k++) {
        struct pe_line *line = &fit->line[k / PE_LANES];
        int lane = k % PE_LANES;
        double hz = fit->step_hz * (double)(fit->first_bin + (size_t)k);
        line->hz[lane] = hz;
        line->omega[lane] = 2.0 * PE_PI * hz;
        line->bend[lane] = 2.0 / PE_PI * hz * log(hz / gate->reference_hz);
        pe_set_phasor(fit->pulse, k, k < fit->lines ? pulse[k] : (double complex)0.0);
    }
}

/* ---- the trace at the lines ---- */

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

/* The gate fades at either end, so that what it cuts through does not click. */
static void fade(struct pe_stack_fit *fit)
{
    enum { FADE = 8 };
    size_t samples = fit->recorded;
    for (size_t i = 0; i < FADE && i < samples; i++) {
        float w = (float)(0.5 - 0.5 * cos(PE_PI * ((double)i + 0.5) / FADE));
        fit->gate[i] *= w;
        fit->gate[samples - 1 - i] *= w;
    }
    memset(fit->gate + samples, 0, (fit->length - samples) * sizeof *fit->gate);
}

/* From lines over their standard deviation, about the origin, to samples, and back. */
static void to_samples(struct pe_stack_fit *fit, const struct pe_phasors *lines)
{
    struct pe_series late = fit->late;
    memset(fit->bins, 0, (fit->length / 2 + 1) * sizeof *fit->bins);
    for (int b = 0; b < fit->blocks; b++) {
        struct pe_phasors turn = pe_series_next(&late);
        struct pe_phasors line = pe_against(lines[b], turn);
        for (int lane = 0, k = b * PE_LANES; lane < PE_LANES && k < fit->lines; lane++, k++)
            fit->bins[fit->first_bin + (size_t)k] =
                (float complex)((line.re[lane] + I * line.im[lane]) / fit->root_weight[k]);
    }
    fftwf_execute(fit->backward);
}

static void to_lines(struct pe_stack_fit *fit, double scale, struct pe_phasors *lines)
{
    struct pe_series late = fit->late;
    fftwf_execute(fit->forward);
    for (int b = 0; b < fit->blocks; b++) {
        struct pe_phasors line = {{0.0}, {0.0}}, turn = pe_series_next(&late);
        for (int lane = 0, k = b * PE_LANES; lane < PE_LANES && k < fit->lines; lane++, k++) {
            double complex bin = fit->bins[fit->first_bin + (size_t)k];
            pe_set_phasor(&line, lane, bin * fit->root_weight[k] * scale);
        }
        lines[b] = pe_product(line, turn);
    }
}

const struct pe_phasors *pe_stack_seen(struct pe_stack_fit *fit)
{
    if (!fit->cut)
        return fit->model;
    to_samples(fit, fit->model);
    fade(fit);
    to_lines(fit, 1.0 / (double)fit->length, fit->seen);
    return fit->seen;
}

/* Standard deviation of each line: noise of the record, plies, a beam and a pulse not quite as told. */
static void weigh_lines(struct pe_stack_fit *fit, const struct pe_stack_gate *gate,
                        const struct plyecho_conditioned *t)
{
    double rate = fit->sample_rate_hz;
    double share = (t->band.high_hz - t->band.low_hz) / (rate / 2.0);
    double noise = t->noise * t->noise / fmax(share, 1e-3) * (double)fit->recorded;
    double films = fmax(1.0, gate->wall_s / film_every_s);
    double crowd = fmax(1.0, (double)fit->length / rate / gate->wall_s);
    double first_hz = (double)fit->first_bin * fit->step_hz;
    double loss = 2.0 * gate->slope * gate->wall_s; /* of energy, Np/Hz */
    double left = exp(-loss * first_hz), step = exp(-loss * fit->step_hz);
    for (int k = 0; k < fit->lines; k++) {
        double complex pulse = pe_phasor(fit->pulse, k);
        double hz = first_hz + k * fit->step_hz, lost = loss * hz;
        double own = gate->full_scale * gate->full_scale * creal(pulse * conj(pulse));
        double ply = film_per_hz * hz, seen = lost > 1e-6 ? (1.0 - left) / lost : 1.0;
        double astray = own * (films * ply * ply * seen + beam_error * beam_error) * crowd;
        fit->root_weight[k] = sqrt(2.0 / (noise + astray));
        left *= step;
    }
}

static void turn_to_origin(struct pe_stack_fit *fit, double late_s)
{
    double a_line = 2.0 * PE_PI * late_s * fit->step_hz;
    fit->late = pe_series_from(cexp(I * (a_line * (double)fit->first_bin)), cexp(I * a_line));
}

enum plyecho_code pe_stack_fit_take(struct pe_stack_fit *fit,
                                    const struct plyecho_conditioned *t,
                                    const struct pe_stack_gate *gate, struct plyecho_error *err)
{
    double rate = fit->sample_rate_hz;
    double end_s = fmin(gate->end_s, t->start_s + (double)t->samples / rate);
    double from = fmax(0.0, (gate->origin_s - t->pulse_s - t->start_s) * rate);
    double to = (end_s - t->start_s) * rate;
    if (!t->has_sign || t->sample_rate_hz != rate || to - from < 32.0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the record does not hold the wall's echoes");
    double followed = (gate->until_s - t->start_s) * rate - from;
    size_t first = (size_t)from, samples = (size_t)to - first;
    size_t most = followed > (double)samples ? (size_t)followed : samples;
    enum plyecho_code code = plan_length(fit, most, err);
    if (code != PLYECHO_OK)
        return code;
    fit->recorded = samples;
    fit->cut = most > samples;
    choose_lines(fit, t, gate);
    if (fit->lines < LEAST_LINES || fit->lines >= PE_MOST_LINES)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "%d spectral lines: the wall is too thick, or the band too narrow, "
                            "for a fit of stacks",
                            fit->lines);
    weigh_lines(fit, gate, t);
    turn_to_origin(fit, gate->origin_s - t->start_s - (double)first / rate);
    copy_gate(gate, t, first, samples, fit->gate);
    fade(fit);
    to_lines(fit, 1.0, fit->data);
    for (int k = 0; k < fit->blocks * PE_LANES; k++) {
        double root = k < fit->lines ? fit->root_weight[k] : 0.0;
        pe_set_phasor(fit->sent, k, root * pe_phasor(fit->pulse, k));
    }
    return PLYECHO_OK;
}

void pe_stack_fit_invert(struct pe_stack_fit *fit)
{
    for (int b = 0; b < fit->blocks; b++)
        fit->data[b] = pe_scaled(fit->data[b], -1.0);
}

size_t pe_stack_fit_lines(const struct pe_stack_fit *fit)
{
    return (size_t)fit->lines;
}
