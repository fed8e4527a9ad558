/* context_inside.h - what the rules of context.h share
 */
#ifndef PLYECHO_LIB_CONTEXT_INSIDE_H
#define PLYECHO_LIB_CONTEXT_INSIDE_H

#include <plyecho/context.h>

#include "profile_range.h"

/* What is usual of whole traces over one wall: over another its back stands where this one has its inside. */
struct pe_usual_traces {
    struct plyecho_known wall_m; /* median of those that it is learnt from */
    double
        coat_m; /* the same of their coats, where most have one: so much deeper stands in a trace what is told */
    struct pe_profile_range range;
};

struct pe_neighbourhood {
    const struct plyecho_grid *grid;
    struct plyecho_place_reading *readings; /* grid->count */
    struct plyecho_context_options options;
    struct plyecho_sound_places sound;
    /* medians of the echoes inside that are declared: how strong they are, and the back walls behind */
    struct plyecho_known declared_strength, declared_balance_db;
    struct pe_usual_traces sound_traces, declared_traces; /* whole traces there */
    struct pe_profile_range declared_off; /* of pe_off_neighbours, where as declared */
};

/* Walls are of one thickness within this; an interface's echo comes from either face of its glue, so that the depths
 * told differ by that line's thickness; an echo so much stronger (3 dB) than such an interface is not only that: our
 * choice. */
static const double pe_same_wall_m = 0.15e-3, pe_same_interface_m = 0.25e-3, pe_stronger = 1.41;

/* The level learnt from sound places is not taken further above the raw one than this: our choice. */
static const double pe_highest_level = 1.5;

/* Passed by itself, and by the walls around; an echo inside that is as declared. */
bool pe_is_sound(const struct plyecho_place_reading *reading);
bool pe_is_declared(const struct plyecho_place_reading *reading);

/* Two echoes are at one depth within this, or three standard uncertainties of both; a back wall so much weaker than others is
 * seen to be weaker: our choice. */
static const double pe_same_depth_m = 0.15e-3, pe_weaker_db = 2.0;

/* The share of a place's neighbours that have to agree, and how many at least: our choice. */
static const double pe_agree = 0.6;
enum { PE_LEAST_AGREE = 3 };

/* Was the record such that its echoes can be compared with those of the neighbours? */
bool pe_record_holds(const struct plyecho_place_reading *reading);

/* A delamination over the whole beam, at that depth; no wall is seen behind it. */
void pe_set_shadow(struct plyecho_place_reading *reading, double depth_m);

/* The wall, or the lone echo that stands for it. */
struct plyecho_known pe_end_of_wall(const struct plyecho_place_reading *reading);

/* Does its wall end where theirs does, to pe_same_wall_m? False where either is not known. */
bool pe_is_of_wall(const struct pe_usual_traces *usual,
                   const struct plyecho_place_reading *reading);

/* Its trace less the mean of its neighbours' that show an interface: what changes slowly from place to place, as a glue line
 * does, is taken out. No steps where fewer than PE_LEAST_AGREE do. */
struct plyecho_profile pe_off_neighbours(const struct pe_neighbourhood *n, size_t place);

/* Does an echo stand in the trace where one is told, half as high at the least? True where no profile is known. */
bool pe_has_told_echo(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r);

/* How far its back wall lies below that of sound places of its kind, in dB; 0 where nothing tells. */
double pe_lost_db(const struct pe_neighbourhood *n, const struct plyecho_place_reading *r);

/* A delamination next to the place, of several the strongest; with `depth_m` only one at that depth, to `within_m` at
 * least. NULL: none. */
const struct plyecho_place_reading *pe_delamination_beside(const struct pe_neighbourhood *n,
                                                           size_t place,
                                                           const struct plyecho_known *depth_m,
                                                           double within_m);

/* An interface shows at one depth at the neighbours as well; the laminate's own echoes scatter. */
bool pe_runs_on(const struct pe_neighbourhood *n, size_t place);

/* An interface inside, and a wall behind it. */
bool pe_shows_interface(const struct plyecho_place_reading *reading);

/* The wall without a layer: it ends at the layer's interface, and well short of the wall with it. */
bool pe_ends_at(const struct plyecho_place_reading *reading, double depth_m,
                double with_layer_m);

/* Median strength of its neighbours' interface at its depth; known where most that are not delaminated show one. */
struct plyecho_known pe_interface_around(const struct pe_neighbourhood *n, size_t place);

/* Places whose wall is short of the wall around: shadow, thin wall, or either (context_walls.c). */
enum plyecho_code pe_context_walls(struct pe_neighbourhood *n, struct plyecho_error *err);

/* Holes in a bonded layer, which read as the wall without it (context_holes.c). */
enum plyecho_code pe_context_holes(struct pe_neighbourhood *n, struct plyecho_error *err);

/* Coats that only one trace sees (context_coats.c); before all else, since they change walls. */
void pe_context_coats(struct pe_neighbourhood *n);

/* What their whole traces say against those of sound places, where their fits tell other than those (context_traces.c). */
enum plyecho_code pe_context_traces(struct pe_neighbourhood *n, struct plyecho_error *err);

/* A bonded layer that the neighbours show, or that ends next to a place (context_layers.c). */
void pe_context_layers(struct pe_neighbourhood *n);

/* What sound places say, for the rules that come behind (context_sound.c). */
enum plyecho_code pe_context_sound(struct pe_neighbourhood *n, struct plyecho_error *err);

/* What sound places' levels say of the others (context_levels.c). */
void pe_context_levels(struct pe_neighbourhood *n);

#endif
