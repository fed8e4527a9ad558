#include "plot_trace.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/echo.h>
#include <plyecho/verdict.h>

#include "memory.h"

enum { MOST_MARKS = 32 }; /* as many as `plyecho echoes` lists by default */

/* Room left and right of the echoes: a share of what lies between the first and the last, and at
 * least so many periods of the signal. */
static const double margin_share = 0.06;
static const double margin_periods = 4;

struct plot_trace {
    const struct plot_trace_options *options;
    struct plyecho_conditioned conditioned;
    bool is_conditioned; /* false: nothing in the trace to pick echoes from */
    struct plyecho_echo echoes[MOST_MARKS];
    struct plyecho_picks picks; /* which of them is the interface echo */
    struct plot_gate gate;
    struct plot_mark marks[MOST_MARKS];
    size_t mark_count;
    char title[400], trace_text[80], band_note[100], verdict_note[160];
    char gate_text[80], noise_text[60];
    const char *notes[5]; /* NULL behind the last */
    size_t note_count;
};

struct plot_trace *plot_trace_new(const struct plot_trace_options *options)
{
    struct plot_trace *plot = memory_take(1, sizeof *plot);
    plot->options = options;
    return plot;
}

void plot_trace_free(struct plot_trace *plot)
{
    free(plot);
}

/* ---- words ---- */

PLYECHO_PRINTF(3, 4)
static void append(char *text, size_t room, const char *format, ...)
{
    size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text + used, room - used, format, arguments);
    va_end(arguments);
}

/* The part by its label, else the file's name; then where on the part. */
static void write_title(struct plot_trace *plot, const char *name, size_t channels,
                        const struct plyecho_trace *trace)
{
    static const struct {
        const char *key, *before, *behind;
    } places[] = {
        {"position", ", ", ""}, {"angle_deg", ", ", "°"}, {"axial_mm", ", ", " mm along"}};
    const char *slash = strrchr(name, '/');
    const char *base = slash != NULL && slash[1] != '\0' ? slash + 1 : name;
    const char *part = plyecho_labels_get(trace->labels, "part", trace->channel);
    if (part != NULL && part[0] != '\0')
        base = part;
    else if (strcmp(name, "-") == 0)
        base = "standard input";
    snprintf(plot->title, sizeof plot->title, "%s", base);
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        const char *value = plyecho_labels_get(trace->labels, places[i].key, trace->channel);
        if (value != NULL && value[0] != '\0')
            append(plot->title, sizeof plot->title, "%s%s%s", places[i].before, value,
                   places[i].behind);
    }
    if (channels > 1)
        append(plot->title, sizeof plot->title, ", channel %zu", trace->channel);
}

/* At most four of them ever come together. */
static void add_note(struct plot_trace *plot, const char *text)
{
    plot->notes[plot->note_count++] = text;
    plot->notes[plot->note_count] = NULL;
}

/* "Trace, 4 to 12 MHz" */
static void name_band(char *text, size_t room, const char *what,
                      const struct plyecho_band *band)
{
    snprintf(text, room, "%s %.3g to %.3g MHz", what, band->low_hz * 1e-6,
             band->high_hz * 1e-6);
}

/* ---- analysis ---- */

static enum plyecho_code condition(struct plot_trace *plot, const struct plyecho_trace *trace,
                                   struct plyecho_error *err)
{
    const struct plot_trace_options *o = plot->options;
    if (o->filtered && trace->signal != PLYECHO_SIGNAL_RF)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "--band is for the oscillation itself, this signal is '%s'; leave "
                            "--band out",
                            plyecho_signal_word(trace->signal));
    enum plyecho_code code = setup_condition(o->setup, trace, &plot->conditioned, err);
    plot->is_conditioned = code == PLYECHO_OK;
    return code == PLYECHO_UNSUITABLE ? PLYECHO_OK : code;
}

static void find_marks(struct plot_trace *plot, const struct plyecho_trace *trace)
{
    struct plyecho_echo_options options = plyecho_echo_defaults();
    plot->mark_count = !plot->is_conditioned ? 0
                                             : plyecho_echoes_find(&plot->conditioned, &options,
                                                                   plot->echoes, MOST_MARKS);
    bool log = trace->signal == PLYECHO_SIGNAL_LOG;
    for (size_t i = 0; i < plot->mark_count; i++) {
        const struct plyecho_echo *echo = &plot->echoes[i];
        plot->marks[i] = (struct plot_mark){
            .number = (unsigned)i + 1,
            .time_s = echo->time_s,
            .level = log ? 20 * log10(echo->amplitude) : echo->amplitude,
            .level_db = echo->level_db,
        };
    }
    plot->picks = (struct plyecho_picks){.front = -1};
    if (plot->is_conditioned)
        plyecho_wall_pick(&plot->conditioned, &plot->options->setup->assess.wall, &plot->picks);
    if (plot->mark_count == 0)
        add_note(plot, "No echo stands out of the noise");
}

