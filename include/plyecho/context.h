/* context.h - what only neighbours can tell: a second verdict beside the raw one
 *
 * Of one trace a thin wall and a full shadow can look the same; round a tube they do not. The raw verdict is never
 * changed: the second stands beside it, with why.
 */
#ifndef PLYECHO_CONTEXT_H
#define PLYECHO_CONTEXT_H

#include <plyecho/grid.h>
#include <plyecho/place_reading.h>

/* What sound places of the part say, as far as there are enough of them. */
struct plyecho_sound_places {
    size_t count;
    struct plyecho_known
        level; /* strength that hardly any of their own echoes inside reaches */
    struct plyecho_known balance_db; /* median of their back walls */
    struct plyecho_known wall_m;     /* median of their walls */
};

/* What is known of the part and the probe. */
struct plyecho_context_options {
    struct plyecho_known least_m; /* acceptance: least wall */
    struct plyecho_known beam_m;  /* -6 dB width */
};

/* readings: grid->count of them, in the order of the grid's places; their second verdicts are filled. */
PLYECHO_API enum plyecho_code plyecho_context_judge(
    const struct plyecho_grid *grid, struct plyecho_place_reading *readings,
    const struct plyecho_context_options *options, struct plyecho_sound_places *sound,
    struct plyecho_error *err);

#endif
