#include "plan.h"

#include <complex.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/beam.h>
#include <plyecho/expected_echo.h>

#include "memory.h"

#define MM 1e3
#define US 1e6
#define MHZ 1e-6

static const double pi = 3.14159265358979323846;

static double db(double ratio)
{
    return 20.0 * log10(ratio);
}

void plan_add(struct plan_report *report, const char *group, const char *quantity, double value,
              const char *format, ...)
{
    if (report->count == report->room) {
        report->room = report->room > 0 ? 2 * report->room : 64;
        report->rows = memory_resize(report->rows, report->room, sizeof *report->rows);
    }
    struct plan_row *row = &report->rows[report->count++];
    va_list arguments;
    row->group = group;
    row->value = value;
    snprintf(row->quantity, sizeof row->quantity, "%s", quantity);
    va_start(arguments, format);
    vsnprintf(row->words, sizeof row->words, format, arguments);
    va_end(arguments);
}

double plan_value(const struct plan_report *report, const char *quantity)
{
    for (size_t i = 0; i < report->count; i++)
        if (strcmp(report->rows[i].quantity, quantity) == 0)
            return report->rows[i].value;
    return NAN;
}

static double pulse_length_s(const struct plyecho_pulse *pulse, double level)
{
    double before, after;
    plyecho_pulse_extent(pulse, level, &before, &after);
    return before + after;
}

void plan_prepare(struct plan *p)
{
    const struct plyecho_layer *wall = p->part.layers + p->part.wall;
    size_t count = p->part.stack.count - p->part.wall;
    double hz = p->pulse.centre_hz;
    double transit_s = plyecho_layers_transit_s(wall, count, hz, hz);
    p->wall_m = layup_thickness_m(&p->layup);
    p->velocity_m_s = p->wall_m / transit_s;
    p->wavelength_m = p->velocity_m_s / hz;
    p->wall_s = 2.0 * transit_s;
    if (p->line.thickness_m > 0.0) {
        p->line_s = 2.0 * p->line.thickness_m / p->line.velocity_m_s;
        p->path_m = plyecho_equivalent_path_m(p->line.thickness_m, p->line.velocity_m_s,
                                              p->velocity_m_s);
    }
    p->path_m += p->wall_m;
    p->length_6db_s = pulse_length_s(&p->pulse, 0.5);
    p->length_20db_s = pulse_length_s(&p->pulse, 0.1);
    p->front = plyecho_reflection(p->front_rayl, p->part.layers[0].impedance_rayl);
}

/* ---- probe, wall and beam ---- */

static void add_probe(const struct plan *p, struct plan_report *r)
{
    double half = 0.5 * p->bandwidth * p->pulse.centre_hz;
    plan_add(r, "probe", "centre_mhz", p->pulse.centre_hz * MHZ, "centre frequency, as given");
    plan_add(r, "probe", "band_low_6db_mhz", (p->pulse.centre_hz - half) * MHZ,
             "lower end of the -6 dB band");
    plan_add(r, "probe", "band_high_6db_mhz", (p->pulse.centre_hz + half) * MHZ, "upper end");
    plan_add(r, "probe", "length_6db_us", p->length_6db_s * US, "pulse length at -6 dB");
    plan_add(r, "probe", "length_20db_us", p->length_20db_s * US, "pulse length at -20 dB");
    plan_add(r, "probe", "length_20db_mm", p->length_20db_s * p->velocity_m_s * MM,
             "the same in the wall, one way");
}

static void add_wall(const struct plan *p, struct plan_report *r)
{
    plan_add(r, "wall", "thickness_mm", p->wall_m * MM, "wall, coats left out");
    plan_add(r, "wall", "velocity_m_s", p->velocity_m_s,
             "phase velocity at the centre frequency, films between plies counted");
    plan_add(r, "wall", "wavelength_mm", p->wavelength_m * MM, "at the centre frequency");
    plan_add(r, "wall", "wall_us", p->wall_s * US, "through the wall and back");
}

