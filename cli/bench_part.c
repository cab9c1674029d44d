/* Items are known by their units and shapes, never by their place, so that nobody has to remember
 * an order; two of one kind are refused. */
#include "cli/bench_part.h"

#include "cli/bench_read.h"
#include "ingest/quantity.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define ITEM_MAX 96
#define REASON_MAX 384
#define AGE_MOST_Y 100.0
#define AMOUNT_MOST 1e7 /* litres or kilograms */

struct part_reader {
    struct stv_bench_part *part;
    char *why;
    size_t size;
};

static enum stv_status fail(const struct part_reader *reader, enum stv_status status,
                            const char *item, const char *reason)
{
    snprintf(reader->why, reader->size, "has \"%.60s\", which %s", item, reason);
    return status;
}

static enum stv_status set_once(const struct part_reader *reader, const char *item, double *place,
                                double value)
{
    if (!isnan(*place))
        return fail(reader, STV_E_PARSE, item, "says a thing twice: write each once");
    *place = value;
    return STV_OK;
}

/* "5 y 2 m": years, and months behind them. */
static bool read_age(const char *item, double *out_y)
{
    char unused[REASON_MAX], *end;
    double days;
    if (stv_quantity_parse(item, STV_DIM_TIME, NULL, &days, unused, sizeof unused) == STV_OK) {
        *out_y = days / STV_YEAR_D;
        return true;
    }
    long years = strtol(item, &end, 10), months;
    end += strspn(end, " ");
    if (end == item || tolower((unsigned char)*end) != 'y')
        return false;
    end += strcspn(end, " ");
    const char *month_text = end;
    months = strtol(month_text, &end, 10);
    end += strspn(end, " ");
    if (end == month_text || tolower((unsigned char)*end) != 'm' || months < 0 || months > 11)
        return false;
    *out_y = (double)years + (double)months / 12.0;
    return true;
}

static const char *const watered_words[] = {"watered", "water added", "with water"};
#define N_WATERED_WORDS (sizeof watered_words / sizeof watered_words[0])

static bool is_watered_word(const char *item)
{
    for (size_t i = 0; i < N_WATERED_WORDS; i++)
        if (strcasecmp(item, watered_words[i]) == 0)
            return true;
    return false;
}

static enum stv_status read_words(const struct part_reader *reader, const char *item)
{
    if (is_watered_word(item)) {
        reader->part->is_watered = true;
        return STV_OK;
    }
    /* A slip in this word would lose the water from the label. */
    if (stv_nearest_word(item, watered_words, N_WATERED_WORDS))
        return fail(reader, STV_E_PARSE, item, "is not known: did you mean \"watered\"?");
    if (reader->part->wood[0])
        return fail(reader, STV_E_PARSE, item, "would be its second wood: write one");
    if (strlen(item) >= sizeof reader->part->wood)
        return fail(reader, STV_E_PARSE, item, "is too long for a kind of wood");
    char advice[REASON_MAX];
    if (!stv_bench_wood(item, &reader->part->wood_class, advice, sizeof advice))
        return fail(reader, STV_E_PARSE, item, advice);
    snprintf(reader->part->wood, sizeof reader->part->wood, "%s", item);
    return STV_OK;
}

/* What to say of an item that starts with a digit and is nothing known. */
static enum stv_status refuse_number(const struct part_reader *reader, const char *item)
{
    char reason[REASON_MAX];
    double unused;
    int64_t day_d;
    if (strlen(item) == strlen("2020-03-01") && item[4] == '-' && item[7] == '-') {
        enum stv_status status = stv_date_parse(item, &day_d, reason, sizeof reason);
        return fail(reader, status, item, reason);
    }
    bool is_strength = strchr(item, '%') != NULL;
    for (const char *at = item; *at && !is_strength; at++)
        is_strength = strncasecmp(at, "proof", strlen("proof")) == 0;
    if (is_strength) {
        enum stv_status status =
            stv_quantity_parse(item, STV_DIM_STRENGTH, NULL, &unused, reason, sizeof reason);
        return fail(reader, status, item, reason);
    }
    return fail(reader, STV_E_PARSE, item,
                "is neither litres (172 L), nor a mass (150 kg), a strength (61.3 %vol), a date "
                "(2020-03-01) or an age (6 y): write its unit, and points for decimals, or cut the "
                "items at slashes (172,5 L / 61,3 %vol)");
}

