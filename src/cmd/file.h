/* file.h - whole files in and out, with errors that a person can act on
 *
 * An output file appears whole or not at all: it is written under a temporary name in the same
 * folder, then renamed. What is no regular file (a device, a pipe) is written straight. Signals
 * that would end the program wait meanwhile, so that no temporary file is left.
 */
#ifndef PLYECHO_CMD_FILE_H
#define PLYECHO_CMD_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include <plyecho/error.h>

/* Largest file read: 1 GiB. */
#define FILE_LIMIT ((size_t)1 << 30)

/* Bytes of a file; reused from file to file. Zero-initialise, free data at the end. */
struct file_bytes {
    unsigned char *data;
    size_t size;
    size_t room;
};

/* Read a whole file into bytes, standard input where path is "-". */
enum plyecho_code file_read(const char *path, struct file_bytes *bytes,
                            struct plyecho_error *err);

/* The same of a regular file only: a link is not followed, a pipe or device not waited for; both are
 * PLYECHO_UNSUITABLE. For names that another file tells: they may lead to no other place. */
enum plyecho_code file_read_regular(const char *path, struct file_bytes *bytes,
                                    struct plyecho_error *err);

/* Write a whole file, standard output where path is "-". An existing file is replaced, one that
 * is write-protected is not. */
enum plyecho_code file_write(const char *path, const void *data, size_t size,
                             struct plyecho_error *err);

/* Flush and close standard output; errors of anything printed before show up here. */
enum plyecho_code file_finish_stdout(struct plyecho_error *err);

/* Which file a name leads to, whatever the name: two names of one file have equal identities.
 */
struct file_identity {
    dev_t device;
    ino_t number;
};

/* False where there is no file of this name. */
bool file_identify(const char *path, struct file_identity *identity);

/* Order for qsort and bsearch. */
int file_identity_compare(const void *a, const void *b);

/* The last part of a name: what stands behind its last slash, all of it where there is none. */
const char *file_base_name(const char *path);

/* Is this the name of an existing folder? */
bool file_is_folder(const char *path);

/* Does a name end so, with something ahead of the ending? */
bool file_name_ends_with(const char *name, const char *ending);

/* Is there something of this name that is no regular file: a device, a pipe? */
bool file_is_special(const char *path);

/* The system's error number in words, with what would mend it. */
enum plyecho_code file_fail(struct plyecho_error *err, int number, bool writing);

#endif
