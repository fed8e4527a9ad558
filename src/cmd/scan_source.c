#include <config.h>

#include "scan_source.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/tracefile.h>

#include "file.h"
#include "memory.h"
#include "scan_axes.h"
#include "scan_same.h"

/* ---- trace files whose channels say where they were taken ---- */

/* Its place by the labels of a tube or of a plate; *known: both coordinates are there. */
static enum plyecho_code labelled(const struct plyecho_traces *traces, size_t channel,
                                  const struct scan_axes *axes, bool *known,
                                  struct plyecho_place *place, struct plyecho_error *err)
{
    struct plyecho_known across, along = {0};
    enum plyecho_code code =
        plyecho_labels_known(&traces->labels, axes->across.name, channel, &across, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_known(&traces->labels, axes->along.name, channel, &along, err);
    *known = code == PLYECHO_OK && across.known && along.known;
    *place = (struct plyecho_place){across.value * axes->across.unit,
                                    along.value * axes->along.unit};
    return code;
}

static enum plyecho_code place_of(const struct plyecho_traces *traces, size_t channel,
                                  bool *tube, struct plyecho_place *place,
                                  struct plyecho_error *err)
{
    struct plyecho_place on_plate;
    bool plate = false;
    enum plyecho_code code = labelled(traces, channel, scan_axes_of(true), tube, place, err);
    if (code == PLYECHO_OK)
        code = labelled(traces, channel, scan_axes_of(false), &plate, &on_plate, err);
    if (code != PLYECHO_OK)
        return code;
    if (*tube == plate)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "channel %zu: no labels angle_deg and axial_mm, nor x_mm and y_mm; "
                            "list file,channel,angle_deg,axial_mm in a manifest and scan that",
                            channel);
    if (plate)
        *place = on_plate;
    return PLYECHO_OK;
}

static enum plyecho_code add_channels(struct plyecho_manifest *m, const char *name,
                                      const struct plyecho_traces *traces,
                                      struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    char *file = memory_text(name);
    for (size_t channel = 1; channel <= traces->channels && code == PLYECHO_OK; channel++) {
        struct plyecho_shot shot = {.file = file, .channel = channel};
        bool tube = false;
        code = place_of(traces, channel, &tube, &shot.place, err);
        if (code == PLYECHO_OK && m->count == 0)
            m->tube = tube;
        if (code == PLYECHO_OK && m->tube != tube)
            code = plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "channel %zu: a place on a %s, the ones before are on a %s",
                                channel, tube ? "tube" : "plate", tube ? "plate" : "tube");
        if (code == PLYECHO_OK)
            code = plyecho_manifest_add(m, &shot, err);
    }
    free(file);
    return code;
}

/* One more file, whose digest goes to that of all. */
static bool add_file(struct scan_source *s, const char *name, struct file_bytes *bytes,
                     double sample_rate_hz, FILE *digests, struct messages *messages)
{
    const struct plyecho_read_options options = {.sample_rate_hz = sample_rate_hz};
    struct plyecho_traces traces = {0};
    struct plyecho_error err;
    char digest[PLYECHO_DIGEST_ROOM];
    enum plyecho_code code =
        plyecho_tracefile_read(bytes->data, bytes->size, &options, &traces, &err);
    if (code == PLYECHO_OK)
        code = add_channels(&s->manifest, name, &traces, &err);
    plyecho_traces_clear(&traces);
    plyecho_digest(bytes->data, bytes->size, digest);
    fprintf(digests, "%s  %s\n", digest, name);
    if (code != PLYECHO_OK)
        message_error(messages, name, &err);
    return code == PLYECHO_OK;
}

static bool open_traces(struct scan_source *s, const struct invocation *invocation,
                        double sample_rate_hz, struct file_bytes *bytes)
{
    struct plyecho_error err;
    char *text = NULL;
    size_t size = 0;
    FILE *digests = memory_stream(&text, &size);
    bool good = true;
    for (size_t i = 0; i < invocation->file_count && good; i++) {
        const char *name = invocation->files[i];
        good = i == 0 || file_read(name, bytes, &err) == PLYECHO_OK;
        if (!good)
            message_error(invocation->messages, name, &err);
        good = good && add_file(s, name, bytes, sample_rate_hz, digests, invocation->messages);
    }
    memory_stream_end(digests);
    plyecho_digest(text, size, s->digest);
    free(text);
    if (good && plyecho_manifest_check(&s->manifest, &err) != PLYECHO_OK) {
        message_error(invocation->messages, s->name, &err);
        good = false;
    }
    return good;
}

/* ---- a manifest ---- */

static bool open_manifest(struct scan_source *s, const struct invocation *invocation,
                          const struct file_bytes *bytes)
{
    struct plyecho_error err;
    s->beside = s->name;
    if (invocation->file_count > 1) {
        message_trouble(invocation->messages, invocation->files[1],
                        "a scan has one manifest; list all its traces in that");
        return false;
    }
    plyecho_digest(bytes->data, bytes->size, s->digest);
    if (plyecho_manifest_read(&s->manifest, bytes->data, bytes->size, &err) == PLYECHO_OK)
        return true;
    message_error(invocation->messages, s->name, &err);
    return false;
}

/* Nothing that a row could be read from, yet no trace either: told as a manifest that is wrong. */
static bool is_trace(const struct file_bytes *bytes, double sample_rate_hz)
{
    const struct plyecho_read_options options = {.sample_rate_hz = sample_rate_hz};
    struct plyecho_traces traces = {0};
    bool is =
        plyecho_tracefile_read(bytes->data, bytes->size, &options, &traces, NULL) == PLYECHO_OK;
    plyecho_traces_clear(&traces);
    return is;
}

bool scan_source_open(struct scan_source *s, const struct invocation *invocation,
                      double sample_rate_hz)
{
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    *s = (struct scan_source){.beside = ""};
    if (invocation->file_count == 0) {
        message_trouble(invocation->messages, NULL,
                        "no manifest; name one, with the heading "
                        "file,channel,angle_deg,axial_mm and a row for each trace");
        return false;
    }
    s->name = invocation->files[0];
    bool good = file_read(s->name, &bytes, &err) == PLYECHO_OK;
    if (!good)
        message_error(invocation->messages, s->name, &err);
    else if (plyecho_manifest_is(bytes.data, bytes.size) || !is_trace(&bytes, sample_rate_hz))
        good = open_manifest(s, invocation, &bytes);
    else
        good = open_traces(s, invocation, sample_rate_hz, &bytes);
    good =
        good && scan_same_none_listed(&s->manifest, s->beside, s->name, invocation->messages);
    if (good && s->manifest.wrapped)
        message_note(invocation->messages, s->name,
                     "angles below 0 are counted on from 360: -10 is 350");
    free(bytes.data);
    return good;
}

void scan_source_close(struct scan_source *s)
{
    plyecho_manifest_clear(&s->manifest);
}
