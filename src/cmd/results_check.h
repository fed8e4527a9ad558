/* results_check.h - does a scan's summary say what its limits and tables say?
 *
 * Digests in the summary hold the tables, but nothing holds the summary: a verdict or a count that was changed by
 * hand would stand on the first screen of a page. What follows from the rest of the folder is worked out again.
 */
#ifndef PLYECHO_CMD_RESULTS_CHECK_H
#define PLYECHO_CMD_RESULTS_CHECK_H

#include "results.h"

/* part_verdict must follow from the states of the limits as in acceptance.h, the counts from the tables.
 * PLYECHO_BAD_FILE with what contradicts what. */
enum plyecho_code results_check(const struct results *results, struct plyecho_error *err);

#endif
