/* When a calibration or a check was done. */
#include <config.h>

#include <stdio.h>
#include <string.h>
#include <time.h>

#include <plyecho/date.h>

#include "calibrate.h"

bool calibrate_date(const struct calibrate_values *v, char date[CALIBRATION_DATE_ROOM],
                    struct messages *messages)
{
    time_t now = time(NULL);
    struct tm parts;
    bool good = v->date.set && plyecho_date_is(v->date.value, strlen(v->date.value));
    if (v->date.set && !good) {
        message_trouble(messages, NULL, "--date '%s' is no date; " PLYECHO_DATE_RULE,
                        v->date.value);
        return false;
    }
    if (good)
        snprintf(date, CALIBRATION_DATE_ROOM, "%s", v->date.value);
    else if (gmtime_r(&now, &parts) != NULL)
        strftime(date, CALIBRATION_DATE_ROOM, "%Y-%m-%dT%H:%M:%SZ", &parts);
    return true;
}
