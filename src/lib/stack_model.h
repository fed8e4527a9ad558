/* stack_model.h - reflection of a wall of a few layers along spectral lines, and how it changes with
 * each number of the stack
 *
 * From outside in: an optional coat, the wall down to a place inside, an optional film there, the
 * rest of the wall, air. Over the share `cover` of the beam the wall may end in air at that place
 * instead. The layers' reflections follow the recursion of laminate.h, in transit times and
 * reflection coefficients instead of thicknesses and impedances, which a trace does not tell:
 *   G_k = (r_k + x_k) / (1 + r_k x_k),  x_k = E_k G_(k+1),
 *   E_k = exp(-s_k f - j 2 pi f t_k + j (2/pi) s_k f ln(f / f0)).
 */
#ifndef PLYECHO_LIB_STACK_MODEL_H
#define PLYECHO_LIB_STACK_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include "passage.h"

/* The numbers of a stack; reflections are those met from outside, times there and back. */
enum pe_number {
    PE_AMPLITUDE,  /* logarithm of the pulse's amplitude over the known one */
    PE_START,      /* when the echo of the outer face begins, s, against the gate's origin */
    PE_JITTER,     /* logarithm of the outer face's own echo over what its reflection gives */
    PE_FRONT,      /* reflection of the outer face */
    PE_SLOPE,      /* loss a second of transit, Np/Hz/s */
    PE_TRANSIT,    /* of the whole wall without its coat, s */
    PE_DEPTH,      /* transit from the wall's front to the place inside, s */
    PE_STEP_THERE, /* reflection there from what lies above to what lies below */
    PE_FILM_THERE, /* reflection into a film there, times -1: films are softer */
    PE_FILM_TIME,  /* transit of the film, s */
    PE_COVER,      /* share of the beam that a gap there takes, 0 to 1 */
    PE_COAT_TIME,  /* transit of the coat, s */
    PE_COAT_STEP,  /* reflection from the coat into the wall */
    PE_STACK_NUMBERS
};

struct pe_stack {
    double number[PE_STACK_NUMBERS]; /* PE_AMPLITUDE and PE_START are not looked at */
    bool coat, place, film, gap;     /* what there is; film and gap are at the place */
};

enum { PE_STACK_LAYERS = 4 };

/* A walk along spectral lines, in blocks of PE_LANES. */
struct pe_stack_walk {
    int blocks;
    const struct pe_line *line;       /* evenly spaced */
    const struct pe_phasors *carrier; /* what the reflection is to be multiplied with */
    struct pe_phasors *model;         /* receives carrier x reflection */
    struct pe_phasors
        *by[PE_STACK_NUMBERS]; /* receives its derivative by that number, 0 where it has
                                                none; NULL: not wanted */
};

void pe_stack_model(const struct pe_stack *stack, const struct pe_stack_walk *walk);

#endif
