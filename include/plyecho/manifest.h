/* manifest.h - a scan's list of traces and where on the part they were taken
 *
 * CSV with a heading and a row a shot: `file`, and `angle_deg,axial_mm` on a tube or `x_mm,y_mm` on a plate, in
 * any order; `channel` (from 1) where a file has several. Columns of other names are passed over. Several
 * rows may share a place: shots of it, coupled anew. A name in quotes may have the delimiter in it, and quotes, which
 * are doubled (RFC 4180).
 */
#ifndef PLYECHO_MANIFEST_H
#define PLYECHO_MANIFEST_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/place_reading.h>

enum { PLYECHO_MOST_SHOTS = 1000000 };

struct plyecho_shot {
    char *file;     /* as it stands there: relative to the manifest's folder */
    size_t channel; /* from 1 */
    struct plyecho_place place;
    long line; /* of the manifest, 0: of none */
};

/* Zeroed: none. */
struct plyecho_manifest {
    bool tube;    /* else a plate */
    bool wrapped; /* angles below 0 were counted on from 360 */
    struct plyecho_shot *shot;
    size_t count;
    size_t room;
};

/* Does it look like a manifest, by its heading? */
PLYECHO_API bool plyecho_manifest_is(const void *bytes, size_t size);

/* PLYECHO_BAD_FILE for a heading that is none or no rows, PLYECHO_BAD_NUMBER for what is no number, and what
 * plyecho_manifest_check refuses. *manifest is then zeroed. */
PLYECHO_API enum plyecho_code plyecho_manifest_read(struct plyecho_manifest *manifest,
                                                    const void *bytes, size_t size,
                                                    struct plyecho_error *err);

/* Add one shot: a copy. The place is rounded to a millionth of a degree, a nanometre.
 * PLYECHO_BAD_ARGUMENT for a coordinate that none can be (an angle above 360 or below -180 degrees, beyond
 * 1 km), PLYECHO_TOO_LARGE beyond PLYECHO_MOST_SHOTS. */
PLYECHO_API enum plyecho_code plyecho_manifest_add(struct plyecho_manifest *manifest,
                                                   const struct plyecho_shot *shot,
                                                   struct plyecho_error *err);

/* All shots together; angles become 0 to below 360. PLYECHO_BAD_FILE for none, or for a trace listed
 * twice; PLYECHO_BAD_ARGUMENT for angles below 0 beside angles above 180: they could name one place in two
 * ways. */
PLYECHO_API enum plyecho_code plyecho_manifest_check(struct plyecho_manifest *manifest,
                                                     struct plyecho_error *err);

PLYECHO_API void plyecho_manifest_clear(struct plyecho_manifest *manifest);

#endif
