#include "layup.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/media.h>
#include <plyecho/number.h>

#include "memory.h"
#include "suggest.h"

#define OFFSET(member) offsetof(struct layup_values, member)

const struct option layup_part_options[] = {
    {.name = "layer",
     .kind = OPTION_TEXTS,
     .argument = "LAYER",
     .offset = OFFSET(layers),
     .help = "a layer of the wall, from the probe's side on: NAME:MM, such "
             "as carbon:3.2, with a medium of the list below; and behind a comma, or alone, "
             "z= impedance in MRayl, v= velocity in m/s, a= attenuation in dB/mm/MHz one way, "
             "d= thickness in mm, plies= number of plies, film= resin between them in mm, "
             "scatter= of the plies and film-scatter= of the films over their mean"},
    {.name = "coat",
     .kind = OPTION_TEXTS,
     .argument = "LAYER",
     .offset = OFFSET(coats),
     .help = "a coat in front of the wall, such as filler:0.3; not counted as wall"},
    {.name = "behind",
     .kind = OPTION_TEXT,
     .argument = "MEDIUM",
     .offset = OFFSET(behind),
     .help = "medium behind the wall, without end; air where not given"},
    {.name = NULL},
};

const struct option layup_options[] = {
    {.name = "", .kind = OPTION_GROUP, .group = layup_part_options, .offset = 0},
    {.name = "gap-after",
     .kind = OPTION_COUNT,
     .argument = "N",
     .offset = OFFSET(gap_after),
     .help = "a gap behind the N-th --layer; 0 is in front of the wall"},
    {.name = "gap-depth",
     .kind = OPTION_NUMBER,
     .argument = "MM",
     .offset = OFFSET(gap_depth_mm),
     .range = OPTION_AT_LEAST,
     .least = 0.0,
     .help = "a gap at this depth below the wall's front instead"},
    {.name = "cover",
     .kind = OPTION_NUMBER,
     .argument = "SHARE",
     .offset = OFFSET(cover),
     .range = OPTION_BETWEEN,
     .least = 0.0,
     .most = 1.0,
     .has_preset = true,
     .preset = 1.0,
     .help = "share of the beam that the gap covers"},
    {.name = "gap-fill",
     .kind = OPTION_TEXT,
     .argument = "LAYER",
     .offset = OFFSET(gap_fill),
     .help = "what fills the gap, such as water:0.005; without it, air so wide that nothing "
             "comes through"},
    {.name = "uncoupled",
     .kind = OPTION_FLAG,
     .offset = OFFSET(uncoupled),
     .help = "the probe is in air: without --layer a pulse reference, with it a dry place"},
    {.name = NULL},
};

/* Numbers of a layer by key. */
struct key {
    const char *name;
    double scale;  /* from the unit of the text */
    size_t offset; /* into struct plyecho_plies, a double */
    double least;
    bool above; /* greater than least; else that or more */
};

static const struct key keys[] = {
    {"z", 1e6, offsetof(struct plyecho_plies, wall.impedance_rayl), 0.0, true},
    {"v", 1.0, offsetof(struct plyecho_plies, wall.velocity_m_s), 0.0, true},
    {"a", 1e-3, offsetof(struct plyecho_plies, wall.attenuation_np_m_hz), 0.0, false},
    {"d", 1e-3, offsetof(struct plyecho_plies, wall.thickness_m), 0.0, true},
    {"scatter", 1.0, offsetof(struct plyecho_plies, ply_scatter), 0.0, false},
    {"film-scatter", 1.0, offsetof(struct plyecho_plies, film_scatter), 0.0, false},
};

/* One item of a layer's text. */
struct item {
    const char *text;
    size_t size;
};

enum { ITEM_ROOM = 64, MAX_PLIES = 10000 };

static enum plyecho_code misread(const struct item *item, struct plyecho_error *err)
{
    return plyecho_fail(
        err, PLYECHO_BAD_ARGUMENT,
        "\"%.*s\" is no part of a layer: give NAME:MM, or z=, v=, a=, d=, plies=, "
        "film=, scatter= or film-scatter= and a number with a decimal point",
        (int)(item->size < ITEM_ROOM ? item->size : ITEM_ROOM), item->text);
}

