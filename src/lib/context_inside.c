/* What the rules of context.h share. */
#include "context_inside.h"

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
