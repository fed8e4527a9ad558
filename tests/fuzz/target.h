/* target.h - what a fuzzing target is: bytes in, parse, check what must hold, free
 */
#ifndef PLYECHO_TESTS_TARGET_H
#define PLYECHO_TESTS_TARGET_H

#include <stddef.h>
#include <stdint.h>

/* Returns 0; a finding ends the program. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

#endif
