/* layer_cells.h - the measured layers as cells of a table
 *
 * In CSV three lists with `;` between, one item a declared layer from outside in, empty where the
 * layer was not measured by itself. In JSON an array with an object a layer.
 */
#ifndef PLYECHO_CMD_LAYER_CELLS_H
#define PLYECHO_CMD_LAYER_CELLS_H

#include <plyecho/layer_reading.h>

#include "table.h"

struct layer_cells {
    bool known; /* layers were declared */
    char names[PLYECHO_LAYERS_MOST * PLYECHO_LAYER_NAME_ROOM];
    char mm[PLYECHO_LAYERS_MOST * 32];
    char u_mm[PLYECHO_LAYERS_MOST * 32];
    char json[PLYECHO_LAYERS_MOST * (13 * PLYECHO_LAYER_NAME_ROOM + 300)];
};

void layer_cells_fill(struct layer_cells *cells, const struct plyecho_layer_reading *reading);

/* One of their texts. */
struct cell layer_cell(const struct layer_cells *cells, const char *text);

#endif
