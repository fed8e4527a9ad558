/* plot_trace.h - what the picture of one A-scan shows: from a trace to a struct plot_picture
 */
#ifndef PLYECHO_CMD_PLOT_TRACE_H
#define PLYECHO_CMD_PLOT_TRACE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/place_reading.h>
#include <plyecho/trace.h>

#include "plot_script.h"
#include "setup.h"

struct plot_trace_options {
    struct setup *setup; /* how echoes are picked and, with a velocity, judged */
    bool filtered;       /* show the trace within the band, not as recorded */
    bool envelope;
    double
        least_level_db; /* to the largest echo of the wall: what is lower is not marked, but for
                              the wall's own echoes and the one that the verdict speaks of */
    /* The trace's place, judged with its neighbours, of which both verdicts are told where they
     * differ; NULL: the trace stands alone. It may change from run to run. */
    const struct plyecho_place_reading *place;
    bool has_from, has_to; /* what is shown; else where the echoes are */
    double from_s, to_s;
};

struct plot_trace;

/* Buffers that are used again from trace to trace. options must outlive it. Never NULL. */
struct plot_trace *plot_trace_new(const struct plot_trace_options *options);

/* Analyse the trace and say in *picture what to draw; it holds until the next call. name is the
 * file's ("-": standard input), channels how many that has. A trace without echoes is drawn as it
 * is, and the note says so. Errors: a band
 * beyond Nyquist or for a signal without oscillation, a range without samples. */
enum plyecho_code plot_trace_run(struct plot_trace *plot, const char *name, size_t channels,
                                 const struct plyecho_trace *trace,
                                 struct plot_picture *picture, struct plyecho_error *err);

/* NULL is fine. */
void plot_trace_free(struct plot_trace *plot);

#endif
