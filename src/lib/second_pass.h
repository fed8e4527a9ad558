/* second_pass.h - what comes back once more from the delay line's end, with time put in at a place
 *
 * The line's end sends part of every echo back along the line: each meets the wall twice. Cut in two at a
 * place, the first pass A + B meets itself as A A + 2 A B + B B, and where samples are missing at
 * that place the second term is short of them once, the third twice (docs/method.md, "Lost samples").
 * Include config.h first.
 */
#ifndef PLYECHO_LIB_SECOND_PASS_H
#define PLYECHO_LIB_SECOND_PASS_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include <fftw3.h>

enum { PE_PASS_ABREAST = 8 }; /* lengths are multiples of this */

enum { PE_TERMS = 3 }; /* both before the place, one on each side, both behind */

struct pe_floats;

/* Terms on a time base of their own, about a carrier, and their match with the repeat by lag. */
struct pe_second_pass {
    size_t length, whole; /* samples; of the transforms that the spectra come from */
    double step;          /* samples of the record a sample */
    long carrier;         /* line of the spectra that becomes line 0 */
    long low, high;       /* lines that are held: low <= k < high */
    fftwf_complex *work;
    float *term[PE_TERMS][2], *match[PE_TERMS][2]; /* real, imaginary; each twice in a row */
    struct pe_floats *energy;
    fftwf_plan backward;
};

/* Spectra, `whole` lines each. */
struct pe_pass_spectra {
    const fftwf_complex *before, *behind; /* the first pass, on either side of the place */
    const fftwf_complex *repeat;
    const fftwf_complex
        *over; /* a line of the second pass over the product of two of the first's */
};

/* Lag of the repeat against the second pass, in samples of the record. */
struct pe_lags {
    long expected, reach, held; /* held: samples of the repeat */
};

/* Room for a pass of some samples that holds lines low to high of `whole`; false: no memory. */
bool pe_second_pass_plan(struct pe_second_pass *p, size_t length, size_t whole, long low,
                         long high);

void pe_second_pass_drop(struct pe_second_pass *p);

void pe_second_pass_predict(struct pe_second_pass *p, const struct pe_pass_spectra *s);

/* Most of the repeat's energy that the second pass takes, over lags, with `gap` samples of the record put
 * in at the place. The whole record is `gap` samples short before the repeat, too. */
double pe_second_pass_taken(struct pe_second_pass *p, const struct pe_lags *lags, long gap);

#endif
