#include <config.h>

#include "scan_folder.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"
#include "memory.h"

static char *joined(const char *one, const char *other)
{
    size_t room = strlen(one) + strlen(other) + 1;
    char *name = memory_take(room, 1);
    snprintf(name, room, "%s%s", one, other);
    return name;
}

static bool is_dot(const char *name)
{
    return strcmp(name, ".") == 0 || strcmp(name, "..") == 0;
}

/* Something stands there that results must not replace. */
static bool is_taken(const char *name)
{
    struct stat info;
    if (lstat(name, &info) != 0)
        return false;
    DIR *folder = S_ISDIR(info.st_mode) ? opendir(name) : NULL;
    if (folder == NULL)
        return true;
    bool taken = false;
    for (struct dirent *entry = readdir(folder); entry != NULL && !taken;
         entry = readdir(folder))
        taken = !is_dot(entry->d_name);
    closedir(folder);
    return taken;
}

enum plyecho_code scan_folder_open(struct scan_folder *f, const char *name,
                                   struct plyecho_error *err)
{
    size_t size = strlen(name);
    *f = (struct scan_folder){.name = memory_text(name)};
    while (size > 1 && f->name[size - 1] == '/')
        f->name[--size] = '\0';
    const char *last = file_base_name(f->name);
    f->partial = joined(f->name, ".partial");
    f->results = joined(f->partial, "/results");
    if (last[0] == '\0' || is_dot(last) || strcmp(f->name, "-") == 0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "results fill a folder of their own; give it a name");
    if (is_taken(f->name))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "is there already, and nothing in it is replaced; name another "
                            "folder, or remove this one");
    return PLYECHO_OK;
}

/* Of a scan that ended while it wrote them; never what a link leads to. */
static enum plyecho_code empty(const char *name, struct plyecho_error *err)
{
    int fd = open(name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC), error = 0;
    DIR *folder = fd != -1 ? fdopendir(fd) : NULL;
    if (folder == NULL)
        return file_fail(err, errno, true);
    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder))
        if (!is_dot(entry->d_name) && unlinkat(dirfd(folder), entry->d_name, 0) == -1)
            error = errno;
    closedir(folder);
    return error == 0 ? PLYECHO_OK : file_fail(err, error, true);
}

enum plyecho_code scan_folder_make(const struct scan_folder *f, struct plyecho_error *err)
{
    if (mkdir(f->partial, 0777) == 0)
        return scan_folder_begin(f, err);
    if (errno != EEXIST)
        return file_fail(err, errno, true);
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "the folder .partial beside it is there, of something unfinished; name "
                        "another folder, or remove that one");
}

void scan_folder_unmake(const struct scan_folder *f)
{
    struct stat info;
    struct plyecho_error err;
    if (lstat(f->results, &info) == 0 && empty(f->results, &err) == PLYECHO_OK)
        rmdir(f->results);
    rmdir(f->partial);
}

enum plyecho_code scan_folder_begin(const struct scan_folder *f, struct plyecho_error *err)
{
    if (mkdir(f->results, 0777) == 0)
        return PLYECHO_OK;
    return errno == EEXIST ? empty(f->results, err) : file_fail(err, errno, true);
}

enum plyecho_code scan_folder_write(const struct scan_folder *f, const char *name,
                                    const void *bytes, size_t size, struct plyecho_error *err)
{
    char *slash = joined(f->results, "/"), *path = joined(slash, name);
    enum plyecho_code code = file_write(path, bytes, size, err);
    free(path);
    free(slash);
    return code;
}

/* Onto an empty folder rename is fine, too. */
enum plyecho_code scan_folder_finish(const struct scan_folder *f, struct plyecho_error *err)
{
    if (rename(f->results, f->name) == 0)
        return PLYECHO_OK;
    if (errno == EEXIST || errno == ENOTEMPTY || errno == ENOTDIR)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "came to be while the scan ran; move it away, and --resume");
    return file_fail(err, errno, true);
}

void scan_folder_close(struct scan_folder *f)
{
    free(f->name);
    free(f->partial);
    free(f->results);
    *f = (struct scan_folder){.name = NULL};
}
