#include <config.h>

#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "memory.h"

enum plyecho_code file_fail(struct plyecho_error *err, int number, bool writing)
{
    switch (number) {
    case ENOENT:
        return plyecho_fail(err, PLYECHO_IO, "no such %s",
                            writing ? "folder; make it first"
                                    : "file; check its name and folder");
    case EACCES:
    case EPERM:
        return plyecho_fail(err, PLYECHO_IO,
                            "no permission to %s; change its mode (chmod u+%c)",
                            writing ? "write it" : "read it", writing ? 'w' : 'r');
    case ENOTDIR:
        return plyecho_fail(err, PLYECHO_IO,
                            "leads through a file as if it were a folder; "
                            "check the path");
    case EISDIR:
        return plyecho_fail(err, PLYECHO_IO, "is a folder; %s",
                            writing ? "give the name of a file in it" : "name the files in it");
    case ENOSPC:
    case EDQUOT:
        return plyecho_fail(err, PLYECHO_IO, "no space left; free some, or write elsewhere");
    case EFBIG:
        return plyecho_fail(err, PLYECHO_IO,
                            "larger than allowed; raise the limit (ulimit -f)");
    case EROFS:
        return plyecho_fail(err, PLYECHO_IO, "read-only file system; write elsewhere");
    case EBADF:
        return plyecho_fail(err, PLYECHO_IO, "closed; open it for %s in the shell",
                            writing ? "writing" : "reading");
    case EMFILE:
    case ENFILE:
        return plyecho_fail(err, PLYECHO_IO,
                            "too many open files; raise the limit (ulimit -n)");
    case ENAMETOOLONG:
        return plyecho_fail(err, PLYECHO_IO, "name too long; give a shorter one");
    default:
        return plyecho_fail(err, PLYECHO_IO, "%s; check the disk and the name",
                            strerror(number));
    }
}

static enum plyecho_code too_large(struct plyecho_error *err)
{
    return plyecho_fail(err, PLYECHO_TOO_LARGE,
                        "larger than the limit of 1 GiB; split it into smaller files");
}

static enum plyecho_code read_all(int fd, struct file_bytes *bytes, struct plyecho_error *err)
{
    struct stat info;
    size_t expected = 0;
    if (fstat(fd, &info) == -1)
        return file_fail(err, errno, false);
    if (S_ISDIR(info.st_mode))
        return file_fail(err, EISDIR, false);
    if (S_ISREG(info.st_mode) && info.st_size > 0) {
        if ((unsigned long long)info.st_size > FILE_LIMIT)
            return too_large(err);
        expected = (size_t)info.st_size;
    }
    for (;;) {
        /* one byte more than expected, so that the end shows without another resize */
        if (bytes->room <= bytes->size || bytes->room <= expected) {
            size_t more = bytes->size + bytes->size / 2 + 65536;
            bytes->room = more > expected + 1 ? more : expected + 1;
            bytes->data = memory_resize(bytes->data, bytes->room, 1);
        }
        ssize_t got = read(fd, bytes->data + bytes->size, bytes->room - bytes->size);
        if (got == -1 && errno == EINTR)
            continue;
        if (got == -1)
            return file_fail(err, errno, false);
        if (got == 0)
            return PLYECHO_OK;
        bytes->size += (size_t)got;
        if (bytes->size > FILE_LIMIT)
            return too_large(err);
    }
}

enum plyecho_code file_read(const char *path, struct file_bytes *bytes,
                            struct plyecho_error *err)
{
    bytes->size = 0;
    if (strcmp(path, "-") == 0)
        return read_all(STDIN_FILENO, bytes, err);
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (fd == -1)
        return file_fail(err, errno, false);
    enum plyecho_code code = read_all(fd, bytes, err);
    close(fd);
    return code;
}

static enum plyecho_code check_regular(int fd, struct plyecho_error *err)
{
    struct stat info;
    if (fstat(fd, &info) == -1)
        return file_fail(err, errno, false);
    if (S_ISREG(info.st_mode))
        return PLYECHO_OK;
    if (S_ISDIR(info.st_mode))
        return file_fail(err, EISDIR, false);
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "is a pipe or a device; put the file itself there");
}

enum plyecho_code file_read_regular(const char *path, struct file_bytes *bytes,
                                    struct plyecho_error *err)
{
    bytes->size = 0;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NOFOLLOW | O_NONBLOCK);
    if (fd == -1 && errno == ELOOP)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "is a link to elsewhere; put the file itself there");
    if (fd == -1 && errno == ENXIO)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "is a socket or a device; put the file itself there");
    if (fd == -1)
        return file_fail(err, errno, false);
    enum plyecho_code code = check_regular(fd, err);
    if (code == PLYECHO_OK)
        code = read_all(fd, bytes, err);
    close(fd);
    return code;
}

