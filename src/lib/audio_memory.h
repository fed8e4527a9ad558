/* audio_memory.h - a file in memory for libsndfile, to read from or to write to
 */
#ifndef PLYECHO_LIB_AUDIO_MEMORY_H
#define PLYECHO_LIB_AUDIO_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

#include <sndfile.h>

struct pe_audio_memory {
    const unsigned char *input; /* to read from; NULL where `output` is written */
    unsigned char *output;      /* grows as needed; the caller frees it */
    size_t size;
    size_t room;
    size_t position;
    bool no_memory; /* a write had to be refused */
};

/* The callbacks; pass the struct above as user data. */
SF_VIRTUAL_IO pe_audio_memory_io(void);

#endif
