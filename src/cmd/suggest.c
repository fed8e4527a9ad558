#include "suggest.h"

#include <string.h>

#include <plyecho/nearest.h>

void suggest_offer(struct suggestion *best, const char *typed, const char *known)
{
    size_t size = strlen(typed);
    size_t allowed = size / 3 > 2 ? size / 3 : 2;
    size_t distance = plyecho_edit_distance(typed, size, known);
    if (size >= 2 && distance > 1 && strncmp(typed, known, size) == 0)
        distance = 1;
    if (distance <= allowed && distance < best->distance && distance < strlen(known)) {
        best->word = known;
        best->distance = distance;
    }
}
