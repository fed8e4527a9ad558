/* ways.h - to each of some places the way, from neighbour to neighbour, whose largest step is least
 */
#ifndef PLYECHO_LIB_WAYS_H
#define PLYECHO_LIB_WAYS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/grid.h>

/* How large the step from a place to another is, not below 0; INFINITY: it cannot be made. */
typedef double pe_step(const void *context, size_t from, size_t to);

/* Over members only, from each one's neighbours (grid.h) to it.
 * largest: grid->count; of members, in, the step onto it from outside (INFINITY: none), out, the largest step on its best
 * way (INFINITY: there is none). PLYECHO_NO_MEMORY. */
enum plyecho_code pe_ways_find(const struct plyecho_grid *grid, const bool *member,
                               pe_step *step, const void *context, double *largest,
                               struct plyecho_error *err);

#endif