static bool number_of(const char *text, size_t size, double *value)
{
    char copy[ITEM_ROOM];
    if (size >= sizeof copy)
        return false;
    memcpy(copy, text, size);
    copy[size] = '\0';
    return plyecho_number_parse(copy, value, NULL) == PLYECHO_OK;
}

static enum plyecho_code find_medium(const char *name, size_t size,
                                     const struct plyecho_medium **medium,
                                     struct plyecho_error *err)
{
    char copy[ITEM_ROOM], known[320] = "";
    snprintf(copy, sizeof copy, "%.*s", (int)(size < sizeof copy ? size : sizeof copy), name);
    *medium = plyecho_medium_find(copy);
    if (*medium != NULL)
        return PLYECHO_OK;
    struct suggestion nearest = {NULL, SIZE_MAX};
    for (size_t i = 0; plyecho_medium_at(i) != NULL; i++) {
        const char *other = plyecho_medium_at(i)->name;
        suggest_offer(&nearest, copy, other);
        size_t used = strlen(known);
        snprintf(known + used, sizeof known - used, "%s%s", i == 0 ? "" : ", ", other);
    }
    if (nearest.word != NULL)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "\"%s\" is no medium of the list; the nearest is %s", copy,
                            nearest.word);
    return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "\"%s\" is no medium of the list: %s", copy,
                        known);
}

/* NAME or NAME:MM */
static enum plyecho_code read_named(const struct item *item, struct plyecho_layer *layer,
                                    struct plyecho_error *err)
{
    const char *colon = memchr(item->text, ':', item->size);
    size_t name = colon != NULL ? (size_t)(colon - item->text) : item->size;
    const struct plyecho_medium *medium;
    double mm = 0.0;
    if (name == 0)
        return misread(item, err);
    if (colon != NULL && !(number_of(colon + 1, item->size - name - 1, &mm) && mm > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "\"%.*s\": give the thickness in mm behind the colon, above 0",
                            (int)item->size, item->text);
    enum plyecho_code code = find_medium(item->text, name, &medium, err);
    if (code == PLYECHO_OK)
        *layer = plyecho_medium_layer(medium, mm * 1e-3);
    return code;
}

static enum plyecho_code read_film(const struct item *value, struct plyecho_layer *film,
                                   struct plyecho_error *err)
{
    double mm;
    if (!number_of(value->text, value->size, &mm))
        return read_named(value, film, err);
    if (!(mm >= 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "film=%g: it must not be negative", mm);
    *film = plyecho_medium_layer(plyecho_medium_find("epoxy"), mm * 1e-3);
    return PLYECHO_OK;
}

static enum plyecho_code read_plies(const struct item *value, size_t *plies,
                                    struct plyecho_error *err)
{
    double number;
    if (!number_of(value->text, value->size, &number) || number != floor(number) ||
        number < 1.0 || number > MAX_PLIES)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "plies=%.*s: give a whole number from 1 to %d", (int)value->size,
                            value->text, MAX_PLIES);
    *plies = (size_t)number;
    return PLYECHO_OK;
}

static enum plyecho_code read_key(const struct key *key, const struct item *value,
                                  struct plyecho_plies *layer, struct plyecho_error *err)
{
    double number;
    if (!number_of(value->text, value->size, &number) ||
        !(key->above ? number > key->least : number >= key->least))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "%s=%.*s: give a number %s %g",
                            key->name, (int)value->size, value->text,
                            key->above ? "above" : "of at least", key->least);
    if (strcmp(key->name, "a") == 0)
        number = plyecho_attenuation_from_db_mm_mhz(number) / key->scale;
    *(double *)((char *)layer + key->offset) = number * key->scale;
    return PLYECHO_OK;
}

