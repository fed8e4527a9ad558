/* nearest.h - which known name did a mistyped one mean?
 */
#ifndef PLYECHO_NEAREST_H
#define PLYECHO_NEAREST_H

#include <stddef.h>

#include <plyecho/error.h>

enum { PLYECHO_NEAREST_MAX = 63 }; /* longest known name */

/* Fewest insertions, deletions and replacements of a byte that turn text[0..size) into known
 * (Levenshtein). known has at most PLYECHO_NEAREST_MAX bytes; of text, twice as many are looked at:
 * a longer one is like no known name. */
PLYECHO_API size_t plyecho_edit_distance(const char *text, size_t size, const char *known);

#endif
