#include <config.h>

#include "scan_journal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"
#include "memory.h"

/* As it lies in the file. */
struct record {
    uint64_t index;
    struct scan_shot shot;
    char check[PLYECHO_DIGEST_ROOM]; /* of all before it */
};

struct stored_head {
    char magic[16];
    uint64_t record_size;
    struct scan_head head;
    char check[PLYECHO_DIGEST_ROOM];
};

struct scan_journal {
    int fd;
    char *folder, *name;
    off_t *at; /* [shots] where its record stands, 0: none */
    size_t shots, held;
    off_t end;
};

static const char magic[16] = "plyecho-journal";

static void stamp(const void *bytes, size_t before, char check[PLYECHO_DIGEST_ROOM])
{
    plyecho_digest(bytes, before, check);
}

static bool is_stamped(const void *bytes, size_t before, const char check[PLYECHO_DIGEST_ROOM])
{
    char expected[PLYECHO_DIGEST_ROOM];
    plyecho_digest(bytes, before, expected);
    return memcmp(expected, check, sizeof expected) == 0;
}

/* Padding has no value of its own: cleared, so that a record has one digest. */
static struct record *new_record(void)
{
    return memory_take(1, sizeof(struct record));
}

static void make_head(struct stored_head *stored, const struct scan_head *head)
{
    memset(stored, 0, sizeof *stored);
    memcpy(stored->magic, magic, sizeof magic);
    stored->record_size = sizeof(struct record);
    snprintf(stored->head.program, sizeof stored->head.program, "%s", head->program);
    memcpy(stored->head.manifest, head->manifest, PLYECHO_DIGEST_ROOM);
    memcpy(stored->head.procedure, head->procedure, PLYECHO_DIGEST_ROOM);
    memcpy(stored->head.pulse, head->pulse, PLYECHO_DIGEST_ROOM);
    memcpy(stored->head.options, head->options, PLYECHO_DIGEST_ROOM);
    stored->head.shots = head->shots;
    memcpy(stored->head.day, head->day, SCAN_DAY_ROOM);
    stamp(stored, offsetof(struct stored_head, check), stored->check);
}

static enum plyecho_code append(struct scan_journal *j, const void *bytes, size_t size,
                                struct plyecho_error *err)
{
    ssize_t done;
    do
        done = pwrite(j->fd, bytes, size, j->end);
    while (done == -1 && errno == EINTR);
    if (done != (ssize_t)size)
        return file_fail(err, done == -1 ? errno : ENOSPC, true);
    j->end += (off_t)size;
    return PLYECHO_OK;
}

static char *name_in(const char *partial)
{
    size_t room = strlen(partial) + sizeof "/journal";
    char *name = memory_take(room, 1);
    snprintf(name, room, "%s/journal", partial);
    return name;
}

/* ---- what is there ---- */

static enum plyecho_code another(const char *what, const char *folder,
                                 struct plyecho_error *err)
{
    return plyecho_fail(
        err, PLYECHO_UNSUITABLE,
        "the unfinished scan in %s stands on another %s; take that one again, or "
        "remove the folder and begin anew",
        folder, what);
}

static enum plyecho_code check_head(const struct scan_journal *j,
                                    const struct stored_head *found,
                                    const struct stored_head *wanted, struct plyecho_error *err)
{
    const struct scan_head *a = &found->head, *b = &wanted->head;
    if (memcmp(found->magic, magic, sizeof magic) != 0 ||
        !is_stamped(found, offsetof(struct stored_head, check), found->check) ||
        found->record_size != wanted->record_size || strcmp(a->program, b->program) != 0)
        return another("version of this program", j->folder, err);
    if (strcmp(a->manifest, b->manifest) != 0 || a->shots != b->shots)
        return another("manifest", j->folder, err);
    if (strcmp(a->procedure, b->procedure) != 0)
        return another("procedure", j->folder, err);
    if (strcmp(a->pulse, b->pulse) != 0)
        return another("reference pulse", j->folder, err);
    if (strcmp(a->options, b->options) != 0)
        return another("set of options", j->folder, err);
    return PLYECHO_OK;
}

/* Whole records as far as they go; what was being written when it ended is written over. */
static void find_records(struct scan_journal *j)
{
    struct record *r = new_record();
    while (pread(j->fd, r, sizeof *r, j->end) == (ssize_t)sizeof *r && r->index < j->shots &&
           is_stamped(r, offsetof(struct record, check), r->check)) {
        j->held += j->at[r->index] == 0;
        j->at[r->index] = j->end;
        j->end += (off_t)sizeof *r;
    }
    free(r);
}

