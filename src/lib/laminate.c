#include <plyecho/laminate.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "pi.h"
#include "units.h"

double plyecho_reflection(double from_rayl, double to_rayl)
{
    return (to_rayl - from_rayl) / (to_rayl + from_rayl);
}

/* What all layers share at one frequency. */
struct tone {
    double complex s;
    double complex
        loss; /* x attenuation: what loss and its dispersion take off s/c0, per metre */
};

/* s ln(s/w0) (2/pi) (1/2pi): the second factor turns Np/m/Hz into Np/m per rad/s. At s = 0 the
 * logarithm loses against s. */
static struct tone tone_at(double complex s, double reference_frequency_hz)
{
    struct tone tone = {s, 0.0};
    if (s != 0.0)
        tone.loss = s * clog(s / (2.0 * PE_PI * reference_frequency_hz)) / (PE_PI * PE_PI);
    return tone;
}

/* Propagation over `path_m` in the layer's material. */
static double complex propagate(const struct plyecho_layer *layer, double path_m,
                                const struct tone *tone)
{
    return cexp(-path_m *
                (tone->s / layer->velocity_m_s - layer->attenuation_np_m_hz * tone->loss));
}

/* Reflection at the upper face of a layer, from that at its lower face. */
static double complex climb(const struct plyecho_layer *layer, double above_rayl,
                            double complex below, const struct tone *tone)
{
    if (isinf(layer->thickness_m))
        return plyecho_reflection(above_rayl, layer->impedance_rayl);
    double r = plyecho_reflection(above_rayl, layer->impedance_rayl);
    double complex returned = below * propagate(layer, 2.0 * layer->thickness_m, tone);
    return (r + returned) / (1.0 + r * returned);
}

/* Impedance of what lies in front of layer `index`, if it is in its place in the stack. */
static double above(const struct plyecho_stack *stack, size_t index)
{
    return index == 0 ? stack->front_impedance_rayl : stack->layers[index - 1].impedance_rayl;
}

/* From the lower face of layer `end - 1`, where `gamma` is known, up to the face of layer
 * `first`, in front of which is top_rayl. */
static double complex climb_layers(const struct plyecho_stack *stack, size_t first, size_t end,
                                   double top_rayl, double complex gamma,
                                   const struct tone *tone)
{
    for (size_t i = end; i-- > first;)
        gamma = climb(&stack->layers[i], i == first ? top_rayl : above(stack, i), gamma, tone);
    return gamma;
}

/* Reflection of everything from layer `first` down, seen from a medium of top_rayl. */
static double complex reflection_below(const struct plyecho_stack *stack, size_t first,
                                       double top_rayl, const struct tone *tone)
{
    double last = first == stack->count ? top_rayl : above(stack, stack->count);
    double complex gamma = plyecho_reflection(last, stack->behind_impedance_rayl);
    return climb_layers(stack, first, stack->count, top_rayl, gamma, tone);
}

static double complex reflection_with_gap(const struct plyecho_stack *stack,
                                          const struct tone *tone)
{
    const struct plyecho_gap *gap = &stack->gap;
    double complex gamma = 0.0;
    if (!isinf(gap->filling.thickness_m))
        gamma = reflection_below(stack, gap->after, gap->filling.impedance_rayl, tone);
    gamma = climb(&gap->filling, above(stack, gap->after), gamma, tone);
    return climb_layers(stack, 0, gap->after, stack->front_impedance_rayl, gamma, tone);
}

double complex plyecho_stack_reflection(const struct plyecho_stack *stack, double complex s)
{
    struct tone tone = tone_at(s, stack->reference_frequency_hz);
    double cover = stack->gap.cover;
    double complex gamma = 0.0;
    if (cover < 1.0)
        gamma = (1.0 - cover) * reflection_below(stack, 0, stack->front_impedance_rayl, &tone);
    if (cover > 0.0)
        gamma += cover * reflection_with_gap(stack, &tone);
    return gamma;
}

double complex plyecho_stack_transmission(const struct plyecho_stack *stack, double complex s)
{
    struct tone tone = tone_at(s, stack->reference_frequency_hz);
    double complex gamma =
        plyecho_reflection(above(stack, stack->count), stack->behind_impedance_rayl);
    double complex passed = 1.0 + gamma;
    for (size_t i = stack->count; i-- > 0;) {
        const struct plyecho_layer *layer = &stack->layers[i];
        double r = plyecho_reflection(above(stack, i), layer->impedance_rayl);
        double complex once = propagate(layer, layer->thickness_m, &tone);
        double complex returned = gamma * once * once;
        passed *= (1.0 + r) * once / (1.0 + r * returned);
        gamma = (r + returned) / (1.0 + r * returned);
    }
    return passed;
}

