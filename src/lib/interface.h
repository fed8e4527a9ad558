/* interface.h - an echo from inside the wall, as an interface
 */
#ifndef PLYECHO_LIB_INTERFACE_H
#define PLYECHO_LIB_INTERFACE_H

#include <stdbool.h>

enum { PE_INTERFACES = 8 };

struct pe_interface {
    double delay_s;  /* behind the wall's front, by phase at the centre frequency */
    double u_s;      /* its standard uncertainty */
    double strength; /* over a full reflector at that depth, attenuation taken back; above 0 */
    double strength_u;
    int sign;       /* -1 as a gap's, 1 a step to harder, 0 not told or between (a film) */
    bool of_middle; /* the delay is of a film's middle, not of its echo's highest point */
};

/* Add one to a list of `count`, with room for PE_INTERFACES; where that is full, the weakest of all goes. */
void pe_interface_add(struct pe_interface *list, int *count, const struct pe_interface *one);

#endif
