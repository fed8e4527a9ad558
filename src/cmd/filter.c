#include "filter.h"

const struct option filter_options[] = {
    {.name = "",
     .kind = OPTION_GROUP,
     .group = outputs_options,
     .offset = offsetof(struct filter_values, outputs)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct filter_values, inputs)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_velocity_options,
     .offset = offsetof(struct filter_values, velocity)},
    {.name = NULL},
};

enum status filter_run(const struct invocation *invocation, const struct filter_values *values,
                       filter_function *change, void *context)
{
    struct messages *messages = invocation->messages;
    bool several = inputs_are_several(invocation, &values->inputs);
    struct outputs *outputs = outputs_open(invocation, &values->outputs, several);
    if (outputs == NULL)
        return STATUS_TROUBLE;
    struct inputs *inputs =
        inputs_open(invocation, &values->inputs, values->velocity.m_s.value);
    struct input input;
    struct plyecho_error err;
    while (!outputs_broken(outputs) && inputs_next(inputs, &input)) {
        if (change(context, input.traces, &err) == PLYECHO_OK)
            outputs_write(outputs, input.name, input.traces);
        else
            message_error(messages, input.name, &err);
    }
    inputs_close(inputs);
    outputs_close(outputs);
    return verb_status(messages, false);
}
