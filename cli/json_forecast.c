/* A forecast for other programs.  Keys carry units; those of a row stand in one table for JSON and
 * CSV alike. */
#include "cli/forecast_answer.h"

#include "cli/cask_state.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/json_document.h"
#include "cli/json_lineage.h"
#include "cli/words.h"
#include "model/calendar.h"

#include <math.h>

/* Which quantity stands under which key; new ones are added at the end. */
static const struct {
    const char *key;
    enum stv_quantity quantity;
    double factor_nd;
} keys[] = {
    {"volume20_l", STV_Q_VOLUME20_L, 1.0},
    {"abv20_pct", STV_Q_ABV20_FRAC, 100.0},
    {"lpa_l", STV_Q_LPA_L, 1.0},
    {"water_lost_kg", STV_Q_WATER_LOST_KG, 1.0},
    {"ethanol_lost_kg", STV_Q_ETHANOL_LOST_KG, 1.0},
    {"wood_index", STV_Q_WOOD_INDEX_ND, 1.0},
    {"cask_esters_index", STV_Q_CASK_ESTERS_ND, 1.0},
    {"still_fruit_index", STV_Q_STILL_FRUIT_ND, 1.0},
    {"wood_air_lpa_l", STV_Q_AIR_LPA_L, 1.0},
    {"joints_lpa_l", STV_Q_JOINT_LPA_L, 1.0},
    {"indrink_lpa_l", STV_Q_INDRINK_LPA_L, 1.0},
    {"samples_lpa_l", STV_Q_SAMPLE_LPA_L, 1.0},
    {"bottles", STV_Q_BOTTLES_ND, 1.0},
    {"leak_lpa_l", STV_Q_LEAK_LPA_L, 1.0},
    {"wood_air_l", STV_Q_AIR_L, 1.0},
    {"joints_l", STV_Q_JOINT_L, 1.0},
    {"indrink_l", STV_Q_INDRINK_L, 1.0},
    {"samples_l", STV_Q_SAMPLE_L, 1.0},
    {"leak_l", STV_Q_LEAK_L, 1.0},
    {"lactone_index", STV_Q_LACTONE_ND, 1.0},
    {"aldehydes_index", STV_Q_ALDEHYDES_ND, 1.0},
    {"tannins_index", STV_Q_TANNINS_ND, 1.0},
    {"acids_index", STV_Q_ACIDS_ND, 1.0},
    {"sugars_index", STV_Q_SUGARS_ND, 1.0},
};
#define KEYS_N (sizeof keys / sizeof keys[0])

static json_t *row_object(const struct stv_forecast_row *row)
{
    json_t *object = json_object();
    stv_json_set(object, "date", stv_json_day(row->day_d));
    for (size_t i = 0; i < KEYS_N; i++)
        stv_json_set(object, keys[i].key,
                     stv_json_range(row->quantity[keys[i].quantity], keys[i].factor_nd));
    stv_json_set(object, "is_in_weather_record", json_boolean(row->is_in_record));
    stv_json_set(object, "asked_age_y", stv_json_number(row->asked_age_y));
    return object;
}

static json_t *gauge_object(const struct stv_chain *chain, const struct stv_forecast_cask *cask)
{
    if (cask->gauge_idx < 0)
        return json_null();
    const struct stv_gauge *gauge = &chain->book.gauges[cask->gauge_idx];
    json_t *object = json_object();
    stv_json_set(object, "date", stv_json_day(gauge->day_d));
    stv_json_set(object, "volume20_l", stv_json_number(gauge->volume20_l));
    stv_json_set(object, "volume20_sd_l", stv_json_number(gauge->volume_sd_l));
    stv_json_set(object, "abv20_pct", stv_json_number(100.0 * gauge->abv20_frac));
    stv_json_set(object, "expected_volume20_l",
                 stv_json_range(cask->at_gauge.quantity[STV_Q_VOLUME20_L], 1.0));
    stv_json_set(object, "expected_abv20_pct",
                 stv_json_range(cask->at_gauge.quantity[STV_Q_ABV20_FRAC], 100.0));
    return object;
}

