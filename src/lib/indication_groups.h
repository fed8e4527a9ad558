/* indication_groups.h - which places are one indication
 */
#ifndef PLYECHO_LIB_INDICATION_GROUPS_H
#define PLYECHO_LIB_INDICATION_GROUPS_H

#include <plyecho/grid.h>
#include <plyecho/place_reading.h>

struct pe_groups {
    size_t count;
    size_t *of; /* [places] its group from 1, 0 for none */
    /* [places] group on both sides of a single unread place, across and along; 0 for none */
    size_t *bridge_across, *bridge_along;
    size_t *member; /* the places of group 1, then those of group 2...; each in rising order */
    size_t
        *start; /* [count + 1] where those of a group begin in `member`, from group 1 at [0] */
};

/* PLYECHO_NO_MEMORY; *groups is to be cleared in either case. */
enum plyecho_code pe_groups_take(struct pe_groups *groups, const struct plyecho_grid *grid,
                                 const struct plyecho_place_reading *readings,
                                 struct plyecho_error *err);

void pe_groups_clear(struct pe_groups *groups);

#endif
