/* layer_reading.h - what a trace shows of the layers that were declared in a wall
 *
 * Where the interface echo between two declared layers is seen, each is measured with its own
 * velocity. Layers between which none is seen are measured together; a layer thinner than the
 * pulse gives one echo for both of its faces and is not measured at all. Coats are not measured: the
 * interface echo is taken to come from where they end, as it does where the delay line is about as
 * hard as they are.
 */
#ifndef PLYECHO_LAYER_READING_H
#define PLYECHO_LAYER_READING_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/known.h>
#include <plyecho/layers.h>

/* What was found where one layer ends and the next begins. */
enum plyecho_boundary_state {
    PLYECHO_BOUNDARY_HIDDEN,    /* outside the range inspected */
    PLYECHO_BOUNDARY_FAINT,     /* no echo; by the impedances none was due */
    PLYECHO_BOUNDARY_QUIET,     /* no echo; whether one was due is not known */
    PLYECHO_BOUNDARY_MISSING,   /* no echo, though the impedances say that there is one */
    PLYECHO_BOUNDARY_DECLARED,  /* an echo as declared: place, strength and sign */
    PLYECHO_BOUNDARY_OTHER,     /* an echo there, but not of that strength or sign */
    PLYECHO_BOUNDARY_DISBONDED, /* the verdict's delamination lies there */
    PLYECHO_BOUNDARY_LONE       /* the lone echo lies there: a disbond, or no layer below */
};

struct plyecho_boundary {
    size_t above, below; /* layers; those between them are thinner than the pulse tells */
    enum plyecho_boundary_state state;
    double declared_m;               /* its depth by the declared thicknesses */
    struct plyecho_known expected;   /* strength that the impedances say, above 0 */
    double strength;                 /* of the echo seen there, above 0; else 0 */
    struct plyecho_known reportable; /* strength from which an echo there would be seen */
};

/* Layers `first` to `last`, both included, measured as one. */
struct plyecho_layer_group {
    size_t first, last;
    double from_s, to_s; /* delays of its faces behind the wall's front; to_s 0: not seen */
    double velocity_m_s; /* of its layers together, by the declared thicknesses */
    bool measured;       /* both of its faces were seen */
    double thickness_m;  /* measured, or as declared */
    struct plyecho_known thickness_u; /* combined standard uncertainty (JCGM 100, 5.1.2) */
};

struct plyecho_layer_reading {
    size_t
        count; /* declared layers of the wall at this place; 0: none, and nothing below holds */
    char names[PLYECHO_LAYERS_MOST][PLYECHO_LAYER_NAME_ROOM];
    double declared_m[PLYECHO_LAYERS_MOST];
    struct plyecho_known
        coat_m;            /* thickness of the coats as declared, known where there are any */
    double coat_as_wall_m; /* what they would add to the wall, were they counted in */
    size_t groups;         /* every layer is in one, from outside in */
    struct plyecho_layer_group group[PLYECHO_LAYERS_MOST];
    size_t boundaries;
    struct plyecho_boundary boundary[PLYECHO_LAYERS_MOST];
    struct plyecho_known wall_m; /* sum of the groups, where the back wall was seen */
    struct plyecho_known wall_u;
    bool undeclared; /* an echo inside that no declared interface explains */
    bool
        besides; /* an inner echo is flagged for such a one alone: what is declared is seen so */
};

#endif
