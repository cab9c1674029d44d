/* markets.yaml: rules of law and custom as numbers, each with the text it comes from.  A person
 * typed them, so that anything unclear is refused and nothing is filled in; a rule that is not
 * written is not known.  What it does not do: choose a market, or hold a cask against one. */
#include "ingest/market.h"

#include "ingest/quantity.h"
#include "ingest/yaml.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define WHY_MAX 192
#define BUILT_IN "markets.yaml (built in)"
#define NO_LIMIT "none"

/* A rule that is a number.  The ranges only catch slips of the pen; the law may say what it
 * likes inside them. */
struct number_rule {
    const char *key;
    struct stv_yaml_want want;
    double scale; /* from the dimension's unit to the member's */
    size_t offset;
};

#define MEMBER(name) offsetof(struct stv_market, name)

static const struct number_rule number_rules[] = {
    {"bottled_least", {STV_DIM_STRENGTH, NULL, 0.15, 0.80}, 1.0, MEMBER(bottled_least_abv20_frac)},
    {"entry_most", {STV_DIM_STRENGTH, NULL, 0.15, 1.0}, 1.0, MEMBER(entry_most_abv20_frac)},
    {"still_most", {STV_DIM_STRENGTH, NULL, 0.15, 1.0}, 1.0, MEMBER(still_most_abv20_frac)},
    {"age_least",
     {STV_DIM_TIME, NULL, 0.0, 100.0 * STV_YEAR_D},
     1.0 / STV_YEAR_D,
     MEMBER(age_least_y)},
    {"cask_most", {STV_DIM_VOLUME, NULL, 1.0, 100000.0}, 1.0, MEMBER(cask_most_l)},
    {"label_tolerance",
     {STV_DIM_STRENGTH, NULL, 0.0, 0.05},
     1.0,
     MEMBER(label_tolerance_abv20_frac)},
};

static const char *const market_keys[] = {
    "name",      "label",     "bottled_least",   "entry_most", "still_most",
    "age_least", "cask_most", "label_tolerance", "age_clock",  "duty_rounding"};

static const char *const clock_words[] = {"any wood", "any oak", "charred new oak"};
static const enum stv_age_clock clocks[] = {STV_AGE_IN_ANY_WOOD, STV_AGE_IN_ANY_OAK,
                                            STV_AGE_IN_CHARRED_NEW_OAK};

/* 2026, 2026-11, 2026-11-25 or unknown. */
static bool is_date(const char *text)
{
    static const char tail[] = "-01-01";
    char whole[sizeof "2026-11-25"], why[WHY_MAX];
    int64_t day_d;
    size_t n = strlen(text);
    if (strcmp(text, "unknown") == 0)
        return true;
    if (n != strlen("2026") && n != strlen("2026-11") && n != strlen("2026-11-25"))
        return false;
    snprintf(whole, sizeof whole, "%s%s", text, tail + (n - strlen("2026")));
    return stv_date_parse(whole, &day_d, why, sizeof why) == STV_OK;
}

/* Source, seen and date of a rule. */
static void read_origin(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                        struct stv_rule *rule)
{
    static const char *const seen_words[] = {"law", "second-hand", "memory"};
    struct stv_yaml_words seen_known = {seen_words, N_OF(seen_words)};
    size_t seen = 0;
    stv_yaml_text(context, map, "source", rule->source, sizeof rule->source);
    if (stv_yaml_word(context, map, "seen", seen_known, &seen))
        snprintf(rule->seen, sizeof rule->seen, "%s", seen_words[seen]);
    if (stv_yaml_text(context, map, "date", rule->date, sizeof rule->date) && !is_date(rule->date))
        stv_yaml_refuse(context, stv_yaml_find(map, "date"),
                        "is not a date: write it like 2026-11-25, 2026-11 or 2026, or unknown");
}

/* The mapping of a rule, all but its value read; NULL when it is absent or no rule. */
static const struct stv_yaml_node *read_rule(const struct stv_yaml_context *context,
                                             const struct stv_yaml_node *market, const char *key,
                                             struct stv_rule *rule)
{
    static const char *const keys[] = {"value", "source", "seen", "date"};
    const struct stv_yaml_node *map = stv_yaml_find(market, key);
    if (!map)
        return NULL;
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map,
                        "a rule is written {value: ..., source: ..., seen: law, "
                        "date: 2026-11-25}");
        return NULL;
    }
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    for (size_t i = 0; i < N_OF(keys); i++)
        if (!stv_yaml_find(map, keys[i]))
            stv_yaml_refuse(context, map, "needs value, source, seen and date; %s is missing",
                            keys[i]);
    read_origin(context, map, rule);
    return stv_yaml_text(context, map, "value", rule->text, sizeof rule->text) ? map : NULL;
}

static void read_number(const struct stv_yaml_context *context, const struct stv_yaml_node *market,
                        const struct number_rule *about, struct stv_rule *rule)
{
    const struct stv_yaml_node *map = read_rule(context, market, about->key, rule);
    double value = (double)NAN;
    if (map && strcasecmp(rule->text, NO_LIMIT) == 0)
        snprintf(rule->text, sizeof rule->text, NO_LIMIT);
    else if (map && stv_yaml_quantity(context, map, "value", about->want, &value))
        rule->value = value * about->scale;
}

