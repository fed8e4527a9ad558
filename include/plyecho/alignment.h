/* alignment.h - do two scans of one part lie on each other by their zero mark?
 *
 * No two walls are alike: laid up by hand, they vary round the part by more than a reading's repeatability. So the
 * walls of both scans are correlated as they lie, and turned by each column, pushed by up to two rows, and on a
 * tube with the angles counted the other way. Each row's mean is taken off (a taper fits at any angle), and single
 * walls far off are drawn in to three deviations, so that what changed in between decides nothing.
 *
 * Is another position better? Williams' test of two correlations that share a variable (Steiger, Psychological Bulletin
 * 1980; 87: 245-251, equation 7, from memory), at 5 % over all positions tried (Bonferroni). What lies more than three deviations off at the
 * best position has changed and is left out; the number of walls is lessened for what neighbours' residues share.
 */
#ifndef PLYECHO_ALIGNMENT_H
#define PLYECHO_ALIGNMENT_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/change.h>
#include <plyecho/error.h>

enum plyecho_alignment_state {
    PLYECHO_ALIGNED,               /* the walls fit, and nowhere significantly better */
    PLYECHO_MISALIGNED,            /* they fit significantly better elsewhere */
    PLYECHO_ALIGNMENT_UNLIKE,      /* each has a shape, but they fit nowhere: another part? */
    PLYECHO_ALIGNMENT_FEATURELESS, /* nowhere do they fit better than chance: cannot be checked */
    PLYECHO_ALIGNMENT_FEW /* fewer than PLYECHO_ALIGNMENT_LEAST walls in common: cannot be checked */
};

enum { PLYECHO_ALIGNMENT_LEAST = 12 };

/* The word for tables; never NULL. */
PLYECHO_API const char *plyecho_alignment_word(enum plyecho_alignment_state state);

/* What lies at (across, along) in `after` lies at across_of_before = across + shift (mirrored: shift - across),
 * along + along_m in `before`. */
struct plyecho_shift {
    bool mirrored;
    double across; /* degrees, above -180 to 180; m on a plate */
    double along_m;
    size_t places; /* walls compared there */
    double correlation;
};

struct plyecho_alignment {
    enum plyecho_alignment_state state;
    size_t tried;
    struct plyecho_shift zero;
    struct plyecho_shift best; /* of all, zero among them */
    /* Another position, more than one place away or mirrored, that fits no worse than chance has it: then the walls
     * cannot tell the two apart. The best of them. */
    bool ambiguous;
    struct plyecho_shift rival;
};

/* PLYECHO_NO_MEMORY. */
PLYECHO_API enum plyecho_code plyecho_alignment_check(const struct plyecho_scanned *before,
                                                      const struct plyecho_scanned *after,
                                                      struct plyecho_alignment *alignment,
                                                      struct plyecho_error *err);

#endif
