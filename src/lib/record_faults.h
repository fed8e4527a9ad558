/* record_faults.h - what recorders do to a record, as seen in its raw samples
 */
#ifndef PLYECHO_LIB_RECORD_FAULTS_H
#define PLYECHO_LIB_RECORD_FAULTS_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include <plyecho/trace.h>

/* One count of the converter; where the trace does not know it, the smallest step between neighbours
 * of [from, to), which an unquantised record makes harmlessly small. INFINITY where all are equal. */
double pe_count_size(const struct plyecho_trace *trace, size_t from, size_t to);

/* Does a trace that says it is RF lie on one side of its base line, as if rectified or an envelope? */
bool pe_one_sided(const struct plyecho_trace *trace);

/* A run of equal neighbours in [from, to) that chance gives once in a thousand records, from how
 * often neighbours are equal in the whole one: a block that was lost and filled. Never where noise is
 * less than about a count. */
bool pe_held_samples(const struct plyecho_trace *trace, size_t from, size_t to);

struct pe_level_change {
    double height; /* mean after less mean before */
    size_t
        sample; /* to within a sixteenth of a microsecond's samples, or a 256th of the record */
};

/* The largest lasting change of the base line in [from, to): the means of six stretches before and
 * after differ, and so do those of the three nearest and the three farthest. */
void pe_level_change_find(const struct plyecho_trace *trace, size_t from, size_t to,
                          struct pe_level_change *change);

/* Amplitude of a frequency, and its phase at one sample, within `reach` samples of it, under a
 * raised-cosine window, the mean under it taken off; noise_share: what white noise of standard deviation 1 gives
 * there (rms). */
double complex pe_line_at(const struct plyecho_trace *trace, size_t sample, size_t reach,
                          double hz, double *noise_share);

#endif
