/* layup.h - parts in words: layers, plies, coats and gaps from the command line to a stack
 *
 * A layer is NAME:MM, a medium by name and its thickness, or numbers, or the first with some of
 * its numbers replaced: "carbon:3.2", "z=4.65,v=2950,a=0.1,d=3.2", "carbon:3.2,plies=16,film=0.005".
 */
#ifndef PLYECHO_CMD_LAYUP_H
#define PLYECHO_CMD_LAYUP_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/laminate.h>
#include <plyecho/plies.h>

#include "options.h"

/* What a part is made of. */
struct layup_values {
    struct option_texts layers; /* from the probe's side on */
    struct option_texts coats;  /* in front of the wall, not counted as wall */
    struct option_count gap_after;
    struct option_number gap_depth_mm;
    struct option_number cover;
    struct option_text gap_fill;
    struct option_text behind;
    bool uncoupled;
};

extern const struct option layup_part_options[]; /* layers, coats and what is behind */
extern const struct option layup_options[];      /* and the gap */

/* The layers that the words ask for, and the gap between them. */
struct layup {
    struct plyecho_plies *items; /* coats, then the wall's layers */
    size_t count;
    size_t coats;
    struct plyecho_gap gap; /* `after` is not filled in */
    bool has_gap;
    double gap_depth_m; /* from the wall's front */
    double behind_rayl;
    bool uncoupled;
};

/* A stack ready for simulation; its layers belong to it. */
struct layup_stack {
    struct plyecho_layer *layers;
    struct plyecho_stack stack;
    size_t wall;       /* index of the wall's first layer */
    size_t first_part; /* layers that the wall's first --layer became */
};

/* Read one layer; without needs_thickness, a medium alone will do. */
enum plyecho_code layup_read_layer(const char *text, bool needs_thickness,
                                   struct plyecho_plies *layer, struct plyecho_error *err);

/* Read all of it. No layer at all is fine where the probe is uncoupled. */
enum plyecho_code layup_read(const struct layup_values *values, struct layup *layup,
                             struct plyecho_error *err);

/* Lay the plies with this seed, between a medium in front and what is behind, and put the gap
 * where it belongs. The velocities are those at reference_hz. */
enum plyecho_code layup_build(const struct layup *layup, unsigned long seed, double front_rayl,
                              double reference_hz, struct layup_stack *stack,
                              struct plyecho_error *err);

/* What an uncoupled probe sees of any stack: the medium in front ends in air. */
struct plyecho_stack layup_in_air(const struct plyecho_stack *stack);

void layup_stack_clear(struct layup_stack *stack);

void layup_clear(struct layup *layup);

/* Thickness of the wall, coats not counted. */
double layup_thickness_m(const struct layup *layup);

#endif
