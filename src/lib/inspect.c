#include <plyecho/inspect.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/analytic.h>
#include <plyecho/noise.h>

#include "alloc.h"
#include "baseline.h"
#include "sort.h"

/* Common practice, no source: what a reader of the table should be told of. */
static const double least_counts = 16.0;
static const double least_snr_db = 14.0;  /* as echo.h: a false echo in 1 % of noise records */
static const double offset_share = 0.05;  /* of the largest echo: offset, jump */
static const double drift_share = 0.1;    /* of the largest echo: a band-pass takes it off */
static const double line_share = 0.003;   /* of the largest echo: an interfering line */
static const double one_sided = 0.08;     /* smaller over larger excursion from the median */
static const double period_samples = 4.0; /* least samples a period */
static const double least_echo_hz = 1e5;  /* below, the sample rate is not the true one */
static const double flat_share = 0.2;     /* of the record: as much as noise is taken from */

/* Records shorter than this have no base line apart from their echoes. */
enum { SHORT_RECORD = 64 };

struct plyecho_inspector {
    size_t samples;
    double sample_rate_hz;
    struct plyecho_analytic *analytic; /* takes the slow base line off */
    struct plyecho_spectrum *spectrum;
    float *signal, *quadrature, *envelope, *scratch; /* samples long */
    float *power;                                    /* bins long */
    double *sums;                                    /* samples + 1 long */
};

/* ---- planning ---- */

