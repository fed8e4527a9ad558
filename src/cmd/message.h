/* message.h - what the program says on standard error, one line each
 *
 * `plyecho: NAME: [line N:] what is wrong, and what would mend it`. NAME is a file, a verb, or
 * absent (NULL); the file name "-" is said as "standard input".
 */
#ifndef PLYECHO_CMD_MESSAGE_H
#define PLYECHO_CMD_MESSAGE_H

#include <stdbool.h>
#include <stdio.h>

#include <plyecho/error.h>

struct messages {
    FILE *to;
    bool quiet;   /* say no notes; trouble is always said */
    bool trouble; /* something went wrong: the exit status will be 2 */
};

/* Say what went wrong and remember that something did. */
void message_trouble(struct messages *messages, const char *name, const char *format, ...)
    PLYECHO_PRINTF(3, 4);

/* The same with the text and line of an error value. */
void message_error(struct messages *messages, const char *name,
                   const struct plyecho_error *err);

/* The same for one of a file's channels (from 1): not said again where the channel before had the
 * very same trouble. last is the caller's, zero before the first file. */
void message_channel_error(struct messages *messages, const char *name, size_t channel,
                           const struct plyecho_error *err, struct plyecho_error *last);

/* Say something that is no trouble, such as which of two readings of a file was taken. */
void message_note(const struct messages *messages, const char *name, const char *format, ...)
    PLYECHO_PRINTF(3, 4);

#endif
