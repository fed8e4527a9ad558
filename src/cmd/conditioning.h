/* conditioning.h - a conditioner for whatever traces come, made anew when their length changes
 */
#ifndef PLYECHO_CMD_CONDITIONING_H
#define PLYECHO_CMD_CONDITIONING_H

#include <stdbool.h>

#include <plyecho/condition.h>

#include "options.h"
#include "time_base.h"

/* Option of every verb that picks echoes: --band. */
struct band_values {
    struct option_band hz;
};

extern const struct option band_options[];

struct conditioning {
    bool has_band;
    struct plyecho_band band;
    struct time_base time_base;
    struct plyecho_conditioner *conditioner;
};

/* band NULL: found from each trace. */
void conditioning_open(struct conditioning *conditioning, const struct plyecho_band *band);

/* The option's band, where it is given. */
void conditioning_open_option(struct conditioning *conditioning,
                              const struct band_values *values);

/* out holds until the next call. */
enum plyecho_code conditioning_run(struct conditioning *conditioning,
                                   const struct plyecho_trace *trace,
                                   struct plyecho_conditioned *out, struct plyecho_error *err);

/* The trace's own pass band, whatever band the conditioning has; see condition.h. */
enum plyecho_code conditioning_own_band(struct conditioning *conditioning,
                                        const struct plyecho_trace *trace,
                                        struct plyecho_band *band, struct plyecho_error *err);

/* May be used again after it. */
void conditioning_close(struct conditioning *conditioning);

#endif
