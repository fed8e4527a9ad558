#include "layers_match.h"

#include <complex.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <plyecho/laminate.h>

#include "pi.h"

/* A layer nearer than this share of a pulse length to the next shows one echo for both faces. */
static const double thin_pulses = 0.6;

/* An echo belongs to a boundary within two standard uncertainties, and never further off than this
 * share of a pulse length. */
static const double coverage = 2.0, most_off_pulses = 0.5;

/* An echo is as strong as the impedances say within 3 dB; without them a bond reflects less than
 * 0.3 (impedances of 3 to 6 MRayl beside 4.65: handbook ranges, from memory). */
static const double strength_factor = 1.4125375446227544, strongest_bond = 0.3;

/* The echo that a boundary would give. */
struct expected {
    size_t above, below; /* those between are thin */
    double middle_s;     /* delay of the middle between the faces */
    double delay_s, u_s; /* of the echo */
    double half_width_s; /* from there to either face */
    double late_s;       /* of the echo's highest point behind the middle */
    struct plyecho_known strength;
    int sign;  /* -1, 1; 0: not known, or a film's */
    int match; /* interface that belongs to it, -1: none */
};

struct matching {
    const struct plyecho_declared_layer *layer; /* of the wall, coats left out */
    size_t layers;
    const struct pe_layers_seen *seen;
    struct expected boundary[PLYECHO_LAYERS_MOST];
    size_t boundaries;
};

static double there_and_back(const struct plyecho_declared_layer *l)
{
    return 2.0 * l->thickness_m / l->velocity_m_s.value;
}

static double square(double x)
{
    return x * x;
}

/* Variance of a layer's time of flight, as declared. */
static double variance(const struct plyecho_declared_layer *l)
{
    double v = l->velocity_m_s.value;
    double u_v = l->velocity_u_m_s.known ? l->velocity_u_m_s.value : 0.0;
    return square(2.0 * l->thickness_u_m.value / v) +
           square(2.0 * l->thickness_m * u_v / (v * v));
}

/* ---- what is expected ---- */

/* The echo of a reflection within a pulse of Gaussian spectrum: where its envelope is highest, how
 * high, and with which phase. The pulse's -20 dB length is 2 sqrt(2 ln 10) standard deviations. */
struct echo_of_pulse {
    double late_s;
    double complex peak;
};

enum { PULSE_LINES = 25, PEAK_STEPS = 33 };
static const double of_other_pulse =
    0.2; /* share of the half width; measured on tests/reference */
static const double pulse_deviations = 4.291932052578743, spectrum_reach = 2.5;

static struct echo_of_pulse highest(const double complex *line, double first_hz, double step_hz,
                                    double reach_s)
{
    struct echo_of_pulse found = {0.0, 0.0};
    for (int n = 0; n < PEAK_STEPS; n++) {
        double t = reach_s * (2.0 * n / (PEAK_STEPS - 1) - 1.0);
        double complex turn = cexp(2.0 * PE_PI * I * step_hz * t), sum = 0.0;
        for (int k = PULSE_LINES - 1; k >= 0; k--)
            sum = sum * turn + line[k];
        if (cabs(sum) > cabs(found.peak))
            found = (struct echo_of_pulse){t, sum};
    }
    found.peak *= cexp(2.0 * PE_PI * I * first_hz * found.late_s);
    return found;
}

/* What a stack of thin layers reflects of the pulse, against the middle of its half_width_s. */
static struct echo_of_pulse reflected(const struct plyecho_stack *stack, double half_width_s,
                                      const struct pe_layers_seen *seen)
{
    double complex line[PULSE_LINES];
    double spread = pulse_deviations / (2.0 * PE_PI * seen->pulse_s), sum = 0.0;
    double first = fmax(0.0, seen->centre_hz - spectrum_reach * spread);
    double step = 2.0 * (seen->centre_hz - first) / (PULSE_LINES - 1);
    for (int k = 0; k < PULSE_LINES; k++) {
        double f = first + k * step,
               weight = exp(-0.5 * square((f - seen->centre_hz) / spread));
        line[k] = weight * plyecho_stack_reflection(stack, 2.0 * PE_PI * I * f) *
                  cexp(2.0 * PE_PI * I * f * half_width_s);
        sum += weight;
    }
    struct echo_of_pulse echo = highest(line, first, step, 1.5 * half_width_s + 1e-9);
    echo.peak /= sum;
    return echo;
}

