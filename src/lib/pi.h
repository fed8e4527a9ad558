/* pi.h - the number, which ISO C has no name for
 */
#ifndef PLYECHO_LIB_PI_H
#define PLYECHO_LIB_PI_H

#define PE_PI 3.14159265358979323846

#endif
