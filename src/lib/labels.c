#include <plyecho/labels.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/number.h>
#include <plyecho/trace.h>

#include "alloc.h"

/* Setting looks through the whole list, so its length has a limit: hostile input must not make
 * that quadratic in its own size. */
enum { MOST_LABELS = 16384 };

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static bool is_control(char c)
{
    return ((unsigned char)c < 0x20 && c != '\t') || c == 0x7f;
}

static bool has_control(const char *text, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if (is_control(text[i]))
            return true;
    return false;
}

static void trim(const char **text, size_t *size)
{
    while (*size > 0 && is_blank(**text)) {
        (*text)++;
        (*size)--;
    }
    while (*size > 0 && is_blank((*text)[*size - 1]))
        (*size)--;
}

static bool key_is_sound(const char *key, size_t size)
{
    if (size == 0 || is_blank(key[0]) || is_blank(key[size - 1]) || has_control(key, size))
        return false;
    return memchr(key, ':', size) == NULL && memchr(key, '[', size) == NULL;
}

static bool has_key(const struct plyecho_label *label, const char *key, size_t size)
{
    return strncmp(label->key, key, size) == 0 && label->key[size] == '\0';
}

static struct plyecho_label *find(const struct plyecho_labels *labels, const char *key,
                                  size_t size, size_t channel)
{
    for (size_t i = 0; i < labels->count; i++)
        if (labels->items[i].channel == channel && has_key(&labels->items[i], key, size))
            return &labels->items[i];
    return NULL;
}

static char *copy_text(const char *text, size_t size)
{
    char *copy = pe_alloc(size + 1, 1);
    if (copy != NULL)
        memcpy(copy, text, size);
    return copy;
}

static enum plyecho_code no_memory(struct plyecho_error *err)
{
    return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for labels");
}

static enum plyecho_code make_room(struct plyecho_labels *labels, struct plyecho_error *err)
{
    if (labels->count < labels->room)
        return PLYECHO_OK;
    size_t room = labels->room > 0 ? 2 * labels->room : 16;
    void *items = pe_resize(labels->items, room, sizeof *labels->items);
    if (items == NULL)
        return no_memory(err);
    labels->items = items;
    labels->room = room;
    return PLYECHO_OK;
}

/* Key and value are known to be sound. */
static enum plyecho_code store(struct plyecho_labels *labels, const char *key, size_t key_size,
                               size_t channel, const char *value, size_t value_size,
                               struct plyecho_error *err)
{
    struct plyecho_label *label = find(labels, key, key_size, channel);
    if (label == NULL && labels->count >= MOST_LABELS)
        return plyecho_fail(err, PLYECHO_TOO_LARGE,
                            "more than %d labels; keep those that are needed", MOST_LABELS);
    char *value_copy = copy_text(value, value_size);
    if (value_copy == NULL)
        return no_memory(err);
    if (label != NULL) {
        free(label->value);
        label->value = value_copy;
        return PLYECHO_OK;
    }
    char *key_copy = copy_text(key, key_size);
    if (key_copy == NULL || make_room(labels, err) != PLYECHO_OK) {
        free(key_copy);
        free(value_copy);
        return no_memory(err);
    }
    labels->items[labels->count++] =
        (struct plyecho_label){.key = key_copy, .channel = channel, .value = value_copy};
    return PLYECHO_OK;
}

enum plyecho_code plyecho_labels_set(struct plyecho_labels *labels, const char *key,
                                     size_t channel, const char *value,
                                     struct plyecho_error *err)
{
    size_t size = strlen(value);
    if (!key_is_sound(key, strlen(key)))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "'%.80s' cannot be a label's key; leave out ':', '[', control "
                            "characters and spaces at its ends",
                            key);
    if (channel > PLYECHO_MAX_CHANNELS)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "label '%.80s' is for channel %zu; channels go from 1 to %d", key,
                            channel, PLYECHO_MAX_CHANNELS);
    if (has_control(value, size))
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "the value of label '%.80s' holds a line break or control character; "
            "write it as one line",
            key);
    trim(&value, &size);
    return store(labels, key, strlen(key), channel, value, size, err);
}

enum plyecho_code plyecho_labels_set_number(struct plyecho_labels *labels, const char *key,
                                            size_t channel, double value,
                                            struct plyecho_error *err)
{
    char text[PLYECHO_NUMBER_ROOM];
    return plyecho_labels_set(labels, key, channel, plyecho_number_format(value, text), err);
}

const char *plyecho_labels_get(const struct plyecho_labels *labels, const char *key,
                               size_t channel)
{
    const struct plyecho_label *label = find(labels, key, strlen(key), channel);
    if (label == NULL && channel != 0)
        label = find(labels, key, strlen(key), 0);
    return label != NULL ? label->value : NULL;
}

enum plyecho_code plyecho_labels_number(const struct plyecho_labels *labels, const char *key,
                                        size_t channel, double *value,
                                        struct plyecho_error *err)
{
    const char *text = plyecho_labels_get(labels, key, channel);
    if (text == NULL)
        return PLYECHO_OK;
    double parsed;
    size_t size = strlen(text);
    if (plyecho_number_scan(text, size, '.', &parsed) != size || size == 0 || !isfinite(parsed))
        return plyecho_fail(err, PLYECHO_BAD_NUMBER,
                            "label '%.80s' is '%.80s'; it must be a plain number like 12.5",
                            key, text);
    *value = parsed;
    return PLYECHO_OK;
}

