#include <plyecho/average.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/clipping.h>

#include "alloc.h"

/* Samples by which two time bases may differ at either end: time columns are rounded. */
static const double time_tolerance = 0.1;

/* Least samples by which the stretch where the first trace is clipped is taken wider on each side;
 * its own length counts where that is more: from shot to shot a crest more or less is cut. */
enum { CLIPPED_MARGIN = 16 };

/* Traces that differ in one of these are not on one scale. */
static const char *const scale_labels[] = {"gain_db", "added_gain_db", "unit", "tcg"};

/* Traces that differ in one of these are not of one place. */
static const char *const place_labels[] = {"part",     "position", "angle_deg",
                                           "axial_mm", "x_mm",     "y_mm"};

enum { PLACE_LABELS = sizeof place_labels / sizeof place_labels[0] };

struct plyecho_average {
    bool keep_clipped;
    size_t taken;
    size_t left_out;
    size_t clipped;      /* of those taken, how many are clipped somewhere */
    size_t clipped_from; /* first and last clipped sample of them all */
    size_t clipped_to;
    size_t excused_from; /* where the first trace is clipped, with a margin: from <= i < to */
    size_t excused_to;
    bool differs[PLACE_LABELS];   /* in this label, among those taken */
    double *sum;                  /* samples long; NULL until the first trace */
    struct plyecho_traces common; /* the first trace's time base and state, the common labels */
};

enum plyecho_code plyecho_average_new(struct plyecho_average **average, bool keep_clipped,
                                      struct plyecho_error *err)
{
    *average = pe_alloc(1, sizeof **average);
    if (*average == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for an average");
    (*average)->keep_clipped = keep_clipped;
    return PLYECHO_OK;
}

void plyecho_average_free(struct plyecho_average *average)
{
    if (average == NULL)
        return;
    free(average->sum);
    plyecho_traces_clear(&average->common);
    free(average);
}

size_t plyecho_average_taken(const struct plyecho_average *average)
{
    return average->taken;
}

size_t plyecho_average_left_out(const struct plyecho_average *average)
{
    return average->left_out;
}

const char *plyecho_average_place(const struct plyecho_average *average, size_t k)
{
    for (size_t i = 0; i < PLACE_LABELS; i++)
        if (average->differs[i] && k-- == 0)
            return place_labels[i];
    return NULL;
}

/* ---- what fits ---- */

static enum plyecho_code check_scale(const struct plyecho_average *average,
                                     const struct plyecho_trace *trace,
                                     struct plyecho_error *err)
{
    for (size_t i = 0; i < sizeof scale_labels / sizeof *scale_labels; i++) {
        const char *key = scale_labels[i];
        const char *first = plyecho_labels_get(&average->common.labels, key, 0);
        const char *own = plyecho_labels_get(trace->labels, key, trace->channel);
        if ((first == NULL) != (own == NULL) || (first != NULL && strcmp(first, own) != 0))
            return plyecho_fail(err, PLYECHO_UNSUITABLE,
                                "label %s is '%.60s', the first trace's '%.60s'", key,
                                own != NULL ? own : "", first != NULL ? first : "");
    }
    return PLYECHO_OK;
}

static enum plyecho_code check_like_first(const struct plyecho_average *average,
                                          const struct plyecho_trace *trace,
                                          struct plyecho_error *err)
{
    const struct plyecho_traces *first = &average->common;
    if (trace->samples != first->samples)
        return plyecho_fail(err, PLYECHO_UNSUITABLE, "%zu samples, the first trace has %zu",
                            trace->samples, first->samples);
    double rates_apart = trace->sample_rate_hz / first->sample_rate_hz - 1.0;
    if (!(fabs(rates_apart) * (double)first->samples <= time_tolerance))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "sample rate %.10g Hz, the first trace's "
                            "%.10g Hz",
                            trace->sample_rate_hz, first->sample_rate_hz);
    double late = (trace->start_s - first->start_s) * trace->sample_rate_hz;
    if (!(fabs(late) <= time_tolerance))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "starts at %.10g us, the first trace at %.10g us",
                            trace->start_s * 1e6, first->start_s * 1e6);
    if (trace->signal != first->signal)
        return plyecho_fail(err, PLYECHO_UNSUITABLE, "signal is %s, the first trace's %s",
                            plyecho_signal_word(trace->signal),
                            plyecho_signal_word(first->signal));
    return check_scale(average, trace, err);
}

/* A trace cut where the first is not: an outlier. The initial pulse is often cut in all of them. */
static enum plyecho_code check_clipping(const struct plyecho_average *average,
                                        const struct plyecho_trace *trace,
                                        struct plyecho_error *err)
{
    struct plyecho_clipping found;
    size_t from = average->excused_from, to = average->excused_to;
    bool clipped = from > 0 && plyecho_clipping_find(trace, 0, from, &found);
    if (!clipped && to < trace->samples)
        clipped = plyecho_clipping_find(trace, to, trace->samples, &found);
    if (!clipped)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "clipped where the first trace is not, %zu samples from %.4f us on",
                        found.samples, plyecho_trace_time_s(trace, (double)found.first) * 1e6);
}

/* ---- adding ---- */

/* The channel's labels as labels of a file of its own: its own value goes before the file's. */
static enum plyecho_code own_labels(const struct plyecho_trace *trace,
                                    struct plyecho_labels *labels, struct plyecho_error *err)
{
    for (size_t i = 0; i < trace->labels->count; i++) {
        const struct plyecho_label *label = &trace->labels->items[i];
        if (label->channel != 0 && label->channel != trace->channel)
            continue;
        enum plyecho_code code = plyecho_labels_set(
            labels, label->key, 0,
            plyecho_labels_get(trace->labels, label->key, trace->channel), err);
        if (code != PLYECHO_OK)
            return code;
    }
    return PLYECHO_OK;
}

