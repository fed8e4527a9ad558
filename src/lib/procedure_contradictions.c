#include <plyecho/procedure.h>

#include <stdio.h>

/* Two settings of which the first must be so or so against the second: else it is to be mended. */
struct rule {
    bool broken;
    const char *first_name, *must, *second_name, *why;
    const struct plyecho_setting *first, *second;
    double scale; /* the unit of the names in SI */
};

enum { PART_RULES = 5, CALIBRATION_RULES = 3, RULES = PART_RULES + CALIBRATION_RULES };

/* Settings that may change along the part, where they matter most. */
struct worst {
    struct plyecho_setting thinnest;      /* nominal wall */
    struct plyecho_setting tube, in_tube; /* diameter, and the nominal wall at that place */
    struct plyecho_setting narrowest;     /* diameter */
};

static struct plyecho_setting at(const struct plyecho_setting *one,
                                 const struct plyecho_along *along, double axial_m)
{
    if (along->count == 0)
        return *one;
    struct plyecho_known value = plyecho_along_at(along, axial_m);
    return (struct plyecho_setting){value.known, value.value, along->line};
}

/* Both change on straight lines: what is worst is so at a point of one of them. */
static void look_at(const struct plyecho_procedure *p, double axial_m, struct worst *w)
{
    struct plyecho_setting wall = at(&p->part.nominal_m, &p->part.nominal_along_m, axial_m);
    struct plyecho_setting tube = at(&p->part.diameter_m, &p->part.diameter_along_m, axial_m);
    if (wall.set && (!w->thinnest.set || wall.value < w->thinnest.value))
        w->thinnest = wall;
    if (tube.set && (!w->narrowest.set || tube.value < w->narrowest.value))
        w->narrowest = tube;
    bool tighter =
        !w->tube.set || tube.value - 2.0 * wall.value < w->tube.value - 2.0 * w->in_tube.value;
    if (wall.set && tube.set && tighter) {
        w->tube = tube;
        w->in_tube = wall;
    }
}

static void find_worst(const struct plyecho_procedure *p, struct worst *w)
{
    *w = (struct worst){.thinnest = {.set = false}};
    look_at(p, 0.0, w); /* the same everywhere, if it is the same everywhere */
    for (size_t k = 0; k < p->part.nominal_along_m.count; k++)
        look_at(p, p->part.nominal_along_m.axial_m[k], w);
    for (size_t k = 0; k < p->part.diameter_along_m.count; k++)
        look_at(p, p->part.diameter_along_m.axial_m[k], w);
}

/* Of the part, in the order in which they are told. */
static void make_part_rules(const struct plyecho_procedure *p, const struct worst *worst,
                            struct rule rules[PART_RULES])
{
    const struct plyecho_setting *nominal = &worst->thinnest;
    const struct plyecho_setting *tolerance = &p->part.nominal_tolerance_m;
    const struct plyecho_setting *tube = &worst->tube;
    const struct plyecho_setting *least = &p->acceptance.least_m;
    const struct plyecho_setting *spread = &p->acceptance.most_spread_m;
    const struct plyecho_setting *beam = &p->equipment.beam_m;
    rules[0] = (struct rule){tolerance->value >= nominal->value,
                             "nominal_tolerance_mm",
                             "must be below",
                             "nominal_mm",
                             "",
                             tolerance,
                             nominal,
                             1e-3};
    rules[1] = (struct rule){tube->value <= 2.0 * worst->in_tube.value,
                             "diameter_mm",
                             "must be above twice",
                             "nominal_mm",
                             ": a tube has two walls",
                             tube,
                             &worst->in_tube,
                             1e-3};
    rules[2] = (struct rule){least->value > nominal->value,
                             "least_mm",
                             "must not be above",
                             "nominal_mm",
                             ": a wall as it should be would be rejected",
                             least,
                             nominal,
                             1e-3};
    rules[3] = (struct rule){
        spread->value >= nominal->value, "most_spread_mm", "must be below", "nominal_mm",
        ": no wall would be rejected",   spread,           nominal,         1e-3};
    rules[4] = (struct rule){beam->value >= worst->narrowest.value,
                             "beam_mm",
                             "must be below",
                             "diameter_mm",
                             "",
                             beam,
                             &worst->narrowest,
                             1e-3};
}

/* Of the calibration. */
static void make_calibration_rules(const struct plyecho_procedure *p,
                                   struct rule rules[CALIBRATION_RULES])
{
    const struct plyecho_setting *velocity = &p->material.velocity_m_s;
    const struct plyecho_setting *velocity_u = &p->material.velocity_u_m_s;
    const struct plyecho_setting *thinnest = &p->calibration.steps_least_m;
    const struct plyecho_setting *thickest = &p->calibration.steps_most_m;
    const struct plyecho_setting *recording = &p->calibration.recording_level_db;
    const struct plyecho_setting *evaluation = &p->calibration.evaluation_level_db;
    rules[0] = (struct rule){velocity_u->value >= velocity->value,
                             "velocity_u_m_s",
                             "must be below",
                             "velocity_m_s",
                             "",
                             velocity_u,
                             velocity,
                             1.0};
    rules[1] = (struct rule){evaluation->value < recording->value,
                             "evaluation_level_db",
                             "must not be below",
                             "recording_level_db",
                             ": what is evaluated is recorded",
                             evaluation,
                             recording,
                             1.0};
    rules[2] = (struct rule){thickest->value < thinnest->value,
                             "steps_most_mm",
                             "must not be below",
                             "steps_least_mm",
                             "",
                             thickest,
                             thinnest,
                             1e-3};
}

static void fault_of(const struct rule *r, struct plyecho_error *fault)
{
    char where[40] = "the command line";
    if (r->second->line > 0)
        snprintf(where, sizeof where, "line %ld", r->second->line);
    plyecho_fail_line(fault, PLYECHO_BAD_ARGUMENT, r->first->line,
                      "%s = %.6g %s %s = %.6g of %s%s", r->first_name,
                      r->first->value / r->scale, r->must, r->second_name,
                      r->second->value / r->scale, where, r->why);
}

size_t plyecho_procedure_contradictions(const struct plyecho_procedure *procedure,
                                        struct plyecho_error *faults, size_t most)
{
    struct rule rules[RULES];
    struct worst worst;
    size_t count = 0;
    find_worst(procedure, &worst);
    make_part_rules(procedure, &worst, rules);
    make_calibration_rules(procedure, rules + PART_RULES);
    for (size_t i = 0; i < RULES && count < most; i++)
        if (rules[i].first->set && rules[i].second->set && rules[i].broken)
            fault_of(&rules[i], &faults[count++]);
    return count;
}