static json_t *losses_object(const struct stv_chain *chain, const struct stv_losses_told *losses)
{
    json_t *object = json_object();
    double bottles_per_l = stv_bottles_of_lpa_nd(&chain->book.rules, 1.0);
    for (size_t l = 0; l < STV_LOSS_N; l++) {
        json_t *part = json_object();
        stv_json_set(part, "bottles", stv_json_range(losses->lpa_l[l], bottles_per_l));
        stv_json_set(part, "lpa_l", stv_json_range(losses->lpa_l[l], 1.0));
        stv_json_set(part, "volume20_l", stv_json_range(losses->volume20_l[l], 1.0));
        stv_json_set(object, stv_loss_key((enum stv_loss)l), part);
    }
    return object;
}

static json_t *crossings_array(const struct stv_forecast *forecast,
                               const struct stv_forecast_cask *cask)
{
    json_t *array = json_array();
    for (size_t t = 0; cask->crossings && t < forecast->n_thresholds; t++) {
        const struct stv_threshold *threshold = &forecast->thresholds[t];
        const struct stv_crossing *crossing = &cask->crossings[t];
        json_t *object = json_object();
        for (size_t i = 0; i < KEYS_N; i++) {
            if (keys[i].quantity != threshold->quantity)
                continue;
            stv_json_set(object, "of", stv_json_text(keys[i].key));
            stv_json_set(object, threshold->level.is_fallen_to ? "falls_to" : "rises_to",
                         stv_json_number(keys[i].factor_nd * threshold->level.value));
        }
        stv_json_set_crossing(object, crossing, forecast->horizon_day_d);
        stv_json_append(array, object);
    }
    return array;
}

static json_t *cask_object(const struct stv_chain *chain, const struct stv_forecast *forecast,
                           const struct stv_forecast_cask *cask)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    bool is_full = cask->fill_idx >= 0;
    struct stv_place place = stv_lineage_place(chain->lineage, cask->cask_idx);
    json_t *object = json_object();
    stv_json_set(object, "cask", stv_json_text(ledger->casks[cask->cask_idx].id));
    stv_json_set(object, "kind", stv_json_text(ledger->casks[cask->cask_idx].kind_name));
    stv_json_set(object, "is_full", json_boolean(is_full));
    stv_json_set(object, "position", stv_json_place_object(chain, &place));
    stv_json_set(object, "filled",
                 is_full ? stv_json_day(ledger->events[cask->fill_idx].day_d) : json_null());
    stv_json_set(object, "emptied",
                 cask->emptied ? stv_json_day(cask->emptied->day_d) : json_null());
    stv_json_set(object, "had_water",
                 json_boolean(stv_lineage_spirit(chain->lineage, cask->cask_idx).had_water));
    stv_json_set(object, "lineage", stv_json_lineage(chain, cask->cask_idx));
    stv_json_set(object, "now", is_full ? row_object(&cask->now) : json_null());
    stv_json_set(object, "last_gauge", gauge_object(chain, cask));
    json_t *path = json_array();
    for (size_t i = 0; i < cask->n_rows; i++)
        stv_json_append(path, row_object(&cask->rows[i]));
    stv_json_set(object, "path", path);
    stv_json_set(object, "gone_since_fill",
                 is_full ? losses_object(chain, &cask->gone) : json_null());
    stv_json_set(object, "gone_in_the_coming_year",
                 is_full ? losses_object(chain, &cask->coming) : json_null());
    stv_json_set(object, "crossings", crossings_array(forecast, cask));
    return object;
}

/* --- the house ---------------------------------------------------------------------------- */

