/* made_results.h - a scan's folder made by hand: tables of a few rows, and a summary that knows them
 */
#ifndef PLYECHO_TESTS_MADE_RESULTS_H
#define PLYECHO_TESTS_MADE_RESULTS_H

#include "results.h"

/* Columns that are read, in an order of our own: they are found by their names. */
#define MADE_HEADING                                                                           \
    "verdict,flagged,angle_deg,axial_mm,thickness_mm,thickness_u_mm,indication_depth_mm,"      \
    "indication_depth_u_mm,indication_db,evidence_ratio,reason,balance_db,highest_inner,"      \
    "shots,second_verdict,second_flagged,context,second_thickness_mm,second_thickness_u_mm,"   \
    "second_depth_mm,nominal_mm,indication,trace\n"

extern const char made_sound_row[], made_gap_row[], made_unread_row[];

#define MADE_FOUND                                                                             \
    "kind,number,declared,places,from_deg,to_deg,extent_deg,extent_arc_mm,extent_arc_u_mm,"    \
    "from_axial_mm,to_axial_mm,extent_axial_mm,extent_axial_u_mm,area_mm2,least_depth_mm,"     \
    "most_depth_mm,worst_db,worst_angle_deg,worst_axial_mm,least_thickness_mm,next_mm,"        \
    "within_beam,open_ended,seam_like\n"

extern const char made_gap_found[];

/* A file of these bytes. */
void made_file(const char *name, const char *text, size_t size);

/* Four texts as one, which holds until the next call. */
const char *made_text(const char *a, const char *b, const char *c, const char *d);

/* Members part_verdict, limits and counts of a summary, for tables that are made of the rows above. They hold until
 * the next call. */
const char *made_words(const char *verdict, const char *limits, const char *readings,
                       const char *found);

/* The folder "tube" with these tables and what is told of them. more: further members, each with a comma ahead. */
void made_folder_told(int format, const char *readings, const char *found, const char *words,
                      const char *more);

/* With a summary that knows them; and that of a sound place, one over a gap and an unread one. */
void made_folder(int format, const char *readings, const char *found, const char *more);
void made_good_folder(const char *more);

/* It must read, or be refused with words that hold these. */
void made_read(struct results *results, const char *name);
void made_refused(const char *name, enum plyecho_code code, const char *says);

#endif
