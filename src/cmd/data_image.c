#include <config.h>

#include "data_image.h"

#include <stdbool.h>
#include <string.h>

#include <nettle/base64.h>

static const char *const media[] = {
    [DATA_IMAGE_PNG] = "image/png",
    [DATA_IMAGE_JPEG] = "image/jpeg",
    [DATA_IMAGE_SVG] = "image/svg+xml",
};

static unsigned big_endian(const unsigned char *bytes, size_t count)
{
    unsigned value = 0;
    for (size_t i = 0; i < count; i++)
        value = value << 8 | bytes[i];
    return value;
}

/* ---- PNG: chunks of length, type, data, check sum; IHDR first, IEND last ---- */

static const unsigned char png_signature[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};

static bool look_png(const unsigned char *bytes, size_t size, struct data_image *image)
{
    enum { AROUND = 12 }; /* length, type and check sum */
    bool has_pixels = false;
    for (size_t at = sizeof png_signature; size - at >= AROUND;) {
        size_t length = big_endian(bytes + at, 4);
        if (length > size - at - AROUND)
            return false;
        if (at == sizeof png_signature) {
            if (length != 13 || memcmp(bytes + at + 4, "IHDR", 4) != 0)
                return false;
            image->width = big_endian(bytes + at + 8, 4);
            image->height = big_endian(bytes + at + 12, 4);
        }
        has_pixels = has_pixels || memcmp(bytes + at + 4, "IDAT", 4) == 0;
        if (memcmp(bytes + at + 4, "IEND", 4) == 0)
            return has_pixels && image->width > 0 && image->height > 0;
        at += AROUND + length;
    }
    return false;
}

/* ---- JPEG: markers with lengths up to the scan; the frame's header has the size ---- */

static bool is_frame(unsigned marker)
{
    return marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 &&
           marker != 0xcc;
}

/* Behind the last scan there is an end marker; phones may put more behind that. */
static bool has_end(const unsigned char *bytes, size_t size)
{
    for (size_t i = size; i >= 2; i--)
        if (bytes[i - 2] == 0xff && bytes[i - 1] == 0xd9)
            return true;
    return false;
}

static bool look_jpeg(const unsigned char *bytes, size_t size, struct data_image *image)
{
    for (size_t at = 2; size - at >= 4;) {
        if (bytes[at] != 0xff)
            return false;
        unsigned marker = bytes[at + 1];
        if (marker == 0xff) { /* a fill byte */
            at++;
            continue;
        }
        size_t length = big_endian(bytes + at + 2, 2);
        if (length < 2 || length > size - at - 2)
            return false;
        if (is_frame(marker) && length >= 8) {
            image->height = big_endian(bytes + at + 5, 2);
            image->width = big_endian(bytes + at + 7, 2);
        }
        at += 2 + length;
        if (marker == 0xda)
            return image->width > 0 && image->height > 0 && has_end(bytes + at, size - at);
    }
    return false;
}

enum plyecho_code data_image_look(const unsigned char *bytes, size_t size,
                                  struct data_image *image, struct plyecho_error *err)
{
    bool png =
        size >= sizeof png_signature && memcmp(bytes, png_signature, sizeof png_signature) == 0;
    bool jpeg = size >= 4 && bytes[0] == 0xff && bytes[1] == 0xd8 && bytes[2] == 0xff;
    *image = (struct data_image){png ? DATA_IMAGE_PNG : DATA_IMAGE_JPEG, 0, 0};
    if (!png && !jpeg)
        return plyecho_fail(err, PLYECHO_UNKNOWN_FORMAT,
                            "no photograph that a page can show; save it as JPEG or PNG");
    if (size > DATA_IMAGE_LIMIT)
        return plyecho_fail(
            err, PLYECHO_TOO_LARGE,
            "%zu MB are more than the %zu MB that a page can carry; save it smaller",
            (size + 999999) / 1000000, DATA_IMAGE_LIMIT / 1000000);
    if (!(png ? look_png(bytes, size, image) : look_jpeg(bytes, size, image)))
        return plyecho_fail(err, PLYECHO_BAD_FILE,
                            "a %s that is damaged or cut short; copy it again",
                            png ? "PNG" : "JPEG");
    return PLYECHO_OK;
}

void data_image_write(FILE *out, enum data_image_kind kind, const unsigned char *bytes,
                      size_t size)
{
    enum { TAKEN = 3 * 1024 }; /* a whole number of base-64 groups */
    char text[BASE64_ENCODE_RAW_LENGTH(TAKEN)];
    fprintf(out, "data:%s;base64,", media[kind]);
    for (size_t at = 0; at < size; at += TAKEN) {
        size_t taken = size - at < TAKEN ? size - at : TAKEN;
        base64_encode_raw(text, taken, bytes + at);
        fwrite(text, 1, BASE64_ENCODE_RAW_LENGTH(taken), out);
    }
}