static enum plyecho_code begin(struct plyecho_average *average,
                               const struct plyecho_trace *trace, struct plyecho_labels *labels,
                               struct plyecho_error *err)
{
    average->sum = pe_alloc(trace->samples, sizeof *average->sum);
    if (average->sum == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for an average");
    average->common = (struct plyecho_traces){.channels = 1,
                                              .samples = trace->samples,
                                              .sample_rate_hz = trace->sample_rate_hz,
                                              .start_s = trace->start_s,
                                              .signal = trace->signal,
                                              .full_scale = trace->full_scale,
                                              .labels = *labels};
    *labels = (struct plyecho_labels){0};
    return PLYECHO_OK;
}

static void note_clipping(struct plyecho_average *average, const struct plyecho_trace *trace)
{
    struct plyecho_clipping found;
    bool clipped = plyecho_clipping_find(trace, 0, trace->samples, &found);
    if (clipped && (average->clipped == 0 || found.first < average->clipped_from))
        average->clipped_from = found.first;
    if (clipped && (average->clipped == 0 || found.last > average->clipped_to))
        average->clipped_to = found.last;
    average->clipped += clipped;
    if (clipped && average->taken == 0) {
        size_t margin = found.last - found.first + 1;
        margin = margin < CLIPPED_MARGIN ? CLIPPED_MARGIN : margin;
        average->excused_from = found.first > margin ? found.first - margin : 0;
        average->excused_to = found.last + 1 + margin;
    }
}

/* The labels in common still hold what all traces taken so far agree on. */
static void note_places(struct plyecho_average *average, const struct plyecho_labels *own)
{
    for (size_t i = 0; i < PLACE_LABELS; i++) {
        const char *now = plyecho_labels_get(own, place_labels[i], 0);
        const char *before = plyecho_labels_get(&average->common.labels, place_labels[i], 0);
        if ((now == NULL) != (before == NULL) || (now != NULL && strcmp(now, before) != 0))
            average->differs[i] = true;
    }
}

static enum plyecho_code take(struct plyecho_average *average,
                              const struct plyecho_trace *trace, struct plyecho_error *err)
{
    struct plyecho_labels labels = {0};
    enum plyecho_code code = own_labels(trace, &labels, err);
    if (code == PLYECHO_OK && average->taken == 0)
        code = begin(average, trace, &labels, err);
    else if (code == PLYECHO_OK) {
        note_places(average, &labels);
        plyecho_labels_keep_common(&average->common.labels, &labels);
    }
    plyecho_labels_clear(&labels);
    if (code != PLYECHO_OK)
        return code;
    if (trace->full_scale != average->common.full_scale)
        average->common.full_scale = 0.0;
    note_clipping(average, trace);
    for (size_t i = 0; i < trace->samples; i++)
        average->sum[i] += (double)trace->amplitude[i];
    average->taken++;
    return PLYECHO_OK;
}

enum plyecho_code plyecho_average_add(struct plyecho_average *average,
                                      const struct plyecho_trace *trace,
                                      struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    if (trace->signal == PLYECHO_SIGNAL_LOG)
        code = plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "signal is log; average before taking the logarithm");
    else if (average->taken > 0)
        code = check_like_first(average, trace, err);
    if (code == PLYECHO_OK && average->taken > 0 && !average->keep_clipped)
        code = check_clipping(average, trace, err);
    if (code == PLYECHO_OK)
        code = take(average, trace, err);
    if (code == PLYECHO_UNSUITABLE)
        average->left_out++;
    return code;
}

static enum plyecho_code label_result(const struct plyecho_average *average,
                                      struct plyecho_traces *mean, struct plyecho_error *err)
{
    struct plyecho_labels *labels = &mean->labels;
    enum plyecho_code code =
        plyecho_labels_set_number(labels, "averaged", 0, (double)average->taken, err);
    if (code == PLYECHO_OK)
        code = plyecho_labels_set_number(labels, "left_out", 0, (double)average->left_out, err);
    if (code != PLYECHO_OK || average->clipped == 0)
        return code;
    char words[100];
    double rate = mean->sample_rate_hz;
    snprintf(words, sizeof words, "%zu of %zu traces, %.4f us to %.4f us", average->clipped,
             average->taken, (mean->start_s + (double)average->clipped_from / rate) * 1e6,
             (mean->start_s + (double)average->clipped_to / rate) * 1e6);
    return plyecho_labels_set(labels, "clipped", 0, words, err);
}

enum plyecho_code plyecho_average_result(const struct plyecho_average *average,
                                         struct plyecho_traces *mean, struct plyecho_error *err)
{
    *mean = (struct plyecho_traces){0};
    if (average->taken == 0)
        return plyecho_fail(err, PLYECHO_UNSUITABLE, "no trace to average was left");
    struct plyecho_traces made;
    enum plyecho_code code = plyecho_traces_like(&made, &average->common, err);
    if (code != PLYECHO_OK)
        return code;
    for (size_t i = 0; i < made.samples; i++)
        made.amplitude[i] = (float)(average->sum[i] / (double)average->taken);
    code = label_result(average, &made, err);
    if (code != PLYECHO_OK) {
        plyecho_traces_clear(&made);
        return code;
    }
    *mean = made;
    return PLYECHO_OK;
}
