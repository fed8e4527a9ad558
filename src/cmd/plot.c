/* plot - a picture of each A-scan, drawn by gnuplot */
#include <config.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "gnuplot.h"
#include "inputs.h"
#include "plot_output.h"
#include "plot_script.h"
#include "plot_trace.h"
#include "setup.h"

struct plot_values {
    struct inputs_values inputs;
    struct option_word term;
    struct option_text output;
    struct option_text size;
    struct option_count channel;
    struct option_number from_us, to_us;
    struct option_number least_level_db;
    struct setup_values setup;
    bool no_envelope;
    bool script;
};

static const char *const term_words[] = {
    [PLOT_WINDOW] = "window", [PLOT_PNG] = "png",   [PLOT_SVG] = "svg",
    [PLOT_PDF] = "pdf",       [PLOT_TEXT] = "text", NULL,
};

static const struct option options[] = {
    {.name = "term",
     .kind = OPTION_WORD,
     .words = term_words,
     .argument = "KIND",
     .offset = offsetof(struct plot_values, term),
     .help =
         "kind of picture; without it the ending of -o says the kind, a folder gets png, and "
         "standard output text. A window needs a gnuplot with a window terminal"},
    {.name = "output",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "NAME",
     .offset = offsetof(struct plot_values, output),
     .help = "write the picture to the file NAME; several go to a folder, DIR/, each under the "
             "name of its file and the number of its channel"},
    {.name = "script",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct plot_values, script),
     .help =
         "print the gnuplot script, data inside, instead of running it; works without gnuplot"},
    {.name = "size",
     .kind = OPTION_TEXT,
     .argument = "WxH",
     .offset = offsetof(struct plot_values, size),
     .help =
         "width and height, in characters for text (default: the terminal's), else in pixels "
         "of 1/96 inch (default: 1200x750)"},
    {.name = "channel",
     .kind = OPTION_COUNT,
     .argument = "N",
     .range = OPTION_BETWEEN,
     .least = 1,
     .most = PLYECHO_MAX_CHANNELS,
     .offset = offsetof(struct plot_values, channel),
     .help = "draw this channel only, counted from 1 (default: each)"},
    {.name = "from",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = offsetof(struct plot_values, from_us),
     .help =
         "time at the left edge, in microseconds (default: a little before the first echo)"},
    {.name = "to",
     .kind = OPTION_NUMBER,
     .argument = "US",
     .offset = offsetof(struct plot_values, to_us),
     .help =
         "time at the right edge, in microseconds (default: a little behind the last echo)"},
    {.name = "least-level",
     .kind = OPTION_NUMBER,
     .argument = "DB",
     .has_preset = true,
     .preset = -20.0,
     .offset = offsetof(struct plot_values, least_level_db),
     .help =
         "mark no echo this far below the largest of the wall, but for the wall's own echoes "
         "and the one that the verdict speaks of"},
    {.name = "no-envelope",
     .kind = OPTION_FLAG,
     .offset = offsetof(struct plot_values, no_envelope),
     .help = "leave out the envelope"},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = setup_options,
     .offset = offsetof(struct plot_values, setup)},
    {.name = "",
     .kind = OPTION_GROUP,
     .group = inputs_options,
     .offset = offsetof(struct plot_values, inputs)},
    {.name = NULL},
};

/* ---- the size ---- */

/* Least, usual and most size, in characters and in pixels. */
static const struct size_limits {
    unsigned least_width, least_height, width, height, most;
} text_limits = {40, 16, 80, 36, 400}, pixel_limits = {200, 150, 1200, 750, 8000};

/* A whole number at *text, which moves behind it. */
static bool read_whole(const char **text, unsigned *value)
{
    char *end;
    if (**text < '0' || **text > '9')
        return false;
    errno = 0;
    unsigned long number = strtoul(*text, &end, 10);
    *text = end;
    *value = number > 1000000 ? 1000000 : (unsigned)number;
    return errno == 0;
}

/* A terminal's own size, but for the lines of the prompt; what is no terminal has the usual one. */
static void take_terminal_size(struct plot_view *view)
{
    struct winsize size;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0 || size.ws_row == 0)
        return;
    unsigned height = size.ws_row > 2 ? size.ws_row - 2u : 0;
    view->width = size.ws_col < text_limits.least_width ? text_limits.least_width : size.ws_col;
    view->height = height < text_limits.height ? text_limits.height : height > 60 ? 60 : height;
    if (view->width > 160)
        view->width = 160;
}

