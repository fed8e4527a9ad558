/* Whatever the bytes: a procedure, or a refusal in words that holds nothing. */
#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure.h>

#include "target.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct plyecho_procedure procedure;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    enum plyecho_code code = plyecho_procedure_read(&procedure, bytes, size, &err);
    if (code == PLYECHO_OK) {
        if (strlen(procedure.digest) != PLYECHO_DIGEST_ROOM - 1)
            abort();
    } else if (err.code != code || err.text[0] == '\0' || procedure.part.name.value != NULL) {
        abort();
    }
    plyecho_procedure_clear(&procedure);
    return 0;
}
