#include <config.h>

#include "procedure_file.h"

#include <stdlib.h>
#include <string.h>

#include <plyecho/tracefile.h>

#include "file.h"
#include "memory.h"

/* What does not read may be a trace given in the wrong place: of its bytes nobody wants to hear. */
static enum plyecho_code explain(const struct file_bytes *bytes, enum plyecho_code code,
                                 struct plyecho_error *err)
{
    const struct plyecho_read_options as_it_is = {.sample_rate_hz = 0.0};
    struct plyecho_traces traces = {0};
    if (code != PLYECHO_BAD_FILE || plyecho_tracefile_read(bytes->data, bytes->size, &as_it_is,
                                                           &traces, NULL) != PLYECHO_OK)
        return code;
    plyecho_traces_clear(&traces);
    return plyecho_fail(err, code,
                        "is a trace, no procedure file; name the procedure here, and the trace "
                        "as an input");
}

bool procedure_file_read(const char *path, struct plyecho_procedure *procedure,
                         struct messages *messages)
{
    struct file_bytes bytes = {0};
    struct plyecho_error err;
    *procedure = (struct plyecho_procedure){.digest = ""};
    enum plyecho_code code = file_read(path, &bytes, &err);
    if (code == PLYECHO_OK)
        code = explain(&bytes, plyecho_procedure_read(procedure, bytes.data, bytes.size, &err),
                       &err);
    if (code != PLYECHO_OK)
        message_error(messages, path, &err);
    free(bytes.data);
    return code == PLYECHO_OK;
}

bool procedure_file_read_through(const char *path, struct plyecho_procedure *procedure,
                                 struct messages *messages)
{
    enum { MOST = 100 };
    struct file_bytes bytes = {0};
    struct plyecho_error *faults = memory_take(MOST, sizeof *faults);
    size_t count = 1;
    *procedure = (struct plyecho_procedure){.digest = ""};
    if (file_read(path, &bytes, faults) == PLYECHO_OK) {
        count = plyecho_procedure_faults(procedure, bytes.data, bytes.size, faults, MOST);
        if (count > 0 && explain(&bytes, faults[0].code, &faults[0]) && faults[0].line == 0)
            count = 1; /* what is another kind of file has one fault */
    }
    for (size_t i = 0; i < count; i++)
        message_error(messages, path, &faults[i]);
    free(faults);
    free(bytes.data);
    return count == 0;
}

/* What is there now; nothing where there is no file yet. A pipe could not be read and then
 * written. */
static enum plyecho_code read_to_change(const char *path, struct file_bytes *bytes,
                                        struct plyecho_error *err)
{
    struct file_identity identity;
    if (strcmp(path, "-") == 0 || file_is_special(path))
        return plyecho_fail(err, PLYECHO_IO,
                            "values go into a file that is kept; give a file's name");
    if (!file_identify(path, &identity))
        return PLYECHO_OK; /* where its folder is missing, writing says so */
    return file_read(path, bytes, err);
}

bool procedure_file_change(const char *path, const struct plyecho_procedure_change *changes,
                           size_t count, struct messages *messages)
{
    struct file_bytes bytes = {0};
    char *text = NULL;
    size_t size = 0;
    struct plyecho_error err;
    enum plyecho_code code = read_to_change(path, &bytes, &err);
    if (code == PLYECHO_OK)
        code = explain(
            &bytes,
            plyecho_procedure_edit(bytes.data, bytes.size, changes, count, &text, &size, &err),
            &err);
    if (code == PLYECHO_OK)
        code = file_write(path, text, size, &err);
    if (code != PLYECHO_OK)
        message_error(messages, path, &err);
    free(text);
    free(bytes.data);
    return code == PLYECHO_OK;
}

char *procedure_file_beside(const char *procedure_path, const char *name)
{
    const char *slash = strrchr(procedure_path, '/');
    if (name[0] == '/' || slash == NULL)
        return memory_text(name);
    size_t folder = (size_t)(slash - procedure_path) + 1;
    char *path = memory_take(folder + strlen(name) + 1, 1);
    memcpy(path, procedure_path, folder);
    strcpy(path + folder, name);
    return path;
}
