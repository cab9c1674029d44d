/* `stock`: what the house holds year by year, and casks to buy. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/csv.h"
#include "cli/session.h"
#include "cli/stock.h"
#include "cli/words.h"

#include <string.h>

static const struct {
    const char *key;
    enum stv_stock_figure figure;
} spans[] = {
    {"lost_lpa_l", STV_STOCK_LOST_LPA_L},       {"wood_air_lpa_l", STV_STOCK_WOOD_AIR_LPA_L},
    {"joints_lpa_l", STV_STOCK_JOINTS_LPA_L},   {"indrink_lpa_l", STV_STOCK_INDRINK_LPA_L},
    {"samples_lpa_l", STV_STOCK_SAMPLES_LPA_L}, {"leak_lpa_l", STV_STOCK_LEAK_LPA_L},
    {"angels_lpa_l", STV_STOCK_ANGELS_LPA_L},   {"filled_lpa_l", STV_STOCK_FILLED_LPA_L},
    {"taken_lpa_l", STV_STOCK_TAKEN_LPA_L},     {"moved_lpa_l", STV_STOCK_MOVED_LPA_L},
};
#define SPANS_N (sizeof spans / sizeof spans[0])

static const struct {
    const char *key;
    enum stv_stock_figure figure;
} states[] = {
    {"not_yet_lpa_l", STV_STOCK_YOUNG_LPA_L},    {"ready_lpa_l", STV_STOCK_READY_LPA_L},
    {"too_weak_lpa_l", STV_STOCK_WEAK_LPA_L},    {"over_wood_lpa_l", STV_STOCK_OVER_LPA_L},
    {"not_yet_casks", STV_STOCK_YOUNG_CASKS_ND}, {"ready_casks", STV_STOCK_READY_CASKS_ND},
    {"too_weak_casks", STV_STOCK_WEAK_CASKS_ND}, {"over_wood_casks", STV_STOCK_OVER_CASKS_ND},
};
#define STATES_N (sizeof states / sizeof states[0])

/* Sums beside the house's own; a house that never holds anything has none. */
static bool has_sums(const struct stv_stock_answer *answer)
{
    return answer->by != STV_STOCK_BY_HOUSE && answer->names[0][0];
}

static void add_value(json_t *object, const struct stv_stock_answer *answer, size_t label_idx,
                      size_t day_idx)
{
    const struct stv_prices *prices = &answer->chain->book.prices;
    struct stv_range angels =
        stv_stock_range(&answer->stock, label_idx, day_idx, STV_STOCK_ANGELS_LPA_L);
    double bottles_per_l = stv_bottles_of_lpa_nd(&answer->chain->book.rules, 1.0);
    stv_json_set(object, "angels_bottles", stv_json_range(angels, bottles_per_l));
    stv_json_set(object, "angels_price_as_bottles",
                 stv_json_range(angels, bottles_per_l * prices->per_bottle));
    stv_json_set(object, "angels_price_as_alcohol", stv_json_range(angels, prices->per_lpa));
}

static json_t *years_array(const struct stv_stock_answer *answer, size_t label_idx)
{
    const struct stv_stock *stock = &answer->stock;
    json_t *years = json_array();
    for (size_t y = 0; y <= answer->n_years; y++) {
        json_t *object = json_object();
        stv_json_set(object, "date", stv_json_day(answer->days_d[y]));
        stv_json_set(object, "casks",
                     json_integer((json_int_t)stock->n_full[label_idx * stock->n_days + y]));
        stv_json_set(object, "lpa_l",
                     stv_json_range(stv_stock_range(stock, label_idx, y, STV_STOCK_LPA_L), 1.0));
        stv_json_set(
            object, "volume20_l",
            stv_json_range(stv_stock_range(stock, label_idx, y, STV_STOCK_VOLUME20_L), 1.0));
        stv_json_set(
            object, "bottles",
            stv_json_range(stv_stock_range(stock, label_idx, y, STV_STOCK_BOTTLES_ND), 1.0));
        for (size_t i = 0; i < STATES_N; i++)
            stv_json_set(
                object, states[i].key,
                stv_json_range(stv_stock_range(stock, label_idx, y, states[i].figure), 1.0));
        for (size_t i = 0; i < SPANS_N && y > 0; i++)
            stv_json_set(
                object, spans[i].key,
                stv_json_range(stv_stock_range(stock, label_idx, y, spans[i].figure), 1.0));
        if (y > 0) {
            stv_json_set(object, "lost_pct",
                         stv_json_range(stv_stock_lost_frac(stock, label_idx, y), 100.0));
            add_value(object, answer, label_idx, y);
        }
        stv_json_append(years, object);
    }
    return years;
}

