#include <plyecho/probe_character.h>

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/analytic.h>
#include <plyecho/labels.h>
#include <plyecho/noise.h>
#include <plyecho/verdict.h>

#include "alloc.h"
#include "pi.h"

/* An echo is over where its envelope has fallen to a hundredth, or into the noise. */
static const double over_share = 0.01, over_noise = 3.0;

/* Another echo: from so low the envelope rises again, to so much of the peak. */
static const double rise_again = 3.0, rise_share = 0.03;

/* Other echoes this far below the one measured do not count as in its way. */
static const double other_level_db = -34.0;

/* What the measurement works on: the whole record, its base line and drift taken off. */
struct record {
    const struct plyecho_trace *trace;
    float *waveform, *envelope;
    double centre_hz;
    double noise;
};

static void record_clear(struct record *r)
{
    free(r->waveform);
    free(r->envelope);
}

/* From a fifth of the centre frequency to four times it: drift is out, what a probe gives is in. */
static struct plyecho_band wide_band(double centre_hz, double nyquist_hz)
{
    double high_hz = 4.0 * centre_hz;
    return (struct plyecho_band){0.1 * centre_hz,
                                 high_hz < 0.9 * nyquist_hz ? high_hz : nyquist_hz};
}

static enum plyecho_code record_make(struct record *r, const struct plyecho_trace *trace,
                                     double centre_hz, struct plyecho_error *err)
{
    size_t n = trace->samples;
    double nyquist_hz = trace->sample_rate_hz / 2.0;
    struct plyecho_band band = wide_band(centre_hz, nyquist_hz);
    struct plyecho_analytic *analytic = NULL;
    float *scratch = pe_alloc(n / PLYECHO_NOISE_BLOCK + 1, sizeof *scratch);
    *r = (struct record){.trace = trace,
                         .waveform = pe_alloc(n, sizeof(float)),
                         .envelope = pe_alloc(n, sizeof(float)),
                         .centre_hz = centre_hz};
    enum plyecho_code code =
        r->waveform == NULL || r->envelope == NULL || scratch == NULL
            ? plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory to analyse %zu samples", n)
            : plyecho_analytic_new(&analytic, n, trace->sample_rate_hz, &band, err);
    if (code == PLYECHO_OK) {
        plyecho_analytic_run(analytic, trace->amplitude, r->waveform, r->envelope);
        plyecho_envelope(r->waveform, r->envelope, n, r->envelope);
        double share = (band.high_hz - band.low_hz) / nyquist_hz;
        r->noise = plyecho_noise_rms(r->waveform, n, share, scratch);
    }
    plyecho_analytic_free(analytic);
    free(scratch);
    return code;
}

/* ---- which echo ---- */

struct found {
    struct plyecho_picks picks;
    int echo; /* index into the picks */
    double centre_hz;
};

static enum plyecho_code choose_echo(const struct plyecho_conditioned *t,
                                     const struct plyecho_trace *trace,
                                     const struct plyecho_probe_options *o, struct found *found,
                                     struct plyecho_error *err)
{
    struct plyecho_wall_options none = plyecho_wall_defaults();
    bool gated = isfinite(o->from_s) || isfinite(o->to_s);
    plyecho_wall_pick(t, &none, &found->picks);
    const struct plyecho_picks *p = &found->picks;
    found->echo = -1;
    found->centre_hz = t->centre_hz;
    for (int k = 0; k < p->count; k++)
        if (p->echoes[k].time_s >= o->from_s && p->echoes[k].time_s <= o->to_s &&
            (found->echo < 0 || p->echoes[k].amplitude > p->echoes[found->echo].amplitude))
            found->echo = k;
    if (found->echo < 0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            gated ? "no echo between these times; see where the echoes are "
                                    "with `plyecho echoes`"
                                  : "no echo behind the transmission pulse; record one clean "
                                    "echo, best the delay line's end in air");
    if (plyecho_echo_clipped(trace, p, found->echo))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the echo is clipped; lower the gain and record it again");
    return PLYECHO_OK;
}

static enum plyecho_code find_echo(const struct plyecho_trace *trace,
                                   const struct plyecho_probe_options *o, struct found *found,
                                   struct plyecho_error *err)
{
    struct plyecho_conditioner *conditioner = NULL;
    struct plyecho_conditioned t;
    if (trace->signal != PLYECHO_SIGNAL_RF)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "signal is %s: a probe's pulse shows only in an RF trace",
                            plyecho_signal_word(trace->signal));
    enum plyecho_code code =
        plyecho_conditioner_new(&conditioner, trace->samples, trace->sample_rate_hz, NULL, err);
    if (code == PLYECHO_OK)
        code = plyecho_conditioner_run(conditioner, trace, &t, err);
    if (code == PLYECHO_OK)
        code = choose_echo(&t, trace, o, found, err);
    plyecho_conditioner_free(conditioner);
    return code;
}

