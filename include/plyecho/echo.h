/* echo.h - echoes of a conditioned trace: time, height, polarity, signal-to-noise
 */
#ifndef PLYECHO_ECHO_H
#define PLYECHO_ECHO_H

#include <stddef.h>

#include <plyecho/condition.h>
#include <plyecho/error.h>

struct plyecho_echo {
    double time_s;    /* of the envelope's peak, between samples */
    double amplitude; /* height of the envelope there */
    double phase_rad; /* of the oscillation there: 0 a crest, +-pi a trough; 0 without sign */
    int polarity;     /* sign of the highest excursion within the echo; 0 without sign */
    double level_db;  /* to the largest of the echoes found, at most 0 */
    double
        snr_db; /* envelope peak over the noise's standard deviation; INFINITY without noise */
    size_t sample; /* sample nearest to the peak */
};

struct plyecho_echo_options {
    double least_snr_db;   /* below: noise */
    double least_level_db; /* below the largest by more: left out; negative */
    double from_s, to_s; /* where to look; -INFINITY and INFINITY: as far as the record goes */
};

/* least_snr_db 14 (chance of a false echo in a record of 2000 noise samples below 1 %, by the
 * Rayleigh distribution of a noise envelope), least_level_db -40, the whole record. */
PLYECHO_API struct plyecho_echo_options plyecho_echo_defaults(void);

/* Find echoes in order of time; at most `room` of them (the highest, where there are more). Of
 * peaks nearer than a period of the centre frequency only the higher counts.
 * Peaks of equal neighbouring samples (clipped, coarsely quantised) count once, at their
 * middle. Returns how many were written. */
PLYECHO_API size_t plyecho_echoes_find(const struct plyecho_conditioned *trace,
                                       const struct plyecho_echo_options *options,
                                       struct plyecho_echo *echoes, size_t room);

#endif
