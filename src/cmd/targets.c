#include "targets.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "file.h"
#include "memory.h"

struct targets {
    struct file_identity *inputs; /* files of the command line, sorted */
    size_t input_count;
    char **written; /* names used so far, sorted */
    size_t written_count;
    size_t written_room;
};

struct targets *targets_new(const struct invocation *invocation)
{
    struct targets *targets = memory_take(1, sizeof *targets);
    targets->inputs = memory_take(invocation->file_count, sizeof *targets->inputs);
    for (size_t i = 0; i < invocation->file_count; i++)
        if (file_identify(invocation->files[i], &targets->inputs[targets->input_count]))
            targets->input_count++;
    qsort(targets->inputs, targets->input_count, sizeof *targets->inputs,
          file_identity_compare);
    return targets;
}

/* Where `name` stands or belongs in the sorted list. */
static size_t place(const struct targets *targets, const char *name, bool *there)
{
    size_t low = 0, high = targets->written_count;
    *there = false;
    while (low < high && !*there) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(targets->written[middle], name);
        *there = order == 0;
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Remember a name; false where it was used before. */
static bool claim(struct targets *targets, const char *name)
{
    bool there;
    size_t at = place(targets, name, &there);
    if (there)
        return false;
    if (targets->written_count == targets->written_room) {
        targets->written_room = 2 * targets->written_room + 64;
        targets->written =
            memory_resize(targets->written, targets->written_room, sizeof *targets->written);
    }
    memmove(targets->written + at + 1, targets->written + at,
            (targets->written_count - at) * sizeof *targets->written);
    targets->written[at] = memory_text(name);
    targets->written_count++;
    return true;
}

/* Would writing to `name` destroy what is still to be read, or was just read? */
static bool is_input(const struct targets *targets, const char *input, const char *name)
{
    struct file_identity target, now;
    if (strcmp(name, "-") == 0 || file_is_special(name) || !file_identify(name, &target))
        return false;
    bool is_now = strcmp(input, "-") != 0 && file_identify(input, &now) &&
                  file_identity_compare(&now, &target) == 0;
    return is_now || bsearch(&target, targets->inputs, targets->input_count,
                             sizeof *targets->inputs, file_identity_compare) != NULL;
}

enum plyecho_code targets_check(struct targets *targets, const char *input, const char *name,
                                struct plyecho_error *err)
{
    if (!claim(targets, name))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "another input was to be written there too; rename one of them");
    if (is_input(targets, input, name))
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "is an input, which is never replaced; write to another name or folder");
    return PLYECHO_OK;
}

void targets_free(struct targets *targets)
{
    if (targets == NULL)
        return;
    for (size_t i = 0; i < targets->written_count; i++)
        free(targets->written[i]);
    free(targets->written);
    free(targets->inputs);
    free(targets);
}
