/* inspect.h - what a trace is like before anything is done to it, and what to doubt about it
 *
 * The largest echo is the highest point of the envelope above the slow base line; the initial
 * pulse counts too where the record holds it. NaN stands for what cannot be told.
 */
#ifndef PLYECHO_INSPECT_H
#define PLYECHO_INSPECT_H

#include <stddef.h>

#include <plyecho/clipping.h>
#include <plyecho/error.h>
#include <plyecho/spectrum.h>
#include <plyecho/trace.h>

/* Bits of struct plyecho_inspection's doubts. */
enum plyecho_doubt {
    PLYECHO_DOUBT_CONSTANT = 1 << 0,   /* all samples equal */
    PLYECHO_DOUBT_CLIPPED = 1 << 1,    /* clipping.h */
    PLYECHO_DOUBT_FEW_COUNTS = 1 << 2, /* largest echo below 16 counts of the converter */
    PLYECHO_DOUBT_OFFSET = 1 << 3,     /* mean above a twentieth of the largest echo */
    PLYECHO_DOUBT_DRIFT = 1 << 4,      /* base line wanders by more than a tenth of it */
    PLYECHO_DOUBT_STEP = 1 << 5,       /* base line jumps by more than a twentieth */
    PLYECHO_DOUBT_LINE = 1 << 6,       /* a steady line through the record: interference */
    PLYECHO_DOUBT_RATE = 1 << 7,       /* fewer than 4 samples a period of the largest echo */
    PLYECHO_DOUBT_NO_ECHO = 1 << 8,    /* largest echo below 14 dB over the noise */
    PLYECHO_DOUBT_ONE_SIDED = 1 << 9,  /* said to be rf, but looks rectified or an envelope */
    PLYECHO_DOUBT_TWO_SIDED = 1 << 10, /* said to be a magnitude, but goes below zero */
    PLYECHO_DOUBT_SCALED = 1 << 11, /* rate below 0.2 MHz or echoes below 0.1 MHz: no ultrasound
                                       of thin walls, but what a recorder writes that can only
                                       write a scaled rate */
    PLYECHO_DOUBT_FLAT = 1 << 12, /* no noise: a fifth of the record or more is exactly flat */
};

struct plyecho_inspection {
    double least, most; /* extreme samples */
    double offset;      /* mean */
    double noise_rms; /* standard deviation in the quietest stretches (noise.h); not of a log; 0
                         where they are exactly flat */
    double flat_share; /* of the record, in stretches that are exactly flat */
    double peak;       /* height of the largest echo over the base line */
    double peak_s;     /* its time */
    double snr_db;     /* peak over noise_rms; NaN where there is no noise */
    struct plyecho_clipping clipping;
    double step;        /* one count: as the trace says, else the grid that the samples fit */
    double peak_counts; /* peak in counts */
    /* Of the largest echo; all NaN unless the signal is rf. */
    struct plyecho_spectral_band band;
    double drift;       /* range of the base line, as means over an eighth of the record */
    double base_step;   /* largest jump of the base line, NaN below what can be told */
    double base_step_s; /* when */
    double line_hz;     /* of an interfering line, NaN: none found */
    double line_amplitude;
    unsigned doubts;
};

struct plyecho_inspector;

/* Plan for traces of `samples` at sample_rate_hz. Errors and threads as plyecho_analytic_new. */
PLYECHO_API enum plyecho_code plyecho_inspector_new(struct plyecho_inspector **inspector,
                                                    size_t samples, double sample_rate_hz,
                                                    struct plyecho_error *err);

/* The trace must have the length and rate that were planned (PLYECHO_BAD_ARGUMENT). */
PLYECHO_API enum plyecho_code plyecho_inspector_run(struct plyecho_inspector *inspector,
                                                    const struct plyecho_trace *trace,
                                                    struct plyecho_inspection *inspection,
                                                    struct plyecho_error *err);

/* NULL is fine. */
PLYECHO_API void plyecho_inspector_free(struct plyecho_inspector *inspector);

/* The doubts in plain words, joined by "; ", "" where there is none; cut where room ends.
 * Returns out. */
PLYECHO_API const char *plyecho_inspection_words(const struct plyecho_inspection *inspection,
                                                 const struct plyecho_trace *trace, char *out,
                                                 size_t room);

/* Step of the grid that values fit, from the gaps between sorted values: NaN where they fit none.
 * sorted: ascending, count long. */
PLYECHO_API double plyecho_count_step(const float *sorted, size_t count);

#endif
