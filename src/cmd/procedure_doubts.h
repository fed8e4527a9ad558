/* procedure_doubts.h - what a sound procedure file leaves to doubt
 */
#ifndef PLYECHO_CMD_PROCEDURE_DOUBTS_H
#define PLYECHO_CMD_PROCEDURE_DOUBTS_H

#include <stdbool.h>

#include <plyecho/procedure.h>

struct procedure_doubt {
    const char *key;   /* of the setting */
    long line;         /* 0: not from the file */
    bool walls;        /* every wall may be wrong by it, and no uncertainty says so */
    const char *words; /* what is doubtful, with its cure */
};

typedef void doubt_function(void *context, const struct procedure_doubt *doubt);

struct procedure_doubts_about {
    const char *file; /* the procedure's, for names in it */
    long today;       /* days from 1970-01-01, for the calibration's age */
    /* Leave out what is merely not stated, and what measuring says itself; [inspection] date, where it is stated,
     * counts for the calibration's age. */
    bool measuring;
};

/* Tell all doubts about what holds by the file and the options; the table of materials is not yet filled
 * in. */
void procedure_doubts(const struct plyecho_procedure *procedure,
                      const struct procedure_doubts_about *about, doubt_function *tell,
                      void *context);

#endif
