/* procedure_keys.h - every key of a procedure file: its unit, range, default, and what it is for
 *
 * One table serves the reader, the template and the listing of a procedure; docs/procedure.md says
 * the same at length.
 */
#ifndef PLYECHO_PROCEDURE_KEYS_H
#define PLYECHO_PROCEDURE_KEYS_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/procedure.h>

/* Kind of a value, and the type of the field it goes to. */
enum plyecho_key_kind {
    PLYECHO_KEY_NUMBER,    /* struct plyecho_setting, times scale */
    PLYECHO_KEY_COUNT,     /* the same, a whole number */
    PLYECHO_KEY_FREQUENCY, /* the same, with the suffixes k, M, G */
    PLYECHO_KEY_WORD,      /* the same: index of one of the words */
    PLYECHO_KEY_BAND,      /* struct plyecho_band_setting */
    PLYECHO_KEY_TEXT,      /* struct plyecho_text_setting */
    PLYECHO_KEY_FILE,      /* the same: a file's name, relative to the procedure's folder */
    PLYECHO_KEY_MEDIUM,    /* the same: a name of media.h */
    PLYECHO_KEY_DATE,      /* the same: a day, with a time if wanted, as date.h says */
    PLYECHO_KEY_LAYER      /* struct plyecho_layers: any name is a key, each a layer's */
};

struct plyecho_procedure_key {
    const char *section;
    const char *name; /* "" for PLYECHO_KEY_LAYER */
    enum plyecho_key_kind kind;
    size_t offset; /* of the field in struct plyecho_procedure */
    size_t along;  /* of the field that takes a table against axial_mm in its place; 0: none */
    double scale;  /* turns the file's unit into the field's */
    double least, most;       /* of a number, in the file's unit, both allowed */
    const char *const *words; /* of PLYECHO_KEY_WORD, NULL behind the last */
    const char *unit;         /* of the number in the file; "" where it has none */
    const char *hint;    /* behind a refused number: what it most likely is; "" for nothing */
    const char *preset;  /* the value where the key is absent; NULL where there is none */
    const char *absent;  /* what it means that the key is absent, in words */
    const char *example; /* a value that reads, for a template; of a layer its line */
    const char *help;    /* what it is */
};

/* All keys, those of a section together, in the order of the file; NULL behind the last. */
PLYECHO_API const struct plyecho_procedure_key *plyecho_procedure_key_at(size_t index);

/* What a section's keys are about; NULL for an unknown one. */
PLYECHO_API const char *plyecho_procedure_section_help(const char *section);

enum { PLYECHO_PROCEDURE_VALUE_ROOM = PLYECHO_ALONG_ROOM };

/* What a procedure has for a key, in the file's form and unit; a text longer than the room is cut.
 * False where it is not set; not for PLYECHO_KEY_LAYER. *line is where it stands, 0: not from a file. */
PLYECHO_API bool plyecho_procedure_value(const struct plyecho_procedure *procedure,
                                         const struct plyecho_procedure_key *key,
                                         char out[PLYECHO_PROCEDURE_VALUE_ROOM], long *line);

/* The whole text of a key that is a text, a file, a medium or a date, however long; it holds as long as the
 * procedure. NULL where it is not set, and for keys of another kind. */
PLYECHO_API const char *plyecho_procedure_text(const struct plyecho_procedure *procedure,
                                               const struct plyecho_procedure_key *key);

/* The fingerprint of what a set-up is: all that holds under [equipment], [material], [signal] and [calibration], but
 * for the part's own temperature and the names of files. Procedures of several parts share it as long as probe, settings and calibration are
 * the same. */
PLYECHO_API void plyecho_procedure_setup_digest(const struct plyecho_procedure *procedure,
                                                char digest[PLYECHO_DIGEST_ROOM]);

#endif
