#include "failing_alloc.h"

#include <stdbool.h>
#include <stddef.h>

void *__real_pe_alloc(size_t count, size_t size);
void *__real_pe_resize(void *block, size_t count, size_t size);
void *__wrap_pe_alloc(size_t count, size_t size);
void *__wrap_pe_resize(void *block, size_t count, size_t size);

static long left = -1;

void fail_allocation(long n)
{
    left = n;
}

void fail_no_allocation(void)
{
    left = -1;
}

static bool fails(void)
{
    return left >= 0 && left-- == 0;
}

void *__wrap_pe_alloc(size_t count, size_t size)
{
    return fails() ? NULL : __real_pe_alloc(count, size);
}

void *__wrap_pe_resize(void *block, size_t count, size_t size)
{
    return fails() ? NULL : __real_pe_resize(block, count, size);
}
