/* What a practitioner would warn of. Limits without a source are common practice. */
#include "plan.h"

#include <math.h>

#include <plyecho/beam.h>

#define MM 1e3
#define WARN(report, quantity, ...) plan_add(report, "warning", quantity, NAN, __VA_ARGS__)

static void warn_of_velocity(const struct plan *p, struct plan_report *r)
{
    const struct plyecho_medium *m = p->handbook;
    if (m != NULL)
        WARN(
            r, "handbook-velocity",
            "%s: %.0f m/s is a handbook value with a standard uncertainty of %.0f m/s (%.1f %%), "
            "its attenuation one from memory: calibrate on a step of the same lay-up before a "
            "thickness is believed",
            m->name, m->velocity_m_s, m->velocity_u_m_s,
            100.0 * m->velocity_u_m_s / m->velocity_m_s);
    if (!p->snr_given)
        WARN(
            r, "noise-assumed",
            "signal-to-noise rests on an assumed %.0f dB of the reference echo: measure it with "
            "`plyecho probe reference.wav` and give --reference-snr",
            p->snr_db);
}

static void warn_of_beam(const struct plan *p, struct plan_report *r)
{
    double share = plan_value(r, "path_over_near_field");
    if (!p->face_m.known)
        WARN(r, "no-face",
             "without --face-diameter there is no near field, no beam and no spacing");
    else if (share < 1.0)
        WARN(
            r, "near-field",
            "the wall lies within the near field (%.2f of its length): an echo's height does not "
            "tell a reflector's size there, and levels change with depth; compare with the same "
            "depth in a sound part, size by the 6 dB drop only what is wider than the beam",
            share);
}

static void warn_of_surface(const struct plan *p, struct plan_report *r)
{
    double gap = plan_value(r, "contact_gap_wavelengths");
    double width_mm = plan_value(r, "contact_width_mm");
    if (gap > 0.125)
        WARN(
            r, "curved-surface",
            "a flat face of %.1f mm on a tube of %.1f mm: the couplant's wedge is %.2f "
            "wavelengths thick at its edge, and only a strip of %.1f mm sounds in step; levels "
            "fall and change with tilt. Use a smaller or shaped face or an immersion nozzle, and "
            "judge levels against a sound place of the same tube",
            p->face_m.value * MM, p->tube_m.value * MM, gap, width_mm);
    if (p->water_path && p->tube_m.known)
        WARN(
            r, "curved-surface",
            "in water the tube's surface spreads the beam, and a tilt or offset takes from every "
            "level: this plan, made for plane layers, does not hold that. Aim for the highest "
            "interface echo, and judge levels against a sound place of the same tube");
    if (p->tube_m.known && p->wall_m > 0.15 * p->tube_m.value)
        WARN(
            r, "thick-tube",
            "the wall is %.0f %% of the diameter: the bore scatters the back wall's echo, which "
            "this plan, made for plane layers, does not hold",
            100.0 * p->wall_m / p->tube_m.value);
}

static void warn_of_line(const struct plan *p, struct plan_report *r)
{
    if (!(p->line_s > 0.0)) {
        WARN(
            r, "no-delay-line",
            "in contact the transmission pulse and what the probe rings hide the first part of "
            "the wall, here %.2f mm or more; a delay line or a water path frees it",
            r->dead_zone_m * MM);
        return;
    }
    double walls = p->line_s / (p->wall_s + p->length_20db_s);
    if (walls < 1.0)
        WARN(r, "short-delay-line",
             "the delay line's repeat comes %.2f us behind the interface echo, before the back "
             "wall (%.2f us) has been received: take a longer line, at least %.1f mm",
             p->line_s * 1e6, p->wall_s * 1e6,
             0.5 * p->line.velocity_m_s * (p->wall_s + p->length_20db_s) * MM);
    else if (p->line_s < 2.0 * p->wall_s + p->length_20db_s)
        WARN(r, "one-back-wall",
             "the delay line's repeat comes before the second back-wall echo: measuring mode 3 "
             "is not possible, and coats are harder to tell");
}

