/* What a comparison in time has to say, in sentences. */
#include "compare_time.h"

#include <math.h>
#include <string.h>

static const double per_mm = 1e3, per_mm2 = 1e6;

enum { SHIFT_ROOM = 120 };

/* "turned by 45 deg, pushed by 4 mm". */
static const char *shift_words(bool tube, const struct plyecho_shift *s, char words[SHIFT_ROOM])
{
    char across[40] = "", along[40] = "";
    if (tube && s->across != 0.0)
        snprintf(across, sizeof across, "turned by %+.3g deg", s->across);
    else if (s->across != 0.0)
        snprintf(across, sizeof across, "x off by %+.3g mm", s->across * per_mm);
    if (s->along_m != 0.0)
        snprintf(along, sizeof along, "%s off by %+.3g mm", tube ? "axial" : "y",
                 s->along_m * per_mm);
    snprintf(words, SHIFT_ROOM, "%s%s%s%s%s", s->mirrored ? "angles counted the other way" : "",
             s->mirrored && across[0] != '\0' ? ", " : "", across,
             (s->mirrored || across[0] != '\0') && along[0] != '\0' ? ", " : "", along);
    return words;
}

static void fits_words(const struct compare_time *c, char words[COMPARE_WORDS_ROOM])
{
    const struct plyecho_alignment *a = &c->alignment;
    char shift[SHIFT_ROOM];
    int n =
        snprintf(words, COMPARE_WORDS_ROOM,
                 "the walls fit as they lie: correlation %.3f of %zu walls, and none of %zu "
                 "other positions fits better",
                 a->zero.correlation, a->zero.places, a->tried - 1);
    if (a->ambiguous && n > 0 && n < COMPARE_WORDS_ROOM)
        snprintf(words + n, COMPARE_WORDS_ROOM - (size_t)n,
                 "; %s they would fit as well (%.3f), which the walls cannot exclude",
                 shift_words(c->after->results.tube, &a->rival, shift), a->rival.correlation);
}

static void misfit_words(const struct compare_time *c, char words[COMPARE_WORDS_ROOM])
{
    const struct plyecho_alignment *a = &c->alignment;
    char shift[SHIFT_ROOM];
    snprintf(words, COMPARE_WORDS_ROOM,
             "the walls fit better, beyond chance, %s (correlation %.3f) than as they lie "
             "(%.3f): was the zero mark missed, or is it another part? Look at both before "
             "anything below counts",
             shift_words(c->after->results.tube, &a->best, shift), a->best.correlation,
             a->zero.correlation);
}

const char *compare_time_alignment_words(const struct compare_time *c,
                                         char words[COMPARE_WORDS_ROOM])
{
    const struct plyecho_alignment *a = &c->alignment;
    switch (a->state) {
    case PLYECHO_ALIGNED:
        fits_words(c, words);
        break;
    case PLYECHO_MISALIGNED:
        misfit_words(c, words);
        break;
    case PLYECHO_ALIGNMENT_UNLIKE:
        snprintf(
            words, COMPARE_WORDS_ROOM,
            "each wall has a shape, but they fit well at none of %zu positions (correlation "
            "%.3f as they lie, %.3f at best): is it another part? Look at both before "
            "anything below counts",
            a->tried, a->zero.correlation, a->best.correlation);
        break;
    case PLYECHO_ALIGNMENT_FEW:
        snprintf(words, COMPARE_WORDS_ROOM,
                 "cannot be checked: only %zu walls in common, %d are needed; look at the mark "
                 "on the part",
                 a->zero.places, PLYECHO_ALIGNMENT_LEAST);
        break;
    default:
        snprintf(
            words, COMPARE_WORDS_ROOM,
            "cannot be checked: the walls have no shape in common that stands out of their "
            "scatter (correlation %.3f of %zu); look at the mark on the part",
            a->zero.correlation, a->zero.places);
    }
    return words;
}

/* ---- indications ---- */

struct size {
    const char *name, *unit;
    double per_unit;
    int decimals;
};

