#include <config.h>

#include "results.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/digest.h>

#include "file.h"
#include "memory.h"
#include "results_check.h"
#include "results_tables.h"
#include "scan_summary.h"

/* ---- files in the folder ---- */

char *results_path(const struct results *r, const char *name)
{
    size_t room = strlen(r->name) + strlen(name) + 2;
    char *path = memory_take(room, 1);
    snprintf(path, room, "%s/%s", r->name, name);
    return path;
}

/* Put the file's name in front of what is wrong with it. */
static enum plyecho_code within(const char *name, struct plyecho_error *err)
{
    struct plyecho_error inner = *err;
    enum plyecho_code code =
        inner.line > 0
            ? plyecho_fail(err, inner.code, "%s: line %ld: %s", name, inner.line, inner.text)
            : plyecho_fail(err, inner.code, "%s: %s", name, inner.text);
    return code;
}

enum plyecho_code results_file(const struct results *r, const char *name, unsigned char **bytes,
                               size_t *size, struct plyecho_error *err)
{
    struct file_bytes file = {0};
    *bytes = NULL;
    *size = 0;
    if (name[0] == '\0' || name[0] == '.' || strchr(name, '/') != NULL)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "summary.json: %.60s is not a file of this folder; scan again",
                            name);
    char *path = results_path(r, name);
    enum plyecho_code code = file_read_regular(path, &file, err);
    free(path);
    if (code != PLYECHO_OK) {
        free(file.data);
        return within(name, err);
    }
    *bytes = file.data;
    *size = file.size;
    return PLYECHO_OK;
}

static enum plyecho_code check_folder(const struct results *r, struct plyecho_error *err)
{
    char *partial = memory_take(strlen(r->name) + sizeof ".partial", 1);
    sprintf(partial, "%s.partial", r->name);
    bool unfinished = !file_is_folder(r->name) && file_is_folder(partial);
    free(partial);
    if (unfinished || (file_is_folder(r->name) && file_name_ends_with(r->name, ".partial")))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "the scan is not finished; go on with it by scan --resume");
    if (!file_is_folder(r->name))
        return plyecho_fail(err, PLYECHO_IO,
                            "no folder of this name; name one that scan wrote");
    char *summary = results_path(r, "summary.json");
    struct file_identity identity;
    bool there = file_identify(summary, &identity);
    free(summary);
    if (!there)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "not a folder that scan wrote: no summary.json in it; name the one "
                            "that scan --out was given");
    return PLYECHO_OK;
}

/* ---- the summary ---- */

static enum plyecho_code check_format(const struct results *r, struct plyecho_error *err)
{
    const json_t *format = json_object_get(r->summary, "results_format");
    const char *program = results_text(r, "program");
    if (!json_is_integer(format))
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "summary.json: has no results_format; name a folder "
                            "that scan wrote");
    if (json_integer_value(format) == SCAN_RESULTS_FORMAT)
        return PLYECHO_OK;
    return plyecho_fail(
        err, PLYECHO_UNSUITABLE,
        "summary.json: results of format %lld, by %.40s; this version (%s) reads format %d; scan "
        "again with this one",
        (long long)json_integer_value(format), program != NULL ? program : "another program",
        PACKAGE_VERSION, SCAN_RESULTS_FORMAT);
}

static enum plyecho_code read_summary(struct results *r, struct plyecho_error *err)
{
    unsigned char *bytes;
    size_t size;
    json_error_t error;
    enum plyecho_code code = results_file(r, "summary.json", &bytes, &size, err);
    if (code != PLYECHO_OK)
        return code;
    plyecho_digest(bytes, size, r->digest);
    r->summary = json_loadb((const char *)bytes, size, JSON_REJECT_DUPLICATES, &error);
    free(bytes);
    if (r->summary == NULL)
        return plyecho_fail(err, PLYECHO_BAD_FILE, "summary.json: line %d: %s; scan again",
                            error.line, error.text);
    if (!json_is_object(r->summary))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "summary.json: not what scan writes; scan again");
    return check_format(r, err);
}

static const json_t *find(const struct results *r, const char *path)
{
    const json_t *at = r->summary;
    while (at != NULL && path[0] != '\0') {
        size_t size = strcspn(path, ".");
        char *key = memory_take(size + 1, 1);
        memcpy(key, path, size);
        at = json_object_get(at, key);
        free(key);
        path += size + (path[size] == '.');
    }
    return at;
}

