/* SHA-256 against the examples that NIST publishes with FIPS 180-4. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <plyecho/digest.h>

static void the_published_examples_come_out(void **state)
{
    (void)state;
    static const struct {
        const char *message;
        const char *digest;
    } rows[] = {
        {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
        {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
        {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    };
    char digest[PLYECHO_DIGEST_ROOM];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        plyecho_digest(rows[i].message, strlen(rows[i].message), digest);
        assert_string_equal(digest, rows[i].digest);
    }
    plyecho_digest(NULL, 0, digest);
    assert_string_equal(digest, rows[2].digest);
}

static void a_million_a_come_out(void **state)
{
    (void)state;
    const size_t size = 1000000;
    char *bytes = malloc(size);
    assert_non_null(bytes);
    memset(bytes, 'a', size);
    char digest[PLYECHO_DIGEST_ROOM];
    plyecho_digest(bytes, size, digest);
    free(bytes);
    assert_string_equal(digest,
                        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_examples_come_out),
        cmocka_unit_test(a_million_a_come_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
