/* pi.h - numbers that ISO C has no name for
 */
#ifndef PLYECHO_LIB_PI_H
#define PLYECHO_LIB_PI_H

#define PE_PI 3.14159265358979323846

/* sqrt(2 pi): a normal density is exp(-z^2 / 2) over its standard deviation times this. */
#define PE_SQRT_TWO_PI 2.50662827463100050242

#endif
