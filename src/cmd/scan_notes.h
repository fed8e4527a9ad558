/* scan_notes.h - what a scan says of its manifest and its traces
 */
#ifndef PLYECHO_CMD_SCAN_NOTES_H
#define PLYECHO_CMD_SCAN_NOTES_H

#include <plyecho/manifest.h>

#include "message.h"
#include "scan_journal.h"
#include "setup.h"

/* What the results will lack: a zero mark, a diameter, the beam. */
void scan_notes_before(const struct setup *setup, const struct plyecho_manifest *manifest,
                       const char *procedure_name, const struct messages *messages);

/* Trouble with single traces, the first ones of many; mixed sample rates; places that disagree with the
 * files' labels. */
void scan_notes_after(const struct scan_journal *journal,
                      const struct plyecho_manifest *manifest, const char *manifest_name,
                      struct messages *messages);

#endif
