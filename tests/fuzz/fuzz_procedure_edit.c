/* Whatever the bytes: a text that reads back with the values put in, or a refusal in words. */
#include <stdlib.h>
#include <string.h>

#include <plyecho/procedure.h>
#include <plyecho/procedure_edit.h>

#include "target.h"

static void expect(int good)
{
    if (!good)
        abort();
}

/* Bytes at the start and at the end that two texts have in common never overlap in the shorter. */
static size_t kept(const uint8_t *bytes, size_t size, const char *text, size_t text_size)
{
    size_t shorter = size < text_size ? size : text_size;
    size_t start = 0;
    size_t end = 0;
    while (start < shorter && bytes[start] == (uint8_t)text[start])
        start++;
    while (start + end < shorter && bytes[size - 1 - end] == (uint8_t)text[text_size - 1 - end])
        end++;
    return start + end;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    static const struct plyecho_procedure_change changes[] = {
        {"material", "velocity_m_s", "2961.5"},
        {"calibration", "zero_us", "0.25"},
        {"part", "name", "\"Tricycle 12; right\""},
        {"acceptance", "least_mm", NULL},
    };
    char *text = NULL, *again = NULL;
    size_t text_size = 0, again_size = 0;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    enum plyecho_code code =
        plyecho_procedure_edit(bytes, size, changes, 4, &text, &text_size, &err);
    if (code != PLYECHO_OK) {
        expect(text == NULL && err.code == code && err.text[0] != '\0');
        return 0;
    }
    struct plyecho_procedure p;
    expect(plyecho_procedure_read(&p, text, text_size, NULL) == PLYECHO_OK);
    expect(p.material.velocity_m_s.value == 2961.5);
    expect(p.calibration.zero_s.value == 0.25 * 1e-6);
    expect(strcmp(p.part.name.value, "Tricycle 12; right") == 0);
    expect(!p.acceptance.least_m.set);
    plyecho_procedure_clear(&p);
    expect(plyecho_procedure_edit(text, text_size, changes, 4, &again, &again_size, &err) ==
           PLYECHO_OK);
    expect(again_size == text_size && memcmp(again, text, text_size) == 0);
    free(again);
    free(text);
    /* a new layer is one line: nothing that stood there goes */
    struct plyecho_procedure_change layer = {"layers", "~", "1 mm"};
    if (plyecho_procedure_edit(bytes, size, &layer, 1, &text, &text_size, &err) == PLYECHO_OK &&
        memchr(bytes, '~', size) == NULL)
        expect(kept(bytes, size, text, text_size) == size);
    free(text);
    return 0;
}
