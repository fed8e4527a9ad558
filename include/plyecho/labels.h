/* labels.h - what travels with a trace: an ordered list of key = value, of a file or a channel
 *
 * In text a label is `key: value`, and `key[17]: value` where it belongs to channel 17 only
 * (channels count from 1). Keys that this library knows carry their unit in their name; any
 * other key is kept as it came.
 */
#ifndef PLYECHO_LABELS_H
#define PLYECHO_LABELS_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>

struct plyecho_label {
    char *key;      /* no ':', '[', newline or leading/trailing space */
    size_t channel; /* 0: the whole file */
    char *value;    /* one line */
};

/* Zero-initialise before use; plyecho_labels_clear frees what it holds. */
struct plyecho_labels {
    struct plyecho_label *items;
    size_t count;
    size_t room;
};

/* Set or replace a label; key and value are copied. channel 0 is the whole file. */
PLYECHO_API enum plyecho_code plyecho_labels_set(struct plyecho_labels *labels, const char *key,
                                                 size_t channel, const char *value,
                                                 struct plyecho_error *err);

/* The same with a number, in its shortest exact form. */
PLYECHO_API enum plyecho_code plyecho_labels_set_number(struct plyecho_labels *labels,
                                                        const char *key, size_t channel,
                                                        double value,
                                                        struct plyecho_error *err);

/* The channel's own value, else the file's, else NULL. */
PLYECHO_API const char *plyecho_labels_get(const struct plyecho_labels *labels, const char *key,
                                           size_t channel);

/* A label's value as a number; absent is PLYECHO_OK with *value untouched. */
PLYECHO_API enum plyecho_code plyecho_labels_number(const struct plyecho_labels *labels,
                                                    const char *key, size_t channel,
                                                    double *value, struct plyecho_error *err);

/* The same where absent is an answer: then *value is 0 and not known. */
PLYECHO_API enum plyecho_code plyecho_labels_known(const struct plyecho_labels *labels,
                                                   const char *key, size_t channel,
                                                   struct plyecho_known *value,
                                                   struct plyecho_error *err);

/* Take a label out; nothing happens where it is absent. */
PLYECHO_API void plyecho_labels_remove(struct plyecho_labels *labels, const char *key,
                                       size_t channel);

/* Read one line `key: value` or `key[n]: value`. A line of another form is PLYECHO_BAD_FILE. */
PLYECHO_API enum plyecho_code plyecho_labels_read_line(struct plyecho_labels *labels,
                                                       const char *line, size_t size,
                                                       struct plyecho_error *err);

/* All labels as lines, each with `prefix` in front and '\n' behind; *text is malloc'ed. */
PLYECHO_API enum plyecho_code plyecho_labels_text(const struct plyecho_labels *labels,
                                                  const char *prefix, char **text, size_t *size,
                                                  struct plyecho_error *err);

/* to = a copy of from; to must be zero-initialised or cleared. */
PLYECHO_API enum plyecho_code plyecho_labels_copy(struct plyecho_labels *to,
                                                  const struct plyecho_labels *from,
                                                  struct plyecho_error *err);

/* Keep in labels only what stands in other with the same value too. */
PLYECHO_API void plyecho_labels_keep_common(struct plyecho_labels *labels,
                                            const struct plyecho_labels *other);

PLYECHO_API void plyecho_labels_clear(struct plyecho_labels *labels);

#endif
