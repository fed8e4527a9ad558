/* along.h - a quantity that changes along a part, as points with straight lines between them
 *
 * Written `VALUE at AXIAL, VALUE at AXIAL...`, as the wall of a tapered tube: 3.2 at 0, 2.8 at 120,
 * 2.4 at 300. The axial coordinate is that of the label axial_mm.
 */
#ifndef PLYECHO_ALONG_H
#define PLYECHO_ALONG_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

enum { PLYECHO_ALONG_MOST = 32, PLYECHO_ALONG_ROOM = PLYECHO_ALONG_MOST * 52 };

/* Count 0: none. */
struct plyecho_along {
    double axial_m[PLYECHO_ALONG_MOST]; /* rising */
    double value[PLYECHO_ALONG_MOST];
    size_t count; /* 2 or more */
    long line;    /* of the file, 0 where it is not from one */
};

/* What the values may be: in the text's unit, both ends included; scale turns that into the field's. */
struct plyecho_along_range {
    const char *name; /* of the quantity, for messages */
    double least, most, scale;
};

/* Read the text (size bytes, no closing NUL needed), axial coordinates in mm. PLYECHO_BAD_NUMBER for what is no
 * number, PLYECHO_BAD_ARGUMENT for a value out of range or an axial coordinate that does not rise,
 * PLYECHO_TOO_LARGE for too many points, PLYECHO_BAD_FILE for everything else; *along is then
 * unchanged. line is only for err. */
PLYECHO_API enum plyecho_code plyecho_along_read(struct plyecho_along *along, const char *text,
                                                 size_t size,
                                                 const struct plyecho_along_range *range,
                                                 long line, struct plyecho_error *err);

/* The value at a place, on the straight line between its neighbours; not known outside of the table: what
 * a part is there nobody has said. */
PLYECHO_API struct plyecho_known plyecho_along_at(const struct plyecho_along *along,
                                                  double axial_m);

/* As it is read, with the values over scale; a NUL behind. */
PLYECHO_API void plyecho_along_text(const struct plyecho_along *along, double scale,
                                    char out[PLYECHO_ALONG_ROOM]);

#endif
