#include <plyecho/nearest.h>

#include <string.h>

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

size_t plyecho_edit_distance(const char *text, size_t size, const char *known)
{
    /* row[k]: distance from what was seen of text to the first k bytes of known */
    size_t row[PLYECHO_NEAREST_MAX + 1];
    size_t length = least(strlen(known), PLYECHO_NEAREST_MAX);
    for (size_t k = 0; k <= length; k++)
        row[k] = k;
    size = least(size, 2 * PLYECHO_NEAREST_MAX);
    for (size_t i = 0; i < size; i++) {
        size_t diagonal = row[0];
        row[0] = i + 1;
        for (size_t k = 1; k <= length; k++) {
            size_t replaced = diagonal + (text[i] == known[k - 1] ? 0 : 1);
            diagonal = row[k];
            row[k] = least(replaced, least(row[k - 1], row[k]) + 1);
        }
    }
    return row[length];
}
