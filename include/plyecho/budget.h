/* budget.h - the uncertainty budget of a thickness
 *
 * After JCGM 100:2008 (GUM; clause numbers from memory): the combined standard uncertainty by 5.1.2,
 * by 5.2.2 where two inputs are correlated; effective degrees of freedom after Welch and Satterthwaite
 * (G.4.1), cut to a whole number; the expanded uncertainty with k = 2 (6.3.3) and with Student's t for
 * those degrees of freedom (G.3.2).
 */
#ifndef PLYECHO_BUDGET_H
#define PLYECHO_BUDGET_H

#include <stdbool.h>
#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/known.h>
#include <plyecho/wall.h>

/* The probability that k = 2 covers of a normal distribution. */
#define PLYECHO_COVERAGE_OF_2 0.954499736103642

/* What an uncertainty of a thickness comes from. */
enum plyecho_quantity {
    PLYECHO_QUANTITY_TIME,        /* time of flight, s: noise and fit */
    PLYECHO_QUANTITY_PLIES,       /* what echoes of plies do to it, s */
    PLYECHO_QUANTITY_DISPERSION,  /* what is not known of the dispersion, s */
    PLYECHO_QUANTITY_VELOCITY,    /* m/s */
    PLYECHO_QUANTITY_ZERO,        /* s */
    PLYECHO_QUANTITY_TEMPERATURE, /* the part's less that of the steps, K */
    PLYECHO_QUANTITY_COEFFICIENT, /* of the velocity with temperature, m/s/K */
    PLYECHO_QUANTITY_COUPLANT,    /* its layer's time, s */
    PLYECHO_QUANTITY_CURVATURE,   /* of the surface, m of thickness */
    PLYECHO_QUANTITY_CLOCK,       /* relative error of the sampling rate */
    PLYECHO_QUANTITY_RESOLUTION,  /* of the recorder */
    PLYECHO_QUANTITY_COUNT
};

/* The words for tables: "time of flight"; never NULL. */
PLYECHO_API const char *plyecho_quantity_word(enum plyecho_quantity quantity);

enum plyecho_share_state {
    PLYECHO_SHARE_COUNTED,
    PLYECHO_SHARE_NOT_GIVEN, /* nothing is known of it: the budget lacks it */
    PLYECHO_SHARE_ELSEWHERE, /* another one holds it */
    PLYECHO_SHARE_NONE       /* it does not enter a reading of this kind */
};

enum plyecho_distribution { PLYECHO_NORMAL, PLYECHO_RECTANGULAR };

/* One input. The caller states the first part, plyecho_budget_combine the second. */
struct plyecho_contribution {
    enum plyecho_quantity quantity;
    enum plyecho_share_state state; /* numbers below count where it is COUNTED only */
    bool essential;                 /* without it there is no combined uncertainty at all */
    double value;                   /* estimate, in the quantity's unit */
    double u;                       /* its standard uncertainty, 0 or more */
    enum plyecho_distribution distribution;
    bool statistical;   /* evaluation of type A, else B */
    double sensitivity; /* derivative of the result by the input */
    double freedom;     /* degrees of freedom, above 0; INFINITY: unlimited */

    double contribution; /* |sensitivity| u */
    double share;        /* of the combined variance, 0 to 1, or above where a correlation
                            takes from it */
};

enum { PLYECHO_BUDGET_MOST = 16 };

struct plyecho_budget {
    struct plyecho_contribution item[PLYECHO_BUDGET_MOST];
    size_t count;
    size_t one, other;  /* two inputs that are correlated, from one fit */
    double correlation; /* -1 to 1; 0: none are */

    struct plyecho_known combined_u; /* unknown where an essential input is not given */
    double covariance_share; /* what the correlation adds to the variance, a share of it;
                                        below 0 where it takes from it */
    double freedom;          /* effective degrees of freedom; INFINITY: unlimited */
    double coverage_t;       /* Student's t at `probability`, for the whole part of freedom */
    double probability;
    size_t not_given; /* how many inputs nothing is known of */
};

/* Combine what budget holds, to cover this probability (0 to 1). An input whose u is 0 takes no degrees of
 * freedom; two correlated inputs count as one, with the smaller degrees of freedom of both. */
PLYECHO_API void plyecho_budget_combine(struct plyecho_budget *budget, double probability);

/* The budget of a thickness that was measured with these options; combined_u is its thickness_u. */
PLYECHO_API void plyecho_budget_of_wall(const struct plyecho_thickness *thickness,
                                        const struct plyecho_wall_options *options,
                                        struct plyecho_budget *budget);

#endif
