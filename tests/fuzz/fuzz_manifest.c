/* Whatever the manifest: shots at places that can be, or a refusal in words. */
#include <math.h>
#include <stdlib.h>

#include <plyecho/manifest.h>
#include <plyecho/trace.h>

#include "target.h"

static void check(const struct plyecho_shot *shot, bool tube)
{
    const struct plyecho_place *p = &shot->place;
    bool there = tube ? p->across >= 0.0 && p->across < 360.0 : fabs(p->across) <= 1e3;
    if (!there || !(fabs(p->along) <= 1e3) || shot->file == NULL || shot->file[0] == '\0' ||
        shot->channel < 1 || shot->channel > PLYECHO_MAX_CHANNELS || shot->line < 2)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct plyecho_manifest manifest;
    struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
    enum plyecho_code code = plyecho_manifest_read(&manifest, bytes, size, &err);
    if (code != PLYECHO_OK && (err.code != code || err.text[0] == '\0' || manifest.count != 0 ||
                               manifest.shot != NULL))
        abort();
    if (code == PLYECHO_OK && (manifest.count == 0 || !plyecho_manifest_is(bytes, size)))
        abort();
    for (size_t i = 0; i < manifest.count; i++)
        check(&manifest.shot[i], manifest.tube);
    plyecho_manifest_clear(&manifest);
    return 0;
}