static json_t *totals_object(const struct stv_chain *chain,
                             const struct stv_forecast_totals *totals, int64_t day_d)
{
    json_t *object = json_object();
    stv_json_set(object, "date", stv_json_day(day_d));
    stv_json_set(object, "volume20_l", stv_json_range(totals->volume20_l, 1.0));
    stv_json_set(object, "lpa_l", stv_json_range(totals->lpa_l, 1.0));
    stv_json_set(object, "bottles", stv_json_range(totals->bottles_nd, 1.0));
    stv_json_set(object, "gone_since_fill", losses_object(chain, &totals->gone));
    return object;
}

static json_t *house_object(const struct stv_chain *chain, const struct stv_forecast *forecast)
{
    const struct stv_forecast_totals *now = &forecast->now;
    json_t *house = json_object();
    bool has_totals = forecast->has_totals;
    stv_json_set(house, "full", json_integer((json_int_t)forecast->n_full));
    stv_json_set(house, "empty", json_integer((json_int_t)forecast->n_empty));
    if (forecast->n_full == 0)
        return house;
    stv_json_set(house, "lpa_l", has_totals ? stv_json_range(now->lpa_l, 1.0) : json_null());
    stv_json_set(house, "bottles", has_totals ? stv_json_range(now->bottles_nd, 1.0) : json_null());
    stv_json_set(house, "casks_too_weak",
                 has_totals ? json_integer((json_int_t)now->n_weak) : json_null());
    stv_json_set(house, "casks_overfull",
                 has_totals ? json_integer((json_int_t)now->n_overfull) : json_null());
    stv_json_set(house, "now",
                 has_totals ? totals_object(chain, now, chain->as_of_day_d) : json_null());
    stv_json_set(house, "end",
                 has_totals ? totals_object(chain, &forecast->end, forecast->end_day_d)
                            : json_null());
    return house;
}

static json_t *sums_array(const struct stv_forecast_answer *answer)
{
    const struct stv_forecast *forecast = answer->forecast;
    json_t *array = json_array();
    for (size_t s = 0; s < forecast->n_sums; s++) {
        const struct stv_forecast_sum *sum = &forecast->sums[s];
        json_t *object = json_object();
        stv_json_set(object, "name", stv_json_text(sum->name));
        stv_json_set(object, "casks", json_integer((json_int_t)sum->n_casks));
        stv_json_set(object, "now",
                     totals_object(answer->chain, &sum->now, answer->chain->as_of_day_d));
        stv_json_set(object, "end", totals_object(answer->chain, &sum->end, forecast->end_day_d));
        stv_json_append(array, object);
    }
    return array;
}

/* --- comparisons -------------------------------------------------------------------------- */

static void set_figures(json_t *object, const struct stv_compared *figures)
{
    for (size_t f = 0; f < STV_FIGURE_TOLD; f++) {
        const struct stv_figure_form *form = stv_figure_form((enum stv_figure)f);
        const struct stv_compared *told = &figures[f];
        json_t *figure = json_object();
        stv_json_set(figure, "one", stv_json_range(told->one, form->factor_nd));
        stv_json_set(figure, "other", stv_json_range(told->other, form->factor_nd));
        stv_json_set(figure, "difference", stv_json_range(told->difference, form->factor_nd));
        stv_json_set(figure, "ratio", stv_json_range(told->ratio_nd, 1.0));
        stv_json_set(figure, "matters", json_boolean(told->matters));
        stv_json_set(figure, "is_sign_sure", json_boolean(told->is_sure));
        stv_json_set(object, form->key, figure);
    }
    stv_json_set(object, "oak_ratio", stv_json_range(figures[STV_FIGURE_OAK].ratio_nd, 1.0));
}

