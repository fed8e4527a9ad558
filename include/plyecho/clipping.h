/* clipping.h - where the recorder, or an amplifier before it, ran out of range
 */
#ifndef PLYECHO_CLIPPING_H
#define PLYECHO_CLIPPING_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/trace.h>

struct plyecho_clipping {
    size_t samples; /* how many samples are clipped; 0: none */
    size_t first;   /* the first and the last of them, from 0 */
    size_t last;
};

/* Look for clipped samples between the samples from and to (0 <= from < to <= trace->samples).
 * Clipped are
 *   - samples at the full scale, less one and a half counts of the converter where both are
 * known: two neighbours, or three in all (a single one may be the crest that just fits);
 *   - three or more equal neighbours at the highest or lowest value of the stretch, if the
 * trace drops beside them by more counts than a crest does that the converter rounds flat: then
 * an amplifier limits below the converter's full scale. Where the trace does not know its
 * count, the smallest step between neighbours stands for it. Filtering hides clipping: look
 * before. Returns whether there is any. */
PLYECHO_API bool plyecho_clipping_find(const struct plyecho_trace *trace, size_t from,
                                       size_t to, struct plyecho_clipping *clipping);

#endif
