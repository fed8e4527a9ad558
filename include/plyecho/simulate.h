/* simulate.h - the trace that a probe, a stack of layers and a recorder give
 *
 * Computed in the frequency domain from the stack's reflection. So that late reverberations do
 * not wrap around, the transform runs at frequencies with a small constant damping: what lies
 * beyond its window comes back 100 dB weaker.
 *
 * Time 0 is the initial pulse. With a delay line of round trip T the interface echo lies at
 * zero + T, and the line repeats: what comes back to the probe's face is reflected there by
 * line_repeat and runs the whole way again, so that the n-th interface echo carries the stack's
 * response n times. In contact (no delay line) the sound enters at `zero`, and the first
 * reflection at the face is left out: it is part of the initial pulse.
 */
#ifndef PLYECHO_SIMULATE_H
#define PLYECHO_SIMULATE_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/laminate.h>
#include <plyecho/pulse.h>

/* Probe, coupling and recorder. Levels are amplitudes; a value of 0 leaves a thing out. */
struct plyecho_setup {
    struct plyecho_pulse pulse;      /* as it comes back from the line's end */
    struct plyecho_layer delay_line; /* thickness_m 0: contact */
    double line_repeat;              /* -1 to 1 */
    double zero_s;                   /* from the trigger to the sound leaving the probe */
    double level;           /* of the echo of a full reflector at the line's end, > 0 */
    double front_jitter_db; /* standard deviation of the front echo's gain */
    double initial_level;   /* the initial pulse's envelope at time 0 */
    double initial_fall_s;  /* time constant of its ringing; 0: the pulse's own shape */
    double drift_level;     /* of a slow wave, 1.5 records long, of random phase */
    double noise_level;     /* standard deviation of white noise, */
    double snr_db;          /* or that much below the largest echo; INFINITY: none */
    double full_scale;      /* clips beyond it; 0: never */
    int bits;               /* of the converter over +-full_scale, 2 to 24; 0: none */
    double sample_rate_hz;
    double start_s; /* time of the first sample */
    size_t samples; /* at least 2 */
};

/* What one trace came out as. */
struct plyecho_simulated {
    double interface_s; /* of the first interface echo's envelope maximum; contact: of entry */
    double peak_level;  /* largest magnitude of the echoes (no initial pulse, drift or noise) */
    double noise_level; /* standard deviation of the noise put on */
    double front_gain_db; /* drawn for this trace */
};

struct plyecho_simulator;

/* An impossible setup is PLYECHO_BAD_ARGUMENT, among them a pulse whose band reaches beyond the
 * Nyquist frequency and a record that ends before the first echo. */
PLYECHO_API enum plyecho_code plyecho_simulator_new(struct plyecho_simulator **simulator,
                                                    const struct plyecho_setup *setup,
                                                    struct plyecho_error *err);

/* One trace of `samples` values. The stack's medium in front must be the delay line's. The same
 * stack and seed give the same trace. simulated may be NULL. No allocation. */
PLYECHO_API enum plyecho_code plyecho_simulator_run(struct plyecho_simulator *simulator,
                                                    const struct plyecho_stack *stack,
                                                    unsigned long seed, float *amplitude,
                                                    struct plyecho_simulated *simulated,
                                                    struct plyecho_error *err);

/* One count of the converter; 0 without one. */
PLYECHO_API double plyecho_simulator_step(const struct plyecho_simulator *simulator);

/* NULL is fine. */
PLYECHO_API void plyecho_simulator_free(struct plyecho_simulator *simulator);

#endif
