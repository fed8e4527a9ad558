/* map_script.h - a map of a scan as the text of a gnuplot script with its data inside
 *
 * Pure, as plot_script.h.
 */
#ifndef PLYECHO_CMD_MAP_SCRIPT_H
#define PLYECHO_CMD_MAP_SCRIPT_H

#include <stddef.h>

#include <plyecho/error.h>

#include "map_picture.h"
#include "plot_script.h"

/* The script of one map; *text is malloc'ed, '\0' behind it, NULL on failure. PLYECHO_BAD_ARGUMENT for a ring of a plate;
 * PLYECHO_UNSUITABLE for PLOT_TEXT, which has no areas of colour. */
enum plyecho_code map_script(const struct map_picture *picture, const struct plot_view *view,
                             char **text, size_t *size, struct plyecho_error *err);

#endif
