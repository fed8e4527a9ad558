/* Whatever the bytes: traces that can be written and come back the same bit for bit, or a refusal in
 * words that holds nothing. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/tracefile.h>

#include "target.h"

static void require(bool holds, const char *what, const struct plyecho_error *err)
{
    if (holds)
        return;
    fprintf(stderr, "%s (%s)\n", what, err->text);
    abort();
}

static void check_traces(const struct plyecho_traces *t, const struct plyecho_error *err)
{
    require(t->channels >= 1 && t->channels <= PLYECHO_MAX_CHANNELS && t->samples >= 2,
            "an impossible size", err);
    require(t->sample_rate_hz > 0.0 && isfinite(t->sample_rate_hz) && isfinite(t->start_s),
            "an impossible time base", err);
    for (size_t i = 0; i < t->channels * t->samples; i++)
        require(isfinite(t->amplitude[i]) != 0, "a sample that is no number", err);
    for (const char *p = t->note; *p != '\0'; p++)
        require((unsigned char)*p >= 0x20, "a note that steers a terminal", err);
}

static void check_round_trip(const struct plyecho_traces *t, enum plyecho_container container)
{
    struct plyecho_traces back;
    struct plyecho_error err = {PLYECHO_OK, 0, -1, ""};
    void *bytes;
    size_t size;
    enum plyecho_code code = plyecho_tracefile_write(t, container, &bytes, &size, &err);
    if (code == PLYECHO_NO_LABEL_ROOM && container == PLYECHO_CONTAINER_WAV)
        return;
    require(code == PLYECHO_OK, "read, but not writable", &err);
    require(plyecho_tracefile_read(bytes, size, NULL, &back, &err) == PLYECHO_OK,
            "written, but not readable", &err);
    require(back.channels == t->channels && back.samples == t->samples &&
                memcmp(back.amplitude, t->amplitude,
                       t->channels * t->samples * sizeof *t->amplitude) == 0,
            "samples changed", &err);
    require(back.sample_rate_hz == t->sample_rate_hz && back.start_s == t->start_s &&
                back.signal == t->signal && back.full_scale == t->full_scale &&
                back.step == t->step,
            "time base or levels changed", &err);
    for (size_t i = 0; i < t->labels.count; i++) {
        const struct plyecho_label *label = &t->labels.items[i];
        const char *value = plyecho_labels_get(&back.labels, label->key, label->channel);
        require(value != NULL, "a label was lost", &err);
    }
    plyecho_traces_clear(&back);
    free(bytes);
}

static void try_options(const uint8_t *bytes, size_t size,
                        const struct plyecho_read_options *options)
{
    struct plyecho_traces traces;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    enum plyecho_code code = plyecho_tracefile_read(bytes, size, options, &traces, &err);
    if (code == PLYECHO_OK) {
        check_traces(&traces, &err);
        check_round_trip(&traces, PLYECHO_CONTAINER_CSV);
        check_round_trip(&traces, PLYECHO_CONTAINER_WAV);
    } else {
        require(err.code == code && err.text[0] != '\0' && traces.amplitude == NULL &&
                    traces.labels.items == NULL,
                "a refusal that holds something", &err);
    }
    plyecho_traces_clear(&traces);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    const struct plyecho_read_options stated = {.sample_rate_hz = 80e6, .velocity_m_s = 2950};
    try_options(bytes, size, NULL);
    try_options(bytes, size, &stated);
    return 0;
}
