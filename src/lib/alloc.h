/* alloc.h - the one place where libplyecho takes memory
 *
 * Tests replace these by wrapping the symbols at link time (-Wl,--wrap=pe_alloc,…), so that
 * each allocation can be made to fail in turn.
 */
#ifndef PLYECHO_LIB_ALLOC_H
#define PLYECHO_LIB_ALLOC_H

#include <stddef.h>

/* Zeroed memory for count x size bytes, NULL on failure or overflow; freed with free(). */
void *pe_alloc(size_t count, size_t size);

/* Resize to count x size bytes, contents kept; NULL on failure, the old block stays. */
void *pe_resize(void *block, size_t count, size_t size);

#endif