/* ---- the parts of the picture ---- */

static void show_curves(struct plot_trace *plot, const struct plyecho_trace *trace,
                        struct plot_picture *picture)
{
    const struct plyecho_conditioned *c = &plot->conditioned;
    bool filtered = plot->options->filtered && plot->is_conditioned;
    bool envelope =
        plot->options->envelope && plot->is_conditioned &&
        (trace->signal == PLYECHO_SIGNAL_RF || trace->signal == PLYECHO_SIGNAL_RECTIFIED);
    struct plot_curve curve = {trace->amplitude, trace->samples, trace->start_s,
                               trace->sample_rate_hz};
    picture->trace = picture->envelope = curve;
    if (filtered)
        picture->trace.value = c->in_phase;
    picture->envelope.value = envelope ? c->envelope : NULL;
    picture->two_sided = trace->signal == PLYECHO_SIGNAL_RF;
    strcpy(plot->trace_text, "Trace");
    if (filtered)
        name_band(plot->trace_text, sizeof plot->trace_text, "Trace,", &c->band);
    else if (plot->is_conditioned && c->has_sign) {
        name_band(plot->band_note, sizeof plot->band_note,
                  envelope ? "Envelope and echoes:" : "Echoes:", &c->band);
        add_note(plot, plot->band_note);
    }
}

static void show_amplitude(const struct plyecho_trace *trace, struct plot_picture *picture)
{
    static const char *const texts[] = {
        [PLYECHO_SIGNAL_RF] = "Amplitude",
        [PLYECHO_SIGNAL_RECTIFIED] = "Amplitude, rectified",
        [PLYECHO_SIGNAL_ENVELOPE] = "Envelope",
        [PLYECHO_SIGNAL_LOG] = "Level",
    };
    picture->amplitude_text = texts[trace->signal];
    picture->unit = plyecho_labels_get(trace->labels, "unit", trace->channel);
    if (picture->unit == NULL && trace->signal == PLYECHO_SIGNAL_LOG)
        picture->unit = "dB";
}

/* The level below which nothing is counted as an echo. */
static void show_noise(struct plot_trace *plot, const struct plyecho_trace *trace,
                       struct plot_picture *picture)
{
    double least_db = plyecho_echo_defaults().least_snr_db;
    picture->noise = NAN;
    if (!plot->is_conditioned || !(plot->conditioned.noise > 0) ||
        trace->signal == PLYECHO_SIGNAL_LOG)
        return;
    picture->noise = plot->conditioned.noise * pow(10.0, least_db / 20.0);
    snprintf(plot->noise_text, sizeof plot->noise_text, "Noise + %.3g dB", least_db);
    picture->noise_text = plot->noise_text;
}

/* Depth 0 lies at the interface echo, in contact at the zero offset; without either there is no
 * depth. */
static void show_depth(struct plot_trace *plot, struct plot_picture *picture)
{
    const struct plyecho_wall_options *wall = &plot->options->setup->assess.wall;
    if (!(wall->velocity_m_s > 0))
        return;
    picture->velocity_m_s = wall->velocity_m_s;
    if (plot->picks.front >= 0) {
        picture->depth_zero_s = plot->picks.echoes[plot->picks.front].time_s;
    } else if (wall->zero_s.known) {
        picture->depth_zero_s = wall->zero_s.value;
    } else {
        picture->velocity_m_s = 0;
        add_note(plot, "No interface echo found, so no depth: give --zero");
    }
}