/* "area 186 to 349 mm2 (+163, u 45)" */
static void add_size(char *words, const struct size *s, double before, double after,
                     struct plyecho_known difference, struct plyecho_known u)
{
    size_t used = strlen(words);
    int d = s->decimals;
    if (!difference.known || used + 1 >= COMPARE_WORDS_ROOM)
        return;
    snprintf(words + used, COMPARE_WORDS_ROOM - used, "%s%s %.*f to %.*f %s (%+.*f, u %.*f)",
             used > 0 ? "; " : "", s->name, d, before * s->per_unit, d, after * s->per_unit,
             s->unit, d, difference.value * s->per_unit, d, u.value * s->per_unit);
}

static const char *sizes(const struct compare_time *c,
                         const struct plyecho_indication_change *change,
                         char words[COMPARE_WORDS_ROOM])
{
    bool tube = c->after->results.tube;
    const struct size area = {"area", "mm2", per_mm2, 0},
                      across = {tube ? "round" : "in x", "mm", per_mm, 1},
                      along = {tube ? "along" : "in y", "mm", per_mm, 1};
    const struct plyecho_indication *a = &c->before->results.indication[change->before],
                                    *b = &c->after->results.indication[change->after];
    words[0] = '\0';
    if (change->before_count > 1 || change->after_count > 1) {
        snprintf(words, COMPARE_WORDS_ROOM,
                 "%zu before, %zu after; all together %+.0f mm2 (u %.0f)", change->before_count,
                 change->after_count, change->area_m2.value * per_mm2,
                 change->area_u_m2.value * per_mm2);
        return words;
    }
    add_size(words, &area, a->area_m2, b->area_m2, change->area_m2, change->area_u_m2);
    add_size(words, &across, a->arc_m, b->arc_m, change->arc_m, change->arc_u_m);
    add_size(words, &along, a->along_m, b->along_m, change->along_m, change->along_u_m);
    return words;
}

static void add(char words[COMPARE_WORDS_ROOM], const char *more)
{
    size_t used = strlen(words);
    snprintf(words + used, COMPARE_WORDS_ROOM - used, "%s", more);
}

static void add_words(char words[COMPARE_WORDS_ROOM], const char *more)
{
    add(words, words[0] != '\0' ? "; " : "");
    add(words, more);
}

const char *compare_time_indication_words(const struct compare_time *c,
                                          const struct plyecho_indication_change *change,
                                          char words[COMPARE_WORDS_ROOM])
{
    const struct plyecho_indication *shown = compare_time_shown(c, change), *was;
    words[0] = '\0';
    switch (change->state) {
    case PLYECHO_INDICATION_NOT_COMPARABLE:
        snprintf(words, COMPARE_WORDS_ROOM, "its places were not read in the %s scan",
                 change->before == PLYECHO_NO_INDICATION_INDEX ? "earlier" : "later");
        break;
    case PLYECHO_INDICATION_HIDDEN:
        snprintf(words, COMPARE_WORDS_ROOM,
                 "another indication lies there now, and what is behind it is not seen");
        break;
    case PLYECHO_INDICATION_OTHER_KIND:
        sizes(c, change, words);
        was = &c->before->results.indication[change->before];
        add_words(words, "was ");
        add(words, plyecho_verdict_word(was->kind));
        if (was->kind == shown->kind)
            add(words, was->declared ? " as declared" : " not as declared");
        break;
    case PLYECHO_INDICATION_NEW:
        if (isfinite(shown->area_m2))
            snprintf(words, COMPARE_WORDS_ROOM, "area %.0f mm2", shown->area_m2 * per_mm2);
        break;
    case PLYECHO_INDICATION_GONE:
        snprintf(
            words, COMPARE_WORDS_ROOM,
            "its places read as sound now; laminate does not heal, so unless it was repaired, read "
            "them again");
        break;
    default:
        sizes(c, change, words);
    }
    if (change->after != PLYECHO_NO_INDICATION_INDEX && shown->open_ended)
        add_words(words, "it may go on where the scan ends");
    return words;
}
