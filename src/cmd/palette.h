/* palette.h - colours of pictures
 */
#ifndef PLYECHO_CMD_PALETTE_H
#define PLYECHO_CMD_PALETTE_H

#include <stdio.h>

/* Lines and marks: M. Okabe, K. Ito, "Color Universal Design" (2008), told apart with any colour vision. */
#define OKABE_BLACK "#000000"
#define OKABE_ORANGE "#E69F00"
#define OKABE_SKY_BLUE "#56B4E9"
#define OKABE_GREEN "#009E73"
#define OKABE_BLUE "#0072B2"
#define OKABE_VERMILLION "#D55E00"
#define OKABE_PURPLE "#CC79A7"

/* 0xRRGGBB of a share from 0 to 1 (beyond: the ends): cividis, even steps of lightness, also in grey and with
 * red-green blindness. J. R. Nunez, C. R. Anderton, R. S. Renslow, PLoS ONE 13(7) e0199239 (2018). */
unsigned palette_colour(double share);

/* The same as gnuplot's palette. */
void palette_write(FILE *out);

#endif
