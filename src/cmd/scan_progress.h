/* scan_progress.h - how far a long run is, as one line on standard error that is written over
 */
#ifndef PLYECHO_CMD_SCAN_PROGRESS_H
#define PLYECHO_CMD_SCAN_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

struct scan_progress {
    bool shown;
    size_t done, all;
    double began_s, told_s;
};

void scan_progress_begin(struct scan_progress *progress, size_t all, bool shown);
void scan_progress_step(struct scan_progress *progress);

/* Take the line away. */
void scan_progress_end(struct scan_progress *progress);

#endif
