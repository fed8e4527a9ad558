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

/* Copies: files of the same bytes. No two readings agree to the last bit of their noise, so that is trouble. */
void scan_same_tell_copies(const struct scan_journal *journal,
                           const struct plyecho_manifest *manifest, const char *manifest_name,
                           struct messages *messages);

#endif
