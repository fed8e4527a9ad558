/* cases.h - what is simulated for each channel: one set of options, or a file with a line each
 *
 * A line of a cases file holds options as on the command line, parted by spaces, with "..." around
 * what contains a space; blank lines and lines that begin with # are passed over. What a line does
 * not say, the command line says; a list (--layer, --coat) replaces the command line's, labels
 * come on top of them.
 */
#ifndef PLYECHO_CMD_CASES_H
#define PLYECHO_CMD_CASES_H

#include <stddef.h>

#include "file.h"
#include "layup.h"
#include "rig.h"

struct case_values {
    struct layup_values layup;
    struct rig_values rig;
    struct option_count seed;
    struct option_texts labels; /* KEY=VALUE */
    long line;                  /* in the cases file, 0 where there is none */
};

extern const struct option case_options[];

/* Cases of all channels. Their texts point into `text` and into the command line. */
struct cases {
    struct case_values *items;
    size_t count;
    const struct case_values *base;
    struct file_bytes text;
};

/* `channels` times the same, with the seed counting up. */
void cases_repeat(struct cases *cases, const struct case_values *base, size_t channels);

/* One a line of the file; trouble carries the line's number. */
enum plyecho_code cases_read(struct cases *cases, const char *path,
                             const struct case_values *base, struct plyecho_error *err);

void cases_clear(struct cases *cases);

#endif