/* Strength, sign and place of a boundary's echo by the impedances, where all of them are known. */
static void predict(const struct matching *m, struct expected *x)
{
    struct plyecho_layer films[PLYECHO_LAYERS_MOST];
    size_t count = 0;
    for (size_t k = x->above; k <= x->below; k++)
        if (!m->layer[k].impedance_rayl.known)
            return;
    for (size_t k = x->above + 1; k < x->below; k++)
        films[count++] = (struct plyecho_layer){
            m->layer[k].impedance_rayl.value, m->layer[k].velocity_m_s.value,
            m->layer[k].attenuation_np_m_hz.value, m->layer[k].thickness_m};
    struct plyecho_stack stack = {
        .front_impedance_rayl = m->layer[x->above].impedance_rayl.value,
        .layers = films,
        .count = count,
        .behind_impedance_rayl = m->layer[x->below].impedance_rayl.value,
        .reference_frequency_hz = m->seen->centre_hz,
    };
    struct echo_of_pulse echo = {
        0.0, plyecho_reflection(stack.front_impedance_rayl, stack.behind_impedance_rayl)};
    if (count > 0)
        echo = reflected(&stack, x->half_width_s, m->seen);
    double size = fmin(cabs(echo.peak), 0.99), along = creal(echo.peak);
    x->strength = (struct plyecho_known){true, size / (1.0 - size * size)};
    x->sign = fabs(along) < 0.5 * size ? 0 : along > 0.0 ? 1 : -1;
    x->late_s = echo.late_s;
}

/* Without impedances the echo may be highest anywhere between the faces; with them a pulse of other
 * shape than the Gaussian's is highest a little elsewhere. */
static double place_variance(const struct expected *x)
{
    return square(x->half_width_s) * (x->strength.known ? square(of_other_pulse) : 1.0 / 3.0);
}

/* Boundaries from outside in; a thin layer makes one boundary of its two faces. */
static void expect(struct matching *m)
{
    double face = 0.0, var = 0.0;
    m->boundaries = 0;
    for (size_t k = 0; k + 1 < m->layers;) {
        struct expected x = {.above = k, .below = k + 1, .match = -1};
        face += there_and_back(&m->layer[k]);
        var += variance(&m->layer[k]);
        double width = 0.0, thin_var = 0.0;
        while (x.below + 1 < m->layers &&
               there_and_back(&m->layer[x.below]) < thin_pulses * m->seen->pulse_s) {
            width += there_and_back(&m->layer[x.below]);
            thin_var += variance(&m->layer[x.below]);
            x.below++;
        }
        x.half_width_s = 0.5 * width;
        x.middle_s = face + x.half_width_s;
        predict(m, &x);
        x.delay_s = x.middle_s + x.late_s;
        x.u_s = sqrt(var + 0.25 * thin_var + place_variance(&x));
        m->boundary[m->boundaries++] = x;
        face += width;
        var += thin_var;
        k = x.below;
    }
}

/* ---- which interface is which ---- */

/* How far an interface is from where a boundary's would be. */
static double off(const struct expected *x, const struct pe_interface *in)
{
    return fabs(in->delay_s - (in->of_middle ? x->middle_s : x->delay_s));
}

static bool belongs(const struct matching *m, const struct expected *x,
                    const struct pe_interface *in)
{
    return off(x, in) <=
           fmin(coverage * hypot(in->u_s, x->u_s), most_off_pulses * m->seen->pulse_s);
}

