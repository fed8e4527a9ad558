/* plot_output.h - where pictures go: -o FILE, -o DIR/, or standard output
 */
#ifndef PLYECHO_CMD_PLOT_OUTPUT_H
#define PLYECHO_CMD_PLOT_OUTPUT_H

#include <stdbool.h>
#include <stddef.h>

#include "plot_script.h"
#include "verb.h"

struct plot_output;

/* What a picture is written as. */
struct plot_output_kind {
    enum plot_term term;
    bool script; /* the script itself instead */
};

/* The kind that a file's name ends in; false where it is none. "a.png" is PLOT_PNG. */
bool plot_output_kind_of(const char *name, enum plot_term *term);

/* name: of the option, NULL where it was not given. Makes the folder of DIR/. NULL where the name
 * cannot be used; why was said. */
struct plot_output *plot_output_open(const struct invocation *invocation, const char *name,
                                     struct plot_output_kind kind);

/* May this many pictures come? Otherwise says what would mend it. */
bool plot_output_has_room(const struct plot_output *output, const char *input, size_t pictures);

/* Write the picture of one channel (0: the only one) of the file `input`, whole or not at all.
 * False where it failed; why was said. */
bool plot_output_write(struct plot_output *output, const char *input, size_t channel,
                       const char *bytes, size_t size);

/* Standard output is gone: no use in going on. */
bool plot_output_broken(const struct plot_output *output);

/* NULL is fine. */
void plot_output_close(struct plot_output *output);

#endif
