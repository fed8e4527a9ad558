#include <config.h>

#include "layer_cells.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>

/* Append to a text of that room. */
static void add(char *text, size_t room, const char *format, ...) PLYECHO_PRINTF(3, 4);

static void add(char *text, size_t room, const char *format, ...)
{
    size_t used = strlen(text);
    va_list args;
    va_start(args, format);
    vsnprintf(text + used, room - used, format, args);
    va_end(args);
}

/* A name as a JSON string; it holds no control characters and no quotes. */
static void add_name(char *text, size_t room, const char *name)
{
    add(text, room, "\"");
    for (; *name != '\0'; name++)
        add(text, room, *name == '\\' ? "\\%c" : "%c", *name);
    add(text, room, "\"");
}

/* In millimetres to significant digits, or where u_m is above 0 to a hundredth of that. */
static void add_number(char *text, size_t room, bool known, double m, double u_m, int digits)
{
    char rounded[400], number[PLYECHO_NUMBER_ROOM];
    if (!known)
        return;
    if (u_m > 0.0)
        snprintf(rounded, sizeof rounded, "%.*f", table_places(u_m * 1e3), m * 1e3);
    else
        snprintf(rounded, sizeof rounded, "%.*e", digits - 1, m * 1e3);
    add(text, room, "%s", plyecho_number_format(strtod(rounded, NULL), number));
}

/* Layers of the same group, which were measured together, if at all. */
static void add_others(char *text, size_t room, const struct plyecho_layer_reading *r,
                       const struct plyecho_layer_group *g, size_t layer)
{
    const char *before = "";
    add(text, room, ", \"not_parted_from\": [");
    for (size_t k = g->first; k <= g->last; k++) {
        if (k == layer)
            continue;
        add(text, room, "%s", before);
        add_name(text, room, r->names[k]);
        before = ", ";
    }
    add(text, room, "]");
}

/* In millimetres, or null. */
static void add_json_number(char *text, size_t room, const char *key, bool known, double m)
{
    add(text, room, ", \"%s\": %s", key, known ? "" : "null");
    add_number(text, room, known, m, 0.0, 12);
}

static void fill_layer(struct layer_cells *c, const struct plyecho_layer_reading *r,
                       const struct plyecho_layer_group *g, size_t layer)
{
    const char *between = layer > 0 ? ";" : "";
    bool alone = g->measured && g->first == g->last;
    add(c->names, sizeof c->names, "%s%s", between, r->names[layer]);
    add(c->mm, sizeof c->mm, "%s", between);
    add_number(c->mm, sizeof c->mm, alone, g->thickness_m,
               g->thickness_u.known ? g->thickness_u.value : 0.0, 6);
    add(c->u_mm, sizeof c->u_mm, "%s", between);
    add_number(c->u_mm, sizeof c->u_mm, alone && g->thickness_u.known, g->thickness_u.value,
               0.0, 3);
    add(c->json, sizeof c->json, "%s{\"name\": ", layer > 0 ? ", " : "");
    add_name(c->json, sizeof c->json, r->names[layer]);
    add_json_number(c->json, sizeof c->json, "declared_mm", true, r->declared_m[layer]);
    add_json_number(c->json, sizeof c->json, "thickness_mm", alone, g->thickness_m);
    add_json_number(c->json, sizeof c->json, "thickness_u_mm", alone && g->thickness_u.known,
                    g->thickness_u.value);
    add_others(c->json, sizeof c->json, r, g, layer);
    add(c->json, sizeof c->json, "}");
}

void layer_cells_fill(struct layer_cells *c, const struct plyecho_layer_reading *r)
{
    c->known = r->count > 0;
    c->names[0] = c->mm[0] = c->u_mm[0] = '\0';
    strcpy(c->json, "[");
    for (size_t k = 0; k < r->groups; k++)
        for (size_t layer = r->group[k].first; layer <= r->group[k].last; layer++)
            fill_layer(c, r, &r->group[k], layer);
    add(c->json, sizeof c->json, "]");
}

struct cell layer_cell(const struct layer_cells *cells, const char *text)
{
    return cells->known ? cell_text(text) : cell_unknown();
}