/* Index of the nearest boundary that an interface belongs to, -1: none. */
static int nearest(const struct matching *m, const struct pe_interface *in)
{
    int found = -1;
    for (size_t k = 0; k < m->boundaries; k++) {
        const struct expected *x = &m->boundary[k];
        if (belongs(m, x, in) && (found < 0 || off(x, in) < off(&m->boundary[found], in)))
            found = (int)k;
    }
    return found;
}

/* Of several interfaces at one boundary the strongest is the boundary's. */
static void match(struct matching *m)
{
    for (int i = 0; i < m->seen->count; i++) {
        const struct pe_interface *in = &m->seen->interfaces[i];
        int k = nearest(m, in);
        if (k < 0)
            continue;
        int before = m->boundary[k].match;
        if (before < 0 || m->seen->interfaces[before].strength < in->strength)
            m->boundary[k].match = i;
    }
}

static bool fits_strength(const struct expected *x, const struct pe_interface *in)
{
    if (!x->strength.known)
        return in->strength < strongest_bond;
    double least = x->strength.value / strength_factor - in->strength_u;
    double most = x->strength.value * strength_factor + in->strength_u;
    bool sign = x->sign == 0 || in->sign == 0 || x->sign == in->sign;
    return sign && in->strength >= least && in->strength <= most;
}

static enum plyecho_boundary_state state_of(const struct matching *m, const struct expected *x)
{
    const struct pe_layers_seen *seen = m->seen;
    if (x->match >= 0)
        return fits_strength(x, &seen->interfaces[x->match]) ? PLYECHO_BOUNDARY_DECLARED
                                                             : PLYECHO_BOUNDARY_OTHER;
    if (x->delay_s < seen->from_s || x->delay_s > seen->to_s)
        return PLYECHO_BOUNDARY_HIDDEN;
    if (!x->strength.known)
        return PLYECHO_BOUNDARY_QUIET;
    return x->strength.value > strength_factor * seen->level ? PLYECHO_BOUNDARY_MISSING
                                                             : PLYECHO_BOUNDARY_FAINT;
}

/* Does a boundary that was seen explain an interface: as its own, as part of a stronger echo, or
 * as its repeat at twice the delay? */
static bool explains(const struct matching *m, const struct expected *x, int i)
{
    const struct pe_interface *in = &m->seen->interfaces[i];
    if (x->match < 0)
        return false;
    const struct pe_interface *own = &m->seen->interfaces[x->match];
    double near = most_off_pulses * m->seen->pulse_s;
    if (x->match == i)
        return true;
    if (in->strength >= own->strength)
        return false;
    return fabs(in->delay_s - own->delay_s) < 2.0 * near ||
           (fabs(in->delay_s - 2.0 * own->delay_s) < near &&
            in->strength < own->strength * own->strength);
}

static bool all_explained(const struct matching *m)
{
    for (int i = 0; i < m->seen->count; i++) {
        bool explained = false;
        for (size_t k = 0; k < m->boundaries; k++)
            explained |= explains(m, &m->boundary[k], i);
        if (!explained)
            return false;
    }
    return true;
}

/* ---- groups and their thickness ---- */

/* Group of layers first to last with the delays of its faces and the variances of those. */
static void add_group(const struct matching *m, size_t first, size_t last, double from_s,
                      double to_s, double face_variance, struct plyecho_layer_reading *r)
{
    struct plyecho_mixed_velocity mix =
        plyecho_layers_velocity(m->layer + first, last - first + 1);
    struct plyecho_layer_group g = {.first = first,
                                    .last = last,
                                    .from_s = from_s,
                                    .to_s = to_s,
                                    .velocity_m_s = mix.velocity_m_s};
    double time = to_s - from_s;
    g.measured = to_s > 0.0 && time > 0.0;
    for (size_t k = first; k <= last; k++)
        g.thickness_m += m->layer[k].thickness_m;
    if (g.measured) {
        g.thickness_m = 0.5 * mix.velocity_m_s * time;
        g.thickness_u = (struct plyecho_known){
            mix.u_known,
            sqrt(square(0.5 * time) * (square(mix.own_u_m_s) + square(mix.shared_u_m_s)) +
                 square(0.5 * mix.velocity_m_s) * face_variance)};
    }
    r->group[r->groups++] = g;
}

