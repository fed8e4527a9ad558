#include "audio_labels.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

/* libsndfile 1.2.0 drops a comment over 2045 bytes without an error, and does not open again
 * what has a chunk of 65000 bytes in front of its samples. */
enum { COMMENT_ROOM = 2000, CHUNK_ROOM = 50000 };

static const char chunk_id[] = "pelb"; /* our own, unregistered */

static enum plyecho_code read_lines(const char *text, size_t size,
                                    struct plyecho_labels *labels, struct plyecho_error *err)
{
    enum plyecho_code code = PLYECHO_OK;
    for (size_t at = 0; at < size && code == PLYECHO_OK;) {
        const char *newline = memchr(text + at, '\n', size - at);
        size_t end = newline != NULL ? (size_t)(newline - text) : size;
        size_t line = end - at;
        while (line > 0 && (text[at + line - 1] == '\r' || text[at + line - 1] == '\0'))
            line--;
        if (line > 0)
            code = plyecho_labels_read_line(labels, text + at, line, err);
        at = end + 1;
    }
    return code;
}

static enum plyecho_code keep_as_comment(const char *text, struct plyecho_labels *labels,
                                         struct plyecho_error *err)
{
    size_t size = strlen(text);
    char *line = pe_alloc(size + 1, 1);
    if (line == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for the comment");
    for (size_t i = 0; i < size; i++)
        line[i] = (unsigned char)text[i] < 0x20 || text[i] == 0x7f ? ' ' : text[i];
    enum plyecho_code code = plyecho_labels_set(labels, "comment", 0, line, err);
    free(line);
    return code;
}

static enum plyecho_code read_comment(const char *comment, struct plyecho_labels *labels,
                                      struct plyecho_error *err)
{
    enum plyecho_code code = read_lines(comment, strlen(comment), labels, err);
    if (code != PLYECHO_BAD_FILE)
        return code;
    plyecho_labels_clear(labels);
    return keep_as_comment(comment, labels, err);
}

static enum plyecho_code read_chunk(SF_CHUNK_ITERATOR *chunk, struct plyecho_labels *labels,
                                    struct plyecho_error *err)
{
    SF_CHUNK_INFO info = {.datalen = 0};
    if (sf_get_chunk_size(chunk, &info) != SF_ERR_NO_ERROR || info.datalen == 0)
        return PLYECHO_OK;
    char *text = pe_alloc(info.datalen, 1);
    if (text == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "out of memory for labels");
    info.data = text;
    enum plyecho_code code = PLYECHO_OK;
    if (sf_get_chunk_data(chunk, &info) == SF_ERR_NO_ERROR)
        code = read_lines(text, info.datalen, labels, err);
    else
        code = plyecho_fail(err, PLYECHO_BAD_FILE,
                            "the chunk of labels cannot be read; make the file anew");
    free(text);
    return code;
}

enum plyecho_code pe_audio_labels_read(SNDFILE *file, struct plyecho_labels *labels,
                                       struct plyecho_error *err)
{
    SF_CHUNK_INFO wanted = {.id_size = sizeof chunk_id - 1};
    memcpy(wanted.id, chunk_id, sizeof chunk_id);
    SF_CHUNK_ITERATOR *chunk = sf_get_chunk_iterator(file, &wanted);
    if (chunk != NULL)
        return read_chunk(chunk, labels, err);
    const char *comment = sf_get_string(file, SF_STR_COMMENT);
    return comment != NULL ? read_comment(comment, labels, err) : PLYECHO_OK;
}

static enum plyecho_code write_chunk(SNDFILE *file, char *text, size_t size,
                                     struct plyecho_error *err)
{
    SF_CHUNK_INFO info = {
        .id_size = sizeof chunk_id - 1, .datalen = (unsigned)size, .data = text};
    memcpy(info.id, chunk_id, sizeof chunk_id);
    if (sf_set_chunk(file, &info) != SF_ERR_NO_ERROR)
        return plyecho_fail(err, PLYECHO_NO_LABEL_ROOM,
                            "the %zu bytes of labels do not go into a WAV; write CSV", size);
    return PLYECHO_OK;
}

enum plyecho_code pe_audio_labels_write(SNDFILE *file, const struct plyecho_labels *labels,
                                        struct plyecho_error *err)
{
    char *text;
    size_t size;
    enum plyecho_code code = plyecho_labels_text(labels, "", &text, &size, err);
    if (code != PLYECHO_OK)
        return code;
    if (size > CHUNK_ROOM)
        code = plyecho_fail(err, PLYECHO_NO_LABEL_ROOM,
                            "%zu bytes of labels, but a WAV holds at most %d; write CSV, or "
                            "leave labels out",
                            size, CHUNK_ROOM);
    else if (size > COMMENT_ROOM)
        code = write_chunk(file, text, size, err);
    else if (size > 0 && sf_set_string(file, SF_STR_COMMENT, text) != 0)
        code = plyecho_fail(err, PLYECHO_NO_LABEL_ROOM,
                            "the labels do not go into a WAV; write CSV");
    free(text);
    return code;
}
