/* noise.h - the noise of a trace, taken from the trace itself
 */
#ifndef PLYECHO_NOISE_H
#define PLYECHO_NOISE_H

#include <stddef.h>

#include <plyecho/error.h>

enum { PLYECHO_NOISE_BLOCK = 64 }; /* samples a stretch */

/* Standard deviation of the noise in amplitude[0..samples), from its quietest stretches.
 *
 * The record is cut into stretches of PLYECHO_NOISE_BLOCK samples; the variance (about the
 * stretch's mean) that a fifth of them stay below is taken, and divided by what that quantile
 * would be for Gaussian noise alone: the chi-squared quantile by Wilson and Hilferty, Proc.
 * Natl. Acad. Sci. 17 (1931) 684-688. So up to four fifths of the record may hold echoes.
 *
 * bandwidth_share: bandwidth of the noise over the Nyquist frequency, 1 for an unfiltered
 * trace, (high - low) / Nyquist behind a band-pass: narrow noise has fewer degrees of freedom.
 * scratch: room for samples / PLYECHO_NOISE_BLOCK + 1 values.
 * A record shorter than a stretch is taken as one stretch. 0 only where a fifth of the record
 * is constant. */
PLYECHO_API double plyecho_noise_rms(const float *amplitude, size_t samples,
                                     double bandwidth_share, float *scratch);

#endif