/* What `plyecho assess` says of the trace, in a line, and the depths that it speaks of. */
static void show_verdict(struct plot_trace *plot, const struct plyecho_trace *trace,
                         struct plot_picture *picture)
{
    const struct plyecho_assess_options *options = &plot->options->setup->assess;
    struct plyecho_assessment a;
    if (!plot->is_conditioned || !(options->wall.velocity_m_s > 0))
        return;
    plyecho_assess(&plot->conditioned, trace, options, &a);
    snprintf(plot->verdict_note, sizeof plot->verdict_note, "%s%s",
             plyecho_verdict_word(a.verdict),
             options->wall.nominal_m.known ? "" : " (no nominal wall given)");
    if (a.wall_seen)
        append(plot->verdict_note, sizeof plot->verdict_note, ", wall %.2f mm",
               a.thickness.thickness_m * 1e3);
    if (a.has_indication)
        append(plot->verdict_note, sizeof plot->verdict_note, ", echo inside at %.2f mm",
               a.depth_m * 1e3);
    if (plyecho_reason_word(a.reason)[0] != '\0')
        append(plot->verdict_note, sizeof plot->verdict_note, ", %s",
               plyecho_reason_word(a.reason));
    add_note(plot, plot->verdict_note);
    if (!a.range_known || !(picture->velocity_m_s > 0))
        return;
    double per_m = 2 / picture->velocity_m_s;
    snprintf(plot->gate_text, sizeof plot->gate_text, "inspected %.2f to %.2f mm",
             a.from_m * 1e3, a.to_m * 1e3);
    plot->gate = (struct plot_gate){picture->depth_zero_s + a.from_m * per_m,
                                    picture->depth_zero_s + a.to_m * per_m, plot->gate_text};
    picture->gates = &plot->gate;
    picture->gate_count = 1;
}

/* The times between which the wall's echoes lie: behind the initial pulse, and before the delay line
 * repeats, at twice the interface echo's time. That holds where time counts from the initial pulse:
 * where the record begins with it, or says that it begins later. */
static void find_stretch(const struct plot_trace *plot, double *from_s, double *to_s)
{
    const struct plyecho_picks *picks = &plot->picks;
    double start = plot->conditioned.start_s;
    *from_s = picks->initial_end_s;
    *to_s = INFINITY;
    if (picks->front >= 0 && (picks->initial_end_s > start || start > 0))
        *to_s = 2 * picks->echoes[picks->front].time_s - picks->pulse_s;
}

/* The first and the last echo of that stretch; false where it has none. */
static bool find_ends(const struct plot_trace *plot, double *first_s, double *last_s)
{
    double from, to;
    bool any = false;
    find_stretch(plot, &from, &to);
    for (size_t i = 0; i < plot->mark_count; i++) {
        double time = plot->marks[i].time_s;
        if (time < from || time > to)
            continue;
        if (!any)
            *first_s = time;
        *last_s = time;
        any = true;
    }
    return any;
}

static enum plyecho_code show_range(struct plot_trace *plot, const struct plyecho_trace *trace,
                                    struct plot_picture *picture, struct plyecho_error *err)
{
    const struct plot_trace_options *o = plot->options;
    double start = trace->start_s;
    double end = plyecho_trace_time_s(trace, (double)(trace->samples - 1));
    picture->from_s = start;
    picture->to_s = end;
    double first = 0, last = 0;
    if (find_ends(plot, &first, &last)) {
        double period = plot->conditioned.has_sign ? 1 / plot->conditioned.centre_hz
                                                   : 10 / trace->sample_rate_hz;
        double margin = fmax(margin_share * (last - first), margin_periods * period);
        picture->from_s = fmax(start, first - margin);
        picture->to_s = fmin(end, last + margin);
    }
    if (o->has_from)
        picture->from_s = o->from_s;
    if (o->has_to)
        picture->to_s = o->to_s;
    bool empty = picture->from_s >= end || picture->to_s <= start;
    if (empty || !(picture->from_s < picture->to_s))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "nothing to show from %.6g to %.6g µs: the trace runs from %.6g to "
                            "%.6g µs; change --from and --to",
                            picture->from_s * 1e6, picture->to_s * 1e6, start * 1e6, end * 1e6);
    return PLYECHO_OK;
}

enum plyecho_code plot_trace_run(struct plot_trace *plot, const char *name, size_t channels,
                                 const struct plyecho_trace *trace,
                                 struct plot_picture *picture, struct plyecho_error *err)
{
    plot->note_count = 0;
    plot->notes[0] = NULL;
    *picture = (struct plot_picture){
        .title = plot->title,
        .notes = plot->notes,
        .trace_text = plot->trace_text,
    };
    enum plyecho_code code = condition(plot, trace, err);
    if (code != PLYECHO_OK)
        return code;
    write_title(plot, name, channels, trace);
    find_marks(plot, trace);
    picture->marks = plot->marks;
    picture->mark_count = plot->mark_count;
    show_curves(plot, trace, picture);
    show_amplitude(trace, picture);
    show_noise(plot, trace, picture);
    show_depth(plot, picture);
    show_verdict(plot, trace, picture);
    return show_range(plot, trace, picture, err);
}
