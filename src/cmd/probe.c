/* probe - what a probe's pulse is like, from a reference echo; kept, drawn, compared */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "file.h"
#include "gnuplot.h"
#include "inputs.h"
#include "outputs.h"
#include "plot_output.h"
#include "probe.h"
#include "procedure_changes.h"
#include "procedure_file.h"

struct probe_values {
    struct option_count channel;
    struct option_number from_us, to_us;
    struct option_number reflection;
    struct option_text save;
    struct option_text into;
    struct option_text compare;
    struct option_text plot;
    struct probe_limits limits;
    struct table_values table;
    struct inputs_values inputs;
};

#define OFFSET(member) offsetof(struct probe_values, member)

static const struct option options[] = {
    {.name = "channel",
     .kind = OPTION_COUNT,
     .argument = "N",
     .range = OPTION_BETWEEN,
     .least = 1,
     .most = PLYECHO_MAX_CHANNELS,
     .offset = OFFSET(channel),
     .help = "measure this channel only, counted from 1 (default: each)"},
    {.name = "from",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = OFFSET(from_us),
     .help = "look for the echo from this time on, in microseconds (default: behind the "
             "transmission pulse)"},
    {.name = "to",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = OFFSET(to_us),
     .help = "and up to this time"},
    {.name = "reflection",
     .kind = OPTION_NUMBER,
     .argument = "SHARE",
     .range = OPTION_BETWEEN,
     .least = -1.0,
     .most = 1.0,
     .offset = OFFSET(reflection),
     .help = "reflection of what the echo comes off, with its sign (default: the label "
             "reference_reflection, or -1: air)"},
    {.name = "save",
     .kind = OPTION_TEXT,
     .argument = "PULSE",
     .offset = OFFSET(save),
     .help = "write the echo, as recorded and clear of others, to the trace file PULSE.wav or "
             "PULSE.csv, for --pulse of other verbs"},
    {.name = "into",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = OFFSET(into),
     .help =
         "with --save: name the pulse in the procedure file FILE, made where there is none, and "
         "put the probe's frequency and bandwidth there; what else stands in it is kept"},
    {.name = "plot",
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = OFFSET(plot),
     .help =
         "draw waveform and spectrum to NAME, whose ending .png, .svg, .pdf or .txt says the "
         "kind; .gp is the gnuplot script itself"},
    {.name = "compare",
     .kind = OPTION_TEXT,
     .argument = "EARLIER",
     .offset = OFFSET(compare),
     .help = "print what changed against the trace file EARLIER instead, such as a pulse that "
             "was saved when the probe was new; exit status 1 where a limit is passed"},
    {.name = "", .kind = OPTION_GROUP, .group = probe_limit_options, .offset = OFFSET(limits)},
    {.name = "", .kind = OPTION_GROUP, .group = table_options, .offset = OFFSET(table)},
    {.name = "", .kind = OPTION_GROUP, .group = inputs_options, .offset = OFFSET(inputs)},
    {.name = NULL},
};

/* ---- the table ---- */

enum column_index {
    TRACE,
    CHANNEL,
    TIME,
    AMPLITUDE,
    PEAK_TO_PEAK,
    REFLECTION,
    NOISE,
    SNR,
    PEAK_FREQUENCY,
    CENTRE,
    GEOMETRIC_CENTRE,
    BAND_LOW,
    BAND_HIGH,
    BANDWIDTH,
    RELATIVE_BANDWIDTH,
    LENGTH_6,
    LENGTH_20,
    LENGTH_40,
    RISE,
    WAVEFORM,
    CYCLES,
    DOUBTS,
    COLUMN_TOTAL
};

#define NUMBER(text, dec, dig)                                                                 \
    .name = text, .kind = COLUMN_NUMBER, .decimals = dec, .digits = dig

