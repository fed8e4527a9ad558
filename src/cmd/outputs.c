#include <config.h>

#include "outputs.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include <plyecho/tracefile.h>

#include "file.h"
#include "memory.h"
#include "targets.h"

static const char *const container_words[] = {
    [PLYECHO_CONTAINER_WAV] = "wav",
    [PLYECHO_CONTAINER_CSV] = "csv",
    NULL,
};

const struct option outputs_options[] = {
    {.name = "output",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct outputs_values, name),
     .help = "write to NAME, whose ending .wav or .csv says the format; several files go to a "
             "folder, DIR/, one each under its own name; - is standard output"},
    {.name = "to",
     .kind = OPTION_WORD,
     .words = container_words,
     .argument = "FORMAT",
     .offset = offsetof(struct outputs_values, container),
     .help = "format to write, where it is not that of the input"},
    {.name = NULL},
};

const struct option outputs_made_options[] = {
    {.name = "output",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct outputs_values, name),
     .help = "write to NAME, whose ending .wav or .csv says the format; - is standard output"},
    {.name = "to",
     .kind = OPTION_WORD,
     .words = container_words,
     .argument = "FORMAT",
     .offset = offsetof(struct outputs_values, container),
     .has_preset = true,
     .preset = PLYECHO_CONTAINER_WAV,
     .help = "format to write, where the ending of NAME does not say it"},
    {.name = NULL},
};

struct outputs {
    struct messages *messages;
    const char *file;   /* where all goes: a file or "-"; NULL where `folder` is set */
    const char *folder; /* or a folder */
    bool forced;        /* the options name the container: */
    enum plyecho_container container;
    bool broken;
    struct targets *targets;
};

/* The part of a name from its last dot on; "" where there is none. */
static const char *ending(const char *name)
{
    const char *base = file_base_name(name);
    const char *dot = strrchr(base, '.');
    return dot != NULL && dot != base ? dot : "";
}

/* Endings in use for what we read, and the container that an output of this name is; -1: one
 * that we do not write. */
static const struct known_ending {
    const char *text;
    int container;
} known_endings[] = {
    {".aif", -1},
    {".aifc", -1},
    {".aiff", -1},
    {".au", -1},
    {".caf", -1},
    {".csv", PLYECHO_CONTAINER_CSV},
    {".rf64", PLYECHO_CONTAINER_WAV},
    {".snd", -1},
    {".tsv", -1},
    {".txt", -1},
    {".w64", -1},
    {".wav", PLYECHO_CONTAINER_WAV},
    {".wave", PLYECHO_CONTAINER_WAV},
};

static const struct known_ending *find_ending(const char *name)
{
    const char *text = ending(name);
    for (size_t i = 0; i < sizeof known_endings / sizeof *known_endings; i++)
        if (strcasecmp(known_endings[i].text, text) == 0)
            return &known_endings[i];
    return NULL;
}

char *outputs_name(const char *folder, const char *input, enum plyecho_container container)
{
    const char *base = file_base_name(input);
    const struct known_ending *known = find_ending(base);
    size_t stem = strlen(base);
    const char *added = "";
    if (known == NULL || known->container != (int)container) {
        if (known != NULL)
            stem -= strlen(known->text);
        added = container == PLYECHO_CONTAINER_WAV ? ".wav" : ".csv";
    }
    size_t folder_size = strlen(folder);
    bool parted = folder_size > 0 && folder[folder_size - 1] == '/';
    char *name = memory_take(folder_size + stem + 8, 1);
    memcpy(name, folder, folder_size);
    if (!parted)
        name[folder_size++] = '/';
    memcpy(name + folder_size, base, stem);
    strcpy(name + folder_size + stem, added);
    return name;
}

static bool open_folder(struct outputs *outputs, const char *name)
{
    struct plyecho_error err;
    outputs->folder = name;
    if (mkdir(name, 0777) == 0 || file_is_folder(name))
        return true;
    file_fail(&err, errno, true);
    message_error(outputs->messages, name, &err);
    return false;
}