json_t *stv_stock_orders_json(const struct stv_stock_answer *answer, int64_t until_d)
{
    const struct stv_book *book = &answer->chain->book;
    json_t *orders = json_array();
    for (size_t f = 0; f < book->cask_plan.n_fills; f++) {
        const struct stv_planned_fill *fill = &book->cask_plan.fills[f];
        struct stv_stock_order order;
        (void)stv_stock_order_of(answer, f, &order);
        if (order.order_day_d > until_d || order.fill_day_d <= answer->chain->as_of_day_d)
            continue;
        json_t *object = json_object();
        stv_json_set(object, "fill_date", stv_json_day(fill->fill.day_d));
        stv_json_set(object, "order_by", stv_json_day(order.order_day_d));
        stv_json_set(object, "is_late", json_boolean(order.is_late));
        stv_json_set(object, "kind", stv_json_text(fill->kind));
        stv_json_set(object, "wood", stv_json_text(stv_buying_wood_name(fill->fill.wood)));
        stv_json_set(object, "size_l", stv_json_number(fill->fill.capacity_l));
        stv_json_set(object, "casks", json_integer((json_int_t)fill->fill.n_casks));
        stv_json_set(object, "come_free", json_integer((json_int_t)answer->plan.fills[f].n_own));
        stv_json_set(object, "to_buy", json_integer((json_int_t)answer->plan.fills[f].n_to_buy));
        stv_json_set(object, "price_each", stv_json_number(stv_stock_price_of(book, fill->kind)));
        stv_json_append(orders, object);
    }
    return orders;
}

static json_t *casks_array(const struct stv_stock_answer *answer)
{
    const struct stv_book *book = &answer->chain->book;
    json_t *casks = json_array();
    for (size_t c = 0; c < answer->n_casks; c++) {
        const struct stv_stock_cask *own = &answer->casks[c];
        size_t fill = answer->plan.fill_of_cask[c];
        bool was_filled = own->cask.free_day_d != INT64_MIN;
        json_t *object = json_object();
        stv_json_set(object, "cask", stv_json_text(book->ledger.casks[own->cask.cask_idx].id));
        stv_json_set(object, "free_from",
                     was_filled ? stv_json_day(own->cask.free_day_d) : json_null());
        stv_json_set(object, "free_by",
                     stv_json_text(own->is_empty     ? "empty now"
                                   : own->is_planned ? "history.csv"
                                                     : "planned age"));
        stv_json_set(object, "wood", stv_json_text(stv_buying_wood_name(own->cask.wood)));
        stv_json_set(object, "size_l", stv_json_number(own->cask.capacity_l));
        stv_json_set(object, "fills_left", json_integer((json_int_t)own->cask.n_fills_left));
        stv_json_set(object, "is_retired", json_boolean(own->cask.n_fills_left == 0));
        stv_json_set(object, "serves_fill",
                     fill == SIZE_MAX ? json_null()
                                      : stv_json_day(book->cask_plan.fills[fill].fill.day_d));
        stv_json_append(casks, object);
    }
    return casks;
}

/* Labels that are named. */
static json_t *sums_array(const struct stv_stock_answer *answer, size_t first, size_t n)
{
    json_t *sums = json_array();
    for (size_t l = first; l < first + n; l++) {
        if (!answer->names[l][0])
            continue;
        json_t *object = json_object();
        stv_json_set(object, "name", stv_json_text(answer->names[l]));
        stv_json_set(object, "years", years_array(answer, l));
        stv_json_append(sums, object);
    }
    return sums;
}

