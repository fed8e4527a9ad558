/* When a calibration or a check was done. */
#include <config.h>

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "calibrate.h"

/* A day, perhaps with a time, as ISO 8601 has it. */
static bool is_date(const char *text)
{
    struct tm parts = {.tm_mday = 0};
    const char *rest = strptime(text, "%Y-%m-%d", &parts);
    return rest != NULL && strlen(text) < CALIBRATION_DATE_ROOM &&
           (*rest == '\0' || (*rest == 'T' && strspn(rest, "T0123456789:+-Z") == strlen(rest)));
}

bool calibrate_date(const struct calibrate_values *v, char date[CALIBRATION_DATE_ROOM],
                    struct messages *messages)
{
    time_t now = time(NULL);
    struct tm parts;
    if (v->date.set && !is_date(v->date.value)) {
        message_trouble(
            messages, NULL,
            "--date '%s' is no day; write 2026-11-28, or with a time 2026-11-28T14:05",
            v->date.value);
        return false;
    }
    if (v->date.set)
        snprintf(date, CALIBRATION_DATE_ROOM, "%s", v->date.value);
    else if (gmtime_r(&now, &parts) != NULL)
        strftime(date, CALIBRATION_DATE_ROOM, "%Y-%m-%dT%H:%M:%SZ", &parts);
    return true;
}
