/* A cask's past and future in words.  Losses are told in bottles first, then in litres of pure
 * alcohol, then in litres; wood against the house's reference cask at bottling strength; fruit as
 * two lines, because what the still made fades while the cask makes its own. */
#include "cli/words.h"

#include "cli/bars.h"
#include "cli/cask_lesson.h"
#include "cli/cask_state.h"
#include "cli/forecast_answer.h"
#include "cli/prose.h"
#include "cli/words_lineage.h"
#include "model/units.h"

#include <math.h>
#include <string.h>

/* The oldest cask among the published observations, in README's table. */
#define OLDEST_SEEN_Y 23.0

/* Rows of a path that are printed in full; the rest is for --json and --csv. */
#define ROWS_PRINTED_MOST 40

/* Columns of a printed path behind the date (12), 79 with it. */
#define PATH_ROW " %17s %18s %14s %14s\n"

/* Columns behind cask and place: litres and strength now, at the end, wood at the end. */
#define SUMMARY_ROW " %7s %5s %14s %5s %14s"
#define PLACE_COLUMNS 20

#define BAR_COLUMNS 30 /* each of two beside the date */

static const struct stv_range *quantity(const struct stv_forecast_row *row, enum stv_quantity which)
{
    return &row->quantity[which];
}

/* "184 (182-186)": tighter than a sentence's range, for tables. */
static struct stv_formatted tight(struct stv_range range, double factor_nd, int decimals)
{
    struct stv_formatted middle = stv_format_number(range.p50 * factor_nd, decimals);
    struct stv_formatted low = stv_format_number(range.p05 * factor_nd, decimals);
    struct stv_formatted high = stv_format_number(range.p95 * factor_nd, decimals);
    if (strcmp(low.text, high.text) == 0)
        return middle;
    return stv_format("%s (%s-%s)", middle.text, low.text, high.text);
}

/* True when the ledger goes on after the day of the answer: planned work, or an earlier --date. */
static bool has_later_events(const struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    return ledger->n_events > 0 && ledger->events[ledger->n_events - 1].day_d > chain->as_of_day_d;
}

void stv_words_forecast_answer(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_forecast *forecast)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    const struct stv_forecast_totals *now = &forecast->now;
    const struct stv_forecast_totals *end = &forecast->end;
    if (forecast->n_full == 0) {
        stv_prose_wrap(text, 0, "No cask holds spirit on %s.",
                       stv_format_day(chain->as_of_day_d).text);
        return;
    }
    size_t n_cut = chain->book.ledger.n_casks - forecast->n_full - forecast->n_empty;
    struct stv_formatted whose =
        forecast->n_asked < forecast->n_full
            ? stv_format("The %zu named of %zu full casks:", forecast->n_asked, forecast->n_full)
            : stv_format(
                  "%s full, %zu empty%s.", stv_format_count(forecast->n_full, "cask", "casks").text,
                  forecast->n_empty,
                  n_cut ? stv_format(", %zu not known (a row was refused)", n_cut).text : "");
    stv_prose_wrap(text, 0, "%s %s litres of pure alcohol on %s.", whose.text,
                   stv_format_range(now->lpa_l, 0).text, stv_format_day(chain->as_of_day_d).text);
    stv_prose_wrap(
        text, 0, "About %s bottles at %s %%vol if all were bottled that day; %s by %s, %s.",
        stv_format_range(now->bottles_nd, 0).text,
        stv_words_percent(rules->bottling_abv20_frac).text,
        has_later_events(chain) ? "with what your history holds after it" : "left alone",
        stv_format_day(forecast->end_day_d).text, stv_format_range(end->bottles_nd, 0).text);
    if (now->n_weak > 0)
        stv_prose_wrap(text, 0,
                       "%s weaker than that and %s counted at %s own strength: water cannot bring "
                       "%s to it.",
                       stv_format_count(now->n_weak, "cask is", "casks are").text,
                       now->n_weak == 1 ? "is" : "are", now->n_weak == 1 ? "its" : "their",
                       now->n_weak == 1 ? "it" : "them");
    if (now->n_overfull > 0)
        stv_prose_wrap(text, 0,
                       "%s more than there is room for by this reckoning, first cask %s: look at "
                       "its litres in history.csv and gauges.csv.",
                       stv_format_count(now->n_overfull, "cask holds", "casks hold").text,
                       chain->book.ledger.casks[now->overfull_idx].id);
}

