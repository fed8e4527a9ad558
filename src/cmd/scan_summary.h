/* scan_summary.h - what a scan comes to: summary.json, and a page of text for the person at the bench
 */
#ifndef PLYECHO_CMD_SCAN_SUMMARY_H
#define PLYECHO_CMD_SCAN_SUMMARY_H

#include <stdio.h>

#include "scan_pictures.h"
#include "scan_results.h"

/* What summary.json says it is; another one means something else by the same name (results.h). */
#define SCAN_RESULTS_FORMAT 1

/* What is told beside the results. */
struct scan_about {
    const char *manifest_name, *procedure_name; /* procedure_name may be NULL */
    const struct scan_head *head;
    const char *options;   /* that were given over the procedure */
    const char *doubts;    /* that the procedure leaves, NULL: none */
    const char *judged_on; /* day that the calibration's age counts to, NULL: it has none */
    char *const *evidence; /* [results->indications] words of the worst place, NULL: none */
    const struct scan_pictures *pictures;             /* written beside */
    const char *readings_digest, *indications_digest; /* of the tables beside it */
};

void scan_summary_write(const struct scan_results *results, const struct scan_about *about,
                        FILE *out);

void scan_summary_print(const struct scan_results *results, const struct scan_about *about,
                        FILE *out);

#endif
