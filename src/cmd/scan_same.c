#include <config.h>

#include "scan_same.h"

#include <stdlib.h>
#include <string.h>

#include "file.h"
#include "memory.h"
#include "procedure_file.h"

static int compare(size_t a, size_t b)
{
    return (a > b) - (a < b);
}

/* ---- one file by two names ---- */

struct listed {
    struct file_identity file;
    size_t channel, shot;
};

static int by_trace(const void *a, const void *b)
{
    const struct listed *one = a, *other = b;
    int order = file_identity_compare(&one->file, &other->file);
    if (order == 0)
        order = compare(one->channel, other->channel);
    return order != 0 ? order : compare(one->shot, other->shot);
}

/* A file that is not there is told when it is read. Returns how many are. */
static size_t list(const struct plyecho_manifest *m, const char *beside, struct listed *listed)
{
    struct file_identity file = {0};
    bool there = false;
    size_t count = 0;
    for (size_t i = 0; i < m->count; i++) {
        if (i == 0 || strcmp(m->shot[i].file, m->shot[i - 1].file) != 0) {
            char *path = procedure_file_beside(beside, m->shot[i].file);
            there = file_identify(path, &file);
            free(path);
        }
        if (there)
            listed[count++] = (struct listed){file, m->shot[i].channel, i};
    }
    return count;
}

static void say_listed(const struct plyecho_shot *one, const struct plyecho_shot *again,
                       const char *name, struct messages *messages)
{
    if (again->line == 0) /* not from a manifest */
        message_trouble(messages, again->file, "is the file %s by another name; name it once",
                        one->file);
    else
        message_trouble(messages, name,
                        "line %ld: channel %zu of %s is that of %s in line %ld, the same file; "
                        "one trace was taken at one place: mend file or channel",
                        again->line, again->channel, again->file, one->file, one->line);
}

bool scan_same_none_listed(const struct plyecho_manifest *m, const char *beside,
                           const char *name, struct messages *messages)
{
    struct listed *listed = memory_take(m->count, sizeof *listed);
    size_t count = list(m, beside, listed), twice = 0;
    qsort(listed, count, sizeof *listed, by_trace);
    for (size_t k = 1; k < count && twice == 0; k++)
        if (listed[k].channel == listed[k - 1].channel &&
            file_identity_compare(&listed[k].file, &listed[k - 1].file) == 0)
            twice = k;
    if (twice > 0)
        say_listed(&m->shot[listed[twice - 1].shot], &m->shot[listed[twice].shot], name,
                   messages);
    free(listed);
    return twice == 0;
}

/* ---- the same bytes in two files ---- */

struct read_shot {
    char digest[PLYECHO_DIGEST_ROOM];
    size_t channel, shot;
};

static int by_bytes(const void *a, const void *b)
{
    const struct read_shot *one = a, *other = b;
    int order = strcmp(one->digest, other->digest);
    if (order == 0)
        order = compare(one->channel, other->channel);
    return order != 0 ? order : compare(one->shot, other->shot);
}

static bool is_copy(const struct read_shot *one, const struct read_shot *other)
{
    return one->channel == other->channel && strcmp(one->digest, other->digest) == 0;
}

struct scan_copies scan_same_copies(const struct scan_journal *journal,
                                    const struct plyecho_manifest *m)
{
    struct read_shot *read = memory_take(m->count, sizeof *read);
    struct scan_copies copies = {0};
    struct scan_shot found;
    size_t count = 0;
    for (size_t i = 0; i < m->count; i++)
        if (scan_journal_get(journal, i, &found) && found.judged) {
            memcpy(read[count].digest, found.digest, sizeof found.digest);
            read[count].channel = m->shot[i].channel;
            read[count++].shot = i;
        }
    qsort(read, count, sizeof *read, by_bytes);
    for (size_t k = 1; k < count; k++) {
        if (!is_copy(&read[k], &read[k - 1]))
            continue;
        if (copies.count++ == 0 || read[k].shot < copies.first) {
            copies.first = read[k].shot;
            copies.of = read[k - 1].shot;
        }
    }
    free(read);
    return copies;
}

void scan_same_tell_copies(const struct scan_copies *copies, const struct plyecho_manifest *m,
                           const char *name, struct messages *messages)
{
    if (copies->count == 0)
        return;
    message_trouble(messages, name,
                    "%zu trace%s of this scan %s the bytes of another, the first %s, channel "
                    "%zu, those of %s: no two readings agree so; read that place again",
                    copies->count, copies->count > 1 ? "s" : "",
                    copies->count > 1 ? "have" : "has", m->shot[copies->first].file,
                    m->shot[copies->first].channel, m->shot[copies->of].file);
}
