#include <plyecho/tracefile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>

#include "formats.h"

static enum plyecho_code check_options(const struct plyecho_read_options *options,
                                       struct plyecho_error *err)
{
    if (!(options->sample_rate_hz >= 0.0) || !isfinite(options->sample_rate_hz))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "the sample rate must be above 0, e.g. 100M");
    if (!(options->velocity_m_s >= 0.0) || !isfinite(options->velocity_m_s))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "the velocity must be above 0, in m/s");
    return PLYECHO_OK;
}

static enum plyecho_code read_format(const void *bytes, size_t size,
                                     const struct plyecho_read_options *options,
                                     struct plyecho_traces *traces, struct plyecho_error *err)
{
    if (size == 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the file is empty; record or copy it again");
    if (size >= 2 && (memcmp(bytes, "\xff\xfe", 2) == 0 || memcmp(bytes, "\xfe\xff", 2) == 0))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "text in UTF-16; save it as UTF-8 or plain text");
    if (pe_audio_known(bytes, size))
        return pe_audio_read(bytes, size, traces, err);
    if (pe_csv_known(bytes, size))
        return pe_csv_read(bytes, size, options, traces, err);
    return plyecho_fail(
        err, PLYECHO_UNKNOWN_FORMAT,
        "neither an audio container (WAV, RF64, W64, AIFF, CAF, AU) nor CSV text; "
        "export the trace as one of them");
}

/* Within these bounds a time in double is right to a thousandth of a step, in files too. */
static enum plyecho_code check_time_base(const struct plyecho_traces *traces,
                                         struct plyecho_error *err)
{
    static const double slowest_hz = 1e-6, fastest_hz = 1e12, most_steps = 1e13;
    double rate = traces->sample_rate_hz;
    if (!(rate >= slowest_hz && rate <= fastest_hz))
        return plyecho_fail(err, PLYECHO_BAD_TIME_BASE,
                            "a sample rate of %.6g Hz; it must lie between %g and %g, so check "
                            "the unit of time or the label",
                            rate, slowest_hz, fastest_hz);
    if (!(fabs(traces->start_s) * rate <= most_steps))
        return plyecho_fail(err, PLYECHO_BAD_TIME_BASE,
                            "the record starts %.6g s from zero, too far for its steps; count "
                            "the time from the shot",
                            traces->start_s);
    return PLYECHO_OK;
}

/* Labels win over what the format itself says, the caller's rate over both. */
static enum plyecho_code settle(struct plyecho_traces *traces,
                                const struct plyecho_read_options *options,
                                struct plyecho_error *err)
{
    enum plyecho_code code = plyecho_traces_labels_to_fields(traces, err);
    if (code != PLYECHO_OK)
        return code;
    if (options->sample_rate_hz > 0.0) {
        traces->sample_rate_hz = options->sample_rate_hz;
        if (plyecho_labels_get(&traces->labels, "sample_rate_hz", 0) != NULL)
            code = plyecho_labels_set_number(&traces->labels, "sample_rate_hz", 0,
                                             options->sample_rate_hz, err);
    }
    return code == PLYECHO_OK ? check_time_base(traces, err) : code;
}

enum plyecho_code plyecho_tracefile_read(const void *bytes, size_t size,
                                         const struct plyecho_read_options *options,
                                         struct plyecho_traces *traces,
                                         struct plyecho_error *err)
{
    static const struct plyecho_read_options nothing_given = {0};
    *traces = (struct plyecho_traces){0};
    if (options == NULL)
        options = &nothing_given;
    enum plyecho_code code = check_options(options, err);
    if (code == PLYECHO_OK)
        code = read_format(bytes, size, options, traces, err);
    if (code == PLYECHO_OK)
        code = settle(traces, options, err);
    if (code != PLYECHO_OK)
        plyecho_traces_clear(traces);
    return code;
}

static enum plyecho_code check_writable(const struct plyecho_traces *traces,
                                        struct plyecho_error *err)
{
    if (traces->channels < 1 || traces->channels > PLYECHO_MAX_CHANNELS ||
        traces->samples < 2 || !(traces->sample_rate_hz > 0.0) ||
        !isfinite(traces->sample_rate_hz) || !isfinite(traces->start_s))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "traces without samples or time base cannot be written");
    for (size_t i = 0; i < traces->channels * traces->samples; i++)
        if (!isfinite(traces->amplitude[i]))
            return plyecho_fail(
                err, PLYECHO_BAD_ARGUMENT,
                "sample %zu of channel %zu is not a finite number and cannot be "
                "written",
                i % traces->samples, i / traces->samples + 1);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_tracefile_write(const struct plyecho_traces *traces,
                                          enum plyecho_container container, void **bytes,
                                          size_t *size, struct plyecho_error *err)
{
    *bytes = NULL;
    *size = 0;
    enum plyecho_code code = check_writable(traces, err);
    if (code != PLYECHO_OK)
        return code;
    struct plyecho_traces labelled = *traces; /* shares the samples, not the labels */
    code = plyecho_labels_copy(&labelled.labels, &traces->labels, err);
    if (code == PLYECHO_OK)
        code = plyecho_traces_fields_to_labels(&labelled, err);
    if (code == PLYECHO_OK && container == PLYECHO_CONTAINER_CSV)
        code = pe_csv_write(&labelled, bytes, size, err);
    else if (code == PLYECHO_OK)
        code = pe_audio_write(&labelled, pe_audio_is_large(traces->channels, traces->samples),
                              bytes, size, err);
    plyecho_labels_clear(&labelled.labels);
    return code;
}
