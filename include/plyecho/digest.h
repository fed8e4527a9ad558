/* digest.h - the fingerprint of a file's bytes, for the provenance of a result
 */
#ifndef PLYECHO_DIGEST_H
#define PLYECHO_DIGEST_H

#include <stddef.h>

#include <plyecho/error.h>

enum { PLYECHO_DIGEST_ROOM = 65 }; /* 64 hexadecimal digits and the end */

/* SHA-256 (FIPS 180-4) of size bytes as lower-case hexadecimal, the same text as sha256sum
 * prints. bytes may be NULL where size is 0. */
PLYECHO_API void plyecho_digest(const void *bytes, size_t size,
                                char digest[PLYECHO_DIGEST_ROOM]);

#endif
