/* stack_search.h - the physical explanations of a trace, each fitted as a stack of layers
 */
#ifndef PLYECHO_LIB_STACK_SEARCH_H
#define PLYECHO_LIB_STACK_SEARCH_H

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

struct pe_explained {
    /* without a coat and under one; log_evidence is -INFINITY where an explanation is impossible.
     * How often each is met is counted in. */
    struct pe_explanation_fit fit[PE_KINDS][2];
    size_t lines; /* of the spectrum */
    double
        left_over; /* most that any echo inside would take off the plain wall's chi-squared */
    bool range_known; /* where an echo can be told from a plain wall's: */
    double from_s, to_s;
    bool thorough; /* more than the plain wall was tried */
    bool outdone;  /* fits were given up because they stay far behind the best */
};

/* false: the wall is too deep to be looked through. */
bool pe_stack_search_holds(const struct pe_prospect *prospect);

/* Fit the plain wall, and unless that leaves nothing to explain (quick), all others. */
void pe_stack_search(struct pe_stack_fit *fit, const struct pe_prospect *prospect, bool quick,
                     struct pe_explained *out);

/* The one of highest evidence; -INFINITY where none is possible. */
const struct pe_explanation_fit *pe_stack_best(const struct pe_explained *explained);

/* Strength of the echo inside at a frequency: what it would have over a full reflector's there. */
double pe_stack_strength(const struct pe_explanation_fit *fit, double hz);

#endif
