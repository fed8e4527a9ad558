#include <config.h>

#include "gnuplot.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

enum {
    POLL_MS = 20,                    /* how often the child's end is looked for */
    MOST_OUTPUT = 256 * 1024 * 1024, /* bytes; more is no picture but a run-away child */
    MOST_MESSAGE = 64 * 1024,        /* bytes of its standard error that are kept */
};

struct buffer {
    char *bytes;
    size_t size, room, most;
};

/* A running gnuplot: our ends of its three streams (-1 once closed) and what came out. */
struct child {
    pid_t pid; /* 0: none, or already waited for */
    int status;
    int in, out, err; /* `in` is a socket, so that a child that went away costs no SIGPIPE */
    struct buffer output, message;
};

static void close_end(int *fd)
{
    if (*fd >= 0)
        close(*fd);
    *fd = -1;
}

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Put our end and the child's end of a stream out of the way of 0, 1 and 2 (which may be closed
 * in us) and make both close on exec; ours never blocks. */
static bool settle_ends(int fd[2], int ours)
{
    for (int i = 0; i < 2; i++) {
        int moved = fcntl(fd[i], F_DUPFD_CLOEXEC, 3);
        if (moved < 0)
            return false;
        close(fd[i]);
        fd[i] = moved;
    }
    return fcntl(fd[ours], F_SETFL, O_NONBLOCK) == 0;
}

/* Start the child with the given ends as its streams; returns an errno value. */
static int spawn(pid_t *pid, int in, int out, int err)
{
    static char name[] = "gnuplot", defaults[] = "-d", from_input[] = "-";
    char *const argv[] = {name, defaults, from_input, NULL};
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    int failure = posix_spawn_file_actions_init(&actions);
    if (failure != 0)
        return failure;
    failure = posix_spawnattr_init(&attributes);
    if (failure == 0) {
        /* A process group of its own: what the child starts is killed with it. */
        failure = posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP);
        if (failure == 0)
            failure = posix_spawnattr_setpgroup(&attributes, 0);
        if (failure == 0)
            failure = posix_spawn_file_actions_adddup2(&actions, in, STDIN_FILENO);
        if (failure == 0)
            failure = posix_spawn_file_actions_adddup2(&actions, out, STDOUT_FILENO);
        if (failure == 0)
            failure = posix_spawn_file_actions_adddup2(&actions, err, STDERR_FILENO);
        if (failure == 0)
            failure = posix_spawnp(pid, name, &actions, &attributes, argv, environ);
        posix_spawnattr_destroy(&attributes);
    }
    posix_spawn_file_actions_destroy(&actions);
    return failure;
}

/* Make the three streams and start; returns an errno value, and closes all it opened on
 * failure. */
static int start(struct child *child)
{
    int in[2] = {-1, -1}, out[2] = {-1, -1}, err[2] = {-1, -1};
    int failure = 0;
    if (socketpair(AF_UNIX, SOCK_STREAM, 0, in) < 0 || !settle_ends(in, 0) || pipe(out) < 0 ||
        !settle_ends(out, 0) || pipe(err) < 0 || !settle_ends(err, 0))
        failure = errno;
    if (failure == 0)
        failure = spawn(&child->pid, in[1], out[1], err[1]);
    close_end(&in[1]);
    close_end(&out[1]);
    close_end(&err[1]);
    child->in = in[0];
    child->out = out[0];
    child->err = err[0];
    if (failure != 0)
        child->pid = 0;
    return failure;
}

static enum plyecho_code grow(struct buffer *buffer, size_t more)
{
    if (buffer->size + more <= buffer->room)
        return PLYECHO_OK;
    size_t room = 2 * buffer->room + more;
    char *bytes = realloc(buffer->bytes, room);
    if (bytes == NULL)
        return PLYECHO_NO_MEMORY;
    buffer->bytes = bytes;
    buffer->room = room;
    return PLYECHO_OK;
}

/* Take what is there now. Beyond `most` bytes the rest is dropped and PLYECHO_TOO_LARGE. */
static enum plyecho_code drain(int *fd, struct buffer *buffer)
{
    char block[16384];
    enum plyecho_code code = PLYECHO_OK;
    while (*fd >= 0) {
        ssize_t got = read(*fd, block, sizeof block);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK))
            return code;
        if (got <= 0) {
            close_end(fd);
            return code;
        }
        if (buffer->size + (size_t)got > buffer->most)
            return PLYECHO_TOO_LARGE;
        code = grow(buffer, (size_t)got);
        if (code != PLYECHO_OK)
            return code;
        memcpy(buffer->bytes + buffer->size, block, (size_t)got);
        buffer->size += (size_t)got;
    }
    return code;
}

/* Its standard error may be endless: where the room is full, what was kept makes place. */
static void drain_message(struct child *child)
{
    if (drain(&child->err, &child->message) != PLYECHO_OK)
        child->message.size = 0;
}

/* Send what goes without blocking; the end of the script is the end of the stream. */
static void feed(struct child *child, const char **script, size_t *left)
{
    while (child->in >= 0 && *left > 0) {
        ssize_t sent = send(child->in, *script, *left, MSG_NOSIGNAL);
        if (sent < 0 && errno == EINTR)
            continue;
        if (sent < 0 && (errno == EAGAIN || errno == EWOULDBLOCK))
            return;
        if (sent < 0) { /* it went away: its status says why */
            close_end(&child->in);
            return;
        }
        *script += sent;
        *left -= (size_t)sent;
    }
    close_end(&child->in);
}

