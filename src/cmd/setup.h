/* setup.h - the measurement that a verb was asked for: procedure file, options, reference pulse
 *
 * An option on the command line wins over the procedure file. Every verb that measures opens
 * one set-up and conditions all its traces through it.
 */
#ifndef PLYECHO_CMD_SETUP_H
#define PLYECHO_CMD_SETUP_H

#include <stdbool.h>

#include <plyecho/procedure.h>
#include <plyecho/verdict.h>

#include "conditioning.h"
#include "inputs.h"
#include "place.h"

/* Options of every verb that gives a thickness. */
struct setup_values {
    struct option_text procedure;
    struct option_number velocity_m_s;
    struct option_number velocity_u_m_s;
    struct option_number nominal_mm;
    struct option_number attenuation_db_mm_mhz;
    struct option_word mode;
    struct option_number zero_us;
    struct option_number zero_u_us;
    struct band_values band;
    struct option_text pulse;
    struct option_text layers;
    const char *day; /* that dates are judged by, as 2026-11-28; NULL: today */
};

enum { SETUP_DAY_ROOM = sizeof "2026-11-28" };

/* Today, in UTC. */
void setup_today(char day[SETUP_DAY_ROOM]);

extern const struct option setup_options[];
extern const struct option setup_over_options[]; /* all but --procedure */

struct setup {
    struct plyecho_procedure procedure; /* with options and table put in (effective.h) */
    struct plyecho_reference reference;
    struct plyecho_assess_options assess; /* also holds the wall's options */
    struct place place;                   /* the layers that are expected */
    struct conditioning conditioning;
    double own_centre_hz; /* of the first trace taken from the last file */
    size_t last_channel;  /* of the last trace; channels of one file come in rising order */
    char *doubts;         /* what the procedure leaves to doubt, NULL: nothing */
    char *wall_doubts;    /* keys by which every wall may be wrong, NULL: none */
    char judged_on[SETUP_DAY_ROOM]; /* the calibration's age counts to; "": it has none */
    double fit_rate_hz;             /* sample rate that assess.wall.fit was made for */
};

/* Read the procedure and the reference pulse, put the options over them. False where there was
 * trouble, which has been said; setup_close is due in any case. needs_velocity: without one
 * there is no thickness. */
bool setup_open(struct setup *setup, const struct setup_values *values, bool needs_velocity,
                double sample_rate_hz, struct messages *messages);

/* The reference pulse's file, malloc'ed; NULL where there is none. procedure_file: that the set-up was
 * opened with, or NULL. */
char *setup_pulse_path(const struct setup *setup, const char *procedure_file);

/* What a procedure says of the wall. */
void setup_take_wall(const struct plyecho_procedure *procedure,
                     struct plyecho_wall_options *wall);

/* The next trace is the first of another file; else files are told apart by their channels, which rise. */
void setup_begin_file(struct setup *setup);

/* Condition a trace, with everything that its measurement needs made ready; out holds until the
 * next call. */
enum plyecho_code setup_condition(struct setup *setup, const struct plyecho_trace *trace,
                                  struct plyecho_conditioned *out, struct plyecho_error *err);

void setup_close(struct setup *setup);

#endif
