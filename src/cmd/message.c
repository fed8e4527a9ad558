#include <config.h>

#include "message.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "utf8.h"

/* Names come from outside, and stand within the words too: none of their bytes may steer the terminal or break the
 * line. */
static void put_name(FILE *to, const char *name)
{
    if (strcmp(name, "-") == 0)
        name = "standard input";
    if (name[0] == '\0')
        name = "\"\"";
    utf8_put(to, name, UTF8_PLAIN);
}

static void say(const struct messages *messages, const char *name, long line,
                const char *format, va_list args)
{
    FILE *to = messages->to;
    char *words = NULL;
    if (vasprintf(&words, format, args) == -1)
        memory_give_up();
    fputs("plyecho: ", to);
    if (name != NULL) {
        put_name(to, name);
        fputs(": ", to);
    }
    if (line > 0)
        fprintf(to, "line %ld: ", line);
    utf8_put(to, words, UTF8_PLAIN);
    putc('\n', to);
    fflush(to);
    free(words);
}

void message_trouble(struct messages *messages, const char *name, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    say(messages, name, 0, format, args);
    va_end(args);
    messages->trouble = true;
}

PLYECHO_PRINTF(4, 5)
static void say_line(const struct messages *messages, const char *name, long line,
                     const char *format, ...)
{
    va_list args;
    va_start(args, format);
    say(messages, name, line, format, args);
    va_end(args);
}

void message_error(struct messages *messages, const char *name, const struct plyecho_error *err)
{
    say_line(messages, name, err->line, "%s", err->text);
    messages->trouble = true;
}

void message_note(const struct messages *messages, const char *name, const char *format, ...)
{
    if (messages->quiet)
        return;
    va_list args;
    va_start(args, format);
    say(messages, name, 0, format, args);
    va_end(args);
}

void message_channel_error(struct messages *messages, const char *name, size_t channel,
                           const struct plyecho_error *err, struct plyecho_error *last)
{
    if (channel == 1 || strcmp(err->text, last->text) != 0)
        message_error(messages, name, err);
    *last = *err;
}
