/* scan_tables.h - readings.csv and indications.csv of a scan, as text
 */
#ifndef PLYECHO_CMD_SCAN_TABLES_H
#define PLYECHO_CMD_SCAN_TABLES_H

#include <stdio.h>

#include "scan_results.h"

/* A row a place, in the order of the manifest: where it is, the columns of assess, then those that only a
 * scan has (docs/columns.md). False where it could not be written. */
bool scan_readings_write(const struct scan_results *results, FILE *out);

/* A row an indication. */
bool scan_indications_write(const struct scan_results *results, FILE *out);

#endif