static bool has_ended(struct child *child)
{
    if (child->pid != 0 && waitpid(child->pid, &child->status, WNOHANG) != 0)
        child->pid = 0;
    return child->pid == 0;
}

/* Move bytes until the child has ended. A window that it leaves open may hold its streams, so
 * its end counts, not theirs. */
static enum plyecho_code converse(struct child *child, const char *script, size_t left,
                                  double time_limit_s)
{
    double end = now_s() + time_limit_s;
    for (;;) {
        bool ended = has_ended(child);
        feed(child, &script, &left);
        enum plyecho_code code = drain(&child->out, &child->output);
        drain_message(child);
        if (code != PLYECHO_OK || ended)
            return code;
        if (now_s() > end)
            return PLYECHO_IO;
        struct pollfd wait[3] = {
            {child->in, POLLOUT, 0}, {child->out, POLLIN, 0}, {child->err, POLLIN, 0}};
        bool open = child->out >= 0 || child->err >= 0 || child->in >= 0;
        poll(wait, open ? 3 : 0, POLL_MS);
    }
}

/* Close, kill what still runs, free; nothing of the child stays. */
static void finish(struct child *child)
{
    close_end(&child->in);
    close_end(&child->out);
    close_end(&child->err);
    if (child->pid != 0) {
        kill(-child->pid, SIGKILL);
        while (waitpid(child->pid, &child->status, 0) < 0 && errno == EINTR)
            continue;
    }
    free(child->message.bytes);
    free(child->output.bytes);
}

/* One line of the message, without the blanks around it; *next moves behind it. */
static char *take_line(char **next)
{
    char *line = *next + strspn(*next, " \t\r\n");
    char *end = line + strcspn(line, "\n");
    *next = *end == '\0' ? end : end + 1;
    while (end > line && strchr(" \t\r", end[-1]) != NULL)
        end--;
    *end = '\0';
    return line;
}

/* What gnuplot said of the cause: it reads on behind an error, so the first `line N: ...` that is no
 * warning tells more than what follows; else its last words. The number is always 0 for a script
 * from a pipe and left out. Control characters are replaced by plyecho_fail. */
static const char *explanation(struct buffer *message)
{
    const char *last = "no explanation";
    if (grow(message, 1) != PLYECHO_OK)
        return last;
    message->bytes[message->size] = '\0';
    for (char *next = message->bytes; *next != '\0';) {
        const char *line = take_line(&next);
        const char *cause = strstr(line, ": ");
        if (strncmp(line, "line ", 5) == 0 && cause != NULL &&
            strncmp(cause, ": warning", 9) != 0)
            return strncmp(line, "line 0: ", 8) == 0 ? line + 8 : line;
        if (line[0] != '\0')
            last = line;
    }
    return last;
}

static enum plyecho_code start_failure(int failure, struct plyecho_error *err)
{
    if (failure == ENOENT)
        return plyecho_fail(
            err, PLYECHO_IO,
            "gnuplot is not installed, and pictures are drawn by it (Debian: apt-get "
            "install gnuplot-nox)");
    return plyecho_fail(err, PLYECHO_IO,
                        "gnuplot cannot be started: %s (Debian: apt-get install gnuplot-nox)",
                        strerror(failure));
}

static enum plyecho_code run_failure(enum plyecho_code code, double time_limit_s,
                                     struct plyecho_error *err)
{
    if (code == PLYECHO_IO)
        return plyecho_fail(err, code, "gnuplot was stopped: no picture after %g s",
                            time_limit_s);
    if (code == PLYECHO_TOO_LARGE)
        return plyecho_fail(err, code, "gnuplot was stopped: it wrote more than %d MB",
                            MOST_OUTPUT / (1024 * 1024));
    return plyecho_fail(err, code, "no memory for the picture");
}

static enum plyecho_code judge_status(struct child *child, struct plyecho_error *err)
{
    if (WIFEXITED(child->status) && WEXITSTATUS(child->status) == 0)
        return PLYECHO_OK;
    if (WIFSIGNALED(child->status))
        return plyecho_fail(err, PLYECHO_UNSUITABLE, "gnuplot crashed (signal %d): %s",
                            WTERMSIG(child->status), explanation(&child->message));
    return plyecho_fail(err, PLYECHO_UNSUITABLE, "gnuplot failed (exit status %d): %s",
                        WEXITSTATUS(child->status), explanation(&child->message));
}

enum plyecho_code gnuplot_run(const char *script, size_t script_size, double time_limit_s,
                              char **output, size_t *output_size, struct plyecho_error *err)
{
    struct child child = {.in = -1,
                          .out = -1,
                          .err = -1,
                          .output = {.most = MOST_OUTPUT},
                          .message = {.most = MOST_MESSAGE}};
    *output = NULL;
    *output_size = 0;
    enum plyecho_code code = PLYECHO_OK;
    int failure = start(&child);
    if (failure != 0) {
        code = start_failure(failure, err);
        goto done;
    }
    code = converse(&child, script, script_size, time_limit_s);
    if (code != PLYECHO_OK) {
        code = run_failure(code, time_limit_s, err);
        goto done;
    }
    code = judge_status(&child, err);
    if (code == PLYECHO_OK) {
        code = grow(&child.output, 1);
        if (code != PLYECHO_OK) {
            code = run_failure(code, time_limit_s, err);
            goto done;
        }
        *output = child.output.bytes;
        *output_size = child.output.size;
        child.output.bytes = NULL;
    }
done:
    finish(&child);
    return code;
}