static void add_json(json_t *document, const void *result)
{
    const struct stv_stock_answer *answer = result;
    const struct stv_book *book = &answer->chain->book;
    json_t *uses = json_object();
    stv_json_set(document, "from_date", stv_json_day(answer->days_d[0]));
    stv_json_set(document, "to_date", stv_json_day(answer->days_d[answer->n_years]));
    stv_json_set(document, "currency", stv_json_text(book->prices.currency));
    stv_json_set(document, "years", years_array(answer, stv_stock_house(answer)));
    stv_json_set(document, "by", stv_json_text(stv_stock_by_key(answer->by)));
    stv_json_set(document, "sums", sums_array(answer, 0, has_sums(answer) ? answer->n_by : 0));
    stv_json_set(document, "kinds", sums_array(answer, answer->kinds_from, answer->n_kinds));
    stv_json_set(document, "casks_run", json_integer((json_int_t)answer->n_run));
    stv_json_set(document, "orders", stv_stock_orders_json(answer, INT64_MAX));
    stv_json_set(document, "casks", casks_array(answer));
    stv_json_set(uses, "fills_of_new", json_integer(book->wood_rules.most_uses[STV_WOOD_NEW]));
    stv_json_set(uses, "fills_of_used",
                 json_integer(book->wood_rules.most_uses[STV_WOOD_HELD_SPIRIT]));
    stv_json_set(uses, "fills_of_fortified",
                 json_integer(book->wood_rules.most_uses[STV_WOOD_HELD_FORTIFIED]));
    stv_json_set(uses, "lead_months", json_integer(book->cask_plan.lead_months));
    stv_json_set(uses, "is_assumed",
                 json_boolean(!(book->cask_plan.has_fills_of_new &&
                                book->cask_plan.has_fills_of_used && book->cask_plan.has_lead)));
    stv_json_set(document, "cask_plan", uses);
    stv_json_caution_by(document, stv_words_caution_planning);
    stv_json_caution_by(document, stv_words_caution_vapour);
}

static void add_csv_rows(struct stv_sheet *table, const struct stv_stock_answer *answer,
                         size_t label_idx, const char *name)
{
    const struct stv_stock *stock = &answer->stock;
    for (size_t y = 0; y <= answer->n_years; y++) {
        stv_sheet_add_text(table, name);
        stv_sheet_add_text(table, stv_format_iso_day(answer->days_d[y]).text);
        stv_csv_number(table, (double)stock->n_full[label_idx * stock->n_days + y]);
        stv_csv_range(table, stv_stock_range(stock, label_idx, y, STV_STOCK_LPA_L), 1.0);
        stv_csv_range(table, stv_stock_range(stock, label_idx, y, STV_STOCK_VOLUME20_L), 1.0);
        stv_csv_range(table, stv_stock_range(stock, label_idx, y, STV_STOCK_BOTTLES_ND), 1.0);
        for (size_t i = 0; i < SPANS_N; i++) {
            struct stv_range range = y ? stv_stock_range(stock, label_idx, y, spans[i].figure)
                                       : stv_stock_lost_frac(stock, label_idx, 0);
            stv_csv_range(table, range, 1.0);
        }
        stv_csv_range(table, stv_stock_lost_frac(stock, label_idx, y), 100.0);
        for (size_t i = 0; i < STATES_N; i++)
            stv_csv_range(table, stv_stock_range(stock, label_idx, y, states[i].figure), 1.0);
    }
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct stv_stock_answer *answer = result;
    struct stv_text names = {0};
    stv_text_add(&names, "sum,date,casks,lpa_l*,volume20_l*,bottles*");
    for (size_t i = 0; i < SPANS_N; i++)
        stv_text_format(&names, ",%s*", spans[i].key);
    stv_text_add(&names, ",lost_pct*");
    for (size_t i = 0; i < STATES_N; i++)
        stv_text_format(&names, ",%s*", states[i].key);
    stv_csv_heads(table, stv_text_string(&names));
    table->has_failed = table->has_failed || names.has_failed;
    stv_text_free(&names);
    for (size_t l = 0; l < answer->n_by && has_sums(answer); l++)
        add_csv_rows(table, answer, l, answer->names[l]);
    add_csv_rows(table, answer, stv_stock_house(answer), "the house");
}

static void add_text(struct stv_text *text, const void *result)
{
    stv_words_stock(text, result);
}

static enum stv_stock_by by_of(const struct stv_options *options)
{
    enum stv_stock_by by = STV_STOCK_BY_TIER;
    while (strcmp(stv_stock_by_key(by), stv_options_text(options, STV_OPT_STOCK_BY)) != 0)
        by++;
    return by;
}

int stv_cmd_stock(const struct stv_options *options)
{
    struct stv_session session;
    struct stv_stock_answer result = {0};
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    enum stv_status status =
        stv_stock_make(&session.chain, by_of(options),
                       (size_t)stv_options_number(options, STV_OPT_STOCK_YEARS), &result);
    if (status != STV_OK) {
        stv_stock_answer_free(&result);
        return stv_session_fail(&session, status, "The stock could not be worked out: %s.",
                                stv_status_text(status));
    }
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    stv_stock_answer_free(&result);
    return stv_session_close(&session, status);
}
