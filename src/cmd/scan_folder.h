/* scan_folder.h - the folder that a scan writes: all of it, or nothing
 *
 * Results come to DIR.partial/results and become DIR in one step.
 */
#ifndef PLYECHO_CMD_SCAN_FOLDER_H
#define PLYECHO_CMD_SCAN_FOLDER_H

#include <stddef.h>

#include <plyecho/error.h>

struct scan_folder {
    char *name;    /* DIR without a slash behind */
    char *partial; /* beside it */
    char *results; /* in that */
};

/* The names, and that DIR may come to be: not there yet, or empty. */
enum plyecho_code scan_folder_open(struct scan_folder *folder, const char *name,
                                   struct plyecho_error *err);

/* An empty folder for the results; partial is there. */
enum plyecho_code scan_folder_begin(const struct scan_folder *folder,
                                    struct plyecho_error *err);

/* For results without a journal: make the partial folder, which must not be there yet, and begin in it; and take
 * away what is left of both, whether the results became DIR or not. */
enum plyecho_code scan_folder_make(const struct scan_folder *folder, struct plyecho_error *err);
void scan_folder_unmake(const struct scan_folder *folder);

/* Write one file of the results. */
enum plyecho_code scan_folder_write(const struct scan_folder *folder, const char *name,
                                    const void *bytes, size_t size, struct plyecho_error *err);

/* The results become DIR. */
enum plyecho_code scan_folder_finish(const struct scan_folder *folder,
                                     struct plyecho_error *err);

/* Zeroed is fine. */
void scan_folder_close(struct scan_folder *folder);

#endif
