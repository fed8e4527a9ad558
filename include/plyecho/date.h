/* date.h - days and times as a procedure and its logs write them
 */
#ifndef PLYECHO_DATE_H
#define PLYECHO_DATE_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>

/* Is it a day that exists, as 2026-11-28, or with a time as 2026-11-28T14:05 or T14:05:30, which may
 * say its zone: Z, or +01:00? (Extended format of ISO 8601-1:2019, 5.2.2 and 5.4.2, from memory.) */
PLYECHO_API bool plyecho_date_is(const char *text, size_t size);

/* Days from 1970-01-01 to that day, negative before it; the time is left out of it. Only for what
 * plyecho_date_is takes. */
PLYECHO_API long plyecho_date_days(const char *text);

/* Which of two came first: -1 where a is surely before b, 1 where it is surely behind it, 0 where that cannot be told:
 * the same minute, a day without a time against a time of that day, or a local time against one with a zone that lies
 * within what local time can be off (UTC-12:00 to UTC+14:00). Two local times are taken to be of one zone. */
PLYECHO_API int plyecho_date_order(const char *a, const char *b);

/* What to write where plyecho_date_is is false, to stand behind what is wrong. */
#define PLYECHO_DATE_RULE                                                                        \
    "write year-month-day as 2026-11-28, with a time as 2026-11-28T14:05, or 2026-11-28T14:05Z " \
    "in UTC"

#endif
