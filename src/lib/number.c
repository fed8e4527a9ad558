#include <plyecho/number.h>

#include <math.h>
#include <string.h>

#include "decimal.h"

size_t plyecho_number_scan(const char *text, size_t size, char point, double *value)
{
    struct pe_decimal decimal;
    size_t used = pe_decimal_scan(text, size, point, &decimal);
    if (used > 0)
        *value = pe_decimal_value(&decimal, 0);
    return used;
}

/* Power of ten of a suffix, -1 where it is none. */
static int suffix_power(const char *suffix)
{
    static const struct {
        const char *suffix;
        int power;
    } known[] = {{"", 0}, {"k", 3}, {"M", 6}, {"G", 9}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strcmp(suffix, known[i].suffix) == 0)
            return known[i].power;
    return -1;
}

enum plyecho_code plyecho_number_parse(const char *text, double *value,
                                       struct plyecho_error *err)
{
    struct pe_decimal decimal;
    size_t used = pe_decimal_scan(text, strlen(text), '.', &decimal);
    int power = used > 0 ? suffix_power(text + used) : -1;
    if (power < 0)
        return plyecho_fail(err, PLYECHO_BAD_NUMBER,
                            "'%.80s' is not a number; write it like 12.5, 1.25e7 or 12.5M "
                            "(suffixes k, M, G)",
                            text);
    double parsed = pe_decimal_value(&decimal, power);
    if (!isfinite(parsed))
        return plyecho_fail(err, PLYECHO_BAD_NUMBER, "'%.80s' is too large for a number", text);
    *value = parsed;
    return PLYECHO_OK;
}
