/* svg_patches.h - the filled polygons of an SVG picture, to see what a reader of the picture sees
 */
#ifndef PLYECHO_TESTS_SVG_PATCHES_H
#define PLYECHO_TESTS_SVG_PATCHES_H

#include <stddef.h>
#include <stdio.h>
#include <string.h>

struct svg_patch {
    unsigned colour;                 /* 0xRRGGBB */
    double left, right, top, bottom; /* of its corners; y goes down */
};

/* The next polygon from *at on, which moves behind it; 0 at the end. */
static inline int svg_next_patch(const char **at, struct svg_patch *patch)
{
    *patch = (struct svg_patch){0, 1e9, -1e9, 1e9, -1e9};
    unsigned r, g, b;
    int used = 0;
    const char *next = strstr(*at, "<polygon fill = 'rgb(");
    if (next == NULL ||
        sscanf(next, "<polygon fill = 'rgb(%u, %u, %u)' points = '%n", &r, &g, &b, &used) != 3)
        return 0;
    patch->colour = r << 16 | g << 8 | b;
    next += used;
    for (double x, y; sscanf(next, "%lf,%lf %n", &x, &y, &used) == 2; next += used) {
        patch->left = x < patch->left ? x : patch->left;
        patch->right = x > patch->right ? x : patch->right;
        patch->top = y < patch->top ? y : patch->top;
        patch->bottom = y > patch->bottom ? y : patch->bottom;
    }
    *at = next;
    return 1;
}

#endif
