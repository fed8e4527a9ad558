/* analytic.h - zero-phase band-pass and analytic signal of one trace length, planned once
 *
 * Both are multiplications in the frequency domain, so one object does them in one forward and
 * one backward transform. Without a band the result is the discrete analytic signal over the
 * record as it stands (Marple, IEEE Trans. Signal Process. 47 (1999) 2600-2603), the same
 * definition as SciPy's signal.hilbert. With a band the record is padded, so that its end does
 * not wrap around to its start.
 */
#ifndef PLYECHO_ANALYTIC_H
#define PLYECHO_ANALYTIC_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

/* Pass band between its half-amplitude (-6 dB) frequencies. Each edge is a raised cosine in
 * frequency that reaches 1 inside and 0 outside; its full width is
 * PLYECHO_EDGE_SHARE x (high - low), for the lower edge at most 2 x low, for the upper at most
 * 2 x (Nyquist - high). low_hz 0 is a low pass, high_hz equal to Nyquist a high pass.
 * The impulse response falls to -80 dB of its peak within 23.4 / (high - low) where both edges
 * have their full width, later where one is steeper; the record is padded with as many zeros.
 * In a band from 0 Hz or up to Nyquist the quadrature has the Hilbert transform's slow tails,
 * as without a band.
 */
struct plyecho_band {
    double low_hz;
    double high_hz;
};

#define PLYECHO_EDGE_SHARE 0.25

struct plyecho_analytic;

/* Plan for traces of `samples` (at least 2) at sample_rate_hz; band may be NULL for all
 * frequencies. A band that is empty, negative or beyond Nyquist is PLYECHO_BAD_ARGUMENT and the
 * text gives the Nyquist frequency. Making and freeing call FFTW's planner: from several
 * threads the program must have called fftwf_make_planner_thread_safe(). */
PLYECHO_API enum plyecho_code plyecho_analytic_new(struct plyecho_analytic **analytic,
                                                   size_t samples, double sample_rate_hz,
                                                   const struct plyecho_band *band,
                                                   struct plyecho_error *err);

/* Take another band, without planning anew: the result is that of a new object with this band.
 * false, and nothing changed, where it needs another length (or is impossible, or the object was
 * made without a band): then make a new one. */
PLYECHO_API bool plyecho_analytic_retune(struct plyecho_analytic *analytic,
                                         const struct plyecho_band *band);

/* amplitude: `samples` finite values. in_phase receives the (filtered) signal, quadrature its
 * Hilbert transform, each `samples` long; quadrature may be NULL, and either may be the input.
 * With a band above 0 Hz the straight line through the record's ends (each a mean over one
 * period of low_hz, at most a quarter of the record) is taken off first: it lies outside the
 * band, and its step at the ends would ring. What is left of an echo at one end stays below -70
 * dB of its peak at the other. No allocation, no shared state: one object a thread. */
PLYECHO_API void plyecho_analytic_run(struct plyecho_analytic *analytic, const float *amplitude,
                                      float *in_phase, float *quadrature);

/* Envelope: magnitude of the analytic signal. envelope may be one of the inputs. */
PLYECHO_API void plyecho_envelope(const float *in_phase, const float *quadrature,
                                  size_t samples, float *envelope);

/* NULL is fine. */
PLYECHO_API void plyecho_analytic_free(struct plyecho_analytic *analytic);

#endif
