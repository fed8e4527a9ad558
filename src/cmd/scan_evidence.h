/* scan_evidence.h - the words of the worst place of each indication
 */
#ifndef PLYECHO_CMD_SCAN_EVIDENCE_H
#define PLYECHO_CMD_SCAN_EVIDENCE_H

#include "scan_results.h"

/* malloc'ed, and so is each of the results->indications texts. */
char **scan_evidence_take(const struct scan_results *results);

/* NULL is fine. */
void scan_evidence_free(char **evidence, size_t count);

#endif
