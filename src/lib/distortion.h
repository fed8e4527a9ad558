/* distortion.h - waves that an amplifier limited
 *
 * What limits a wave, hard or softly, gives it odd harmonics (Fourier series of a limited sine).
 */
#ifndef PLYECHO_LIB_DISTORTION_H
#define PLYECHO_LIB_DISTORTION_H

#include <stdbool.h>

#include "evidence.h"

/* About three times the centre frequency reaches up to so many times it. */
#define PE_HIGHEST_THIRD 3.2

/* About one echo, over the amplitude at the centre frequency. */
struct pe_third {
    double share;      /* highest at about three times the centre frequency */
    double noise;      /* rms share that white noise of standard deviation 1 has there */
    double turned_rad; /* phase against that of flattened crests: -cos 3x to cos x; 0 to pi */
};

struct pe_third pe_third_harmonic(const struct plyecho_trace *raw, size_t sample,
                                  double centre_hz);

/* Does the wall's highest echo hold more of the third harmonic than the pulse's own spectrum and noise
 * account for, in the phase of flattened crests? reference: NULL where the pulse is not known. */
bool pe_distorted(const struct plyecho_conditioned *trace, const struct plyecho_trace *raw,
                  const struct plyecho_reference *reference,
                  const struct pe_evidence *evidence);

#endif
