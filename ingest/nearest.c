/* Optimal string alignment: the least number of letters put in, left out, changed or swapped with
 * a neighbour.  The words of this program are short; longer texts have no nearest word. */
#include "ingest/quantity.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define WORD_MAX 64

static char lower(char letter)
{
    return (char)tolower((unsigned char)letter);
}

static size_t least_of(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Both texts have fewer than WORD_MAX letters. */
static size_t distance(const char *a, size_t n_a, const char *b, size_t n_b)
{
    size_t rows[3][WORD_MAX + 1];
    size_t *before = rows[0], *last = rows[1], *here = rows[2];
    for (size_t j = 0; j <= n_b; j++)
        last[j] = j;
    for (size_t i = 1; i <= n_a; i++) {
        here[0] = i;
        for (size_t j = 1; j <= n_b; j++) {
            size_t change = last[j - 1] + (lower(a[i - 1]) != lower(b[j - 1]));
            here[j] = least_of(change, least_of(last[j], here[j - 1]) + 1);
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
                lower(a[i - 2]) == lower(b[j - 1]))
                here[j] = least_of(here[j], before[j - 2] + 1);
        }
        size_t *spare = before;
        before = last;
        last = here;
        here = spare;
    }
    return last[n_b];
}

const char *stv_nearest_word(const char *text, const char *const *words, size_t n)
{
    size_t length = strlen(text);
    if (length == 0 || length >= WORD_MAX)
        return NULL;
    size_t allowed = length < 3 ? 1 : length / 3;
    const char *nearest = NULL;
    for (size_t i = 0; i < n; i++) {
        size_t n_word = strlen(words[i]);
        if (n_word >= WORD_MAX)
            continue;
        size_t far = distance(text, length, words[i], n_word);
        /* A word with every letter changed is not near, however short it is. */
        if (far <= allowed && far < n_word) {
            nearest = words[i];
            if (far == 0)
                break;
            allowed = far - 1;
        }
    }
    return nearest;
}

/* The longest of the words that stands in the text as a word of it, NULL when none does. */
static const char *word_within(const char *text, const char *const *words, size_t n)
{
    const char *longest = NULL;
    for (size_t i = 0; i < n; i++) {
        size_t length = strlen(words[i]);
        if (longest && length <= strlen(longest))
            continue;
        for (const char *at = text; *at; at++) {
            bool starts = at == text || !isalnum((unsigned char)at[-1]);
            if (starts && strncasecmp(at, words[i], length) == 0 &&
                !isalnum((unsigned char)at[length])) {
                longest = words[i];
                break;
            }
        }
    }
    return longest;
}

void stv_word_advice(const char *text, const char *const *words, size_t n, char *why, size_t size)
{
    const char *nearest = stv_nearest_word(text, words, n);
    if (!nearest)
        nearest = word_within(text, words, n);
    if (nearest) {
        snprintf(why, size, "is not known here: did you mean \"%s\"?", nearest);
        return;
    }
    int used = snprintf(why, size, "is not known here; write ");
    for (size_t i = 0; i < n && used > 0 && (size_t)used < size; i++) {
        const char *before = i == 0 ? "" : i + 1 == n ? " or " : ", ";
        used += snprintf(why + used, size - (size_t)used, "%s%s", before, words[i]);
    }
}
