#include "plot_trace.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/echo.h>
#include <plyecho/verdict.h>

#include "memory.h"

enum {
    MOST_MARKS = 32, /* as many as `plyecho echoes` lists by default */
    MOST_NOTES = 7,  /* that ever come together */
};

/* Room left and right of the echoes: a share of what lies between the first and the last, and at
 * least so many periods of the signal. */
static const double margin_share = 0.06;
static const double margin_periods = 4;

struct plot_trace {
    const struct plot_trace_options *options;
    struct plyecho_conditioned conditioned;
    bool is_conditioned; /* false: nothing in the trace to pick echoes from */
    struct plyecho_echo echoes[MOST_MARKS];
    size_t echo_count;
    struct plyecho_picks picks; /* which of them is the interface echo */
    bool is_judged;             /* assessment holds */
    struct plyecho_assessment assessment;
    struct plot_gate gate;
    struct plot_mark marks[MOST_MARKS];
    size_t mark_count;
    char title[400], trace_text[80], band_note[100], alone_note[60], verdict_note[200],
        marks_note[120];
    char gate_text[80], noise_text[60];
    const char *notes[MOST_NOTES + 1]; /* NULL behind the last */
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

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Does the text hold this number, not as part of a longer one? */
static bool holds_number(const char *text, const char *number)
{
    for (const char *at = text; (at = strstr(at, number)) != NULL; at++) {
        const char *behind = at + strlen(number);
        bool begins = at == text || !(is_digit(at[-1]) || at[-1] == '.' || at[-1] == '-');
        bool ends = !is_digit(behind[0]) && !(behind[0] == '.' && is_digit(behind[1]));
        if (begins && ends)
            return true;
    }
    return false;
}

/* The part by its label, else the file's name; then where on the part, but for numbers that the
 * position's own words give already. */
static void write_title(struct plot_trace *plot, const char *name, size_t channels,
                        const struct plyecho_trace *trace)
{
    static const struct {
        const char *key, *before, *behind;
    } places[] = {{"angle_deg", ", angle ", "°"}, {"axial_mm", ", axial ", " mm"}};
    const char *slash = strrchr(name, '/');
    const char *base = slash != NULL && slash[1] != '\0' ? slash + 1 : name;
    const char *part = plyecho_labels_get(trace->labels, "part", trace->channel);
    if (part != NULL && part[0] != '\0')
        base = part;
    else if (strcmp(name, "-") == 0)
        base = "standard input";
    const char *position = plyecho_labels_get(trace->labels, "position", trace->channel);
    bool has_position = position != NULL && position[0] != '\0';
    snprintf(plot->title, sizeof plot->title, "%s", base);
    if (has_position)
        append(plot->title, sizeof plot->title, ", %s", position);
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        const char *value = plyecho_labels_get(trace->labels, places[i].key, trace->channel);
        if (value != NULL && value[0] != '\0' &&
            !(has_position && holds_number(position, value)))
            append(plot->title, sizeof plot->title, "%s%s%s", places[i].before, value,
                   places[i].behind);
    }
    if (channels > 1)
        append(plot->title, sizeof plot->title, ", channel %zu", trace->channel);
}

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