static enum plyecho_code go_on(struct scan_journal *j, const struct stored_head *wanted,
                               struct plyecho_error *err)
{
    struct stored_head found;
    ssize_t size = pread(j->fd, &found, sizeof found, 0);
    if (size == 0)
        return append(j, wanted, sizeof *wanted, err); /* it had not come to that */
    if (size != (ssize_t)sizeof found)
        return another("version of this program", j->folder, err);
    enum plyecho_code code = check_head(j, &found, wanted, err);
    j->end = (off_t)sizeof found;
    if (code == PLYECHO_OK)
        find_records(j);
    return code;
}

bool scan_journal_day(const char *partial, char day[SCAN_DAY_ROOM])
{
    struct stored_head found;
    char *name = name_in(partial);
    int fd = open(name, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NOFOLLOW | O_NONBLOCK);
    bool there = fd != -1 && pread(fd, &found, sizeof found, 0) == (ssize_t)sizeof found &&
                 is_stamped(&found, offsetof(struct stored_head, check), found.check);
    if (there)
        memcpy(day, found.head.day, SCAN_DAY_ROOM);
    if (fd != -1)
        close(fd);
    free(name);
    return there;
}

/* ---- open and close ---- */

/* A lock of the process goes when it closes the file elsewhere, as where a manifest names it as a trace; one of the
 * open file does not. */
#ifdef F_OFD_SETLK
enum { SET_LOCK = F_OFD_SETLK };
#else
enum { SET_LOCK = F_SETLK };
#endif

/* Another program holds it, or not. */
static enum plyecho_code lock(const struct scan_journal *j, struct plyecho_error *err)
{
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    if (fcntl(j->fd, SET_LOCK, &whole) == 0)
        return PLYECHO_OK;
    if (errno != EACCES && errno != EAGAIN)
        return file_fail(err, errno, true);
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "another scan is at work in %s; wait for it, or name another folder",
                        j->folder);
}

static enum plyecho_code open_file(struct scan_journal *j, bool *began,
                                   struct plyecho_error *err)
{
    *began = mkdir(j->folder, 0777) == 0;
    if (!*began && errno != EEXIST)
        return file_fail(err, errno, true);
    int make = *began ? O_CREAT | O_EXCL : 0;
    j->fd = open(j->name, O_RDWR | make | O_CLOEXEC | O_NOCTTY | O_NOFOLLOW, 0666);
    if (j->fd == -1 && errno == ENOENT)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "%s is there, and holds no unfinished scan; remove it", j->folder);
    return j->fd == -1 ? file_fail(err, errno, true) : lock(j, err);
}

enum plyecho_code scan_journal_open(struct scan_journal **journal, const char *partial,
                                    const struct scan_head *head, bool resume,
                                    struct plyecho_error *err)
{
    struct scan_journal *j = memory_take(1, sizeof *j);
    struct stored_head wanted;
    bool began = false;
    make_head(&wanted, head);
    j->fd = -1;
    j->folder = memory_text(partial);
    j->name = name_in(partial);
    j->shots = head->shots;
    j->at = memory_take(head->shots, sizeof *j->at);
    enum plyecho_code code = open_file(j, &began, err);
    if (code == PLYECHO_OK && !began && !resume)
        code =
            plyecho_fail(err, PLYECHO_UNSUITABLE,
                         "an unfinished scan is in %s; --resume goes on with it, removing the "
                         "folder begins anew",
                         partial);
    if (code == PLYECHO_OK)
        code = go_on(j, &wanted, err);
    if (code != PLYECHO_OK)
        scan_journal_close(j, false);
    *journal = code == PLYECHO_OK ? j : NULL;
    return code;
}

size_t scan_journal_held(const struct scan_journal *j)
{
    return j->held;
}

bool scan_journal_get(const struct scan_journal *j, size_t index, struct scan_shot *shot)
{
    struct record *r = new_record();
    bool there =
        j->at[index] != 0 && pread(j->fd, r, sizeof *r, j->at[index]) == (ssize_t)sizeof *r;
    if (there)
        *shot = r->shot;
    free(r);
    return there;
}

enum plyecho_code scan_journal_put(struct scan_journal *j, size_t index,
                                   const struct scan_shot *shot, struct plyecho_error *err)
{
    struct record *r = new_record();
    off_t at = j->end;
    r->index = index;
    r->shot = *shot;
    stamp(r, offsetof(struct record, check), r->check);
    enum plyecho_code code = append(j, r, sizeof *r, err);
    if (code == PLYECHO_OK)
        j->at[index] = at;
    free(r);
    return code;
}

void scan_journal_close(struct scan_journal *j, bool done)
{
    if (j == NULL)
        return;
    if (done) {
        unlink(j->name);
        rmdir(j->folder);
    }
    if (j->fd != -1)
        close(j->fd);
    free(j->folder);
    free(j->name);
    free(j->at);
    free(j);
}
