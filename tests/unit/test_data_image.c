/* Photographs by their bytes: PNG as ISO/IEC 15948 has it, JPEG as ITU-T T.81, annex B; base 64 against RFC 4648. */
#include <config.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "data_image.h"
#include "memory.h"

/* A file being made. */
struct made {
    unsigned char bytes[4096];
    size_t size;
};

static void put(struct made *m, const void *bytes, size_t size)
{
    assert_true(m->size + size <= sizeof m->bytes);
    memcpy(m->bytes + m->size, bytes, size);
    m->size += size;
}

static void put_number(struct made *m, unsigned value, size_t count)
{
    for (size_t i = count; i-- > 0;)
        put(m, &(unsigned char){(unsigned char)(value >> 8 * i)}, 1);
}

/* ---- PNG ---- */

/* Check sum of a chunk: ISO/IEC 15948, annex D. */
static unsigned crc_of(const unsigned char *bytes, size_t size)
{
    unsigned crc = 0xffffffffu;
    for (size_t i = 0; i < size; i++) {
        crc ^= bytes[i];
        for (int bit = 0; bit < 8; bit++)
            crc = crc & 1 ? crc >> 1 ^ 0xedb88320u : crc >> 1;
    }
    return ~crc;
}

static void put_chunk(struct made *m, const char *type, const void *bytes, size_t size)
{
    put_number(m, (unsigned)size, 4);
    size_t at = m->size;
    put(m, type, 4);
    put(m, bytes, size);
    put_number(m, crc_of(m->bytes + at, m->size - at), 4);
}

static void begin_png(struct made *m, unsigned width, unsigned height)
{
    struct made header = {.size = 0};
    m->size = 0;
    put(m, "\x89PNG\r\n\x1a\n", 8);
    put_number(&header, width, 4);
    put_number(&header, height, 4);
    put(&header, "\x08\x00\x00\x00\x00", 5); /* 8 bits of grey */
    put_chunk(m, "IHDR", header.bytes, header.size);
}

static void make_png(struct made *m, unsigned width, unsigned height)
{
    /* one grey pixel, stored in a block of its own (RFC 1950 and 1951) */
    static const unsigned char data[] = {0x78, 0x01, 0x01, 0x02, 0x00, 0xfd, 0xff,
                                         0x00, 0x80, 0x00, 0x82, 0x00, 0x81};
    begin_png(m, width, height);
    put_chunk(m, "tEXt", "Comment\0IEND, but in words", 26);
    put_chunk(m, "IDAT", data, sizeof data);
    put_chunk(m, "IEND", "", 0);
}

/* ---- JPEG ---- */

static void put_segment(struct made *m, unsigned marker, const void *bytes, size_t size)
{
    put_number(m, 0xff00 | marker, 2);
    put_number(m, (unsigned)size + 2, 2);
    put(m, bytes, size);
}

static void put_frame(struct made *m, unsigned marker, unsigned width, unsigned height)
{
    struct made frame = {.size = 0};
    put_number(&frame, 8, 1);
    put_number(&frame, height, 2);
    put_number(&frame, width, 2);
    put(&frame, "\x01\x01\x11\x00", 4);
    put_segment(m, marker, frame.bytes, frame.size);
}

static void begin_jpeg(struct made *m)
{
    m->size = 0;
    put_number(m, 0xffd8, 2);
    put_segment(m, 0xe0, "JFIF\0\1\1\0\0\1\0\1\0\0", 14);
}

/* The scan: entropy-coded bytes with a stuffed zero and a restart marker, then the end of the image. */
static void end_jpeg(struct made *m)
{
    put_segment(m, 0xda, "\1\1\0\0\77\0", 6);
    put(m, "\x12\xff\x00\x34\xff\xd0\x56\x78", 8);
    put_number(m, 0xffd9, 2);
}

static void make_jpeg(struct made *m, unsigned marker, unsigned width, unsigned height)
{
    begin_jpeg(m);
    put_segment(m, 0xdb, "\0", 1);
    put_frame(m, marker, width, height);
    put_segment(m, 0xc4, "\0", 1); /* tables, no frame */
    end_jpeg(m);
}

/* ---- looking ---- */

/* From an exact block of its own, so that a sanitizer sees a read past the end. */
static enum plyecho_code look(const unsigned char *bytes, size_t size, struct data_image *image,
                              struct plyecho_error *err)
{
    unsigned char *copy = malloc(size > 0 ? size : 1);
    assert_non_null(copy);
    memcpy(copy, bytes, size);
    *err = (struct plyecho_error){.code = PLYECHO_OK};
    enum plyecho_code code = data_image_look(copy, size, image, err);
    free(copy);
    return code;
}

