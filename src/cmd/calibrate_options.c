/* Which options go with which call of calibrate: one that would be without effect is refused. */
#include <config.h>

#include <stdlib.h>
#include <string.h>

#include "calibrate.h"

/* The calls; bits, so that an option can go with several. */
enum { STEPS = 1, CHECK = 2, SOUND = 4, INTO = 8 };

/* Options that go with some calls only. INTO: with --into only, where it is about steps. */
static const struct {
    const char *name;
    unsigned calls;
} some[] = {
    {"into", STEPS | SOUND},
    {"plot", STEPS},
    {"zero", STEPS},
    {"zero-u", STEPS},
    {"anvil", STEPS},
    {"operator", STEPS | INTO},
    {"instrument", STEPS | INTO},
    {"probe", STEPS | INTO},
    {"temperature", STEPS | INTO},
    {"date", STEPS | CHECK | INTO},
    {"nominal", STEPS | SOUND},
    {"velocity-range", STEPS | CHECK},
    {"reference", CHECK},
    {"log", CHECK},
    {"artificial", SOUND},
};

static const char *call_names(unsigned calls)
{
    switch (calls & (STEPS | CHECK | SOUND)) {
    case STEPS:
        return "--steps";
    case CHECK:
        return "--check";
    case SOUND:
        return "--sound";
    case STEPS | CHECK:
        return "--steps or --check";
    default:
        return "--steps or --sound";
    }
}

struct fitting {
    unsigned call;
    bool into;
    struct messages *messages;
};

static bool misfits(void *context, const struct option *option, void *member)
{
    const struct fitting *f = context;
    const bool *set = member; /* every kind of value begins with its bool */
    for (size_t i = 0; *set && i < sizeof some / sizeof some[0]; i++) {
        if (strcmp(option->name, some[i].name) != 0)
            continue;
        if ((some[i].calls & f->call) == 0) {
            message_trouble(f->messages, NULL,
                            "--%s goes with %s, it does nothing with %s; leave it out",
                            option->name, call_names(some[i].calls), call_names(f->call));
            return true;
        }
        if (f->call == STEPS && (some[i].calls & INTO) != 0 && !f->into) {
            message_trouble(f->messages, NULL,
                            "--%s goes into a procedure file; give --into FILE as well, or "
                            "leave it out",
                            option->name);
            return true;
        }
    }
    return false;
}

static bool one_call(const struct calibrate_values *v, struct messages *messages)
{
    int calls = v->steps.set + v->check.set + (v->sound.count > 0);
    if (calls == 1)
        return true;
    if (calls > 1)
        message_trouble(
            messages, NULL,
            "--steps, --check and --sound are calls of their own; do one at a time");
    else if (v->artificial.count > 0)
        message_trouble(messages, NULL,
                        "--artificial needs traces of the sound wall as well: --sound FILE");
    else
        message_trouble(messages, NULL,
                        "calibrate needs the table of the steps: --steps steps.csv, with "
                        "file,channel,thickness_mm,thickness_u_mm; or --check or --sound FILE");
    return false;
}

bool calibrate_options_fit(const struct option *table, struct calibrate_values *v,
                           struct messages *messages)
{
    if (!one_call(v, messages))
        return false;
    struct fitting f = {
        .call = v->steps.set   ? STEPS
                : v->check.set ? CHECK
                               : SOUND,
        .into = v->into.set,
        .messages = messages,
    };
    if (options_walk(table, v, misfits, &f) != NULL)
        return false;
    if (!v->zero_u_us.set || (v->zero.set && strcmp(v->zero.value, "free") != 0))
        return true;
    message_trouble(
        messages, NULL,
        "--zero-u is that of a zero that is given; give --zero US as well, or leave "
        "it out");
    return false;
}
