/* inputs.h - the trace files that a verb was given, one after the other
 *
 *     struct inputs *inputs = inputs_open(invocation, &values->inputs, velocity_m_s);
 *     struct input input;
 *     while (inputs_next(inputs, &input))
 *         ...
 *     inputs_close(inputs);
 *
 * Trouble in one file is said, and the next one comes. Memory does not grow with the number of
 * files: the bytes have one buffer, and a file's traces last until the next call.
 */
#ifndef PLYECHO_CMD_INPUTS_H
#define PLYECHO_CMD_INPUTS_H

#include <stdbool.h>

#include <plyecho/trace.h>
#include <plyecho/tracefile.h>

#include "verb.h"

/* Options of every verb that reads traces: --files-from, -0, --sample-rate. */
struct inputs_values {
    struct option_text files_from;
    bool nul;
    struct option_number sample_rate_hz;
};

extern const struct option inputs_options[];

/* --velocity, for verbs to which it only turns a distance axis into time. */
struct inputs_velocity {
    struct option_number m_s;
};

extern const struct option inputs_velocity_options[];

struct inputs;

/* One file; name is "-" for standard input. The verb may change the samples in place. */
struct input {
    const char *name;
    struct plyecho_traces *traces;
};

/* One channel of a file. */
struct input_trace {
    const char *name;
    struct plyecho_trace trace;
};

/* velocity_m_s: 0 where none is given. Never NULL; options that contradict each other are said,
 * and then no input comes. */
struct inputs *inputs_open(const struct invocation *invocation,
                           const struct inputs_values *values, double velocity_m_s);

/* The next file that could be read; false behind the last. */
bool inputs_next(struct inputs *inputs, struct input *input);

/* The next channel, file by file; not to be mixed with inputs_next. */
bool inputs_next_trace(struct inputs *inputs, struct input_trace *input);

/* NULL is fine. */
void inputs_close(struct inputs *inputs);

/* May there be more than one file? Then results of all do not fit into one trace file. */
bool inputs_are_several(const struct invocation *invocation,
                        const struct inputs_values *values);

/* Read one trace file that an option names, such as a reference pulse. */
enum plyecho_code inputs_read_one(const char *path, const struct plyecho_read_options *options,
                                  struct plyecho_traces *traces, struct plyecho_error *err);

#endif
