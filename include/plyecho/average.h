/* average.h - coherent mean of traces of one time base, one trace at a time
 *
 * The mean of N shots keeps what they have in common and takes 10 log10(N) dB off noise that
 * differs from shot to shot. The first trace fixes what the others must be like.
 */
#ifndef PLYECHO_AVERAGE_H
#define PLYECHO_AVERAGE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/trace.h>

struct plyecho_average;

/* keep_clipped: also take traces that are clipped (clipping.h) where the first one is not. Otherwise
 * they are left out: a mean of whole and cut crests is neither the echo nor visibly cut. Where the
 * first is clipped too, most often in the initial pulse, nothing is lost by taking them. */
PLYECHO_API enum plyecho_code plyecho_average_new(struct plyecho_average **average,
                                                  bool keep_clipped, struct plyecho_error *err);

/* Add a trace. It is left out, and counted, with PLYECHO_UNSUITABLE and the reason in err where
 *   - it differs from the first in length, in start or sample rate (by more than a tenth of a
 *     sample at either end), signal state, or the labels gain_db, added_gain_db, unit, tcg;
 *   - it is logarithmic: a mean of dB is no mean of sound;
 *   - it is clipped where the first is not.
 * Memory does not grow with the number of traces. */
PLYECHO_API enum plyecho_code plyecho_average_add(struct plyecho_average *average,
                                                  const struct plyecho_trace *trace,
                                                  struct plyecho_error *err);

PLYECHO_API size_t plyecho_average_taken(const struct plyecho_average *average);
PLYECHO_API size_t plyecho_average_left_out(const struct plyecho_average *average);

/* The k-th label of place (part, position, angle_deg, axial_mm, x_mm, y_mm), k from 0, in which the
 * traces taken differ, or which only some of them have; NULL where there are no more. They are
 * averaged all the same: whether a few degrees are one place, the library cannot know. */
PLYECHO_API const char *plyecho_average_place(const struct plyecho_average *average, size_t k);

/* The mean so far, one channel, with the labels that all traces taken have in common, and the
 * labels `averaged` and `left_out` (how many), and, where some are clipped, `clipped`, which says
 * how many and from when to when. PLYECHO_UNSUITABLE where none was taken. *mean
 * is overwritten; the caller clears it. */
PLYECHO_API enum plyecho_code plyecho_average_result(const struct plyecho_average *average,
                                                     struct plyecho_traces *mean,
                                                     struct plyecho_error *err);

/* NULL is fine. */
PLYECHO_API void plyecho_average_free(struct plyecho_average *average);

#endif