static json_t *comparison_array(const struct stv_chain *chain,
                                const struct stv_comparison *comparison, bool has_together)
{
    const struct stv_cask *casks = chain->book.ledger.casks;
    json_t *array = json_array();
    for (size_t p = 0; p < comparison->n_pairs + has_together; p++) {
        bool is_pair = p < comparison->n_pairs;
        const struct stv_compare_pair *pair = is_pair ? &comparison->pairs[p] : NULL;
        for (size_t d = 0; d < comparison->n_days; d++) {
            json_t *object = json_object();
            stv_json_set(object, "cask",
                         pair ? stv_json_text(casks[pair->cask_idx].id) : json_null());
            stv_json_set(object, "held_in",
                         pair ? stv_json_text(casks[pair->other_idx].id) : json_null());
            stv_json_set(object, "date", stv_json_day(comparison->days_d[d]));
            set_figures(object, pair ? stv_compared_of(comparison, p, d, (enum stv_figure)0)
                                     : comparison->together + d * STV_FIGURE_N);
            stv_json_append(array, object);
        }
    }
    return array;
}

static json_t *what_if_object(const struct stv_forecast_answer *answer)
{
    if (answer->n_sentences == 0)
        return json_null();
    json_t *object = json_object(), *sentences = json_array();
    for (size_t i = 0; i < answer->n_sentences; i++)
        stv_json_append(sentences, stv_json_text(answer->sentences[i]));
    stv_json_set(object, "sentences", sentences);
    stv_json_set(object, "compared", comparison_array(answer->chain, &answer->what_if, true));
    return object;
}

static json_t *cycling_object(const struct stv_forecast_answer *answer)
{
    if (!isfinite(answer->cycling_gain_per_k))
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "gain_per_k", stv_json_number(answer->cycling_gain_per_k));
    stv_json_set(object, "compared", comparison_array(answer->chain, &answer->cycling, false));
    return object;
}

void stv_forecast_json(json_t *document, const struct stv_forecast_answer *answer)
{
    const struct stv_forecast *forecast = answer->forecast;
    size_t n_left_out = 0;
    json_t *casks = json_array();
    for (size_t i = 0; i < forecast->n_casks; i++) {
        n_left_out += forecast->casks[i].n_left_out;
        if (answer->by == STV_BY_CASK)
            stv_json_append(casks, cask_object(answer->chain, forecast, &forecast->casks[i]));
    }
    stv_json_set(document, "casks", casks);
    stv_json_set(document, "house", house_object(answer->chain, forecast));
    stv_json_set(document, "sums", sums_array(answer));
    stv_json_set(document, "what_if", what_if_object(answer));
    stv_json_set(document, "cycling", cycling_object(answer));
    stv_json_set(document, "warming_k_per_y", stv_json_number(answer->chain->run.warming_k_per_y));
    stv_json_set(document, "balance_residual_frac",
                 stv_json_number(forecast->balance_residual_frac));
    stv_json_caution_by(document, stv_words_caution_planning);
    stv_json_caution_by(document, stv_words_caution_room);
    struct stv_text cautions = {0};
    stv_words_compared_cautions(&cautions, answer);
    stv_words_caution_haze(&cautions, &answer->chain->book.rules);
    stv_json_caution_text(document, &cautions);
    if (n_left_out > 0)
        stv_json_warn(document,
                      "%zu of the days or ages asked for lie before the fill of their cask and are "
                      "left out.",
                      n_left_out);
}

/* --- CSV ---------------------------------------------------------------------------------- */

static void end_heads(struct stv_sheet *table, struct stv_text *names)
{
    stv_csv_heads(table, stv_text_string(names));
    table->has_failed = table->has_failed || names->has_failed;
    stv_text_free(names);
}

