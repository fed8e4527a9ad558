/* compare.h - what the jobs of compare share: scans' folders, open
 */
#ifndef PLYECHO_CMD_COMPARE_H
#define PLYECHO_CMD_COMPARE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <plyecho/change.h>

#include "results.h"
#include "table.h"
#include "verb.h"

/* One scan. */
struct compare_scan {
    struct results results;
    const char *folder; /* as given */
    const char *part;   /* its [part] name, NULL where it has none */
    struct plyecho_grid *grid;
    struct plyecho_scanned scanned; /* points into results */
};

/* Read a scan's folder; false where that went wrong, which is said. compare_close is due in any case. */
bool compare_open(struct compare_scan *scan, const char *folder, struct messages *messages);
void compare_close(struct compare_scan *scan);

/* Two scans of one part in time: true where something is flagged. */
bool compare_in_time(const struct compare_scan *before, const struct compare_scan *after,
                     const struct table_values *table, struct messages *messages);

/* Parts side by side, a row a part. */
bool compare_side_by_side(const struct compare_scan *scans, size_t count,
                          const struct table_values *table);

/* Readings against a table of measured places. tolerance_m: of depths, where it is given. */
bool compare_with_truth(const struct compare_scan *scan, const char *truth,
                        struct plyecho_known tolerance_m, const struct table_values *table,
                        struct messages *messages);

/* ---- what they print in common ---- */

/* Where it lies: "157.1 to 235.6 deg, 28.1 to 42.1 mm". */
enum { COMPARE_EXTENT_ROOM = 96 };
const char *compare_extent(bool tube, const struct plyecho_indication *indication,
                           char words[COMPARE_EXTENT_ROOM]);

/* The name of a part, or of a folder where it has none; safe for a terminal. */
void compare_put_name(const struct compare_scan *scan, FILE *out);

extern const char compare_cautions[];

#endif
