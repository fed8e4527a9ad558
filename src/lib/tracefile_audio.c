#include "formats.h"

#include <inttypes.h>
#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <sndfile.h>

#include "alloc.h"
#include "audio_container.h"
#include "audio_labels.h"
#include "audio_memory.h"

enum { BLOCK_FRAMES = 1024 };

/* What a sample format says about levels. bytes is 0 where samples are packed otherwise. */
struct sample_format {
    int subtype;
    int bytes;
    int bits;     /* of the converter: a step is 2^-(bits-1) of full scale; 0: no even steps */
    bool bounded; /* full scale is 1 */
};

static const struct sample_format sample_formats[] = {
    {SF_FORMAT_PCM_S8, 1, 8, true},   {SF_FORMAT_PCM_U8, 1, 8, true},
    {SF_FORMAT_PCM_16, 2, 16, true},  {SF_FORMAT_PCM_24, 3, 24, true},
    {SF_FORMAT_PCM_32, 4, 32, true},  {SF_FORMAT_FLOAT, 4, 0, false},
    {SF_FORMAT_DOUBLE, 8, 0, false},  {SF_FORMAT_ULAW, 1, 0, true},
    {SF_FORMAT_ALAW, 1, 0, true},     {SF_FORMAT_ALAC_16, 0, 16, true},
    {SF_FORMAT_ALAC_20, 0, 20, true}, {SF_FORMAT_ALAC_24, 0, 24, true},
    {SF_FORMAT_ALAC_32, 0, 32, true}, {SF_FORMAT_DWVW_12, 0, 12, true},
    {SF_FORMAT_DWVW_16, 0, 16, true}, {SF_FORMAT_DWVW_24, 0, 24, true},
};

static struct sample_format find_format(int format)
{
    for (size_t i = 0; i < sizeof sample_formats / sizeof sample_formats[0]; i++)
        if (sample_formats[i].subtype == (format & SF_FORMAT_SUBMASK))
            return sample_formats[i];
    return (struct sample_format){.bounded = true};
}

bool pe_audio_known(const unsigned char *bytes, size_t size)
{
    struct pe_audio_container container;
    return pe_audio_container_look(bytes, size, &container);
}

static enum plyecho_code check_container(const struct pe_audio_container *c,
                                         struct plyecho_error *err)
{
    if (c->channels > PLYECHO_MAX_CHANNELS)
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "%u channels; at most %d are read, so split the file", c->channels,
                            PLYECHO_MAX_CHANNELS);
    if (!c->has_data)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the %s ends before its samples; copy or record it again", c->name);
    return PLYECHO_OK;
}

/* The header's promise against the bytes; frame_bytes is 0 where frames have no fixed size. */
static enum plyecho_code check_promise(const struct pe_audio_container *c, uint64_t frame_bytes,
                                       struct plyecho_error *err)
{
    const char *unit = frame_bytes > 0 ? "frames" : "bytes of samples";
    uint64_t size = frame_bytes > 0 ? frame_bytes : 1;
    if (c->more_than_promised || c->data_present < c->data_promised)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the %s header promises %" PRIu64 " %s, but %" PRIu64
                            " are there; copy the file again or have its header rewritten",
                            c->name, c->data_promised / size, unit, c->data_present / size);
    if (c->missing > 0)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the %s ends %" PRIu64
                            " bytes too early, after its samples; copy the "
                            "file again",
                            c->name, c->missing);
    return PLYECHO_OK;
}

static enum plyecho_code check_size(const SF_INFO *info, size_t size, const char *name,
                                    struct plyecho_error *err)
{
    /* No format here packs more than 16 samples into a byte; a header that says so lies. */
    if (info->frames < 0 || info->channels < 1 || (uint64_t)info->frames > 16 * (uint64_t)size)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the %s header promises %" PRId64 " frames in %zu bytes; copy or "
                            "record it again",
                            name, (int64_t)info->frames, size);
    if (info->channels > PLYECHO_MAX_CHANNELS)
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "%d channels; at most %d are read, so split the file",
                            info->channels, PLYECHO_MAX_CHANNELS);
    if (info->frames < 2)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the %s holds %" PRId64
                            " samples a channel; a trace needs at least 2",
                            name, (int64_t)info->frames);
    return PLYECHO_OK;
}

