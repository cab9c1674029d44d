/* The words of a stencil are tried one by one against what a cooper paints on a head; what is none
 * of it is kept as it is and told, never guessed at. */
#include "ingest/stencil.h"

#include "ingest/book_parts.h"
#include "ingest/quantity.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define WORDS_MAX 24
#define TEXT_MAX 160
#define FIRST_YEAR 1950
#define LAST_YEAR 2099
/* What an empty cask can weigh: 50 L of thin staves to a butt; judgement. */
#define LEAST_TARE_KG 5.0
#define MOST_TARE_KG 250.0

/* Names of sizes, the litres taken and what makers mean by them: common practice, no published
 * source. */
static const struct named_size {
    const char *word, *name;
    double size_l, least_l, most_l;
} named_sizes[] = {
    {"hhd", "hogshead", 250.0, 220.0, 260.0},        {"hogshead", "hogshead", 250.0, 220.0, 260.0},
    {"asb", "barrel", 200.0, 180.0, 210.0},          {"bbl", "barrel", 200.0, 180.0, 210.0},
    {"barrel", "barrel", 200.0, 180.0, 210.0},       {"barrique", "barrique", 225.0, 220.0, 230.0},
    {"butt", "butt", 500.0, 470.0, 530.0},           {"puncheon", "puncheon", 500.0, 320.0, 560.0},
    {"quarter", "quarter cask", 125.0, 45.0, 130.0},
};
#define N_NAMED_SIZES (sizeof named_sizes / sizeof named_sizes[0])

struct words {
    char text[TEXT_MAX];
    char *word[WORDS_MAX];
    size_t n;
};

static bool is_word(const char *word, const char *const *known, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (strcasecmp(word, known[i]) == 0)
            return true;
    return false;
}
#define IS_WORD(word, known) is_word(word, known, sizeof known / sizeof known[0])

/* A comma between figures is kept: it is a decimal comma. */
static bool parts_words(const char *text, size_t at)
{
    bool is_decimal = text[at] == ',' && at > 0 && isdigit((unsigned char)text[at - 1]) &&
                      isdigit((unsigned char)text[at + 1]);
    return strchr(" \t/|,;", text[at]) && !is_decimal;
}

static void split(const char *text, struct words *out)
{
    size_t n = strlen(text);
    out->n = 0;
    if (n >= TEXT_MAX)
        n = TEXT_MAX - 1;
    for (size_t i = 0; i < n; i++)
        out->text[i] = parts_words(text, i) ? '\0' : text[i];
    out->text[n] = '\0';
    for (size_t i = 0; i < n && out->n < WORDS_MAX; i++)
        if (out->text[i] && (i == 0 || !out->text[i - 1]))
            out->word[out->n++] = &out->text[i];
}

static const char *word_at(const struct words *words, size_t at)
{
    return at < words->n ? words->word[at] : "";
}

/* A quantity that may stand in up to three words, "53 US gal"; returns how many it took, 0 when
 * there is none. */
static size_t take_quantity(const struct words *words, size_t at, const char *first,
                            enum stv_dimension dimension, double *out)
{
    char text[TEXT_MAX], why[192];
    size_t used = 0;
    for (size_t n = 1; n <= 3 && at + n <= words->n; n++) {
        int added = snprintf(text + used, sizeof text - used, "%s%s", n > 1 ? " " : "",
                             n > 1 ? words->word[at + n - 1] : first);
        used += added > 0 ? (size_t)added : 0;
        if (used >= sizeof text)
            return 0;
        if (stv_quantity_parse(text, dimension, NULL, out, why, sizeof why) == STV_OK)
            return n;
    }
    *out = NAN;
    return 0;
}

static size_t take_number(const struct words *words, size_t at, const char *id,
                          struct stv_stencil *out)
{
    static const char *const marks[] = {"no", "no.", "nr", "nr.", "number", "#"};
    const char *word = word_at(words, at), *number = NULL;
    size_t n = 1;
    size_t n_mark = word[0] == '#' ? 1 : strncasecmp(word, "no.", 3) == 0 ? 3 : 2;
    bool is_joined =
        (word[0] == '#' || strncasecmp(word, "no", 2) == 0 || strncasecmp(word, "nr", 2) == 0) &&
        strlen(word) > n_mark && isdigit((unsigned char)word[n_mark]);
    if (IS_WORD(word, marks) && at + 1 < words->n) {
        number = word_at(words, at + 1);
        n = 2;
    } else if (is_joined) {
        number = word + n_mark;
    } else if (id[0] && strcmp(word, id) == 0) {
        number = word;
    }
    if (!number || strlen(number) >= sizeof out->number ||
        (out->number[0] && strcmp(out->number, number) != 0))
        return 0;
    snprintf(out->number, sizeof out->number, "%s", number);
    return n;
}

