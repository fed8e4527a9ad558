/* main.c - finds the verb, reads its options, runs it, and makes sure that the output arrived
 */
#include <config.h>

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <fftw3.h>
#include <gsl/gsl_errno.h>

#include "file.h"
#include "help.h"
#include "memory.h"
#include "suggest.h"
#include "verb.h"

/* Options that every verb has. */
struct common_values {
    bool quiet;
    bool help;
};

static const struct option common_options[] = {
    {.name = "quiet",
     .letter = 'q',
     .kind = OPTION_FLAG,
     .offset = offsetof(struct common_values, quiet),
     .help = "no notes on standard error; trouble is always said"},
    {.name = "help",
     .letter = 'h',
     .kind = OPTION_FLAG,
     .stops = true,
     .offset = offsetof(struct common_values, help),
     .help = "this text"},
    {.name = NULL},
};

/* A standard stream that the caller closed would lend its number to the next file opened, and
 * output meant for it would go there: take the number, opened the wrong way round, so that
 * using it fails as it should. */
static void hold_standard_streams(void)
{
    for (int fd = STDIN_FILENO; fd <= STDERR_FILENO; fd++)
        if (fcntl(fd, F_GETFD) == -1 && errno == EBADF)
            if (open("/dev/null", fd == STDIN_FILENO ? O_WRONLY : O_RDONLY) == -1)
                _exit(STATUS_TROUBLE);
}

/* A full disk may show only here: what was printed counts when it has arrived. */
static enum status finish_output(struct messages *messages, enum status status)
{
    struct plyecho_error err;
    if (file_finish_stdout(&err) == PLYECHO_OK)
        return status;
    message_error(messages, "standard output", &err);
    return STATUS_TROUBLE;
}

static enum status run_verb(const struct verb *verb, char *const *arguments, size_t count,
                            struct messages *messages)
{
    struct common_values common = {0};
    void *values = memory_take(1, verb->values_size);
    const char **operands = memory_take(count, sizeof *operands);
    const struct option_set sets[] = {{verb->options, values}, {common_options, &common}};
    struct invocation invocation = {values, operands, 0, messages};
    enum status status = STATUS_TROUBLE;
    struct plyecho_error err;

    options_preset(sets, 2);
    if (options_parse(sets, 2, arguments, count, operands, &invocation.file_count, &err) !=
        PLYECHO_OK) {
        message_error(messages, verb->name, &err);
    } else if (common.help) {
        help_verb(stdout, verb, common_options);
        status = STATUS_DONE;
    } else if (verb->operands == NULL && invocation.file_count > 0) {
        message_trouble(messages, verb->name,
                        "\"%.80s\": takes no file; leave it out, or see --help", operands[0]);
    } else {
        messages->quiet = common.quiet;
        status = verb->run(&invocation);
    }
    options_clear(sets, 2);
    free(operands);
    free(values);
    return status;
}

static enum status unknown_verb(const char *word, struct messages *messages)
{
    struct suggestion nearest = {NULL, SIZE_MAX};
    const struct verb *const *verbs = verb_list();
    for (size_t i = 0; verbs[i] != NULL; i++)
        suggest_offer(&nearest, word, verbs[i]->name);
    if (nearest.word != NULL)
        message_trouble(messages, word, "unknown verb; the nearest is %s", nearest.word);
    else
        message_trouble(messages, word, "unknown verb; plyecho --help lists those there are");
    return STATUS_TROUBLE;
}

static enum status run(char *const *arguments, size_t count, struct messages *messages)
{
    if (count == 0) {
        message_trouble(messages, NULL, "no verb given; plyecho --help lists them");
        return STATUS_TROUBLE;
    }
    const char *word = arguments[0];
    if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        help_program(stdout);
        return STATUS_DONE;
    }
    if (strcmp(word, "--version") == 0) {
        puts("plyecho " PACKAGE_VERSION);
        return STATUS_DONE;
    }
    if (word[0] == '-') {
        message_trouble(messages, word,
                        "an option belongs behind its verb; plyecho --help "
                        "lists the verbs");
        return STATUS_TROUBLE;
    }
    const struct verb *verb = verb_find(word);
    return verb != NULL ? run_verb(verb, arguments + 1, count - 1, messages)
                        : unknown_verb(word, messages);
}

int main(int argc, char **argv)
{
    struct messages messages = {.to = stderr};
    hold_standard_streams();
    signal(SIGPIPE, SIG_DFL); /* a reader that goes away ends the program, quietly */
    signal(SIGXFSZ, SIG_IGN); /* a file beyond the user's limit is an error of write() */
    gsl_set_error_handler_off();
    fftwf_make_planner_thread_safe();
    enum status status = run(argv + 1, argc > 0 ? (size_t)argc - 1 : 0, &messages);
    return (int)finish_output(&messages, status);
}
