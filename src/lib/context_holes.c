/* Holes in a bonded layer: places that end where the layer's interface lies at all places around them. No sound gets as far as
 * the layer there, as over a disbond; one trace alone reads them as the wall without the layer. */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "context_inside.h"

/* Of the places around a hole those that show the layer; and its size against the layer's: our choice. */
static const double mostly = 0.75, most_of_layer = 0.25;

struct hole {
    size_t places;
    size_t around, of_layer; /* pairs of a place and a neighbour beyond */
    bool at_end;             /* reaches the end of what was read: the layer may end there */
};

struct holes {
    struct pe_neighbourhood *n;
    bool *is_bare;
    size_t *group; /* from 1 */
    struct hole *hole;
    size_t of_layer; /* places that show an interface */
};

static bool is_at_end(const struct plyecho_grid *g, size_t place)
{
    bool last_row = g->row[place] == 0 || g->row[place] + 1 == g->rows;
    bool last_column = g->column[place] == 0 || g->column[place] + 1 == g->columns;
    return last_row || (!g->tube && last_column);
}

/* Is the layer seen there, or what has come off it? */
static bool is_of_layer(const struct plyecho_place_reading *r,
                        const struct plyecho_place_reading *bare)
{
    bool off = r->verdict == PLYECHO_DELAMINATION && r->has_indication &&
               fabs(r->depth_m - bare->wall_m) < pe_same_interface_m;
    return off ||
           (pe_shows_interface(r) && pe_ends_at(bare, r->depth_m, r->second_wall_m.value));
}

static void look_at(struct holes *h, size_t place)
{
    const struct plyecho_place_reading *r = h->n->readings;
    struct hole *hole = &h->hole[h->group[place]];
    size_t near[PLYECHO_NEIGHBOURS];
    size_t count = plyecho_grid_neighbours(h->n->grid, place, near);
    hole->places++;
    hole->at_end |= is_at_end(h->n->grid, place);
    for (size_t k = 0; k < count; k++) {
        bool beyond =
            !h->is_bare[near[k]] && r[near[k]].read && r[near[k]].verdict != PLYECHO_UNREADABLE;
        hole->around += beyond;
        hole->of_layer += beyond && is_of_layer(&r[near[k]], &r[place]);
    }
}

static bool is_hole(const struct holes *h, const struct hole *hole)
{
    return !hole->at_end && hole->around >= PE_LEAST_AGREE &&
           (double)hole->of_layer >= mostly * (double)hole->around &&
           (double)hole->places <= most_of_layer * (double)h->of_layer;
}

static enum plyecho_code find(struct holes *h, struct plyecho_error *err)
{
    size_t count = h->n->grid->count, groups = 0;
    for (size_t i = 0; i < count; i++) {
        const struct plyecho_place_reading *r = &h->n->readings[i];
        h->is_bare[i] = pe_is_sound(r) && r->wall_seen;
        h->of_layer += pe_shows_interface(r);
    }
    enum plyecho_code code = plyecho_grid_label(h->n->grid, h->is_bare, h->group, &groups, err);
    if (code != PLYECHO_OK)
        return code;
    h->hole = pe_alloc(groups + 1, sizeof *h->hole);
    if (h->hole == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu groups", groups);
    for (size_t i = 0; i < count; i++)
        if (h->is_bare[i])
            look_at(h, i);
    for (size_t i = 0; i < count; i++)
        if (h->is_bare[i] && is_hole(h, &h->hole[h->group[i]]))
            pe_set_shadow(&h->n->readings[i], h->n->readings[i].wall_m);
    return PLYECHO_OK;
}

enum plyecho_code pe_context_holes(struct pe_neighbourhood *n, struct plyecho_error *err)
{
    size_t count = n->grid->count;
    struct holes h = {
        .n = n,
        .is_bare = pe_alloc(count, sizeof *h.is_bare),
        .group = pe_alloc(count, sizeof *h.group),
    };
    enum plyecho_code code =
        h.is_bare != NULL && h.group != NULL
            ? find(&h, err)
            : plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for %zu places", count);
    free(h.is_bare);
    free(h.group);
    free(h.hole);
    return code;
}
