/* thickness - the wall's thickness by measuring mode 1, 2 or 3 */
#include <config.h>

#include <stdio.h>

#include "setup.h"
#include "table.h"
#include "verb.h"

struct thickness_values {
    struct setup_values setup;
    struct table_values table;
    struct inputs_values inputs;
};

static const struct option options[] = {
    {.name = "",
     .kind = OPTION_GROUP,
     .group = setup_options,
     .offset = offsetof(struct thickness_values, setup)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = table_options,
     .offset = offsetof(struct thickness_values, table)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct thickness_values, inputs)},
    {.name = NULL},
};

static const struct column columns[] = {
    {.name = "trace", .kind = COLUMN_FILE, .width = 24},
    {.name = "channel", .kind = COLUMN_COUNT},
    {.name = "thickness_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 6},
    {.name = "thickness_u_mm", .kind = COLUMN_NUMBER, .decimals = 3, .digits = 3},
    {.name = "mode", .kind = COLUMN_NUMBER, .decimals = 0, .digits = 1},
    {.name = "tof_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7},
    {.name = "tof_u_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 3},
    {.name = "front_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7},
    {.name = "back_us", .kind = COLUMN_NUMBER, .decimals = 4, .digits = 7},
    {.name = "reason", .kind = COLUMN_TEXT, .width = 17},
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

static struct cell time_of(const struct plyecho_picks *picks, int echo)
{
    return echo < 0 ? cell_unknown() : cell_number(picks->echoes[echo].time_s * 1e6);
}

static bool print_row(const struct table *table, const struct input_trace *input,
                      const struct plyecho_picks *picks, const struct plyecho_thickness *t)
{
    bool measured = t->time_s > 0.0;
    const struct cell cells[COLUMNS] = {
        cell_text(input->name),
        cell_count(input->trace.channel),
        measured ? cell_number(t->thickness_m * 1e3) : cell_unknown(),
        measured && t->thickness_u.known ? cell_number(t->thickness_u.value * 1e3)
                                         : cell_unknown(),
        measured ? cell_number(t->mode) : cell_unknown(),
        measured ? cell_number(t->time_s * 1e6) : cell_unknown(),
        measured ? cell_number(t->time_u_s * 1e6) : cell_unknown(),
        time_of(picks, picks->front),
        time_of(picks, picks->back),
        cell_text(plyecho_reason_word(t->reason)),
    };
    return table_row(table, cells);
}

static enum status run(const struct invocation *invocation)
{
    const struct thickness_values *values = invocation->values;
    struct setup setup;
    if (!setup_open(&setup, &values->setup, true, values->inputs.sample_rate_hz.value,
                    invocation->messages)) {
        setup_close(&setup);
        return STATUS_TROUBLE;
    }
    const struct plyecho_wall_options *wall = &setup.assess.wall;
    struct table table;
    table_begin(&table, &values->table, columns, COLUMNS, stdout);
    struct inputs *inputs = inputs_open(invocation, &values->inputs, wall->velocity_m_s);
    struct input_trace input;
    struct plyecho_error last = {0};
    bool going = true;
    while (going && inputs_next_trace(inputs, &input)) {
        struct plyecho_conditioned trace;
        struct plyecho_error err;
        enum plyecho_code code = setup_condition(&setup, &input.trace, &trace, &err);
        if (code != PLYECHO_OK && code != PLYECHO_UNSUITABLE) {
            message_channel_error(invocation->messages, input.name, input.trace.channel, &err,
                                  &last);
            continue;
        }
        struct plyecho_picks picks = {.front = -1, .back = -1, .second = -1};
        struct plyecho_thickness thickness = {.reason = PLYECHO_REASON_NO_ECHO};
        if (code == PLYECHO_OK) {
            plyecho_wall_pick(&trace, wall, &picks);
            plyecho_wall_measure(&trace, &input.trace, wall, &picks, &thickness);
        }
        going = print_row(&table, &input, &picks, &thickness);
    }
    inputs_close(inputs);
    setup_close(&setup);
    return verb_status(invocation->messages, false);
}

const struct verb verb_thickness = {
    .name = "thickness",
    .group = VERB_MEASURE,
    .help = "time of flight to thickness, by measuring mode 1, 2 or 3",
    .operands = "[FILE...]",
    .description =
        "Measures after the principle of ISO 16809: mode 1 from the transmission pulse to the "
        "back-wall echo less a zero offset, mode 2 from the interface echo to the back-wall "
        "echo, mode 3 between back-wall echoes; auto takes the one with the least uncertainty "
        "that the trace allows. thickness_u_mm is the combined standard uncertainty; it stays "
        "empty where a part of it is not known, as with --velocity alone. This verb measures "
        "the echo that it takes for the back wall's and does not judge whether it is: a "
        "delamination gives a smooth, wrong reading. Use assess to tell them apart.",
    .example = "plyecho thickness --velocity 2950 --velocity-u 10 ring3.wav",
    .options = options,
    .values_size = sizeof(struct thickness_values),
    .run = run,
};
