#include <config.h>

#include "procedure_changes.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "memory.h"
#include "procedure_file.h"

static char *allocated(const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    int size = vsnprintf(NULL, 0, format, again);
    va_end(again);
    char *text = memory_take((size_t)size + 1, 1);
    vsnprintf(text, (size_t)size + 1, format, arguments);
    return text;
}

static void add(struct procedure_changes *changes, const char *section, const char *key,
                char *value)
{
    if (changes->count == changes->room) {
        changes->room = 2 * changes->room + 16;
        changes->items = memory_resize(changes->items, changes->room, sizeof *changes->items);
    }
    changes->items[changes->count++] =
        (struct procedure_changes_item){section, memory_text(key), value};
}

void procedure_changes_add(struct procedure_changes *changes, const char *section,
                           const char *key, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(changes, section, key, allocated(format, arguments));
    va_end(arguments);
}

void procedure_changes_drop(struct procedure_changes *changes, const char *section,
                            const char *key)
{
    add(changes, section, key, NULL);
}

void procedure_changes_add_text(struct procedure_changes *changes, const char *section,
                                const char *key, const char *text)
{
    if (text == NULL) {
        procedure_changes_drop(changes, section, key);
        return;
    }
    size_t room = strlen(text) + 3;
    char *value = memory_take(room, 1);
    if (plyecho_procedure_quote(text, value, room)) {
        add(changes, section, key, value);
    } else {
        free(value);
        changes->refused = text;
    }
}

static bool write_list(const struct procedure_changes *changes, const char *path,
                       struct messages *messages)
{
    struct plyecho_procedure_change *list = memory_take(changes->count + 1, sizeof *list);
    for (size_t i = 0; i < changes->count; i++)
        list[i] = (struct plyecho_procedure_change){
            changes->items[i].section, changes->items[i].key, changes->items[i].value};
    bool good = procedure_file_change(path, list, changes->count, messages);
    free(list);
    return good;
}

bool procedure_changes_write(struct procedure_changes *changes, const char *path,
                             struct messages *messages)
{
    bool good = changes->refused == NULL && write_list(changes, path, messages);
    if (changes->refused != NULL)
        message_trouble(messages, path,
                        "nothing written: no line of it can hold the text '%s'; leave out "
                        "line ends, and quotes ahead of ; or #",
                        changes->refused);
    for (size_t i = 0; i < changes->count; i++) {
        free(changes->items[i].key);
        free(changes->items[i].value);
    }
    free(changes->items);
    *changes = (struct procedure_changes){.count = 0};
    return good;
}
