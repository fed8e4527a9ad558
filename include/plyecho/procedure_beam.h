/* procedure_beam.h - how wide the beam is in the wall, by what a procedure says
 */
#ifndef PLYECHO_PROCEDURE_BEAM_H
#define PLYECHO_PROCEDURE_BEAM_H

#include <plyecho/known.h>
#include <plyecho/procedure.h>

/* -6 dB width, there and back, in m: [equipment] beam_mm where it was measured; else worked out at the
 * nominal wall's back (beam.h) from the probe's frequency and diameter, the delay line's length, the table's
 * velocity of its material, and the wall's velocity. Not known where one of them is missing, a delay line
 * among them: nobody said that there is none. Of a wall that changes along the part, and without the probe's
 * bandwidth of usual ones, the narrowest. A flat part is assumed: a tube spreads the beam round it, or
 * leaves only a strip of the face in contact. */
PLYECHO_API struct plyecho_known plyecho_procedure_beam_m(
    const struct plyecho_procedure *procedure);

#endif
