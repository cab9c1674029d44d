/* Turns lines printed for a terminal back into headings, lists and paragraphs.  The printer broke
 * a line only when the next word did not fit into 80 columns; so a line that had room for the
 * next line's first word ended a paragraph, and any other is joined with the next.  An item stands
 * two blanks in and goes on at four, where what stands under an item begins, to go on at six. */
#include "plots/html.h"

#include "plots/quote.h"

#include <string.h>

#define COLUMNS 80
#define ITEM_BLANKS 2
#define UNDER_BLANKS 4
#define UNDER_MORE_BLANKS 6
#define COLUMN_GAP "   "

enum kind { NOTHING, HEADING, ITEM, UNDER, UNDER_MORE, ROW, SENTENCE };

static size_t blanks_of(const char *line)
{
    return strspn(line, " ");
}

static enum kind kind_of(const char *line)
{
    size_t blanks = blanks_of(line);
    if (line[blanks] == '\0')
        return NOTHING;
    if (line[0] == STV_HTML_HEADING_MARK)
        return HEADING;
    if (strstr(line + blanks, COLUMN_GAP) != NULL)
        return ROW;
    return blanks == ITEM_BLANKS         ? ITEM
           : blanks == UNDER_BLANKS      ? UNDER
           : blanks == UNDER_MORE_BLANKS ? UNDER_MORE
                                         : SENTENCE;
}

/* Columns of the first n bytes: one for each code point. */
static size_t columns_of(const char *text, size_t n)
{
    size_t columns = 0;
    for (size_t i = 0; i < n; i++)
        columns += ((unsigned char)text[i] & 0xC0) != 0x80 &&
                   strncmp(text + i, STV_HTML_DEGREE_MARK, strlen(STV_HTML_DEGREE_MARK)) != 0;
    return columns;
}

/* True when the printer had to break between these lines. */
static bool was_full(const char *line, const char *next)
{
    const char *first = next + blanks_of(next);
    size_t n = strcspn(first, " ");
    if (first[n] == ' ' && first[n + 1] == '%') /* a number keeps its sign */
        n += 1 + strcspn(first + n + 1, " ");
    return columns_of(line, strlen(line)) + 1 + columns_of(first, n) > COLUMNS;
}

/* True when a line goes on with the one before it, in an element that began as `first`. */
static bool is_more(enum kind first, const char *line_before, const char *line)
{
    enum kind kind = kind_of(line);
    if (first == ROW || first == UNDER)
        return kind == (first == ROW ? ROW : UNDER_MORE);
    return kind == (first == ITEM ? UNDER : SENTENCE) && (first == ITEM || first == SENTENCE) &&
           was_full(line_before, line);
}

static bool is_item(enum kind kind)
{
    return kind == ITEM || kind == UNDER || kind == UNDER_MORE;
}

static const char *tag_of(enum kind kind)
{
    return kind == HEADING ? "h3" : kind == ROW ? "pre" : is_item(kind) ? "li" : "p";
}

/* The end of the element that starts at line i. */
static size_t end_of(const char *const *lines, size_t i, size_t n)
{
    enum kind first = kind_of(lines[i]);
    size_t end = i + 1;
    while (end < n && is_more(first, lines[end - 1], lines[end]))
        end++;
    return end;
}

/* Marks of degrees become their sign. */
static void add_line(struct stv_text *page, const char *line)
{
    struct stv_text signs = {0};
    for (const char *mark; (mark = strstr(line, STV_HTML_DEGREE_MARK "C")) != NULL;
         line = mark + strlen(STV_HTML_DEGREE_MARK)) {
        stv_text_add_bytes(&signs, line, (size_t)(mark - line));
        stv_text_add(&signs, "°");
    }
    stv_text_add(&signs, line);
    stv_quote_html(page, stv_text_string(&signs), STV_HTML_TEXT_CHARS);
    page->has_failed = page->has_failed || signs.has_failed;
    stv_text_free(&signs);
}

static void add_lines(struct stv_text *page, const char *const *lines, size_t n, bool is_row)
{
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            stv_text_add(page, is_row ? "\n" : " ");
        size_t skipped = lines[i][0] == STV_HTML_HEADING_MARK ? 1
                         : is_row                             ? 0
                                                              : blanks_of(lines[i]);
        add_line(page, lines[i] + skipped);
    }
}

void stv_html_lines(struct stv_text *page, const char *const *lines, size_t n)
{
    bool is_list = false;
    for (size_t i = 0; i < n;) {
        enum kind kind = kind_of(lines[i]);
        size_t end = end_of(lines, i, n);
        if (is_item(kind) != is_list)
            stv_text_add(page, is_list ? "</ul>\n" : "<ul>\n");
        is_list = is_item(kind);
        if (kind != NOTHING) {
            stv_text_format(page, "<%s%s>", tag_of(kind), kind == UNDER ? " class=\"under\"" : "");
            add_lines(page, lines + i, end - i, kind == ROW);
            stv_text_format(page, "</%s>\n", tag_of(kind));
        }
        i = end;
    }
    if (is_list)
        stv_text_add(page, "</ul>\n");
}
