/* results.h - a scan's folder, read again: for the report, and to compare scans
 *
 * The numbers come back into the structs that the scan had them in, so that what works on a scan's results works
 * on these. What the tables do not hold stays zero: levels, reporting range, coats.
 */
#ifndef PLYECHO_CMD_RESULTS_H
#define PLYECHO_CMD_RESULTS_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include <plyecho/digest.h>
#include <plyecho/error.h>
#include <plyecho/indications.h>
#include <plyecho/place_reading.h>
#include <plyecho/rows.h>

struct results {
    char *name;      /* of the folder, as given */
    json_t *summary; /* summary.json: an object */
    char
        digest[PLYECHO_DIGEST_ROOM]; /* of summary.json, in which the digests of all else are */
    bool tube;                       /* else a plate */
    struct plyecho_place_reading *reading;
    size_t places;
    struct plyecho_indication *indication;
    size_t indications;
    size_t *member;                /* [places] number of its indication, 0: none */
    struct plyecho_rows *readings; /* readings.csv; row i is place i */
    struct plyecho_rows *found;    /* indications.csv; row i is indication i */
};

/* Read a folder. PLYECHO_IO where it is none or cannot be read, PLYECHO_UNSUITABLE for an unfinished scan, one
 * of another format, tables that are not those of the summary, or what is no regular file; PLYECHO_BAD_FILE
 * for what is broken, and for a summary that its own limits or its tables contradict
 * (results_check.h). err names the file within. results_clear is due in any case. */
enum plyecho_code results_read(struct results *results, const char *folder,
                               struct plyecho_error *err);

/* A text or number of the summary by a path of keys, "wall.least_mm": NULL or not known where there is none. */
const char *results_text(const struct results *results, const char *path);
struct plyecho_known results_number(const struct results *results, const char *path);

/* What the procedure's setting was, as text in the unit of its key; NULL where it had none. */
const char *results_setting(const struct results *results, const char *section,
                            const char *key);

/* Where a file of the folder is; freed with free(). */
char *results_path(const struct results *results, const char *name);

/* The bytes of a file in the folder. name must be one file's, with no way out of the folder: a regular file, no
 * link. */
enum plyecho_code results_file(const struct results *results, const char *name,
                               unsigned char **bytes, size_t *size, struct plyecho_error *err);

/* Pictures that the summary lists. */
size_t results_pictures(const struct results *results);

/* The name of one of them, NULL where the summary has none. */
const char *results_picture_name(const struct results *results, size_t index);

/* Its bytes, which are those that the scan drew. PLYECHO_UNSUITABLE where they have changed since, or it has no name
 * or digest; else as results_file. */
enum plyecho_code results_picture(const struct results *results, size_t index,
                                  unsigned char **bytes, size_t *size,
                                  struct plyecho_error *err);

void results_clear(struct results *results);

#endif
