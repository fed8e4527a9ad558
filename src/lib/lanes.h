/* lanes.h - a few neighbouring spectral lines abreast, in one register of the machine
 *
 * The loops over lines are most of the time of a fit, and complex numbers one by one keep compilers
 * from using wide registers. Vector types are common to GCC and Clang; standard C has none.
 * Include config.h first.
 */
#ifndef PLYECHO_LIB_LANES_H
#define PLYECHO_LIB_LANES_H

#include <complex.h>

enum { PE_LANES = 4 };

/* Aligned as memory comes. */
typedef double pe_lanes __attribute__((vector_size(PE_LANES * sizeof(double)), aligned(16)));

/* Complex numbers of PE_LANES lines. */
struct pe_phasors {
    pe_lanes re, im;
};

/* A function that is compiled twice, for machines with wide registers and without; the loader
 * takes the one that fits. What it calls in its loops must be PE_INLINE to follow suit. */
#ifdef HAVE_TARGET_CLONES
#define PE_CLONES __attribute__((target_clones("avx2", "default")))
#else
#define PE_CLONES
#endif
#define PE_INLINE static inline __attribute__((always_inline))

/* A bare vector goes by its address: by value it would be passed in another way on each machine. */
PE_INLINE double pe_lanes_sum(const pe_lanes *x)
{
    return ((*x)[0] + (*x)[1]) + ((*x)[2] + (*x)[3]);
}

PE_INLINE struct pe_phasors pe_sum_of(struct pe_phasors a, struct pe_phasors b)
{
    return (struct pe_phasors){a.re + b.re, a.im + b.im};
}

PE_INLINE struct pe_phasors pe_difference(struct pe_phasors a, struct pe_phasors b)
{
    return (struct pe_phasors){a.re - b.re, a.im - b.im};
}

PE_INLINE struct pe_phasors pe_product(struct pe_phasors a, struct pe_phasors b)
{
    return (struct pe_phasors){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/* a times the conjugate of b */
PE_INLINE struct pe_phasors pe_against(struct pe_phasors a, struct pe_phasors b)
{
    return (struct pe_phasors){a.re * b.re + a.im * b.im, a.im * b.re - a.re * b.im};
}

PE_INLINE struct pe_phasors pe_times(struct pe_phasors a, const pe_lanes *b)
{
    return (struct pe_phasors){a.re * *b, a.im * *b};
}

PE_INLINE struct pe_phasors pe_scaled(struct pe_phasors a, double b)
{
    return (struct pe_phasors){a.re * b, a.im * b};
}

/* a times j b */
PE_INLINE struct pe_phasors pe_times_j(struct pe_phasors a, const pe_lanes *b)
{
    return (struct pe_phasors){-a.im * *b, a.re * *b};
}

PE_INLINE struct pe_phasors pe_same(double complex a)
{
    double re = creal(a), im = cimag(a);
    return (struct pe_phasors){{re, re, re, re}, {im, im, im, im}};
}

/* One line's number; k counts from the first line of all. */
PE_INLINE double complex pe_phasor(const struct pe_phasors *a, int k)
{
    return a[k / PE_LANES].re[k % PE_LANES] + I * a[k / PE_LANES].im[k % PE_LANES];
}

PE_INLINE void pe_set_phasor(struct pe_phasors *a, int k, double complex value)
{
    a[k / PE_LANES].re[k % PE_LANES] = creal(value);
    a[k / PE_LANES].im[k % PE_LANES] = cimag(value);
}

/* A geometric series along evenly spaced lines: the first PE_LANES terms, and what leads from these to the
 * next. */
struct pe_series {
    struct pe_phasors now, step;
};

PE_INLINE struct pe_series pe_series_from(double complex first, double complex ratio)
{
    struct pe_series s;
    for (int k = 0; k < PE_LANES; k++) {
        pe_set_phasor(&s.now, k, first);
        first *= ratio;
    }
    double complex square = ratio * ratio;
    s.step = pe_same(square * square);
    return s;
}

/* These terms, then on to the next. */
PE_INLINE struct pe_phasors pe_series_next(struct pe_series *s)
{
    struct pe_phasors now = s->now;
    s->now = pe_product(now, s->step);
    return now;
}

#endif