static const struct column columns[COLUMN_TOTAL] = {
    [TRACE] = {.name = "trace", .kind = COLUMN_FILE, .width = 16},
    [CHANNEL] = {.name = "channel", .kind = COLUMN_COUNT},
    [TIME] = {NUMBER("time_us", 3, 8)},
    [AMPLITUDE] = {NUMBER("amplitude", 4, 5)},
    [PEAK_TO_PEAK] = {NUMBER("peak_to_peak", 4, 5), .where = COLUMN_NOT_IN_TEXT},
    [REFLECTION] = {NUMBER("reflection", 3, 0), .where = COLUMN_NOT_IN_TEXT},
    [NOISE] = {NUMBER("noise_rms", 4, 4), .where = COLUMN_NOT_IN_TEXT},
    [SNR] = {NUMBER("snr_db", 1, 4)},
    [PEAK_FREQUENCY] = {NUMBER("peak_frequency_mhz", 2, 5), .where = COLUMN_NOT_IN_TEXT},
    [CENTRE] = {NUMBER("centre_mhz", 2, 5)},
    [GEOMETRIC_CENTRE] = {NUMBER("geometric_centre_mhz", 2, 5)},
    [BAND_LOW] = {NUMBER("band_low_6db_mhz", 2, 5)},
    [BAND_HIGH] = {NUMBER("band_high_6db_mhz", 2, 5)},
    [BANDWIDTH] = {NUMBER("bandwidth_6db_mhz", 2, 5), .where = COLUMN_NOT_IN_TEXT},
    [RELATIVE_BANDWIDTH] = {NUMBER("relative_bandwidth_6db", 3, 4),
                            .where = COLUMN_NOT_IN_TEXT},
    [LENGTH_6] = {NUMBER("length_6db_us", 3, 5), .where = COLUMN_NOT_IN_TEXT},
    [LENGTH_20] = {NUMBER("length_20db_us", 3, 5)},
    [LENGTH_40] = {NUMBER("length_40db_us", 3, 5), .where = COLUMN_NOT_IN_TEXT},
    [RISE] = {NUMBER("rise_20db_us", 3, 4), .where = COLUMN_NOT_IN_TEXT},
    [WAVEFORM] = {NUMBER("waveform_20db_us", 3, 5), .where = COLUMN_NOT_IN_TEXT},
    [CYCLES] = {NUMBER("cycles_20db", 1, 4)},
    [DOUBTS] = {.name = "doubts", .kind = COLUMN_TEXT},
};

static struct cell cell_us(struct plyecho_known seconds)
{
    return seconds.known ? cell_number(seconds.value * 1e6) : cell_unknown();
}

enum { WORDS_ROOM = 600 };

/* What makes the numbers doubtful (common practice, no source for the limits), joined by "; ". */
static const char *doubts(const struct plyecho_probe_echo *echo, char words[WORDS_ROOM])
{
    static const double least_snr_db = 30.0, least_samples = 6.0;
    const struct plyecho_probe_character *c = &echo->character;
    double nyquist_hz = echo->sample_rate_hz / 2.0;
    const struct {
        bool holds;
        const char *text;
    } all[] = {
        {c->crowded,
         "another echo or the record's end cuts the pulse: its band is not the probe's "
         "alone"},
        {20.0 * log10(c->amplitude / c->noise) < least_snr_db,
         "noise within 30 dB: average several records"},
        {c->band.centre_hz * least_samples > echo->sample_rate_hz,
         "fewer than six samples a cycle: raise the sample rate"},
        {c->band.lower_hz <= 0.0 || c->band.upper_hz >= nyquist_hz - echo->bin_hz,
         "the spectrum does not fall to half on both sides"},
    };
    size_t used = 0;
    words[0] = '\0';
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        if (all[i].holds)
            used += (size_t)snprintf(words + used, WORDS_ROOM - used, "%s%s",
                                     used > 0 ? "; " : "", all[i].text);
    return used > 0 ? words : NULL;
}

static void fill_band(struct cell *cells, const struct plyecho_spectral_band *band)
{
    cells[PEAK_FREQUENCY] = cell_number(band->peak_hz * 1e-6);
    cells[CENTRE] = cell_number(band->centre_hz * 1e-6);
    cells[GEOMETRIC_CENTRE] = cell_number(band->geometric_centre_hz * 1e-6);
    cells[BAND_LOW] = cell_number(band->lower_hz * 1e-6);
    cells[BAND_HIGH] = cell_number(band->upper_hz * 1e-6);
    cells[BANDWIDTH] = cell_number(band->bandwidth_hz * 1e-6);
    cells[RELATIVE_BANDWIDTH] = cell_number(band->relative_bandwidth);
}

