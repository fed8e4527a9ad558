/* probe_character.h - what a probe's pulse is like, from one echo off a known reflector
 *
 * After the principle of ISO 22232-2 (EN 12668-2), whose wording was not at hand: every definition is
 * written out here with the level it holds for, and where usage differs both values are given under names
 * of their own. All come from one echo: best the delay line's end in air, or the back wall of a
 * thick block, with no other echo near.
 */
#ifndef PLYECHO_PROBE_CHARACTER_H
#define PLYECHO_PROBE_CHARACTER_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>
#include <plyecho/spectrum.h>
#include <plyecho/trace.h>

/* Where the echo is looked for, and what it comes off. */
struct plyecho_probe_options {
    double from_s, to_s; /* -INFINITY, INFINITY: anywhere behind the transmission pulse */
    struct plyecho_known reflection; /* -1 to 1, not 0; unknown: label reference_reflection, or
                                        -1, air */
};

struct plyecho_probe_character {
    double time_s;       /* of the envelope's peak */
    double amplitude;    /* of the envelope there, in the trace's unit */
    double peak_to_peak; /* from the lowest to the highest excursion */
    double reflection;   /* of what it came off */
    double noise;        /* standard deviation of the noise in the band that is looked at */
    double full_scale;   /* of the recorder; 0 where absent */
    struct plyecho_known gain_db; /* of the recorder */

    /* Of the echo's amplitude spectrum: peak, and the band where it has at least half of the peak's
     * height (-6 dB); its centre both as arithmetic and as geometric mean of the band's ends */
    struct plyecho_spectral_band band;

    /* How long the envelope stays at or above a share of its peak, from the first time it rises to it to
     * the last time it falls: a half (-6 dB), a tenth (-20 dB), a hundredth (-40 dB). Unknown
     * where the noise, another echo or the record's end hides that level. */
    struct plyecho_known length_6db_s, length_20db_s, length_40db_s;
    double rise_20db_s; /* of length_20db_s, what lies before the peak; 0 where unknown */

    /* The same of the unrectified oscillation: from the first to the last time its magnitude is a
     * tenth (-20 dB) of its largest, and how many cycles that holds: half the number of half waves
     * whose crest is that high. */
    struct plyecho_known waveform_20db_s, cycles_20db;

    /* Stretch of the record in which no other echo was found, behind the transmission pulse. */
    double clear_from_s, clear_to_s;
    bool crowded; /* another echo, or the record's end, cuts the pulse before it has died out */
};

/* The echo itself; zero-initialise, free with plyecho_probe_echo_clear. */
struct plyecho_probe_echo {
    struct plyecho_probe_character character;
    size_t samples; /* of the echo, as recorded but for the base line */
    double sample_rate_hz;
    double start_s;
    float *waveform;
    float *envelope;
    size_t bins; /* of its energy spectral density, amplitude^2 s/Hz */
    double bin_hz;
    float *power;
};

/* Measure the highest echo that the options allow. *echo is overwritten. PLYECHO_UNSUITABLE where there is
 * none, it is clipped, or the trace has lost its oscillation; PLYECHO_BAD_FILE for a label of an
 * impossible value. */
PLYECHO_API enum plyecho_code plyecho_probe_echo_take(
    struct plyecho_probe_echo *echo, const struct plyecho_trace *trace,
    const struct plyecho_probe_options *options, struct plyecho_error *err);

PLYECHO_API void plyecho_probe_echo_clear(struct plyecho_probe_echo *echo);

/* The record's clear stretch about the echo, unchanged and on its own time base, with the
 * channel's labels and reference_reflection: a trace for a later judgement. *traces is
 * overwritten. PLYECHO_UNSUITABLE where the stretch is so short that the pulse's band could not be told
 * from it. */
PLYECHO_API enum plyecho_code plyecho_probe_echo_cut(struct plyecho_traces *traces,
                                                     const struct plyecho_traces *from,
                                                     size_t channel,
                                                     const struct plyecho_probe_echo *echo,
                                                     struct plyecho_error *err);

/* How alike two pulses are, whatever their levels, times and sample rates: the largest normalised
 * correlation of their waveforms over all delays, as off the same reflector. 1 is the same
 * shape, below 0 one is upside down. */
PLYECHO_API double plyecho_probe_likeness(const struct plyecho_probe_echo *a,
                                          const struct plyecho_probe_echo *b);

/* Level of a over b in dB, gains and reflectors taken out. Unknown where the traces carry no common
 * scale: both or neither must have gain_db, and without it both a full_scale. */
PLYECHO_API struct plyecho_known plyecho_probe_level_db(
    const struct plyecho_probe_character *a, const struct plyecho_probe_character *b);

#endif
