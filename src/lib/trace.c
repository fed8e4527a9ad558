#include <plyecho/trace.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>

#include "alloc.h"
#include "decimal.h"

enum { MICRO = 6 }; /* powers of ten between s and us */

static const char *const signal_words[] = {
    [PLYECHO_SIGNAL_RF] = "rf",
    [PLYECHO_SIGNAL_RECTIFIED] = "rectified",
    [PLYECHO_SIGNAL_ENVELOPE] = "envelope",
    [PLYECHO_SIGNAL_LOG] = "log",
};

enum { SIGNAL_COUNT = sizeof signal_words / sizeof signal_words[0] };

const char *plyecho_signal_word(enum plyecho_signal signal)
{
    return (unsigned)signal < SIGNAL_COUNT ? signal_words[signal] : "unknown";
}

bool plyecho_signal_from_word(const char *word, enum plyecho_signal *signal)
{
    for (int i = 0; i < SIGNAL_COUNT; i++)
        if (strcmp(word, signal_words[i]) == 0) {
            *signal = (enum plyecho_signal)i;
            return true;
        }
    return false;
}

enum plyecho_code plyecho_traces_init(struct plyecho_traces *traces, size_t channels,
                                      size_t samples, struct plyecho_error *err)
{
    *traces = (struct plyecho_traces){0};
    if (channels < 1 || channels > PLYECHO_MAX_CHANNELS)
        return plyecho_fail(err, channels < 1 ? PLYECHO_BAD_ARGUMENT : PLYECHO_TOO_LARGE,
                            "%zu channels; a trace file has 1 to %d", channels,
                            PLYECHO_MAX_CHANNELS);
    if (samples < 2)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%zu samples a channel; a trace needs at least 2", samples);
    if (samples <= SIZE_MAX / sizeof *traces->amplitude / channels)
        traces->amplitude = pe_alloc(channels * samples, sizeof *traces->amplitude);
    if (traces->amplitude == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY,
                            "out of memory for %zu channels of %zu samples", channels, samples);
    traces->channels = channels;
    traces->samples = samples;
    return PLYECHO_OK;
}

