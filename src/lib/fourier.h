/* fourier.h - what every user of FFTW in this library needs: good lengths, aligned parts
 *
 * Plans are made by estimate: the same plan on every run, so the same bits on one machine.
 */
#ifndef PLYECHO_LIB_FOURIER_H
#define PLYECHO_LIB_FOURIER_H

#include <limits.h>
#include <stddef.h>

#include "pi.h"

/* Longest transform: FFTW takes its length as an int. */
#define PE_LONGEST_TRANSFORM ((size_t)INT_MAX / 4)

/* Smallest length >= n (n at least 1) that is a multiple of 32 with no prime factor above 7;
 * FFTW has fast code for just these. 0 where that would be beyond PE_LONGEST_TRANSFORM. */
size_t pe_good_length(size_t n);

/* Bytes that `size` bytes take in a block whose parts all start on a cache line. */
size_t pe_aligned_size(size_t size);

/* The next part of such a block: returns *at rounded up to a cache line, and moves *at behind
 * `size` bytes. The block needs pe_aligned_size(0) bytes more than the sum of its parts. */
void *pe_aligned_part(char **at, size_t size);

#endif
