#include <config.h>

#include "place.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double mm = 1e-3;

static void say(const char *text, const char *file, const struct plyecho_error *err,
                struct messages *messages)
{
    if (text != NULL)
        message_trouble(messages, NULL, "--layers: %s", err->text);
    else
        message_error(messages, file, err);
}

/* The nominal that was stated is that of the wall with all its layers. */
static enum plyecho_code check_nominal(const struct place *place, struct plyecho_error *err)
{
    double sum = plyecho_layers_wall_m(&place->all);
    const struct plyecho_known *nominal = &place->whole.nominal_m;
    if (!nominal->known || fabs(sum - nominal->value) <= place->whole.tolerance_m)
        return PLYECHO_OK;
    return plyecho_fail(
        err, PLYECHO_BAD_ARGUMENT,
        "the layers of the wall add up to %.4g mm, the nominal wall is %.4g mm; "
        "mend one of them, or mark a layer outside of the wall as 'coat'",
        sum / mm, nominal->value / mm);
}

static enum plyecho_code label(const struct plyecho_trace *trace, const char *key, double scale,
                               struct plyecho_known *value, struct plyecho_error *err)
{
    value->known = plyecho_labels_get(trace->labels, key, trace->channel) != NULL;
    enum plyecho_code code =
        plyecho_labels_number(trace->labels, key, trace->channel, &value->value, err);
    value->value *= scale;
    return code;
}

/* Loss of the layers one after the other, as of one material; unknown where one is. */
static struct plyecho_known mean_attenuation(const struct plyecho_declared_layer *layers,
                                             size_t count)
{
    struct plyecho_known mean = {true, 0.0};
    double thickness = 0.0;
    for (size_t k = 0; k < count; k++) {
        mean.known &= layers[k].attenuation_np_m_hz.known;
        mean.value += layers[k].attenuation_np_m_hz.value * layers[k].thickness_m;
        thickness += layers[k].thickness_m;
    }
    mean.value /= thickness;
    return mean;
}

/* A wall of these layers; what is not here is taken off the stated nominal. */
static void take_wall(const struct place *place, struct plyecho_wall_options *wall)
{
    size_t coats = plyecho_layers_coats(&place->here);
    const struct plyecho_declared_layer *layers = place->here.items + coats;
    size_t count = place->here.count - coats;
    struct plyecho_mixed_velocity mix = plyecho_layers_velocity(layers, count);
    double sum = plyecho_layers_wall_m(&place->here);
    double missing = plyecho_layers_wall_m(&place->all) - sum;
    wall->velocity_m_s = mix.velocity_m_s;
    wall->velocity_u =
        (struct plyecho_known){mix.u_known, hypot(mix.own_u_m_s, mix.shared_u_m_s)};
    /* a zero comes from steps of one material */
    wall->velocity_zero_correlation = 0.0;
    wall->attenuation = mean_attenuation(layers, count);
    wall->nominal_m.value =
        place->whole.nominal_m.known ? place->whole.nominal_m.value - missing : sum;
    wall->nominal_m.known = true;
    if (!place->tolerance_stated)
        wall->tolerance_m = PLYECHO_NOMINAL_TOLERANCE_SHARE * wall->nominal_m.value;
}

bool place_open(struct place *place, const char *text,
                const struct plyecho_procedure *procedure, const char *procedure_file,
                struct plyecho_wall_options *wall, struct messages *messages)
{
    struct plyecho_error err = {.code = PLYECHO_OK};
    struct plyecho_known velocity = {wall->velocity_m_s > 0.0, wall->velocity_m_s};
    place->whole = *wall;
    place->tolerance_stated = procedure->part.nominal_tolerance_m.set;
    place->nominal_m = procedure->part.nominal_along_m;
    place->note[0] = '\0';
    place->all = procedure->layers;
    if (place->all.count == 0)
        return true;
    enum plyecho_code code = PLYECHO_OK;
    if (plyecho_layers_coats(&place->all) == place->all.count)
        code = plyecho_fail(&err, PLYECHO_BAD_ARGUMENT,
                            "every layer is a coat; declare the wall's own layers too");
    if (code == PLYECHO_OK)
        code = plyecho_layers_complete(&place->all, velocity, wall->velocity_u,
                                       wall->attenuation, &err);
    if (code == PLYECHO_OK)
        code = check_nominal(place, &err);
    if (code != PLYECHO_OK) {
        say(text, procedure_file, &err, messages);
        return false;
    }
    place->here = place->all;
    take_wall(place, wall);
    return true;
}

/* The nominal at a place of a tapered part, for the wall with all its layers. */
static void take_nominal(struct place *place, struct plyecho_known axial_m)
{
    const struct plyecho_along *table = &place->nominal_m;
    struct plyecho_wall_options *whole = &place->whole;
    whole->nominal_m = (struct plyecho_known){false, 0.0};
    if (axial_m.known)
        whole->nominal_m = plyecho_along_at(table, axial_m.value);
    if (!place->tolerance_stated)
        whole->tolerance_m = PLYECHO_NOMINAL_TOLERANCE_SHARE * whole->nominal_m.value;
    if (whole->nominal_m.known)
        return;
    const char *then = place->all.count > 0 ? "judged by the sum of its layers"
                                            : "judged without a nominal wall";
    if (!axial_m.known)
        snprintf(place->note, sizeof place->note,
                 "no label axial_mm, along which nominal_mm changes: %s; set the label", then);
    else
        snprintf(place->note, sizeof place->note,
                 "axial_mm %.6g is outside the table of nominal_mm, %.6g to %.6g: %s",
                 axial_m.value / mm, table->axial_m[0] / mm,
                 table->axial_m[table->count - 1] / mm, then);
}

static enum plyecho_code take_layers(struct place *place, struct plyecho_known angle_deg,
                                     struct plyecho_known axial_m,
                                     struct plyecho_wall_options *wall,
                                     struct plyecho_error *err)
{
    enum plyecho_code code = check_nominal(place, err);
    plyecho_layers_at(&place->all, angle_deg, axial_m, &place->here);
    if (code == PLYECHO_OK && plyecho_layers_coats(&place->here) == place->here.count)
        code = plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "no layer of the wall is expected at its angle_deg and axial_mm; "
                            "widen the extents, or mend the labels");
    if (code == PLYECHO_OK)
        take_wall(place, wall);
    return code;
}

enum plyecho_code place_at(struct place *place, const struct plyecho_trace *trace,
                           struct plyecho_wall_options *wall, struct plyecho_error *err)
{
    struct plyecho_known angle_deg = {0}, axial_m = {0};
    place->note[0] = '\0';
    if (place->all.count == 0 && place->nominal_m.count == 0)
        return PLYECHO_OK;
    enum plyecho_code code = label(trace, "angle_deg", 1.0, &angle_deg, err);
    if (code == PLYECHO_OK)
        code = label(trace, "axial_mm", mm, &axial_m, err);
    if (code != PLYECHO_OK)
        return code;
    if (place->nominal_m.count > 0) {
        take_nominal(place, axial_m);
        wall->nominal_m = place->whole.nominal_m;
        wall->tolerance_m = place->whole.tolerance_m;
    }
    return place->all.count > 0 ? take_layers(place, angle_deg, axial_m, wall, err)
                                : PLYECHO_OK;
}
