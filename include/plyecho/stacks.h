/* stacks.h - the physical explanations of a trace, as stacks of layers, ready to be fitted
 *
 * plyecho_assess fits a plain wall, a bonded interface, a glue line, a film of water, a gap under part
 * of the beam, a full shadow, a lossy wall, each without a coat and under one, to the whole of a
 * trace and weighs them (docs/method.md). The scratch for that is here: one a thread, made once.
 */
#ifndef PLYECHO_STACKS_H
#define PLYECHO_STACKS_H

#include <plyecho/error.h>
#include <plyecho/plate_fit.h>

struct plyecho_stacks;

/* For traces of one sample rate (Hz, above 0). pulse: the probe's own, which is copied; NULL: not
 * known, so that its shape is fitted along. PLYECHO_NO_MEMORY, PLYECHO_BAD_ARGUMENT. */
PLYECHO_API enum plyecho_code plyecho_stacks_new(struct plyecho_stacks **stacks,
                                                 double sample_rate_hz,
                                                 const struct plyecho_pulse_shape *pulse,
                                                 struct plyecho_error *err);

PLYECHO_API void plyecho_stacks_free(struct plyecho_stacks *stacks);

#endif
