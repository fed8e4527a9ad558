/* sets.h - which things belong together, from pairs that do
 *
 * lead[i] leads from each thing to the first of its set.
 */
#ifndef PLYECHO_LIB_SETS_H
#define PLYECHO_LIB_SETS_H

#include <stdbool.h>
#include <stddef.h>

/* Each alone. */
void pe_sets_begin(size_t *lead, size_t count);

void pe_sets_join(size_t *lead, size_t a, size_t b);

/* Number the sets from 1 in the order of their first things, 0 for what is no member; returns how many. Only
 * members may have been joined. */
size_t pe_sets_number(size_t *lead, const bool *member, size_t count, size_t *label);

#endif