static size_t take_tare(const struct words *words, size_t at, struct stv_stencil *out)
{
    static const char *const marks[] = {"t", "t.", "t:", "tare", "tare:"};
    const char *word = word_at(words, at);
    double tare_kg = NAN;
    size_t n = 0;
    if (IS_WORD(word, marks)) {
        n = take_quantity(words, at + 1, word_at(words, at + 1), STV_DIM_MASS, &tare_kg);
        n += n > 0;
    } else if (toupper((unsigned char)word[0]) == 'T' && isdigit((unsigned char)word[1])) {
        n = take_quantity(words, at, word + 1, STV_DIM_MASS, &tare_kg);
    }
    if (n == 0 || !(tare_kg >= LEAST_TARE_KG && tare_kg <= MOST_TARE_KG) || isfinite(out->tare_kg))
        return 0;
    out->tare_kg = tare_kg;
    return n;
}

static size_t take_size(const struct words *words, size_t at, struct stv_stencil *out)
{
    const char *word = word_at(words, at);
    double size_l = NAN;
    size_t n = isdigit((unsigned char)word[0])
                   ? take_quantity(words, at, word, STV_DIM_VOLUME, &size_l)
                   : 0;
    if (n > 0 && (!isfinite(out->size_l) || out->size_name)) {
        /* Litres say more than a name; both are compared with the row by the caller. */
        bool fits_name = !out->size_name || (size_l >= out->least_l && size_l <= out->most_l);
        out->size_l = out->least_l = out->most_l = size_l;
        out->size_name = NULL;
        return fits_name ? n : 0;
    }
    for (size_t i = 0; n == 0 && i < N_NAMED_SIZES; i++) {
        const struct named_size *size = &named_sizes[i];
        if (strcasecmp(word, size->word) != 0)
            continue;
        if (isfinite(out->size_l))
            return out->size_l >= size->least_l && out->size_l <= size->most_l;
        out->size_l = size->size_l;
        out->least_l = size->least_l;
        out->most_l = size->most_l;
        out->size_name = size->name;
        return 1;
    }
    return 0;
}

/* 2 of "2nd" or "second"; 0 for anything else. */
static int ordinal_of(const char *word)
{
    static const char *const names[] = {"first", "second", "third", "fourth", "fifth"};
    static const char *const endings[] = {"st", "nd", "rd", "th"};
    for (int i = 0; i < 5; i++)
        if (strcasecmp(word, names[i]) == 0)
            return i + 1;
    return isdigit((unsigned char)word[0]) && word[0] != '0' && IS_WORD(word + 1, endings)
               ? word[0] - '0'
               : 0;
}

static bool is_whisky(const char *word)
{
    return strcasecmp(word, "whisky") == 0 || strcasecmp(word, "whiskey") == 0;
}

/* "2nd fill", "second-fill", "2nd whisky fill", "2nd fill whisky", "refill". */
static size_t take_fill(const struct words *words, size_t at, struct stv_stencil *out)
{
    static const char *const fills[] = {"fill", "filling", "use"};
    const char *word = word_at(words, at);
    char ordinal[16];
    if (out->fill_no || out->is_refill)
        return 0;
    if (strcasecmp(word, "refill") == 0 || strcasecmp(word, "re-fill") == 0) {
        out->is_refill = true;
        return 1;
    }
    size_t n_ordinal = strcspn(word, "-");
    bool is_joined = word[n_ordinal] && IS_WORD(word + n_ordinal + 1, fills);
    if (n_ordinal >= sizeof ordinal || (word[n_ordinal] && !is_joined))
        return 0;
    snprintf(ordinal, sizeof ordinal, "%.*s", (int)n_ordinal, word);
    int fill_no = ordinal_of(ordinal);
    bool is_whisky_between = !is_joined && is_whisky(word_at(words, at + 1));
    size_t n = is_joined ? 1 : is_whisky_between ? 3 : 2;
    if (fill_no == 0 || (!is_joined && !IS_WORD(word_at(words, at + n - 1), fills)))
        return 0;
    bool is_whisky_behind = is_whisky(word_at(words, at + n));
    out->fill_no = fill_no;
    out->counts_whisky = is_whisky_between || is_whisky_behind;
    return n + is_whisky_behind;
}

