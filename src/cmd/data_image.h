/* data_image.h - a picture inside a page: what it is, by its bytes, and as a data URL (RFC 2397)
 */
#ifndef PLYECHO_CMD_DATA_IMAGE_H
#define PLYECHO_CMD_DATA_IMAGE_H

#include <stddef.h>
#include <stdio.h>

#include <plyecho/error.h>

/* A larger one makes a page that nobody can send: 20 MB. */
#define DATA_IMAGE_LIMIT ((size_t)20 * 1000 * 1000)

enum data_image_kind { DATA_IMAGE_PNG, DATA_IMAGE_JPEG, DATA_IMAGE_SVG };

struct data_image {
    enum data_image_kind kind;
    unsigned width, height; /* pixels; 0 of SVG */
};

/* Look at the bytes of a photograph: PNG (ISO/IEC 15948) or JPEG (ITU-T T.81), whole from head to end.
 * PLYECHO_UNKNOWN_FORMAT for anything else, PLYECHO_BAD_FILE for one that is cut short or has no size,
 * PLYECHO_TOO_LARGE beyond the limit. What camera or phone wrote into it stays in it. */
enum plyecho_code data_image_look(const unsigned char *bytes, size_t size,
                                  struct data_image *image, struct plyecho_error *err);

/* "data:image/png;base64,..." */
void data_image_write(FILE *out, enum data_image_kind kind, const unsigned char *bytes,
                      size_t size);

#endif
