#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "file.h"
#include "memory.h"
#include "report.h"
#include "utf8.h"

/* What one page can carry. */
enum { PHOTOS_MOST = 40 };
static const size_t notes_limit = 256 * 1024;

static bool said(struct messages *messages, const char *name, const struct plyecho_error *err)
{
    message_error(messages, name, err);
    return false;
}

/* ---- pictures of the scan ---- */

/* Names without their endings are the same picture in another format. */
static bool same_stem(const char *one, const char *other)
{
    size_t size = strcspn(one, ".");
    return size == strcspn(other, ".") && memcmp(one, other, size) == 0;
}

/* A drawing stays sharp on paper, so that is taken where a picture is there in both formats. */
static bool has_drawing(const struct results *r, const char *name)
{
    for (size_t k = 0; k < results_pictures(r); k++) {
        const char *other = results_picture_name(r, k);
        if (other != NULL && file_name_ends_with(other, ".svg") && same_stem(other, name))
            return true;
    }
    return false;
}

/* A drawing is whole where its last element is closed. */
static bool is_whole_drawing(const unsigned char *bytes, size_t size)
{
    static const char end[] = "</svg>";
    while (size > 0 && (bytes[size - 1] == '\n' || bytes[size - 1] == '\r'))
        size--;
    return size >= sizeof end && bytes[0] == '<' &&
           memcmp(bytes + size - (sizeof end - 1), end, sizeof end - 1) == 0;
}

static enum plyecho_code look_picture(const struct report_image *p, struct plyecho_error *err)
{
    struct data_image image;
    bool whole = p->kind == DATA_IMAGE_SVG
                     ? is_whole_drawing(p->bytes, p->size)
                     : data_image_look(p->bytes, p->size, &image, err) == PLYECHO_OK &&
                           image.kind == DATA_IMAGE_PNG;
    if (whole)
        return PLYECHO_OK;
    return plyecho_fail(err, PLYECHO_BAD_FILE,
                        "%.60s is no picture that scan has drawn, or cut short; scan again",
                        p->name);
}

static bool take_picture(struct report *report, size_t index, struct messages *messages)
{
    const struct results *r = &report->results;
    struct report_image *p = &report->picture[report->pictures];
    struct plyecho_error err;
    if (results_picture(r, index, &p->bytes, &p->size, &err) != PLYECHO_OK)
        return said(messages, r->name, &err);
    p->name = memory_text(results_picture_name(r, index));
    p->kind = file_name_ends_with(p->name, ".svg") ? DATA_IMAGE_SVG : DATA_IMAGE_PNG;
    report->pictures++;
    return look_picture(p, &err) == PLYECHO_OK || said(messages, r->name, &err);
}

static bool take_pictures(struct report *report, struct messages *messages)
{
    const struct results *r = &report->results;
    bool good = true;
    report->picture = memory_take(results_pictures(r) + 1, sizeof *report->picture);
    for (size_t k = 0; k < results_pictures(r); k++) {
        const char *name = results_picture_name(r, k);
        if (name == NULL || file_name_ends_with(name, ".svg") || !has_drawing(r, name))
            good = take_picture(report, k, messages) && good;
    }
    if (good && report->pictures == 0)
        message_note(messages, r->name,
                     "no pictures: the page will have no maps; scan with --pictures svg");
    return good;
}

/* ---- photographs ---- */

static bool take_photo(struct report *report, const char *path, struct messages *messages)
{
    struct report_image *p = &report->photo[report->photos];
    struct file_bytes bytes = {0};
    struct data_image image;
    struct plyecho_error err;
    enum plyecho_code code = file_read(path, &bytes, &err);
    if (code == PLYECHO_OK)
        code = data_image_look(bytes.data, bytes.size, &image, &err);
    if (code != PLYECHO_OK) {
        free(bytes.data);
        return said(messages, path, &err);
    }
    *p = (struct report_image){memory_text(file_base_name(path)), image.kind, bytes.data,
                               bytes.size};
    report->photos++;
    return true;
}

static bool take_photos(struct report *report, struct messages *messages)
{
    const struct option_texts *photos = &report->values->photos;
    bool good = true;
    if (photos->count > PHOTOS_MOST) {
        message_trouble(messages, NULL, "%zu photographs; a page carries %d at most",
                        photos->count, PHOTOS_MOST);
        return false;
    }
    report->photo = memory_take(photos->count + 1, sizeof *report->photo);
    for (size_t k = 0; k < photos->count; k++)
        good = take_photo(report, photos->items[k], messages) && good;
    return good;
}

/* ---- notes ---- */