/* The history took more than there was: full by what was written down, and nothing left to tell. */
static bool is_drained(const struct stv_forecast_cask *cask)
{
    return !isfinite(quantity(&cask->now, STV_Q_VOLUME20_L)->p50);
}

/* "cask 1, 139 (137 to 140) L at 60.9 %vol", where all came of one. */
static struct stv_formatted source_words(const struct stv_ledger *ledger,
                                         const struct stv_forecast_cask *cask)
{
    const struct stv_event *fill = &ledger->events[cask->fill_idx];
    for (size_t i = 0; i < ledger->n_events; i++) {
        const struct stv_event *event = &ledger->events[i];
        if (event != fill && event->day_d == fill->day_d && event->other_idx == cask->cask_idx)
            return stv_format("other casks");
    }
    if (fill->kind != STV_EVENT_TRANSFER || cask->n_rows == 0)
        return stv_format("other casks");
    const struct stv_forecast_row *first = &cask->rows[0];
    return stv_format(
        "cask %.40s, %s L at %s %%vol", ledger->casks[fill->cask_idx].id,
        stv_format_range(*quantity(first, STV_Q_VOLUME20_L), 0).text,
        stv_format_range(stv_range_scaled(*quantity(first, STV_Q_ABV20_FRAC), 100.0), 1).text);
}

/* Line of history.csv that drew the last of a cask. */
static size_t last_drawn_line(const struct stv_ledger *ledger, const struct stv_forecast_cask *cask)
{
    size_t line = 0;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        if (event->cask_idx == cask->cask_idx && event->day_d <= cask->now.day_d &&
            (event->kind == STV_EVENT_SAMPLE || event->kind == STV_EVENT_TRANSFER))
            line = event->row;
    }
    return line;
}

static void add_cask_head(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_forecast_cask *cask)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_cask *wood = &ledger->casks[cask->cask_idx];
    const struct stv_event *fill = &ledger->events[cask->fill_idx];
    struct stv_place place = stv_lineage_place(chain->lineage, cask->cask_idx);
    stv_prose_heading(text, "Cask %s: %s, %s", wood->id, wood->kind_name,
                      stv_words_place_of(chain, &place).text);
    if (is_drained(cask))
        stv_prose_wrap(text, 0,
                       "Filled %s. By history.csv more was drawn than was left, so nothing can be "
                       "told of what it holds on %s: look at its rows there, the last of them "
                       "line %zu.",
                       stv_format_day(fill->day_d).text, stv_format_day(cask->now.day_d).text,
                       last_drawn_line(ledger, cask));
    else if (isfinite(fill->volume20_l) && isfinite(fill->abv20_frac))
        stv_prose_wrap(
            text, 0, "Filled %s with %s L at %s %%vol. On %s about %s L at %s %%vol.",
            stv_format_day(fill->day_d).text, stv_format_number(fill->volume20_l, 1).text,
            stv_words_percent(fill->abv20_frac).text, stv_format_day(cask->now.day_d).text,
            stv_format_range(*quantity(&cask->now, STV_Q_VOLUME20_L), 0).text,
            stv_format_range(stv_range_scaled(*quantity(&cask->now, STV_Q_ABV20_FRAC), 100.0), 1)
                .text);
    else
        stv_prose_wrap(
            text, 0, "Filled %s from %s. On %s about %s L at %s %%vol.",
            stv_format_day(fill->day_d).text, source_words(ledger, cask).text,
            stv_format_day(cask->now.day_d).text,
            stv_format_range(*quantity(&cask->now, STV_Q_VOLUME20_L), 0).text,
            stv_format_range(stv_range_scaled(*quantity(&cask->now, STV_Q_ABV20_FRAC), 100.0), 1)
                .text);
    if (quantity(&cask->now, STV_Q_VOLUME20_L)->p50 > STV_OVERFULL_FRAC * wood->geometry.capacity_l)
        stv_prose_wrap(text, 0,
                       "MORE THAN IT HOLDS: the cask takes %s L. Look at its rows in history.csv "
                       "and gauges.csv before anything else here.",
                       stv_format_number(wood->geometry.capacity_l, 0).text);
    stv_words_lineage(text, chain, cask->cask_idx);
}

/* Litres alone; of what is left when it is dry nothing else is worth telling. */
static bool is_dry(const struct stv_forecast_row *row)
{
    return quantity(row, STV_Q_VOLUME20_L)->p50 < STV_DRY_L;
}