/* ---- its extent ---- */

struct extent {
    size_t peak, first, last; /* samples, all within the record */
    bool crowded;
};

/* From the peak in one direction to where the echo is over; *cut where something else begins there. */
static size_t echo_end(const struct record *r, size_t peak, int direction, bool *cut)
{
    double height = (double)r->envelope[peak], least = height;
    double over = fmax(over_share * height, over_noise * r->noise);
    size_t at = peak, lowest = peak;
    size_t edge = direction < 0 ? 0 : r->trace->samples - 1;
    while (at != edge) {
        at = direction < 0 ? at - 1 : at + 1;
        double now = (double)r->envelope[at];
        if (now < over)
            return at;
        if (now < least) {
            least = now;
            lowest = at;
        } else if (now > rise_again * least && now > rise_share * height) {
            break;
        }
    }
    *cut = true;
    return at == edge ? edge : lowest;
}

/* A quarter more on each side, so that the fade of the ends falls where the echo is over. */
static struct extent extent_of(const struct record *r, size_t peak)
{
    bool before_cut = false, after_cut = false;
    struct extent e = {.peak = peak};
    e.first = echo_end(r, peak, -1, &before_cut);
    e.last = echo_end(r, peak, 1, &after_cut);
    size_t more = (e.last - e.first) / 4 + 4, end = r->trace->samples - 1;
    if (!before_cut)
        e.first = e.first > more ? e.first - more : 0;
    if (!after_cut)
        e.last = e.last + more < end ? e.last + more : end;
    e.crowded = before_cut || after_cut;
    return e;
}

/* ---- lengths ---- */

/* Where, going from `at` towards `to`, |x| last falls below the level, between samples: the
 * outermost place at or above it. */
static double outermost(const float *x, size_t at, size_t to, double level)
{
    size_t edge = at;
    int step = to < at ? -1 : 1;
    for (size_t i = at; i != to; i = step < 0 ? i - 1 : i + 1)
        if (fabs((double)x[i]) >= level)
            edge = i;
    if (edge == to)
        return (double)edge;
    size_t next = step < 0 ? edge - 1 : edge + 1;
    double inside = fabs((double)x[edge]), outside = fabs((double)x[next]);
    /* an oscillation may have changed its sign between the two: to the level, not to zero */
    if ((x[edge] < 0.0f) != (x[next] < 0.0f))
        outside = -outside;
    return (double)edge + step * (inside - level) / (inside - outside);
}

/* Height of the crest at a sample, between samples: a parabola through it and its neighbours. */
static double crest(const float *x, size_t at, size_t samples)
{
    double b = fabs((double)x[at]);
    if (at == 0 || at + 1 >= samples)
        return b;
    double a = fabs((double)x[at - 1]), c = fabs((double)x[at + 1]);
    double bend = a - 2.0 * b + c;
    return bend < 0.0 ? b - (a - c) * (a - c) / (8.0 * bend) : b;
}

static struct plyecho_known length_at(const struct record *r, const struct extent *e,
                                      double height, double share, double *before_s)
{
    double level = share * height, rate = r->trace->sample_rate_hz;
    struct plyecho_known length = {false, 0.0};
    if (level < over_noise * r->noise || (double)r->envelope[e->first] >= level ||
        (double)r->envelope[e->last] >= level)
        return length;
    double from = outermost(r->envelope, e->peak, e->first, level);
    double to = outermost(r->envelope, e->peak, e->last, level);
    if (before_s != NULL)
        *before_s = ((double)e->peak - from) / rate;
    return (struct plyecho_known){true, (to - from) / rate};
}

static size_t largest(const float *x, size_t first, size_t last)
{
    size_t top = first;
    for (size_t i = first; i <= last; i++)
        if (fabsf(x[i]) > fabsf(x[top]))
            top = i;
    return top;
}

/* Half waves whose crest is at least `level` high, between the ends. */
static size_t half_waves(const float *x, size_t first, size_t last, double level)
{
    size_t count = 0, begin = first;
    for (size_t i = first; i <= last; i++) {
        bool ends = i == last || (x[i] < 0.0f) != (x[i + 1] < 0.0f);
        if (!ends)
            continue;
        count += crest(x, largest(x, begin, i), last + 1) >= level;
        begin = i + 1;
    }
    return count;
}

