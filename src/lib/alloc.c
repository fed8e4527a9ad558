#include "alloc.h"

#include <stdint.h>
#include <stdlib.h>

void *pe_alloc(size_t count, size_t size)
{
    return calloc(count > 0 ? count : 1, size > 0 ? size : 1);
}

void *pe_resize(void *block, size_t count, size_t size)
{
    if (size != 0 && count > SIZE_MAX / size)
        return NULL;
    size_t bytes = count * size;
    return realloc(block, bytes > 0 ? bytes : 1);
}