static bool write_row(const struct table *table, const char *name, size_t channel,
                      const struct plyecho_probe_echo *echo)
{
    const struct plyecho_probe_character *c = &echo->character;
    char words[WORDS_ROOM];
    struct cell cells[COLUMN_TOTAL];
    cells[TRACE] = cell_text(name);
    cells[CHANNEL] = cell_count(channel);
    cells[TIME] = cell_number(c->time_s * 1e6);
    cells[AMPLITUDE] = cell_number(c->amplitude);
    cells[PEAK_TO_PEAK] = cell_number(c->peak_to_peak);
    cells[REFLECTION] = cell_number(c->reflection);
    cells[NOISE] = cell_number(c->noise);
    cells[SNR] = cell_number(20.0 * log10(c->amplitude / c->noise));
    fill_band(cells, &c->band);
    cells[LENGTH_6] = cell_us(c->length_6db_s);
    cells[LENGTH_20] = cell_us(c->length_20db_s);
    cells[LENGTH_40] = cell_us(c->length_40db_s);
    cells[RISE] = c->length_20db_s.known ? cell_number(c->rise_20db_s * 1e6) : cell_unknown();
    cells[WAVEFORM] = cell_us(c->waveform_20db_s);
    cells[CYCLES] = c->cycles_20db.known ? cell_number(c->cycles_20db.value) : cell_unknown();
    cells[DOUBTS] = cell_text(doubts(echo, words));
    return table_row(table, cells);
}

/* ---- one echo, and what is made of it ---- */

struct job {
    const struct invocation *invocation;
    const struct probe_values *values;
    struct messages *messages;
    struct plyecho_probe_echo earlier; /* samples 0: none */
    char pulse_value[1024];            /* of --save, for the procedure file of --into */
    struct outputs *outputs;
    struct plot_output *plots;
    struct plot_output_kind kind;
    struct table table;
    bool single; /* one echo only is wanted */
    bool flagged;
    bool going;
};

static enum plyecho_code draw(const struct job *job, const char *title,
                              const struct plyecho_probe_echo *echo, char **picture,
                              size_t *size, struct plyecho_error *err)
{
    bool text = job->kind.term == PLOT_TEXT;
    struct plot_view view = {job->kind.term, text ? 100 : 1000, text ? 50 : 900, 0};
    char *script;
    enum plyecho_code code =
        probe_plot_script(title, echo, job->earlier.samples > 0 ? &job->earlier : NULL, &view,
                          &script, size, err);
    if (code != PLYECHO_OK || job->kind.script) {
        *picture = script;
        return code;
    }
    code = gnuplot_run(script, *size, GNUPLOT_TIME_LIMIT_S, picture, size, err);
    free(script);
    if (code == PLYECHO_OK && *size == 0) {
        free(*picture);
        code = plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "gnuplot ended without a picture; write the script with --plot "
                            "NAME.gp and try it by hand");
    }
    return code;
}

static void plot(struct job *job, const char *name, const struct plyecho_probe_echo *echo)
{
    struct plyecho_error err;
    char *picture = NULL;
    size_t size = 0;
    if (draw(job, name, echo, &picture, &size, &err) != PLYECHO_OK) {
        message_error(job->messages, job->values->plot.value, &err);
        return;
    }
    plot_output_write(job->plots, name, 0, picture, size);
    free(picture);
}

/* A pulse that is in doubt is named, since it was asked for, but does not tell what the probe is. */
static void put_into(struct job *job, const struct plyecho_probe_echo *echo)
{
    struct procedure_changes changes = {.count = 0};
    const struct plyecho_spectral_band *band = &echo->character.band;
    const char *file = job->values->into.value;
    char words[WORDS_ROOM];
    const char *doubtful = doubts(echo, words);
    procedure_changes_add(&changes, "signal", "pulse", "%s", job->pulse_value);
    if (doubtful == NULL) {
        procedure_changes_add(&changes, "equipment", "probe_frequency_hz", "%.3gM",
                              band->centre_hz * 1e-6);
        procedure_changes_add(&changes, "equipment", "probe_bandwidth", "%.3g",
                              band->relative_bandwidth);
    } else {
        message_note(job->messages, file,
                     "probe_frequency_hz and probe_bandwidth left as they are: %s", doubtful);
    }
    procedure_changes_write(&changes, file, job->messages);
}

static void save(struct job *job, const struct input *input, size_t channel,
                 const struct plyecho_probe_echo *echo)
{
    struct plyecho_error err;
    struct plyecho_traces cut;
    if (plyecho_probe_echo_cut(&cut, input->traces, channel, echo, &err) != PLYECHO_OK) {
        message_error(job->messages, input->name, &err);
        return;
    }
    if (outputs_write(job->outputs, input->name, &cut) && job->values->into.set)
        put_into(job, echo);
    plyecho_traces_clear(&cut);
}

static struct plyecho_probe_options probe_options(const struct probe_values *values)
{
    return (struct plyecho_probe_options){
        .from_s = values->from_us.set ? values->from_us.value * 1e-6 : -INFINITY,
        .to_s = values->to_us.set ? values->to_us.value * 1e-6 : INFINITY,
        .reflection = {values->reflection.set, values->reflection.value},
    };
}

