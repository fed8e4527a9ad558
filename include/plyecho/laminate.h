/* laminate.h - how a stack of plane layers reflects sound that falls on it straight
 *
 * Normal incidence, plane waves, all reverberations, in the frequency domain (the recursion
 * over layers of Brekhovskikh, "Waves in Layered Media"; from memory). Frequencies are given as
 * the complex s = damping + j 2 pi f in 1/s: with damping 0 the result is the spectrum, with
 * damping above 0 that of the response times exp(-damping t), which is what a synthesis in the
 * frequency domain needs to keep echoes beyond its window from wrapping around into it.
 *
 * Loss grows in proportion to frequency, alpha = attenuation x f, and brings its dispersion:
 *   1/c(w) = 1/c0 - (2/pi) a' ln(w/w0),  alpha = a' |w|,
 * with c0 the phase velocity at the reference frequency w0 (Futterman, J. Geophys. Res. 67
 * (1962) 5279; Szabo, J. Acoust. Soc. Am. 97 (1995) 14; both from memory). In s this is the
 * propagation constant s/c0 - (2/pi) a' s ln(s/w0), analytic for damping > 0, so the response
 * is causal.
 */
#ifndef PLYECHO_LAMINATE_H
#define PLYECHO_LAMINATE_H

#include <complex.h>
#include <stddef.h>

#include <plyecho/error.h>

struct plyecho_layer {
    double impedance_rayl;      /* > 0 */
    double velocity_m_s;        /* > 0, phase velocity at the stack's reference frequency */
    double attenuation_np_m_hz; /* >= 0, one way: alpha = attenuation x f */
    double thickness_m;         /* >= 0 */
};

/* A gap that covers part of the beam. thickness_m of the filling may be INFINITY: so wide, or
 * so rough, that nothing comes back from behind it. */
struct plyecho_gap {
    double cover;                 /* share of the beam, 0 (no gap) to 1 */
    size_t after;                 /* it lies behind so many layers, 0 to the stack's count */
    struct plyecho_layer filling; /* read only where cover > 0 */
};

struct plyecho_stack {
    double front_impedance_rayl; /* medium the sound comes from */
    const struct plyecho_layer *layers;
    size_t count;                 /* 0: the two media touch */
    double behind_impedance_rayl; /* medium behind the last layer, without end */
    double reference_frequency_hz;
    struct plyecho_gap gap;
};

/* Every number of the stack within its range, or PLYECHO_BAD_ARGUMENT with the layer (from 1)
 * and the rule. The functions below expect a stack that passes. */
PLYECHO_API enum plyecho_code plyecho_stack_check(const struct plyecho_stack *stack,
                                                  struct plyecho_error *err);

/* Pressure reflection coefficient (-1 to 1) of sound in `from` at the face of `to`. */
PLYECHO_API double plyecho_reflection(double from_rayl, double to_rayl);

/* Reflection of the whole stack at its face. With a gap over `cover` of the beam:
 * cover x (stack with the gap) + (1 - cover) x (stack without). s = 0 is fine. */
PLYECHO_API double complex plyecho_stack_reflection(const struct plyecho_stack *stack,
                                                    double complex s);

/* Pressure transmitted into the medium behind, at its start; the gap is left out. */
PLYECHO_API double complex plyecho_stack_transmission(const struct plyecho_stack *stack,
                                                      double complex s);

/* One-way transit time of the layers by phase at frequency_hz (> 0), as a wave sees it that
 * comes from and goes on into the material of the outer layers. Thin resin films delay a wave
 * more than their own thickness does, since it runs to and fro in them; this counts it.
 * thickness / transit is the effective phase velocity of a laminate. */
PLYECHO_API double plyecho_layers_transit_s(const struct plyecho_layer *layers, size_t count,
                                            double reference_frequency_hz, double frequency_hz);

/* Sum of the layers' thicknesses. */
PLYECHO_API double plyecho_layers_thickness_m(const struct plyecho_layer *layers, size_t count);

/* Attenuation as the trade writes it, dB/mm/MHz one way, to Np/m/Hz. */
PLYECHO_API double plyecho_attenuation_from_db_mm_mhz(double attenuation_db_mm_mhz);

#endif
