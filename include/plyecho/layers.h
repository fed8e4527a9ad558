/* layers.h - what is expected in a wall: its layers from outside in, as the user declares them
 *
 * One line a layer, `NAME = ITEM, ITEM...`; the order of the lines is the order in the wall. An
 * item is a number and its unit, and the unit says what it is:
 *   2.0 mm             thickness; the only item that must be there
 *   u 0.05 mm          its standard uncertainty
 *   2942 m/s           phase velocity at the pulse's centre frequency
 *   u 10 m/s           its standard uncertainty; 0 is exact
 *   4.65 MRayl         acoustic impedance
 *   0.1 dB/mm/MHz      attenuation, one way
 *   350 to 20 deg      where round the part the layer is; through 0 where the first is larger
 *   0 to 120 mm        where along the part it is
 *   coat               filler or paint, outside of the wall proper: no part of its thickness
 * docs/procedure.md tells it to users.
 */
#ifndef PLYECHO_LAYERS_H
#define PLYECHO_LAYERS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

enum { PLYECHO_LAYERS_MOST = 12, PLYECHO_LAYER_NAME_ROOM = 49 };

/* From where to where, both included; not set: everywhere. */
struct plyecho_extent {
    bool set;
    double from, to;
};

struct plyecho_declared_layer {
    char name[PLYECHO_LAYER_NAME_ROOM]; /* UTF-8 */
    bool coat;
    double thickness_m; /* above 0 */
    struct plyecho_known thickness_u_m;
    struct plyecho_known velocity_m_s;
    struct plyecho_known velocity_u_m_s;
    struct plyecho_known impedance_rayl;
    struct plyecho_known attenuation_np_m_hz;
    struct plyecho_extent round_deg; /* 0 to 360 */
    struct plyecho_extent along_m;
    bool shares_velocity; /* it took the wall's by plyecho_layers_complete */
    long line;            /* of the file, 0 where it is not from one */
};

/* Count 0: nothing is declared. */
struct plyecho_layers {
    struct plyecho_declared_layer items[PLYECHO_LAYERS_MOST]; /* from outside in */
    size_t count;
};

/* Standard uncertainty of a thickness declared without one: the tolerance that a nominal wall
 * without one has, as half the width of a rectangular distribution (JCGM 100, 4.3.7). */
#define PLYECHO_LAYER_THICKNESS_U_SHARE (0.1 / 1.7320508075688772)

/* Add the next layer further in. name and text need no closing NUL; line is only for err.
 * PLYECHO_BAD_NUMBER for what is no number with a unit, PLYECHO_BAD_ARGUMENT for a value out of
 * its range, PLYECHO_TOO_LARGE for one layer too many, PLYECHO_BAD_FILE for everything else;
 * *layers is then as it was. */
PLYECHO_API enum plyecho_code plyecho_layers_add(struct plyecho_layers *layers,
                                                 const char *name, size_t name_size,
                                                 const char *text, size_t text_size, long line,
                                                 struct plyecho_error *err);

/* The same on one line, `;` between the layers: "carbon = 2 mm; glass = 1.2 mm, 2900 m/s".
 * *layers is overwritten, and left empty on failure. */
PLYECHO_API enum plyecho_code plyecho_layers_read(struct plyecho_layers *layers,
                                                  const char *text, struct plyecho_error *err);

/* What the wall's own settings give to a layer that does not say: velocity with its
 * uncertainty, attenuation, and a thickness' uncertainty by PLYECHO_LAYER_THICKNESS_U_SHARE. A
 * layer that is left without a velocity, or whose uncertainty is not below it, is
 * PLYECHO_BAD_ARGUMENT with the layer's line. */
PLYECHO_API enum plyecho_code plyecho_layers_complete(struct plyecho_layers *layers,
                                                      struct plyecho_known velocity_m_s,
                                                      struct plyecho_known velocity_u_m_s,
                                                      struct plyecho_known attenuation_np_m_hz,
                                                      struct plyecho_error *err);

/* The layers that are expected at a place. Where a coordinate is not known, a layer counts as
 * expected whatever its extent along it. */
PLYECHO_API void plyecho_layers_at(const struct plyecho_layers *layers,
                                   struct plyecho_known angle_deg, struct plyecho_known axial_m,
                                   struct plyecho_layers *here);

/* How many coats there are: index of the wall's first layer. */
PLYECHO_API size_t plyecho_layers_coats(const struct plyecho_layers *layers);

/* The wall proper, coats left out: sum of the thicknesses as declared. */
PLYECHO_API double plyecho_layers_wall_m(const struct plyecho_layers *layers);

/* The velocity with which sound crosses `count` layers together, thickness over transit time,
 * and what the declared thicknesses and velocities leave open of it (JCGM 100, 5.1.2): the share
 * of velocities that a layer has of its own, and that of the wall's, in which all layers that
 * took it are wrong together. The uncertainties hold where u_known. Layers are complete, count at
 * least 1. */
struct plyecho_mixed_velocity {
    double velocity_m_s;
    bool u_known;
    double own_u_m_s, shared_u_m_s;
};
PLYECHO_API struct plyecho_mixed_velocity plyecho_layers_velocity(
    const struct plyecho_declared_layer *layers, size_t count);

#endif
