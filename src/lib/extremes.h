/* extremes.h - the lowest and the highest of a stretch of samples
 *
 * Several at a time, because each comparison waits for the one before it; fmaxf() is a call.
 */
#ifndef PLYECHO_LIB_EXTREMES_H
#define PLYECHO_LIB_EXTREMES_H

#include <stddef.h>

enum { PE_EXTREMES_ABREAST = 16, PE_HIGHEST_ABREAST = 8 }; /* as measured */

struct pe_extremes {
    float least, most;
};

/* n at least 1; no sample is NaN. */
static inline struct pe_extremes pe_extremes_of(const float *x, size_t n)
{
    float least[PE_EXTREMES_ABREAST], most[PE_EXTREMES_ABREAST];
    for (size_t k = 0; k < PE_EXTREMES_ABREAST; k++)
        least[k] = most[k] = x[k < n ? k : 0];
    const size_t whole = n - n % PE_EXTREMES_ABREAST;
    for (size_t i = 0; i < whole; i += PE_EXTREMES_ABREAST)
        for (size_t k = 0; k < PE_EXTREMES_ABREAST; k++) {
            least[k] = x[i + k] < least[k] ? x[i + k] : least[k];
            most[k] = x[i + k] > most[k] ? x[i + k] : most[k];
        }
    for (size_t i = whole; i < n; i++) {
        least[0] = x[i] < least[0] ? x[i] : least[0];
        most[0] = x[i] > most[0] ? x[i] : most[0];
    }
    struct pe_extremes all = {least[0], most[0]};
    for (size_t k = 1; k < PE_EXTREMES_ABREAST; k++) {
        all.least = least[k] < all.least ? least[k] : all.least;
        all.most = most[k] > all.most ? most[k] : all.most;
    }
    return all;
}

/* 0 where n is 0, or all are below it. */
static inline float pe_highest(const float *x, size_t n)
{
    float most[PE_HIGHEST_ABREAST] = {0.0f};
    const size_t whole = n - n % PE_HIGHEST_ABREAST;
    for (size_t i = 0; i < whole; i += PE_HIGHEST_ABREAST)
        for (size_t k = 0; k < PE_HIGHEST_ABREAST; k++)
            most[k] = x[i + k] > most[k] ? x[i + k] : most[k];
    for (size_t i = whole; i < n; i++)
        most[0] = x[i] > most[0] ? x[i] : most[0];
    for (size_t k = 1; k < PE_HIGHEST_ABREAST; k++)
        most[0] = most[k] > most[0] ? most[k] : most[0];
    return most[0];
}

#endif
