/* line_repeat.h - the delay line's repeat of a wall against the wall itself: is the record whole?
 *
 * What comes back through the line a second time has met the wall twice. With X the spectrum of the
 * first pass and F that of the pulse, the second is X X / F but for a factor, whatever the wall
 * holds. Samples lost or doubled between the wall's echoes change the first pass and not the spacings
 * of the second, so that they show at any wall, repeats of the back wall or none.
 */
#ifndef PLYECHO_LIB_LINE_REPEAT_H
#define PLYECHO_LIB_LINE_REPEAT_H

#include <plyecho/condition.h>
#include <plyecho/error.h>

#include "evidence.h"

struct pe_line_repeat;

/* For traces of one sample rate. PLYECHO_NO_MEMORY. */
enum plyecho_code pe_line_repeat_new(struct pe_line_repeat **repeat, double sample_rate_hz,
                                     struct plyecho_error *err);

/* What the repeat says of the record. Nothing without the oscillation, an interface echo and a back wall, where time 0 is not
 * the transmission pulse's, or where memory is short. */
struct pe_line_says pe_line_repeat_ask(struct pe_line_repeat *repeat,
                                       const struct plyecho_conditioned *trace,
                                       const struct pe_evidence *evidence);

void pe_line_repeat_free(struct pe_line_repeat *repeat);

#endif