static void check_good(const struct made *m, enum data_image_kind kind, unsigned width,
                       unsigned height)
{
    struct data_image image;
    struct plyecho_error err;
    if (look(m->bytes, m->size, &image, &err) != PLYECHO_OK)
        fail_msg("refused: %s", err.text);
    assert_int_equal(image.kind, kind);
    assert_int_equal(image.width, width);
    assert_int_equal(image.height, height);
}

static void check_refused(const void *bytes, size_t size, enum plyecho_code code,
                          const char *says)
{
    struct data_image image;
    struct plyecho_error err;
    if (look(bytes, size, &image, &err) != code || strstr(err.text, says) == NULL)
        fail_msg("%zu bytes: code %d, %s", size, err.code, err.text);
}

/* Cut short at each length: below its signature it is anything, above it a broken one. */
static void check_cut_short(const struct made *m, size_t signature)
{
    for (size_t size = 0; size < m->size; size++)
        check_refused(m->bytes, size,
                      size < signature ? PLYECHO_UNKNOWN_FORMAT : PLYECHO_BAD_FILE,
                      size < signature ? "save it as JPEG or PNG" : "cut short");
}

static void a_png_has_its_size(void **state)
{
    (void)state;
    struct made m;
    make_png(&m, 1, 1);
    check_good(&m, DATA_IMAGE_PNG, 1, 1);
    make_png(&m, 4032, 3024);
    check_good(&m, DATA_IMAGE_PNG, 4032, 3024);
    check_cut_short(&m, 8);
    put(&m, "behind the end", 14); /* decoders stop at IEND */
    check_good(&m, DATA_IMAGE_PNG, 4032, 3024);
}

static void a_png_that_is_none(void **state)
{
    (void)state;
    struct made m, other;
    make_png(&m, 0, 3024);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
    make_png(&m, 4032, 0);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
    begin_png(&m, 8, 8); /* no picture between head and end */
    put_chunk(&m, "IEND", "", 0);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
    make_png(&m, 8, 8);
    other = m;
    memcpy(other.bytes + 12, "iHDR", 4);
    check_refused(other.bytes, other.size, PLYECHO_BAD_FILE, "damaged");
    other = m;
    memset(other.bytes + 8, 0xff, 4); /* a length beyond all */
    check_refused(other.bytes, other.size, PLYECHO_BAD_FILE, "damaged");
}

static void a_jpeg_has_its_size(void **state)
{
    (void)state;
    struct made m;
    static const unsigned frames[] = {0xc0, 0xc1, 0xc2, 0xc9, 0xca};
    for (size_t i = 0; i < sizeof frames / sizeof frames[0]; i++) {
        make_jpeg(&m, frames[i], 4032, 3024);
        check_good(&m, DATA_IMAGE_JPEG, 4032, 3024);
        check_cut_short(&m, 4);
    }
    put(&m, "MPF\xff\xd8 another one", 17); /* phones put a depth map or a film behind */
    check_good(&m, DATA_IMAGE_JPEG, 4032, 3024);
}

/* T.81, B.1.1.2: any marker may be preceded by any number of fill bytes 0xff. */
static void fill_bytes_ahead_of_a_marker_are_skipped(void **state)
{
    (void)state;
    struct made m;
    begin_jpeg(&m);
    put(&m, "\xff\xff\xff", 3);
    put_frame(&m, 0xc0, 640, 480);
    put(&m, "\xff", 1);
    end_jpeg(&m);
    check_good(&m, DATA_IMAGE_JPEG, 640, 480);
    check_cut_short(&m, 4);
}

/* A small picture within the camera's own segment has an end marker of its own; it ends nothing. */
static void the_end_of_a_preview_is_no_end(void **state)
{
    (void)state;
    struct made m;
    begin_jpeg(&m);
    put_segment(&m, 0xe1, "Exif\0\0\xff\xd8\xff\xd9", 10);
    put_frame(&m, 0xc0, 640, 480);
    put_segment(&m, 0xda, "\1\1\0\0\77\0", 6);
    put(&m, "\x12\x34\x56", 3);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "cut short");
}

static void a_jpeg_that_is_none(void **state)
{
    (void)state;
    struct made m;
    make_jpeg(&m, 0xc0, 0, 480);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
    make_jpeg(&m, 0xc0, 640, 0);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
    make_jpeg(&m, 0xc4, 640, 480); /* no frame: the size is nowhere */
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
    begin_jpeg(&m);
    put_number(&m, 0xffc0, 2);
    put_number(&m, 1, 2); /* a length that does not hold itself */
    put(&m, "........", 8);
    check_refused(m.bytes, m.size, PLYECHO_BAD_FILE, "damaged");
}

