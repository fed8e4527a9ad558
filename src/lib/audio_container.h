/* audio_container.h - what the header of an audio container promises, against what is there
 *
 * libsndfile reads a file that was cut short without a word. So the chunk sizes are compared
 * with the bytes here, before it is asked.
 */
#ifndef PLYECHO_LIB_AUDIO_CONTAINER_H
#define PLYECHO_LIB_AUDIO_CONTAINER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pe_audio_container {
    const char *name;        /* "WAV" … */
    bool has_data;           /* a chunk of samples was found */
    uint64_t data_promised;  /* bytes of samples by the header */
    uint64_t data_present;   /* bytes of samples there, at most data_promised… */
    bool more_than_promised; /* …except where what follows is no chunk but more of the same */
    uint64_t missing;        /* bytes missing of any chunk */
    unsigned channels;       /* 0 where the header keeps them elsewhere */
};

/* False where the bytes are none of the containers known here. */
bool pe_audio_container_look(const unsigned char *bytes, size_t size,
                             struct pe_audio_container *container);

#endif
