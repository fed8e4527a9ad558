#include <plyecho/digest.h>

#include <stdint.h>

#include <nettle/base16.h>
#include <nettle/sha2.h>

void plyecho_digest(const void *bytes, size_t size, char digest[PLYECHO_DIGEST_ROOM])
{
    struct sha256_ctx context;
    uint8_t raw[SHA256_DIGEST_SIZE];
    sha256_init(&context);
    sha256_update(&context, size, bytes);
    sha256_digest(&context, sizeof raw, raw);
    base16_encode_update(digest, sizeof raw, raw);
    digest[BASE16_ENCODE_LENGTH(sizeof raw)] = '\0';
}
