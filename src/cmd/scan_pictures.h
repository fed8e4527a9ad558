/* scan_pictures.h - the pictures of a scan
 */
#ifndef PLYECHO_CMD_SCAN_PICTURES_H
#define PLYECHO_CMD_SCAN_PICTURES_H

#include "options.h"
#include "scan_folder.h"
#include "scan_results.h"
#include "scan_run.h"

/* Options: which format, and where the B-scan is taken. Results do not depend on them. */
struct scan_picture_values {
    struct option_word format;
    struct option_number row;    /* mm along */
    struct option_number column; /* degrees or mm across */
};

extern const struct option scan_picture_options[];

enum { SCAN_PICTURES_MOST = 10, SCAN_PICTURE_NAME_ROOM = 32 };

/* Names of what was written. */
struct scan_pictures {
    size_t count;
    char name[SCAN_PICTURES_MOST][SCAN_PICTURE_NAME_ROOM];
};

/* False where one failed, which has been said. The set-up reads the traces of the B-scan again. */
bool scan_pictures_write(const struct scan_results *results, const struct scan_run *run,
                         struct setup *setup, const struct scan_picture_values *values,
                         const struct scan_folder *folder, struct messages *messages,
                         struct scan_pictures *pictures);

#endif