static void add_dry(struct stv_text *text, const struct stv_forecast_cask *cask)
{
    stv_prose_wrap(text, 2,
                   "Dry by now: under %s L in %s. Nothing can be bottled of it, and staves that "
                   "dry out leak more. See where it went, and take it out of the rack.",
                   stv_format_number(STV_DRY_L, 1).text,
                   quantity(&cask->now, STV_Q_VOLUME20_L)->p95 < STV_DRY_L
                       ? "19 trials of 20 or more"
                       : "most trials");
}

static void add_too_weak(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_forecast_cask *cask)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    double now_frac = quantity(&cask->now, STV_Q_ABV20_FRAC)->p50;
    if (now_frac < rules->bottling_abv20_frac)
        stv_prose_wrap(
            text, 2,
            "At %s %%vol it is under the %s %%vol that you bottle at: no water brings it "
            "up, and its bottles are counted at its own strength.",
            stv_format_number(100.0 * now_frac, 1).text,
            stv_words_percent(rules->bottling_abv20_frac).text);
}

static struct stv_bar bar_of(const struct stv_forecast_row *row, enum stv_quantity which,
                             double factor_nd)
{
    struct stv_range range = stv_range_scaled(*quantity(row, which), factor_nd);
    return (struct stv_bar){range.p05, range.p50, range.p95, '-', 'o'};
}

/* The path in litres and strength side by side, for a terminal. */
static void add_path_bars(struct stv_text *text, const struct stv_forecast_cask *cask)
{
    size_t n = cask->n_rows < ROWS_PRINTED_MOST ? cask->n_rows : ROWS_PRINTED_MOST;
    struct stv_bar_scale litres = {NAN, NAN, BAR_COLUMNS}, strength = litres;
    if (n < 2)
        return;
    for (size_t i = 0; i < n; i++) {
        struct stv_bar litre_bar = bar_of(&cask->rows[i], STV_Q_VOLUME20_L, 1.0);
        struct stv_bar strength_bar = bar_of(&cask->rows[i], STV_Q_ABV20_FRAC, 100.0);
        stv_bar_scale_hold(&litres, &litre_bar);
        stv_bar_scale_hold(&strength, &strength_bar);
    }
    stv_prose_drawing(text);
    stv_text_add(text, "\n");
    stv_prose_drawing(text);
    stv_prose_add(text, "%-12s", "");
    stv_bar_scale_add(text, &litres, 0, "L");
    stv_text_add(text, "   ");
    stv_bar_scale_add(text, &strength, 1, "%vol");
    stv_text_add(text, "\n");
    for (size_t i = 0; i < n; i++) {
        struct stv_bar litre_bar = bar_of(&cask->rows[i], STV_Q_VOLUME20_L, 1.0);
        struct stv_bar strength_bar = bar_of(&cask->rows[i], STV_Q_ABV20_FRAC, 100.0);
        stv_prose_drawing(text);
        stv_prose_add(text, "%-12s", stv_format_iso_day(cask->rows[i].day_d).text);
        stv_bars_add(text, &litres, &litre_bar, 1);
        stv_text_add(text, "   ");
        stv_bars_add(text, &strength, &strength_bar, 1);
        stv_text_add(text, "\n");
    }
}

static void add_path(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_forecast_cask *cask)
{
    struct stv_formatted bottle =
        stv_format("bottles %s cl", stv_format_number(chain->book.rules.bottle_l * 100.0, 0).text);
    stv_prose_add(text, "%-12s" PATH_ROW, "", "litres", "strength %vol", bottle.text,
                  "wood, ref. = 1");
    for (size_t i = 0; i < cask->n_rows && i < ROWS_PRINTED_MOST; i++) {
        const struct stv_forecast_row *row = &cask->rows[i];
        if (is_dry(row)) {
            stv_prose_add(text, "%-12s" PATH_ROW, stv_format_iso_day(row->day_d).text, "dry", "-",
                          "-", "-");
            continue;
        }
        stv_prose_add(text, "%-12s" PATH_ROW, stv_format_iso_day(row->day_d).text,
                      tight(*quantity(row, STV_Q_VOLUME20_L), 1.0, 0).text,
                      tight(*quantity(row, STV_Q_ABV20_FRAC), 100.0, 1).text,
                      tight(*quantity(row, STV_Q_BOTTLES_ND), 1.0, 0).text,
                      tight(*quantity(row, STV_Q_WOOD_INDEX_ND), 1.0, 1).text);
    }
    if (cask->n_rows > ROWS_PRINTED_MOST)
        stv_prose_add(text, "... and %zu more rows: --csv or --json has them all.\n",
                      cask->n_rows - ROWS_PRINTED_MOST);
    for (size_t i = 0; i < cask->n_rows; i++)
        if (isfinite(cask->rows[i].asked_age_y))
            stv_prose_add(text, "%-12s the spirit is %s years old.\n",
                          stv_format_iso_day(cask->rows[i].day_d).text,
                          stv_format_number(cask->rows[i].asked_age_y, 2).text);
}

