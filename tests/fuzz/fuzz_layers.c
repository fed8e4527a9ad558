/* Whatever the text of --layers: layers with sensible numbers, or a refusal in words. */
#include <stdlib.h>
#include <string.h>

#include <plyecho/layers.h>

#include "target.h"

static void check(const struct plyecho_declared_layer *l)
{
    if (!(l->thickness_m > 0.0) || l->name[0] == '\0' ||
        memchr(l->name, '\0', sizeof l->name) == NULL ||
        (l->velocity_m_s.known && !(l->velocity_m_s.value > 0.0)))
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct plyecho_layers layers;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    char *text = malloc(size + 1);
    if (text == NULL)
        exit(2);
    memcpy(text, bytes, size);
    text[size] = '\0';
    enum plyecho_code code = plyecho_layers_read(&layers, text, &err);
    if (code != PLYECHO_OK && (err.code != code || err.text[0] == '\0' || layers.count != 0))
        abort();
    if (code == PLYECHO_OK && (layers.count == 0 || layers.count > PLYECHO_LAYERS_MOST))
        abort();
    for (size_t k = 0; k < layers.count; k++)
        check(&layers.items[k]);
    free(text);
    return 0;
}
