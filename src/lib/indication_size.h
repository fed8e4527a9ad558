/* indication_size.h - the extent of one indication by the 6 dB drop
 */
#ifndef PLYECHO_LIB_INDICATION_SIZE_H
#define PLYECHO_LIB_INDICATION_SIZE_H

#include <plyecho/indications.h>

#include "indication_groups.h"

/* What one indication is sized from. */
struct pe_sized {
    const struct plyecho_grid *grid;
    const struct plyecho_place_reading *readings;
    const struct pe_groups *groups;
    size_t group; /* from 1 */
    struct plyecho_known beam_m;
};

/* One extent of a place, both ends, as it is or as part of a larger one. */
struct pe_extent {
    double from, to;     /* degrees or m across, m along */
    double from_u, to_u; /* standard uncertainty of either end */
};

/* Fill extents, arc, area and their uncertainties; `worst` and the kind stand. `half` ([places]) and `extents`
 * ([members of the group]) are scratch. */
void pe_indication_size(const struct pe_sized *sized, double *half, struct pe_extent *extents,
                        struct plyecho_indication *indication);

#endif
