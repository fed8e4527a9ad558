/* baseline.h - what disturbs a trace besides noise: jumps of its base line, interfering lines
 */
#ifndef PLYECHO_LIB_BASELINE_H
#define PLYECHO_LIB_BASELINE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/spectrum.h>
#include <plyecho/trace.h>

/* Range of the means over an eighth of the record, in which echoes average out. sums: n + 1
 * values. */
double pe_drift(const float *x, size_t n, double *sums);

struct pe_jump {
    double height; /* after less before */
    size_t sample;
};

/* The largest jump of the base line, drift taken off. It must stand out of noise of noise_rms, and
 * be as high over a few samples as over a thirty-second and a sixteenth of the record: drift and
 * echoes are not. sums: n + 1 values. false where there is none, or the record is too short (below
 * 64 samples). */
bool pe_find_jump(const float *x, size_t n, double noise_rms, double *sums,
                  struct pe_jump *jump);

struct pe_line {
    double hz;
    double amplitude;
};

/* A line that stands 15 dB out of the spectrum of the quietest quarter of the record, and is there
 * with much the same amplitude in half of its eighths at least. power: room
 * for the spectrum's bins; sums: samples + 1 values. */
bool pe_find_line(const struct plyecho_trace *trace, struct plyecho_spectrum *spectrum,
                  float *power, double *sums, struct pe_line *line);

#endif
