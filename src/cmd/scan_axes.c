#include <config.h>

#include "scan_axes.h"

#include <math.h>

static const struct scan_axes of_tube = {{"angle_deg", 1.0}, {"axial_mm", 1e-3}};
static const struct scan_axes of_plate = {{"x_mm", 1e-3}, {"y_mm", 1e-3}};

const struct scan_axes *scan_axes_of(bool tube)
{
    return tube ? &of_tube : &of_plate;
}

double scan_axis_number(const struct scan_axis *axis, double coordinate)
{
    return round(coordinate / axis->unit * 1e6) / 1e6;
}
