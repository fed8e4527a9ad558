/* scan_run.h - judge all shots of a scan, several at once, into its journal
 */
#ifndef PLYECHO_CMD_SCAN_RUN_H
#define PLYECHO_CMD_SCAN_RUN_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/manifest.h>

#include "scan_journal.h"
#include "setup.h"

struct scan_run {
    const struct plyecho_manifest *manifest;
    const char *beside; /* files are named from the folder of this one */
    const struct setup_values *setup;
    const char *procedure_digest; /* what a worker reads again must still have it */
    double sample_rate_hz;        /* of the option, 0: as the files say */
    double velocity_m_s;          /* for files with a distance axis */
    size_t jobs;                  /* at least 1 */
    bool progress;                /* tell on standard error how far it is */
};

/* Shots that the journal holds stay as they are while their file has the same bytes. What is wrong with one
 * shot is kept with it; false only where the journal could not be written, which err tells. The
 * result does not depend on the number of jobs. */
bool scan_run(const struct scan_run *run, struct scan_journal *journal,
              struct plyecho_error *err);

/* A file of the manifest that is read; zeroed: none yet. */
struct scan_file {
    char *name; /* as the manifest has it; NULL: none read yet */
    struct plyecho_traces traces;
    char digest[PLYECHO_DIGEST_ROOM];
    struct plyecho_error trouble; /* code PLYECHO_OK: read */
};

/* Read a file of the manifest unless it is the one that *file holds. */
void scan_file_read(const struct scan_run *run, const char *name, struct scan_file *file);
void scan_file_clear(struct scan_file *file);

/* Its trace with the manifest's place as labels. PLYECHO_BAD_ARGUMENT where there is no such channel. */
enum plyecho_code scan_file_trace(const struct scan_run *run, struct scan_file *file,
                                  const struct plyecho_shot *shot, struct plyecho_trace *trace,
                                  struct plyecho_error *err);

#endif
