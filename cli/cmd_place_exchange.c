/* `place --exchange`: whether two tiers, or two casks, had better change places. */
#include "cli/cmd_place.h"

#include "cli/answer.h"
#include "cli/cask_state.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/place_crew.h"
#include "cli/words.h"
#include "cli/words_place_exchange.h"
#include "ingest/quantity.h"
#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define WHY_MAX 384
#define TEXT_MAX 256
#define YEARS_AHEAD 3

/* One side: a cask, or all casks of a tier. */
struct side {
    int cask_idx;           /* -1: a tier */
    struct stv_place place; /* of the cask, or the tier with bay and depth -1 */
    int *casks;             /* n_casks, fronts first along the bays */
    size_t n_casks;
};

struct reading {
    const struct stv_chain *chain;
    struct side sides[2];
    int64_t exchange_day_d, until_day_d;
    char why[WHY_MAX];
};

static bool lies_full(const struct stv_chain *chain, int cask_idx, struct stv_place *out)
{
    *out = stv_lineage_place(chain->lineage, cask_idx);
    return stv_place_is_whole(out) && stv_lineage_spirit(chain->lineage, cask_idx).is_there;
}

static bool read_cask(struct reading *reading, const char *id, struct side *side)
{
    side->cask_idx = stv_chain_cask(reading->chain, id);
    if (side->cask_idx < 0) {
        const char *nearest = stv_chain_nearest_cask(reading->chain, id);
        snprintf(reading->why, sizeof reading->why, "there is no cask \"%.40s\"%s%.40s%s", id,
                 nearest ? "; did you mean \"" : " in casks.csv", nearest ? nearest : "",
                 nearest ? "\"?" : "");
        return false;
    }
    if (!lies_full(reading->chain, side->cask_idx, &side->place)) {
        snprintf(reading->why, sizeof reading->why,
                 "cask %.40s is empty, or its place is not said whole", id);
        return false;
    }
    side->casks = malloc(sizeof *side->casks);
    if (!side->casks)
        return false;
    side->casks[side->n_casks++] = side->cask_idx;
    return true;
}

/* Full casks of the tier, fronts first, along the bays. */
static bool find_casks(struct reading *reading, struct side *side)
{
    const struct stv_chain *chain = reading->chain;
    const struct stv_building *building =
        &chain->book.warehouses[side->place.warehouse_idx].building;
    size_t n_cells = building->n_bays * building->n_depth;
    int *there = malloc((n_cells + 1) * sizeof *there);
    side->casks = malloc((n_cells + 1) * sizeof *side->casks);
    if (!there || !side->casks) {
        free(there);
        return false;
    }
    for (size_t i = 0; i < n_cells; i++)
        there[i] = -1;
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++) {
        struct stv_place place;
        if (lies_full(chain, (int)c, &place) && place.warehouse_idx == side->place.warehouse_idx &&
            place.tier_idx == side->place.tier_idx)
            there[(size_t)place.depth_idx * building->n_bays + (size_t)place.bay_idx] = (int)c;
    }
    for (size_t i = 0; i < n_cells; i++)
        if (there[i] >= 0)
            side->casks[side->n_casks++] = there[i];
    free(there);
    if (side->n_casks == 0)
        snprintf(reading->why, sizeof reading->why,
                 "no full cask lies on tier %d, in a place that is said whole",
                 side->place.tier_idx + 1);
    return side->n_casks > 0;
}

