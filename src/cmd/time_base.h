/* time_base.h - does what was planned for one trace serve the next one too?
 *
 *     bool stays = time_base_stays(&own->time_base, traces->samples, traces->sample_rate_hz);
 *     if (stays && own->plan != NULL)
 *         return PLYECHO_OK;
 *     ... free the plan, make a new one ...
 */
#ifndef PLYECHO_CMD_TIME_BASE_H
#define PLYECHO_CMD_TIME_BASE_H

#include <stdbool.h>
#include <stddef.h>

/* What plans depend on; zeroed: of no trace yet. */
struct time_base {
    size_t samples;
    double sample_rate_hz;
};

/* Take over the next trace's time base; true where it is the one before's. */
static inline bool time_base_stays(struct time_base *time_base, size_t samples,
                                   double sample_rate_hz)
{
    bool stays = time_base->samples == samples && time_base->sample_rate_hz == sample_rate_hz;
    *time_base = (struct time_base){samples, sample_rate_hz};
    return stays;
}

#endif
