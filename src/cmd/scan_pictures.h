/* scan_pictures.h - the pictures of a scan
 */
#ifndef PLYECHO_CMD_SCAN_PICTURES_H
#define PLYECHO_CMD_SCAN_PICTURES_H

#include <plyecho/digest.h>

#include "map_picture.h"
#include "options.h"
#include "plot_script.h"
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

/* The format alone. */
extern const struct option scan_picture_format_options[];

/* Indications whose A-scan is drawn; of more the most important ones. */
enum { SCAN_A_SCANS_MOST = 24 };

enum { SCAN_PICTURES_MOST = 2 * (5 + SCAN_A_SCANS_MOST), SCAN_PICTURE_NAME_ROOM = 32 };

/* What was written. */
struct scan_pictures {
    size_t count;
    char name[SCAN_PICTURES_MOST][SCAN_PICTURE_NAME_ROOM];
    char digest[SCAN_PICTURES_MOST][PLYECHO_DIGEST_ROOM];
};

/* The formats that there are, in the order in which they are written. */
enum { SCAN_PICTURE_TERMS = 2 };
extern const enum plot_term scan_picture_terms[SCAN_PICTURE_TERMS];

bool scan_pictures_want(const struct scan_picture_values *values, enum plot_term term);

/* Draw a script and write the picture into the folder as `name`, with the ending of its format. */
enum plyecho_code scan_pictures_put(struct scan_pictures *pictures, const char *name,
                                    enum plot_term term, const char *script, size_t script_size,
                                    const struct scan_folder *folder,
                                    struct plyecho_error *err);

/* Which way the procedure says that angles count. */
enum map_turn scan_pictures_turn(const struct plyecho_procedure *procedure);

/* The script of the histogram of places' walls, as histogram_script; their nominal where it is one, else walls less
 * nominal where the map has those, too. */
enum plyecho_code scan_pictures_histogram(const char *title, bool plain_readings,
                                          const struct plyecho_place_reading *readings,
                                          size_t places, struct plyecho_known least_m,
                                          const struct plot_view *view, char **text,
                                          size_t *size, struct plyecho_error *err);

/* False where one failed, which has been said. The set-up reads the traces of the B-scan again. */
bool scan_pictures_write(const struct scan_results *results, const struct scan_run *run,
                         struct setup *setup, const struct scan_picture_values *values,
                         const struct scan_folder *folder, struct messages *messages,
                         struct scan_pictures *pictures);

#endif
