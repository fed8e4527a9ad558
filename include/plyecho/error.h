/* error.h - how every function of libplyecho reports trouble
 *
 * Functions that can fail return an enum plyecho_code, PLYECHO_OK (0) on success, and fill the
 * caller's struct plyecho_error, which may be NULL where the caller only wants the code.
 * The text says what is wrong and what would mend it, in one line without the file's name.
 */
#ifndef PLYECHO_ERROR_H
#define PLYECHO_ERROR_H

#include <stddef.h>

#if defined __GNUC__
#define PLYECHO_API __attribute__((visibility("default")))
#define PLYECHO_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))
#else
#define PLYECHO_API
#define PLYECHO_PRINTF(fmt, args)
#endif

enum plyecho_code {
    PLYECHO_OK = 0,
    PLYECHO_NO_MEMORY,      /* an allocation failed */
    PLYECHO_BAD_ARGUMENT,   /* a parameter out of its range, e.g. a band above Nyquist */
    PLYECHO_BAD_NUMBER,     /* text where a number belongs, e.g. "12,5mm" */
    PLYECHO_UNKNOWN_FORMAT, /* bytes that are no trace file we read, e.g. a picture */
    PLYECHO_BAD_FILE,       /* a known format, but broken, e.g. a WAV cut short */
    PLYECHO_BAD_TIME_BASE,  /* time column that jumps, runs backwards, or is missing */
    PLYECHO_TOO_LARGE,      /* beyond a stated limit, e.g. 1025 channels */
    PLYECHO_UNSUITABLE,     /* sound data, but not for this, e.g. an envelope to demodulate */
    PLYECHO_NO_LABEL_ROOM,  /* labels longer than the container can hold */
    PLYECHO_IO,             /* the system refused: missing, no permission, disk full */
    PLYECHO_CODE_COUNT
};

struct plyecho_error {
    enum plyecho_code code;
    long line;      /* 1-based line of a text file, 0 where it does not apply */
    long sample;    /* 0-based sample of a trace, -1 where it does not apply */
    char text[320]; /* one line, UTF-8, control characters of the input already replaced */
};

/* Fill err (may be NULL) with a formatted text, no line and no sample; returns code, so that a
 * function can end with `return plyecho_fail(err, CODE, "…")`. */
PLYECHO_API enum plyecho_code plyecho_fail(struct plyecho_error *err, enum plyecho_code code,
                                           const char *format, ...) PLYECHO_PRINTF(3, 4);

/* The same with a line number (1-based) of a text file. */
PLYECHO_API enum plyecho_code plyecho_fail_line(struct plyecho_error *err,
                                                enum plyecho_code code, long line,
                                                const char *format, ...) PLYECHO_PRINTF(4, 5);

#endif