static void add_beam(const struct plan *p, struct plan_report *r)
{
    if (!p->face_m.known)
        return;
    double d = p->face_m.value, near = plyecho_near_field_m(d, p->wavelength_m);
    double angle = plyecho_beam_half_angle_rad(d, p->wavelength_m, PLYECHO_BEAM_6DB);
    plan_add(r, "beam", "near_field_mm", near * MM, "near-field length in the wall's material");
    plan_add(r, "beam", "path_mm", p->path_m * MM,
             "from the probe to the back wall, delay line counted as a path in the wall");
    plan_add(r, "beam", "path_over_near_field", p->path_m / near,
             "below 1: within the near field");
    plan_add(r, "beam", "half_angle_6db_deg", angle * 180.0 / pi,
             "half angle behind the near field, -6 dB there and back");
    plan_add(r, "beam", "beam_diameter_mm",
             plyecho_beam_diameter_m(d, p->wavelength_m, p->bandwidth, p->path_m) * MM,
             "at the back wall, where a small reflector's echo falls to half (-6 dB)");
}

/* ---- what can be told apart ---- */

static void add_resolution(const struct plan *p, struct plan_report *r)
{
    double front = p->line.thickness_m > 0.0 ? fabs(p->front) : 1.0;
    double passed = 1.0 - p->front * p->front, before, after, unused;
    double hidden = fmin(0.99, fmax(1e-4, 0.5 * p->wanted * passed / fmax(front, 1e-6)));
    plyecho_pulse_extent(&p->pulse, hidden, &unused, &after);
    plyecho_pulse_extent(&p->pulse, fmin(0.99, 0.5 * p->wanted), &before, &unused);
    r->dead_zone_m = 0.5 * p->velocity_m_s * after;
    r->back_dead_zone_m = 0.5 * p->velocity_m_s * before;
    plan_add(
        r, "resolution", "dead_zone_mm", r->dead_zone_m * MM,
        p->line.thickness_m > 0.0
            ? "from here on the least indication wanted stands 6 dB above the interface "
              "echo's ringing"
            : "the same behind a transmission pulse as high as a full reflector's echo, which "
              "is assumed: real ones are higher and ring longer");
    plan_add(r, "resolution", "back_dead_zone_mm", r->back_dead_zone_m * MM,
             "above the back wall, where its echo hides the least indication wanted");
    plan_add(r, "resolution", "resolvable_depth_mm",
             0.5 * p->velocity_m_s * p->length_20db_s * MM,
             "two echoes of unlike height stand apart: half the pulse length at -20 dB");
    plan_add(
        r, "resolution", "resolvable_layer_mm", 0.5 * p->velocity_m_s * p->length_6db_s * MM,
        "two echoes of like height stand apart: half the pulse length at -6 dB; the fit of "
        "whole traces does better where its model holds");
}

/* ---- expected echoes ---- */

/* Loss by the beam's spread against the line's echo; 0 where the face is not known. */
static double spread_db(const struct plan *p, double depth_m)
{
    if (!p->face_m.known)
        return 0.0;
    double a = 0.5 * p->face_m.value, scale = 2.0 * p->wavelength_m / (a * a);
    double line_m = p->path_m - p->wall_m;
    double now = cabs(plyecho_piston_diffraction(scale * (line_m + depth_m)));
    double then = line_m > 0.0 ? cabs(plyecho_piston_diffraction(scale * line_m)) : 1.0;
    return db(now / then);
}

/* The echo from behind the first `end` layers, `depth_m` below the wall's front, where layers up to
 * `more` and then behind_rayl follow. */
static void add_echo(const struct plan *p, struct plan_report *r, const char *name, size_t end,
                     size_t more, double behind_rayl, double depth_m, const char *words)
{
    struct plyecho_stack with = p->part.stack, without = p->part.stack;
    struct plyecho_expected_echo echo;
    char quantity[40];
    with.gap.cover = without.gap.cover = 0.0;
    with.count = more;
    with.behind_impedance_rayl = behind_rayl;
    without.count = end;
    without.behind_impedance_rayl = p->part.layers[end - 1].impedance_rayl;
    double time_s = 2.0 * plyecho_layers_transit_s(p->part.layers, end, p->pulse.centre_hz,
                                                   p->pulse.centre_hz);
    plyecho_expected_echo_find(&p->pulse, &with, &without, time_s, &echo);
    double level_db = db(fmax(echo.level, 1e-6)) + spread_db(p, depth_m);
    snprintf(quantity, sizeof quantity, "%s_db", name);
    plan_add(r, "levels", quantity, level_db, "%s", words);
    snprintf(quantity, sizeof quantity, "%s_snr_db", name);
    plan_add(r, "levels", quantity, level_db + p->snr_db, "the same over the noise");
    snprintf(quantity, sizeof quantity, "%s_centre_mhz", name);
    plan_add(r, "levels", quantity, echo.centre_hz * MHZ, "mean frequency of its energy");
}

