#include <plyecho/error.h>

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Bytes of the input may stand in a message: none of them may steer the terminal. */
static void replace_control_characters(char *text)
{
    for (; *text != '\0'; text++)
        if ((unsigned char)*text < 0x20 || *text == 0x7f)
            *text = '?';
}

static enum plyecho_code fill(struct plyecho_error *err, enum plyecho_code code, long line,
                              const char *format, va_list args)
{
    if (err != NULL) {
        err->code = code;
        err->line = line;
        err->sample = -1;
        vsnprintf(err->text, sizeof err->text, format, args);
        replace_control_characters(err->text);
    }
    return code;
}

enum plyecho_code plyecho_fail(struct plyecho_error *err, enum plyecho_code code,
                               const char *format, ...)
{
    va_list args;
    va_start(args, format);
    fill(err, code, 0, format, args);
    va_end(args);
    return code;
}

enum plyecho_code plyecho_fail_line(struct plyecho_error *err, enum plyecho_code code,
                                    long line, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    fill(err, code, line, format, args);
    va_end(args);
    return code;
}
