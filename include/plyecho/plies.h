/* plies.h - a laminate as it is laid: plies parted by thin films of resin
 */
#ifndef PLYECHO_PLIES_H
#define PLYECHO_PLIES_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/laminate.h>

struct plyecho_plies {
    struct plyecho_layer
        wall;     /* the plies' material; thickness_m of the whole, films included */
    size_t count; /* plies, at least 1 */
    struct plyecho_layer film; /* between two plies; thickness_m of one film, 0: none */
    double ply_scatter;  /* standard deviation of a ply's thickness over its mean, 0 to 0.5 */
    double film_scatter; /* the same of a film, 0 to 1 */
};

/* Number of layers that `count` plies and their films make. */
PLYECHO_API size_t plyecho_plies_layers(size_t count);

/* Lay them: layers receives plyecho_plies_layers(count) layers whose thicknesses add up to the
 * wall's. Scatter is normal, cut off at a tenth of the mean, and is the same for the same seed.
 * Films that leave no room for plies are PLYECHO_BAD_ARGUMENT. */
PLYECHO_API enum plyecho_code plyecho_plies_lay(const struct plyecho_plies *plies,
                                                unsigned long seed,
                                                struct plyecho_layer *layers,
                                                struct plyecho_error *err);

#endif
