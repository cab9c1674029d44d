/* A small check that a text is well-formed XML 1.0 as gnuplot and the page use it: tags nest and
 * close, attributes are quoted and not repeated, references are known, characters are allowed. */
#ifndef STV_TESTS_XML_SCAN_H
#define STV_TESTS_XML_SCAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#define XML_DEPTH 64
#define XML_NAME 64
#define XML_ATTRIBUTES 24

/* Length of a valid UTF-8 character that XML 1.0 allows (section 2.2), or 0. */
static inline size_t xml_char(const unsigned char *p)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t n = p[0] < 0x80 ? 1 : p[0] >= 0xF0 ? 4 : p[0] >= 0xE0 ? 3 : p[0] >= 0xC0 ? 2 : 0;
    if (n == 0)
        return 0;
    uint32_t code = n == 1 ? p[0] : p[0] & (0x7FU >> n);
    for (size_t i = 1; i < n; i++) {
        if ((p[i] & 0xC0) != 0x80)
            return 0;
        code = (code << 6) | (p[i] & 0x3FU);
    }
    bool is_allowed = code == 9 || code == 10 || code == 13 || (code >= 0x20 && code <= 0xD7FF) ||
                      (code >= 0xE000 && code <= 0xFFFD) || (code >= 0x10000 && code <= 0x10FFFF);
    return code >= least[n] && is_allowed ? n : 0;
}

/* Length of a reference such as &amp; or &#39;, or 0. */
static inline size_t xml_reference(const char *p)
{
    static const char *const known[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&apos;"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strncmp(p, known[i], strlen(known[i])) == 0)
            return strlen(known[i]);
    if (p[1] != '#')
        return 0;
    size_t digits =
        p[2] == 'x' ? strspn(p + 3, "0123456789abcdefABCDEF") : strspn(p + 2, "0123456789");
    size_t n = (p[2] == 'x' ? 3 : 2) + digits;
    return digits > 0 && p[n] == ';' ? n + 1 : 0;
}

static inline size_t xml_name(const char *p)
{
    return strspn(p, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_:-.");
}

/* Text up to a stop character; NULL when something in it is not allowed. */
static inline const char *xml_text(const char *p, char stop)
{
    while (*p != '\0' && *p != stop) {
        size_t n = *p == '&' ? xml_reference(p) : xml_char((const unsigned char *)p);
        if (n == 0 || (stop != '<' && *p == '<') || (stop == '<' && strncmp(p, "]]>", 3) == 0))
            return NULL;
        p += n;
    }
    return p;
}

/* Attributes up to > or />; NULL when malformed. */
static inline const char *xml_attributes(const char *p)
{
    char seen[XML_ATTRIBUTES][XML_NAME];
    size_t n_seen = 0;
    for (;;) {
        size_t blanks = strspn(p, " \t\r\n");
        p += blanks;
        if (*p == '>' || *p == '/')
            return p;
        size_t n = xml_name(p);
        if (blanks == 0 || n == 0 || n >= XML_NAME || n_seen == XML_ATTRIBUTES)
            return NULL;
        memcpy(seen[n_seen], p, n);
        seen[n_seen][n] = '\0';
        for (size_t i = 0; i < n_seen; i++)
            if (strcmp(seen[i], seen[n_seen]) == 0)
                return NULL;
        n_seen++;
        p += n;
        p += strspn(p, " \t\r\n");
        if (*p++ != '=')
            return NULL;
        p += strspn(p, " \t\r\n");
        char quote = *p++;
        if (quote != '"' && quote != '\'')
            return NULL;
        p = xml_text(p, quote);
        if (p == NULL || *p != quote)
            return NULL;
        p++;
    }
}

/* Skips <?...?>, <!DOCTYPE...>, comments and CDATA; returns p when there is none, NULL when one
 * does not end. */
static inline const char *xml_special(const char *p)
{
    static const char *const pairs[][2] = {
        {"<?", "?>"}, {"<!--", "-->"}, {"<![CDATA[", "]]>"}, {"<!DOCTYPE", ">"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (strncmp(p, pairs[i][0], strlen(pairs[i][0])) == 0) {
            const char *end = strstr(p + strlen(pairs[i][0]), pairs[i][1]);
            return end == NULL ? NULL : end + strlen(pairs[i][1]);
        }
    return p;
}

/* NULL when the text is well-formed with one root element; else where it is not. */
static inline const char *xml_fault(const char *text)
{
    char open[XML_DEPTH][XML_NAME];
    size_t depth = 0, n_roots = 0;
    const char *p = text;
    while (*p != '\0') {
        const char *here = p;
        p = xml_text(p, '<');
        if (p == NULL || (depth == 0 && here[strspn(here, " \r\n\t")] != '<' && *p == '<'))
            return here;
        if (*p == '\0')
            break;
        here = p;
        p = xml_special(p);
        if (p == NULL)
            return here;
        if (p != here)
            continue;
        bool is_end = p[1] == '/';
        p += is_end ? 2 : 1;
        size_t n = xml_name(p);
        if (n == 0 || n >= XML_NAME)
            return here;
        if (is_end) {
            if (depth == 0 || strncmp(open[depth - 1], p, n) != 0 || open[depth - 1][n] != '\0' ||
                p[n] != '>')
                return here;
            depth--;
            p += n + 1;
            continue;
        }
        if (depth == XML_DEPTH || (depth == 0 && n_roots++ > 0))
            return here;
        memcpy(open[depth], p, n);
        open[depth++][n] = '\0';
        p = xml_attributes(p + n);
        if (p == NULL || (*p == '/' && p[1] != '>'))
            return here;
        if (*p == '/')
            depth--;
        p += *p == '/' ? 2 : 1;
    }
    return depth == 0 && n_roots == 1 ? NULL : p;
}

#endif
