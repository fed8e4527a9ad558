/* What the rules of context.h share. */
#include "context_inside.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>

double pe_median(double *numbers, size_t count)
{
    gsl_sort(numbers, 1, count);
    return gsl_stats_median_from_sorted_data(numbers, 1, count);
}

bool pe_record_holds(const struct plyecho_place_reading *reading)
{
    switch (reading->reason) {
    case PLYECHO_REASON_NONE:
    case PLYECHO_REASON_NO_BACK_ECHO:
    case PLYECHO_REASON_NO_SECOND_ECHO:
    case PLYECHO_REASON_CYCLE:
    case PLYECHO_REASON_NOT_A_WALL:
    case PLYECHO_REASON_OFF_NOMINAL:
    case PLYECHO_REASON_NO_NOMINAL:
    case PLYECHO_REASON_SIGN_LOST:
    case PLYECHO_REASON_NOT_EXPLAINED:
    case PLYECHO_REASON_SHOTS_DISAGREE:
        return true;
    default:
        return false;
    }
}
