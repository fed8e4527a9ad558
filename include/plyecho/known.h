/* known.h - a number that may not be known
 */
#ifndef PLYECHO_KNOWN_H
#define PLYECHO_KNOWN_H

#include <stdbool.h>

struct plyecho_known {
    bool known;
    double value;
};

#endif
