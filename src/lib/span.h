/* span.h - a stretch of somebody else's text, without a closing NUL
 */
#ifndef PLYECHO_LIB_SPAN_H
#define PLYECHO_LIB_SPAN_H

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

struct pe_span {
    const char *text;
    size_t size;
};

static inline bool pe_is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static inline struct pe_span pe_span_from(struct pe_span span, size_t start)
{
    return (struct pe_span){span.text + start, span.size - start};
}

static inline struct pe_span pe_span_trim(struct pe_span span)
{
    while (span.size > 0 && pe_is_blank(span.text[0])) {
        span.text++;
        span.size--;
    }
    while (span.size > 0 && pe_is_blank(span.text[span.size - 1]))
        span.size--;
    return span;
}

static inline bool pe_span_is(struct pe_span span, const char *text)
{
    return span.size == strlen(text) && memcmp(span.text, text, span.size) == 0;
}

/* Without the byte-order mark that some editors put ahead of UTF-8. */
static inline struct pe_span pe_span_unmarked(const void *bytes, size_t size)
{
    struct pe_span span = {bytes, size};
    return size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? pe_span_from(span, 3) : span;
}

/* For "%.*s": at most 40 bytes, whole characters. */
static inline int pe_span_shown(struct pe_span span)
{
    const size_t most = 40;
    size_t size = span.size < most ? span.size : most;
    while (size > 0 && size < span.size && ((unsigned char)span.text[size] & 0xc0) == 0x80)
        size--;
    return (int)size;
}

#endif
