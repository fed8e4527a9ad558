/* failing_alloc.h - makes one allocation of the library fail
 *
 * The n-th call (from 0) of pe_alloc or pe_resize after fail_allocation(n) returns NULL, the
 * others work.
 */
#ifndef PLYECHO_TESTS_FAILING_ALLOC_H
#define PLYECHO_TESTS_FAILING_ALLOC_H

void fail_allocation(long n);
void fail_no_allocation(void);

#endif