static bool choose_size(const struct plot_values *values, struct plot_view *view,
                        struct messages *messages)
{
    bool text = view->term == PLOT_TEXT;
    const struct size_limits *limits = text ? &text_limits : &pixel_limits;
    view->width = limits->width;
    view->height = limits->height;
    if (!values->size.set) {
        if (text && !values->script && !values->output.set)
            take_terminal_size(view);
        return true;
    }
    const char *next = values->size.value;
    bool good = read_whole(&next, &view->width) && *next++ == 'x' &&
                read_whole(&next, &view->height) && *next == '\0';
    if (good && view->width >= limits->least_width && view->height >= limits->least_height &&
        view->width <= limits->most && view->height <= limits->most)
        return true;
    message_trouble(messages, "--size",
                    "'%s' is no size from %ux%u to %ux%u %s; write for example --size %ux%u",
                    values->size.value, limits->least_width, limits->least_height, limits->most,
                    limits->most, text ? "characters" : "pixels", limits->width,
                    limits->height);
    return false;
}

/* ---- the kind ---- */

static enum plot_term choose_term(const struct plot_values *values)
{
    enum plot_term term;
    const char *name = values->output.value;
    if (values->term.set)
        return (enum plot_term)values->term.index;
    if (name == NULL || strcmp(name, "-") == 0)
        return PLOT_TEXT;
    if (plot_output_kind_of(name, &term))
        return term;
    return name[0] != '\0' && name[strlen(name) - 1] == '/' && !values->script ? PLOT_PNG
                                                                               : PLOT_TEXT;
}

static bool check_window(struct messages *messages)
{
    const char *x = getenv("DISPLAY"), *wayland = getenv("WAYLAND_DISPLAY");
    if ((x != NULL && x[0] != '\0') || (wayland != NULL && wayland[0] != '\0'))
        return true;
    message_trouble(messages, NULL,
                    "no screen for a window (DISPLAY is not set); write a file with -o "
                    "picture.png, or choose --term text");
    return false;
}

/* ---- pictures ---- */

struct job {
    const struct plot_values *values;
    struct messages *messages;
    struct plot_view view;
    struct plot_trace *plot;
    struct plot_output *output;
    bool stopped; /* gnuplot cannot be had: no use in going on */
};

/* gnuplot fills its page of text with blanks: take off those at the ends of lines, and the empty
 * lines at the top. Returns the size that is left. */
static size_t trim_page(char *page, size_t size)
{
    size_t kept = 0, blanks = 0;
    for (size_t i = 0; i < size; i++) {
        if (page[i] == ' ' || page[i] == '\f' || (page[i] == '\n' && kept == 0)) {
            blanks = page[i] == '\n' ? 0 : blanks + 1;
            continue;
        }
        if (page[i] != '\n' && blanks > 0) {
            memset(page + kept, ' ', blanks);
            kept += blanks;
        }
        blanks = 0;
        page[kept++] = page[i];
    }
    return kept;
}

/* What no verb but this one can do about it. */
static enum plyecho_code say_script(enum plyecho_code code, struct plyecho_error *err)
{
    const struct plyecho_error was = *err;
    return plyecho_fail(err, code, "%s; --script prints the script, to be drawn elsewhere",
                        was.text);
}

/* Have gnuplot draw; *picture is malloc'ed. */
static enum plyecho_code draw(struct job *job, const char *script, size_t script_size,
                              char **picture, size_t *size, struct plyecho_error *err)
{
    enum plyecho_code code =
        gnuplot_run(script, script_size, GNUPLOT_TIME_LIMIT_S, picture, size, err);
    job->stopped = code == PLYECHO_IO;
    if (job->stopped)
        return say_script(code, err);
    if (code == PLYECHO_OK && job->view.term == PLOT_TEXT)
        *size = trim_page(*picture, *size);
    if (code != PLYECHO_OK || *size > 0 || job->view.term == PLOT_WINDOW)
        return code;
    free(*picture);
    *picture = NULL;
    return plyecho_fail(err, PLYECHO_UNSUITABLE,
                        "gnuplot ended without a picture and without a word; print the script "
                        "with --script and try it by hand");
}

static enum plyecho_code make(struct job *job, const char *name, size_t channels,
                              const struct plyecho_trace *trace, char **bytes, size_t *size,
                              struct plyecho_error *err)
{
    struct plot_picture picture;
    enum plyecho_code code = plot_trace_run(job->plot, name, channels, trace, &picture, err);
    if (code == PLYECHO_OK)
        code = plot_script(&picture, &job->view, bytes, size, err);
    if (code != PLYECHO_OK || job->values->script)
        return code;
    char *script = *bytes;
    code = draw(job, script, *size, bytes, size, err);
    free(script);
    return code;
}

