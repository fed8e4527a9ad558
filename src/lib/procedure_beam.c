#include <plyecho/procedure_beam.h>

#include <math.h>

#include <plyecho/beam.h>
#include <plyecho/media.h>

/* Relative -6 dB bandwidths of probes for thickness: common practice, no source. Where the file has none the
 * narrowest of their beams counts: what was not under it was surely not seen. */
static const double usual_bandwidths[] = {0.3, 0.6, 1.0};

static const struct plyecho_known unknown = {false, 0.0};

static struct plyecho_known wall_velocity(const struct plyecho_procedure *p)
{
    const char *name = p->material.material.value;
    const struct plyecho_medium *medium = name != NULL ? plyecho_medium_find(name) : NULL;
    if (p->material.velocity_m_s.set)
        return (struct plyecho_known){true, p->material.velocity_m_s.value};
    return medium != NULL ? (struct plyecho_known){true, medium->velocity_m_s} : unknown;
}

/* What the beam is worked out from, the wall left out. */
struct probe {
    double diameter_m, frequency_hz;
    struct plyecho_known bandwidth;
    double velocity_m_s; /* of the wall */
    double line_m;       /* delay line, counted as a path in the wall */
};

static bool take_probe(const struct plyecho_procedure *p, struct probe *probe)
{
    const char *line = p->equipment.delay_line_material.value;
    const struct plyecho_medium *medium = line != NULL ? plyecho_medium_find(line) : NULL;
    struct plyecho_known velocity = wall_velocity(p);
    if (!p->equipment.probe_frequency_hz.set || !p->equipment.probe_diameter_m.set ||
        !p->equipment.delay_line_m.set || medium == NULL || !velocity.known)
        return false;
    *probe = (struct probe){
        .diameter_m = p->equipment.probe_diameter_m.value,
        .frequency_hz = p->equipment.probe_frequency_hz.value,
        .bandwidth = {p->equipment.probe_bandwidth.set, p->equipment.probe_bandwidth.value},
        .velocity_m_s = velocity.value,
        .line_m = plyecho_equivalent_path_m(p->equipment.delay_line_m.value,
                                            medium->velocity_m_s, velocity.value)};
    return true;
}

static double width_at(const struct probe *probe, double wall_m, double bandwidth)
{
    return plyecho_beam_diameter_m(probe->diameter_m, probe->velocity_m_s / probe->frequency_hz,
                                   fmin(fmax(bandwidth, 0.02), 1.2), /* what beam.h can do */
                                   probe->line_m + wall_m);
}

static double width(const struct probe *probe, double wall_m)
{
    if (probe->bandwidth.known)
        return width_at(probe, wall_m, probe->bandwidth.value);
    double least = INFINITY;
    for (size_t i = 0; i < sizeof usual_bandwidths / sizeof usual_bandwidths[0]; i++)
        least = fmin(least, width_at(probe, wall_m, usual_bandwidths[i]));
    return least;
}

struct plyecho_known plyecho_procedure_beam_m(const struct plyecho_procedure *procedure)
{
    const struct plyecho_along *along = &procedure->part.nominal_along_m;
    const struct plyecho_setting *nominal = &procedure->part.nominal_m;
    struct probe probe;
    if (procedure->equipment.beam_m.set)
        return (struct plyecho_known){true, procedure->equipment.beam_m.value};
    if ((!nominal->set && along->count == 0) || !take_probe(procedure, &probe))
        return unknown;
    struct plyecho_known least = {
        true, width(&probe, along->count > 0 ? along->value[0] : nominal->value)};
    for (size_t i = 1; i < along->count; i++)
        least.value = fmin(least.value, width(&probe, along->value[i]));
    return least;
}
