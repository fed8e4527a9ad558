#include "truth.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "memory.h"

/* Labels being written; keeps the first error. */
struct writer {
    struct plyecho_labels *labels;
    enum plyecho_code code;
    struct plyecho_error *err;
};

static void put_text(struct writer *writer, const char *key, const char *value)
{
    if (writer->code == PLYECHO_OK)
        writer->code = plyecho_labels_set(writer->labels, key, 0, value, writer->err);
}

/* Computed values carry no more digits than they are worth. */
static void put(struct writer *writer, const char *key, double value)
{
    char text[40];
    snprintf(text, sizeof text, "%.9g", value);
    put_text(writer, key, text);
}

static void put_list(struct writer *writer, const char *key, const struct option_texts *texts)
{
    size_t size = 1;
    for (size_t i = 0; i < texts->count; i++)
        size += strlen(texts->items[i]) + 1;
    char *all = memory_take(size, 1), *end = all;
    for (size_t i = 0; i < texts->count; i++)
        end += sprintf(end, "%s%s", i == 0 ? "" : " ", texts->items[i]);
    put_text(writer, key, all);
    free(all);
}

static void put_wall(struct writer *writer, const struct case_values *own,
                     const struct layup *layup, const struct layup_stack *stack,
                     double centre_hz)
{
    const struct plyecho_layer *wall = stack->layers + stack->wall;
    size_t count = stack->stack.count - stack->wall;
    double reference_hz = stack->stack.reference_frequency_hz;
    double transit = plyecho_layers_transit_s(wall, stack->first_part, reference_hz, centre_hz);
    double whole = plyecho_layers_transit_s(wall, count, reference_hz, centre_hz);
    put_list(writer, "truth_layers", &own->layup.layers);
    if (own->layup.coats.count > 0)
        put_list(writer, "truth_coat", &own->layup.coats);
    put(writer, "truth_thickness_mm", layup_thickness_m(layup) * 1e3);
    put(writer, "truth_velocity_m_s",
        plyecho_layers_thickness_m(wall, stack->first_part) / transit);
    put(writer, "truth_tof_us", 2.0 * whole * 1e6);
}

/* KEY=VALUE, as the user gave it. */
static void put_given(struct writer *writer, const struct option_texts *texts)
{
    for (size_t i = 0; i < texts->count && writer->code == PLYECHO_OK; i++) {
        const char *text = texts->items[i], *equals = strchr(text, '=');
        if (equals == NULL || equals == text) {
            writer->code =
                plyecho_fail(writer->err, PLYECHO_BAD_ARGUMENT,
                             "--label \"%.60s\": give KEY=VALUE, such as part=tube-3", text);
            return;
        }
        char *key = memory_text(text);
        key[equals - text] = '\0';
        put_text(writer, key, equals + 1);
        free(key);
    }
}

enum plyecho_code truth_of_channel(const struct case_values *own,
                                   const struct case_values *base, const struct layup *layup,
                                   const struct layup_stack *stack,
                                   const struct plyecho_setup *setup,
                                   const struct plyecho_simulated *simulated,
                                   struct plyecho_labels *labels, struct plyecho_error *err)
{
    struct writer writer = {labels, PLYECHO_OK, err};
    if (own->layup.layers.count > 0)
        put_wall(&writer, own, layup, stack, setup->pulse.centre_hz);
    else
        put(&writer, "reference_reflection", -1.0);
    if (layup->has_gap && layup->gap.cover > 0.0) {
        put(&writer, "truth_depth_mm", layup->gap_depth_m * 1e3);
        put(&writer, "truth_cover", layup->gap.cover);
    }
    put(&writer, "truth_interface_us", simulated->interface_s * 1e6);
    if (simulated->noise_level > 0.0)
        put(&writer, "truth_snr_db",
            20.0 * log10(simulated->peak_level / simulated->noise_level));
    put(&writer, "seed", (double)own->seed.value);
    put_given(&writer, &base->labels);
    put_given(&writer, &own->labels);
    return writer.code;
}

static bool same_in_all(const struct plyecho_labels *channels, size_t count,
                        const struct plyecho_label *label)
{
    for (size_t i = 0; i < count; i++) {
        const char *value = plyecho_labels_get(&channels[i], label->key, 0);
        if (value == NULL || strcmp(value, label->value) != 0)
            return false;
    }
    return true;
}

enum plyecho_code truth_join(const struct plyecho_labels *channels, size_t count,
                             struct plyecho_labels *file, struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    for (size_t channel = 0; channel < count; channel++)
        for (size_t i = 0; code == PLYECHO_OK && i < channels[channel].count; i++) {
            const struct plyecho_label *label = &channels[channel].items[i];
            bool common = same_in_all(channels, count, label);
            if (!common || channel == 0)
                code = plyecho_labels_set(file, label->key, common ? 0 : channel + 1,
                                          label->value, err);
        }
    return code;
}
