/* One set of getters for both ways of saying a thing, so that a row of a sheet can never mean
 * something else than the same words on the command line. */
#include "cli/bench_read.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define REASON_MAX 384
#define SHOWN_MAX 60
#define LEAST_C (-20.0)
#define MOST_C 50.0
#define MOST_L 1e7 /* no vat holds more */

bool stv_bench_undo_comma(const char *text, char *out, size_t size)
{
    const char *comma = strchr(text, ',');
    size_t length = strlen(text);
    if (!comma || strchr(comma + 1, ',') || strchr(text, '.') || length >= size || comma == text ||
        !isdigit((unsigned char)comma[-1]) || !isdigit((unsigned char)comma[1]))
        return false;
    if (strspn(comma + 1, "0123456789") == 3 && text[strspn(text, "+-")] != '0')
        return false;
    memcpy(out, text, length + 1);
    out[comma - text] = '.';
    return true;
}

static bool is_of_sum(enum stv_option option)
{
    enum stv_value_kind kind = stv_option_table()[option].kind;
    return kind == STV_VALUE_TYPED || kind == STV_VALUE_CHOICE || kind == STV_VALUE_DATE;
}

static void add_word(struct stv_bench_reader *reader, struct stv_bench_word word)
{
    if (reader->n_words < STV_BENCH_WORDS_MAX)
        reader->words[reader->n_words++] = word;
    else
        stv_bench_fault(reader, STV_E_USAGE, word.option, "More than %d values.",
                        STV_BENCH_WORDS_MAX);
}

void stv_bench_take_options(struct stv_bench_reader *reader, const struct stv_options *options)
{
    for (size_t i = 0; i < options->n_given; i++) {
        enum stv_option option = options->given[i].option;
        if (is_of_sum(option) && option != STV_OPT_COLOR)
            add_word(reader,
                     (struct stv_bench_word){option, options->given[i].text, NULL, SIZE_MAX});
    }
}

void stv_bench_take_cell(struct stv_bench_reader *reader, struct stv_bench_word word)
{
    size_t n_kept = 0;
    for (size_t i = 0; i < reader->n_words; i++) {
        const struct stv_bench_word *said = &reader->words[i];
        if (said->option != word.option || said->column != SIZE_MAX)
            reader->words[n_kept++] = *said;
    }
    reader->n_words = n_kept;
    add_word(reader, word);
}

/* Of a sheet the columns are named without the dashes of options. */
static void drop_dashes(char *sentence)
{
    char *to = sentence;
    for (const char *from = sentence; *from;) {
        bool is_option = from[0] == '-' && from[1] == '-' && islower((unsigned char)from[2]);
        from += is_option ? 2 : 0;
        *to++ = *from++;
    }
    *to = '\0';
}

void stv_bench_fault(struct stv_bench_reader *reader, enum stv_status status,
                     enum stv_option option, const char *format, ...)
{
    if (reader->status != STV_OK)
        return;
    const struct stv_bench_word *word =
        option == STV_OPT_N ? NULL : stv_bench_word(reader, option, 0);
    reader->status = status;
    reader->column = word ? word->column : SIZE_MAX;
    va_list args;
    va_start(args, format);
    vsnprintf(reader->why, sizeof reader->why, format, args);
    va_end(args);
    if (reader->is_sheet)
        drop_dashes(reader->why);
}

/* "--temp "84" has no unit ...": what was typed, then the reason that starts in lower case. */
static void fault_of_word(struct stv_bench_reader *reader, const struct stv_bench_word *word,
                          enum stv_status status, const char *reason)
{
    if (reader->status != STV_OK)
        return;
    const char *end = reason[0] && reason[strlen(reason) - 1] == '?' ? "" : ".";
    stv_bench_fault(reader, status, word->option, "--%s \"%.*s\" %s%s",
                    stv_option_table()[word->option].name, SHOWN_MAX, word->text, reason, end);
    reader->column = word->column;
}

const struct stv_bench_word *stv_bench_word(const struct stv_bench_reader *reader,
                                            enum stv_option option, size_t k)
{
    for (size_t i = 0; i < reader->n_words; i++)
        if (reader->words[i].option == option && k-- == 0)
            return &reader->words[i];
    return NULL;
}

bool stv_bench_has(const struct stv_bench_reader *reader, enum stv_option option)
{
    return stv_bench_word(reader, option, 0) != NULL;
}

bool stv_bench_need(struct stv_bench_reader *reader, enum stv_option option, const char *what)
{
    if (stv_bench_has(reader, option))
        return reader->status == STV_OK;
    stv_bench_fault(reader, STV_E_USAGE, STV_OPT_N, "--%s is missing: %s.",
                    stv_option_table()[option].name, what);
    return false;
}

bool stv_bench_quantity(struct stv_bench_reader *reader, enum stv_option option,
                        enum stv_dimension dimension, double *out)
{
    struct stv_measured measured;
    if (!stv_bench_measured(reader, option, dimension, &measured))
        return false;
    if (!isnan(measured.error))
        fault_of_word(reader, stv_bench_word(reader, option, 0), STV_E_USAGE,
                      "has an error, which is not carried on from here: leave it out");
    *out = measured.value;
    return reader->status == STV_OK;
}