/* UTF-8 throughout; err has the line where not. */
static enum plyecho_code check_text(const char *text, size_t size, struct plyecho_error *err)
{
    long line = 1;
    for (const char *p = text; p < text + size;) {
        size_t length = *p != '\0' ? utf8_character(p) : 0;
        if (length == 0)
            return plyecho_fail_line(err, PLYECHO_BAD_FILE, line,
                                     "not UTF-8 text; save the notes as plain text in UTF-8");
        line += *p == '\n';
        p += length;
    }
    return PLYECHO_OK;
}

/* Without the mark that some editors put ahead of UTF-8, and with line ends of one byte. */
static size_t take_text(struct report *report, const struct file_bytes *bytes)
{
    static const char mark[] = "\357\273\277";
    size_t size = 0, start = sizeof mark - 1;
    if (bytes->size < start || memcmp(bytes->data, mark, start) != 0)
        start = 0;
    report->notes = memory_take(bytes->size + 1, 1);
    for (size_t i = start; i < bytes->size; i++)
        if (bytes->data[i] != '\r' || i + 1 == bytes->size || bytes->data[i + 1] != '\n')
            report->notes[size++] = (char)bytes->data[i];
    return size;
}

static bool take_notes(struct report *report, struct messages *messages)
{
    const struct option_text *name = &report->values->notes;
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    if (!name->set)
        return true;
    enum plyecho_code code = file_read(name->value, &bytes, &err);
    if (code == PLYECHO_OK && bytes.size > notes_limit)
        code = plyecho_fail(&err, PLYECHO_TOO_LARGE,
                            "%zu kB of notes; a page takes %zu kB: keep to what was seen",
                            bytes.size / 1024, notes_limit / 1024);
    if (code == PLYECHO_OK) {
        size_t size = take_text(report, &bytes);
        code = check_text(report->notes, size, &err);
    }
    free(bytes.data);
    return code == PLYECHO_OK || said(messages, name->value, &err);
}

/* ---- the log of checks ---- */

static bool take_log(struct report *report, struct messages *messages)
{
    const struct option_text *name = &report->values->checks;
    const char *setup = results_text(&report->results, "setup_digest");
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    if (!name->set)
        return true;
    enum plyecho_code code = file_read(name->value, &bytes, &err);
    if (code == PLYECHO_OK)
        code = check_log_read(&report->checks, bytes.data, bytes.size,
                              setup != NULL ? setup : "", &err);
    if (code == PLYECHO_OK)
        report->checked =
            check_log_judge(&report->checks, report_value(report, "inspection", "date"));
    free(bytes.data);
    return code == PLYECHO_OK || said(messages, name->value, &err);
}

/* ---- what is never replaced ---- */

static bool is_file(const struct file_identity *one, const char *name)
{
    struct file_identity other;
    return file_identify(name, &other) && file_identity_compare(one, &other) == 0;
}

static bool is_in_folder(const struct report *report, const struct file_identity *one,
                         const char *name)
{
    char *path = results_path(&report->results, name);
    bool is = is_file(one, path);
    free(path);
    return is;
}

bool report_is_input(const struct report *report, const char *name)
{
    static const char *const tables[] = {"summary.json", "readings.csv", "indications.csv"};
    const struct report_values *v = report->values;
    const struct results *r = &report->results;
    struct file_identity one;
    size_t k;
    if (!file_identify(name, &one))
        return false;
    bool is = (v->notes.set && is_file(&one, v->notes.value)) ||
              (v->checks.set && is_file(&one, v->checks.value));
    for (k = 0; k < v->photos.count; k++)
        is = is || is_file(&one, v->photos.items[k]);
    for (k = 0; k < sizeof tables / sizeof tables[0]; k++)
        is = is || is_in_folder(report, &one, tables[k]);
    for (k = 0; k < results_pictures(r); k++)
        is = is || (results_picture_name(r, k) != NULL &&
                    is_in_folder(report, &one, results_picture_name(r, k)));
    return is;
}

/* ---- all of it ---- */

bool report_open(struct report *report, const char *folder, const struct report_values *values,
                 struct messages *messages)
{
    struct plyecho_error err;
    *report = (struct report){.values = values};
    if (results_read(&report->results, folder, &err) != PLYECHO_OK)
        return said(messages, folder, &err);
    report->order = report_order(&report->results);
    bool pictures = take_pictures(report, messages), photos = take_photos(report, messages);
    bool notes = take_notes(report, messages), log = take_log(report, messages);
    return pictures && photos && notes && log;
}

static void clear_images(struct report_image *image, size_t count)
{
    for (size_t k = 0; k < count; k++) {
        free(image[k].name);
        free(image[k].bytes);
    }
    free(image);
}

void report_close(struct report *report)
{
    clear_images(report->picture, report->pictures);
    clear_images(report->photo, report->photos);
    free(report->order);
    free(report->notes);
    check_log_clear(&report->checks);
    results_clear(&report->results);
}
