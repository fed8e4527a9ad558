#include "fourier.h"

#include <stdint.h>

enum { LINE = 64 };

static size_t without_factor(size_t n, size_t factor)
{
    while (n % factor == 0)
        n /= factor;
    return n;
}

size_t pe_good_length(size_t n)
{
    if (n > PE_LONGEST_TRANSFORM)
        return 0;
    for (n = (n + 31) / 32 * 32; n <= PE_LONGEST_TRANSFORM; n += 32) {
        size_t rest = without_factor(n, 2);
        rest = without_factor(rest, 3);
        rest = without_factor(rest, 5);
        if (without_factor(rest, 7) == 1)
            return n;
    }
    return 0;
}

size_t pe_aligned_size(size_t size)
{
    return size + LINE;
}

void *pe_aligned_part(char **at, size_t size)
{
    char *part = *at + (LINE - (uintptr_t)*at % LINE) % LINE;
    *at = part + size;
    return part;
}