static void add_nose(struct stv_text *text, const struct stv_gauge *gauge)
{
    struct stv_formatted day = stv_format_day(gauge->day_d);
    if (gauge->nose == STV_NOSE_NONE)
        stv_prose_wrap(text, 2, "Your nose gave it %s of 10 on %s.",
                       stv_format_number(gauge->nose_score, 1).text, day.text);
    else
        stv_prose_wrap(text, 2, "Your nose said \"%s\" on %s.", stv_nose_name(gauge->nose),
                       day.text);
}

static void add_wood_and_fruit(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_forecast_cask *cask)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    int nose_idx = stv_last_nose(chain, cask->cask_idx);
    struct stv_formatted at_end = stv_format_month(cask->end.day_d);
    static const char *const whose[] = {[STV_WOOD_USUAL] = "assumed, for the book does not say",
                                        [STV_WOOD_BOOK] = "as the book says",
                                        [STV_WOOD_LEARNED] = "as the noses call ready"};
    stv_prose_wrap(text, 2, "Wood: %s of your reference cask now, %s in %s; wanted %s to %s, %s.",
                   stv_format_range(*quantity(&cask->now, STV_Q_WOOD_INDEX_ND), 2).text,
                   stv_format_range(*quantity(&cask->end, STV_Q_WOOD_INDEX_ND), 2).text,
                   at_end.text, stv_format_number(rules->wood_least_nd, 2).text,
                   stv_format_number(rules->wood_most_nd, 2).text, whose[chain->book.wood_from]);
    if (nose_idx >= 0)
        add_nose(text, &chain->book.gauges[nose_idx]);
    stv_prose_wrap(text, 2,
                   "Still fruit left: %s of what the still made now, %s in %s. Weak "
                   "knowledge.",
                   stv_format_range(*quantity(&cask->now, STV_Q_STILL_FRUIT_ND), 2).text,
                   stv_format_range(*quantity(&cask->end, STV_Q_STILL_FRUIT_ND), 2).text,
                   at_end.text);
    stv_prose_wrap(text, 2,
                   "Made in the cask (esters): %s of your reference cask now, %s in %s. "
                   "Weak knowledge.",
                   stv_format_range(*quantity(&cask->now, STV_Q_CASK_ESTERS_ND), 2).text,
                   stv_format_range(*quantity(&cask->end, STV_Q_CASK_ESTERS_ND), 2).text,
                   at_end.text);
}

/* The last row of a path before a day. */
static const struct stv_forecast_row *row_before(const struct stv_forecast_cask *cask,
                                                 int64_t day_d)
{
    const struct stv_forecast_row *row = &cask->rows[0];
    for (size_t i = 1; i < cask->n_rows && cask->rows[i].day_d < day_d; i++)
        row = &cask->rows[i];
    return cask->now.day_d < day_d && cask->now.day_d > row->day_d ? &cask->now : row;
}

/* What history.csv takes out of a cask so that it holds nothing, in some trials or in all. */
static void add_drain(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_forecast_cask *cask, const struct stv_event *event)
{
    bool is_poured = event->kind == STV_EVENT_TRANSFER;
    struct stv_formatted day = stv_format_day(event->day_d);
    if (event->kind == STV_EVENT_EMPTY || (is_poured && !isfinite(event->volume20_l))) {
        stv_prose_wrap(text, 2, "From %s on it holds nothing (-): history.csv %s it that day%s%s.",
                       day.text, is_poured ? "pours" : "empties", is_poured ? " into cask " : "",
                       is_poured ? chain->book.ledger.casks[event->other_idx].id : "");
        return;
    }
    const struct stv_range *left = quantity(row_before(cask, event->day_d), STV_Q_VOLUME20_L);
    if ((event->kind == STV_EVENT_SAMPLE || is_poured) && event->volume20_l >= left->p05)
        stv_prose_wrap(text, 2,
                       "On %s history.csv takes %s L of it, where some %s L are left. Trials in "
                       "which that is all hold nothing from then on: the figures are those of the "
                       "others, or - where there is none.",
                       day.text, stv_format_number(event->volume20_l, 0).text,
                       stv_format_range(*left, 0).text);
}

