#include "sets.h"

void pe_sets_begin(size_t *lead, size_t count)
{
    for (size_t i = 0; i < count; i++)
        lead[i] = i;
}

/* The way there is shortened for the next who asks. */
static size_t first_of(size_t *lead, size_t i)
{
    while (lead[i] != i) {
        lead[i] = lead[lead[i]];
        i = lead[i];
    }
    return i;
}

void pe_sets_join(size_t *lead, size_t a, size_t b)
{
    a = first_of(lead, a);
    b = first_of(lead, b);
    if (a < b)
        lead[b] = a;
    else
        lead[a] = b;
}

size_t pe_sets_number(size_t *lead, const bool *member, size_t count, size_t *label)
{
    size_t sets = 0;
    for (size_t i = 0; i < count; i++) {
        size_t first = first_of(lead, i);
        label[i] = !member[i] ? 0 : first == i ? ++sets : label[first];
    }
    return sets;
}
