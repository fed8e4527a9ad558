/* place.h - the layers that are expected where a trace was taken, and what they make of the wall
 */
#ifndef PLYECHO_CMD_PLACE_H
#define PLYECHO_CMD_PLACE_H

#include <stdbool.h>

#include <plyecho/layers.h>
#include <plyecho/procedure.h>
#include <plyecho/trace.h>
#include <plyecho/wall.h>

#include "message.h"

enum { PLACE_NOTE_ROOM = 200 };

struct place {
    struct plyecho_layers all;         /* completed; count 0: none were declared */
    struct plyecho_layers here;        /* those at the last trace's place */
    struct plyecho_wall_options whole; /* the wall's options as they were stated */
    bool tolerance_stated;
    struct plyecho_along nominal_m; /* count 0: it is the same all along, or not known */
    char note[PLACE_NOTE_ROOM];     /* of the last trace: why it has no nominal; or "" */
};

/* Take the layers of the procedure, with what the wall's options give to all of them, and make wall
 * that of all layers together. False where there was trouble, which has been said; procedure_file,
 * and the text of --layers where they are from there, are only for that. */
bool place_open(struct place *place, const char *text,
                const struct plyecho_procedure *procedure, const char *procedure_file,
                struct plyecho_wall_options *wall, struct messages *messages);

/* Go to a trace's place, told by its labels angle_deg and axial_mm: wall gets the nominal there, and
 * the velocity, attenuation and nominal of the layers there. Where the nominal changes along the
 * part and the trace does not lie within its table, it is not known and place->note says so.
 * Nothing happens where neither table nor layers were declared. */
enum plyecho_code place_at(struct place *place, const struct plyecho_trace *trace,
                           struct plyecho_wall_options *wall, struct plyecho_error *err);

#endif
