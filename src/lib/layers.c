#include <plyecho/layers.h>

#include <math.h>
#include <string.h>

/* Does a layer end up with a velocity, and with an uncertainty below it? */
static enum plyecho_code check_velocity(const struct plyecho_declared_layer *l,
                                        struct plyecho_error *err)
{
    if (!l->velocity_m_s.known)
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, l->line,
                                 "layer %s has no velocity; write one, as 2950 m/s, or give "
                                 "that of the wall, which then counts for it",
                                 l->name);
    if (l->velocity_u_m_s.known && l->velocity_u_m_s.value >= l->velocity_m_s.value)
        return plyecho_fail_line(err, PLYECHO_BAD_ARGUMENT, l->line,
                                 "layer %s: the velocity's uncertainty must be below the "
                                 "velocity",
                                 l->name);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_layers_complete(struct plyecho_layers *layers,
                                          struct plyecho_known velocity_m_s,
                                          struct plyecho_known velocity_u_m_s,
                                          struct plyecho_known attenuation_np_m_hz,
                                          struct plyecho_error *err)
{
    for (size_t k = 0; k < layers->count; k++) {
        struct plyecho_declared_layer *l = &layers->items[k];
        if (!l->velocity_m_s.known) {
            l->shares_velocity = true;
            l->velocity_m_s = velocity_m_s;
            l->velocity_u_m_s = velocity_u_m_s;
        }
        if (!l->attenuation_np_m_hz.known)
            l->attenuation_np_m_hz = attenuation_np_m_hz;
        if (!l->thickness_u_m.known)
            l->thickness_u_m =
                (struct plyecho_known){true, PLYECHO_LAYER_THICKNESS_U_SHARE * l->thickness_m};
        enum plyecho_code code = check_velocity(l, err);
        if (code != PLYECHO_OK)
            return code;
    }
    return PLYECHO_OK;
}

/* Angles repeat every 360 degrees; an extent may go through 0. */
static bool within_angle(const struct plyecho_extent *e, double angle_deg)
{
    double angle = fmod(angle_deg, 360.0);
    if (angle < 0.0)
        angle += 360.0;
    if (e->from < e->to)
        return (angle >= e->from && angle <= e->to) || angle + 360.0 <= e->to;
    return angle >= e->from || angle <= e->to;
}

static bool is_here(const struct plyecho_declared_layer *l, struct plyecho_known angle_deg,
                    struct plyecho_known axial_m)
{
    if (l->round_deg.set && angle_deg.known && !within_angle(&l->round_deg, angle_deg.value))
        return false;
    /* a millimetre in binary is not exact: neither are the ends */
    double slack = 1e-9;
    return !l->along_m.set || !axial_m.known ||
           (axial_m.value >= l->along_m.from - slack && axial_m.value <= l->along_m.to + slack);
}

void plyecho_layers_at(const struct plyecho_layers *layers, struct plyecho_known angle_deg,
                       struct plyecho_known axial_m, struct plyecho_layers *here)
{
    here->count = 0;
    for (size_t k = 0; k < layers->count; k++)
        if (is_here(&layers->items[k], angle_deg, axial_m))
            here->items[here->count++] = layers->items[k];
}

size_t plyecho_layers_coats(const struct plyecho_layers *layers)
{
    size_t coats = 0;
    while (coats < layers->count && layers->items[coats].coat)
        coats++;
    return coats;
}

double plyecho_layers_wall_m(const struct plyecho_layers *layers)
{
    double sum = 0.0;
    for (size_t k = plyecho_layers_coats(layers); k < layers->count; k++)
        sum += layers->items[k].thickness_m;
    return sum;
}

struct plyecho_mixed_velocity plyecho_layers_velocity(
    const struct plyecho_declared_layer *layers, size_t count)
{
    double thickness = 0.0, transit = 0.0, square = 0.0;
    struct plyecho_mixed_velocity mix = {.u_known = true};
    for (size_t k = 0; k < count; k++) {
        thickness += layers[k].thickness_m;
        transit += layers[k].thickness_m / layers[k].velocity_m_s.value;
    }
    mix.velocity_m_s = thickness / transit;
    for (size_t k = 0; k < count; k++) {
        const struct plyecho_declared_layer *l = &layers[k];
        double v = l->velocity_m_s.value;
        /* dV/dv and dV/dd of V = sum d / sum (d / v) */
        double by_velocity = mix.velocity_m_s * l->thickness_m / (v * v) / transit;
        double by_thickness = (1.0 - mix.velocity_m_s / v) / transit * l->thickness_u_m.value;
        mix.u_known &= l->velocity_u_m_s.known;
        by_velocity *= l->velocity_u_m_s.known ? l->velocity_u_m_s.value : 0.0;
        square += by_thickness * by_thickness;
        if (l->shares_velocity)
            mix.shared_u_m_s += by_velocity;
        else
            square += by_velocity * by_velocity;
    }
    mix.own_u_m_s = sqrt(square);
    return mix;
}
