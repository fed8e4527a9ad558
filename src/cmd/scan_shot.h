/* scan_shot.h - one shot of a scan, judged
 */
#ifndef PLYECHO_CMD_SCAN_SHOT_H
#define PLYECHO_CMD_SCAN_SHOT_H

#include <stdbool.h>

#include <plyecho/digest.h>
#include <plyecho/error.h>
#include <plyecho/verdict.h>

#include "place.h"

/* Holds no pointers: it is kept in the journal as it is. */
struct scan_shot {
    bool judged; /* else trouble says why there is no assessment */
    struct plyecho_error trouble;
    struct plyecho_assessment assessment;
    double tolerance_m; /* about the assessment's nominal */
    double sample_rate_hz;
    char note[PLACE_NOTE_ROOM];       /* of its place (place.h), or "" */
    char digest[PLYECHO_DIGEST_ROOM]; /* of the file's bytes; "" where it could not be read */
    bool labelled_elsewhere; /* the file's labels tell another place than the manifest */
};

#endif