static void measure(struct job *job, const struct input *input, size_t channel)
{
    struct plyecho_trace trace = plyecho_traces_channel(input->traces, channel);
    struct plyecho_probe_options o = probe_options(job->values);
    struct plyecho_probe_echo echo;
    struct plyecho_error err;
    if (plyecho_probe_echo_take(&echo, &trace, &o, &err) != PLYECHO_OK) {
        message_trouble(job->messages, input->name, "channel %zu: %s", channel, err.text);
        return;
    }
    if (job->earlier.samples > 0)
        job->flagged |= probe_compare(&job->values->table, &job->values->limits, input->name,
                                      channel, &echo, &job->earlier);
    else
        job->going = write_row(&job->table, input->name, channel, &echo);
    if (job->plots != NULL)
        plot(job, input->name, &echo);
    if (job->outputs != NULL)
        save(job, input, channel, &echo);
    plyecho_probe_echo_clear(&echo);
}

static void measure_file(struct job *job, const struct input *input)
{
    size_t first = 1, last = input->traces->channels;
    if (job->values->channel.set)
        first = last = (size_t)job->values->channel.value;
    if (last > input->traces->channels)
        message_trouble(job->messages, input->name, "has %zu channels, no channel %zu",
                        input->traces->channels, last);
    else if (job->single && last > first)
        message_trouble(
            job->messages, input->name,
            "has %zu channels; choose one with --channel, or `plyecho average` them", last);
    else
        for (size_t c = first; job->going && c <= last; c++)
            measure(job, input, c);
}

/* ---- the options ---- */

static bool open_earlier(struct job *job)
{
    const char *name = job->values->compare.value;
    struct plyecho_read_options read = {.sample_rate_hz =
                                            job->values->inputs.sample_rate_hz.value};
    struct plyecho_probe_options anywhere = {-INFINITY, INFINITY, {false, 0.0}};
    struct plyecho_traces traces = {0};
    struct plyecho_error err;
    enum plyecho_code code = inputs_read_one(name, &read, &traces, &err);
    if (code == PLYECHO_OK && traces.channels > 1)
        code =
            plyecho_fail(&err, PLYECHO_UNSUITABLE,
                         "%zu channels: the earlier pulse is one trace, such as --save writes",
                         traces.channels);
    if (code == PLYECHO_OK) {
        struct plyecho_trace trace = plyecho_traces_channel(&traces, 1);
        code = plyecho_probe_echo_take(&job->earlier, &trace, &anywhere, &err);
    }
    if (code != PLYECHO_OK)
        message_error(job->messages, name, &err);
    plyecho_traces_clear(&traces);
    return code == PLYECHO_OK;
}

static bool open_plot(struct job *job)
{
    const char *name = job->values->plot.value;
    size_t size = strlen(name);
    job->kind = (struct plot_output_kind){PLOT_PNG, false};
    job->kind.script = size > 3 && strcmp(name + size - 3, ".gp") == 0;
    if (!job->kind.script && !plot_output_kind_of(name, &job->kind.term)) {
        message_trouble(job->messages, "--plot",
                        "'%s' ends in none of .png, .svg, .pdf, .txt and .gp", name);
        return false;
    }
    job->plots = plot_output_open(job->invocation, name, job->kind);
    return job->plots != NULL;
}

/* A pulse's name as it is to stand in a procedure file: relative to that file's folder. NULL where it
 * lies elsewhere. */
static const char *name_beside(const char *procedure, const char *pulse)
{
    const char *slash = strrchr(procedure, '/');
    size_t folder = slash != NULL ? (size_t)(slash - procedure) + 1 : 0;
    if (pulse[0] == '/' && procedure[0] != '/')
        return pulse;
    return strncmp(procedure, pulse, folder) == 0 ? pulse + folder : NULL;
}

/* Looked at before anything is written. One that is not there is made. */
static bool is_procedure(const char *name, struct messages *messages)
{
    struct plyecho_procedure procedure;
    struct file_identity identity;
    if (!file_identify(name, &identity) || file_is_special(name))
        return true;
    bool good = procedure_file_read(name, &procedure, messages);
    plyecho_procedure_clear(&procedure);
    return good;
}

static bool check_into(struct job *job)
{
    const struct probe_values *values = job->values;
    if (!values->into.set)
        return true;
    if (!values->save.set) {
        message_trouble(job->messages, "--into",
                        "names the pulse that --save writes; give both");
        return false;
    }
    const char *name = name_beside(values->into.value, values->save.value);
    if (name == NULL ||
        !plyecho_procedure_quote(name, job->pulse_value, sizeof job->pulse_value)) {
        message_trouble(
            job->messages, values->into.value,
            "cannot name the pulse %s; save it in the procedure file's folder, under a "
            "plain name",
            values->save.value);
        return false;
    }
    return is_procedure(values->into.value, job->messages);
}

