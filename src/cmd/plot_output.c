#include <config.h>

#include "plot_output.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"
#include "memory.h"
#include "targets.h"

static const char *const endings[] = {
    [PLOT_WINDOW] = "",  [PLOT_PNG] = ".png",  [PLOT_SVG] = ".svg",
    [PLOT_PDF] = ".pdf", [PLOT_TEXT] = ".txt",
};

static const char script_ending[] = ".gp";

struct plot_output {
    struct messages *messages;
    struct plot_output_kind kind;
    const char *file;   /* a file or "-"; NULL where `folder` is set */
    const char *folder; /* ends in '/' or not */
    struct targets *targets;
    bool broken;
};

/* The part of a name's last component from its last dot on; "" where there is none. */
static const char *ending_of(const char *name)
{
    const char *base = file_base_name(name);
    const char *dot = strrchr(base, '.');
    return dot != NULL && dot != base ? dot : "";
}

bool plot_output_kind_of(const char *name, enum plot_term *term)
{
    const char *ending = ending_of(name);
    for (enum plot_term t = PLOT_PNG; t <= PLOT_TEXT; t++) {
        if (strcasecmp(ending, endings[t]) == 0) {
            *term = t;
            return true;
        }
    }
    return false;
}

/* A name that says one kind while another is to be written into it would mislead. */
static bool check_ending(const struct plot_output *output, const char *name)
{
    enum plot_term named;
    bool known = plot_output_kind_of(name, &named);
    if (!known || (!output->kind.script && named == output->kind.term))
        return true;
    message_trouble(output->messages, name, "is to hold %s; end its name in %s",
                    output->kind.script ? "a script" : "a picture of another kind",
                    output->kind.script ? script_ending : endings[output->kind.term]);
    return false;
}

static bool is_text(const struct plot_output *output)
{
    return output->kind.script || output->kind.term == PLOT_TEXT;
}

static bool open_folder(struct plot_output *output, const char *name)
{
    struct plyecho_error err;
    output->folder = name;
    if (mkdir(name, 0777) == 0 || file_is_folder(name))
        return true;
    file_fail(&err, errno, true);
    message_error(output->messages, name, &err);
    return false;
}

static bool open_file(struct plot_output *output, const char *name)
{
    output->file = name;
    if (strcmp(name, "-") != 0)
        return check_ending(output, name);
    if (is_text(output) || output->kind.term == PLOT_WINDOW || !isatty(STDOUT_FILENO))
        return true;
    message_trouble(output->messages, NULL,
                    "a %s picture is not for a terminal; write it with -o NAME%s, or choose "
                    "--term text",
                    endings[output->kind.term] + 1, endings[output->kind.term]);
    return false;
}

struct plot_output *plot_output_open(const struct invocation *invocation, const char *name,
                                     struct plot_output_kind kind)
{
    struct messages *messages = invocation->messages;
    struct plot_output *output = memory_take(1, sizeof *output);
    output->messages = messages;
    output->kind = kind;
    output->targets = targets_new(invocation);
    bool ready;
    if (name != NULL && name[0] == '\0') {
        message_trouble(messages, "-o", "needs a name");
        ready = false;
    } else if (name != NULL && kind.term == PLOT_WINDOW && !kind.script) {
        message_trouble(messages, name,
                        "a window writes no file; leave out -o or --term window");
        ready = false;
    } else if (name != NULL && (name[strlen(name) - 1] == '/' || file_is_folder(name))) {
        ready = open_folder(output, name);
    } else {
        ready = open_file(output, name != NULL ? name : "-");
    }
    if (ready)
        return output;
    plot_output_close(output);
    return NULL;
}

bool plot_output_has_room(const struct plot_output *output, const char *input, size_t pictures)
{
    bool several = output->folder != NULL || output->kind.term == PLOT_WINDOW ||
                   (is_text(output) && strcmp(output->file, "-") == 0);
    if (several || pictures <= 1)
        return true;
    message_trouble(output->messages, input,
                    "several pictures do not fit into one file; write them to a folder with -o "
                    "DIR/, or choose one with --channel");
    return false;
}

/* DIR/ring3.png for ring3.wav, DIR/ring3-07.png for its channel 7. */
static char *name_in_folder(const struct plot_output *output, const char *input, size_t channel)
{
    const char *base = file_base_name(input);
    if (strcmp(base, "-") == 0)
        base = "standard-input";
    size_t stem = strlen(base) - strlen(ending_of(base));
    size_t room = strlen(output->folder) + stem + 40;
    const char *parting = output->folder[strlen(output->folder) - 1] == '/' ? "" : "/";
    char *name = memory_take(room, 1);
    int used = snprintf(name, room, "%s%s%.*s", output->folder, parting, (int)stem, base);
    if (channel > 0)
        used += snprintf(name + used, room - (size_t)used, "-%02zu", channel);
    snprintf(name + used, room - (size_t)used, "%s",
             output->kind.script ? script_ending : endings[output->kind.term]);
    return name;
}

bool plot_output_write(struct plot_output *output, const char *input, size_t channel,
                       const char *bytes, size_t size)
{
    struct plyecho_error err;
    char *name = output->folder != NULL ? name_in_folder(output, input, channel)
                                        : memory_text(output->file);
    bool standard = strcmp(name, "-") == 0;
    enum plyecho_code code =
        standard ? PLYECHO_OK : targets_check(output->targets, input, name, &err);
    if (code == PLYECHO_OK) {
        code = file_write(name, bytes, size, &err);
        output->broken |= standard && code != PLYECHO_OK;
    }
    if (code != PLYECHO_OK)
        message_error(output->messages, standard ? "standard output" : name, &err);
    free(name);
    return code == PLYECHO_OK;
}

bool plot_output_broken(const struct plot_output *output)
{
    return output->broken;
}

void plot_output_close(struct plot_output *output)
{
    if (output == NULL)
        return;
    targets_free(output->targets);
    free(output);
}
