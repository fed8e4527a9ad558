/* outputs.h - where trace files go: -o NAME, -o DIR/, --to wav|csv, or standard output
 */
#ifndef PLYECHO_CMD_OUTPUTS_H
#define PLYECHO_CMD_OUTPUTS_H

#include <stdbool.h>

#include <plyecho/trace.h>

#include "verb.h"

/* Options of every verb that writes traces. */
struct outputs_values {
    struct option_text name;
    struct option_word container; /* index is an enum plyecho_container */
};

extern const struct option outputs_options[];
extern const struct option outputs_made_options[]; /* of traces that come from no file */

struct outputs;

/* several: more than one file may be written, which needs a folder. NULL where the options make
 * no sense; why was said. The files of the command line and the input at hand are never
 * replaced. */
struct outputs *outputs_open(const struct invocation *invocation,
                             const struct outputs_values *values, bool several);

/* Write the traces that came from the file `input` ("-": standard input or none). The container
 * is what the options say, else traces->container. False where it failed; why was said. */
bool outputs_write(struct outputs *outputs, const char *input,
                   const struct plyecho_traces *traces);

/* Standard output is gone: no use in going on. */
bool outputs_broken(const struct outputs *outputs);

/* NULL is fine. */
void outputs_close(struct outputs *outputs);

/* Name of the output for `input` in `folder`: its own last part, with the ending that the
 * container has. An ending of a trace file is replaced, another one kept: a.aiff gives a.wav,
 * plate.1 gives plate.1.wav, a.WAV stays. */
char *outputs_name(const char *folder, const char *input, enum plyecho_container container);

#endif
