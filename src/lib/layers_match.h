/* layers_match.h - the interfaces that a trace shows, against the layers that were declared
 */
#ifndef PLYECHO_LIB_LAYERS_MATCH_H
#define PLYECHO_LIB_LAYERS_MATCH_H

#include <plyecho/layer_reading.h>

#include "interface.h"

/* What is needed of a trace to hold it against the declared layers. */
struct pe_layers_seen {
    const struct pe_interface *interfaces; /* all that are reportable */
    int count;
    double centre_hz;
    double pulse_s;      /* pulse length at -20 dB */
    double from_s, to_s; /* delays between which an echo would be seen */
    double level;        /* from this strength on */
    double transit_s;    /* to the back wall and back; 0 where that was not seen */
    double transit_u_s;
};

/* Tell which interface is which, and measure the layers behind the coats (completed, see
 * plyecho_layers_complete). No boundary is DISBONDED or LONE yet: that is for the verdict. */
void pe_layers_read(const struct plyecho_layers *layers, const struct pe_layers_seen *seen,
                    struct plyecho_layer_reading *reading);

/* Depth of an echo by its delay, each layer with its own velocity. */
double pe_layers_depth(const struct plyecho_layer_reading *reading, double delay_s);

/* Index of the declared boundary whose echo would come at a delay, -1 where there is none. */
int pe_layers_boundary_at(const struct plyecho_layers *layers,
                          const struct pe_layers_seen *seen, double delay_s, double u_s);

#endif