static enum plyecho_code read_item(const struct item *item, struct plyecho_plies *layer,
                                   struct plyecho_error *err)
{
    const char *equals = memchr(item->text, '=', item->size);
    if (equals == NULL)
        return misread(item, err);
    size_t name = (size_t)(equals - item->text);
    struct item value = {equals + 1, item->size - name - 1};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        if (strlen(keys[i].name) == name && memcmp(keys[i].name, item->text, name) == 0)
            return read_key(&keys[i], &value, layer, err);
    if (name == 4 && memcmp(item->text, "film", 4) == 0)
        return read_film(&value, &layer->film, err);
    if (name == 5 && memcmp(item->text, "plies", 5) == 0)
        return read_plies(&value, &layer->count, err);
    return misread(item, err);
}

enum plyecho_code layup_read_layer(const char *text, bool needs_thickness,
                                   struct plyecho_plies *layer, struct plyecho_error *err)
{
    *layer = (struct plyecho_plies){.count = 1};
    layer->film = plyecho_medium_layer(plyecho_medium_find("epoxy"), 0.0);
    for (const char *next = text; next != NULL;) {
        struct item item = {next, strcspn(next, ",")};
        enum plyecho_code code;
        if (next == text && memchr(item.text, '=', item.size) == NULL)
            code = read_named(&item, &layer->wall, err);
        else
            code = read_item(&item, layer, err);
        if (code != PLYECHO_OK)
            return code;
        next = next[item.size] == ',' ? next + item.size + 1 : NULL;
    }
    if (layer->wall.impedance_rayl == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "\"%s\" has no medium; begin with a NAME "
                            "or give z= in MRayl",
                            text);
    if (needs_thickness && layer->wall.thickness_m == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "\"%s\" has no thickness; give NAME:MM or d= in mm", text);
    if (needs_thickness && layer->wall.velocity_m_s == 0.0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "\"%s\" has no velocity; begin with a NAME or give v= in m/s",
                            text);
    return PLYECHO_OK;
}

static enum plyecho_code read_list(const struct option_texts *texts,
                                   struct plyecho_plies *items, struct plyecho_error *err)
{
    for (size_t i = 0; i < texts->count; i++) {
        enum plyecho_code code = layup_read_layer(texts->items[i], true, &items[i], err);
        if (code != PLYECHO_OK)
            return code;
    }
    return PLYECHO_OK;
}

/* Depth of the back of the wall's first `count` layers. */
static double depth_m(const struct layup *layup, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += layup->items[layup->coats + i].wall.thickness_m;
    return sum;
}

double layup_thickness_m(const struct layup *layup)
{
    return depth_m(layup, layup->count - layup->coats);
}

static enum plyecho_code read_gap(const struct layup_values *values, struct layup *layup,
                                  struct plyecho_error *err)
{
    layup->has_gap = values->gap_after.set || values->gap_depth_mm.set;
    if (!layup->has_gap) {
        if (values->cover.set || values->gap_fill.set)
            return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                                "--cover and --gap-fill need --gap-after or --gap-depth");
        return PLYECHO_OK;
    }
    if (values->gap_after.set && values->gap_depth_mm.set)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "give --gap-after or --gap-depth, not both");
    size_t layers = layup->count - layup->coats;
    if (values->gap_after.set && values->gap_after.value > layers)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "--gap-after %llu: there are %zu layers",
                            values->gap_after.value, layers);
    layup->gap_depth_m = values->gap_after.set ? depth_m(layup, (size_t)values->gap_after.value)
                                               : values->gap_depth_mm.value * 1e-3;
    if (layup->gap_depth_m > layup_thickness_m(layup) * (1.0 + 1e-9))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "--gap-depth %g lies behind the wall of %g mm",
                            layup->gap_depth_m * 1e3, layup_thickness_m(layup) * 1e3);
    layup->gap.cover = values->cover.value;
    struct plyecho_plies filling;
    const char *fill = values->gap_fill.set ? values->gap_fill.value : "air";
    enum plyecho_code code = layup_read_layer(fill, values->gap_fill.set, &filling, err);
    layup->gap.filling = filling.wall;
    if (!values->gap_fill.set)
        layup->gap.filling.thickness_m = INFINITY;
    return code;
}

