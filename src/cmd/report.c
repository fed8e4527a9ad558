/* report - one page of a scan, to hand over */
#include <config.h>

#include "report.h"

#include <stdlib.h>
#include <string.h>

#include <plyecho/date.h>

#include "file.h"
#include "memory.h"
#include "verb.h"

#define TEXT_OPTION(option_name, member, what, text)                                           \
    {                                                                                          \
        .name = option_name, .kind = OPTION_TEXT, .argument = what,                            \
        .offset = offsetof(struct report_values, member), .help = text                         \
    }

static const struct option options[] = {
    {.name = "output",
     .letter = 'o',
     .kind = OPTION_TEXT,
     .argument = "FILE",
     .offset = offsetof(struct report_values, output),
     .help = "write the page to FILE; without it, or with -, to standard output"},
    {.name = "photo",
     .kind = OPTION_TEXTS,
     .argument = "FILE",
     .offset = offsetof(struct report_values, photos),
     .help = "put this photograph (JPEG or PNG) into the page, as it is"},
    TEXT_OPTION("notes", notes, "FILE",
                "visual findings: plain text in UTF-8, paragraphs parted by empty lines"),
    TEXT_OPTION("checks", checks, "FILE",
                "log of checks of the set-up, as calibrate --check writes it"),
    TEXT_OPTION("part", part, "NAME", "which part it is, in place of [part] name"),
    TEXT_OPTION("date", date, "DATE",
                "when it was read, as 2026-11-28 or 2026-11-28T14:30; this and what follows in "
                "place of the procedure's [inspection]"),
    TEXT_OPTION("operator", operator, "NAME", "who read it"),
    TEXT_OPTION("operator-certificate", operator_certificate, "TEXT", "their certificate"),
    TEXT_OPTION("operator-level", operator_level, "TEXT", "level of the certificate"),
    TEXT_OPTION("place", place, "TEXT", "where it was done"),
    TEXT_OPTION("surface", surface, "TEXT",
                "state of the surface: cleaned, paint left on or taken off"),
    TEXT_OPTION("reason", reason, "TEXT", "why it was read, what the part went through"),
    {.name = NULL},
};

static bool check(const struct invocation *invocation, const struct report_values *v)
{
    struct messages *messages = invocation->messages;
    if (invocation->file_count != 1)
        message_trouble(messages, NULL,
                        "give one folder that scan wrote, and -o FILE for the page");
    else if (v->date.set && !plyecho_date_is(v->date.value, strlen(v->date.value)))
        message_trouble(messages, NULL, "--date \"%.40s\": %s", v->date.value,
                        PLYECHO_DATE_RULE);
    else
        return true;
    return false;
}

static bool write_page(const struct report *report, const char *name, struct messages *messages)
{
    if (strcmp(name, "-") != 0 && report_is_input(report, name)) {
        message_trouble(messages, name,
                        "is an input, which is never replaced; write to another name");
        return false;
    }
    char *text = NULL;
    size_t size = 0;
    struct plyecho_error err;
    FILE *out = memory_stream(&text, &size);
    report_page(report, out);
    memory_stream_end(out);
    bool good = file_write(name, text, size, &err) == PLYECHO_OK;
    if (!good)
        message_error(messages, name, &err);
    free(text);
    return good;
}

static enum status run(const struct invocation *invocation)
{
    const struct report_values *v = invocation->values;
    if (!check(invocation, v))
        return STATUS_TROUBLE;
    struct report report;
    bool good = report_open(&report, invocation->files[0], v, invocation->messages);
    if (good)
        write_page(&report, v->output.set ? v->output.value : "-", invocation->messages);
    report_close(&report);
    return verb_status(invocation->messages, false);
}

const struct verb verb_report = {
    .name = "report",
    .group = VERB_SHOW,
    .help = "one page of a scan, to hand over: result, maps, indications, how it was done",
    .operands = "DIR",
    .description =
        "Takes the folder that scan wrote and makes one HTML page of it that needs nothing else: no "
        "network, no other file. The result comes first, in words for the part's owner: whether "
        "the part passed, where its worst spot is, how sure that is. Then the limits, the maps, "
        "each indication with its trace and evidence, what was tested and how, uncertainty, what "
        "the method does not see, notes and photographs, and what it takes to do it again. It "
        "reads on a phone and by a screen reader, and prints to A4 or Letter.\n"
        "The page says what the scan said of the part; where a check of the set-up failed, it says that "
        "the readings are in doubt. Scan with --pictures svg or both for "
        "maps that stay sharp on paper. A photograph goes in with all that the camera wrote into "
        "it, such as the place where it was taken.",
    .example = "plyecho report tube3 -o tube3.html --photo worst.jpg --notes seen.txt",
    .options = options,
    .values_size = sizeof(struct report_values),
    .run = run,
};
