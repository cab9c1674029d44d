/* What spreadsheets and editors do to what a person typed, told from the cell that is left. */
#ifndef STV_INGEST_TYPED_DAMAGE_H
#define STV_INGEST_TYPED_DAMAGE_H

#include <stdbool.h>
#include <stddef.h>

/* Each returns true when the text shows such damage; `why` (size bytes) then says what was done to
 * it and how to undo it, starting in lower case, without the text found.  Texts are trimmed. */

/* Marks in any text: #REF! and its like, ########, a formula, the apostrophe that keeps text, TRUE
 * and FALSE. */
bool stv_damage_of_text(const char *text, char *why, size_t size);

/* ... and where no punctuation is meant: curly quotation marks. */
bool stv_damage_of_cell(const char *text, char *why, size_t size);

/* ... and of a cask's name: a date made of 3-12, an exponent made of 12E3, a .0 at the end, a
 * dash that is none. */
bool stv_damage_of_id(const char *text, char *why, size_t size);

/* ... and of a number with its unit, which has_decimal_comma writes with a comma: a date made of
 * 3.5, marks between thousands. */
bool stv_damage_of_number(const char *text, bool has_decimal_comma, char *why, size_t size);

/* What a spreadsheet or an editor did when one of two names was made of the other, as a sentence;
 * NULL when nothing known makes the one of the other: 007 and 7, 12E3 and 12000, 3-12 and 12-Mar,
 * A-26 with two kinds of dash. */
const char *stv_damage_between(const char *name, const char *other);

/* What was changed by stv_damage_clean. */
struct stv_cleaned {
    bool had_blank; /* a blank that was none, or a sign without width */
    bool had_minus; /* a typographic minus or a dash */
};

/* Blanks that are not plain become plain, what has no width goes and the ends are trimmed; a dash
 * alone becomes "-", which says nothing, and with is_number a dash before a figure a minus.  In
 * place. */
struct stv_cleaned stv_damage_clean(char *text, bool is_number);

#endif
