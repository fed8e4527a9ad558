/* memory.h - where the program takes memory of its own
 *
 * Running out ends the program with a message and status 2: there is nothing else it could do,
 * and output files are written from memory in one go, so none is left half-written.
 */
#ifndef PLYECHO_CMD_MEMORY_H
#define PLYECHO_CMD_MEMORY_H

#include <stddef.h>
#include <stdio.h>

/* Zeroed memory for count x size bytes, never NULL; freed with free(). */
void *memory_take(size_t count, size_t size);

/* Resize to count x size bytes, contents kept, never NULL. */
void *memory_resize(void *block, size_t count, size_t size);

/* A copy of text, never NULL. */
char *memory_text(const char *text);

/* A stream into memory, never NULL. memory_stream_end closes it; then *text is all that was written, '\0' behind
 * it, freed with free(). */
FILE *memory_stream(char **text, size_t *size);
void memory_stream_end(FILE *stream);

/* What the others do where there is none: say so and end the program. */
_Noreturn void memory_give_up(void);

#endif
