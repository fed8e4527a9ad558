/* trace.h - A-scans on one time base, in memory
 *
 * struct plyecho_traces owns the samples of all channels of a trace file; struct plyecho_trace
 * is a view of one channel, cheap to pass by value, that owns nothing.
 */
#ifndef PLYECHO_TRACE_H
#define PLYECHO_TRACE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/labels.h>

enum { PLYECHO_MAX_CHANNELS = 1024 };

/* What the samples are; the label `signal` says it in files. */
enum plyecho_signal {
    PLYECHO_SIGNAL_RF,        /* "rf": the oscillation itself */
    PLYECHO_SIGNAL_RECTIFIED, /* "rectified": its magnitude, the sign is lost */
    PLYECHO_SIGNAL_ENVELOPE,  /* "envelope": magnitude of the analytic signal */
    PLYECHO_SIGNAL_LOG        /* "log": envelope in dB */
};

enum plyecho_container { PLYECHO_CONTAINER_WAV, PLYECHO_CONTAINER_CSV };

struct plyecho_traces {
    size_t channels;  /* at least 1 */
    size_t samples;   /* per channel, at least 2 */
    float *amplitude; /* channel-major: channel c (from 0) starts at amplitude[c * samples] */
    double sample_rate_hz; /* exact where a label gives it */
    double start_s;        /* time of sample 0 */
    enum plyecho_signal signal;
    double full_scale; /* amplitude at which the recorder clips; 0 where not known */
    double step;       /* one count of the converter, in amplitude; 0 where not known */
    struct plyecho_labels labels;     /* all labels, also those that the fields above repeat */
    enum plyecho_container container; /* what filters write by default */
    char note[200]; /* "" or which of several possible readings was taken, one line */
};

struct plyecho_trace {
    const float *amplitude; /* samples long */
    size_t samples;
    double sample_rate_hz;
    double start_s;
    enum plyecho_signal signal;
    double full_scale;
    double step;
    size_t channel; /* from 1 */
    const struct plyecho_labels *labels;
};

/* Make room for channels x samples, all zero; other fields zero. *traces is overwritten. */
PLYECHO_API enum plyecho_code plyecho_traces_init(struct plyecho_traces *traces,
                                                  size_t channels, size_t samples,
                                                  struct plyecho_error *err);

/* to = same time base, state and labels as from, with samples zero. */
PLYECHO_API enum plyecho_code plyecho_traces_like(struct plyecho_traces *to,
                                                  const struct plyecho_traces *from,
                                                  struct plyecho_error *err);

/* Free what it owns; a zeroed or half-made struct is fine. */
PLYECHO_API void plyecho_traces_clear(struct plyecho_traces *traces);

/* View of one channel (1 <= channel <= channels). */
PLYECHO_API struct plyecho_trace plyecho_traces_channel(const struct plyecho_traces *traces,
                                                        size_t channel);

/* Writable samples of one channel (from 1). */
PLYECHO_API float *plyecho_traces_samples(struct plyecho_traces *traces, size_t channel);

/* Carry the fields sample_rate_hz, start_s, signal, full_scale, step into their labels
 * (`sample_rate_hz`, `start_us`, `signal`, `full_scale`, `step`), so that a writer keeps them. A
 * full_scale or step of 0 has no label. */
PLYECHO_API enum plyecho_code plyecho_traces_fields_to_labels(struct plyecho_traces *traces,
                                                              struct plyecho_error *err);

/* The reverse: take these labels, where present, into the fields. A label of an impossible
 * value (rate, full_scale or step not above zero, unknown signal) is PLYECHO_BAD_FILE. */
PLYECHO_API enum plyecho_code plyecho_traces_labels_to_fields(struct plyecho_traces *traces,
                                                              struct plyecho_error *err);

/* The word for a signal state, as in labels; and back (false where the word is unknown). */
PLYECHO_API const char *plyecho_signal_word(enum plyecho_signal signal);
PLYECHO_API bool plyecho_signal_from_word(const char *word, enum plyecho_signal *signal);

/* Time of a (fractional) sample in seconds. */
static inline double plyecho_trace_time_s(const struct plyecho_trace *trace, double sample)
{
    return trace->start_s + sample / trace->sample_rate_hz;
}

#endif