static enum plyecho_code check_finite(const struct plyecho_traces *traces,
                                      struct plyecho_error *err)
{
    for (size_t i = 0; i < traces->channels * traces->samples; i++)
        if (!isfinite(traces->amplitude[i])) {
            plyecho_fail(
                err, PLYECHO_BAD_FILE,
                "sample %zu of channel %zu is not a finite number; record it again, or "
                "cut it out",
                i % traces->samples, i / traces->samples + 1);
            if (err != NULL)
                err->sample = (long)(i % traces->samples);
            return PLYECHO_BAD_FILE;
        }
    return PLYECHO_OK;
}

/* Frames of the file to channels of the traces. Returns the frames read. */
static size_t read_frames(SNDFILE *file, struct plyecho_traces *traces, float *block)
{
    size_t done = 0;
    while (done < traces->samples) {
        size_t left = traces->samples - done;
        sf_count_t got = sf_readf_float(
            file, block, (sf_count_t)(left < BLOCK_FRAMES ? left : BLOCK_FRAMES));
        if (got <= 0)
            break;
        for (size_t c = 0; c < traces->channels; c++) {
            float *target = traces->amplitude + c * traces->samples + done;
            for (size_t i = 0; i < (size_t)got; i++)
                target[i] = block[i * traces->channels + c];
        }
        done += (size_t)got;
    }
    return done;
}

/* The label `full_scale` says what full scale stands for; counts are scaled by it. */
static enum plyecho_code set_levels(struct plyecho_traces *traces, int format,
                                    struct plyecho_error *err)
{
    const struct sample_format f = find_format(format);
    if (!f.bounded)
        return PLYECHO_OK;
    traces->full_scale = 1.0;
    enum plyecho_code code =
        plyecho_labels_number(&traces->labels, "full_scale", 0, &traces->full_scale, err);
    if (code != PLYECHO_OK)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the label 'full_scale' must be a plain number like 0.5");
    if (f.bits > 0)
        traces->step = ldexp(traces->full_scale, 1 - f.bits);
    if (traces->full_scale != 1.0)
        for (size_t i = 0; i < traces->channels * traces->samples; i++)
            traces->amplitude[i] = (float)(traces->amplitude[i] * traces->full_scale);
    return PLYECHO_OK;
}

static enum plyecho_code read_samples(SNDFILE *file, const SF_INFO *info,
                                      struct plyecho_traces *traces, struct plyecho_error *err)
{
    float *block = pe_alloc(BLOCK_FRAMES * traces->channels, sizeof *block);
    if (block == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for %zu channels",
                            traces->channels);
    size_t got = read_frames(file, traces, block);
    free(block);
    if (got < traces->samples)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the header promises %zu frames, but only %zu can be read; copy or "
                            "record the file again",
                            traces->samples, got);
    enum plyecho_code code = set_levels(traces, info->format, err);
    return code == PLYECHO_OK ? check_finite(traces, err) : code;
}

static enum plyecho_code read_open_file(SNDFILE *file, const SF_INFO *info, size_t size,
                                        const struct pe_audio_container *container,
                                        struct plyecho_traces *traces,
                                        struct plyecho_error *err)
{
    uint64_t frame_bytes = info->channels > 0 ? (uint64_t)find_format(info->format).bytes *
                                                    (uint64_t)info->channels
                                              : 0;
    enum plyecho_code code = check_promise(container, frame_bytes, err);
    if (code == PLYECHO_OK)
        code = check_size(info, size, container->name, err);
    if (code == PLYECHO_OK)
        code = plyecho_traces_init(traces, (size_t)info->channels, (size_t)info->frames, err);
    if (code != PLYECHO_OK)
        return code;
    traces->sample_rate_hz = info->samplerate;
    traces->container = PLYECHO_CONTAINER_WAV;
    code = pe_audio_labels_read(file, &traces->labels, err);
    return code == PLYECHO_OK ? read_samples(file, info, traces, err) : code;
}