static enum stv_status read_item(const struct part_reader *reader, const char *item)
{
    struct stv_bench_part *part = reader->part;
    char unused[REASON_MAX];
    double value;
    int64_t day_d;
    if (stv_quantity_parse(item, STV_DIM_STRENGTH, NULL, &value, unused, sizeof unused) == STV_OK)
        return set_once(reader, item, &part->abv20_frac, value);
    if (stv_quantity_parse(item, STV_DIM_VOLUME, NULL, &value, unused, sizeof unused) == STV_OK)
        return set_once(reader, item, &part->volume20_l, value);
    if (stv_quantity_parse(item, STV_DIM_MASS, NULL, &value, unused, sizeof unused) == STV_OK)
        return set_once(reader, item, &part->mass_kg, value);
    bool has_age = part->filled_day_d != INT64_MIN || !isnan(part->age_y);
    bool is_date = stv_date_parse(item, &day_d, unused, sizeof unused) == STV_OK;
    if (is_date || read_age(item, &value)) {
        if (has_age)
            return fail(reader, STV_E_PARSE, item, "would be its second date or age: write one");
        if (is_date)
            part->filled_day_d = day_d;
        else if (!(value >= 0.0 && value <= AGE_MOST_Y))
            return fail(reader, STV_E_DOMAIN, item, "is no age of a spirit");
        else
            part->age_y = value;
        return STV_OK;
    }
    if (isdigit((unsigned char)item[0]) || item[0] == '.' || item[0] == '-' || item[0] == '+')
        return refuse_number(reader, item);
    return read_words(reader, item);
}

/* Takes the item up to the next separator, without the blanks around it; returns what is behind. */
static const char *next_item(const char *at, const char *separator, char item[ITEM_MAX])
{
    at += strspn(at, " \t");
    size_t n = strcspn(at, separator);
    const char *behind = at + n + (at[n] != '\0');
    while (n > 0 && (at[n - 1] == ' ' || at[n - 1] == '\t'))
        n--;
    n = n < ITEM_MAX ? n : ITEM_MAX - 1;
    memcpy(item, at, n);
    item[n] = '\0';
    return behind;
}

static enum stv_status check_whole(const struct part_reader *reader, bool needs_amount)
{
    const struct stv_bench_part *part = reader->part;
    const char *wants = NULL;
    double amount = fmax(part->volume20_l, part->mass_kg); /* fmax passes over what is not said */
    bool has_volume = !isnan(part->volume20_l), has_mass = !isnan(part->mass_kg);
    if (isnan(part->abv20_frac))
        wants = "says no strength: write one with its unit, like 61.3 %vol";
    else if (needs_amount && !has_volume && !has_mass)
        wants = "says no amount: write litres like 172 L, or a mass like 150 kg";
    else if (needs_amount && (amount <= 0.0 || amount > AMOUNT_MOST))
        wants = amount > 0.0 ? "is more than any vat holds" : "is nothing: its amount is 0";
    else if (has_volume && has_mass)
        wants = "says litres and a mass: write one of them";
    else if (!needs_amount && (has_volume || has_mass))
        wants = "says an amount, which is worked out here: leave it out";
    if (!wants)
        return STV_OK;
    snprintf(reader->why, reader->size, "%s", wants);
    return STV_E_PARSE;
}

enum stv_status stv_bench_part_parse(const char *text, bool needs_amount,
                                     struct stv_bench_part *out, char *why, size_t size)
{
    *out = (struct stv_bench_part){NAN, NAN, NAN, INT64_MIN, NAN, false, "", STV_WOOD_UNSAID};
    const struct part_reader reader = {out, why, size};
    enum stv_status status = STV_OK;
    /* Cut at slashes, commas are free to be decimal. */
    const char *separator = strchr(text, '/') ? "/" : ",";
    for (const char *at = text; *at && status == STV_OK;) {
        char item[ITEM_MAX];
        at = next_item(at, separator, item);
        char with_point[ITEM_MAX];
        bool is_comma =
            *separator == '/' && stv_bench_undo_comma(item, with_point, sizeof with_point);
        if (item[0])
            status = read_item(&reader, is_comma ? with_point : item);
    }
    return status == STV_OK ? check_whole(&reader, needs_amount) : status;
}
