#include "verb.h"

#include <string.h>

/* In the order of the work; a new verb is a line here and a line in verb.h. */
/* clang-format off */
static const struct verb *const verbs[] = {
    &verb_inspect,
    &verb_bandpass,
    &verb_envelope,
    &verb_gain,
    &verb_average,
    &verb_convert,
    &verb_procedure,
    &verb_probe,
    &verb_echoes,
    &verb_calibrate,
    &verb_thickness,
    &verb_assess,
    &verb_scan,
    &verb_compare,
    &verb_readings,
    &verb_plan,
    &verb_simulate,
    &verb_plot,
    &verb_report,
    NULL,
};
/* clang-format on */

const struct verb *const *verb_list(void)
{
    return verbs;
}

const struct verb *verb_find(const char *name)
{
    for (size_t i = 0; verbs[i] != NULL; i++)
        if (strcmp(verbs[i]->name, name) == 0)
            return verbs[i];
    return NULL;
}

enum status verb_status(const struct messages *messages, bool flagged)
{
    if (messages->trouble)
        return STATUS_TROUBLE;
    return flagged ? STATUS_FLAGGED : STATUS_DONE;
}
