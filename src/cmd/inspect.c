/* inspect - what each trace is, and what to doubt about it */
#include <plyecho/inspect.h>

#include <math.h>
#include <stdio.h>

#include "inputs.h"
#include "table.h"
#include "time_base.h"

struct inspect_values {
    struct table_values table;
    struct inputs_values inputs;
    struct inputs_velocity velocity;
};

static const struct option options[] = {
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct inspect_values, table)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct inspect_values, inputs)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_velocity_options,
     .offset = offsetof(struct inspect_values, velocity)},
    {.name = NULL},
};

enum column_index {
    TRACE,
    CHANNEL,
    CONTAINER,
    SIGNAL,
    SAMPLE_RATE,
    SAMPLE_COUNT,
    START,
    END,
    LEAST,
    MOST,
    OFFSET,
    NOISE,
    STEP,
    CLIPPED,
    CLIPPED_FROM,
    PEAK,
    PEAK_TIME,
    PEAK_COUNTS,
    SNR,
    PEAK_FREQUENCY,
    CENTRE,
    GEOMETRIC_CENTRE,
    BAND_LOW,
    BAND_HIGH,
    RELATIVE_BANDWIDTH,
    DRIFT,
    BASE_STEP,
    BASE_STEP_TIME,
    LINE_FREQUENCY,
    LINE_AMPLITUDE,
    DOUBTS,
    COLUMN_TOTAL
};

static const struct column columns[COLUMN_TOTAL] = {
    [TRACE] = {.name = "trace", .kind = COLUMN_FILE, .width = 16},
    [CHANNEL] = {.name = "channel", .kind = COLUMN_COUNT},
    [CONTAINER] = {.name = "container", .kind = COLUMN_TEXT, .where = COLUMN_NOT_IN_TEXT},
    [SIGNAL] = {.name = "signal", .kind = COLUMN_TEXT},
    [SAMPLE_RATE] = {.name = "sample_rate_hz", .kind = COLUMN_NUMBER},
    [SAMPLE_COUNT] = {.name = "samples", .kind = COLUMN_COUNT},
    [START] = {.name = "start_us", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 10},
    [END] = {.name = "end_us", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 10},
    [LEAST] = {.name = "least",
               .kind = COLUMN_NUMBER,
               .digits = 7,
               .where = COLUMN_NOT_IN_TEXT},
    [MOST] = {.name = "most", .kind = COLUMN_NUMBER, .digits = 7, .where = COLUMN_NOT_IN_TEXT},
    [OFFSET] = {.name = "offset",
                .kind = COLUMN_NUMBER,
                .digits = 5,
                .where = COLUMN_NOT_IN_TEXT},
    [NOISE] = {.name = "noise_rms",
               .kind = COLUMN_NUMBER,
               .digits = 4,
               .where = COLUMN_NOT_IN_TEXT},
    [STEP] = {.name = "step", .kind = COLUMN_NUMBER, .digits = 7, .where = COLUMN_NOT_IN_TEXT},
    [CLIPPED] = {.name = "clipped_samples", .kind = COLUMN_COUNT},
    [CLIPPED_FROM] = {.name = "clipped_from_us",
                      .kind = COLUMN_NUMBER,
                      .digits = 10,
                      .where = COLUMN_NOT_IN_TEXT},
    [PEAK] = {.name = "peak", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 5},
    [PEAK_TIME] = {.name = "peak_us", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 10},
    [PEAK_COUNTS] = {.name = "peak_counts",
                     .kind = COLUMN_NUMBER,
                     .digits = 5,
                     .where = COLUMN_NOT_IN_TEXT},
    [SNR] = {.name = "snr_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    [PEAK_FREQUENCY] = {.name = "peak_frequency_mhz",
                        .kind = COLUMN_NUMBER,
                        .digits = 5,
                        .where = COLUMN_NOT_IN_TEXT},
    [CENTRE] = {.name = "centre_mhz", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 5},
    [GEOMETRIC_CENTRE] = {.name = "geometric_centre_mhz",
                          .kind = COLUMN_NUMBER,
                          .digits = 5,
                          .where = COLUMN_NOT_IN_TEXT},
    [BAND_LOW] = {.name = "band_low_mhz", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 5},
    [BAND_HIGH] = {.name = "band_high_mhz", .kind = COLUMN_NUMBER, .decimals = 2, .digits = 5},
    [RELATIVE_BANDWIDTH] = {.name = "relative_bandwidth",
                            .kind = COLUMN_NUMBER,
                            .digits = 4,
                            .where = COLUMN_NOT_IN_TEXT},
    [DRIFT] = {.name = "drift",
               .kind = COLUMN_NUMBER,
               .digits = 4,
               .where = COLUMN_NOT_IN_TEXT},
    [BASE_STEP] = {.name = "base_step",
                   .kind = COLUMN_NUMBER,
                   .digits = 4,
                   .where = COLUMN_NOT_IN_TEXT},
    [BASE_STEP_TIME] = {.name = "base_step_us",
                        .kind = COLUMN_NUMBER,
                        .digits = 10,
                        .where = COLUMN_NOT_IN_TEXT},
    [LINE_FREQUENCY] = {.name = "line_mhz",
                        .kind = COLUMN_NUMBER,
                        .digits = 6,
                        .where = COLUMN_NOT_IN_TEXT},
    [LINE_AMPLITUDE] = {.name = "line_amplitude",
                        .kind = COLUMN_NUMBER,
                        .digits = 4,
                        .where = COLUMN_NOT_IN_TEXT},
    [DOUBTS] = {.name = "doubts", .kind = COLUMN_TEXT},
};