/* Layers thinner than the pulse, between the two halves of a boundary that was seen. */
static void add_thin(const struct matching *m, const struct expected *x, double middle_s,
                     struct plyecho_layer_reading *r)
{
    if (x->below - x->above < 2)
        return;
    add_group(m, x->above + 1, x->below - 1, middle_s - x->half_width_s,
              middle_s + x->half_width_s, 0.0, r);
    struct plyecho_layer_group *g = &r->group[r->groups - 1];
    g->measured = false;
    g->thickness_u = (struct plyecho_known){false, 0.0};
    g->thickness_m = 0.0;
    for (size_t k = g->first; k <= g->last; k++)
        g->thickness_m += m->layer[k].thickness_m;
}

static double half_width_variance(const struct matching *m, const struct expected *x)
{
    double sum = 0.0;
    for (size_t k = x->above + 1; k < x->below; k++)
        sum += variance(&m->layer[k]);
    return 0.25 * sum;
}

static void measure_groups(const struct matching *m, struct plyecho_layer_reading *r)
{
    size_t first = 0;
    double from = 0.0, from_variance = 0.0;
    for (size_t k = 0; k < m->boundaries; k++) {
        const struct expected *x = &m->boundary[k];
        if (x->match < 0)
            continue;
        const struct pe_interface *in = &m->seen->interfaces[x->match];
        double middle = in->delay_s - (in->of_middle ? 0.0 : x->late_s);
        double to_variance = square(in->u_s) + place_variance(x) + half_width_variance(m, x);
        add_group(m, first, x->above, from, middle - x->half_width_s,
                  from_variance + to_variance, r);
        add_thin(m, x, middle, r);
        first = x->below;
        from = middle + x->half_width_s;
        from_variance = to_variance;
    }
    double back_variance = square(m->seen->transit_u_s);
    add_group(m, first, m->layers - 1, from, m->seen->transit_s, from_variance + back_variance,
              r);
}

/* What the thin layers between two groups add to the variance of the sum: they take time from both
 * and add their thickness. */
static double thin_variance(const struct matching *m, const struct plyecho_layer_group *thin,
                            double around)
{
    double sum = 0.0;
    for (size_t k = thin->first; k <= thin->last; k++) {
        const struct plyecho_declared_layer *l = &m->layer[k];
        double v = l->velocity_m_s.value;
        double u_v = l->velocity_u_m_s.known ? l->velocity_u_m_s.value : 0.0;
        sum += square((1.0 - around / v) * l->thickness_u_m.value) +
               square(around * l->thickness_m / (v * v) * u_v);
    }
    return sum;
}

/* Thickness of the wall: the sum over the groups, with what each uncertain quantity does to it. A
 * boundary's time counts only as far as the velocities differ. */
static void measure_wall(const struct matching *m, struct plyecho_layer_reading *r)
{
    double sum = 0.0, var = 0.0, shared = 0.0;
    bool known = true;
    const struct plyecho_layer_group *before = NULL;
    for (size_t k = 0; k < r->groups; k++) {
        const struct plyecho_layer_group *g = &r->group[k];
        sum += g->thickness_m;
        if (!g->measured && k + 1 < r->groups) {
            const struct plyecho_layer_group *after = &r->group[k + 1];
            double around = before != NULL ? 0.5 * (before->velocity_m_s + after->velocity_m_s)
                                           : after->velocity_m_s;
            var += thin_variance(m, g, around);
            continue;
        }
        if (!g->measured)
            return;
        struct plyecho_mixed_velocity mix =
            plyecho_layers_velocity(m->layer + g->first, g->last - g->first + 1);
        double half = 0.5 * (g->to_s - g->from_s);
        known &= mix.u_known;
        var += square(half * mix.own_u_m_s);
        shared += half * mix.shared_u_m_s;
        before = g;
    }
    var += square(0.5 * r->group[r->groups - 1].velocity_m_s * m->seen->transit_u_s);
    for (size_t k = 0; k < m->boundaries; k++) {
        const struct expected *x = &m->boundary[k];
        if (x->match < 0)
            continue;
        double step = 0.5 * (m->layer[x->above].velocity_m_s.value -
                             m->layer[x->below].velocity_m_s.value);
        var += square(step) * (square(m->seen->interfaces[x->match].u_s) + place_variance(x));
    }
    r->wall_m = (struct plyecho_known){true, sum};
    r->wall_u = (struct plyecho_known){known, sqrt(var + square(shared))};
}