/* The phase of the transmission is known but for whole turns; the sum of the layers' own
 * transit times is near enough to count these. */
double plyecho_layers_transit_s(const struct plyecho_layer *layers, size_t count,
                                double reference_frequency_hz, double frequency_hz)
{
    if (count == 0)
        return 0.0;
    struct plyecho_stack stack = {
        .front_impedance_rayl = layers[0].impedance_rayl,
        .layers = layers,
        .count = count,
        .behind_impedance_rayl = layers[count - 1].impedance_rayl,
        .reference_frequency_hz = reference_frequency_hz,
    };
    double omega = 2.0 * PE_PI * frequency_hz;
    double slowing = log(frequency_hz / reference_frequency_hz) / (PE_PI * PE_PI);
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += layers[i].thickness_m *
               (1.0 / layers[i].velocity_m_s - layers[i].attenuation_np_m_hz * slowing);
    double phase = -carg(plyecho_stack_transmission(&stack, I * omega));
    return sum + remainder(phase - omega * sum, 2.0 * PE_PI) / omega;
}

double plyecho_layers_thickness_m(const struct plyecho_layer *layers, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += layers[i].thickness_m;
    return sum;
}

double plyecho_attenuation_from_db_mm_mhz(double attenuation_db_mm_mhz)
{
    return attenuation_db_mm_mhz / PE_DB_PER_NP * 1e3 / 1e6;
}

static double to_db_mm_mhz(double attenuation_np_m_hz)
{
    return attenuation_np_m_hz * PE_DB_PER_NP * 1e6 / 1e3;
}

static enum plyecho_code check_positive(double value, const char *what, const char *unit,
                                        struct plyecho_error *err)
{
    if (isfinite(value) && value > 0.0)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%s is %g %s; it must be above 0", what,
                        value, unit);
}

static enum plyecho_code check_layer(const struct plyecho_layer *layer, const char *name,
                                     bool endless, struct plyecho_error *err)
{
    if (!(isfinite(layer->impedance_rayl) && layer->impedance_rayl > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%s has an impedance of %g MRayl; it must be above 0", name,
                            layer->impedance_rayl / 1e6);
    if (!(isfinite(layer->velocity_m_s) && layer->velocity_m_s > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%s has a velocity of %g m/s; it must be above 0", name,
                            layer->velocity_m_s);
    if (!(isfinite(layer->attenuation_np_m_hz) && layer->attenuation_np_m_hz >= 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%s has an attenuation of %g dB/mm/MHz; it must not be negative",
                            name, to_db_mm_mhz(layer->attenuation_np_m_hz));
    if (!(layer->thickness_m >= 0.0 && (endless || isfinite(layer->thickness_m))))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%s is %g mm thick; it must be finite and not negative", name,
                            layer->thickness_m * 1e3);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_stack_check(const struct plyecho_stack *stack,
                                      struct plyecho_error *err)
{
    enum plyecho_code code =
        check_positive(stack->front_impedance_rayl, "the impedance in front", "Rayl", err);
    if (code == PLYECHO_OK)
        code =
            check_positive(stack->behind_impedance_rayl, "the impedance behind", "Rayl", err);
    if (code == PLYECHO_OK)
        code =
            check_positive(stack->reference_frequency_hz, "the reference frequency", "Hz", err);
    for (size_t i = 0; code == PLYECHO_OK && i < stack->count; i++) {
        char name[40];
        snprintf(name, sizeof name, "layer %zu", i + 1);
        code = check_layer(&stack->layers[i], name, false, err);
    }
    const struct plyecho_gap *gap = &stack->gap;
    if (code == PLYECHO_OK && !(gap->cover >= 0.0 && gap->cover <= 1.0))
        code =
            plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                         "the gap covers %g of the beam; give a share from 0 to 1", gap->cover);
    if (code == PLYECHO_OK && gap->cover > 0.0) {
        if (gap->after > stack->count)
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "a gap after layer %zu, but there are %zu layers", gap->after,
                                stack->count);
        code = check_layer(&gap->filling, "the gap", true, err);
    }
    return code;
}