/* A full reflector at a depth of the wall: the layer there is cut in two. */
static void add_delamination(const struct plan *p, struct plan_report *r, const char *name,
                             double depth_m, double air_rayl)
{
    struct plan cut = *p;
    double left = depth_m;
    size_t end = p->part.wall, count = p->part.stack.count;
    cut.part.layers = memory_take(count, sizeof *cut.part.layers);
    memcpy(cut.part.layers, p->part.layers, count * sizeof *cut.part.layers);
    while (end + 1 < count && left > cut.part.layers[end].thickness_m)
        left -= cut.part.layers[end++].thickness_m;
    cut.part.layers[end].thickness_m = fmax(left, 1e-6);
    cut.part.stack.layers = cut.part.layers;
    char words[120];
    snprintf(words, sizeof words, "delamination under the whole beam, %.2f mm deep",
             depth_m * MM);
    add_echo(&cut, r, name, end + 1, end + 1, air_rayl, depth_m, words);
    free(cut.part.layers);
}

/* Interfaces between the layers of the wall; a film that follows counts with its interface. */
static void add_interfaces(const struct plan *p, struct plan_report *r)
{
    const struct layup *l = &p->layup;
    size_t end = p->part.wall, number = 0;
    double depth_m = 0.0;
    for (size_t i = l->coats; i + 1 < l->count; i++) {
        const struct plyecho_layer *next = &l->items[i + 1].wall;
        bool film = i + 2 < l->count &&
                    2.0 * next->thickness_m / next->velocity_m_s < 0.5 * p->length_6db_s;
        end += plyecho_plies_layers(l->items[i].count);
        depth_m += l->items[i].wall.thickness_m;
        size_t more = film ? end + plyecho_plies_layers(l->items[i + 1].count) : end;
        char name[32], words[160];
        snprintf(name, sizeof name, "interface_%zu", ++number);
        snprintf(words, sizeof words, "sound bond behind layer %zu, %.2f mm deep%s",
                 i - l->coats + 1, depth_m * MM, film ? ", its glue line or film counted" : "");
        add_echo(p, r, name, end, more, p->part.layers[more].impedance_rayl, depth_m, words);
        if (film) {
            end = more;
            depth_m += next->thickness_m;
            i++;
        }
    }
}

static void add_levels(const struct plan *p, struct plan_report *r)
{
    struct plyecho_layer air = plyecho_medium_layer(plyecho_medium_find("air"), 0.0);
    size_t count = p->part.stack.count;
    if (p->line.thickness_m > 0.0) {
        plan_add(r, "levels", "interface_echo_db", db(fmax(fabs(p->front), 1e-6)),
                 "interface echo, over the delay line's end in air as all levels here");
        plan_add(r, "levels", "interface_echo_snr_db",
                 db(fmax(fabs(p->front), 1e-6)) + p->snr_db, "the same over the noise");
    }
    double depth_m = p->least_depth_m.known ? p->least_depth_m.value : r->dead_zone_m;
    if (depth_m < p->wall_m)
        add_delamination(p, r, "shallow_delamination", depth_m, air.impedance_rayl);
    add_delamination(p, r, "middle_delamination", 0.5 * p->wall_m, air.impedance_rayl);
    add_interfaces(p, r);
    add_echo(p, r, "back_wall", count, count, p->layup.behind_rayl, p->wall_m,
             "first back-wall echo");
    double lowest_db = p->snr_db + db(p->wanted);
    double loss_db = plan_value(r, "back_wall_db") -
                     db(fabs(plyecho_reflection(p->part.layers[count - 1].impedance_rayl,
                                                p->layup.behind_rayl)));
    plan_add(r, "levels", "wanted_snr_db", lowest_db + loss_db,
             "the least indication wanted, just above the back wall, over the noise");
}

/* ---- surface, scan, recorder, gates ---- */