static void add_drains(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_forecast_cask *cask)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].cask_idx == cask->cask_idx &&
            ledger->events[e].day_d > cask->rows[0].day_d &&
            ledger->events[e].day_d <= cask->end.day_d)
            add_drain(text, chain, cask, &ledger->events[e]);
}

static void add_cask(struct stv_text *text, const struct stv_forecast_answer *answer,
                     const struct stv_forecast_cask *cask)
{
    const struct stv_chain *chain = answer->chain;
    if (cask->fill_idx < 0) {
        stv_prose_heading(text, "Cask %s: empty", chain->book.ledger.casks[cask->cask_idx].id);
        stv_words_lineage(text, chain, cask->cask_idx);
        stv_text_add(text, "\n");
        return;
    }
    add_cask_head(text, chain, cask);
    stv_text_add(text, "\n");
    add_path(text, chain, cask);
    add_path_bars(text, cask);
    stv_text_add(text, "\n");
    add_drains(text, chain, cask);
    if (is_drained(cask))
        return;
    if (is_dry(&cask->now)) {
        add_dry(text, cask);
    } else {
        stv_words_crossings(text, answer->forecast, cask);
        add_wood_and_fruit(text, chain, cask);
    }
    add_too_weak(text, chain, cask);
    stv_words_gauge(text, chain, cask);
    stv_words_losses(text, chain, cask);
    stv_text_add(text, "\n");
}

static void add_summary_row(struct stv_text *text, const struct stv_chain *chain,
                            const struct stv_forecast_cask *cask)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct stv_place place = stv_lineage_place(chain->lineage, cask->cask_idx);
    stv_prose_name_cell(text, ledger->casks[cask->cask_idx].id, stv_words_id_columns(chain), 0);
    stv_text_add(text, " ");
    stv_prose_cell(text, cask->fill_idx < 0 ? "empty" : stv_words_place_short(chain, &place).text,
                   PLACE_COLUMNS);
    if (cask->fill_idx >= 0 && is_drained(cask))
        stv_text_format(text, " more drawn than was left: history.csv:%zu",
                        last_drawn_line(ledger, cask));
    else if (cask->fill_idx >= 0 && !isfinite(quantity(&cask->end, STV_Q_VOLUME20_L)->p50))
        stv_prose_add(
            text, " %7s %5s emptied by then",
            stv_format_number(quantity(&cask->now, STV_Q_VOLUME20_L)->p50, 0).text,
            stv_format_number(100.0 * quantity(&cask->now, STV_Q_ABV20_FRAC)->p50, 1).text);
    else if (cask->fill_idx >= 0)
        stv_prose_add(
            text, SUMMARY_ROW,
            stv_format_number(quantity(&cask->now, STV_Q_VOLUME20_L)->p50, 0).text,
            stv_format_number(100.0 * quantity(&cask->now, STV_Q_ABV20_FRAC)->p50, 1).text,
            tight(*quantity(&cask->end, STV_Q_VOLUME20_L), 1.0, 0).text,
            stv_format_number(100.0 * quantity(&cask->end, STV_Q_ABV20_FRAC)->p50, 1).text,
            tight(*quantity(&cask->end, STV_Q_WOOD_INDEX_ND), 1.0, 1).text);
    stv_text_add(text, "\n");
}

static void add_summary(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_forecast *forecast)
{
    int id_columns = (int)stv_words_id_columns(chain);
    stv_prose_add(text, "\n%-*s %-*s" SUMMARY_ROW "\n", id_columns, "", PLACE_COLUMNS, "",
                  stv_format_month(chain->as_of_day_d).text, "",
                  stv_format_month(forecast->end_day_d).text, "", "wood then");
    stv_prose_add(text, "%-*s %-*s" SUMMARY_ROW "\n", id_columns, "cask", PLACE_COLUMNS, "tier-bay",
                  "litres", "%vol", "litres", "%vol", "ref. = 1");
    for (size_t i = 0; i < forecast->n_casks; i++)
        add_summary_row(text, chain, &forecast->casks[i]);
    stv_words_warehouse_key(text, chain);
    stv_text_add(text, "\n");
    stv_words_gauges(text, chain, forecast, forecast->n_casks);
}