/* All echoes, as `plyecho echoes` numbers them, which of them are the wall's, and what they mean. */
static void analyse(struct plot_trace *plot, const struct plyecho_trace *trace)
{
    const struct plyecho_assess_options *assess = &plot->options->setup->assess;
    struct plyecho_echo_options options = plyecho_echo_defaults();
    options.least_level_db = fmin(options.least_level_db, plot->options->least_level_db);
    plot->echo_count = 0;
    plot->picks = (struct plyecho_picks){.front = -1, .back = -1, .second = -1};
    plot->is_judged = plot->is_conditioned && assess->wall.velocity_m_s > 0;
    if (!plot->is_conditioned)
        return;
    plot->echo_count =
        plyecho_echoes_find(&plot->conditioned, &options, plot->echoes, MOST_MARKS);
    plyecho_wall_pick(&plot->conditioned, &assess->wall, &plot->picks);
    if (plot->is_judged)
        plyecho_assess(&plot->conditioned, trace, assess, &plot->assessment);
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

/* ---- which echoes are marked ---- */

/* Height of the highest echo of the wall; of all where it has none. */
static double largest_echo(const struct plot_trace *plot)
{
    double from, to, largest = 0, any = 0;
    find_stretch(plot, &from, &to);
    for (size_t i = 0; i < plot->echo_count; i++) {
        const struct plyecho_echo *echo = &plot->echoes[i];
        any = fmax(any, echo->amplitude);
        if (echo->time_s >= from && echo->time_s <= to)
            largest = fmax(largest, echo->amplitude);
    }
    return largest > 0 ? largest : any;
}

/* Time of depth 0: the interface echo, in contact the zero offset. False where neither is known. */
static bool find_depth_zero(const struct plot_trace *plot, double *time_s)
{
    const struct plyecho_wall_options *wall = &plot->options->setup->assess.wall;
    if (plot->picks.front >= 0)
        *time_s = plot->picks.echoes[plot->picks.front].time_s;
    else if (wall->zero_s.known)
        *time_s = wall->zero_s.value;
    return plot->picks.front >= 0 || wall->zero_s.known;
}

/* Times of echoes that are marked whatever their level: the wall's own, and the one that the verdict
 * speaks of. Returns how many. */
static size_t find_meant(const struct plot_trace *plot, double time_s[3])
{
    size_t count = 0;
    double zero;
    if (plot->picks.front >= 0)
        time_s[count++] = plot->picks.echoes[plot->picks.front].time_s;
    if (plot->picks.back >= 0)
        time_s[count++] = plot->picks.echoes[plot->picks.back].time_s;
    if (plot->is_judged && plot->assessment.has_indication && find_depth_zero(plot, &zero))
        time_s[count++] = zero + 2 * plot->assessment.depth_m /
                                     plot->options->setup->assess.wall.velocity_m_s;
    return count;
}

/* The echo nearest to each time that is meant, within a period. */
static void choose_meant(const struct plot_trace *plot, bool marked[MOST_MARKS])
{
    double time_s[3];
    size_t count = find_meant(plot, time_s);
    for (size_t k = 0; k < count; k++) {
        size_t nearest = MOST_MARKS;
        double least = 1 / plot->conditioned.centre_hz;
        for (size_t i = 0; i < plot->echo_count; i++) {
            double apart = fabs(plot->echoes[i].time_s - time_s[k]);
            if (apart <= least) {
                least = apart;
                nearest = i;
            }
        }
        if (nearest < MOST_MARKS)
            marked[nearest] = true;
    }
}

static void choose_marks(struct plot_trace *plot, const struct plyecho_trace *trace)
{
    bool log = trace->signal == PLYECHO_SIGNAL_LOG;
    bool marked[MOST_MARKS] = {false};
    double largest = largest_echo(plot);
    choose_meant(plot, marked);
    plot->mark_count = 0;
    for (size_t i = 0; i < plot->echo_count; i++) {
        const struct plyecho_echo *echo = &plot->echoes[i];
        double level_db = 20 * log10(echo->amplitude / largest);
        if (level_db < plot->options->least_level_db && !marked[i])
            continue;
        plot->marks[plot->mark_count++] = (struct plot_mark){
            .number = (unsigned)i + 1,
            .time_s = echo->time_s,
            .level = log ? 20 * log10(echo->amplitude) : echo->amplitude,
            .level_db = level_db,
        };
    }
}

/* How many echoes within the picture are not marked; known when its range is. */
static void note_unmarked(struct plot_trace *plot, const struct plot_picture *picture)
{
    size_t all = 0, marked = 0;
    for (size_t i = 0; i < plot->echo_count; i++)
        all += plot->echoes[i].time_s >= picture->from_s &&
               plot->echoes[i].time_s <= picture->to_s;
    for (size_t i = 0; i < plot->mark_count; i++)
        marked +=
            plot->marks[i].time_s >= picture->from_s && plot->marks[i].time_s <= picture->to_s;
    if (all == marked)
        return;
    snprintf(plot->marks_note, sizeof plot->marks_note, "Not marked: %zu %s below %.3g dB",
             all - marked, all - marked == 1 ? "echo" : "echoes",
             plot->options->least_level_db);
    add_note(plot, plot->marks_note);
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

/* Behind the back wall there is no depth, only what came back more than once; the same behind a
 * delamination that lets nothing through. Where no wall was seen its nominal is the limit. */
static double depth_end_m(const struct plot_trace *plot)
{
    const struct plyecho_assessment *a = &plot->assessment;
    const struct plyecho_wall_options *wall = &plot->options->setup->assess.wall;
    double beyond = 0.25 * wall->velocity_m_s / plot->conditioned.centre_hz; /* half a period */
    if (!plot->is_judged)
        return INFINITY;
    if (a->wall_seen)
        return a->thickness.thickness_m + beyond;
    if (a->verdict == PLYECHO_DELAMINATION && a->has_indication)
        return a->depth_m + beyond;
    return wall->nominal_m.known ? wall->nominal_m.value + wall->tolerance_m : INFINITY;
}

static void show_depth(struct plot_trace *plot, struct plot_picture *picture)
{
    double velocity = plot->options->setup->assess.wall.velocity_m_s;
    picture->depth_end_s = INFINITY;
    if (!(velocity > 0))
        return;
    if (!find_depth_zero(plot, &picture->depth_zero_s)) {
        add_note(plot, "No interface echo found, so no depth: give --zero");
        return;
    }
    picture->velocity_m_s = velocity;
    picture->depth_end_s = picture->depth_zero_s + 2 * depth_end_m(plot) / velocity;
}

/* A reason in the words of a sentence. */
static const char *plain(enum plyecho_reason reason)
{
    static const char *const words[PLYECHO_REASON_COUNT] = {
        [PLYECHO_REASON_NO_ECHO] = "no echo",
        [PLYECHO_REASON_NO_FRONT_ECHO] = "no interface echo",
        [PLYECHO_REASON_NO_BACK_ECHO] = "no back-wall echo",
        [PLYECHO_REASON_NO_SECOND_ECHO] = "no second back-wall echo",
        [PLYECHO_REASON_CLIPPED] = "clipped",
        [PLYECHO_REASON_TOO_NOISY] = "too noisy",
        [PLYECHO_REASON_CYCLE] = "time perhaps off by a cycle",
        [PLYECHO_REASON_OUTSIDE_TIME_BASE] = "record ends too early",
        [PLYECHO_REASON_NO_COUPLING] = "no coupling",
        [PLYECHO_REASON_NOT_A_WALL] = "not the back wall's echo",
        [PLYECHO_REASON_OFF_NOMINAL] = "off the nominal wall",
        [PLYECHO_REASON_NO_ZERO] = "zero offset not given",
        [PLYECHO_REASON_NO_NOMINAL] = "nominal wall not given",
        [PLYECHO_REASON_NOT_INSPECTED] = "no depth inspected",
        [PLYECHO_REASON_LINE_REPEATS] = "delay line repeats among the echoes",
    };
    return words[reason] != NULL ? words[reason] : plyecho_reason_word(reason);
}

/* Verdict of the trace, its neighbours' below it. Its reason stays out, since they answer it: what alone is
 * 'not the back wall's echo' is the back wall's where they say thin. */
static void note_both(struct plot_trace *plot, const struct plyecho_place_reading *place)
{
    char *alone = plot->alone_note, *note = plot->verdict_note;
    size_t room = sizeof plot->verdict_note;
    snprintf(alone, sizeof plot->alone_note, "by its trace alone: %s",
             plyecho_verdict_word(plot->assessment.verdict));
    snprintf(note, room, "with its neighbours: %s", plyecho_verdict_word(place->second));
    if (place->second_wall_m.known)
        append(note, room, ", wall %.2f mm", place->second_wall_m.value * 1e3);
    if (plyecho_verdict_has_echo(place->second))
        append(note, room, ", echo inside at %.2f mm", place->second_depth_m * 1e3);
    add_note(plot, alone);
    add_note(plot, note);
}

/* What `plyecho assess` says of the trace, in a line. */
static void note_alone(struct plot_trace *plot)
{
    const struct plyecho_assessment *a = &plot->assessment;
    bool nominal = plot->options->setup->assess.wall.nominal_m.known;
    char *note = plot->verdict_note;
    size_t room = sizeof plot->verdict_note;
    snprintf(note, room, "%s", plyecho_verdict_word(a->verdict));
    if (a->wall_seen)
        append(note, room, ", wall %.2f mm", a->thickness.thickness_m * 1e3);
    if (a->has_indication)
        append(note, room, ", echo inside at %.2f mm", a->depth_m * 1e3);
    if (plain(a->reason)[0] != '\0')
        append(note, room, ", %s", plain(a->reason));
    if (!nominal && a->reason != PLYECHO_REASON_NO_NOMINAL)
        append(note, room, ", %s", plain(PLYECHO_REASON_NO_NOMINAL));
    add_note(plot, note);
}

static void note_verdict(struct plot_trace *plot)
{
    const struct plyecho_place_reading *place = plot->options->place;
    if (place != NULL && place->second != plot->assessment.verdict)
        note_both(plot, place);
    else
        note_alone(plot);
    add_note(plot, "A reading, not a clearance");
}

static void show_verdict(struct plot_trace *plot, struct plot_picture *picture)
{
    const struct plyecho_assessment *a = &plot->assessment;
    if (!plot->is_judged)
        return;
    note_verdict(plot);
    if (!a->range_known || !(picture->velocity_m_s > 0))
        return;
    double per_m = 2 / picture->velocity_m_s;
    snprintf(plot->gate_text, sizeof plot->gate_text, "inspected %.2f to %.2f mm",
             a->from_m * 1e3, a->to_m * 1e3);
    plot->gate = (struct plot_gate){picture->depth_zero_s + a->from_m * per_m,
                                    picture->depth_zero_s + a->to_m * per_m, plot->gate_text};
    picture->gates = &plot->gate;
    picture->gate_count = 1;
}

/* The first and the last echo of that stretch; false where it has none. */
static bool find_ends(const struct plot_trace *plot, double *first_s, double *last_s)
{
    double from, to;
    bool any = false;
    find_stretch(plot, &from, &to);
    for (size_t i = 0; i < plot->echo_count; i++) {
        double time = plot->echoes[i].time_s;
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
    analyse(plot, trace);
    choose_marks(plot, trace);
    picture->marks = plot->marks;
    picture->mark_count = plot->mark_count;
    show_amplitude(trace, picture);
    show_noise(plot, trace, picture);
    if (plot->echo_count == 0)
        add_note(plot, "No echo stands out of the noise");
    show_depth(plot, picture);
    show_verdict(plot, picture);
    show_curves(plot, trace, picture);
    code = show_range(plot, trace, picture, err);
    if (code == PLYECHO_OK)
        note_unmarked(plot, picture);
    return code;
}
