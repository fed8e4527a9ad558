/* readings.h - a log of plain readings on its way through `plyecho readings`
 */
#ifndef PLYECHO_CMD_READINGS_H
#define PLYECHO_CMD_READINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <plyecho/digest.h>
#include <plyecho/gauge_log.h>
#include <plyecho/procedure.h>

#include "scan_folder.h"
#include "scan_pictures.h"
#include "table.h"

/* Places next to each other that read low, or high. */
struct readings_spot {
    enum plyecho_gauge_group group;
    size_t places, worst; /* the lowest or highest of them */
};

struct readings {
    const char *name; /* of the log, for messages */
    char digest[PLYECHO_DIGEST_ROOM];
    bool tube;
    struct plyecho_gauge_reading *reading;
    size_t count;

    struct plyecho_procedure procedure; /* the options over it */
    struct plyecho_known nominal_m;     /* the one of the whole part */
    struct plyecho_gauge_log *log;

    struct readings_spot *spot; /* low ones first, the worst first */
    size_t spots;
    size_t *member; /* [log->count] number of its spot from 1, or 0 */

    const char *procedure_name; /* NULL: none was given */
    char *given;                /* options, as text */
    struct scan_pictures pictures;
};

/* Read a log from a file, "-" for standard input, into `reading`; false where there was trouble, which has been said. */
bool readings_read(struct readings *readings, const char *name, struct messages *messages);

/* Do the readings look like mm? Against the nominal, or against what a wall of this trade can be. */
bool readings_check_unit(const struct readings *readings, struct messages *messages);

/* Connect low and high places to spots. */
bool readings_find_spots(struct readings *readings, struct messages *messages);

/* A row a reading. False where it could not be written. */
bool readings_table(const struct readings *readings, const struct table_values *values,
                    FILE *out);

void readings_summary_print(const struct readings *readings, FILE *out);
void readings_summary_write(const struct readings *readings, FILE *out);

/* False where one failed, which has been said. */
bool readings_draw(struct readings *readings, const struct scan_picture_values *values,
                   const struct scan_folder *folder, struct messages *messages);

/* The answer in a sentence without its full stop, and what to do next with the outcomes that decide. */
void readings_meaning(const struct plyecho_gauge_log *log, FILE *out);
void readings_next_step(const struct plyecho_gauge_log *log, FILE *out);

/* What speaks for the answer, in numbers: sentences, a line each ('\n'). */
void readings_evidence(const struct readings *readings, FILE *out);

/* What holds of every such log. */
extern const char readings_cannot_tell[], readings_cautions[];

#endif
