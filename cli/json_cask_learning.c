#include "cli/json_cask_learning.h"

#include "cli/cask_lesson.h"
#include "cli/csv.h"
#include "cli/json.h"
#include "cli/json_document.h"

#include <math.h>
#include <stdlib.h>

/* Figures by name, unit and what brings the model's unit to it. */
static const struct {
    const char *name, *unit;
    double factor;
} figures[STV_FIT_KINDS] = {
    [STV_FIT_VOLUME] = {"volume20", "L", 1.0}, [STV_FIT_STRENGTH] = {"abv20", "%vol", 100.0},
    [STV_FIT_LIQUID] = {"liquid", "kg", 1.0},  [STV_FIT_GROSS] = {"gross", "kg", 1.0},
    [STV_FIT_READING] = {"reading", "-", 1.0}, [STV_FIT_VERDICT] = {"nose_verdict", "0..3", 1.0},
};

static json_t *id_text(const struct stv_chain *chain, size_t cask_idx)
{
    return stv_json_text(chain->book.ledger.casks[cask_idx].id);
}

static json_t *casks_array(const struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    json_t *array = json_array();
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++) {
        const struct stv_posterior_cask *entry =
            stv_posterior_find(&lesson->kept.posterior, stv_key_of(chain->book.ledger.casks[c].id));
        if (!entry)
            continue;
        json_t *object = json_object();
        stv_json_set(object, "cask", id_text(chain, c));
        stv_json_set(object, "leak_chance_frac", stv_json_number(entry->leak.chance_frac));
        stv_json_set(object, "leak_pct_per_y", stv_json_number(-100.0 * expm1(-entry->leak.per_y)));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *neighbours_array(const struct stv_chain *chain, int cask_idx)
{
    json_t *array = json_array();
    int beside[STV_NEIGHBOURS_MOST];
    size_t n = stv_lesson_neighbours(chain, cask_idx, beside);
    for (size_t i = 0; i < n; i++)
        stv_json_append(array, id_text(chain, (size_t)beside[i]));
    return array;
}

static json_t *verdict_object(const struct stv_chain *chain, const struct stv_cask_lesson *lesson,
                              size_t verdict_idx)
{
    static const char *const looks[] = {"nothing", "leak", "misread"};
    const struct stv_learned_verdict *verdict = &lesson->kept.verdicts[verdict_idx];
    size_t gauge_idx = lesson->learning.verdicts[verdict_idx].gauge_idx;
    json_t *object = json_object(), *odds = json_object();
    stv_json_set(object, "cask", id_text(chain, (size_t)verdict->cask_idx));
    stv_json_set(object, "since", stv_json_day(verdict->since_day_d));
    stv_json_set(object, "day", stv_json_day(verdict->day_d));
    stv_json_set(object, "line", json_integer((json_int_t)chain->book.gauges[gauge_idx].row));
    stv_json_set(object, "look", stv_json_text(looks[stv_lesson_look(chain, lesson, verdict_idx)]));
    stv_json_set(odds, "evaporation", stv_json_number(verdict->evaporation_frac));
    stv_json_set(odds, "leak", stv_json_number(verdict->leak_frac));
    stv_json_set(odds, "misread", stv_json_number(verdict->misread_frac));
    stv_json_set(object, "odds", odds);
    stv_json_set(object, "excess_l", stv_json_number(verdict->excess_l));
    stv_json_set(object, "excess_error_l", stv_json_number(verdict->excess_error_l));
    stv_json_set(object, "abv20_rise_pct", stv_json_number(100.0 * verdict->rise_abv20_frac));
    stv_json_set(object, "meant_litres", stv_json_number(verdict->meant_litres_nd));
    stv_json_set(object, "meant_strength", stv_json_number(verdict->meant_strength_nd));
    stv_json_set(object, "another_agrees", json_boolean(verdict->agrees));
    stv_json_set(object, "neighbours", neighbours_array(chain, verdict->cask_idx));
    return object;
}

static json_t *told_array(const struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    json_t *array = json_array();
    size_t *order = stv_lesson_misses_first(lesson);
    for (size_t i = 0; order && i < lesson->kept.n_told; i++) {
        const struct stv_learned_told *told = &lesson->kept.told[order[i]];
        double factor = figures[told->kind].factor;
        json_t *object = json_object();
        stv_json_set(object, "cask", id_text(chain, (size_t)told->cask_idx));
        stv_json_set(object, "day", stv_json_day(told->day_d));
        stv_json_set(object, "figure", stv_json_text(figures[told->kind].name));
        stv_json_set(object, "unit", stv_json_text(figures[told->kind].unit));
        stv_json_set(object, "predicted", stv_json_number(factor * told->then_value));
        stv_json_set(object, "predicted_error", stv_json_number(factor * told->then_error));
        stv_json_set(object, "measured", stv_json_number(factor * told->value));
        stv_json_set(object, "is_miss", json_boolean(stv_told_is_miss(told)));
        stv_json_set(object, "is_left_out", json_boolean(told->is_left_out));
        stv_json_append(array, object);
    }
    free(order);
    return array;
}

static json_t *moved_array(const struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    size_t n = 0;
    json_t *array = json_array();
    struct stv_lesson_moved *list = stv_lesson_moved_list(chain, lesson, &n);
    for (size_t i = 0; i < n; i++) {
        json_t *object = json_object();
        stv_json_set(object, "what", stv_json_text(list[i].name));
        stv_json_set(object, "kind", stv_json_text(list[i].kind_name));
        stv_json_set(object, "error_left_frac", stv_json_number(list[i].error_left_frac));
        stv_json_set(object, "moved_errors", stv_json_number(list[i].moved_nd));
        stv_json_set(object, "has_moved", json_boolean(stv_lesson_is_moved(&list[i])));
        stv_json_append(array, object);
    }
    free(list);
    return array;
}

static json_t *ready_object(const struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    static const char *const ends[2] = {"least", "most"};
    const struct stv_learned_casks *kept = &lesson->kept;
    const double before[2] = {chain->book.rules.wood_least_nd, chain->book.rules.wood_most_nd};
    json_t *object = json_object();
    stv_json_set(object, "nosings", json_integer((json_int_t)kept->n_verdicts_of_noses));
    for (size_t t = 0; t < 2; t++) {
        json_t *end = json_object();
        double reach = STV_RANGE_ERRORS * kept->ready_error_ln_nd[t];
        stv_json_set(end, "wood_index", stv_json_number(exp(kept->ready_ln_nd[t])));
        stv_json_set(end, "wood_index_p05", stv_json_number(exp(kept->ready_ln_nd[t] - reach)));
        stv_json_set(end, "wood_index_p95", stv_json_number(exp(kept->ready_ln_nd[t] + reach)));
        stv_json_set(end, "before", stv_json_number(before[t]));
        stv_json_set(object, ends[t], end);
    }
    bool is_used = kept->n_verdicts_of_noses && chain->book.wood_from != STV_WOOD_BOOK;
    stv_json_set(object, "is_used", json_boolean(is_used));
    return object;
}

static json_t *worth_array(const struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    size_t n = 0;
    json_t *array = json_array();
    struct stv_lesson_next *list = stv_lesson_next_list(lesson, &n);
    for (size_t i = 0; i < n; i++) {
        const struct stv_cask_wish *wish = &lesson->wishes[list[i].wish_idx];
        const struct stv_cask_worth *worth = &lesson->worths[list[i].wish_idx];
        const struct stv_fit_worth *error =
            list[i].by_nose ? &worth->wood_by_nose : &worth->volume20_l;
        json_t *object = json_object();
        stv_json_set(object, "cask", id_text(chain, wish->cask_idx));
        stv_json_set(object, "by", stv_json_text(list[i].by_nose ? "nosing" : "weighing"));
        stv_json_set(object, "narrows",
                     stv_json_text(list[i].by_nose ? "wood_index_ln" : "volume20_l"));
        stv_json_set(object, "on", stv_json_day(wish->target_day_d));
        stv_json_set(object, "error_now", stv_json_number(error->before_nd));
        stv_json_set(object, "error_then", stv_json_number(error->after_nd));
        stv_json_append(array, object);
    }
    free(list);
    return array;
}

static json_t *unused_object(const struct stv_gauges_unused *unused)
{
    json_t *object = json_object();
    stv_json_set(object, "suspect", json_integer((json_int_t)unused->n_suspect));
    stv_json_set(object, "later", json_integer((json_int_t)unused->n_later));
    stv_json_set(object, "of_empty_casks", json_integer((json_int_t)unused->n_empty));
    stv_json_set(object, "on_the_day_of_an_addition", json_integer((json_int_t)unused->n_same_day));
    stv_json_set(object, "colours_of_another_liquid",
                 json_integer((json_int_t)unused->n_other_wood));
    stv_json_set(object, "scales_beyond_16", json_integer((json_int_t)unused->n_scales_over));
    return object;
}

void stv_json_cask_lesson(json_t *document, const struct stv_chain *chain,
                          const struct stv_cask_lesson *lesson)
{
    json_t *verdicts = json_array();
    for (size_t v = 0; v < lesson->kept.n_verdicts; v++)
        stv_json_append(verdicts, verdict_object(chain, lesson, v));
    stv_json_set(document, "gauges", json_integer((json_int_t)lesson->n_gauges));
    stv_json_set(document, "casks", casks_array(chain, lesson));
    stv_json_set(document, "verdicts", verdicts);
    stv_json_set(document, "told", told_array(chain, lesson));
    stv_json_set(document, "moved", moved_array(chain, lesson));
    stv_json_set(document, "ready", ready_object(chain, lesson));
    stv_json_set(document, "worth", worth_array(chain, lesson));
    json_t *stuck = json_array();
    for (size_t s = 0; s < lesson->n_stuck; s++)
        stv_json_append(stuck, id_text(chain, lesson->stuck[s]));
    stv_json_set(document, "casks_left_out", stuck);
    stv_json_set(document, "not_used", unused_object(&lesson->unused));
}

void stv_csv_cask_lesson(struct stv_sheet *table, const struct stv_chain *chain,
                         const struct stv_cask_lesson *lesson)
{
    size_t *order = stv_lesson_misses_first(lesson);
    stv_csv_heads(table,
                  "cask,day,figure,unit,predicted,predicted_error,measured,is_miss,is_left_out");
    table->has_failed = table->has_failed || !order;
    for (size_t i = 0; order && i < lesson->kept.n_told; i++) {
        const struct stv_learned_told *told = &lesson->kept.told[order[i]];
        double factor = figures[told->kind].factor;
        stv_sheet_add_text(table, chain->book.ledger.casks[told->cask_idx].id);
        stv_sheet_add_text(table, stv_format_iso_day(told->day_d).text);
        stv_sheet_add_text(table, figures[told->kind].name);
        stv_sheet_add_text(table, figures[told->kind].unit);
        stv_csv_number(table, factor * told->then_value);
        stv_csv_number(table, factor * told->then_error);
        stv_csv_number(table, factor * told->value);
        stv_csv_number(table, stv_told_is_miss(told));
        stv_csv_number(table, told->is_left_out);
    }
    free(order);
}
