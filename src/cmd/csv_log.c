#include <config.h>

#include "csv_log.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"
#include "memory.h"

/* Until it is closed. 0, or the system's error number. */
static int lock(int fd)
{
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    while (fcntl(fd, F_SETLKW, &whole) == -1)
        if (errno != EINTR)
            return errno;
    return 0;
}

/* The heading may have got a carriage return from an editor. */
static bool begins_with(int fd, const char *heading, size_t size)
{
    char *first = memory_take(size + 1, 1);
    size_t line = size - 1; /* without its end */
    ssize_t got = pread(fd, first, size + 1, 0);
    bool same = got >= (ssize_t)line && memcmp(first, heading, line) == 0 &&
                (got == (ssize_t)line || first[line] == '\n' ||
                 (got > (ssize_t)size && first[line] == '\r' && first[size] == '\n'));
    free(first);
    return same;
}

/* In one go at the end of the file, which is size_before long; a part of it is taken back. */
static int append(int fd, off_t size_before, const char *text, size_t size)
{
    ssize_t done;
    do
        done = write(fd, text, size);
    while (done == -1 && errno == EINTR);
    if (done == (ssize_t)size)
        return 0;
    int error = done == -1 ? errno : ENOSPC;
    if (done > 0 && ftruncate(fd, size_before) == -1)
        error = errno;
    return error;
}

static enum plyecho_code add_locked(int fd, const char *text, size_t heading_size, size_t size,
                                    struct plyecho_error *err)
{
    struct stat info;
    char last = '\n';
    if (fstat(fd, &info) == -1)
        return file_fail(err, errno, true);
    bool new_log = info.st_size == 0;
    if (!new_log && !begins_with(fd, text, heading_size))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "does not begin with the heading of this log; left as it is: "
                            "name a log, or a file that is not there yet");
    if (!new_log && pread(fd, &last, 1, info.st_size - 1) != 1)
        return file_fail(err, errno, false);
    char *row = memory_take(size + 1, 1);
    size_t row_size = new_log ? size : size - heading_size;
    size_t end = last == '\n' ? 0 : 1;
    row[0] = '\n';
    memcpy(row + end, text + size - row_size, row_size);
    int error = append(fd, info.st_size, row, row_size + end);
    free(row);
    return error == 0 ? PLYECHO_OK : file_fail(err, error, true);
}

enum plyecho_code csv_log_add(const char *name, const char *text, size_t heading_size,
                              size_t size, struct plyecho_error *err)
{
    if (strcmp(name, "-") == 0 || file_is_special(name))
        return file_write(name, text, size, err);
    int fd = open(name, O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC | O_NOCTTY, 0666);
    if (fd == -1)
        return file_fail(err, errno, true);
    int error = lock(fd);
    enum plyecho_code code = error != 0 ? file_fail(err, error, true)
                                        : add_locked(fd, text, heading_size, size, err);
    if (close(fd) == -1 && code == PLYECHO_OK)
        code = file_fail(err, errno, true);
    return code;
}