enum plyecho_code plyecho_labels_known(const struct plyecho_labels *labels, const char *key,
                                       size_t channel, struct plyecho_known *value,
                                       struct plyecho_error *err)
{
    *value = (struct plyecho_known){plyecho_labels_get(labels, key, channel) != NULL, 0.0};
    return plyecho_labels_number(labels, key, channel, &value->value, err);
}

static void free_label(struct plyecho_label *label)
{
    free(label->key);
    free(label->value);
}

void plyecho_labels_remove(struct plyecho_labels *labels, const char *key, size_t channel)
{
    struct plyecho_label *label = find(labels, key, strlen(key), channel);
    if (label == NULL)
        return;
    free_label(label);
    labels->count--;
    size_t after = labels->count - (size_t)(label - labels->items);
    memmove(label, label + 1, after * sizeof *label);
}

/* `key` or `key[17]`: takes the bracket off *size. False where the bracket is broken. */
static bool split_channel(const char *key, size_t *size, size_t *channel)
{
    const char *bracket = memchr(key, '[', *size);
    *channel = 0;
    if (bracket == NULL)
        return true;
    const char *p = bracket + 1, *const last = key + *size - 1;
    if (p >= last || *last != ']' || *p == '0')
        return false;
    for (; p < last; p++) {
        if (*p < '0' || *p > '9')
            return false;
        *channel = *channel * 10 + (size_t)(*p - '0');
        if (*channel > PLYECHO_MAX_CHANNELS)
            return false;
    }
    *size = (size_t)(bracket - key);
    return true;
}

enum plyecho_code plyecho_labels_read_line(struct plyecho_labels *labels, const char *line,
                                           size_t size, struct plyecho_error *err)
{
    int shown = size > 80 ? 80 : (int)size;
    while (size > 0 && (line[size - 1] == '\n' || line[size - 1] == '\r'))
        size--;
    const char *colon = memchr(line, ':', size);
    if (colon == NULL)
        return plyecho_fail(err, PLYECHO_BAD_FILE, "'%.*s' is no label; write `key: value`",
                            shown, line);
    const char *key = line, *value = colon + 1;
    size_t key_size = (size_t)(colon - line), value_size = size - key_size - 1, channel;
    trim(&key, &key_size);
    trim(&value, &value_size);
    if (!split_channel(key, &key_size, &channel) || !key_is_sound(key, key_size))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "'%.*s' is no label; write `key: value`, or `key[n]: value` for "
                            "channel n from 1 to %d",
                            shown, line, PLYECHO_MAX_CHANNELS);
    if (has_control(value, value_size))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "label '%.*s' holds a control character; take it out",
                            key_size > 80 ? 80 : (int)key_size, key);
    return store(labels, key, key_size, channel, value, value_size, err);
}

/* Write one label as a line at p, which has room; returns the end. */
static char *put_line(char *p, const char *prefix, const struct plyecho_label *label)
{
    char channel[32] = "";
    if (label->channel != 0)
        snprintf(channel, sizeof channel, "[%zu]", label->channel);
    const char *const parts[] = {prefix, label->key, channel, ": ", label->value, "\n"};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        size_t size = strlen(parts[i]);
        memcpy(p, parts[i], size);
        p += size;
    }
    return p;
}

enum plyecho_code plyecho_labels_text(const struct plyecho_labels *labels, const char *prefix,
                                      char **text, size_t *size, struct plyecho_error *err)
{
    size_t room = 1;
    for (size_t i = 0; i < labels->count; i++)
        room += strlen(prefix) + strlen(labels->items[i].key) + strlen(labels->items[i].value) +
                sizeof "[18446744073709551615]: \n";
    *text = pe_alloc(room, 1);
    *size = 0;
    if (*text == NULL)
        return no_memory(err);
    char *p = *text;
    for (size_t i = 0; i < labels->count; i++)
        p = put_line(p, prefix, &labels->items[i]);
    *size = (size_t)(p - *text);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_labels_copy(struct plyecho_labels *to,
                                      const struct plyecho_labels *from,
                                      struct plyecho_error *err)
{
    *to = (struct plyecho_labels){0};
    if (from->count == 0)
        return PLYECHO_OK;
    to->items = pe_alloc(from->count, sizeof *to->items);
    if (to->items == NULL)
        return no_memory(err);
    to->room = from->count;
    for (; to->count < from->count; to->count++) {
        const struct plyecho_label *source = &from->items[to->count];
        struct plyecho_label label = {.key = copy_text(source->key, strlen(source->key)),
                                      .channel = source->channel,
                                      .value = copy_text(source->value, strlen(source->value))};
        if (label.key == NULL || label.value == NULL) {
            free_label(&label);
            plyecho_labels_clear(to);
            return no_memory(err);
        }
        to->items[to->count] = label;
    }
    return PLYECHO_OK;
}

void plyecho_labels_keep_common(struct plyecho_labels *labels,
                                const struct plyecho_labels *other)
{
    size_t kept = 0;
    for (size_t i = 0; i < labels->count; i++) {
        struct plyecho_label *label = &labels->items[i];
        const struct plyecho_label *twin =
            find(other, label->key, strlen(label->key), label->channel);
        if (twin != NULL && strcmp(twin->value, label->value) == 0)
            labels->items[kept++] = *label;
        else
            free_label(label);
    }
    labels->count = kept;
}

void plyecho_labels_clear(struct plyecho_labels *labels)
{
    for (size_t i = 0; i < labels->count; i++)
        free_label(&labels->items[i]);
    free(labels->items);
    *labels = (struct plyecho_labels){0};
}
