/* truth.h - what is true of a simulated trace, as labels
 *
 * traces/README.md lists the keys, their units and what they mean.
 */
#ifndef PLYECHO_CMD_TRUTH_H
#define PLYECHO_CMD_TRUTH_H

#include <stddef.h>

#include <plyecho/labels.h>
#include <plyecho/simulate.h>

#include "cases.h"

/* Labels of one channel: what the case is, what the simulation drew, then what the user put on. */
enum plyecho_code truth_of_channel(const struct case_values *own,
                                   const struct case_values *base, const struct layup *layup,
                                   const struct layup_stack *stack,
                                   const struct plyecho_setup *setup,
                                   const struct plyecho_simulated *simulated,
                                   struct plyecho_labels *labels, struct plyecho_error *err);

/* Put the channels' labels on the file: once where they are the same in all channels. */
enum plyecho_code truth_join(const struct plyecho_labels *channels, size_t count,
                             struct plyecho_labels *file, struct plyecho_error *err);

#endif
