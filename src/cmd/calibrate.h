/* calibrate.h - what the parts of the verb calibrate share
 */
#ifndef PLYECHO_CMD_CALIBRATE_H
#define PLYECHO_CMD_CALIBRATE_H

#include "plot_script.h"
#include "steps.h"
#include "table.h"
#include "verb.h"

struct calibrate_values {
    struct option_text steps;
    struct option_text procedure;
    struct option_word mode;
    struct option_text zero;
    struct option_number zero_u_us;
    struct option_band velocity_range;
    struct option_number nominal_mm;
    struct option_number attenuation_db_mm_mhz;
    struct option_word anvil;
    struct option_text pulse;
    struct band_values band;
    struct option_number sample_rate_hz;
    struct option_text into;
    struct option_text plot;
    struct option_text check;
    struct option_texts sound, artificial;
    struct option_text reference;
    struct option_text log;
    struct option_text date;
    struct option_text operator;
    struct option_text instrument;
    struct option_text probe;
    struct option_number temperature_c;
    struct table_values table;
};

enum { CALIBRATION_WARNINGS = 12, WARNING_ROOM = 320, CALIBRATION_DATE_ROOM = 32 };

/* A calibration and what to say of it. */
struct calibrated {
    struct steps steps;
    struct plyecho_zero zero;
    struct plyecho_calibration line; /* velocity: phase velocity at the pulse's centre */
    struct plyecho_residual residuals[PLYECHO_MOST_STEPS];
    struct plyecho_step_finding finding;
    double centre_hz; /* mean over the steps */
    const char
        *material; /* whose velocity range the table of materials gave; NULL: an option */
    bool nominal_known;
    double nominal_m;
    char warnings[CALIBRATION_WARNINGS][WARNING_ROOM];
    size_t warning_count;
    bool spoilt; /* a warning that bars the calibration from a procedure */
};

/* Is one thing asked for, by options of `table` that all have an effect on it? Otherwise says what would. */
bool calibrate_options_fit(const struct option *table, struct calibrate_values *values,
                           struct messages *messages);

/* Fill in the warnings; false where the steps cannot be what they are said to be: that is trouble and has
 * been said. */
bool calibrate_judge(struct calibrated *c, const struct calibrate_values *values,
                     struct messages *messages);

/* Write velocity, zero and where they come from into the procedure file; false: why was said. */
bool calibrate_into(const struct calibrated *c, const struct calibrate_values *values,
                    struct messages *messages);

/* The kind of picture that the name of --plot ends in; term may be NULL. False where it is none: said. */
bool calibrate_plot_kind(const char *name, enum plot_term *term, struct messages *messages);

/* Draw the steps, the line and the residuals into the file that the option names. */
bool calibrate_plot(const struct calibrated *c, const struct calibrate_values *values,
                    struct messages *messages);

/* The date that --date says, else now in UTC, to the second. False where it is no day; that was said. */
bool calibrate_date(const struct calibrate_values *values, char date[CALIBRATION_DATE_ROOM],
                    struct messages *messages);

/* The words of --anvil. */
extern const char *const calibrate_anvils[];

/* Compare the trace of --check with the kept reference, print the row and add it to the log. */
enum status calibrate_check(const struct calibrate_values *values, struct setup *setup,
                            struct messages *messages);

#endif