static bool read_tier(struct reading *reading, const char *name, const char *number,
                      struct side *side)
{
    const struct stv_book *book = &reading->chain->book;
    char reason[WHY_MAX / 2];
    size_t tier = 0;
    side->place = (struct stv_place){book->n_warehouses == 1 && !name[0] ? 0 : -1, -1, -1, -1};
    for (size_t w = 0; w < book->n_warehouses && name[0]; w++)
        if (strcasecmp(book->warehouses[w].name, name) == 0)
            side->place.warehouse_idx = (int)w;
    if (side->place.warehouse_idx < 0) {
        snprintf(reading->why, sizeof reading->why,
                 name[0] ? "there is no store \"%.60s\" in book.yaml"
                         : "name the store before the tier, as \"STORE tier 6\"%.0s",
                 name);
        return false;
    }
    const size_t range[2] = {1, book->warehouses[side->place.warehouse_idx].building.n_tiers};
    if (stv_count_parse(number, range, &tier, reason, sizeof reason) != STV_OK) {
        snprintf(reading->why, sizeof reading->why, "tier \"%.20s\" is none of 1 to %zu", number,
                 range[1]);
        return false;
    }
    side->place.tier_idx = (int)tier - 1;
    return find_casks(reading, side);
}

/* How an exchange is written in this book: of several stores, with the name of one. */
static void write_forms(const struct stv_book *book, char out[WHY_MAX])
{
    const char *store = book->n_warehouses > 1 ? book->warehouses[0].name : "";
    const char *blank = store[0] ? " " : "";
    snprintf(out, WHY_MAX,
             " Write it as \"%.60s%stier %zu with %.60s%stier 1 on 2029-06-01\" or \"cask 12 with "
             "cask 47\".",
             store, blank, book->warehouses[0].building.n_tiers, store, blank);
}

/* "tier 6", "Long Shed tier 6", "cask 12". */
static bool read_side(struct reading *reading, char *text, struct side *side)
{
    side->cask_idx = -1;
    if (strncmp(text, "cask ", 5) == 0)
        return read_cask(reading, text + 5, side);
    char *tier = strncmp(text, "tier ", 5) == 0 ? text : strstr(text, " tier ");
    if (!tier) {
        snprintf(reading->why, sizeof reading->why, "\"%.60s\" is neither a tier nor a cask", text);
        return false;
    }
    char *number = tier + (tier == text ? 5 : 6);
    *tier = tier == text ? *tier : '\0';
    return read_tier(reading, tier == text ? "" : text, number, side);
}

static bool read_days(struct reading *reading, const struct stv_options *options,
                      const char *day_text)
{
    char reason[WHY_MAX / 2];
    int64_t from_d = reading->chain->as_of_day_d;
    reading->until_day_d = stv_options_has(options, STV_OPT_UNTIL)
                               ? stv_options_day(options, STV_OPT_UNTIL)
                               : stv_day_add_months(from_d, YEARS_AHEAD * STV_MONTHS);
    if (reading->until_day_d <= from_d || reading->until_day_d > from_d + STV_MOST_AHEAD_D) {
        snprintf(reading->why, sizeof reading->why,
                 "--until must lie after %s, within 60 years of it",
                 stv_format_iso_day(from_d).text);
        return false;
    }
    reading->exchange_day_d = from_d + (reading->until_day_d - from_d) / 2;
    if (day_text &&
        stv_date_parse(day_text, &reading->exchange_day_d, reason, sizeof reason) != STV_OK) {
        snprintf(reading->why, sizeof reading->why, "\"%.30s\" is not a day written as 2029-06-01",
                 day_text);
        return false;
    }
    if (reading->exchange_day_d < from_d || reading->exchange_day_d >= reading->until_day_d) {
        snprintf(reading->why, sizeof reading->why,
                 "%s lies outside what is told, %s to %s: --date and --until move the ends",
                 stv_format_iso_day(reading->exchange_day_d).text, stv_format_iso_day(from_d).text,
                 stv_format_iso_day(reading->until_day_d).text);
        return false;
    }
    return true;
}

/* Nothing changes places with itself. */
static bool are_apart(struct reading *reading)
{
    const struct side *one = &reading->sides[0], *other = &reading->sides[1];
    for (size_t i = 0; i < one->n_casks; i++)
        for (size_t j = 0; j < other->n_casks; j++)
            if (one->casks[i] == other->casks[j]) {
                snprintf(reading->why, sizeof reading->why,
                         "cask %.40s is on both sides, and nothing changes places with itself",
                         reading->chain->book.ledger.casks[one->casks[i]].id);
                return false;
            }
    return true;
}

