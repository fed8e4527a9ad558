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
    /* reading on finds the first fault first, and none where there is none */
    struct plyecho_error faults[5];
    size_t count = plyecho_procedure_faults(&procedure, bytes, size, faults, 5);
    if (count > 5 || (count == 0) != (code == PLYECHO_OK) ||
        (count > 0 && (faults[0].code != code || faults[0].line != err.line ||
                       strcmp(faults[0].text, err.text) != 0)))
        abort();
    plyecho_procedure_clear(&procedure);
    return 0;
}
