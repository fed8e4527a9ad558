#include <plyecho/place_reading.h>

#include <stdio.h>

#define MM 1e3 /* in a metre */

const char *plyecho_place_words(bool tube, const struct plyecho_place *place,
                                char words[PLYECHO_PLACE_ROOM])
{
    if (tube)
        snprintf(words, PLYECHO_PLACE_ROOM, "%g deg, %g mm", place->across, place->along * MM);
    else
        snprintf(words, PLYECHO_PLACE_ROOM, "x %g mm, y %g mm", place->across * MM,
                 place->along * MM);
    return words;
}

static const char *const words[PLYECHO_CONTEXT_COUNT] = {
    [PLYECHO_CONTEXT_NONE] = "",
    [PLYECHO_CONTEXT_SHADOW] = "shadow",
    [PLYECHO_CONTEXT_THIN] = "thin",
    [PLYECHO_CONTEXT_EDGE] = "edge",
    [PLYECHO_CONTEXT_LAMINATE] = "laminate",
    [PLYECHO_CONTEXT_WEAK] = "weak",
    [PLYECHO_CONTEXT_STEP] = "step",
    [PLYECHO_CONTEXT_AROUND] = "around",
    [PLYECHO_CONTEXT_SHORT] = "short",
    [PLYECHO_CONTEXT_ALONE] = "alone",
};

const char *plyecho_context_word(enum plyecho_context context)
{
    if ((unsigned)context >= PLYECHO_CONTEXT_COUNT || words[context] == NULL)
        return "unknown";
    return words[context];
}

bool plyecho_place_unread(const struct plyecho_place_reading *reading)
{
    return !reading->read || reading->verdict == PLYECHO_UNREADABLE ||
           reading->second == PLYECHO_UNREADABLE;
}

bool plyecho_verdict_has_echo(enum plyecho_verdict verdict)
{
    return verdict == PLYECHO_DELAMINATION || verdict == PLYECHO_INNER_ECHO;
}
