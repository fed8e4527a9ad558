/* scan_journal.h - what a scan has found so far, shot by shot, so that it can go on after an end before its time
 *
 * DIR.partial/journal: a head that says what is scanned and how, then a record a shot in any order, each
 * with a digest of itself, so that one that was cut short counts as none. Held under a lock as long as
 * it is open: the second program is told. Records are as they lie in memory: a journal serves the build
 * that wrote it, and is gone when the scan is done.
 */
#ifndef PLYECHO_CMD_SCAN_JOURNAL_H
#define PLYECHO_CMD_SCAN_JOURNAL_H

#include <stdbool.h>
#include <stddef.h>

#include "scan_shot.h"

enum { SCAN_DAY_ROOM = sizeof "2026-11-28" };

/* What results stand on; a journal of other ones is not gone on with. */
struct scan_head {
    char program[32];
    char manifest[PLYECHO_DIGEST_ROOM];
    char procedure[PLYECHO_DIGEST_ROOM];
    char pulse[PLYECHO_DIGEST_ROOM];
    char options[PLYECHO_DIGEST_ROOM];
    size_t shots;
    char day[SCAN_DAY_ROOM]; /* when it began, as 2026-11-28: dates are judged by it */
};

struct scan_journal;

/* Begin a journal in the folder `partial`, which is made, or go on with the one there where resume is set.
 * PLYECHO_UNSUITABLE: another scan is at work there, one is unfinished and resume is not set, or what
 * is there is of another scan. On failure *journal is NULL and nothing has changed. */
enum plyecho_code scan_journal_open(struct scan_journal **journal, const char *partial,
                                    const struct scan_head *head, bool resume,
                                    struct plyecho_error *err);

/* The day of the unfinished scan in the folder; false where there is none, or none that could be gone on with. */
bool scan_journal_day(const char *partial, char day[SCAN_DAY_ROOM]);

/* Shots that it held when it was opened. */
size_t scan_journal_held(const struct scan_journal *journal);

/* Read back a shot (from 0); false where it is not there. From one thread at a time. */
bool scan_journal_get(const struct scan_journal *journal, size_t index, struct scan_shot *shot);

/* Keep a shot; the last one of an index counts. From one thread at a time. */
enum plyecho_code scan_journal_put(struct scan_journal *journal, size_t index,
                                   const struct scan_shot *shot, struct plyecho_error *err);

/* Close it; done: take it off the disk with its folder, which must hold nothing else. NULL is fine. */
void scan_journal_close(struct scan_journal *journal, bool done);

#endif