/* Take the container from the file's ending, unless --to has said it. */
static bool open_file(struct outputs *outputs, const char *name)
{
    outputs->file = name;
    if (strcmp(name, "-") == 0 || file_is_special(name) || ending(name)[0] == '\0')
        return true;
    const struct known_ending *known = find_ending(name);
    bool ours = known != NULL && known->container >= 0;
    if (!ours && !outputs->forced) {
        message_trouble(
            outputs->messages, name,
            "ends in neither .wav nor .csv; rename it, or add --to wav or --to csv");
        return false;
    }
    if (ours && outputs->forced && (int)outputs->container != known->container) {
        message_trouble(outputs->messages, name, "--to %s contradicts this ending; drop one",
                        container_words[outputs->container]);
        return false;
    }
    if (ours) {
        outputs->forced = true;
        outputs->container = (enum plyecho_container)known->container;
    }
    return true;
}

static bool open_destination(struct outputs *outputs, const char *name, bool several)
{
    size_t size = strlen(name);
    if (name[size - 1] == '/' || file_is_folder(name))
        return open_folder(outputs, name);
    if (!several)
        return open_file(outputs, name);
    message_trouble(outputs->messages, strcmp(name, "-") == 0 ? "standard output" : name,
                    "takes one trace file only; several go to a folder: -o DIR/");
    return false;
}

struct outputs *outputs_open(const struct invocation *invocation,
                             const struct outputs_values *values, bool several)
{
    struct outputs *outputs = memory_take(1, sizeof *outputs);
    outputs->messages = invocation->messages;
    outputs->forced = values->container.set;
    outputs->container = (enum plyecho_container)values->container.index;
    outputs->targets = targets_new(invocation);
    if (open_destination(outputs, values->name.set ? values->name.value : "-", several))
        return outputs;
    outputs_close(outputs);
    return NULL;
}

/* Make the bytes and write them to a name that was found good. */
static enum plyecho_code write_traces(struct outputs *outputs, const char *name,
                                      const struct plyecho_traces *traces,
                                      enum plyecho_container container,
                                      struct plyecho_error *err)
{
    void *bytes = NULL;
    size_t size = 0;
    bool standard = strcmp(name, "-") == 0;
    if (standard && container == PLYECHO_CONTAINER_WAV && isatty(STDOUT_FILENO))
        return plyecho_fail(
            err, PLYECHO_BAD_ARGUMENT,
            "WAV is not for a terminal; write -o NAME.wav, a pipe, or --to csv");
    enum plyecho_code code = plyecho_tracefile_write(traces, container, &bytes, &size, err);
    if (code == PLYECHO_OK) {
        code = file_write(name, bytes, size, err);
        outputs->broken |= standard && code != PLYECHO_OK;
    }
    free(bytes);
    return code;
}

bool outputs_write(struct outputs *outputs, const char *input,
                   const struct plyecho_traces *traces)
{
    struct plyecho_error err;
    enum plyecho_container container = outputs->forced ? outputs->container : traces->container;
    if (outputs->folder != NULL && strcmp(input, "-") == 0) {
        message_trouble(outputs->messages, input,
                        "has no name to use in a folder; give the output's: -o NAME");
        return false;
    }
    char *made =
        outputs->folder != NULL ? outputs_name(outputs->folder, input, container) : NULL;
    const char *name = made != NULL ? made : outputs->file;
    enum plyecho_code code = targets_check(outputs->targets, input, name, &err);
    if (code == PLYECHO_OK)
        code = write_traces(outputs, name, traces, container, &err);
    if (code != PLYECHO_OK)
        message_error(outputs->messages, strcmp(name, "-") == 0 ? "standard output" : name,
                      &err);
    free(made);
    return code == PLYECHO_OK;
}

bool outputs_broken(const struct outputs *outputs)
{
    return outputs->broken;
}

void outputs_close(struct outputs *outputs)
{
    if (outputs == NULL)
        return;
    targets_free(outputs->targets);
    free(outputs);
}
