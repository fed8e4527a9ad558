#include "csv_signal.h"

#include "extremes.h"

static const float LOBE = 0.25F; /* of the peak: what a lobe stands out from */
static const float REST = 0.15F; /* of the peak: below this a trace rests */

/* Samples from the end of the lobe at `from` to the next one in that direction; 0: none. */
static size_t gap_beside(const struct plyecho_trace *trace, float level, size_t from,
                         int direction)
{
    size_t gap = 0;
    for (size_t i = from; i > 0 && i + 1 < trace->samples;) {
        i = direction > 0 ? i + 1 : i - 1;
        if (trace->amplitude[i] >= level)
            return gap;
        gap++;
    }
    return 0;
}

/* Lobes of a rectified oscillation stand closer together than they are wide. */
static bool has_close_lobes(const struct plyecho_trace *trace, size_t peak)
{
    float level = LOBE * trace->amplitude[peak];
    size_t first = peak, last = peak;
    while (first > 0 && trace->amplitude[first - 1] >= level)
        first--;
    while (last + 1 < trace->samples && trace->amplitude[last + 1] >= level)
        last++;
    size_t width = last - first + 1;
    size_t before = gap_beside(trace, level, first, -1),
           after = gap_beside(trace, level, last, 1);
    return (before > 0 && before <= width) || (after > 0 && after <= width);
}

enum plyecho_signal pe_csv_signal_of(const struct plyecho_traces *traces)
{
    const size_t count = traces->channels * traces->samples;
    const float *x = traces->amplitude;
    struct pe_extremes extremes = pe_extremes_of(x, count);
    float least = extremes.least, most = extremes.most;
    if (least < 0.0F || most <= 0.0F || least > REST * most)
        return PLYECHO_SIGNAL_RF;
    size_t peak = 0, resting = 0;
    for (size_t i = 0; i < count; i++) {
        resting += x[i] <= REST * most;
        if (x[i] > x[peak])
            peak = i;
    }
    if (2 * resting < count)
        return PLYECHO_SIGNAL_RF;
    struct plyecho_trace trace = plyecho_traces_channel(traces, peak / traces->samples + 1);
    return has_close_lobes(&trace, peak % traces->samples) ? PLYECHO_SIGNAL_RECTIFIED
                                                           : PLYECHO_SIGNAL_ENVELOPE;
}
