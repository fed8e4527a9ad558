/* stack_trial.h - what a physical explanation of a trace says beforehand: which numbers of the stack are free, what
 * is known of them, where to begin, and what a fit must not be
 */
#ifndef PLYECHO_LIB_STACK_TRIAL_H
#define PLYECHO_LIB_STACK_TRIAL_H

#include "stack_fit.h"

enum pe_kind {
    PE_KIND_PLAIN,   /* nothing inside */
    PE_KIND_STEP,    /* a bonded interface between two materials */
    PE_KIND_GLUE,    /* a glue line or resin film, between two materials that may differ */
    PE_KIND_WET,     /* a thin layer of water */
    PE_KIND_GAP,     /* air under part of the beam */
    PE_KIND_DISBOND, /* the same at an interface between two materials */
    PE_KIND_SHADOW,  /* air, or the wall's own end, under all of it, at any depth */
    PE_KIND_LOSSY,   /* a wall that loses far more than stated */
    PE_KIND_DRY,     /* the probe's face in air: its echo alone */
    PE_KINDS
};

/* What is known before the trace is looked at, and where to begin. */
struct pe_prospect {
    double log_scale;        /* logarithm of the amplitude expected of the pulse */
    bool pulse_known;        /* else the pulse's shape is fitted too */
    bool scale_known;        /* and that it is the reference's own scale */
    bool loss_known;         /* attenuation is stated: a lossy wall can be told */
    bool nominal_known;      /* a wall short of the nominal can be told */
    struct pe_prior slope;   /* loss a second of transit, Np/Hz/s */
    struct pe_prior transit; /* of the wall, s */
    struct pe_prior front;   /* reflection of the wall's face */
    double whole_s;          /* transit that the picked back wall suggests */
    double lone_s;           /* transit to a lone echo short of the nominal; 0: there is none */
    bool
        whole_picked; /* and it is from the outer face, a coat included; else the nominal wall's */
    double phase_rad[2]; /* carrier of a pulse that is not known */
    int phases;
    double centre_hz;
    double least; /* strength from which an echo inside is reported */
    bool to_beat_known;
    double to_beat; /* log evidence: nothing that stays below is of interest */
};

/* Standard deviation of a picked front, s. */
#define PE_START_U_S 0.08e-6

/* Nearer to a face, s, a place inside is part of it. */
#define PE_NEAREST_S 0.05e-6

/* One explanation, ready to be fitted. */
struct pe_trial {
    enum pe_kind kind;
    bool coat;
    bool free[PE_FIT_NUMBERS];
    struct pe_prior prior[PE_FIT_NUMBERS];
    struct pe_explanation_fit start;
};

/* Make one ready. start_s: of the front against the gate's origin, s, about. */
void pe_trial_set(const struct pe_prospect *prospect, double start_s, enum pe_kind kind,
                  bool coat, struct pe_trial *trial);

/* Is a fit of it what its name says? */
bool pe_trial_allows(const struct pe_trial *trial, const struct pe_prospect *prospect,
                     const struct pe_explanation_fit *fit);

/* Logarithm of how often it is met before a trace is looked at. */
double pe_trial_log_share(const struct pe_trial *trial);

/* Strength of the echo inside at a frequency: what it would have over a full reflector's there. */
double pe_stack_strength(const struct pe_explanation_fit *fit, double hz);

#endif
