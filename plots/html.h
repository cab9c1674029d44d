/* The frame of the report page and its few building blocks. */
#ifndef STV_PLOTS_HTML_H
#define STV_PLOTS_HTML_H

#include "plots/chart.h"
#include "plots/text.h"

#include <stdbool.h>

/* Stands near the top of every page of ours: what may be replaced by a new one. */
#define STV_HTML_MARK "<meta name=\"generator\" content=\"stavecast\"/>"

/* Opens the page: head with style and a policy that forbids every request, then <body>.
 * title is quoted here. */
void stv_html_begin(struct stv_text *page, const char *title);

/* Closes the page: adds the script that sorts tables and chooses a cask. */
void stv_html_end(struct stv_text *page);

/* The script as it stands in the page, and its sha256 in base64 as the policy names it. */
const char *stv_html_script(void);
const char *stv_html_script_hash(void);

/* Opens a section with a heading of the second level; closes it. */
void stv_html_section(struct stv_text *page, const char *id, const char *heading);
void stv_html_section_end(struct stv_text *page);

/* Adds a heading of the third level, or a paragraph; the text is quoted here.  css_class may be
 * NULL. */
void stv_html_heading(struct stv_text *page, const char *text);
void stv_html_paragraph(struct stv_text *page, const char *css_class, const char *text);

/* Longest text of one paragraph or text alternative, in characters. */
#define STV_HTML_TEXT_CHARS 6000

#define STV_HTML_HEADING_MARK '\x01'
/* Before the C of a temperature: a degree sign is written there. */
#define STV_HTML_DEGREE_MARK "\xE2\x81\xA0"
/* Adds lines as they are printed on a terminal of 80 columns (html_lines.c): a line that
 * begins with STV_HTML_HEADING_MARK is a small heading; two blanks start an item of a list and four
 * go on with it; three blanks or more inside a line make it a row of columns, kept as it is; all
 * else is paragraphs, joined again where a line was full. */
void stv_html_lines(struct stv_text *page, const char *const *lines, size_t n);

/* Adds a chart as a picture inside the page with its text alternative, or, when it has no
 * picture, its words and its data as a table. */
void stv_html_figure(struct stv_text *page, const struct stv_chart *chart);

/* Adds bytes in base64 (RFC 4648). */
void stv_html_base64(struct stv_text *out, const char *bytes, size_t n);

#endif
