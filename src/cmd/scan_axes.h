/* scan_axes.h - the two coordinates of a place as labels, columns and fields name them
 *
 * A tube has angle_deg and axial_mm, a plate x_mm and y_mm. A place in words is plyecho_place_words.
 */
#ifndef PLYECHO_CMD_SCAN_AXES_H
#define PLYECHO_CMD_SCAN_AXES_H

#include <stdbool.h>

#include <plyecho/place_reading.h>

struct scan_axis {
    const char *name; /* with its unit */
    double unit; /* that unit in those of struct plyecho_place: 1 for a degree, 1e-3 for a mm */
};

struct scan_axes {
    struct scan_axis across, along;
};

const struct scan_axes *scan_axes_of(bool tube);

/* A coordinate in the unit of its name, to what places are told apart by: a millionth of a degree, a nanometre. */
double scan_axis_number(const struct scan_axis *axis, double coordinate);

#endif
