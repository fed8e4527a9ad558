#include <config.h>

#include "scan_evidence.h"

#include <stdlib.h>

#include "assess_cells.h"
#include "memory.h"

char **scan_evidence_take(const struct scan_results *r)
{
    char **evidence = memory_take(r->indications, sizeof *evidence);
    for (size_t i = 0; i < r->indications; i++) {
        struct scan_shot shot;
        char words[ASSESS_WORDS_ROOM] = "";
        if (scan_journal_get(r->journal, r->best[r->indication[i].worst], &shot))
            plyecho_assessment_words(&shot.assessment, words, sizeof words);
        evidence[i] = memory_text(words);
    }
    return evidence;
}

void scan_evidence_free(char **evidence, size_t count)
{
    for (size_t i = 0; evidence != NULL && i < count; i++)
        free(evidence[i]);
    free(evidence);
}
