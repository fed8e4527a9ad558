#include "formats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "decimal.h"

/* Text that grows; `failed` is kept and told at the end. */
struct buffer {
    char *text;
    size_t size, room;
    bool failed;
};

static bool reserve(struct buffer *buffer, size_t more)
{
    if (buffer->failed || more > SIZE_MAX / 2 - buffer->size) {
        buffer->failed = true;
        return false;
    }
    if (buffer->size + more <= buffer->room)
        return true;
    size_t room = 2 * (buffer->size + more);
    char *text = pe_resize(buffer->text, room, 1);
    if (text == NULL) {
        buffer->failed = true;
        return false;
    }
    buffer->text = text;
    buffer->room = room;
    return true;
}

static void put(struct buffer *buffer, const char *text, size_t size)
{
    if (!reserve(buffer, size))
        return;
    memcpy(buffer->text + buffer->size, text, size);
    buffer->size += size;
}

static void put_text(struct buffer *buffer, const char *text)
{
    put(buffer, text, strlen(text));
}

/* Decimals so that the column is right to a millionth of a step. The exact rate and start are
 * in the labels. */
static int time_decimals(double rate_hz)
{
    int decimals = (int)ceil(log10(rate_hz));
    return decimals < 0 ? 0 : decimals > 15 ? 15 : decimals;
}

static void put_time(struct buffer *buffer, const struct plyecho_traces *traces, size_t sample,
                     int decimals, double unit)
{
    char number[PLYECHO_NUMBER_ROOM];
    double time_us = traces->start_s * 1e6 + (double)sample * 1e6 / traces->sample_rate_hz;
    double scaled = nearbyint(time_us * unit);
    if (fabs(scaled) < 9e15)
        put_text(buffer, pe_decimal_format_fixed((int64_t)scaled, decimals, number));
    else
        put_text(buffer, plyecho_number_format(time_us, number));
}

static void put_header(struct buffer *buffer, size_t channels)
{
    char number[PLYECHO_NUMBER_ROOM];
    put_text(buffer, channels == 1 ? "time_us,amplitude" : "time_us");
    for (size_t c = 1; c <= channels && channels > 1; c++) {
        put_text(buffer, ",ch");
        put_text(buffer, pe_decimal_format_fixed((int64_t)c, 0, number));
    }
    put_text(buffer, "\n");
}

static void put_rows(struct buffer *buffer, const struct plyecho_traces *traces)
{
    char number[PLYECHO_NUMBER_ROOM];
    int decimals = time_decimals(traces->sample_rate_hz);
    double unit = pow(10.0, decimals);
    for (size_t i = 0; i < traces->samples && !buffer->failed; i++) {
        put_time(buffer, traces, i, decimals, unit);
        for (size_t c = 0; c < traces->channels; c++) {
            put(buffer, ",", 1);
            put_text(buffer, plyecho_number_format_float(
                                 traces->amplitude[c * traces->samples + i], number));
        }
        put(buffer, "\n", 1);
    }
}

enum plyecho_code pe_csv_write(const struct plyecho_traces *traces, void **bytes, size_t *size,
                               struct plyecho_error *err)
{
    struct buffer buffer = {.text = NULL};
    char *labels;
    size_t labels_size;
    enum plyecho_code code =
        plyecho_labels_text(&traces->labels, "# ", &labels, &labels_size, err);
    if (code != PLYECHO_OK)
        return code;
    put(&buffer, labels, labels_size);
    free(labels);
    put_header(&buffer, traces->channels);
    put_rows(&buffer, traces);
    if (buffer.failed) {
        free(buffer.text);
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for a CSV of %zu rows",
                            traces->samples);
    }
    *bytes = buffer.text;
    *size = buffer.size;
    return PLYECHO_OK;
}