static void measure_waveform(const struct record *r, const struct extent *e,
                             struct plyecho_probe_character *c)
{
    const float *x = r->waveform;
    size_t top = largest(x, e->first, e->last), n = r->trace->samples;
    double level = 0.1 * crest(x, top, n);
    float least = 0.0f, most = 0.0f;
    for (size_t i = e->first; i <= e->last; i++) {
        least = fminf(least, x[i]);
        most = fmaxf(most, x[i]);
    }
    c->peak_to_peak = (double)most - (double)least;
    if (!c->length_20db_s.known)
        return;
    double from = outermost(x, top, e->first, level), to = outermost(x, top, e->last, level);
    c->waveform_20db_s = (struct plyecho_known){true, (to - from) / r->trace->sample_rate_hz};
    c->cycles_20db =
        (struct plyecho_known){true, 0.5 * (double)half_waves(x, e->first, e->last, level)};
}

/* ---- the clear stretch ---- */

static void find_clear(const struct record *r, const struct found *found,
                       struct plyecho_probe_character *c)
{
    const struct plyecho_picks *p = &found->picks;
    const struct plyecho_echo *own = &p->echoes[found->echo];
    double least = own->amplitude * pow(10.0, other_level_db / 20.0);
    c->clear_from_s = fmax(r->trace->start_s, p->initial_end_s);
    if (!(c->clear_from_s < own->time_s))
        c->clear_from_s = r->trace->start_s;
    c->clear_to_s = plyecho_trace_time_s(r->trace, (double)r->trace->samples - 1.0);
    for (int k = 0; k < p->count; k++) {
        const struct plyecho_echo *other = &p->echoes[k];
        if (k == found->echo || other->amplitude < least ||
            fabs(other->time_s - own->time_s) < p->pulse_s)
            continue;
        if (other->time_s < own->time_s)
            c->clear_from_s = fmax(c->clear_from_s, other->time_s + p->pulse_s);
        else
            c->clear_to_s = fmin(c->clear_to_s, other->time_s - p->pulse_s);
    }
}

/* ---- all of it ---- */

static enum plyecho_code read_labels(const struct plyecho_trace *trace,
                                     const struct plyecho_probe_options *o,
                                     struct plyecho_probe_character *c,
                                     struct plyecho_error *err)
{
    size_t channel = trace->channel;
    c->full_scale = trace->full_scale;
    c->reflection = -1.0;
    enum plyecho_code code =
        plyecho_labels_known(trace->labels, "gain_db", channel, &c->gain_db, err);
    if (code == PLYECHO_OK && !o->reflection.known)
        code = plyecho_labels_number(trace->labels, "reference_reflection", channel,
                                     &c->reflection, err);
    else if (o->reflection.known)
        c->reflection = o->reflection.value;
    if (code == PLYECHO_OK && (c->reflection == 0.0 || !(fabs(c->reflection) <= 1.0)))
        code = plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the echo comes off a reflection of %g; it is between -1 and 1 and "
                            "not 0",
                            c->reflection);
    return code;
}

static enum plyecho_code measure_band(struct plyecho_probe_echo *echo, double centre_hz,
                                      struct plyecho_error *err)
{
    enum { PADDING = 16 };
    struct plyecho_spectrum *spectrum;
    enum plyecho_code code =
        plyecho_spectrum_new(&spectrum, echo->samples, PADDING, echo->sample_rate_hz, err);
    if (code != PLYECHO_OK)
        return code;
    echo->bins = plyecho_spectrum_bins(spectrum);
    echo->bin_hz = plyecho_spectrum_bin_hz(spectrum);
    echo->power = pe_alloc(echo->bins, sizeof *echo->power);
    if (echo->power == NULL) {
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a spectrum");
    } else {
        plyecho_spectrum_run(spectrum, echo->waveform, echo->samples, PLYECHO_TAPER_ENDS,
                             echo->power);
        if (!plyecho_spectral_band_find(echo->power, echo->bins, echo->bin_hz, 0.2 * centre_hz,
                                        &echo->character.band))
            code = plyecho_fail(err, PLYECHO_UNSUITABLE, "the echo has no spectrum");
    }
    plyecho_spectrum_free(spectrum);
    return code;
}

