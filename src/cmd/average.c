/* average - coherent mean of repeated shots */
#include <plyecho/average.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "file.h"
#include "inputs.h"
#include "memory.h"
#include "outputs.h"

struct average_values {
    struct inputs_values inputs;
    struct inputs_velocity velocity;
    struct outputs_values outputs;
    bool keep_clipped;
};

static const struct option options[] = {
    {.name = "keep-clipped",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct average_values, keep_clipped),
     .help = "take also traces that are clipped where the first one is not"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = outputs_options,
     .offset = offsetof(struct average_values, outputs)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct average_values, inputs)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_velocity_options,
     .offset = offsetof(struct average_values, velocity)},
    {.name = NULL},
};

/* What is being averaged, and what the output takes from the first file. */
struct job {
    struct plyecho_average *average;
    struct messages *messages;
    const char *output; /* where the mean goes; NULL: not said */
    char *source;       /* the input that the mean is said to come from, see `name_source` */
    enum plyecho_container container;
};

/* False where there is no use in going on. */
static bool add_channels(struct job *job, const struct input *input)
{
    struct plyecho_error err;
    for (size_t c = 1; c <= input->traces->channels; c++) {
        struct plyecho_trace trace = plyecho_traces_channel(input->traces, c);
        switch (plyecho_average_add(job->average, &trace, &err)) {
        case PLYECHO_OK:
            break;
        case PLYECHO_UNSUITABLE:
            message_note(job->messages, input->name, "channel %zu left out: %s", c, err.text);
            break;
        default:
            message_error(job->messages, input->name, &err);
            return false;
        }
    }
    return true;
}

/* The mean comes from all of its inputs. It is said to come from the first on the command line,
 * whose name it gets in a folder, or from one that it would replace, so that it is refused. */
static void name_source(struct job *job, const char *input)
{
    struct file_identity output, now;
    if (job->output == NULL || !file_identify(job->output, &output) ||
        !file_identify(input, &now) || file_identity_compare(&output, &now) != 0)
        return;
    free(job->source);
    job->source = memory_text(input);
}

static bool take_all(struct job *job, struct inputs *inputs)
{
    struct input input;
    while (inputs_next(inputs, &input)) {
        size_t before = plyecho_average_taken(job->average);
        name_source(job, input.name);
        if (!add_channels(job, &input))
            return false;
        if (before == 0 && plyecho_average_taken(job->average) > 0)
            job->container = input.traces->container;
    }
    return true;
}

/* Shots of one place are meant; say so where the labels tell of several. */
static void note_places(const struct job *job)
{
    char keys[100] = "";
    const char *key;
    for (size_t k = 0; (key = plyecho_average_place(job->average, k)) != NULL; k++)
        snprintf(keys + strlen(keys), sizeof keys - strlen(keys), "%s%s", k > 0 ? ", " : "",
                 key);
    if (keys[0] != '\0')
        message_note(job->messages, "average",
                     "traces of different places (%s): their mean is of none of them, and "
                     "these labels are dropped",
                     keys);
}

static void give_mean(struct job *job, struct outputs *outputs)
{
    struct plyecho_traces mean;
    struct plyecho_error err;
    size_t left_out = plyecho_average_left_out(job->average);
    if (left_out > 0)
        message_note(job->messages, "average", "%zu traces averaged, %zu left out",
                     plyecho_average_taken(job->average), left_out);
    note_places(job);
    if (plyecho_average_result(job->average, &mean, &err) != PLYECHO_OK) {
        message_error(job->messages, "average", &err);
        return;
    }
    mean.container = job->container;
    outputs_write(outputs, job->source, &mean);
    plyecho_traces_clear(&mean);
}

static enum status run(const struct invocation *invocation)
{
    const struct average_values *values = invocation->values;
    struct messages *messages = invocation->messages;
    struct job job = {.messages = messages, .output = values->outputs.name.value};
    struct plyecho_error err;
    struct outputs *outputs = outputs_open(invocation, &values->outputs, false);
    if (outputs == NULL)
        return STATUS_TROUBLE;
    job.source = memory_text(invocation->file_count > 0 ? invocation->files[0] : "-");
    if (plyecho_average_new(&job.average, values->keep_clipped, &err) != PLYECHO_OK) {
        message_error(messages, "average", &err);
    } else {
        struct inputs *inputs =
            inputs_open(invocation, &values->inputs, values->velocity.m_s.value);
        if (take_all(&job, inputs))
            give_mean(&job, outputs);
        inputs_close(inputs);
    }
    plyecho_average_free(job.average);
    free(job.source);
    outputs_close(outputs);
    return verb_status(messages, false);
}

const struct verb verb_average = {
    .name = "average",
    .group = VERB_PREPARE,
    .help = "coherent mean of repeated shots of one position",
    .operands = "[FILE...]",
    .description =
        "Adds up all channels of all files sample by sample and divides by their number: N "
        "shots take 10 log10 N dB off the noise. One trace comes out, with the labels that "
        "all had in common, and averaged and left_out, how many.\n"
        "The first trace sets the time base. One that differs in sample rate, length, start, "
        "signal state, gain or unit is left out, and so is one that is clipped where the "
        "first is not; each is said with its reason, unless --quiet. Clipping that the first "
        "trace has too (the initial pulse, most often) is no reason; the label clipped then "
        "says where it is.\n"
        "A file that cannot be read is trouble (exit status 2); what is left out is not. "
        "Memory does not grow with the number of files.\n"
        "A mean of different places, or of a probe that moved, is smaller than any of its "
        "echoes: average only what was taken without lifting the probe. Traces whose labels part, "
        "position, angle_deg, axial_mm, x_mm or y_mm differ are averaged, and the note says so.",
    .example = "plyecho average -o ring3-mean.wav ring3-shot*.wav",
    .options = options,
    .values_size = sizeof(struct average_values),
    .run = run,
};
