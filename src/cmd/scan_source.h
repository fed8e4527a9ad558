/* scan_source.h - which traces a scan is of: a manifest, or trace files whose channels say where they were taken
 */
#ifndef PLYECHO_CMD_SCAN_SOURCE_H
#define PLYECHO_CMD_SCAN_SOURCE_H

#include <stdbool.h>

#include <plyecho/digest.h>
#include <plyecho/manifest.h>

#include "verb.h"

struct scan_source {
    struct plyecho_manifest manifest;
    const char *name; /* of the manifest, for messages */
    const char
        *beside; /* file names are relative to this one's folder; "" to the current one */
    char digest[PLYECHO_DIGEST_ROOM];
};

/* False where there was trouble, which has been said; scan_source_close is due in any case. */
bool scan_source_open(struct scan_source *source, const struct invocation *invocation,
                      double sample_rate_hz);

void scan_source_close(struct scan_source *source);

#endif