enum plyecho_code plyecho_traces_like(struct plyecho_traces *to,
                                      const struct plyecho_traces *from,
                                      struct plyecho_error *err)
{
    enum plyecho_code code = plyecho_traces_init(to, from->channels, from->samples, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_copy(&to->labels, &from->labels, err);
    if (code != PLYECHO_OK) {
        plyecho_traces_clear(to);
        return code;
    }
    to->sample_rate_hz = from->sample_rate_hz;
    to->start_s = from->start_s;
    to->signal = from->signal;
    to->full_scale = from->full_scale;
    to->step = from->step;
    to->container = from->container;
    memcpy(to->note, from->note, sizeof to->note);
    return PLYECHO_OK;
}

void plyecho_traces_clear(struct plyecho_traces *traces)
{
    free(traces->amplitude);
    plyecho_labels_clear(&traces->labels);
    *traces = (struct plyecho_traces){0};
}

struct plyecho_trace plyecho_traces_channel(const struct plyecho_traces *traces, size_t channel)
{
    return (struct plyecho_trace){
        .amplitude = traces->amplitude + (channel - 1) * traces->samples,
        .samples = traces->samples,
        .sample_rate_hz = traces->sample_rate_hz,
        .start_s = traces->start_s,
        .signal = traces->signal,
        .full_scale = traces->full_scale,
        .step = traces->step,
        .channel = channel,
        .labels = &traces->labels,
    };
}

float *plyecho_traces_samples(struct plyecho_traces *traces, size_t channel)
{
    return traces->amplitude + (channel - 1) * traces->samples;
}

/* A level of 0 means not known: then there is no label. */
static enum plyecho_code set_level(struct plyecho_labels *labels, const char *key, double level,
                                   struct plyecho_error *err)
{
    if (level > 0.0)
        return plyecho_labels_set_number(labels, key, 0, level, err);
    plyecho_labels_remove(labels, key, 0);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_traces_fields_to_labels(struct plyecho_traces *traces,
                                                  struct plyecho_error *err)
{
    struct plyecho_labels *labels = &traces->labels;
    char start_us[PLYECHO_NUMBER_ROOM];
    pe_decimal_format(traces->start_s, MICRO, start_us);
    enum plyecho_code code =
        plyecho_labels_set_number(labels, "sample_rate_hz", 0, traces->sample_rate_hz, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_set(labels, "start_us", 0, start_us, err);
    if (code == PLYECHO_OK)
        code =
            plyecho_labels_set(labels, "signal", 0, plyecho_signal_word(traces->signal), err);
    if (code == PLYECHO_OK)
        code = set_level(labels, "full_scale", traces->full_scale, err);
    if (code == PLYECHO_OK)
        code = set_level(labels, "step", traces->step, err);
    return code;
}

static enum plyecho_code take_rate(struct plyecho_traces *traces, struct plyecho_error *err)
{
    double rate = traces->sample_rate_hz;
    enum plyecho_code code =
        plyecho_labels_number(&traces->labels, "sample_rate_hz", 0, &rate, err);
    if (code != PLYECHO_OK)
        return code;
    if (plyecho_labels_get(&traces->labels, "sample_rate_hz", 0) != NULL && !(rate > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "label 'sample_rate_hz' is %g; it must be above 0", rate);
    traces->sample_rate_hz = rate;
    return PLYECHO_OK;
}

/* Read with the decimal sign moved, so that the time is rounded once. */
static enum plyecho_code take_start(struct plyecho_traces *traces, struct plyecho_error *err)
{
    const char *text = plyecho_labels_get(&traces->labels, "start_us", 0);
    double unused = 0.0;
    enum plyecho_code code =
        plyecho_labels_number(&traces->labels, "start_us", 0, &unused, err);
    if (code != PLYECHO_OK || text == NULL)
        return code;
    struct pe_decimal decimal;
    pe_decimal_scan(text, strlen(text), '.', &decimal);
    traces->start_s = pe_decimal_value(&decimal, -MICRO);
    return PLYECHO_OK;
}

static enum plyecho_code take_signal(struct plyecho_traces *traces, struct plyecho_error *err)
{
    const char *word = plyecho_labels_get(&traces->labels, "signal", 0);
    if (word == NULL || plyecho_signal_from_word(word, &traces->signal))
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_FILE,
                        "label 'signal' is '%.80s'; it must be rf, rectified, envelope or log",
                        word);
}

static enum plyecho_code take_level(const struct plyecho_traces *traces, const char *key,
                                    double *level, struct plyecho_error *err)
{
    double value = 1.0;
    enum plyecho_code code = plyecho_labels_number(&traces->labels, key, 0, &value, err);
    if (code != PLYECHO_OK || plyecho_labels_get(&traces->labels, key, 0) == NULL)
        return code;
    if (!(value > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "label '%s' is %g; it must be above 0, or left out where not known",
                            key, value);
    *level = value;
    return PLYECHO_OK;
}

enum plyecho_code plyecho_traces_labels_to_fields(struct plyecho_traces *traces,
                                                  struct plyecho_error *err)
{
    struct plyecho_error inner = {0};
    enum plyecho_code code = take_rate(traces, &inner);
    if (code == PLYECHO_OK)
        code = take_start(traces, &inner);
    if (code == PLYECHO_OK)
        code = take_signal(traces, &inner);
    if (code == PLYECHO_OK)
        code = take_level(traces, "full_scale", &traces->full_scale, &inner);
    if (code == PLYECHO_OK)
        code = take_level(traces, "step", &traces->step, &inner);
    if (code == PLYECHO_OK)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_FILE, "%s",
                        inner.text); /* a bad label is a bad file */
}
