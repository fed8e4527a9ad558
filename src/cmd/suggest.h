/* suggest.h - which known word did the user most likely mean?
 */
#ifndef PLYECHO_CMD_SUGGEST_H
#define PLYECHO_CMD_SUGGEST_H

#include <stddef.h>

/* Best candidate so far: start with {NULL, SIZE_MAX}, offer each known word, then read `word`.
 * It stays NULL where nothing is near enough to be meant: more than a third of the letters
 * wrong, at least two. A known word that what was typed begins is near: it was cut short. */
struct suggestion {
    const char *word;
    size_t distance;
};

void suggest_offer(struct suggestion *best, const char *typed, const char *known);

#endif