static void foreign_bytes_are_told(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t size;
    } rows[] = {
        {"", 0},
        {"GIF89a\1\0\1\0", 10},
        {"RIFF\4\0\0\0WEBPVP8 ", 16},
        {"<svg xmlns='http://www.w3.org/2000/svg'/>", 40},
        {"%PDF-1.7", 8},
        {"\0\0\0\30ftypheic", 12},
        {"angle_deg,axial_mm", 18},
        {"\xff\xd8", 2},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        check_refused(rows[i].bytes, rows[i].size, PLYECHO_UNKNOWN_FORMAT,
                      "save it as JPEG or PNG");
}

static void one_that_is_too_large_is_told(void **state)
{
    (void)state;
    struct made m;
    unsigned char *bytes = calloc(1, DATA_IMAGE_LIMIT + 1);
    assert_non_null(bytes);
    make_png(&m, 8, 8);
    memcpy(bytes, m.bytes, m.size);
    struct data_image image;
    struct plyecho_error err;
    assert_int_equal(data_image_look(bytes, DATA_IMAGE_LIMIT, &image, &err), PLYECHO_OK);
    assert_int_equal(data_image_look(bytes, DATA_IMAGE_LIMIT + 1, &image, &err),
                     PLYECHO_TOO_LARGE);
    assert_non_null(strstr(err.text, "save it smaller"));
    free(bytes);
}

/* ---- base 64 ---- */

static char *url_of(enum data_image_kind kind, const void *bytes, size_t size)
{
    char *text;
    size_t length;
    FILE *out = memory_stream(&text, &length);
    data_image_write(out, kind, bytes, size);
    memory_stream_end(out);
    assert_int_equal(length, strlen(text));
    return text;
}

/* RFC 4648, section 10. */
static void the_published_vectors_come_out(void **state)
{
    (void)state;
    static const struct {
        const char *bytes, *text;
    } rows[] = {
        {"", ""},
        {"f", "Zg=="},
        {"fo", "Zm8="},
        {"foo", "Zm9v"},
        {"foob", "Zm9vYg=="},
        {"fooba", "Zm9vYmE="},
        {"foobar", "Zm9vYmFy"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *url = url_of(DATA_IMAGE_PNG, rows[i].bytes, strlen(rows[i].bytes));
        char expected[64];
        snprintf(expected, sizeof expected, "data:image/png;base64,%s", rows[i].text);
        assert_string_equal(url, expected);
        free(url);
    }
    char *url = url_of(DATA_IMAGE_JPEG, "\xfb\xff\xbf", 3); /* section 4: + and / */
    assert_string_equal(url, "data:image/jpeg;base64,+/+/");
    free(url);
    url = url_of(DATA_IMAGE_SVG, "f", 1);
    assert_string_equal(url, "data:image/svg+xml;base64,Zg==");
    free(url);
}

/* Digit by digit as RFC 4648, section 4, says it, so that no seam between pieces shows. */
static void check_pieces(const unsigned char *bytes, size_t size)
{
    static const char digits[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    char *url = url_of(DATA_IMAGE_PNG, bytes, size), *text = strchr(url, ',') + 1;
    assert_int_equal(strlen(text), (size + 2) / 3 * 4);
    for (size_t i = 0; i < (size + 2) / 3 * 4; i++) {
        unsigned group = 0;
        for (size_t k = i / 4 * 3; k < i / 4 * 3 + 3; k++)
            group = group << 8 | (k < size ? bytes[k] : 0u);
        bool padding = i / 4 * 3 + i % 4 > size;
        assert_int_equal(text[i], padding ? '=' : digits[group >> 6 * (3 - i % 4) & 63]);
    }
    free(url);
}

static void pieces_join_without_a_seam(void **state)
{
    (void)state;
    static unsigned char bytes[9300];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (unsigned char)(i * i + i / 7);
    for (size_t around = 3072; around <= 9216; around += 3072)
        for (size_t size = around - 4; size <= around + 4; size++)
            check_pieces(bytes, size);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_png_has_its_size),
        cmocka_unit_test(a_png_that_is_none),
        cmocka_unit_test(a_jpeg_has_its_size),
        cmocka_unit_test(fill_bytes_ahead_of_a_marker_are_skipped),
        cmocka_unit_test(the_end_of_a_preview_is_no_end),
        cmocka_unit_test(a_jpeg_that_is_none),
        cmocka_unit_test(foreign_bytes_are_told),
        cmocka_unit_test(one_that_is_too_large_is_told),
        cmocka_unit_test(the_published_vectors_come_out),
        cmocka_unit_test(pieces_join_without_a_seam),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
