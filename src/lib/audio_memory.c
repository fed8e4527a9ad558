#include "audio_memory.h"

#include <stdint.h>
#include <string.h>

#include "alloc.h"

static sf_count_t get_length(void *data)
{
    const struct pe_audio_memory *memory = data;
    return (sf_count_t)memory->size;
}

static sf_count_t tell(void *data)
{
    const struct pe_audio_memory *memory = data;
    return (sf_count_t)memory->position;
}

static sf_count_t seek(sf_count_t offset, int whence, void *data)
{
    struct pe_audio_memory *memory = data;
    sf_count_t base = 0;
    if (whence == SEEK_CUR)
        base = (sf_count_t)memory->position;
    else if (whence == SEEK_END)
        base = (sf_count_t)memory->size;
    if (offset < -base || offset > INT64_MAX / 2 - base)
        return -1;
    memory->position = (size_t)(base + offset);
    return base + offset;
}

static sf_count_t read_bytes(void *target, sf_count_t count, void *data)
{
    struct pe_audio_memory *memory = data;
    if (memory->input == NULL || count <= 0 || memory->position >= memory->size)
        return 0;
    size_t left = memory->size - memory->position;
    size_t taken = (uint64_t)count < left ? (size_t)count : left;
    memcpy(target, memory->input + memory->position, taken);
    memory->position += taken;
    return (sf_count_t)taken;
}

static bool make_room(struct pe_audio_memory *memory, size_t end)
{
    if (end <= memory->room)
        return true;
    size_t room = memory->room > 0 ? memory->room : 4096;
    while (room < end)
        room = room > SIZE_MAX / 2 ? end : 2 * room;
    unsigned char *output = pe_resize(memory->output, room, 1);
    if (output == NULL)
        return false;
    memory->output = output;
    memory->room = room;
    return true;
}

static sf_count_t write_bytes(const void *source, sf_count_t count, void *data)
{
    struct pe_audio_memory *memory = data;
    if (memory->input != NULL || count <= 0)
        return 0;
    size_t end = memory->position + (size_t)count;
    if (end < memory->position || !make_room(memory, end)) {
        memory->no_memory = true;
        return 0;
    }
    if (memory->position > memory->size) /* sought beyond the end */
        memset(memory->output + memory->size, 0, memory->position - memory->size);
    memcpy(memory->output + memory->position, source, (size_t)count);
    memory->position = end;
    if (end > memory->size)
        memory->size = end;
    return count;
}

SF_VIRTUAL_IO pe_audio_memory_io(void)
{
    return (SF_VIRTUAL_IO){.get_filelen = get_length,
                           .seek = seek,
                           .read = read_bytes,
                           .write = write_bytes,
                           .tell = tell};
}