const char *results_text(const struct results *r, const char *path)
{
    return json_string_value(find(r, path));
}

struct plyecho_known results_number(const struct results *r, const char *path)
{
    const json_t *at = find(r, path);
    return (struct plyecho_known){json_is_number(at), json_number_value(at)};
}

const char *results_setting(const struct results *r, const char *section, const char *key)
{
    const json_t *settings = json_object_get(r->summary, "settings"), *one;
    size_t k;
    json_array_foreach(settings, k, one)
    {
        const char *in = json_string_value(json_object_get(one, "section"));
        const char *is = json_string_value(json_object_get(one, "key"));
        if (in != NULL && is != NULL && strcmp(in, section) == 0 && strcmp(is, key) == 0)
            return json_string_value(json_object_get(one, "value"));
    }
    return NULL;
}

/* ---- all of it ---- */

/* A file whose digest the summary has. */
static enum plyecho_code read_known(const struct results *r, const char *name,
                                    const char *digest, unsigned char **bytes, size_t *size,
                                    struct plyecho_error *err)
{
    char is[PLYECHO_DIGEST_ROOM];
    enum plyecho_code code = results_file(r, name, bytes, size, err);
    if (code != PLYECHO_OK)
        return code;
    plyecho_digest(*bytes, *size, is);
    if (digest != NULL && strcmp(digest, is) == 0)
        return PLYECHO_OK;
    free(*bytes);
    *bytes = NULL;
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "%.60s: changed since the scan: its digest is not the one in "
                        "summary.json; scan again",
                        name);
}

static enum plyecho_code read_table(const struct results *r, const char *name,
                                    const char *digest_key, struct plyecho_rows **rows,
                                    struct plyecho_error *err)
{
    unsigned char *bytes;
    size_t size;
    enum plyecho_code code =
        read_known(r, name, results_text(r, digest_key), &bytes, &size, err);
    if (code == PLYECHO_OK && plyecho_rows_read(rows, bytes, size, err) != PLYECHO_OK)
        code = within(name, err);
    free(bytes);
    return code;
}

static const json_t *picture(const struct results *r, size_t index)
{
    return json_array_get(json_object_get(r->summary, "pictures"), index);
}

size_t results_pictures(const struct results *r)
{
    return json_array_size(json_object_get(r->summary, "pictures"));
}

const char *results_picture_name(const struct results *r, size_t index)
{
    return json_string_value(json_object_get(picture(r, index), "name"));
}

enum plyecho_code results_picture(const struct results *r, size_t index, unsigned char **bytes,
                                  size_t *size, struct plyecho_error *err)
{
    const char *name = results_picture_name(r, index);
    const char *digest = json_string_value(json_object_get(picture(r, index), "digest"));
    *bytes = NULL;
    *size = 0;
    if (name == NULL || digest == NULL)
        return plyecho_fail(err, PLYECHO_UNSUITABLE,
                            "summary.json: picture %zu has no name or no digest; scan again",
                            index + 1);
    return read_known(r, name, digest, bytes, size, err);
}

enum plyecho_code results_read(struct results *r, const char *folder, struct plyecho_error *err)
{
    *r = (struct results){.name = memory_text(folder)};
    for (size_t size = strlen(folder); size > 1 && r->name[size - 1] == '/'; size--)
        r->name[size - 1] = '\0';
    enum plyecho_code code = check_folder(r, err);
    if (code == PLYECHO_OK)
        code = read_summary(r, err);
    if (code == PLYECHO_OK)
        code = read_table(r, "readings.csv", "readings_digest", &r->readings, err);
    if (code == PLYECHO_OK)
        code = read_table(r, "indications.csv", "indications_digest", &r->found, err);
    if (code == PLYECHO_OK && (code = results_take_readings(r, err)) != PLYECHO_OK)
        return within("readings.csv", err);
    if (code == PLYECHO_OK && (code = results_take_indications(r, err)) != PLYECHO_OK)
        return within("indications.csv", err);
    if (code == PLYECHO_OK && (code = results_check(r, err)) != PLYECHO_OK)
        return within("summary.json", err);
    return code;
}

void results_clear(struct results *r)
{
    free(r->name);
    json_decref(r->summary);
    free(r->reading);
    free(r->member);
    free(r->indication);
    plyecho_rows_free(r->readings);
    plyecho_rows_free(r->found);
    *r = (struct results){.name = NULL};
}
