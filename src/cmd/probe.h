/* probe.h - parts of the verb probe: comparison with an earlier pulse, and its picture
 */
#ifndef PLYECHO_CMD_PROBE_H
#define PLYECHO_CMD_PROBE_H

#include <plyecho/probe_character.h>

#include "plot_script.h"
#include "table.h"
#include "verb.h"

/* ---- probe_compare.c ---- */

/* How far a pulse may be from the earlier one. */
struct probe_limits {
    struct option_number frequency_percent;
    struct option_number bandwidth_percent;
    struct option_number length_percent;
    struct option_number level_db;
    struct option_number likeness;
};

extern const struct option probe_limit_options[];

/* Print a row a quantity to standard output. Returns whether one is out of its limit. */
bool probe_compare(const struct table_values *table, const struct probe_limits *limits,
                   const char *name, size_t channel, const struct plyecho_probe_echo *now,
                   const struct plyecho_probe_echo *earlier);

/* ---- probe_plot.c ---- */

/* The picture of a pulse: waveform with envelope above, spectrum below. earlier may be NULL; it is drawn
 * with its own peak at the same height and place. *text is malloc'ed. */
enum plyecho_code probe_plot_script(const char *title, const struct plyecho_probe_echo *echo,
                                    const struct plyecho_probe_echo *earlier,
                                    const struct plot_view *view, char **text, size_t *size,
                                    struct plyecho_error *err);

#endif