static enum plyecho_code make_parts(struct plyecho_inspector *inspector,
                                    struct plyecho_error *err)
{
    size_t n = inspector->samples;
    double rate = inspector->sample_rate_hz;
    struct plyecho_band band = {10.0 * rate / (double)n, rate / 2.0};
    enum plyecho_code code = plyecho_analytic_new(&inspector->analytic, n, rate,
                                                  n < SHORT_RECORD ? NULL : &band, err);
    if (code == PLYECHO_OK)
        code = plyecho_spectrum_new(&inspector->spectrum, n, 2, rate, err);
    if (code != PLYECHO_OK)
        return code;
    inspector->signal = pe_alloc(n, sizeof(float));
    inspector->quadrature = pe_alloc(n, sizeof(float));
    inspector->envelope = pe_alloc(n, sizeof(float));
    inspector->scratch = pe_alloc(n, sizeof(float));
    inspector->power = pe_alloc(plyecho_spectrum_bins(inspector->spectrum), sizeof(float));
    inspector->sums = pe_alloc(n + 1, sizeof(double));
    if (inspector->signal == NULL || inspector->quadrature == NULL ||
        inspector->envelope == NULL || inspector->scratch == NULL || inspector->power == NULL ||
        inspector->sums == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory to inspect %zu samples", n);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_inspector_new(struct plyecho_inspector **inspector, size_t samples,
                                        double sample_rate_hz, struct plyecho_error *err)
{
    *inspector = NULL;
    struct plyecho_inspector *made = pe_alloc(1, sizeof *made);
    if (made == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory to inspect traces");
    made->samples = samples;
    made->sample_rate_hz = sample_rate_hz;
    enum plyecho_code code = make_parts(made, err);
    if (code != PLYECHO_OK) {
        plyecho_inspector_free(made);
        return code;
    }
    *inspector = made;
    return PLYECHO_OK;
}

void plyecho_inspector_free(struct plyecho_inspector *inspector)
{
    if (inspector == NULL)
        return;
    plyecho_analytic_free(inspector->analytic);
    plyecho_spectrum_free(inspector->spectrum);
    free(inspector->signal);
    free(inspector->quadrature);
    free(inspector->envelope);
    free(inspector->scratch);
    free(inspector->power);
    free(inspector->sums);
    free(inspector);
}

/* ---- values ---- */

/* Mean count of the grid, from the gaps of at most `most` counts, with `step` as first guess. */
static double refine_step(const float *sorted, size_t count, double step, double most)
{
    double gaps = 0.0, counts = 0.0;
    for (size_t i = 1; i < count; i++) {
        double gap = (double)sorted[i] - (double)sorted[i - 1];
        if (gap <= 0.0 || gap > (most + 0.5) * step)
            continue;
        gaps += gap;
        counts += round(gap / step);
    }
    return gaps / counts;
}

double plyecho_count_step(const float *sorted, size_t count)
{
    double step = INFINITY;
    for (size_t i = 1; i < count; i++)
        if (sorted[i] > sorted[i - 1])
            step = fmin(step, (double)sorted[i] - (double)sorted[i - 1]);
    /* A grid finer than a float's own is none. */
    double largest = fmax(fabs((double)sorted[0]), fabs((double)sorted[count - 1]));
    if (!isfinite(step) || step < 1e-6 * largest)
        return NAN;
    /* Gaps, not values, are held against the grid, so that no error adds up. Small ones, whose
     * counts are certain, sharpen the step for the larger. */
    for (double most = 1.0; most < 1e7; most *= 4.0)
        step = refine_step(sorted, count, step, most);
    for (size_t i = 1; i < count; i++) {
        double gap = ((double)sorted[i] - (double)sorted[i - 1]) / step;
        if (fabs(gap - round(gap)) > 0.2)
            return NAN;
    }
    return step;
}

static void take_extremes(struct plyecho_inspector *inspector,
                          const struct plyecho_trace *trace, struct plyecho_inspection *out,
                          double *median)
{
    size_t n = trace->samples;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += (double)trace->amplitude[i];
    memcpy(inspector->scratch, trace->amplitude, n * sizeof(float));
    pe_sort(inspector->scratch, n);
    out->least = (double)inspector->scratch[0];
    out->most = (double)inspector->scratch[n - 1];
    out->offset = sum / (double)n;
    *median = (double)inspector->scratch[n / 2];
    out->step = trace->step > 0.0 ? trace->step : plyecho_count_step(inspector->scratch, n);
    struct plyecho_trace with_step = *trace;
    with_step.step = isfinite(out->step) ? out->step : 0.0;
    plyecho_clipping_find(&with_step, 0, n, &out->clipping);
}

/* Share of the record in stretches whose samples are all equal: where noise was rounded away, or
 * whatever stays below a level was put to zero. */
static double share_of_flat(const float *x, size_t n)
{
    size_t length = n < PLYECHO_NOISE_BLOCK ? n : PLYECHO_NOISE_BLOCK;
    size_t stretches = n / length, flat = 0;
    for (size_t k = 0; k < stretches; k++) {
        size_t i = 1;
        while (i < length && x[k * length + i] == x[k * length])
            i++;
        flat += i == length;
    }
    return (double)flat / (double)stretches;
}

/* ---- the largest echo ---- */

static void find_peak(const float *envelope, size_t n, size_t *peak)
{
    *peak = 0;
    for (size_t i = 1; i < n; i++)
        if (envelope[i] > envelope[*peak])
            *peak = i;
}

/* From the peak in one direction to where the envelope has fallen to a tenth, or rises again
 * after it fell to a half: another echo begins. Samples, at least 4, half as much again. */
static size_t reach(const float *envelope, size_t n, size_t peak, int direction)
{
    size_t most = direction < 0 ? peak : n - 1 - peak, k = 0;
    float height = envelope[peak], before = height;
    for (; k < most; k++) {
        float now = envelope[direction < 0 ? peak - k - 1 : peak + k + 1];
        if (now < 0.1f * height || (before < 0.5f * height && now > before))
            break;
        before = now;
    }
    size_t wanted = (k < 4 ? 4 : k) * 3 / 2;
    return wanted < most ? wanted : most;
}

static void measure_band(struct plyecho_inspector *inspector, size_t peak,
                         struct plyecho_inspection *out)
{
    size_t n = inspector->samples;
    size_t before = reach(inspector->envelope, n, peak, -1);
    size_t count = before + 1 + reach(inspector->envelope, n, peak, 1);
    struct plyecho_spectral_band band;
    plyecho_spectrum_run(inspector->spectrum, inspector->signal + peak - before, count,
                         PLYECHO_TAPER_ENDS, inspector->power);
    if (plyecho_spectral_band_find(inspector->power, plyecho_spectrum_bins(inspector->spectrum),
                                   plyecho_spectrum_bin_hz(inspector->spectrum),
                                   inspector->sample_rate_hz / (double)count, &band))
        out->band = band;
}

static void inspect_rf(struct plyecho_inspector *inspector, const struct plyecho_trace *trace,
                       struct plyecho_inspection *out)
{
    size_t n = inspector->samples, peak;
    plyecho_analytic_run(inspector->analytic, trace->amplitude, inspector->signal,
                         inspector->quadrature);
    plyecho_envelope(inspector->signal, inspector->quadrature, n, inspector->envelope);
    find_peak(inspector->envelope, n, &peak);
    out->peak = (double)inspector->envelope[peak];
    out->peak_s = plyecho_trace_time_s(trace, (double)peak);
    out->noise_rms = plyecho_noise_rms(inspector->signal, n, 1.0, inspector->scratch);
    measure_band(inspector, peak, out);
    if (n < SHORT_RECORD)
        return;
    out->drift = pe_drift(trace->amplitude, n, inspector->sums);
    struct pe_jump jump;
    if (pe_find_jump(trace->amplitude, n, out->noise_rms, inspector->sums, &jump)) {
        out->base_step = jump.height;
        out->base_step_s = plyecho_trace_time_s(trace, (double)jump.sample);
    }
    struct pe_line line;
    if (pe_find_line(trace, inspector->spectrum, inspector->power, inspector->sums, &line)) {
        out->line_hz = line.hz;
        out->line_amplitude = line.amplitude;
    }
}

/* Without an oscillation the highest sample over the middle one is all there is. */
static void inspect_one_sided(struct plyecho_inspector *inspector,
                              const struct plyecho_trace *trace, double median,
                              struct plyecho_inspection *out)
{
    size_t peak;
    find_peak(trace->amplitude, trace->samples, &peak);
    out->peak = out->most - median;
    out->peak_s = plyecho_trace_time_s(trace, (double)peak);
    if (trace->signal != PLYECHO_SIGNAL_LOG)
        out->noise_rms =
            plyecho_noise_rms(trace->amplitude, trace->samples, 1.0, inspector->scratch);
}

/* ---- doubts ---- */

static bool looks_one_sided(const struct plyecho_inspection *out, double median)
{
    double up = out->most - median, down = median - out->least;
    return fmin(up, down) < one_sided * fmax(up, down);
}

static unsigned doubts_of_base_line(const struct plyecho_inspection *out)
{
    unsigned doubts = 0;
    double noise = out->noise_rms, tolerable = offset_share * out->peak;
    if (fabs(out->offset) > tolerable && fabs(out->offset) > 0.5 * noise)
        doubts |= PLYECHO_DOUBT_OFFSET;
    if (fabs(out->base_step) > tolerable)
        doubts |= PLYECHO_DOUBT_STEP;
    else if (out->drift > fmax(drift_share * out->peak, 3.0 * noise))
        doubts |= PLYECHO_DOUBT_DRIFT;
    if (out->line_amplitude > line_share * out->peak)
        doubts |= PLYECHO_DOUBT_LINE;
    return doubts;
}

static unsigned doubts_of_rf(const struct plyecho_inspection *out, double rate, double median)
{
    if (looks_one_sided(out, median)) /* its offset and drift are the echoes themselves */
        return PLYECHO_DOUBT_ONE_SIDED;
    unsigned doubts = doubts_of_base_line(out);
    if (out->band.peak_hz > rate / period_samples)
        doubts |= PLYECHO_DOUBT_RATE;
    if (out->band.centre_hz < least_echo_hz)
        doubts |= PLYECHO_DOUBT_SCALED;
    if (out->snr_db < least_snr_db)
        doubts |= PLYECHO_DOUBT_NO_ECHO;
    return doubts;
}

static unsigned doubts_of(const struct plyecho_inspection *out,
                          const struct plyecho_trace *trace, double median)
{
    if (out->least == out->most)
        return PLYECHO_DOUBT_CONSTANT;
    unsigned doubts = 0;
    if (out->clipping.samples > 0)
        doubts |= PLYECHO_DOUBT_CLIPPED;
    if (out->peak_counts < least_counts)
        doubts |= PLYECHO_DOUBT_FEW_COUNTS;
    if (trace->sample_rate_hz < 2.0 * least_echo_hz)
        doubts |= PLYECHO_DOUBT_SCALED;
    if (out->flat_share >= flat_share && trace->signal != PLYECHO_SIGNAL_LOG)
        doubts |= PLYECHO_DOUBT_FLAT;
    if (trace->signal == PLYECHO_SIGNAL_RF)
        return doubts | doubts_of_rf(out, trace->sample_rate_hz, median);
    bool magnitude = trace->signal != PLYECHO_SIGNAL_LOG;
    if (magnitude && out->least < -offset_share * out->peak)
        doubts |= PLYECHO_DOUBT_TWO_SIDED;
    return doubts;
}

enum plyecho_code plyecho_inspector_run(struct plyecho_inspector *inspector,
                                        const struct plyecho_trace *trace,
                                        struct plyecho_inspection *inspection,
                                        struct plyecho_error *err)
{
    if (trace->samples != inspector->samples ||
        trace->sample_rate_hz != inspector->sample_rate_hz)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "trace of another time base than planned");
    double median;
    *inspection = (struct plyecho_inspection){
        .noise_rms = NAN,
        .peak = NAN,
        .peak_s = NAN,
        .snr_db = NAN,
        .step = NAN,
        .peak_counts = NAN,
        .band = {NAN, NAN, NAN, NAN, NAN, NAN, NAN},
        .drift = NAN,
        .base_step = NAN,
        .base_step_s = NAN,
        .line_hz = NAN,
        .line_amplitude = NAN,
    };
    take_extremes(inspector, trace, inspection, &median);
    if (inspection->least < inspection->most) {
        if (trace->signal == PLYECHO_SIGNAL_RF)
            inspect_rf(inspector, trace, inspection);
        else
            inspect_one_sided(inspector, trace, median, inspection);
        inspection->flat_share = share_of_flat(trace->amplitude, trace->samples);
        if (inspection->flat_share >= flat_share && trace->signal != PLYECHO_SIGNAL_LOG)
            inspection->noise_rms = 0.0; /* what is left of it is the filter's own rounding */
        if (inspection->noise_rms > 0.0)
            inspection->snr_db = 20.0 * log10(inspection->peak / inspection->noise_rms);
        inspection->peak_counts = inspection->peak / inspection->step;
    }
    inspection->doubts = doubts_of(inspection, trace, median);
    return PLYECHO_OK;
}