enum plyecho_code layup_read(const struct layup_values *values, struct layup *layup,
                             struct plyecho_error *err)
{
    *layup = (struct layup){.coats = values->coats.count, .uncoupled = values->uncoupled};
    layup->count = values->coats.count + values->layers.count;
    if (values->layers.count == 0 && !values->uncoupled)
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "no wall: give --layer, such as --layer carbon:3.2, or --uncoupled");
    layup->items = memory_take(layup->count, sizeof *layup->items);
    enum plyecho_code code = read_list(&values->coats, layup->items, err);
    if (code == PLYECHO_OK)
        code = read_list(&values->layers, layup->items + layup->coats, err);
    if (code == PLYECHO_OK)
        code = read_gap(values, layup, err);
    struct plyecho_plies behind;
    if (code == PLYECHO_OK)
        code = layup_read_layer(values->behind.set ? values->behind.value : "air", false,
                                &behind, err);
    if (code == PLYECHO_OK)
        layup->behind_rayl = behind.wall.impedance_rayl;
    else
        layup_clear(layup);
    return code;
}

void layup_clear(struct layup *layup)
{
    free(layup->items);
    layup->items = NULL;
}

struct plyecho_stack layup_in_air(const struct plyecho_stack *stack)
{
    struct plyecho_layer air = plyecho_medium_layer(plyecho_medium_find("air"), 0.0);
    return (struct plyecho_stack){.front_impedance_rayl = stack->front_impedance_rayl,
                                  .behind_impedance_rayl = air.impedance_rayl,
                                  .reference_frequency_hz = stack->reference_frequency_hz};
}

void layup_stack_clear(struct layup_stack *stack)
{
    free(stack->layers);
    stack->layers = NULL;
}

/* Put the gap behind the layer that ends at its depth; cut a layer in two where none does. */
static void place_gap(const struct layup *layup, struct layup_stack *stack)
{
    struct plyecho_layer *layers = stack->layers;
    const double touch_m = 1e-10;
    double left = layup->gap_depth_m;
    size_t i = stack->wall;
    while (i < stack->stack.count && left > layers[i].thickness_m - touch_m)
        left -= layers[i++].thickness_m;
    if (left > touch_m && i < stack->stack.count) {
        memmove(&layers[i + 1], &layers[i], (stack->stack.count - i) * sizeof *layers);
        layers[i].thickness_m = left;
        layers[i + 1].thickness_m -= left;
        stack->stack.count++;
        stack->first_part += i < stack->wall + stack->first_part;
        i++;
    }
    stack->stack.gap = layup->gap;
    stack->stack.gap.after = i;
}

enum plyecho_code layup_build(const struct layup *layup, unsigned long seed, double front_rayl,
                              double reference_hz, struct layup_stack *stack,
                              struct plyecho_error *err)
{
    size_t room = 1;
    for (size_t i = 0; i < layup->count; i++)
        room += plyecho_plies_layers(layup->items[i].count);
    *stack = (struct layup_stack){.layers = memory_take(room, sizeof *stack->layers)};
    size_t count = 0;
    for (size_t i = 0; i < layup->count; i++) {
        /* a stream of its own for each layer, apart from the noise of the same seed */
        unsigned long own = (seed + 7919UL * (i + 1)) ^ 0x5bd1e995UL;
        enum plyecho_code code =
            plyecho_plies_lay(&layup->items[i], own, stack->layers + count, err);
        if (code != PLYECHO_OK) {
            layup_stack_clear(stack);
            return code;
        }
        count += plyecho_plies_layers(layup->items[i].count);
        if (i + 1 == layup->coats)
            stack->wall = count;
        if (i == layup->coats)
            stack->first_part = count - stack->wall;
    }
    stack->stack = (struct plyecho_stack){.front_impedance_rayl = front_rayl,
                                          .layers = stack->layers,
                                          .count = count,
                                          .behind_impedance_rayl = layup->behind_rayl,
                                          .reference_frequency_hz = reference_hz};
    if (layup->has_gap)
        place_gap(layup, stack);
    return plyecho_stack_check(&stack->stack, err);
}