static enum plyecho_code keep_samples(struct plyecho_probe_echo *echo, const struct record *r,
                                      const struct extent *e, struct plyecho_error *err)
{
    echo->samples = e->last - e->first + 1;
    echo->sample_rate_hz = r->trace->sample_rate_hz;
    echo->start_s = plyecho_trace_time_s(r->trace, (double)e->first);
    echo->waveform = pe_alloc(echo->samples, sizeof *echo->waveform);
    echo->envelope = pe_alloc(echo->samples, sizeof *echo->envelope);
    if (echo->waveform == NULL || echo->envelope == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for an echo");
    memcpy(echo->waveform, r->waveform + e->first, echo->samples * sizeof *echo->waveform);
    memcpy(echo->envelope, r->envelope + e->first, echo->samples * sizeof *echo->envelope);
    return PLYECHO_OK;
}

static void measure(const struct record *r, const struct found *found, const struct extent *e,
                    struct plyecho_probe_character *c)
{
    c->time_s = found->picks.echoes[found->echo].time_s;
    c->amplitude = crest(r->envelope, e->peak, r->trace->samples);
    c->noise = r->noise;
    c->crowded = e->crowded;
    c->length_6db_s = length_at(r, e, c->amplitude, 0.5, NULL);
    c->length_20db_s = length_at(r, e, c->amplitude, 0.1, &c->rise_20db_s);
    c->length_40db_s = length_at(r, e, c->amplitude, 0.01, NULL);
    measure_waveform(r, e, c);
    find_clear(r, found, c);
}

enum plyecho_code plyecho_probe_echo_take(struct plyecho_probe_echo *echo,
                                          const struct plyecho_trace *trace,
                                          const struct plyecho_probe_options *options,
                                          struct plyecho_error *err)
{
    struct found found;
    struct record record = {0};
    memset(echo, 0, sizeof *echo);
    enum plyecho_code code = find_echo(trace, options, &found, err);
    if (code == PLYECHO_OK)
        code = read_labels(trace, options, &echo->character, err);
    if (code == PLYECHO_OK)
        code = record_make(&record, trace, found.centre_hz, err);
    if (code == PLYECHO_OK) {
        /* the wide band's envelope peaks a sample or so from where the pass band's does */
        size_t at = found.picks.echoes[found.echo].sample, reach = 4;
        size_t last = at + reach < trace->samples ? at + reach : trace->samples - 1;
        size_t peak = largest(record.envelope, at > reach ? at - reach : 0, last);
        struct extent extent = extent_of(&record, peak);
        measure(&record, &found, &extent, &echo->character);
        code = keep_samples(echo, &record, &extent, err);
    }
    if (code == PLYECHO_OK)
        code = measure_band(echo, found.centre_hz, err);
    record_clear(&record);
    if (code != PLYECHO_OK)
        plyecho_probe_echo_clear(echo);
    return code;
}

void plyecho_probe_echo_clear(struct plyecho_probe_echo *echo)
{
    free(echo->waveform);
    free(echo->envelope);
    free(echo->power);
    memset(echo, 0, sizeof *echo);
}

/* ---- a trace of its own ---- */

/* The channel's labels as those of the whole file. */
static enum plyecho_code copy_labels(struct plyecho_labels *to,
                                     const struct plyecho_labels *from, size_t channel,
                                     struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    for (size_t i = 0; code == PLYECHO_OK && i < from->count; i++)
        if (from->items[i].channel == 0 || from->items[i].channel == channel)
            code =
                plyecho_labels_set(to, from->items[i].key, 0,
                                   plyecho_labels_get(from, from->items[i].key, channel), err);
    return code;
}

/* Does a judge that reads this trace anew find the same echo in it? */
static enum plyecho_code check_cut(const struct plyecho_traces *traces,
                                   const struct plyecho_probe_character *c,
                                   struct plyecho_error *err)
{
    struct plyecho_probe_options any = {-INFINITY, INFINITY, {false, 0.0}};
    struct plyecho_trace trace = plyecho_traces_channel(traces, 1);
    struct found found;
    struct plyecho_error why;
    enum plyecho_code code = find_echo(&trace, &any, &found, &why);
    if (code == PLYECHO_NO_MEMORY)
        return plyecho_fail(err, code, "%s", why.text);
    bool same =
        code == PLYECHO_OK &&
        fabs(found.picks.echoes[found.echo].time_s - c->time_s) * c->band.centre_hz < 0.5 &&
        fabs(found.centre_hz / c->band.centre_hz - 1.0) < 0.15;
    if (same)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "only %.3g us about the echo are clear of others, too little for a "
                        "pulse to be read from; record the delay line's end in air",
                        (c->clear_to_s - c->clear_from_s) * 1e6);
}

