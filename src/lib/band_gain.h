/* band_gain.h - what a pass band of plyecho_analytic lets through
 *
 * For those who weigh the lines of a filtered trace: noise and signal in a line are the record's times
 * the gain there.
 */
#ifndef PLYECHO_LIB_BAND_GAIN_H
#define PLYECHO_LIB_BAND_GAIN_H

#include <plyecho/analytic.h>

/* Gain in amplitude: 1/2 at either end of the band, raised cosines about them. */
double pe_band_gain(const struct plyecho_band *band, double nyquist_hz, double hz);

/* Share of white noise, up to the Nyquist frequency, that passes in power: an edge passes 3/8 of its
 * width, not half. */
double pe_band_power_share(const struct plyecho_band *band, double nyquist_hz);

#endif
