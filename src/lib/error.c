#include <plyecho/error.h>

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char *const sentences[PLYECHO_CODE_COUNT] = {
    [PLYECHO_OK] = "no error",
    [PLYECHO_NO_MEMORY] = "out of memory",
    [PLYECHO_BAD_ARGUMENT] = "an option or parameter is out of its range",
    [PLYECHO_BAD_NUMBER] = "text where a number belongs",
    [PLYECHO_UNKNOWN_FORMAT] = "not a trace file of a known format",
    [PLYECHO_BAD_FILE] = "the file is damaged or incomplete",
    [PLYECHO_BAD_TIME_BASE] = "the time base is missing, uneven or runs backwards",
    [PLYECHO_TOO_LARGE] = "larger than the stated limit",
    [PLYECHO_UNSUITABLE] = "the signal is of a kind that does not serve here",
    [PLYECHO_NO_LABEL_ROOM] = "the container cannot hold these labels",
    [PLYECHO_IO] = "the system could not read or write",
};

const char *plyecho_code_text(enum plyecho_code code)
{
    if ((unsigned)code >= PLYECHO_CODE_COUNT || sentences[code] == NULL)
        return "unknown error code";
    return sentences[code];
}

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
