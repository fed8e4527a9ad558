/* csv_log.h - a CSV file that grows by a row at a time, from several programs at once
 */
#ifndef PLYECHO_CMD_CSV_LOG_H
#define PLYECHO_CMD_CSV_LOG_H

#include <stddef.h>

#include <plyecho/error.h>

/* Add a row to the log `name`. text: the heading's line, heading_size bytes with its line end, then the
 * row's; size bytes together. A log that is not there yet, or is empty, gets both. Others wait while
 * it is written, nothing that stands in it changes, and a last line without its end gets one first. A
 * pipe, a device and "-" (standard output) get both, too. PLYECHO_UNSUITABLE where the file begins with
 * another line than the heading: it is no such log and stays as it is. PLYECHO_IO where it cannot be
 * written; then no part of the row is in it. */
enum plyecho_code csv_log_add(const char *name, const char *text, size_t heading_size,
                              size_t size, struct plyecho_error *err);

#endif
