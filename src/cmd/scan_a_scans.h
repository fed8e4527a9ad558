/* scan_a_scans.h - the trace of each indication's worst place, drawn
 */
#ifndef PLYECHO_CMD_SCAN_A_SCANS_H
#define PLYECHO_CMD_SCAN_A_SCANS_H

#include "scan_pictures.h"

/* Pictures "a-scan-N" of the SCAN_A_SCANS_MOST most important indications (plyecho_indications_order), N their
 * number. The set-up reads their traces again; one that cannot be read or drawn is left out. */
enum plyecho_code scan_a_scans_write(const struct scan_results *results,
                                     const struct scan_run *run, struct setup *setup,
                                     const struct scan_picture_values *values,
                                     const struct scan_folder *folder,
                                     struct scan_pictures *pictures, struct plyecho_error *err);

#endif
