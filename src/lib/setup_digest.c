#include <stdio.h>
#include <string.h>

#include <plyecho/procedure_keys.h>

static bool is_of_setup(const struct plyecho_procedure_key *key)
{
    static const char *const sections[] = {"equipment", "material", "signal", "calibration"};
    if (key->offset == offsetof(struct plyecho_procedure, material.temperature_c) ||
        key->kind ==
            PLYECHO_KEY_FILE) /* named from the procedure's folder: another name, the same file */
        return false;
    for (size_t k = 0; k < sizeof sections / sizeof sections[0]; k++)
        if (strcmp(key->section, sections[k]) == 0)
            return true;
    return false;
}

/* Key after key, each hashed with the digest of those before it. */
void plyecho_procedure_setup_digest(const struct plyecho_procedure *procedure,
                                    char digest[PLYECHO_DIGEST_ROOM])
{
    enum { NAMES_ROOM = 96 };
    const struct plyecho_procedure_key *key;
    char value[PLYECHO_PROCEDURE_VALUE_ROOM];
    char text[PLYECHO_DIGEST_ROOM + NAMES_ROOM + PLYECHO_PROCEDURE_VALUE_ROOM];
    long line;
    plyecho_digest(NULL, 0, digest);
    for (size_t k = 0; (key = plyecho_procedure_key_at(k)) != NULL; k++) {
        if (!is_of_setup(key) || !plyecho_procedure_value(procedure, key, value, &line))
            continue;
        int size =
            snprintf(text, sizeof text, "%s%s.%s=%s", digest, key->section, key->name, value);
        plyecho_digest(text, (size_t)size, digest);
    }
}
