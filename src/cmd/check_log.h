/* check_log.h - the log of a set-up's checks, and what it says of readings: did the set-up hold?
 *
 * A failed check speaks against all readings that no good check parts from it. A check counts only where it is of
 * this very set-up (plyecho_procedure_setup_digest); one that cannot be placed in time against the readings
 * vouches for nothing, but speaks against them where it failed.
 */
#ifndef PLYECHO_CMD_CHECK_LOG_H
#define PLYECHO_CMD_CHECK_LOG_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/rows.h>

struct check_log_row {
    const char *date;   /* as date.h says; "" where it has none */
    const char *beyond; /* what was beyond its limit */
    bool flagged;
    bool ours; /* of this set-up */
};

struct check_log {
    struct plyecho_rows *rows; /* that texts point to */
    struct check_log_row *row;
    size_t count;
};

/* Read a log as calibrate --check writes it. setup_digest: of the scan; a row with another one is not ours.
 * PLYECHO_BAD_FILE for another table. check_log_clear is due in any case. */
enum plyecho_code check_log_read(struct check_log *log, const void *bytes, size_t size,
                                 const char *setup_digest, struct plyecho_error *err);
void check_log_clear(struct check_log *log);

struct check_log_judgement {
    const struct check_log_row *failed; /* speaks against the readings; NULL: none */
    const struct check_log_row *before; /* the last good one surely before them; NULL: none */
    const struct check_log_row *after;  /* the first good one surely behind them; NULL: none */
    size_t unplaced;                    /* good ones that cannot be placed */
    size_t foreign;                     /* of another set-up */
};

/* date: of the readings, NULL where it is not known: then nothing can be placed. */
struct check_log_judgement check_log_judge(const struct check_log *log, const char *date);

#endif