/* ---- all of it ---- */

static void start(const struct plyecho_layers *layers, const struct pe_layers_seen *seen,
                  struct matching *m)
{
    size_t coats = plyecho_layers_coats(layers);
    *m = (struct matching){
        .layer = layers->items + coats, .layers = layers->count - coats, .seen = seen};
    if (m->layers > 0)
        expect(m);
}

static void tell_boundaries(const struct matching *m, struct plyecho_layer_reading *r)
{
    r->boundaries = m->boundaries;
    double depth = 0.0;
    for (size_t k = 0, layer = 0; k < m->boundaries; k++) {
        const struct expected *x = &m->boundary[k];
        for (; layer <= x->above; layer++)
            depth += m->layer[layer].thickness_m;
        r->boundary[k] = (struct plyecho_boundary){
            .above = x->above,
            .below = x->below,
            .state = state_of(m, x),
            .declared_m = depth,
            .expected = x->strength,
            .strength = x->match < 0 ? 0.0 : m->seen->interfaces[x->match].strength,
            .reportable = {true, m->seen->level},
        };
    }
}

/* The coats' time of flight, as if it were the wall's. */
static void tell_coats(const struct plyecho_layers *layers, struct plyecho_layer_reading *r)
{
    double time = 0.0;
    for (size_t k = 0; k < plyecho_layers_coats(layers); k++) {
        r->coat_m =
            (struct plyecho_known){true, r->coat_m.value + layers->items[k].thickness_m};
        time += there_and_back(&layers->items[k]);
    }
    r->coat_as_wall_m = 0.5 * r->group[0].velocity_m_s * time;
}

void pe_layers_read(const struct plyecho_layers *layers, const struct pe_layers_seen *seen,
                    struct plyecho_layer_reading *r)
{
    struct matching m;
    memset(r, 0, sizeof *r);
    start(layers, seen, &m);
    if (m.layers == 0)
        return;
    match(&m);
    r->count = m.layers;
    for (size_t k = 0; k < m.layers; k++) {
        memcpy(r->names[k], m.layer[k].name, sizeof r->names[k]);
        r->declared_m[k] = m.layer[k].thickness_m;
    }
    tell_boundaries(&m, r);
    r->undeclared = !all_explained(&m);
    measure_groups(&m, r);
    measure_wall(&m, r);
    tell_coats(layers, r);
}

double pe_layers_depth(const struct plyecho_layer_reading *r, double delay_s)
{
    double depth = 0.0;
    for (size_t k = 0; k < r->groups; k++) {
        const struct plyecho_layer_group *g = &r->group[k];
        if (k + 1 == r->groups || delay_s <= g->to_s)
            return depth + 0.5 * g->velocity_m_s * (delay_s - g->from_s);
        depth += g->thickness_m;
    }
    return depth;
}

int pe_layers_boundary_at(const struct plyecho_layers *layers,
                          const struct pe_layers_seen *seen, double delay_s, double u_s)
{
    struct matching m;
    start(layers, seen, &m);
    const struct pe_interface there = {.delay_s = delay_s, .u_s = u_s};
    return m.layers > 0 ? nearest(&m, &there) : -1;
}
