/* Cleaning and quoting of text.  What can go wrong was tried out on gnuplot 5.4: a newline or a
 * lone quote inside a single-quoted string lets the rest of the text run as commands, back-ticks
 * run inside double quotes, and control characters, bad UTF-8 or "]]>" make the SVG malformed.
 * gnuplot's own escape, the doubled quote, is misread at the start of a string and twice in a
 * row, so no quote is left inside one at all.  One step cleans and cuts, and one short step per
 * target replaces what is special there.  Text made by the program itself needs none of this. */
#include "plots/quote.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#define REPLACEMENT "\xEF\xBF\xBD" /* U+FFFD */
#define ELLIPSIS "\xE2\x80\xA6"    /* U+2026 */

struct symbol {
    uint32_t code;
    size_t n_bytes; /* taken from the text */
    bool is_valid;
};

/* One character by Unicode 15, table 3-7 (well-formed UTF-8 byte sequences). */
static struct symbol read_symbol(const unsigned char *p)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    const struct symbol bad = {0, 1, false};
    if (p[0] < 0x80)
        return (struct symbol){p[0], 1, true};
    size_t n = p[0] >= 0xF0 ? 4 : p[0] >= 0xE0 ? 3 : 2;
    if (p[0] < 0xC2 || p[0] > 0xF4)
        return bad;
    uint32_t code = p[0] & (0x7FU >> n);
    for (size_t i = 1; i < n; i++) {
        if ((p[i] & 0xC0) != 0x80) /* also stops at the closing zero */
            return bad;
        code = (code << 6) | (p[i] & 0x3FU);
    }
    if (code < least[n] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        return bad;
    return (struct symbol){code, n, true};
}

static bool is_control(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code <= 0x9F) || code == 0x2028 || code == 0x2029;
}

/* Marks that turn the direction could show one thing and say another; the letters of
 * right-to-left scripts themselves stay. */
static bool is_direction_mark(uint32_t code)
{
    return code == 0x61C || code == 0x200E || code == 0x200F ||
           (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069) ||
           code == 0xFEFF;
}

/* U+FFFE and U+FFFF of every plane, and the block U+FDD0..FDEF, are no characters. */
static bool is_noncharacter(uint32_t code)
{
    return (code & 0xFFFE) == 0xFFFE || (code >= 0xFDD0 && code <= 0xFDEF);
}

void stv_quote_clean(struct stv_text *out, const char *text, size_t max_chars)
{
    const unsigned char *p = (const unsigned char *)(text == NULL ? "" : text);
    size_t n_chars = 0;
    while (*p != '\0') {
        struct symbol symbol = read_symbol(p);
        if (symbol.is_valid && is_direction_mark(symbol.code)) {
            p += symbol.n_bytes;
            continue;
        }
        if (++n_chars > max_chars) {
            stv_text_add(out, ELLIPSIS);
            return;
        }
        if (!symbol.is_valid || is_noncharacter(symbol.code))
            stv_text_add(out, REPLACEMENT);
        else if (is_control(symbol.code))
            stv_text_add(out, " ");
        else
            stv_text_add_bytes(out, (const char *)p, symbol.n_bytes);
        p += symbol.n_bytes;
    }
}

static bool begins_char(char byte)
{
    return ((unsigned char)byte & 0xC0u) != 0x80u;
}

/* Bytes of the first n characters of valid UTF-8. */
static size_t bytes_of_chars(const char *text, size_t n_chars)
{
    size_t at = 0;
    for (; text[at]; at++)
        if (begins_char(text[at]) && n_chars-- == 0)
            break;
    return at;
}

void stv_quote_clean_id(struct stv_text *out, const char *id, size_t max_chars)
{
    struct stv_text clean = {0};
    stv_quote_clean(&clean, id, STV_QUOTE_MAX_CHARS);
    const char *text = stv_text_string(&clean);
    size_t n_chars = 0, n_head = max_chars / 3;
    for (size_t i = 0; i < clean.n; i++)
        n_chars += begins_char(text[i]);
    if (n_chars <= max_chars) {
        stv_text_add(out, text);
    } else {
        stv_text_add_bytes(out, text, bytes_of_chars(text, n_head));
        stv_text_add(out, ELLIPSIS);
        stv_text_add(out, text + bytes_of_chars(text, n_chars - (max_chars - n_head - 1)));
    }
    out->has_failed = out->has_failed || clean.has_failed;
    stv_text_free(&clean);
}

/* What one byte of a cleaned text becomes in a target; NULL leaves it as it is. */
typedef const char *replace_fn(const char *text, size_t at);

static const char *replace_gnuplot(const char *text, size_t at)
{
    switch (text[at]) {
    case '\'':
        return "\xE2\x80\x99";
    case '\\':
        return "/";
    case '>':
        return at >= 2 && text[at - 1] == ']' && text[at - 2] == ']' ? "\xE2\x80\xBA" : NULL;
    default:
        return NULL;
    }
}

static const char *replace_gnuplot_tic(const char *text, size_t at)
{
    return text[at] == '%' ? "%%" : replace_gnuplot(text, at);
}

static const char *replace_html(const char *text, size_t at)
{
    switch (text[at]) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

static const char *replace_csv(const char *text, size_t at)
{
    return text[at] == '"' ? "\"\"" : NULL;
}

static void add_replaced(struct stv_text *out, const struct stv_text *clean, replace_fn *replace)
{
    const char *text = stv_text_string(clean);
    for (size_t i = 0; i < clean->n; i++) {
        const char *other = replace(text, i);
        if (other != NULL)
            stv_text_add(out, other);
        else
            stv_text_add_bytes(out, text + i, 1);
    }
    if (clean->has_failed)
        out->has_failed = true;
}

static void add_quoted(struct stv_text *out, const char *text, size_t max_chars,
                       replace_fn *replace, const char *mark)
{
    struct stv_text clean = {0};
    stv_quote_clean(&clean, text, max_chars);
    stv_text_add(out, mark);
    add_replaced(out, &clean, replace);
    stv_text_add(out, mark);
    stv_text_free(&clean);
}

void stv_quote_gnuplot(struct stv_text *out, const char *text, size_t max_chars)
{
    add_quoted(out, text, max_chars, replace_gnuplot, "'");
}

void stv_quote_gnuplot_tic(struct stv_text *out, const char *text, size_t max_chars)
{
    add_quoted(out, text, max_chars, replace_gnuplot_tic, "'");
}

void stv_quote_html(struct stv_text *out, const char *text, size_t max_chars)
{
    add_quoted(out, text, max_chars, replace_html, "");
}

/* Full-width = + - @ are U+FF1D, FF0B, FF0D, FF20; some spreadsheets start formulas with them. */
static bool is_formula(const char *text)
{
    static const char *const starts[] = {
        "=", "+", "-", "@", "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D", "\xEF\xBC\xA0"};
    text += strspn(text, " ");
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++)
        if (strncmp(text, starts[i], strlen(starts[i])) == 0)
            return true;
    return false;
}

void stv_quote_csv(struct stv_text *out, const char *text, size_t max_chars)
{
    struct stv_text clean = {0};
    stv_quote_clean(&clean, text, max_chars);
    stv_text_add(out, is_formula(stv_text_string(&clean)) ? "\"'" : "\"");
    add_replaced(out, &clean, replace_csv);
    stv_text_add(out, "\"");
    stv_text_free(&clean);
}