static void add_surface(const struct plan *p, struct plan_report *r)
{
    if (!(p->tube_m.known && p->face_m.known) || p->water_path)
        return; /* in water no face lies on the tube */
    double gap_m = plyecho_contact_gap_m(p->face_m.value, p->tube_m.value);
    double wavelength_m = p->couplant_m_s / p->pulse.centre_hz;
    plan_add(r, "surface", "contact_gap_um", gap_m * 1e6,
             "between a flat face's edge and the tube: the couplant's wedge");
    plan_add(r, "surface", "contact_gap_wavelengths", gap_m / wavelength_m,
             "the same over the wavelength in the couplant");
    plan_add(r, "surface", "contact_width_mm",
             plyecho_contact_width_m(p->face_m.value, p->tube_m.value, wavelength_m / 8.0) * MM,
             "strip along the tube where the wedge stays below an eighth of that: a quarter "
             "turn there and back");
}

static void add_scan(const struct plan *p, struct plan_report *r)
{
    double beam_m = plan_value(r, "beam_diameter_mm") / MM;
    if (!isfinite(beam_m))
        return;
    double step_m = beam_m * (1.0 - p->overlap);
    plan_add(r, "scan", "axial_spacing_mm", step_m * MM,
             "between rings or lines, for an overlap of %.0f %% of the beam",
             100.0 * p->overlap);
    if (p->length_m.known)
        plan_add(r, "scan", "rings", ceil(p->length_m.value / step_m),
                 "rings or lines over %.4g mm", p->length_m.value * MM);
    if (!p->tube_m.known)
        return;
    double places = ceil(pi * p->tube_m.value / step_m);
    plan_add(r, "scan", "places_per_ring", places, "round the outer surface");
    plan_add(r, "scan", "angle_step_deg", 360.0 / places, "between them");
}

static void add_recorder(const struct plan *p, struct plan_report *r)
{
    double centre_hz = plan_value(r, "back_wall_centre_mhz") / MHZ;
    double low_hz = fmin(centre_hz, p->pulse.centre_hz),
           wide = p->bandwidth * p->pulse.centre_hz;
    r->band_low_hz = fmax(0.3 * low_hz, low_hz - wide);
    r->band_high_hz = p->pulse.centre_hz + wide;
    plan_add(r, "recorder", "band_low_mhz", r->band_low_hz * MHZ,
             "pass band: the -6 dB band and half its width more, from the back wall's centre "
             "down");
    plan_add(r, "recorder", "band_high_mhz", r->band_high_hz * MHZ, "and from the probe's up");
    plan_add(r, "recorder", "sample_rate_mhz", 10.0 * p->pulse.centre_hz * MHZ,
             "ten samples a cycle (common practice)");
    plan_add(r, "recorder", "record_us", (p->line_s + 2.5 * p->wall_s + 2e-6) * US,
             "from the trigger: two back-wall echoes and 2 us of quiet");
}

static void add_gates(const struct plan *p, struct plan_report *r)
{
    double dead_s = 2.0 * r->dead_zone_m / p->velocity_m_s;
    double back_s = 2.0 * r->back_dead_zone_m / p->velocity_m_s;
    double tolerance_s = 0.1 * p->wall_s;
    plan_add(r, "gates", "interface_us", p->line_s * US,
             "wall's front, behind the trigger's zero");
    if (dead_s < p->wall_s - back_s) {
        plan_add(r, "gates", "inside_from_us", (p->line_s + dead_s) * US,
                 "gate for echoes inside");
        plan_add(r, "gates", "inside_to_us", (p->line_s + p->wall_s - back_s) * US, "its end");
    }
    plan_add(r, "gates", "back_from_us",
             (p->line_s + p->wall_s - tolerance_s - 0.5 * p->length_20db_s) * US,
             "gate for the back wall, 10 %% either way");
    plan_add(r, "gates", "back_to_us",
             (p->line_s + p->wall_s + tolerance_s + p->length_20db_s) * US, "its end");
    if (p->line_s > 0.0)
        plan_add(r, "gates", "line_repeat_us", 2.0 * p->line_s * US,
                 "the delay line's repeat: later echoes are not the wall's alone");
}

void plan_numbers(const struct plan *plan, struct plan_report *report)
{
    add_probe(plan, report);
    add_wall(plan, report);
    add_beam(plan, report);
    add_resolution(plan, report);
    add_levels(plan, report);
    add_surface(plan, report);
    add_scan(plan, report);
    add_recorder(plan, report);
    add_gates(plan, report);
}