static bool read_words(struct reading *reading, const struct stv_options *options)
{
    char text[TEXT_MAX];
    if ((size_t)snprintf(text, sizeof text, "%s", stv_options_text(options, STV_OPT_EXCHANGE)) >=
        sizeof text) {
        snprintf(reading->why, sizeof reading->why, "it is too long");
        return false;
    }
    char *with = strstr(text, " with ");
    if (!with) {
        snprintf(reading->why, sizeof reading->why, "\"with\" is missing between the two");
        return false;
    }
    *with = '\0';
    char *other = with + 6, *on = strstr(other, " on ");
    if (on)
        *on = '\0';
    return read_days(reading, options, on ? on + 4 : NULL) &&
           read_side(reading, text, &reading->sides[0]) &&
           read_side(reading, other, &reading->sides[1]) && are_apart(reading);
}

/* True when the plate at the other side leaves less for one cask than this one weighs. */
static bool is_too_heavy(const struct reading *reading, int cask_idx, const struct side *to)
{
    const struct stv_warehouse *warehouse =
        &reading->chain->book.warehouses[to->place.warehouse_idx];
    return stv_place_book_cask_kg(reading->chain, cask_idx) >
           stv_place_plate_kg(warehouse, to->place.tier_idx);
}

/* True when history.csv moves or empties it before the exchange. */
static bool is_gone(const struct reading *reading, int cask_idx)
{
    const struct stv_chain *chain = reading->chain;
    int event_idx = stv_planned_leave(chain, cask_idx);
    return event_idx >= 0 && chain->book.ledger.events[event_idx].day_d <= reading->exchange_day_d;
}

/* Returns how many are taken off the two sides. */
static size_t drop_gone(struct reading *reading)
{
    size_t n_gone = 0;
    for (int s = 0; s < 2; s++) {
        struct side *side = &reading->sides[s];
        size_t n = 0;
        for (size_t i = 0; i < side->n_casks; i++)
            if (!is_gone(reading, side->casks[i]))
                side->casks[n++] = side->casks[i];
        n_gone += side->n_casks - n;
        side->n_casks = n;
    }
    return n_gone;
}

static size_t count_too_heavy(const struct reading *reading)
{
    size_t n = 0;
    for (int s = 0; s < 2; s++)
        for (size_t i = 0; i < reading->sides[s].n_casks; i++)
            n += is_too_heavy(reading, reading->sides[s].casks[i], &reading->sides[1 - s]);
    return n;
}

/* Pairs of one size that the plates bear; casks without a partner of theirs stay. */
static size_t make_pairs(const struct reading *reading, struct stv_exchange_pair *pairs)
{
    const struct side *one = &reading->sides[0], *other = &reading->sides[1];
    const struct stv_cask *casks = reading->chain->book.ledger.casks;
    char *is_taken = calloc(other->n_casks + 1, 1);
    size_t n = 0;
    for (size_t i = 0; i < one->n_casks && is_taken; i++)
        for (size_t j = 0; j < other->n_casks; j++) {
            int a = one->casks[i], b = other->casks[j];
            if (is_taken[j] || casks[a].geometry.capacity_l != casks[b].geometry.capacity_l ||
                is_too_heavy(reading, a, other) || is_too_heavy(reading, b, one))
                continue;
            is_taken[j] = 1;
            pairs[n] = (struct stv_exchange_pair){.one_idx = a, .other_idx = b};
            pairs[n].one_place = stv_lineage_place(reading->chain->lineage, a);
            pairs[n++].other_place = stv_lineage_place(reading->chain->lineage, b);
            break;
        }
    free(is_taken);
    return n;
}