static size_t take_held(const struct words *words, size_t at, struct stv_stencil *out)
{
    static const char *const sherries[] = {"oloroso", "amontillado", "fino", "manzanilla", "px"};
    const char *word = word_at(words, at);
    char pair[TEXT_MAX];
    if (strncasecmp(word, "ex-", 3) == 0)
        word += 3;
    snprintf(pair, sizeof pair, "%s %s", word, word_at(words, at + 1));
    if (IS_WORD(word, sherries))
        word = "sherry";
    if (strcasecmp(word, "virgin") == 0)
        word = "new";
    for (int i = (int)stv__n_held_words - 1; i >= 0; i--) {
        bool is_pair = strcasecmp(pair, stv__held_words[i]) == 0;
        if (!is_pair && strcasecmp(word, stv__held_words[i]) != 0)
            continue;
        if (out->held_idx >= 0 && out->held_idx != i)
            return 0;
        out->held_idx = i;
        return is_pair ? 2 : 1;
    }
    return 0;
}

static size_t take_year(const struct words *words, size_t at, struct stv_stencil *out)
{
    const char *word = word_at(words, at);
    if (strlen(word) != 4 || strspn(word, "0123456789") != 4)
        return 0;
    int year = (int)strtol(word, NULL, 10);
    if (year < FIRST_YEAR || year > LAST_YEAR || (out->year && out->year != year))
        return 0;
    out->year = year;
    return 1;
}

/* Words that say nothing of their own: "new oak", "ex bourbon cask". */
static size_t take_filler(const struct words *words, size_t at)
{
    static const char *const fillers[] = {"oak", "wood", "cask", "ex"};
    return IS_WORD(word_at(words, at), fillers);
}

static size_t take_part(const struct words *words, size_t at, const char *id,
                        struct stv_stencil *out)
{
    size_t n = take_number(words, at, id, out);
    if (n == 0)
        n = take_tare(words, at, out);
    if (n == 0)
        n = take_size(words, at, out);
    if (n == 0)
        n = take_fill(words, at, out);
    if (n == 0)
        n = take_held(words, at, out);
    if (n == 0)
        n = take_year(words, at, out);
    if (n == 0)
        n = take_filler(words, at);
    return n;
}

static void add_text(char *buffer, size_t size, const char *between, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
static void add_text(char *buffer, size_t size, const char *between, const char *format, ...)
{
    size_t used = strlen(buffer);
    int n = snprintf(buffer + used, size - used, "%s", used ? between : "");
    used += n > 0 ? (size_t)n : 0;
    if (used >= size)
        return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(buffer + used, size - used, format, arguments);
    va_end(arguments);
}

struct stv_stencil stv_stencil_read(const char *text, const char *id)
{
    struct stv_stencil out = {
        .size_l = NAN, .least_l = NAN, .most_l = NAN, .held_idx = -1, .tare_kg = NAN};
    struct words words;
    split(text, &words);
    for (size_t at = 0; at < words.n;) {
        size_t n = take_part(&words, at, id, &out);
        bool is_own_number = n == 0 && at == 0 && !id[0] && !out.number[0] &&
                             strlen(words.word[0]) < sizeof out.number;
        if (is_own_number)
            snprintf(out.number, sizeof out.number, "%s", words.word[0]);
        else if (n == 0)
            add_text(out.unknown, sizeof out.unknown, ", ", "%s", words.word[at]);
        at += n ? n : 1;
    }
    return out;
}

void stv_stencil_echo(const struct stv_stencil *stencil, char *buffer, size_t size)
{
    static const char *const ordinals[] = {"", "first", "second", "third", "fourth", "fifth"};
    int fill_no = stencil->fill_no;
    buffer[0] = '\0';
    if (stencil->number[0])
        add_text(buffer, size, ", ", "number %s", stencil->number);
    if (stencil->year)
        add_text(buffer, size, ", ", "year %d", stencil->year);
    if (stencil->size_name)
        add_text(buffer, size, ", ", "size %s, %g L", stencil->size_name, stencil->size_l);
    else if (isfinite(stencil->size_l))
        add_text(buffer, size, ", ", "size %.4g L", stencil->size_l);
    if (fill_no > 0 && fill_no <= 5)
        add_text(buffer, size, ", ", "%s %sfill", ordinals[fill_no],
                 stencil->counts_whisky ? "whisky " : "");
    else if (fill_no > 0)
        add_text(buffer, size, ", ", "fill no. %d", fill_no);
    if (stencil->is_refill)
        add_text(buffer, size, ", ", "refill, how often is not said");
    if (stencil->held_idx >= 0)
        add_text(buffer, size, ", ", "held %s", stv__held_words[stencil->held_idx]);
    if (isfinite(stencil->tare_kg))
        add_text(buffer, size, ", ", "tare %.4g kg", stencil->tare_kg);
    if (!buffer[0])
        add_text(buffer, size, "", "nothing");
    if (stencil->unknown[0])
        add_text(buffer, size, "; ", "not understood: %s", stencil->unknown);
}