bool stv_bench_measured(struct stv_bench_reader *reader, enum stv_option option,
                        enum stv_dimension dimension, struct stv_measured *out)
{
    const struct stv_bench_word *word = stv_bench_word(reader, option, 0);
    char reason[REASON_MAX];
    if (!word || reader->status != STV_OK)
        return false;
    enum stv_status status =
        stv_measured_parse(word->text, dimension, word->unit, out, reason, sizeof reason);
    if (status != STV_OK)
        fault_of_word(reader, word, status, reason);
    return status == STV_OK;
}

bool stv_bench_sum(struct stv_bench_reader *reader, enum stv_option option,
                   enum stv_dimension dimension, struct stv_measured *out)
{
    *out = (struct stv_measured){0};
    const struct stv_bench_word *word;
    for (size_t k = 0; (word = stv_bench_word(reader, option, k)) && reader->status == STV_OK;
         k++) {
        char reason[REASON_MAX];
        struct stv_measured more;
        enum stv_status status =
            stv_measured_sum_parse(word->text, dimension, word->unit, &more, reason, sizeof reason);
        if (status != STV_OK)
            fault_of_word(reader, word, status, reason);
        stv_measured_add(out, more);
    }
    return out->n > 0 && reader->status == STV_OK;
}

bool stv_bench_share(struct stv_bench_reader *reader, enum stv_option option, double *out_frac)
{
    const struct stv_bench_word *word = stv_bench_word(reader, option, 0);
    bool has_sign = word && (strchr(word->text, '%') || (word->unit && strchr(word->unit, '%')));
    if (word && !has_sign)
        fault_of_word(reader, word, STV_E_PARSE, "has no unit: write it like 2 %");
    return stv_bench_quantity(reader, option, STV_DIM_FRACTION, out_frac);
}

bool stv_bench_temp(struct stv_bench_reader *reader, enum stv_option option, double *out_c)
{
    if (!stv_bench_quantity(reader, option, STV_DIM_TEMPERATURE, out_c))
        return false;
    if (*out_c >= LEAST_C && *out_c <= MOST_C)
        return true;
    stv_bench_fault(
        reader, STV_E_DOMAIN, option,
        "--%s is %.1f C: density and strength are known from -20 to 50 C only. It is the "
        "temperature of the spirit, not of the air.",
        stv_option_table()[option].name, *out_c);
    return false;
}

bool stv_bench_volume(struct stv_bench_reader *reader, enum stv_option option, double *out_l)
{
    if (!stv_bench_quantity(reader, option, STV_DIM_VOLUME, out_l))
        return false;
    if (*out_l > 0.0 && *out_l <= MOST_L)
        return true;
    stv_bench_fault(reader, STV_E_DOMAIN, option, "--%s is %s.", stv_option_table()[option].name,
                    *out_l > 0.0 ? "more than any vat holds" : "nothing");
    return false;
}

bool stv_bench_count(struct stv_bench_reader *reader, enum stv_option option, size_t most,
                     size_t *out)
{
    const struct stv_bench_word *word = stv_bench_word(reader, option, 0);
    const size_t range[2] = {1, most};
    char reason[REASON_MAX];
    if (!word || reader->status != STV_OK)
        return false;
    enum stv_status status = stv_count_parse(word->text, range, out, reason, sizeof reason);
    if (status != STV_OK)
        fault_of_word(reader, word, status, reason);
    return status == STV_OK;
}

bool stv_bench_date(struct stv_bench_reader *reader, enum stv_option option, int64_t *out_day_d)
{
    const struct stv_bench_word *word = stv_bench_word(reader, option, 0);
    char reason[REASON_MAX];
    if (!word || reader->status != STV_OK)
        return false;
    enum stv_status status = stv_date_parse(word->text, out_day_d, reason, sizeof reason);
    if (status != STV_OK)
        fault_of_word(reader, word, status, reason);
    return status == STV_OK;
}

bool stv_bench_choice(struct stv_bench_reader *reader, enum stv_option option, const char *word)
{
    const struct stv_bench_word *said = stv_bench_word(reader, option, 0);
    if (!said || reader->status != STV_OK)
        return false;
    const char *choices = stv_option_table()[option].argument;
    size_t length = strlen(said->text);
    bool is_known = false;
    for (const char *at = choices; *at;) {
        size_t n = strcspn(at, "|");
        is_known = is_known || (n == length && strncasecmp(at, said->text, n) == 0);
        at += n + (at[n] == '|');
    }
    if (!is_known) {
        char reason[REASON_MAX];
        snprintf(reason, sizeof reason, "is not one of %s", choices);
        fault_of_word(reader, said, STV_E_PARSE, reason);
    }
    return is_known && strcasecmp(said->text, word) == 0;
}
