/* report.h - the page that is handed over: what it is made from, and its parts in the order of the page
 *
 * Each part is a function that writes its section; none reads a file, and none decides of the part: the scan has. What the
 * page decides by itself is which indication comes first (report_order.c), and that readings are in doubt where a
 * check of the set-up failed (check_log.h).
 */
#ifndef PLYECHO_CMD_REPORT_H
#define PLYECHO_CMD_REPORT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "check_log.h"
#include "data_image.h"
#include "message.h"
#include "options.h"
#include "results.h"

/* Of what belongs to one inspection rather than to the procedure: options win over [inspection]. */
struct report_values {
    struct option_text output;
    struct option_texts photos;
    struct option_text notes;
    struct option_text checks;
    struct option_text part;
    struct option_text date;
    struct option_text operator, operator_certificate, operator_level;
    struct option_text place;
    struct option_text surface;
    struct option_text reason;
};

/* A picture or photograph as it goes into the page. */
struct report_image {
    char *name; /* of its file, without a folder */
    enum data_image_kind kind;
    unsigned char *bytes;
    size_t size;
};

struct report {
    const struct report_values *values;
    struct results results;
    struct report_image *picture; /* of the scan */
    size_t pictures;
    struct report_image *photo;
    size_t photos;
    size_t *order;                      /* report_order */
    char *notes;                        /* NULL: none */
    struct check_log checks;            /* of the set-up; none where no log was given */
    struct check_log_judgement checked; /* what it says of these readings */
};

/* ---- report_files.c: what is read for it ---- */

/* Read everything that the options name. False where there was trouble, which has been said. report_close is
 * due in any case. */
bool report_open(struct report *report, const char *folder, const struct report_values *values,
                 struct messages *messages);
void report_close(struct report *report);

/* Is this, by whatever name, one of the files that the page is made from? */
bool report_is_input(const struct report *report, const char *name);

/* ---- report_words.c: values as a reader wants them ---- */

enum { REPORT_WORDS_ROOM = 256 };

/* What the option says, else the procedure's setting; NULL: not recorded. */
const char *report_value(const struct report *report, const char *section, const char *key);

/* Does the procedure declare layers, which then are the nominal wall? */
bool report_has_layers(const struct report *report);

/* "180 deg, 32 mm" */
const char *report_place(const struct results *results, const struct plyecho_place *place,
                         char out[REPORT_WORDS_ROOM]);

/* "17.7 mm round, 14.0 mm along the tube, 1.40 mm deep" */
const char *report_size(const struct results *results, const struct plyecho_indication *n,
                        char out[REPORT_WORDS_ROOM]);

/* "1.40 mm", "1.40 to 1.52 mm"; the indication has a depth. */
const char *report_depth(const struct plyecho_indication *n, char out[REPORT_WORDS_ROOM]);

/* What is shown of an uncertainty with three decimals of a millimetre: never nothing. */
struct plyecho_known report_shown_u(struct plyecho_known u_m);

/* "2.759 mm +- 0.020 mm (k = 2)", or without the latter where it is not known */
const char *report_wall(struct plyecho_known wall_m, struct plyecho_known u_m,
                        char out[REPORT_WORDS_ROOM]);

/* The distinct values of a coordinate, rising, in degrees or mm: how many. value: room for all places. */
size_t report_coordinates(const struct results *results, bool along, double *value);

/* "round from 0 to 345 deg, along from 20 to 48 mm" */
const char *report_range(const struct results *results, char out[REPORT_WORDS_ROOM]);

/* What a verdict means to somebody who owns the part. */
const char *report_kind_words(enum plyecho_verdict kind);

#define REPORT_WITHIN_BEAM                                                                          \
    "One way its extent cannot be told from the beam's, as the places are spaced: there it may be " \
    "smaller."

/* ---- report_order.c: what comes first ---- */

/* Indexes of the indications in the order of the page, malloc'ed: those of a kind whose limit is broken, then open, then
 * the others, each as plyecho_indications_order has them; declared ones last. */
size_t *report_order(const struct results *results);

/* The indication that matters most, or results.indications where there is none but declared ones. */
size_t report_worst(const struct report *report);

/* The flagged place of the gravest verdict; results->places where none is flagged. */
size_t report_flagged_place(const struct results *results);

/* ---- report_maps.c: pictures with their words; nothing where there is none ---- */

void report_a_scan(const struct report *report, size_t indication, FILE *out);
void report_photo(const struct report_image *photo, size_t number, FILE *out);

/* ---- report_trust.c: what the readings could not have shown, by what the procedure lacks ---- */

/* The index-th of these in words, NULL behind the last. */
const char *report_unlooked(const struct report *report, size_t index);

/* ---- report_checks.c: whether the set-up held ---- */

void report_setup_term(const struct report *report, FILE *out); /* on the first screen */
void report_checks(const struct report *report, FILE *out);

/* ---- report_result.c: the word for the whole, "in doubt" where the set-up did not hold ---- */

const char *report_verdict(const struct report *report);

/* ---- report_worst.c: the terms "Worst spot" and "How sure" of the first screen ---- */

void report_worst_spot(const struct report *report, FILE *out);

/* ---- the sections, in the order of the page ---- */

void report_page(const struct report *report, FILE *out);

void report_result(const struct report *report, FILE *out); /* the first screen */
void report_limits(const struct report *report, FILE *out); /* each limit with its reading */
void report_maps(const struct report *report, FILE *out);   /* where it is */
void report_indications(const struct report *report, FILE *out); /* each with its A-scan */
void report_how(const struct report *report, FILE *out);         /* what was tested and how */
void report_trust(const struct report *report, FILE *out); /* uncertainty, what is not seen */
void report_findings(const struct report *report, FILE *out); /* notes, photographs */
void report_repeat(const struct report *report, FILE *out);   /* to do it again; signatures */

#endif