static void read_clock(const struct stv_yaml_context *context, const struct stv_yaml_node *market,
                       struct stv_market *out)
{
    struct stv_yaml_words known = {clock_words, N_OF(clock_words)};
    size_t clock = 0;
    const struct stv_yaml_node *map = read_rule(context, market, "age_clock", &out->age_clock_rule);
    if (map && stv_yaml_word(context, map, "value", known, &clock)) {
        out->age_clock = clocks[clock];
        snprintf(out->age_clock_rule.text, sizeof out->age_clock_rule.text, "%s",
                 clock_words[clock]);
    }
}

/* Names are typed on a command line, so they hold nothing that a shell would look at. */
static bool is_name(const char *text)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz";
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz0123456789-";
    return strchr(letters, text[0]) && text[strspn(text, allowed)] == '\0';
}

static void read_name(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const struct stv_markets *earlier, struct stv_market *out)
{
    if (!stv_yaml_text(context, map, "name", out->name, sizeof out->name))
        return;
    if (!is_name(out->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"),
                        "must start with a letter and hold only a to z, 0 to 9 and dashes");
    else if (stv_market_is_none(out->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"), "means no market: choose another");
    else if (stv_markets_find(earlier, out->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"), "is the name of an earlier market");
}

static struct stv_rule *member_of(struct stv_market *market, const struct number_rule *about)
{
    return (struct stv_rule *)((char *)market + about->offset);
}

static void no_rules(struct stv_market *market)
{
    *market = (struct stv_market){.age_clock = STV_AGE_CLOCK_UNKNOWN};
    for (size_t i = 0; i < N_OF(number_rules); i++)
        member_of(market, &number_rules[i])->value = (double)NAN;
    market->age_clock_rule.value = market->duty_rounding.value = (double)NAN;
}

static void read_market(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                        const struct stv_markets *earlier, struct stv_market *out)
{
    no_rules(out);
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map, "a market is written with name, label and its rules");
        return;
    }
    stv_yaml_known_keys(context, map, market_keys, N_OF(market_keys));
    if (!stv_yaml_find(map, "name") || !stv_yaml_find(map, "label"))
        stv_yaml_refuse(context, map, "needs a name and a label; %s is missing",
                        stv_yaml_find(map, "name") ? "label" : "name");
    read_name(context, map, earlier, out);
    stv_yaml_text(context, map, "label", out->label, sizeof out->label);
    for (size_t i = 0; i < N_OF(number_rules); i++)
        read_number(context, map, &number_rules[i], member_of(out, &number_rules[i]));
    read_clock(context, map, out);
    read_rule(context, map, "duty_rounding", &out->duty_rounding);
}

static enum stv_status read_root(const struct stv_yaml_context *context,
                                 const struct stv_yaml_node *root, struct stv_markets *out)
{
    static const char *const keys[] = {"markets"};
    stv_yaml_known_keys(context, root, keys, N_OF(keys));
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "markets");
    if (!stv_yaml_find(root, "markets"))
        stv_yaml_refuse(context, root, "needs markets: a list of names with their rules");
    if (!list)
        return STV_OK;
    if (list->n_items == 0 || list->n_items > STV_MARKETS_MAX) {
        stv_yaml_refuse(context, list, "lists %zu markets; 1 to %d are wanted", list->n_items,
                        STV_MARKETS_MAX);
        return STV_OK;
    }
    out->items = malloc(list->n_items * sizeof *out->items);
    if (!out->items)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n_items; i++) {
        read_market(context, &list->items[i], out, &out->items[i]);
        out->n = i + 1;
    }
    return STV_OK;
}

enum stv_status stv_markets_read(const char *path, struct stv_problems *problems,
                                 struct stv_markets *out)
{
    *out = (struct stv_markets){0};
    size_t n_before = problems->n_by_severity[STV_REFUSED];
    struct stv_yaml_context context = {.file = path ? path : BUILT_IN, .problems = problems};
    struct stv_yaml_node *root = NULL;
    enum stv_status status = path ? stv_yaml_read(path, path, problems, &root)
                                  : stv_yaml_parse(stv__markets_text, strlen(stv__markets_text),
                                                   context.file, problems, &root);
    if (root) {
        enum stv_status here = read_root(&context, root, out);
        status = here == STV_OK ? status : here;
    }
    stv_yaml_free(root);
    if (status == STV_OK && problems->n_by_severity[STV_REFUSED] > n_before)
        status = STV_E_PARSE;
    if (status != STV_OK)
        stv_markets_free(out);
    return status;
}

void stv_markets_free(struct stv_markets *markets)
{
    if (!markets)
        return;
    free(markets->items);
    *markets = (struct stv_markets){0};
}

bool stv_market_is_none(const char *name)
{
    return strcasecmp(name, "none") == 0;
}

const struct stv_market *stv_markets_find(const struct stv_markets *markets, const char *name)
{
    for (size_t i = 0; i < markets->n; i++)
        if (strcasecmp(markets->items[i].name, name) == 0)
            return &markets->items[i];
    return NULL;
}

void stv_markets_advice(const struct stv_markets *markets, const char *name, char *why, size_t size)
{
    const char *names[STV_MARKETS_MAX];
    for (size_t i = 0; i < markets->n; i++)
        names[i] = markets->items[i].name;
    stv_word_advice(name, names, markets->n, why, size);
}

const char *stv_markets_text(void)
{
    return stv__markets_text;
}