static void plot_channel(struct job *job, const struct input *input, size_t channel)
{
    struct plyecho_error err;
    struct plyecho_trace trace = plyecho_traces_channel(input->traces, channel);
    size_t channels = input->traces->channels, size = 0;
    char *bytes = NULL;
    enum plyecho_code code = make(job, input->name, channels, &trace, &bytes, &size, &err);
    if (code != PLYECHO_OK) {
        message_error(job->messages, job->stopped ? NULL : input->name, &err);
        return;
    }
    if (size > 0)
        plot_output_write(job->output, input->name, channels > 1 ? channel : 0, bytes, size);
    job->view.window++;
    free(bytes);
}

static void plot_file(struct job *job, const struct input *input)
{
    size_t channels = input->traces->channels;
    size_t first = 1, last = channels;
    if (job->values->channel.set) {
        first = last = (size_t)job->values->channel.value;
        if (first > channels) {
            message_trouble(job->messages, input->name,
                            "has %zu channel%s, no channel %zu; change --channel", channels,
                            channels == 1 ? "" : "s", first);
            return;
        }
    }
    if (!plot_output_has_room(job->output, input->name, last - first + 1))
        return;
    for (size_t c = first; c <= last && !job->stopped && !plot_output_broken(job->output); c++)
        plot_channel(job, input, c);
}

static struct plot_trace_options trace_options(const struct plot_values *values,
                                               struct setup *setup)
{
    return (struct plot_trace_options){
        .setup = setup,
        .filtered = values->setup.band.hz.set,
        .envelope = !values->no_envelope,
        .least_level_db = values->least_level_db.value,
        .has_from = values->from_us.set,
        .has_to = values->to_us.set,
        .from_s = values->from_us.value * 1e-6,
        .to_s = values->to_us.value * 1e-6,
    };
}

static void plot_all(struct job *job, const struct invocation *invocation, struct setup *setup)
{
    const struct plot_values *values = job->values;
    struct plot_trace_options shown = trace_options(values, setup);
    struct input input;
    struct inputs *inputs =
        inputs_open(invocation, &values->inputs, setup->assess.wall.velocity_m_s);
    job->plot = plot_trace_new(&shown);
    while (!job->stopped && !plot_output_broken(job->output) && inputs_next(inputs, &input))
        plot_file(job, &input);
    plot_trace_free(job->plot);
    inputs_close(inputs);
}

static enum status run(const struct invocation *invocation)
{
    const struct plot_values *values = invocation->values;
    struct messages *messages = invocation->messages;
    struct job job = {.values = values, .messages = messages};
    job.view.term = choose_term(values);
    bool window = job.view.term == PLOT_WINDOW && !values->script;
    if (!choose_size(values, &job.view, messages) || (window && !check_window(messages)))
        return STATUS_TROUBLE;
    struct plot_output_kind kind = {job.view.term, values->script};
    job.output = plot_output_open(invocation, values->output.value, kind);
    bool several = inputs_are_several(invocation, &values->inputs);
    if (job.output == NULL || (several && !plot_output_has_room(job.output, NULL, 2))) {
        plot_output_close(job.output);
        return STATUS_TROUBLE;
    }
    struct setup setup;
    if (setup_open(&setup, &values->setup, false, values->inputs.sample_rate_hz.value,
                   messages))
        plot_all(&job, invocation, &setup);
    setup_close(&setup);
    plot_output_close(job.output);
    return verb_status(messages, false);
}

const struct verb verb_plot = {
    .name = "plot",
    .group = VERB_SHOW,
    .help = "a picture of each trace: signal, envelope, echoes, depth",
    .operands = "[FILE...]",
    .description =
        "Draws each channel of the trace files: the A-scan, its envelope, its echoes with "
        "number, time and level, and the level that noise stays below. The numbers are those of "
        "`plyecho echoes`; of the echoes more than 20 dB below the largest, which between plies "
        "are many, the picture says how many there are, and --least-level -40 marks them, too. "
        "With a velocity it adds the depth, what `plyecho assess` says with the same "
        "options (a reading, not a clearance), and the depths that this speaks of. With --band the trace is shown within "
        "it.\n"
        "gnuplot does the drawing (Debian: gnuplot-nox); it has 60 seconds for a picture. In "
        "text there is no room for the envelope.",
    .example = "plyecho plot --velocity 2950 -o ring3.png ring3.wav",
    .options = options,
    .values_size = sizeof(struct plot_values),
    .run = run,
};