enum plyecho_code plyecho_probe_echo_cut(struct plyecho_traces *traces,
                                         const struct plyecho_traces *from, size_t channel,
                                         const struct plyecho_probe_echo *echo,
                                         struct plyecho_error *err)
{
    const struct plyecho_probe_character *c = &echo->character;
    struct plyecho_trace trace = plyecho_traces_channel(from, channel);
    double rate = trace.sample_rate_hz, most = (double)trace.samples - 1.0;
    double first = ceil((c->clear_from_s - trace.start_s) * rate - 1e-6);
    double last = floor((c->clear_to_s - trace.start_s) * rate + 1e-6);
    first = fmin(fmax(first, 0.0), most - 1.0);
    last = fmin(fmax(last, first + 1.0), most);
    enum plyecho_code code = plyecho_traces_init(traces, 1, (size_t)(last - first) + 1, err);
    if (code != PLYECHO_OK)
        return code;
    traces->sample_rate_hz = rate;
    traces->start_s = plyecho_trace_time_s(&trace, first);
    traces->signal = trace.signal;
    traces->full_scale = trace.full_scale;
    traces->step = trace.step;
    traces->container = from->container;
    memcpy(traces->amplitude, trace.amplitude + (size_t)first,
           traces->samples * sizeof *traces->amplitude);
    code = copy_labels(&traces->labels, trace.labels, channel, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_set_number(&traces->labels, "reference_reflection", 0,
                                         c->reflection, err);
    if (code == PLYECHO_OK)
        code = check_cut(traces, c, err);
    if (code != PLYECHO_OK)
        plyecho_traces_clear(traces);
    return code;
}

/* ---- two of them ---- */

/* Spectrum of the waveform by its definition, times counted from the envelope's peak. */
static double complex spectrum_at(const struct plyecho_probe_echo *echo, double hz)
{
    double turn = 2.0 * PE_PI * hz / echo->sample_rate_hz;
    double complex w = cexp(-I * turn), at = 1.0, sum = 0.0;
    double peak = (echo->character.time_s - echo->start_s) * echo->sample_rate_hz;
    for (size_t i = 0; i < echo->samples; i++, at *= w)
        sum += (double)echo->waveform[i] * at;
    return sum * cexp(I * turn * peak) / echo->character.reflection;
}

double plyecho_probe_likeness(const struct plyecho_probe_echo *a,
                              const struct plyecho_probe_echo *b)
{
    enum { LINES = 192, STEPS = 160 };
    double low = fmin(a->character.band.lower_hz, b->character.band.lower_hz) * 0.4;
    double high = fmax(a->character.band.upper_hz, b->character.band.upper_hz) * 1.8;
    high = fmin(high, 0.5 * fmin(a->sample_rate_hz, b->sample_rate_hz));
    double complex cross[LINES];
    double energy_a = 0.0, energy_b = 0.0, best = 0.0;
    for (int k = 0; k < LINES; k++) {
        double hz = low + (high - low) * (k + 0.5) / LINES;
        double complex x = spectrum_at(a, hz), y = spectrum_at(b, hz);
        cross[k] = x * conj(y);
        energy_a += creal(x * conj(x));
        energy_b += creal(y * conj(y));
    }
    if (!(energy_a > 0.0 && energy_b > 0.0))
        return 0.0;
    /* peaks of the envelope lie within a period of each other, unless nothing is alike */
    double reach_s = 2.0 / (a->character.band.centre_hz + b->character.band.centre_hz);
    for (int s = -STEPS; s <= STEPS; s++) {
        double delay_s = reach_s * s / STEPS, sum = 0.0;
        for (int k = 0; k < LINES; k++) {
            double hz = low + (high - low) * (k + 0.5) / LINES;
            sum += creal(cross[k] * cexp(I * (2.0 * PE_PI * hz * delay_s)));
        }
        if (fabs(sum) > fabs(best))
            best = sum;
    }
    return best / sqrt(energy_a * energy_b);
}

struct plyecho_known plyecho_probe_level_db(const struct plyecho_probe_character *a,
                                            const struct plyecho_probe_character *b)
{
    bool scaled = a->full_scale > 0.0 && b->full_scale > 0.0;
    bool gains = a->gain_db.known && b->gain_db.known;
    if (a->gain_db.known != b->gain_db.known || !(gains || scaled))
        return (struct plyecho_known){false, 0.0};
    double ratio = a->amplitude / fabs(a->reflection) / (b->amplitude / fabs(b->reflection));
    if (scaled)
        ratio *= b->full_scale / a->full_scale;
    double gain_db = gains ? a->gain_db.value - b->gain_db.value : 0.0;
    return (struct plyecho_known){true, 20.0 * log10(ratio) - gain_db};
}
