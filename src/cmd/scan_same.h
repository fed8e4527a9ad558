/* scan_same.h - one trace that a scan would take for two
 */
#ifndef PLYECHO_CMD_SCAN_SAME_H
#define PLYECHO_CMD_SCAN_SAME_H

#include <stdbool.h>

#include <plyecho/manifest.h>

#include "message.h"
#include "scan_journal.h"

/* False where one trace is listed under two names (./NAME, a link), which is said. beside: file names are relative to its
 * folder. */
bool scan_same_none_listed(const struct plyecho_manifest *manifest, const char *beside,
                           const char *manifest_name, struct messages *messages);

/* Copies: traces of one channel in files of the same bytes. No two readings agree to the last bit of their noise. */
struct scan_copies {
    size_t count;
    size_t first, of; /* shots: the first one that is a copy, and what it is a copy of */
};

struct scan_copies scan_same_copies(const struct scan_journal *journal,
                                    const struct plyecho_manifest *manifest);

/* That is trouble. */
void scan_same_tell_copies(const struct scan_copies *copies,
                           const struct plyecho_manifest *manifest, const char *manifest_name,
                           struct messages *messages);

#endif