static bool names_a_trace(const char *name)
{
    const char *dot = strrchr(name, '.');
    return dot != NULL && (strcasecmp(dot, ".wav") == 0 || strcasecmp(dot, ".csv") == 0);
}

static bool is_set(void *context, const struct option *option, void *member)
{
    (void)context;
    (void)option;
    return *(const bool *)member; /* every kind of value begins with its bool */
}

/* Limits are of a comparison. */
static bool check_limits(const struct job *job)
{
    struct probe_limits limits = job->values->limits;
    const struct option *given = options_walk(probe_limit_options, &limits, is_set, NULL);
    if (given == NULL || job->values->compare.set)
        return true;
    message_trouble(
        job->messages, NULL,
        "--%s is a limit of what changed; give --compare EARLIER as well, or leave it "
        "out",
        given->name);
    return false;
}

static bool open_job(struct job *job)
{
    const struct probe_values *values = job->values;
    bool only_one = values->save.set || values->plot.set || values->compare.set;
    job->single = only_one;
    if (values->reflection.set && values->reflection.value == 0.0) {
        message_trouble(job->messages, "--reflection", "0 reflects nothing; -1 is air");
        return false;
    }
    if (!check_limits(job) || !check_into(job))
        return false;
    if (only_one && inputs_are_several(job->invocation, &values->inputs)) {
        message_trouble(job->messages, "probe",
                        "--save, --plot and --compare are for one file at a time");
        return false;
    }
    if (values->compare.set && !open_earlier(job))
        return false;
    if (values->plot.set && !open_plot(job))
        return false;
    struct outputs_values save_to = {.name = values->save};
    if (values->save.set && !names_a_trace(values->save.value)) {
        message_trouble(job->messages, values->save.value,
                        "ends in neither .wav nor .csv; rename it");
        return false;
    }
    if (values->save.set)
        job->outputs = outputs_open(job->invocation, &save_to, false);
    return !values->save.set || job->outputs != NULL;
}

static enum status run(const struct invocation *invocation)
{
    const struct probe_values *values = invocation->values;
    struct job job = {.invocation = invocation,
                      .values = values,
                      .messages = invocation->messages,
                      .going = true};
    if (open_job(&job)) {
        struct inputs *inputs = inputs_open(invocation, &values->inputs, 0.0);
        struct input input;
        if (!values->compare.set)
            table_begin(&job.table, &values->table, columns, COLUMN_TOTAL, stdout);
        while (job.going && inputs_next(inputs, &input))
            measure_file(&job, &input);
        inputs_close(inputs);
    }
    outputs_close(job.outputs);
    plot_output_close(job.plots);
    plyecho_probe_echo_clear(&job.earlier);
    return verb_status(invocation->messages, job.flagged);
}

const struct verb verb_probe = {
    .name = "probe",
    .group = VERB_PREPARE,
    .help = "what a probe's pulse is like: centre frequency, band, length, cycles",
    .operands = "[FILE...]",
    .description =
        "Measures one echo off a known reflector, best the delay line's end in air, or with --from "
        "and --to the back wall of a thick block: the highest behind the transmission pulse. After "
        "the principle of ISO 22232-2 (EN 12668-2), from memory of it, not to its letter: each number "
        "says the level that it holds for.\n"
        "The band goes from band_low_6db_mhz to band_high_6db_mhz, where the amplitude spectrum "
        "falls to half; centre_mhz is their arithmetic, geometric_centre_mhz their geometric mean, "
        "since usage differs. length_20db_us is how long the envelope stays at a tenth of its peak "
        "or above, waveform_20db_us the same of the unrectified oscillation, cycles_20db half the "
        "number of its half waves that high. What noise or another echo hides is empty.\n"
        "--save keeps the pulse for --pulse of other verbs; --compare tells what changed since an "
        "earlier one. The limits are common practice without a source: the procedure, the probe's "
        "data sheet and qualified personnel decide. What this does not measure is the beam, the "
        "squint, and the sensitivity against a stated pulser.",
    .example = "plyecho probe --save pulse.wav --plot pulse.png reference.wav\n  "
               "plyecho probe --compare pulse.wav today.wav",
    .options = options,
    .values_size = sizeof(struct probe_values),
    .run = run,
};
