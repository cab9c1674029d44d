/* The one place where text that somebody typed is made fit for a gnuplot script, a page or a
 * table.  Every such text goes through here, and only here.
 *
 * All functions share the first step: bytes that are not UTF-8 and the code points that XML
 * refuses become U+FFFD; control characters and line ends become a space; marks that turn the
 * direction of writing are left out; more than max_chars characters are cut and "..." is put in
 * their place as one character.  A NULL text is read as "".  The added text is always valid
 * UTF-8 without control characters.
 * Memory: only what the growing text takes. */
#ifndef STV_PLOTS_QUOTE_H
#define STV_PLOTS_QUOTE_H

#include "plots/text.h"

#include <stddef.h>

#define STV_QUOTE_MAX_CHARS 300  /* for text of a page or a table */
#define STV_QUOTE_LABEL_CHARS 60 /* for titles and captions of a chart */

/* Adds the text cleaned and cut, without any quoting: for a further step of our own. */
void stv_quote_clean(struct stv_text *out, const char *text, size_t max_chars);
/* The same of an id, cut in the middle: ids of a house mostly begin alike. */
void stv_quote_clean_id(struct stv_text *out, const char *id, size_t max_chars);

/* Adds 'text' as a gnuplot string, the quotes included.  A single quote becomes the typographic
 * apostrophe U+2019, because gnuplot 5.4 misreads some doubled quotes; a backslash becomes a
 * slash, for at a line's end it would join lines; "]]>" loses its last character to U+203A, since
 * gnuplot writes it unescaped into SVG.  Only for a terminal set `noenhanced`. */
void stv_quote_gnuplot(struct stv_text *out, const char *text, size_t max_chars);

/* The same for an explicit tic label, which gnuplot reads as a number format: % is doubled. */
void stv_quote_gnuplot_tic(struct stv_text *out, const char *text, size_t max_chars);

/* Adds the text fit for HTML or XML, between tags or inside a quoted attribute. */
void stv_quote_html(struct stv_text *out, const char *text, size_t max_chars);

/* Adds a quoted CSV cell.  A text that a spreadsheet would take for a formula (first character
 * = + - @ or its full-width form, after any spaces) gets an apostrophe in front. */
void stv_quote_csv(struct stv_text *out, const char *text, size_t max_chars);

#endif
