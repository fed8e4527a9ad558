/* made_trace.h - traces for the tests of picking and judging: bursts at known times, walls of the
 * layer model, noise of a fixed seed
 */
#ifndef PLYECHO_TESTS_MADE_TRACE_H
#define PLYECHO_TESTS_MADE_TRACE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/condition.h>
#include <plyecho/trace.h>

enum { MADE_SAMPLES = 2048 };
#define MADE_RATE_HZ 100e6

/* A record of one channel, samples zero, time base from 0. */
struct plyecho_traces made_empty(void);

/* Add height x exp(-alpha u^2) cos(2 pi f u + phase), u = t - time: the echo model of Demirli and
 * Saniie, IEEE Trans. UFFC 48 (2001) 787-802. alpha 25 per us^2 has 2.65 MHz at -6 dB. */
void made_burst(struct plyecho_traces *traces, double time_us, double height, double centre_mhz,
                double alpha_per_us2, double phase_rad);

/* Add white noise. */
void made_noise(struct plyecho_traces *traces, double deviation, unsigned long seed);

/* A wall behind a PMMA delay line, by the layer model of the library, 10 MHz, relative bandwidth
 * 0.6, 100 MS/s. */
struct made_wall {
    double carbon_mm; /* outer layer, Z 4.65 MRayl, 2950 m/s */
    double inner_mm;  /* a second layer, 0: none */
    double inner_mrayl;
    double cover;          /* of an air gap */
    double gap_mm;         /* its depth: the layer is cut there */
    double loss_db_mm_mhz; /* of both layers */
    bool uncoupled;
    double snr_db;     /* INFINITY: no noise */
    double full_scale; /* 0: none */
    unsigned long seed;
};

struct plyecho_traces made_of(const struct made_wall *wall);

/* The same with everything usual: attenuation 0.1 dB/mm/MHz, 40 dB. */
struct made_wall made_sound(double carbon_mm);

/* Condition one trace; free the conditioner with plyecho_conditioner_free. */
struct plyecho_conditioner *made_ready(const struct plyecho_traces *traces,
                                       struct plyecho_conditioned *out);

#endif
