#include <config.h>

#include "memory.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "verb.h"

_Noreturn void memory_give_up(void)
{
    static const char text[] =
        "plyecho: out of memory; give it smaller files, or more memory (ulimit -v)\n";
    ssize_t said = write(STDERR_FILENO, text, sizeof text - 1);
    (void)said;
    _exit(STATUS_TROUBLE);
}

void *memory_take(size_t count, size_t size)
{
    void *block = calloc(count > 0 ? count : 1, size > 0 ? size : 1);
    if (block == NULL)
        memory_give_up();
    return block;
}

void *memory_resize(void *block, size_t count, size_t size)
{
    if (size != 0 && count > SIZE_MAX / size)
        memory_give_up();
    size_t bytes = count * size;
    void *resized = realloc(block, bytes > 0 ? bytes : 1);
    if (resized == NULL)
        memory_give_up();
    return resized;
}

char *memory_text(const char *text)
{
    size_t size = strlen(text) + 1;
    return memcpy(memory_take(size, 1), text, size);
}

FILE *memory_stream(char **text, size_t *size)
{
    FILE *stream = open_memstream(text, size);
    if (stream == NULL)
        memory_give_up();
    return stream;
}

void memory_stream_end(FILE *stream)
{
    bool failed = ferror(stream) != 0;
    failed |= fclose(stream) != 0;
    if (failed)
        memory_give_up();
}
