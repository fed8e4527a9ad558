/* manifest.h - a scan's list of traces and where on the part they were taken
 *
 * CSV with a heading and a row a shot: `file` and `angle_deg,axial_mm` on a tube or `x_mm,y_mm` on a plate,
 * `channel` (from 1) where a file has several, in any order. Several rows may share a place: shots of it,
 * coupled anew.
 */
#ifndef PLYECHO_MANIFEST_H
#define PLYECHO_MANIFEST_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/place_reading.h>

enum { PLYECHO_MOST_SHOTS = 1000000 };

struct plyecho_shot {
    const char *file; /* as it stands there: relative to the manifest's folder */
    size_t channel;   /* from 1 */
    struct plyecho_place place;
    long line;
};

/* Zeroed: none. */
struct plyecho_manifest {
    bool tube;
    bool wrapped; /* angles below 0 were counted on from 360 */
    struct plyecho_shot *shot;
    size_t count;
    char *names; /* what shot[].file points into */
};

/* PLYECHO_BAD_FILE for a heading that is none, no rows, a trace listed twice, or rows of both kinds of place;
 * PLYECHO_BAD_ARGUMENT for an angle above 360 or below -180, or angles below 0 beside angles above 180, which
 * would name one place in two ways; PLYECHO_TOO_LARGE beyond PLYECHO_MOST_SHOTS. *manifest is then zeroed. */
PLYECHO_API enum plyecho_code plyecho_manifest_read(struct plyecho_manifest *manifest,
                                                    const void *bytes, size_t size,
                                                    struct plyecho_error *err);

PLYECHO_API void plyecho_manifest_clear(struct plyecho_manifest *manifest);

#endif
