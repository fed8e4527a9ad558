#include "audio_container.h"

#include <string.h>

/* All these containers are chunks in a row: an identifier, a length, the bytes, perhaps
 * padding. They differ in how wide those are. Sources: IBM/Microsoft, "Multimedia Programming
 * Interface and Data Specifications 1.0" (1991) for RIFF; EBU Tech 3306 (2018) for RF64;
 * AIFF 1.3 and AIFF-C (Apple, 1989 and 1991); the published descriptions of Wave64, CAF and AU.
 * All from memory. */
struct layout {
    const char *name;
    const char *magic; /* at byte 0 */
    size_t magic_size;
    const char *form; /* at byte form_at, where form_size > 0 */
    size_t form_at, form_size;
    size_t first_chunk;
    size_t id_size, length_size;
    bool big_endian;
    bool length_counts_header;
    size_t alignment;
    const char *data_id; /* the first four bytes decide */
    const char
        *format_id; /* chunk with the number of channels, a 16-bit field at channels_at */
    size_t channels_at;
};

static const struct layout layouts[] = {
    {"WAV", "RIFF", 4, "WAVE", 8, 4, 12, 4, 4, false, false, 2, "data", "fmt ", 2},
    {"WAV", "RIFX", 4, "WAVE", 8, 4, 12, 4, 4, true, false, 2, "data", "fmt ", 2},
    {"RF64", "RF64", 4, "WAVE", 8, 4, 12, 4, 4, false, false, 2, "data", "fmt ", 2},
    {"AIFF", "FORM", 4, "AIFF", 8, 4, 12, 4, 4, true, false, 2, "SSND", "COMM", 0},
    {"AIFF", "FORM", 4, "AIFC", 8, 4, 12, 4, 4, true, false, 2, "SSND", "COMM", 0},
    {"W64", "riff\x2e\x91\xcf\x11", 8, "wave", 24, 4, 40, 16, 8, false, true, 8, "data", "fmt ",
     2},
    {"CAF", "caff\0\1", 6, "", 0, 0, 8, 4, 8, true, false, 1, "data", NULL, 0},
};

static bool has(const unsigned char *bytes, size_t size, size_t at, const char *text,
                size_t count)
{
    return at <= size && count <= size - at && memcmp(bytes + at, text, count) == 0;
}

static uint64_t read_integer(const unsigned char *p, size_t width, bool big_endian)
{
    uint64_t value = 0;
    for (size_t i = 0; i < width; i++)
        value = value << 8 | p[big_endian ? i : width - 1 - i];
    return value;
}

static const struct layout *find_layout(const unsigned char *bytes, size_t size)
{
    for (size_t i = 0; i < sizeof layouts / sizeof layouts[0]; i++) {
        const struct layout *l = &layouts[i];
        if (has(bytes, size, 0, l->magic, l->magic_size) &&
            has(bytes, size, l->form_at, l->form, l->form_size))
            return l;
    }
    return NULL;
}

/* Chunk identifiers are printable in all these containers. */
static bool is_identifier(const unsigned char *p)
{
    for (int i = 0; i < 4; i++)
        if (p[i] < 0x20 || p[i] > 0x7e)
            return false;
    return true;
}

/* RF64 keeps the true length of `data` in its first chunk. */
static uint64_t long_data_length(const unsigned char *bytes, size_t size)
{
    return has(bytes, size, 12, "ds64", 4) && size >= 36 ? read_integer(bytes + 28, 8, false)
                                                         : 0;
}

struct chunk {
    const unsigned char *id;
    uint64_t length; /* of the body, as promised */
    size_t body;     /* where it starts */
};

static void look_at_chunk(const struct layout *l, const unsigned char *bytes, size_t size,
                          const struct chunk *chunk, struct pe_audio_container *container)
{
    uint64_t left = size - chunk->body;
    if (memcmp(chunk->id, l->data_id, 4) == 0 && !container->has_data) {
        container->has_data = true;
        container->data_promised = chunk->length;
        container->data_present = chunk->length < left ? chunk->length : left;
    } else if (l->format_id != NULL && memcmp(chunk->id, l->format_id, 4) == 0 &&
               left >= l->channels_at + 2) {
        container->channels =
            (unsigned)read_integer(bytes + chunk->body + l->channels_at, 2, l->big_endian);
    }
    if (chunk->length > left)
        container->missing = chunk->length - left;
}

/* Where a chunk is expected and none stands, after the samples, those are more than promised.
 */
static void look_at_rest(const unsigned char *bytes, size_t at, size_t size, bool after_data,
                         struct pe_audio_container *container)
{
    bool zeros = true;
    for (size_t i = at; i < size && zeros; i++)
        zeros = bytes[i] == 0;
    if (after_data && !zeros) {
        container->more_than_promised = true;
        container->data_present = container->data_promised + (size - at);
    }
}

static void walk(const struct layout *l, const unsigned char *bytes, size_t size,
                 struct pe_audio_container *container)
{
    const size_t header = l->id_size + l->length_size;
    bool after_data = false;
    for (size_t at = l->first_chunk; at < size && size - at >= header;) {
        struct chunk chunk = {.id = bytes + at, .body = at + header};
        if (!is_identifier(chunk.id)) {
            look_at_rest(bytes, at, size, after_data, container);
            return;
        }
        chunk.length = read_integer(bytes + at + l->id_size, l->length_size, l->big_endian);
        if (l->length_counts_header)
            chunk.length = chunk.length > header ? chunk.length - header : 0;
        bool data = memcmp(chunk.id, l->data_id, 4) == 0;
        if (data && chunk.length == UINT32_MAX && strcmp(l->name, "RF64") == 0)
            chunk.length = long_data_length(bytes, size);
        if (data && chunk.length == UINT64_MAX && strcmp(l->name, "CAF") == 0)
            chunk.length = size - chunk.body; /* the standard's way to say: up to the end */
        look_at_chunk(l, bytes, size, &chunk, container);
        after_data = data;
        if (chunk.length > size - chunk.body)
            return;
        uint64_t padded =
            chunk.length + (l->alignment - chunk.length % l->alignment) % l->alignment;
        at = padded > size - chunk.body ? size : chunk.body + (size_t)padded;
    }
}

/* AU has one header and no chunks: magic, data offset, data length, encoding, rate, channels.
 */
static bool look_at_au(const unsigned char *bytes, size_t size,
                       struct pe_audio_container *container)
{
    bool big_endian = has(bytes, size, 0, ".snd", 4);
    if ((!big_endian && !has(bytes, size, 0, "dns.", 4)) || size < 24)
        return false;
    uint64_t offset = read_integer(bytes + 4, 4, big_endian);
    uint64_t length = read_integer(bytes + 8, 4, big_endian);
    uint64_t left = offset < size ? size - offset : 0;
    container->name = "AU";
    container->has_data = true;
    container->data_promised = length == UINT32_MAX ? left : length; /* all ones: not known */
    container->data_present = left;
    if (container->data_promised < left)
        container->data_present = container->data_promised;
    container->missing = container->data_promised - container->data_present;
    container->channels = (unsigned)read_integer(bytes + 20, 4, big_endian);
    return true;
}

bool pe_audio_container_look(const unsigned char *bytes, size_t size,
                             struct pe_audio_container *container)
{
    *container = (struct pe_audio_container){0};
    if (look_at_au(bytes, size, container))
        return true;
    const struct layout *l = find_layout(bytes, size);
    if (l == NULL)
        return false;
    container->name = l->name;
    walk(l, bytes, size, container);
    return true;
}
