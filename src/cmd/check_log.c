#include <config.h>

#include "check_log.h"

#include <stdlib.h>
#include <string.h>

#include <plyecho/date.h>

#include "memory.h"

/* ---- reading ---- */

enum plyecho_code check_log_read(struct check_log *log, const void *bytes, size_t size,
                                 const char *setup_digest, struct plyecho_error *err)
{
    *log = (struct check_log){.rows = NULL};
    enum plyecho_code code = plyecho_rows_read(&log->rows, bytes, size, err);
    if (code != PLYECHO_OK)
        return code;
    size_t date = plyecho_rows_find(log->rows, "date");
    size_t flagged = plyecho_rows_find(log->rows, "flagged");
    size_t beyond = plyecho_rows_find(log->rows, "beyond");
    size_t setup = plyecho_rows_find(log->rows, "setup_digest");
    if (date == PLYECHO_NO_COLUMN || flagged == PLYECHO_NO_COLUMN || setup == PLYECHO_NO_COLUMN)
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "no columns date, flagged and setup_digest; give the log that "
                            "calibrate --check writes");
    log->count = plyecho_rows_count(log->rows);
    log->row = memory_take(log->count + 1, sizeof *log->row);
    for (size_t i = 0; i < log->count; i++) {
        const char *when = plyecho_rows_text(log->rows, i, date);
        log->row[i] = (struct check_log_row){
            .date = plyecho_date_is(when, strlen(when)) ? when : "",
            .beyond = plyecho_rows_text(log->rows, i, beyond),
            .flagged = strcmp(plyecho_rows_text(log->rows, i, flagged), "no") != 0,
            .ours = strcmp(plyecho_rows_text(log->rows, i, setup), setup_digest) == 0,
        };
    }
    return PLYECHO_OK;
}

void check_log_clear(struct check_log *log)
{
    plyecho_rows_free(log->rows);
    free(log->row);
    *log = (struct check_log){.rows = NULL};
}

/* ---- judging ---- */

/* -1: surely before, 1: surely behind, 0: not known. */
static int order(const char *one, const char *other)
{
    if (one == NULL || other == NULL || one[0] == '\0' || other[0] == '\0')
        return 0;
    return plyecho_date_order(one, other);
}

/* Does a good check lie for sure between a failed one and the readings? */
static bool is_mended(const struct check_log *log, const struct check_log_row *failed,
                      const char *date)
{
    for (size_t i = 0; i < log->count; i++) {
        const struct check_log_row *good = &log->row[i];
        if (!good->ours || good->flagged)
            continue;
        int side = order(good->date, date);
        if (side != 0 && order(failed->date, good->date) == side)
            return true;
    }
    return false;
}

struct check_log_judgement check_log_judge(const struct check_log *log, const char *date)
{
    struct check_log_judgement j = {.failed = NULL};
    for (size_t i = 0; i < log->count; i++) {
        const struct check_log_row *row = &log->row[i];
        int side = order(row->date, date);
        if (!row->ours)
            j.foreign++;
        else if (row->flagged)
            j.failed = is_mended(log, row, date) ? j.failed : row;
        else if (side < 0 && (j.before == NULL || order(row->date, j.before->date) >= 0))
            j.before = row;
        else if (side > 0 && (j.after == NULL || order(row->date, j.after->date) < 0))
            j.after = row;
        else if (side == 0)
            j.unplaced++;
    }
    return j;
}
