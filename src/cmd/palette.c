#include <config.h>

#include "palette.h"

#include <stddef.h>

enum { PALETTE_END = 255 };

/* Straight lines between these stay within 3 of 255 of the published table of 256. */
static const struct anchor {
    unsigned at, colour;
} anchors[] = {
    {0, 0x00224e},   {21, 0x003170},  {23, 0x013271},  {28, 0x123570},          {34, 0x1e3a6f},
    {52, 0x36466c},  {84, 0x565c6d},  {126, 0x7b7a78}, {147, 0x8f8a78},         {179, 0xaea371},
    {205, 0xc9b965}, {232, 0xe7d150}, {251, 0xfde334}, {PALETTE_END, 0xfee838},
};

enum { ANCHORS = sizeof anchors / sizeof anchors[0] };

static unsigned mix(unsigned from, unsigned to, double share, unsigned shift)
{
    double a = (from >> shift) & 0xff, b = (to >> shift) & 0xff;
    return (unsigned)(a + share * (b - a) + 0.5) << shift;
}

unsigned palette_colour(double share)
{
    double at = share * PALETTE_END;
    if (!(at > 0))
        return anchors[0].colour;
    for (size_t i = 1; i < ANCHORS; i++) {
        const struct anchor *from = &anchors[i - 1], *to = &anchors[i];
        if (at <= to->at) {
            double part = (at - from->at) / (to->at - from->at);
            return mix(from->colour, to->colour, part, 16) |
                   mix(from->colour, to->colour, part, 8) |
                   mix(from->colour, to->colour, part, 0);
        }
    }
    return anchors[ANCHORS - 1].colour;
}

void palette_write(FILE *out)
{
    fputs("set palette defined (", out);
    for (size_t i = 0; i < ANCHORS; i++)
        fprintf(out, "%s%u '#%06x'", i > 0 ? ", " : "", anchors[i].at, anchors[i].colour);
    fputs(")\n", out);
}
