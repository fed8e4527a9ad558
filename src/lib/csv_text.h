/* csv_text.h - lines, cells and words of a text that is not ended by a zero byte
 */
#ifndef PLYECHO_LIB_CSV_TEXT_H
#define PLYECHO_LIB_CSV_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include "span.h"

/* A walk over the lines of a text, which end in LF, CR LF, or CR where the text has no LF. */
struct pe_csv_lines {
    const char *next, *end;
    char newline;
    long number; /* of the line given last, from 1 */
};

struct pe_csv_lines pe_csv_lines_of(const char *text, size_t size);

/* The next line without its end; false at the end of the text. */
bool pe_csv_next_line(struct pe_csv_lines *lines, struct pe_span *line);

bool pe_csv_is_blank(char c);
struct pe_span pe_csv_trim(struct pe_span span);

/* Split a line at a delimiter; ' ' is any run of blanks, and keeps "time [us]" together. Blanks
 * and quotes round a cell are taken off, a delimiter in quotes does not split. Returns the
 * number of cells, of which at most `room` are stored. */
size_t pe_csv_split(struct pe_span line, char delimiter, struct pe_span *cells, size_t room);

/* Words of a heading in lower case: letters and digits, or one of % and ". A micro sign in any
 * encoding becomes u. */
enum { PE_CSV_MOST_WORDS = 12, PE_CSV_WORD_ROOM = 20 };

struct pe_csv_words {
    char word[PE_CSV_MOST_WORDS][PE_CSV_WORD_ROOM];
    bool bracketed[PE_CSV_MOST_WORDS];
    size_t count;
};

void pe_csv_words_of(struct pe_span span, struct pe_csv_words *words);

/* One of the words is in the list, which ends with NULL. */
bool pe_csv_any_word(const struct pe_csv_words *words, const char *const *list);

#endif