enum plyecho_code pe_audio_read(const unsigned char *bytes, size_t size,
                                struct plyecho_traces *traces, struct plyecho_error *err)
{
    struct pe_audio_container container;
    if (!pe_audio_container_look(bytes, size, &container))
        return plyecho_fail(err, PLYECHO_UNKNOWN_FORMAT, "not a known audio container");
    enum plyecho_code code = check_container(&container, err);
    if (code != PLYECHO_OK)
        return code;
    struct pe_audio_memory memory = {.input = bytes, .size = size};
    SF_VIRTUAL_IO io = pe_audio_memory_io();
    SF_INFO info = {.format = 0};
    SNDFILE *file = sf_open_virtual(&io, SFM_READ, &info, &memory);
    if (file == NULL) {
        code = check_promise(&container, 0, err);
        return code != PLYECHO_OK
                   ? code
                   : plyecho_fail(
                         err, PLYECHO_BAD_FILE,
                         "the %s header is damaged or of a kind that is not read; save "
                         "the file as WAV with PCM or float samples",
                         container.name);
    }
    code = read_open_file(file, &info, size, &container, traces, err);
    sf_close(file);
    return code;
}

bool pe_audio_is_large(size_t channels, size_t samples)
{
    const uint64_t limit = UINT32_MAX - 100000; /* header and labels */
    return samples > limit / sizeof(float) / channels;
}

/* A WAV header holds whole numbers only; the label has the exact rate. */
static int header_rate(double rate_hz)
{
    double rounded = nearbyint(rate_hz);
    return rounded >= INT_MAX ? INT_MAX : rounded <= 1.0 ? 1 : (int)rounded;
}

static bool write_frames(SNDFILE *file, const struct plyecho_traces *traces, float *block)
{
    for (size_t done = 0; done < traces->samples;) {
        size_t left = traces->samples - done;
        size_t count = left < BLOCK_FRAMES ? left : BLOCK_FRAMES;
        for (size_t c = 0; c < traces->channels; c++) {
            const float *source = traces->amplitude + c * traces->samples + done;
            for (size_t i = 0; i < count; i++)
                block[i * traces->channels + c] = source[i];
        }
        if (sf_writef_float(file, block, (sf_count_t)count) != (sf_count_t)count)
            return false;
        done += count;
    }
    return true;
}

static enum plyecho_code write_open_file(SNDFILE *file, const struct plyecho_traces *traces,
                                         struct plyecho_error *err)
{
    sf_command(file, SFC_SET_ADD_PEAK_CHUNK, NULL, SF_FALSE); /* it holds the time of day */
    enum plyecho_code code = pe_audio_labels_write(file, &traces->labels, err);
    if (code != PLYECHO_OK)
        return code;
    float *block = pe_alloc(BLOCK_FRAMES * traces->channels, sizeof *block);
    bool written = block != NULL && write_frames(file, traces, block);
    free(block);
    return written ? PLYECHO_OK
                   : plyecho_fail(err, PLYECHO_NO_MEMORY,
                                  "out of memory for a WAV of %zu channels of %zu samples",
                                  traces->channels, traces->samples);
}

enum plyecho_code pe_audio_write(const struct plyecho_traces *traces, bool large, void **bytes,
                                 size_t *size, struct plyecho_error *err)
{
    struct pe_audio_memory memory = {.input = NULL};
    SF_VIRTUAL_IO io = pe_audio_memory_io();
    SF_INFO info = {.samplerate = header_rate(traces->sample_rate_hz),
                    .channels = (int)traces->channels,
                    .format = (large ? SF_FORMAT_RF64 : SF_FORMAT_WAV) | SF_FORMAT_FLOAT};
    SNDFILE *file = sf_open_virtual(&io, SFM_WRITE, &info, &memory);
    enum plyecho_code code =
        file != NULL ? write_open_file(file, traces, err)
                     : plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a WAV header");
    if (file != NULL && sf_close(file) != 0 && code == PLYECHO_OK)
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "the WAV could not be completed");
    if (code == PLYECHO_OK && memory.no_memory)
        code = plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a WAV");
    if (code != PLYECHO_OK) {
        free(memory.output);
        return code;
    }
    *bytes = memory.output;
    *size = memory.size;
    return PLYECHO_OK;
}
