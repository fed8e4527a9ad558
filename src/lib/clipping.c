#include <plyecho/clipping.h>

#include <math.h>

#include "extremes.h"
#include "record_faults.h"
#include "variance.h"

/* Share of the larger excursion that the smaller must have to count: a quiet base line at an
 * extreme value is no crest. */
static const double least_excursion = 0.3;

enum { FLAT_RUN = 3, FULL_SCALE_RUN = 2, FULL_SCALE_SAMPLES = 3 };

static void count(struct plyecho_clipping *clipping, size_t from, size_t to)
{
    if (clipping->samples == 0 || from < clipping->first)
        clipping->first = from;
    if (clipping->samples == 0 || to - 1 > clipping->last)
        clipping->last = to - 1;
    clipping->samples += to - from;
}

static void find_at_full_scale(const struct plyecho_trace *trace, size_t from, size_t to,
                               struct plyecho_clipping *clipping)
{
    double limit = trace->full_scale - 1.5 * trace->step;
    limit -= 1e-6 * trace->full_scale; /* the scale may have been written with seven digits */
    if (!(trace->full_scale > 0.0 && limit > 0.0))
        return;
    struct plyecho_clipping found = {0};
    size_t longest = 0, run = 0;
    for (size_t i = from; i < to; i++) {
        if (fabs((double)trace->amplitude[i]) < limit) {
            run = 0;
            continue;
        }
        count(&found, i, i + 1);
        if (++run > longest)
            longest = run;
    }
    if (longest >= FULL_SCALE_RUN || found.samples >= FULL_SCALE_SAMPLES)
        *clipping = found;
}

/* Most counts by which a crest that a converter rounds flat over `run` samples drops beside
 * them: a parabola that stays within one count over the run, and one count of rounding. */
static double natural_drop(size_t run)
{
    double ratio = ((double)run + 1.0) / ((double)run - 1.0);
    return ratio * ratio + 1.0;
}

/* Flat runs at one extreme value of the stretch. */
static void find_flat(const struct plyecho_trace *trace, size_t from, size_t to, float extreme,
                      double one_count, struct plyecho_clipping *clipping)
{
    const float *x = trace->amplitude;
    for (size_t i = from; i < to;) {
        if (x[i] != extreme) {
            i++;
            continue;
        }
        size_t end = i;
        while (end < to && x[end] == extreme)
            end++;
        size_t run = end - i;
        double drop = run >= FLAT_RUN ? one_count * natural_drop(run) : INFINITY;
        if ((i > from && fabs((double)x[i - 1] - extreme) > drop) ||
            (end < to && fabs((double)x[end] - extreme) > drop))
            count(clipping, i, end);
        i = end;
    }
}

bool plyecho_clipping_find(const struct plyecho_trace *trace, size_t from, size_t to,
                           struct plyecho_clipping *clipping)
{
    *clipping = (struct plyecho_clipping){0};
    struct pe_extremes extremes = pe_extremes_of(trace->amplitude + from, to - from);
    float least = extremes.least, most = extremes.most;
    if (least == most)
        return false;
    find_at_full_scale(trace, from, to, clipping);
    if (clipping->samples > 0)
        return true;
    double mean = pe_sum(trace->amplitude + from, to - from) / (double)(to - from);
    double one_count = pe_count_size(trace, from, to);
    double up = most - mean, down = mean - least;
    if (up >= least_excursion * down)
        find_flat(trace, from, to, most, one_count, clipping);
    if (down >= least_excursion * up)
        find_flat(trace, from, to, least, one_count, clipping);
    return clipping->samples > 0;
}
