/* driver.c - runs a fuzzing target without a fuzzing engine
 *
 *     PROGRAM [--rounds N] FILE...
 *
 * Gives each file to the target as it is, then N damaged versions of it, the same on every run. A
 * target is a function with the name and form that LLVM's libFuzzer calls, so that
 * `clang -fsanitize=fuzzer,address` can build it without this file too.
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "target.h"

enum { MOST_BYTES = 1 << 20, ROOM = 2 * MOST_BYTES };

/* xorshift32 (Marsaglia, J. Stat. Softw. 8 (2003) 14) */
static uint32_t next_random(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

static size_t below(uint32_t *state, size_t limit)
{
    return limit > 0 ? next_random(state) % limit : 0;
}

/* Bytes at which readers of text and of binary headers take decisions. */
static uint8_t telling_byte(uint32_t *state)
{
    static const uint8_t bytes[] = "\0\1\x7f\x80\xff\n\r\t ,;:.=#\"'[]-+eE019";
    return bytes[below(state, sizeof bytes - 1)];
}

/* Change bytes in one way; returns the new size. */
static size_t damage(uint8_t *bytes, size_t size, uint32_t *state)
{
    size_t at = below(state, size);
    size_t length = 1 + below(state, size - at < 64 ? size - at : 64);
    switch (next_random(state) % 6) {
    case 0: /* cut short */
        return at;
    case 1: /* flip a bit */
        bytes[at] ^= (uint8_t)(1u << below(state, 8));
        return size;
    case 2: /* put a telling byte */
        bytes[at] = telling_byte(state);
        return size;
    case 3: /* take a piece out */
        if (length > size - at)
            length = size - at;
        memmove(bytes + at, bytes + at + length, size - at - length);
        return size - length;
    case 4: /* say a piece twice */
        if (length > size - at)
            length = size - at;
        memmove(bytes + at + length, bytes + at, size - at);
        return size + length;
    default: /* one byte over and over */
        memset(bytes + at, telling_byte(state), length > size - at ? size - at : length);
        return size;
    }
}

/* An exact copy in a block of its own, so that a sanitizer sees a read past the end. */
static void give(const uint8_t *bytes, size_t size)
{
    uint8_t *copy = malloc(size > 0 ? size : 1);
    if (copy == NULL)
        exit(2);
    memcpy(copy, bytes, size);
    LLVMFuzzerTestOneInput(copy, size);
    free(copy);
}

static void give_damaged(const uint8_t *bytes, size_t size, unsigned long rounds, uint8_t *room)
{
    uint32_t state = 2463534242u;
    for (unsigned long round = 0; round < rounds; round++) {
        memcpy(room, bytes, size);
        size_t now = size;
        for (size_t times = 1 + below(&state, 4); times > 0 && now > 0; times--)
            now = damage(room, now, &state);
        give(room, now);
    }
}

static size_t read_file(const char *name, uint8_t *bytes)
{
    FILE *file = fopen(name, "rb");
    if (file == NULL) {
        perror(name);
        exit(2);
    }
    size_t size = fread(bytes, 1, MOST_BYTES, file);
    fclose(file);
    return size;
}

int main(int argc, char **argv)
{
    int first = 1;
    unsigned long rounds = 0;
    if (argc > 2 && strcmp(argv[1], "--rounds") == 0) {
        rounds = strtoul(argv[2], NULL, 10);
        first = 3;
    }
    uint8_t *bytes = malloc(MOST_BYTES);
    uint8_t *room = malloc(ROOM);
    if (first >= argc || bytes == NULL || room == NULL) {
        fprintf(stderr, "usage: %s [--rounds N] FILE...\n", argv[0]);
        free(bytes);
        free(room);
        return 2;
    }
    for (int i = first; i < argc; i++) {
        size_t size = read_file(argv[i], bytes);
        give(bytes, size);
        give_damaged(bytes, size, rounds, room);
    }
    printf("%d files, %lu damaged versions of each\n", argc - first, rounds);
    free(bytes);
    free(room);
    return 0;
}
