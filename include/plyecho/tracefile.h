/* tracefile.h - trace files: bytes to traces and back
 *
 * The library gets bytes, never names: a format is known by its content. Reading tries each
 * format in turn; each answers "not mine" in silence, or reads, or says what is broken.
 *   - WAV, RF64, W64, AIFF, CAF, AU through libsndfile, one channel is one A-scan;
 *   - CSV/TSV as instruments export them (docs/file-formats.md lists what is understood).
 */
#ifndef PLYECHO_TRACEFILE_H
#define PLYECHO_TRACEFILE_H

#include <stddef.h>

#include <plyecho/error.h>
#include <plyecho/trace.h>

struct plyecho_read_options {
    double sample_rate_hz; /* overrides what the file says; 0: as the file says */
    double velocity_m_s;   /* turns a distance axis into time (round trip); 0: not given */
};

/* Read a whole trace file from memory. options may be NULL. On success *traces owns its memory
 * (plyecho_traces_clear); on failure it is left zeroed. */
PLYECHO_API enum plyecho_code plyecho_tracefile_read(const void *bytes, size_t size,
                                                     const struct plyecho_read_options *options,
                                                     struct plyecho_traces *traces,
                                                     struct plyecho_error *err);

/* Write traces as WAV (32-bit float, RF64 beyond 4 GiB, labels in the comment string or in a
 * chunk of their own) or CSV (labels as `# key: value`, then a header, then rows). Fields are
 * carried into labels first. *bytes is malloc'ed. The same traces give the same bytes. */
PLYECHO_API enum plyecho_code plyecho_tracefile_write(const struct plyecho_traces *traces,
                                                      enum plyecho_container container,
                                                      void **bytes, size_t *size,
                                                      struct plyecho_error *err);

#endif
