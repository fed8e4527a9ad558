#include <config.h>

#include "inputs.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "file.h"
#include "memory.h"

const struct option inputs_options[] = {
    {.name = "files-from",
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct inputs_values, files_from),
     .help = "read the names of the files from FILE, one a line; - is standard input"},
    {.name = "null",
     .letter = '0',
     .kind = OPTION_FLAG,
     .offset = offsetof(struct inputs_values, nul),
     .help = "names in --files-from end with a zero byte, not with the line"},
    {.name = "sample-rate",
     .kind = OPTION_NUMBER,
     .argument = "HZ",
     .range = OPTION_ABOVE,
     .offset = offsetof(struct inputs_values, sample_rate_hz),
     .help = "sample rate of the traces, whatever the file says"},
    {.name = NULL},
};

const struct option inputs_velocity_options[] = {
    {.name = "velocity",
     .kind = OPTION_NUMBER,
     .argument = "M/S",
     .range = OPTION_BETWEEN,
     .least = 100,
     .most = 20000,
     .offset = offsetof(struct inputs_velocity, m_s),
     .help = "sound velocity of the wall: turns a distance axis into time, there and back"},
    {.name = NULL},
};

struct inputs {
    struct messages *messages;
    struct plyecho_read_options read;
    const char *const *files; /* names on the command line */
    size_t file_count;
    size_t next;
    const char *list_name; /* --files-from, or NULL */
    FILE *list;
    int delimiter;
    char *line;
    size_t line_room;
    bool listed; /* the list named a file */
    bool stdin_taken;
    struct file_bytes bytes;
    const char *name;
    struct plyecho_traces traces;
    size_t channel; /* last one given by inputs_next_trace; 0: none yet */
};

static const char *const only_stdin[] = {"-"};

bool inputs_are_several(const struct invocation *invocation, const struct inputs_values *values)
{
    return values->files_from.set || invocation->file_count > 1;
}

static void open_list(struct inputs *inputs, const char *name)
{
    inputs->list_name = name;
    if (strcmp(name, "-") == 0) {
        inputs->list = stdin;
        inputs->stdin_taken = true;
        return;
    }
    struct plyecho_error err;
    inputs->list = fopen(name, "re");
    if (inputs->list == NULL) {
        file_fail(&err, errno, false);
        message_error(inputs->messages, name, &err);
    }
}

struct inputs *inputs_open(const struct invocation *invocation,
                           const struct inputs_values *values, double velocity_m_s)
{
    struct inputs *inputs = memory_take(1, sizeof *inputs);
    inputs->messages = invocation->messages;
    inputs->read.sample_rate_hz = values->sample_rate_hz.value;
    inputs->read.velocity_m_s = velocity_m_s;
    inputs->delimiter = values->nul ? '\0' : '\n';
    if (values->nul && !values->files_from.set)
        message_trouble(inputs->messages, "-0", "belongs to --files-from; give that too");
    else if (values->files_from.set && invocation->file_count > 0)
        message_trouble(inputs->messages, invocation->files[0],
                        "named beside --files-from; put it in the list, or leave the list out");
    else if (values->files_from.set)
        open_list(inputs, values->files_from.value);
    else {
        inputs->files = invocation->file_count > 0 ? invocation->files : only_stdin;
        inputs->file_count = invocation->file_count > 0 ? invocation->file_count : 1;
    }
    return inputs;
}

/* The end of the list: was there one, and all of it? */
static void check_list(struct inputs *inputs)
{
    struct plyecho_error err;
    if (ferror(inputs->list)) {
        file_fail(&err, errno, false);
        message_error(inputs->messages, inputs->list_name, &err);
    } else if (!inputs->listed) {
        message_trouble(
            inputs->messages, inputs->list_name,
            "names no file; write one a line, or with a zero byte behind each and -0");
    }
}

static const char *next_listed(struct inputs *inputs)
{
    ssize_t size;
    while ((size = getdelim(&inputs->line, &inputs->line_room, inputs->delimiter,
                            inputs->list)) > 0) {
        char *line = inputs->line;
        if (line[size - 1] == inputs->delimiter)
            line[--size] = '\0';
        if (inputs->delimiter == '\n' && size > 0 && line[size - 1] == '\r')
            line[--size] = '\0'; /* a list written under Windows */
        if (size == 0)
            continue;
        inputs->listed = true;
        if (strlen(line) == (size_t)size)
            return line;
        message_trouble(inputs->messages, inputs->list_name,
                        "a zero byte in a name; if names end with one, add -0");
    }
    check_list(inputs);
    return NULL;
}

static const char *next_name(struct inputs *inputs)
{
    if (inputs->list != NULL)
        return next_listed(inputs);
    return inputs->next < inputs->file_count ? inputs->files[inputs->next++] : NULL;
}

static enum plyecho_code read_input(struct inputs *inputs, const char *name,
                                    struct plyecho_error *err)
{
    bool standard = strcmp(name, "-") == 0;
    if (standard && inputs->stdin_taken)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "already in use; name it only once");
    inputs->stdin_taken |= standard;
    enum plyecho_code code = file_read(name, &inputs->bytes, err);
    if (code == PLYECHO_OK)
        code = plyecho_tracefile_read(inputs->bytes.data, inputs->bytes.size, &inputs->read,
                                      &inputs->traces, err);
    return code;
}

bool inputs_next(struct inputs *inputs, struct input *input)
{
    struct plyecho_error err;
    plyecho_traces_clear(&inputs->traces);
    while ((inputs->name = next_name(inputs)) != NULL) {
        if (read_input(inputs, inputs->name, &err) != PLYECHO_OK) {
            message_error(inputs->messages, inputs->name, &err);
            continue;
        }
        if (inputs->traces.note[0] != '\0')
            message_note(inputs->messages, inputs->name, "%s", inputs->traces.note);
        *input = (struct input){inputs->name, &inputs->traces};
        return true;
    }
    return false;
}

bool inputs_next_trace(struct inputs *inputs, struct input_trace *input)
{
    struct input file;
    if (inputs->channel == inputs->traces.channels) {
        inputs->channel = 0;
        if (!inputs_next(inputs, &file))
            return false;
    }
    inputs->channel++;
    input->name = inputs->name;
    input->trace = plyecho_traces_channel(&inputs->traces, inputs->channel);
    return true;
}

void inputs_close(struct inputs *inputs)
{
    if (inputs == NULL)
        return;
    if (inputs->list != NULL && inputs->list != stdin)
        fclose(inputs->list);
    plyecho_traces_clear(&inputs->traces);
    free(inputs->bytes.data);
    free(inputs->line);
    free(inputs);
}

enum plyecho_code inputs_read_one(const char *path, const struct plyecho_read_options *options,
                                  struct plyecho_traces *traces, struct plyecho_error *err)
{
    struct file_bytes bytes = {0};
    enum plyecho_code code = file_read(path, &bytes, err);
    if (code == PLYECHO_OK)
        code = plyecho_tracefile_read(bytes.data, bytes.size, options, traces, err);
    free(bytes.data);
    return code;
}