static enum stv_status make_crew(const struct stv_chain *chain, struct stv_place_exchange *told,
                                 struct stv_place *to)
{
    struct stv_place_house *house = &told->house;
    house->items = calloc(2 * told->n_pairs + 1, sizeof *house->items);
    if (!house->items)
        return STV_E_MEMORY;
    for (size_t p = 0; p < told->n_pairs; p++) {
        const struct stv_exchange_pair *pair = &told->pairs[p];
        const int cask_idx[2] = {pair->one_idx, pair->other_idx};
        const struct stv_place places[2] = {pair->one_place, pair->other_place};
        for (size_t i = 0; i < 2; i++) {
            const struct stv_cask *cask = &chain->book.ledger.casks[cask_idx[i]];
            struct stv_place_item *item = &house->items[house->n_items];
            *item = (struct stv_place_item){.cask_idx = cask_idx[i], .from = places[i]};
            memcpy(item->id, cask->id, sizeof item->id);
            item->mass_kg = stv_place_book_cask_kg(chain, cask_idx[i]);
            to[house->n_items++] = places[1 - i];
        }
    }
    enum stv_status status = stv_place_crew(chain, house->items, to, house->n_items, house);
    told->exchange.moved_kg = status == STV_OK ? stv_place_crew_kg(chain, house) : (double)NAN;
    return status;
}

static enum stv_status work(struct reading *reading, struct stv_place_exchange *told)
{
    const struct stv_chain *chain = reading->chain;
    told->n_gone = drop_gone(reading);
    size_t n_most = reading->sides[0].n_casks + 1;
    struct stv_place *to = malloc(2 * n_most * sizeof *to);
    told->pairs = malloc(n_most * sizeof *told->pairs);
    enum stv_status status = to && told->pairs ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        struct stv_outlook_request request = stv_chain_request(chain);
        told->n_pairs = make_pairs(reading, told->pairs);
        told->one = reading->sides[0].place;
        told->other = reading->sides[1].place;
        told->n_too_heavy = count_too_heavy(reading);
        told->n_without_partner = reading->sides[0].n_casks + reading->sides[1].n_casks -
                                  2 * told->n_pairs - told->n_too_heavy;
        told->exchange_day_d = reading->exchange_day_d;
        told->until_day_d = reading->until_day_d;
        struct stv_exchange_ask ask = {told->pairs, told->n_pairs, chain->as_of_day_d,
                                       reading->exchange_day_d, reading->until_day_d};
        status = told->n_pairs ? stv_exchange_run(&request, &ask, &told->exchange) : STV_E_NO_DATA;
    }
    if (status == STV_OK) {
        told->verdict = stv_exchange_judge(&told->exchange, 2 * told->n_pairs);
        status = make_crew(chain, told, to);
    }
    free(to);
    return status;
}

struct result {
    const struct stv_chain *chain;
    const struct stv_place_exchange *told;
    bool with_crew;
};

