/* echoes - a table of the echoes of each trace */
#include <config.h>

#include <stdio.h>

#include <plyecho/echo.h>

#include "conditioning.h"
#include "inputs.h"
#include "table.h"
#include "verb.h"

enum { MOST_ECHOES = 256 };

struct echoes_values {
    struct table_values table;
    struct inputs_values inputs;
    struct inputs_velocity velocity;
    struct band_values band;
    struct option_number least_snr_db;
    struct option_number least_level_db;
    struct option_number from_us;
    struct option_number to_us;
    struct option_count most;
};

static const struct option options[] = {
    {.name = "least-snr",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .range = OPTION_AT_LEAST,
     .has_preset = true,
     .preset = 14.0,
     .offset = offsetof(struct echoes_values, least_snr_db),
     .help = "leave out echoes whose envelope stands less than this above the noise's standard "
             "deviation"},
    {.name = "least-level",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .has_preset = true,
     .preset = -40.0,
     .offset = offsetof(struct echoes_values, least_level_db),
     .help = "leave out echoes this far below the largest"},
    {.name = "from",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = offsetof(struct echoes_values, from_us),
     .help = "start of the gate in µs; the start of the record without it"},
    {.name = "to",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = offsetof(struct echoes_values, to_us),
     .help = "end of the gate in µs; the end of the record without it"},
    {.name = "most",
     .kind = OPTION_COUNT,
     .argument = "N",
     .range = OPTION_BETWEEN,
     .least = 1,
     .most = MOST_ECHOES,
     .has_preset = true,
     .preset = 32,
     .offset = offsetof(struct echoes_values, most),
     .help = "keep at most the N highest of a trace"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = band_options,
     .offset = offsetof(struct echoes_values, band)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct echoes_values, table)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct echoes_values, inputs)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_velocity_options,
     .offset = offsetof(struct echoes_values, velocity)},
    {.name = NULL},
};

static const struct column columns[] = {
    {.name = "trace", .kind = COLUMN_FILE, .width = 24},
    {.name = "channel", .kind = COLUMN_COUNT},
    {.name = "echo", .kind = COLUMN_COUNT},
    {.name = "time_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7, .width = 9},
    {.name = "amplitude", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 5, .width = 10},
    {.name = "level_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
    {.name = "polarity", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 1},
    {.name = "phase_deg", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 4},
    {.name = "snr_db", .kind = COLUMN_NUMBER, .decimals = 1, .digits = 4},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

static bool print_echo(const struct table *table, const struct input_trace *input,
                       size_t number, const struct plyecho_echo *echo)
{
    bool has_sign = echo->polarity != 0;
    const struct cell cells[COLUMNS] = {
        cell_text(input->name),
        cell_count(input->trace.channel),
        cell_count(number),
        cell_number(echo->time_s * 1e6),
        cell_number(echo->amplitude),
        cell_number(echo->level_db),
        has_sign ? cell_number(echo->polarity) : cell_unknown(),
        has_sign ? cell_number(echo->phase_rad * 57.295779513082323) : cell_unknown(),
        cell_number(echo->snr_db),
    };
    return table_row(table, cells);
}

static struct plyecho_echo_options gate(const struct echoes_values *values)
{
    struct plyecho_echo_options o = plyecho_echo_defaults();
    o.least_snr_db = values->least_snr_db.value;
    o.least_level_db = values->least_level_db.value;
    if (values->from_us.set)
        o.from_s = values->from_us.value * 1e-6;
    if (values->to_us.set)
        o.to_s = values->to_us.value * 1e-6;
    return o;
}

static enum status run(const struct invocation *invocation)
{
    const struct echoes_values *values = invocation->values;
    struct conditioning conditioning;
    conditioning_open_option(&conditioning, &values->band);
    struct table table;
    table_begin(&table, &values->table, columns, COLUMNS, stdout);
    struct inputs *inputs =
        inputs_open(invocation, &values->inputs, values->velocity.m_s.value);
    struct input_trace input;
    struct plyecho_error last = {0};
    struct plyecho_echo echoes[MOST_ECHOES];
    bool going = true;
    while (going && inputs_next_trace(inputs, &input)) {
        struct plyecho_conditioned trace;
        struct plyecho_error err;
        enum plyecho_code code = conditioning_run(&conditioning, &input.trace, &trace, &err);
        if (code != PLYECHO_OK && code != PLYECHO_UNSUITABLE) {
            message_channel_error(invocation->messages, input.name, input.trace.channel, &err,
                                  &last);
            continue;
        }
        size_t count = 0;
        if (code == PLYECHO_OK) {
            struct plyecho_echo_options o = gate(values);
            count = plyecho_echoes_find(&trace, &o, echoes, values->most.value);
        }
        for (size_t k = 0; going && k < count; k++)
            going = print_echo(&table, &input, k + 1, &echoes[k]);
        if (count == 0)
            message_note(invocation->messages, input.name,
                         "channel %zu: no echo stands out of the noise", input.trace.channel);
    }
    inputs_close(inputs);
    conditioning_close(&conditioning);
    return verb_status(invocation->messages, false);
}

const struct verb verb_echoes = {
    .name = "echoes",
    .group = VERB_MEASURE,
    .help = "list the echoes: time, amplitude, level, polarity, signal-to-noise",
    .operands = "[FILE...]",
    .description =
        "Finds the peaks of the envelope and gives one row an echo, in order of time. time_us "
        "is the envelope's peak between samples, level_db is to the largest echo of the trace, "
        "polarity the sign of the highest excursion, phase_deg the oscillation's phase at the "
        "peak (0 a crest, 180 a trough), snr_db the peak over the standard deviation of the "
        "noise, which is taken from the quietest stretches of the trace itself, and empty where "
        "those are exactly flat. A rectified "
        "trace or an envelope has neither polarity nor phase.",
    .example = "plyecho echoes --band 4M:16M ring3.wav",
    .options = options,
    .values_size = sizeof(struct echoes_values),
    .run = run,
};