static void add_paths(struct stv_sheet *table, const struct stv_forecast_answer *answer)
{
    const struct stv_forecast *forecast = answer->forecast;
    struct stv_text names = {0};
    stv_text_add(&names, "cask,date");
    for (size_t i = 0; i < KEYS_N; i++)
        stv_text_format(&names, ",%s*", keys[i].key);
    end_heads(table, &names);
    for (size_t i = 0; i < forecast->n_casks; i++) {
        const struct stv_forecast_cask *cask = &forecast->casks[i];
        for (size_t k = 0; k < cask->n_rows; k++) {
            stv_sheet_add_text(table, answer->chain->book.ledger.casks[cask->cask_idx].id);
            stv_sheet_add_text(table, stv_format_iso_day(cask->rows[k].day_d).text);
            for (size_t j = 0; j < KEYS_N; j++)
                stv_csv_range(table, cask->rows[k].quantity[keys[j].quantity], keys[j].factor_nd);
        }
    }
}

static void add_sums(struct stv_sheet *table, const struct stv_forecast_answer *answer)
{
    const struct stv_forecast *forecast = answer->forecast;
    struct stv_text names = {0};
    stv_text_add(&names, "name,casks,date,volume20_l*,lpa_l*,bottles*");
    for (size_t l = 0; l < STV_LOSS_N; l++)
        stv_text_format(&names, ",%s_gone_lpa_l*,%s_gone_l*", stv_loss_key((enum stv_loss)l),
                        stv_loss_key((enum stv_loss)l));
    end_heads(table, &names);
    for (size_t s = 0; s < 2 * forecast->n_sums; s++) {
        const struct stv_forecast_sum *sum = &forecast->sums[s / 2];
        const struct stv_forecast_totals *totals = s % 2 ? &sum->end : &sum->now;
        int64_t day_d = s % 2 ? forecast->end_day_d : answer->chain->as_of_day_d;
        stv_sheet_add_text(table, sum->name);
        stv_csv_number(table, (double)sum->n_casks);
        stv_sheet_add_text(table, stv_format_iso_day(day_d).text);
        stv_csv_range(table, totals->volume20_l, 1.0);
        stv_csv_range(table, totals->lpa_l, 1.0);
        stv_csv_range(table, totals->bottles_nd, 1.0);
        for (size_t l = 0; l < STV_LOSS_N; l++) {
            stv_csv_range(table, totals->gone.lpa_l[l], 1.0);
            stv_csv_range(table, totals->gone.volume20_l[l], 1.0);
        }
    }
}

static void add_compared(struct stv_sheet *table, const struct stv_forecast_answer *answer)
{
    const struct stv_comparison *comparison = &answer->what_if;
    const struct stv_cask *casks = answer->chain->book.ledger.casks;
    struct stv_text names = {0};
    stv_text_add(&names, "cask,held_in,date");
    for (size_t f = 0; f < STV_FIGURE_TOLD; f++) {
        const char *key = stv_figure_form((enum stv_figure)f)->key;
        stv_text_format(&names, ",%s_one*,%s_other*,%s_difference*", key, key, key);
    }
    end_heads(table, &names);
    for (size_t i = 0; i < comparison->n_pairs * comparison->n_days; i++) {
        size_t p = i / comparison->n_days, d = i % comparison->n_days;
        stv_sheet_add_text(table, casks[comparison->pairs[p].cask_idx].id);
        stv_sheet_add_text(table, casks[comparison->pairs[p].other_idx].id);
        stv_sheet_add_text(table, stv_format_iso_day(comparison->days_d[d]).text);
        for (size_t f = 0; f < STV_FIGURE_TOLD; f++) {
            const struct stv_compared *told = stv_compared_of(comparison, p, d, (enum stv_figure)f);
            double factor_nd = stv_figure_form((enum stv_figure)f)->factor_nd;
            stv_csv_range(table, told->one, factor_nd);
            stv_csv_range(table, told->other, factor_nd);
            stv_csv_range(table, told->difference, factor_nd);
        }
    }
}

void stv_forecast_csv(struct stv_sheet *table, const struct stv_forecast_answer *answer)
{
    if (answer->n_sentences)
        add_compared(table, answer);
    else if (answer->by != STV_BY_CASK)
        add_sums(table, answer);
    else
        add_paths(table, answer);
}