static const char *verdict_key(enum stv_exchange_verdict verdict)
{
    static const char *const keys[] = {[STV_EXCHANGE_NO_MATTER] = "does not matter",
                                       [STV_EXCHANGE_EVENS_OUT] = "evens out, does not save",
                                       [STV_EXCHANGE_SAVES] = "saves",
                                       [STV_EXCHANGE_COSTS] = "costs"};
    return keys[verdict];
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    const struct stv_exchange *exchange = &all->told->exchange;
    stv_json_set(document, "from_date", stv_json_day(all->chain->as_of_day_d));
    stv_json_set(document, "exchange_date", stv_json_day(all->told->exchange_day_d));
    stv_json_set(document, "until_date", stv_json_day(all->told->until_day_d));
    stv_json_set(document, "verdict", stv_json_text(verdict_key(all->told->verdict)));
    stv_json_set(document, "pairs", json_integer((json_int_t)all->told->n_pairs));
    stv_json_set(document, "without_partner",
                 json_integer((json_int_t)all->told->n_without_partner));
    stv_json_set(document, "leave_before", json_integer((json_int_t)all->told->n_gone));
    stv_json_set(document, "too_heavy_for_plate", json_integer((json_int_t)all->told->n_too_heavy));
    stv_json_set(document, "moves", json_integer((json_int_t)exchange->n_moves));
    stv_json_set(document, "moved_kg", stv_json_number(exchange->moved_kg));
    stv_json_set(document, "spread_l", stv_json_range(exchange->spread_l, 1.0));
    stv_json_set(document, "exchanged_spread_l", stv_json_range(exchange->exchanged_spread_l, 1.0));
    stv_json_set(document, "total_l", stv_json_range(exchange->total_l, 1.0));
    stv_json_set(document, "exchanged_total_l", stv_json_range(exchange->exchanged_total_l, 1.0));
    stv_json_set(document, "gain_l", stv_json_range(exchange->gain_l, 1.0));
    stv_json_set(document, "gain_pct", stv_json_range(exchange->gain_frac, 100.0));
    stv_json_set(document, "gain_bottles", stv_json_range(exchange->gain_bottles_nd, 1.0));
    stv_json_set(document, "gain_still_fruit_index", stv_json_range(exchange->gain_fruit_nd, 1.0));
    stv_json_set(document, "crew", stv_place_crew_json(all->chain, &all->told->house));
    stv_json_caution_by(document, stv_words_caution_moving);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    const struct stv_exchange *exchange = &all->told->exchange;
    if (all->with_crew) {
        stv_place_crew_csv(table, all->chain, &all->told->house);
        return;
    }
    stv_csv_heads(table, "verdict,moves,moved_kg,spread_l*,exchanged_spread_l*,total_l*,"
                         "exchanged_total_l*,gain_pct*,gain_bottles*,gain_l*");
    stv_sheet_add_text(table, verdict_key(all->told->verdict));
    stv_csv_number(table, (double)exchange->n_moves);
    stv_csv_number(table, exchange->moved_kg);
    stv_csv_range(table, exchange->spread_l, 1.0);
    stv_csv_range(table, exchange->exchanged_spread_l, 1.0);
    stv_csv_range(table, exchange->total_l, 1.0);
    stv_csv_range(table, exchange->exchanged_total_l, 1.0);
    stv_csv_range(table, exchange->gain_frac, 100.0);
    stv_csv_range(table, exchange->gain_bottles_nd, 1.0);
    stv_csv_range(table, exchange->gain_l, 1.0);
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_place_exchange(text, all->chain, all->told, all->with_crew);
}

int stv__place_exchange(struct stv_session *session)
{
    const struct stv_options *options = session->options;
    struct reading reading = {.chain = &session->chain};
    struct stv_place_exchange told = {0};
    enum stv_status status = STV_E_USAGE;
    if (read_words(&reading, options)) {
        status = work(&reading, &told);
        if (status == STV_E_NO_DATA)
            snprintf(reading.why, sizeof reading.why,
                     told.n_gone ? "%s moved or emptied by history.csv before that day, and no "
                                   "other pair of one size is there"
                     : told.n_too_heavy
                         ? "%s heavier than the plate on the other side leaves for one "
                           "cask, and no other pair of one size is there"
                         : "no two casks of one size can change places%.0s",
                     stv_format_count(told.n_gone ? told.n_gone : told.n_too_heavy, "cask is",
                                      "casks are")
                         .text);
    } else if (!reading.why[0]) {
        status = STV_E_MEMORY;
    }
    free(reading.sides[0].casks);
    free(reading.sides[1].casks);
    if (status == STV_OK) {
        const struct result result = {&session->chain, &told,
                                      stv_options_has(options, STV_OPT_CREW)};
        const struct stv_answer answer = {&result, add_text, add_json, add_csv};
        status = stv_answer_write(options, &session->chain, &session->chain.problems, &answer);
        stv_place_house_free(&told.house);
        free(told.pairs);
        return stv_session_close(session, status);
    }
    stv_place_house_free(&told.house);
    free(told.pairs);
    if (!reading.why[0])
        return stv_session_fail(session, status, "The exchange could not be weighed: %s.",
                                stv_status_text(status));
    char forms[WHY_MAX] = "";
    if (status != STV_E_NO_DATA)
        write_forms(&session->chain.book, forms);
    return stv_session_fail(session, status, "--exchange \"%.80s\": %s.%s",
                            stv_options_text(options, STV_OPT_EXCHANGE), reading.why, forms);
}
