/* scan_section.h - the traces of one row or column of a scan side by side, as a B-scan shows them
 */
#ifndef PLYECHO_CMD_SCAN_SECTION_H
#define PLYECHO_CMD_SCAN_SECTION_H

#include "scan_results.h"
#include "scan_run.h"

struct scan_section {
    bool along_row; /* the places of a row, from column to column; else of a column */
    size_t index;   /* of the row or column in the grid */
    size_t count;   /* places */
    size_t *place;  /* [count] in order */
    size_t depths;
    double step_m; /* depth of sample k is k step_m, from the wall's front */
    float *
        level; /* [places of the scan * depths] envelope; NAN where there is no trace or no front; of other lines 0 */
};

/* Which row or column: the one nearest to what was asked for, else the row with the highest indication, else with the
 * least wall. */
struct scan_section_wanted {
    struct plyecho_known row_m;  /* coordinate along */
    struct plyecho_known column; /* across, degrees or m */
};

/* Read the traces again and measure. What cannot be read is NAN. scan_section_clear is due. */
void scan_section_take(struct scan_section *section, const struct scan_section_wanted *wanted,
                       const struct scan_results *results, const struct scan_run *run,
                       struct setup *setup);

void scan_section_clear(struct scan_section *section);

#endif
