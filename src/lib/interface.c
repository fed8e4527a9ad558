#include "interface.h"

void pe_interface_add(struct pe_interface *list, int *count, const struct pe_interface *one)
{
    if (*count < PE_INTERFACES) {
        list[(*count)++] = *one;
        return;
    }
    int weakest = 0;
    for (int k = 1; k < *count; k++)
        if (list[k].strength < list[weakest].strength)
            weakest = k;
    if (list[weakest].strength < one->strength)
        list[weakest] = *one;
}
