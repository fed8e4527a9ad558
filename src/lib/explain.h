/* explain.h - the explanations of a trace whose back wall stands where it belongs, weighed
 */
#ifndef PLYECHO_LIB_EXPLAIN_H
#define PLYECHO_LIB_EXPLAIN_H

#include "evidence.h"

enum pe_explanation {
    PE_SOUND, /* nothing but the laminate's own echoes */
    PE_STEP,  /* a bonded interface between two materials */
    PE_FILM,  /* a thin softer layer: glue line, resin film, wet gap: two opposed steps */
    PE_GAP,   /* air under part of the beam */
    PE_LOSSY, /* a wall that loses more than stated */
    PE_EXPLANATIONS
};

struct pe_weighing {
    double log_weight[PE_EXPLANATIONS]; /* -INFINITY: ruled out */
};

/* What the back wall may lack before it counts as attenuated. */
#define PE_ATTENUATED_DB 6.0

/* Weigh all of them by strength and phase of the strongest inner echo and by the back wall's
 * level. An echo below the reportable level speaks for none of step, film and gap; a back wall
 * within PE_ATTENUATED_DB, or without an expectation, not for a lossy wall. */
void pe_weigh(const struct pe_evidence *evidence, bool has_sign, struct pe_weighing *weighing);

/* Logarithm of the sum of two weights given by their logarithms; -INFINITY is none. */
double pe_log_sum(double a, double b);

/* The verdict that an explanation comes to. */
enum plyecho_verdict pe_verdict_of(enum pe_explanation explanation);

#endif
