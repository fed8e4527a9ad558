/* results_tables.h - rows of readings.csv and indications.csv, back into what they were written from
 */
#ifndef PLYECHO_CMD_RESULTS_TABLES_H
#define PLYECHO_CMD_RESULTS_TABLES_H

#include "results.h"

/* results->readings into reading, places, member and tube, once results->found has been read, too. PLYECHO_BAD_FILE
 * or PLYECHO_BAD_NUMBER with the line. */
enum plyecho_code results_take_readings(struct results *results, struct plyecho_error *err);

/* results->found into indication and indications, once the readings are there. */
enum plyecho_code results_take_indications(struct results *results, struct plyecho_error *err);

#endif