static void fill_time_base(struct cell *cells, const struct plyecho_trace *trace)
{
    cells[CHANNEL] = cell_count(trace->channel);
    cells[SIGNAL] = cell_text(plyecho_signal_word(trace->signal));
    cells[SAMPLE_RATE] = cell_number(trace->sample_rate_hz);
    cells[SAMPLE_COUNT] = cell_count(trace->samples);
    cells[START] = cell_number(trace->start_s * 1e6);
    cells[END] = cell_number(plyecho_trace_time_s(trace, (double)trace->samples - 1.0) * 1e6);
}

static void fill_levels(struct cell *cells, const struct plyecho_trace *trace,
                        const struct plyecho_inspection *in)
{
    double first_s = plyecho_trace_time_s(trace, (double)in->clipping.first);
    cells[LEAST] = cell_number(in->least);
    cells[MOST] = cell_number(in->most);
    cells[OFFSET] = cell_number(in->offset);
    cells[NOISE] = cell_number(in->noise_rms);
    cells[STEP] = cell_number(in->step);
    cells[CLIPPED] = cell_count(in->clipping.samples);
    cells[CLIPPED_FROM] = cell_number(in->clipping.samples > 0 ? first_s * 1e6 : NAN);
    cells[PEAK] = cell_number(in->peak);
    cells[PEAK_TIME] = cell_number(in->peak_s * 1e6);
    cells[PEAK_COUNTS] = cell_number(in->peak_counts);
    cells[SNR] = cell_number(in->snr_db);
}

static void fill_spectrum(struct cell *cells, const struct plyecho_inspection *in)
{
    cells[PEAK_FREQUENCY] = cell_number(in->band.peak_hz * 1e-6);
    cells[CENTRE] = cell_number(in->band.centre_hz * 1e-6);
    cells[GEOMETRIC_CENTRE] = cell_number(in->band.geometric_centre_hz * 1e-6);
    cells[BAND_LOW] = cell_number(in->band.lower_hz * 1e-6);
    cells[BAND_HIGH] = cell_number(in->band.upper_hz * 1e-6);
    cells[RELATIVE_BANDWIDTH] = cell_number(in->band.relative_bandwidth);
    cells[DRIFT] = cell_number(in->drift);
    cells[BASE_STEP] = cell_number(in->base_step);
    cells[BASE_STEP_TIME] = cell_number(in->base_step_s * 1e6);
    cells[LINE_FREQUENCY] = cell_number(in->line_hz * 1e-6);
    cells[LINE_AMPLITUDE] = cell_number(in->line_amplitude);
}

/* Room for all doubts and the reader's note. */
enum { WORDS_ROOM = 1500 };

/* The doubts, and behind them which of several readings of the file was taken. */
static const char *doubts(const struct plyecho_inspection *in,
                          const struct plyecho_trace *trace, const char *note,
                          char out[WORDS_ROOM])
{
    char words[WORDS_ROOM / 2];
    plyecho_inspection_words(in, trace, words, sizeof words);
    bool both = words[0] != '\0' && note[0] != '\0';
    snprintf(out, WORDS_ROOM, "%s%s%s", words, both ? "; " : "", note);
    return out[0] != '\0' ? out : NULL;
}