bool file_name_ends_with(const char *name, const char *ending)
{
    size_t size = strlen(name), behind = strlen(ending);
    return size > behind && strcmp(name + size - behind, ending) == 0;
}

/* 0, or the system's error number. */
static int write_all(int fd, const void *data, size_t size)
{
    const unsigned char *next = data;
    while (size > 0) {
        ssize_t done = write(fd, next, size);
        if (done == -1 && errno == EINTR)
            continue;
        if (done == -1)
            return errno;
        next += done;
        size -= (size_t)done;
    }
    return 0;
}

static int write_straight(const char *path, const void *data, size_t size)
{
    int fd = open(path, O_WRONLY | O_CLOEXEC | O_NOCTTY);
    if (fd == -1)
        return errno;
    int error = write_all(fd, data, size);
    if (close(fd) == -1 && error == 0)
        error = errno;
    return error;
}

/* Make a file of a name not yet taken in path's folder: with the mode of the file that it takes the place of,
 * else by the umask. */
static int open_temporary(const char *path, char *name, size_t room)
{
    const char *slash = strrchr(path, '/');
    struct stat old;
    bool replaces = stat(path, &old) == 0;
    int folder = slash != NULL ? (int)(slash + 1 - path) : 0;
    for (unsigned attempt = 0;; attempt++) {
        snprintf(name, room, "%.*s.plyecho-%ld-%u.tmp", folder, path, (long)getpid(), attempt);
        int fd = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, replaces ? 0600 : 0666);
        if (fd != -1 && replaces && fchmod(fd, old.st_mode & 07777) == -1) {
            int number = errno;
            close(fd);
            unlink(name);
            errno = number;
            return -1;
        }
        if (fd != -1 || errno != EEXIST)
            return fd;
    }
}

static int write_renamed(const char *path, const void *data, size_t size)
{
    size_t room = strlen(path) + 64;
    char *name = memory_take(room, 1);
    int error = 0;
    int fd = open_temporary(path, name, room);
    if (fd == -1) {
        error = errno;
    } else {
        error = write_all(fd, data, size);
        if (close(fd) == -1 && error == 0)
            error = errno;
        if (error == 0 && rename(name, path) == -1)
            error = errno;
        if (error != 0)
            unlink(name);
    }
    free(name);
    return error;
}

static int write_uninterrupted(const char *path, const void *data, size_t size)
{
    sigset_t waiting, before;
    sigemptyset(&waiting);
    sigaddset(&waiting, SIGHUP);
    sigaddset(&waiting, SIGINT);
    sigaddset(&waiting, SIGTERM);
    sigprocmask(SIG_BLOCK, &waiting, &before);
    int error = write_renamed(path, data, size);
    sigprocmask(SIG_SETMASK, &before, NULL);
    return error;
}

static int write_file(const char *path, const void *data, size_t size)
{
    if (access(path, F_OK) == -1)
        return write_uninterrupted(path, data, size);
    if (file_is_folder(path))
        return EISDIR;
    if (file_is_special(path))
        return write_straight(path, data, size);
    if (access(path, W_OK) == -1)
        return errno;
    char *real = realpath(path, NULL); /* a link stays, what it points to is replaced */
    if (real == NULL)
        return errno;
    int error = write_uninterrupted(real, data, size);
    free(real);
    return error;
}

enum plyecho_code file_write(const char *path, const void *data, size_t size,
                             struct plyecho_error *err)
{
    int error = strcmp(path, "-") == 0 ? write_all(STDOUT_FILENO, data, size)
                                       : write_file(path, data, size);
    return error == 0 ? PLYECHO_OK : file_fail(err, error, true);
}

enum plyecho_code file_finish_stdout(struct plyecho_error *err)
{
    errno = 0;
    bool failed = ferror(stdout) != 0;
    if (fclose(stdout) != 0)
        return file_fail(err, errno, true);
    if (failed)
        return plyecho_fail(err, PLYECHO_IO,
                            "not all was written; free space, or write elsewhere");
    return PLYECHO_OK;
}

bool file_identify(const char *path, struct file_identity *identity)
{
    struct stat info;
    if (stat(path, &info) != 0)
        return false;
    *identity = (struct file_identity){info.st_dev, info.st_ino};
    return true;
}

int file_identity_compare(const void *a, const void *b)
{
    const struct file_identity *one = a, *other = b;
    if (one->device != other->device)
        return one->device < other->device ? -1 : 1;
    return (one->number > other->number) - (one->number < other->number);
}

const char *file_base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

bool file_is_folder(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

bool file_is_special(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && !S_ISREG(info.st_mode) && !S_ISDIR(info.st_mode);
}
