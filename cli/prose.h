/* Sentences for people, on top of the growing text of plots/text.h: wrapped at 80 columns, names
 * from a book made harmless to a terminal, headings marked. */
#ifndef STV_CLI_PROSE_H
#define STV_CLI_PROSE_H

#include "model/status.h"
#include "plots/text.h"

#include <stddef.h>

#define STV_PROSE_COLUMNS 80

/* First byte of a heading line; the output turns it into bold or drops it. */
#define STV_PROSE_HEADING_MARK '\x01'
/* First byte of a line that is drawn for eyes: the output shows it on a terminal and nowhere else.
 */
#define STV_PROSE_DRAWING_MARK '\x02'

/* Stands before the C of a temperature on texts that a page shows too: a page has a degree sign
 * there, all other output nothing.  U+2060, which takes no room where it were left. */
#define STV_PROSE_DEGREE "\xE2\x81\xA0"

/* Adds printf-formatted text.  Control characters other than newline and tab become '?', so that
 * a name typed into a book cannot steer the terminal. */
__attribute__((format(printf, 2, 3))) void stv_prose_add(struct stv_text *text, const char *format,
                                                         ...);

/* A heading on its own line, without a full stop. */
__attribute__((format(printf, 2, 3))) void stv_prose_heading(struct stv_text *text,
                                                             const char *format, ...);

/* Starts a line that is drawn; end it with a newline. */
void stv_prose_drawing(struct stv_text *text);

/* A paragraph wrapped at 80 columns, ended with a newline.  The first line starts with indent
 * blanks, the following ones with two more than that when indent is not zero, else with none. */
__attribute__((format(printf, 3, 4))) void stv_prose_wrap(struct stv_text *text, size_t indent,
                                                          const char *format, ...);

/* A line without the mark of a heading. */
const char *stv_prose_unmarked(const char *line);

/* Adds n bytes of a text without the marks of degrees. */
void stv_prose_plain(struct stv_text *text, const char *utf8, size_t n_bytes);

/* Columns a UTF-8 text takes, one for each code point of its first n_bytes, marks of degrees none.
 */
size_t stv_prose_columns(const char *utf8, size_t n_bytes);

/* Adds a text cut or filled with blanks to n_columns, for a cell of a printed table. */
void stv_prose_cell(struct stv_text *text, const char *utf8, size_t n_columns);
/* The same of a name, which is never cut: two could look alike.  A longer one has a line of its
 * own, and the row goes on below it; indent: columns that stand before the cell on both lines. */
void stv_prose_name_cell(struct stv_text *text, const char *utf8, size_t n_columns, size_t indent);

/* Cuts a text into its lines without their newline, headings with their mark; lines that are drawn
 * are left out.
 * text        read only
 * out_copy    the bytes that the lines point into; caller frees with free()
 * out_lines   out_n pointers; caller frees with free()
 * Errors: STV_E_MEMORY, then both are NULL. */
STV_MUST_CHECK enum stv_status stv_prose_lines(const struct stv_text *text, char **out_copy,
                                               const char ***out_lines, size_t *out_n);

#endif