static bool write_row(const struct table *table, const struct input *input,
                      const struct plyecho_trace *trace, const struct plyecho_inspection *in)
{
    char words[WORDS_ROOM];
    struct cell cells[COLUMN_TOTAL];
    cells[TRACE] = cell_text(input->name);
    cells[CONTAINER] =
        cell_text(input->traces->container == PLYECHO_CONTAINER_CSV ? "csv" : "wav");
    fill_time_base(cells, trace);
    fill_levels(cells, trace, in);
    fill_spectrum(cells, in);
    cells[DOUBTS] = cell_text(doubts(in, trace, input->traces->note, words));
    return table_row(table, cells);
}

/* An inspector and the time base that it was planned for. */
struct inspecting {
    struct plyecho_inspector *inspector;
    struct time_base time_base;
};

static enum plyecho_code plan(struct inspecting *own, const struct plyecho_traces *traces,
                              struct plyecho_error *err)
{
    bool stays = time_base_stays(&own->time_base, traces->samples, traces->sample_rate_hz);
    if (stays && own->inspector != NULL)
        return PLYECHO_OK;
    plyecho_inspector_free(own->inspector);
    return plyecho_inspector_new(&own->inspector, traces->samples, traces->sample_rate_hz, err);
}

/* A row a channel. False where there is no use in going on. */
static bool inspect_file(struct inspecting *own, const struct table *table,
                         const struct input *input, struct messages *messages)
{
    const struct plyecho_traces *traces = input->traces;
    struct plyecho_error err;
    if (plan(own, traces, &err) != PLYECHO_OK) {
        message_error(messages, input->name, &err);
        return true;
    }
    bool going = true;
    for (size_t c = 1; going && c <= traces->channels; c++) {
        struct plyecho_trace trace = plyecho_traces_channel(traces, c);
        struct plyecho_inspection in;
        if (plyecho_inspector_run(own->inspector, &trace, &in, &err) != PLYECHO_OK)
            message_error(messages, input->name, &err);
        else
            going = write_row(table, input, &trace, &in);
    }
    return going;
}

static enum status run(const struct invocation *invocation)
{
    const struct inspect_values *values = invocation->values;
    struct inputs *inputs =
        inputs_open(invocation, &values->inputs, values->velocity.m_s.value);
    struct table table;
    struct input input;
    struct inspecting own = {0};
    table_begin(&table, &values->table, columns, COLUMN_TOTAL, stdout);
    while (inputs_next(inputs, &input) &&
           inspect_file(&own, &table, &input, invocation->messages))
        ;
    plyecho_inspector_free(own.inspector);
    inputs_close(inputs);
    return verb_status(invocation->messages, false);
}

const struct verb verb_inspect = {
    .name = "inspect",
    .group = VERB_PREPARE,
    .help = "what each trace is: time base, levels, band, noise, and what to doubt",
    .operands = "[FILE...]",
    .description =
        "One row a channel. The text form shows the main columns, CSV and JSON show all.\n"
        "Levels are in the trace's own unit. peak is the height of the largest echo (the "
        "initial pulse, where the record holds it) over the slow base line; noise_rms the "
        "standard deviation in the quietest stretches of the record; snr_db the one over the "
        "other. step is one count of the converter, from the file or from the grid that the "
        "samples fit. clipped_samples are at full scale, or flat crests below it.\n"
        "The band is that of the largest echo alone, from band_low_mhz to band_high_mhz "
        "where its amplitude falls to half (-6 dB); centre_mhz is their arithmetic mean, "
        "geometric_centre_mhz the root of their product, relative_bandwidth the band over "
        "centre_mhz. What cannot be told is empty. container is wav for every audio format.\n"
        "doubts says in words what may spoil a measurement: clipping, offset, drift or a "
        "jump of the base line, few counts, noise that was rounded or cut away, an "
        "interfering line, too low a sample rate, a rate that was scaled, a signal that looks "
        "rectified, no echo, a constant trace; and which of two possible "
        "readings of a file was taken. Doubts do not change the exit status.",
    .example = "plyecho inspect --format csv ring*.wav",
    .options = options,
    .values_size = sizeof(struct inspect_values),
    .run = run,
};