/* Days or ages that lie before a cask's fill have no row. */
static void add_left_out(struct stv_text *text, const struct stv_forecast *forecast)
{
    size_t n = 0;
    for (size_t i = 0; i < forecast->n_casks; i++)
        n += forecast->casks[i].n_left_out;
    if (n > 0)
        stv_prose_wrap(text, 2, "%s asked for before the fill of %s cask: left out.",
                       stv_format_count(n, "day or age was", "days or ages were").text,
                       n == 1 ? "its" : "their");
}

static void add_answer(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_forecast *forecast = answer->forecast;
    bool is_cask_by_cask = answer->is_each_in_full && answer->by == STV_BY_CASK;
    stv_words_compared(text, answer);
    stv_words_cycling(text, answer);
    if (!is_cask_by_cask)
        stv_words_forecast_answer(text, answer->chain, forecast);
    if (answer->by != STV_BY_CASK)
        stv_words_sums(text, answer);
    else if (is_cask_by_cask)
        for (size_t i = 0; i < forecast->n_casks; i++)
            add_cask(text, answer, &forecast->casks[i]);
    else if (forecast->n_full > 0)
        add_summary(text, answer->chain, forecast);
    if (!is_cask_by_cask)
        stv_words_house_crossings(text, answer);
}

/* Casks told at an age that nothing the model was held against has reached. */
static void add_too_old(struct stv_text *text, const struct stv_forecast *forecast)
{
    size_t n = 0;
    int64_t oldest_d = 0;
    for (size_t c = 0; c < forecast->n_casks; c++) {
        const struct stv_forecast_cask *cask = &forecast->casks[c];
        int64_t age_d =
            cask->n_rows > 0 ? cask->rows[cask->n_rows - 1].day_d - cask->rows[0].day_d : 0;
        n += (double)age_d > OLDEST_SEEN_Y * STV_YEAR_D;
        oldest_d = age_d > oldest_d ? age_d : oldest_d;
    }
    if (n > 0)
        stv_prose_wrap(
            text, 2,
            "BEYOND WHAT IS KNOWN: %s told at up to %.0f years in the cask. No cask that "
            "this model was held against was older than %.0f: rows beyond that rest on "
            "the model alone.",
            n == 1 ? "a cask is" : stv_format("%zu casks are", n).text,
            (double)oldest_d / STV_YEAR_D, OLDEST_SEEN_Y);
}

/* What holds of these trials and days alone. */
static void add_own_basis(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_forecast *forecast)
{
    if (chain->run.warming_k_per_y != 0.0)
        stv_prose_wrap(text, 2,
                       "Years after the record are taken %s C warmer for each year (--warming); "
                       "how the air's damp goes with it is not changed.",
                       stv_format_number(chain->run.warming_k_per_y, 3).text);
    add_left_out(text, forecast);
    add_too_old(text, forecast);
    struct stv_formatted held = chain->run.n_draws > 0 ? stv_format("In %zu trials of a fill its",
                                                                    forecast->n_strength_held)
                                                       : stv_format("In this run a");
    if (forecast->n_strength_held > 0)
        stv_prose_wrap(
            text, 2,
            "%s strength left the range that is known, 12 to 92 %%vol (weak spirit, or the last "
            "litres of a cask): its rates there are those at that end.",
            held.text);
    if (forecast->held_frac > 0.0)
        stv_prose_wrap(text, 2,
                       "%s %% of the hours lie outside -15 to 50 C, where spirit is not "
                       "known; they were run at that end.",
                       stv_format_number(100.0 * forecast->held_frac, 1).text);
}

void stv_words_forecast(struct stv_text *text, const struct stv_forecast_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_forecast *forecast = answer->forecast;
    add_answer(text, answer);
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    struct stv_text own = {0};
    add_own_basis(&own, chain, forecast);
    stv_words_rests_on_with(text, chain, true, &own);
    text->has_failed = text->has_failed || own.has_failed;
    stv_text_free(&own);
    stv_words_would_change(text, chain);
    if (forecast->n_full > 0)
        stv_prose_wrap(text, 2,
                       "A weighing and a nosing of a cask: they say what its own wood and "
                       "joints do.");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_planning(text);
    stv_words_caution_room(text);
    stv_words_caution_haze(text, &chain->book.rules);
}