static void warn_of_band(const struct plan *p, struct plan_report *r)
{
    double centre_mhz = p->pulse.centre_hz * 1e-6;
    double lost = 1.0 - plan_value(r, "back_wall_centre_mhz") / centre_mhz;
    double half = 0.5 * p->bandwidth * centre_mhz;
    if (lost > 0.1)
        WARN(r, "attenuation",
             "attenuation draws the back-wall echo's centre down by %.0f %%: a probe of lower "
             "frequency gives more of it, or compare levels at one frequency",
             100.0 * lost);
    if (plan_value(r, "wanted_snr_db") < 14.0)
        WARN(r, "noise",
             "the least indication wanted stands only %.0f dB above the noise before the back "
             "wall; 14 dB or more are needed to find it: average more, or lower the frequency",
             plan_value(r, "wanted_snr_db"));
    for (size_t i = p->layup.coats; i < p->layup.count; i++) {
        const struct plyecho_plies *item = &p->layup.items[i];
        double ply_m = item->wall.thickness_m / (double)item->count;
        double mhz = item->wall.velocity_m_s / (2.0 * ply_m) * 1e-6;
        if (item->count > 1 && mhz > centre_mhz - 1.25 * half && mhz < centre_mhz + 1.25 * half)
            WARN(r, "ply-resonance",
                 "plies of %.3f mm in layer %zu resonate at %.1f MHz, within the probe's band: "
                 "echoes between plies come in step and are no defects; take a lower frequency "
                 "or compare with a sound place",
                 ply_m * MM, i - p->layup.coats + 1, mhz);
    }
}

static void warn_of_resolution(const struct plan *p, struct plan_report *r)
{
    double layer_m = plan_value(r, "resolvable_layer_mm") / MM;
    if (p->least_depth_m.known && p->least_depth_m.value < r->dead_zone_m)
        WARN(
            r, "dead-zone",
            "the least depth wanted, %.2f mm, lies in the dead zone of %.2f mm: take a shorter "
            "pulse, a delay line nearer the wall's impedance, or sound from the other side",
            p->least_depth_m.value * MM, r->dead_zone_m * MM);
    if (r->dead_zone_m + r->back_dead_zone_m >= p->wall_m)
        WARN(
            r, "nothing-inspected",
            "the dead zones of the front (%.2f mm) and the back wall (%.2f mm) cover the wall: "
            "no depth is inspected; take a shorter pulse or a higher frequency",
            r->dead_zone_m * MM, r->back_dead_zone_m * MM);
    for (size_t i = 0; i < p->layup.count; i++) {
        const struct plyecho_layer *layer = &p->layup.items[i].wall;
        bool coat = i < p->layup.coats;
        double there_m = layer_m * layer->velocity_m_s / p->velocity_m_s;
        if (layer->thickness_m < there_m)
            WARN(r, "thin-layer",
                 "%s %zu, %.3f mm thick, is thinner than what can be told apart (%.2f mm): its "
                 "two faces give one echo",
                 coat ? "coat" : "layer", coat ? i + 1 : i - p->layup.coats + 1,
                 layer->thickness_m * MM, there_m * MM);
    }
}

void plan_warnings(const struct plan *plan, struct plan_report *report)
{
    warn_of_velocity(plan, report);
    warn_of_beam(plan, report);
    warn_of_surface(plan, report);
    warn_of_line(plan, report);
    warn_of_band(plan, report);
    warn_of_resolution(plan, report);
    WARN(report, "limits",
         "cracks through the thickness, broken fibres and what lies under metal are not seen; "
         "thin and curved walls lie outside the standards for thick and flat parts, whose "
         "principles this follows. The procedure and its limits belong to qualified personnel "
         "and the local code");
}
