/* What eye and nose said of a cask: an order, never a measure. */
#include "ingest/gauge_parts.h"
#include "ingest/typed_damage.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define TEXT_MAX 64
#define MOST_CARDS 100.0
#define MOST_SCORE 10.0

static const char *const nose_names[STV_NOSE_N] = {"", "not yet", "nearly", "ready", "over"};

const char *stv_nose_name(enum stv_nose nose)
{
    return nose < STV_NOSE_N ? nose_names[nose] : "";
}

/* The text behind a word and the blanks after it; the text itself when it does not start so. */
static const char *behind(const char *text, const char *word)
{
    size_t n = strlen(word);
    if (strncasecmp(text, word, n) != 0 || text[n] != ' ')
        return text;
    return text + n + strspn(text + n, " ");
}

static void read_colour(struct stv_table *table, struct stv_gauge *out)
{
    char text[TEXT_MAX], card[TEXT_MAX], why[192];
    double number = NAN, of = NAN;
    if (!stv_table_text(table, STV__GAUGE_COLOUR, text, sizeof text))
        return;
    const char *at = behind(behind(text, "house"), "card");
    const char *between = strstr(at, " of ");
    snprintf(card, sizeof card, "%.*s", between ? (int)(between - at) : 0, at);
    bool is_read =
        between &&
        stv_quantity_parse(card, STV_DIM_NUMBER, NULL, &number, why, sizeof why) == STV_OK &&
        stv_quantity_parse(between + strlen(" of "), STV_DIM_NUMBER, NULL, &of, why, sizeof why) ==
            STV_OK &&
        number >= 1.0 && of >= 1.0 && of <= MOST_CARDS;
    if (!is_read)
        stv_table_refuse(table, STV__GAUGE_COLOUR,
                         "is no colour by a card: write \"7 of 12\", the card it comes nearest to "
                         "and how many there are");
    else if (number > of)
        stv_table_refuse(table, STV__GAUGE_COLOUR, "is above its own scale, which ends at %g", of);
    else {
        out->colour_card = number;
        out->colour_of = of;
    }
}

static void read_nose(struct stv_table *table, struct stv_gauge *out)
{
    const char *text = stv_csv_text(&table->csv, table->row, table->index[STV__GAUGE_NOSE]);
    size_t nose = 0;
    if (isdigit((unsigned char)text[0]) || (text[0] == '-' && text[1]))
        stv_table_quantity(table, STV__GAUGE_NOSE, 0.0, MOST_SCORE, &out->nose_score);
    else if (stv_table_word(table, STV__GAUGE_NOSE, nose_names + 1, STV_NOSE_N - 1, &nose))
        out->nose = (enum stv_nose)(nose + 1);
}

static bool holds(const char *text, const char *const *parts, size_t n)
{
    for (size_t i = 0; i < n; i++)
        for (const char *at = text; *at; at++)
            if (strncasecmp(at, parts[i], strlen(parts[i])) == 0 &&
                (at == text || !isalpha((unsigned char)at[-1])))
                return true;
    return false;
}

/* "yes, a dark streak under the bilge": the word, and no letter after it. */
static bool begins(const char *text, const char *word)
{
    size_t n = strlen(word);
    return strncasecmp(text, word, n) == 0 && text[n] && !isalnum((unsigned char)text[n]);
}

/* "weeps a bit at the chime" is a tick, and a yes or no may have more behind it.  Another text that
 * may deny it is refused. */
static void read_seeps(struct stv_table *table, struct stv_gauge *out)
{
    static const char *const says[] = {"weep", "seep", "drip", "leak", "damp", "wet", "sweat"};
    static const char *const denies[] = {"no",  "non",   "not",   "never",
                                         "dry", "stopp", "doesn", "isn"};
    char text[TEXT_MAX * 2];
    if (!stv_table_text(table, STV__GAUGE_SEEPS, text, sizeof text))
        return;
    bool is_told = holds(text, says, sizeof says / sizeof says[0]) &&
                   !holds(text, denies, sizeof denies / sizeof denies[0]);
    bool is_yes = is_told || begins(text, "yes");
    if (is_yes || begins(text, "no")) {
        out->seeps = is_yes;
        stv_table_say(table, STV_NOTED, STV__GAUGE_SEEPS, is_yes ? "taken as yes" : "taken as no");
        return;
    }
    stv_table_flag(table, STV__GAUGE_SEEPS, &out->seeps);
}

void stv__gauge_senses(struct stv_table *table, struct stv_gauge *out)
{
    read_colour(table, out);
    read_nose(table, out);
    stv_table_flag(table, STV__GAUGE_BLIND, &out->is_blind);
    stv_table_text(table, STV__GAUGE_BY, out->by, sizeof out->by);
    read_seeps(table, out);
    if (out->is_blind && !stv_table_has(table, STV__GAUGE_NOSE) &&
        !stv_table_has(table, STV__GAUGE_COLOUR))
        stv_table_refuse(table, STV__GAUGE_BLIND,
                         "says how a nose or a colour was taken, and the row has neither");
}
