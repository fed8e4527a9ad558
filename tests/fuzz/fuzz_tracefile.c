/* Whatever the bytes: traces that keep their promises and can be written, or a refusal in words. */
#include <math.h>
#include <stdlib.h>

#include <plyecho/tracefile.h>

#include "target.h"

static void check(bool holds)
{
    if (!holds)
        abort();
}

static void write_again(const struct plyecho_traces *traces, enum plyecho_container container)
{
    void *written = NULL;
    size_t size = 0;
    struct plyecho_error err;
    if (plyecho_tracefile_write(traces, container, &written, &size, &err) == PLYECHO_OK)
        check(written != NULL && size > 0);
    else
        check(err.text[0] != '\0');
    free(written);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    const struct plyecho_read_options given = {.sample_rate_hz = 100e6, .velocity_m_s = 2950};
    const struct plyecho_read_options *const options[] = {NULL, &given};
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++) {
        struct plyecho_traces traces;
        struct plyecho_error err = {PLYECHO_OK, -1, -1, ""};
        enum plyecho_code code = plyecho_tracefile_read(bytes, size, options[i], &traces, &err);
        if (code != PLYECHO_OK) {
            check(err.code == code && err.text[0] != '\0' && traces.amplitude == NULL);
            continue;
        }
        check(traces.channels >= 1 && traces.channels <= PLYECHO_MAX_CHANNELS);
        check(traces.samples >= 2 && traces.sample_rate_hz > 0 && isfinite(traces.start_s));
        write_again(&traces, PLYECHO_CONTAINER_CSV);
        write_again(&traces, PLYECHO_CONTAINER_WAV);
        plyecho_traces_clear(&traces);
    }
    return 0;
}
