/* read_text.h - trace files written in a test as text
 */
#ifndef PLYECHO_TESTS_READ_TEXT_H
#define PLYECHO_TESTS_READ_TEXT_H

#include <stdlib.h>
#include <string.h>

#include <plyecho/tracefile.h>

static inline enum plyecho_code read_text(const char *text, struct plyecho_traces *traces,
                                          struct plyecho_error *err)
{
    return plyecho_tracefile_read(text, strlen(text), NULL, traces, err);
}

/* Room for a text of that size, to be freed. */
static inline char *grow(size_t size)
{
    char *text = malloc(size + 1);
    assert_non_null(text);
    text[size] = '\0';
    return text;
}

#endif
