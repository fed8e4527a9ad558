/* filter.h - the frame of every verb that takes traces and gives traces
 */
#ifndef PLYECHO_CMD_FILTER_H
#define PLYECHO_CMD_FILTER_H

#include "inputs.h"
#include "outputs.h"

/* Options of every filter: those of inputs.h and outputs.h, and --velocity. */
struct filter_values {
    struct inputs_values inputs;
    struct inputs_velocity velocity;
    struct outputs_values outputs;
};

extern const struct option filter_options[];

/* Change the traces of one file: in place, or clear them and put others there. context is the
 * verb's own. */
typedef enum plyecho_code filter_function(void *context, struct plyecho_traces *traces,
                                          struct plyecho_error *err);

/* Read each file, change it, write it where the options say. */
enum status filter_run(const struct invocation *invocation, const struct filter_values *values,
                       filter_function *change, void *context);

#endif
