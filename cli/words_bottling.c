/* Windows in words: when a cask opens, its surest month, when it closes, and why. */
#include "cli/words.h"

#include "cli/prose.h"

#include <math.h>
#include <string.h>

/* A window that ends within this many months is told first. */
#define SOON_MONTHS 6u
/* "Surest" only means something when most trials agree: 7 in 10, a house's usual odds. */
#define SURE_FRAC 0.7

/* Columns behind the cask. */
#define WINDOW_ROW "%-8s %-9s %-8s %-13s %-13s %s\n"

/* A side in so few words that it fits a column. */
static const char *short_side(enum stv_window_side side)
{
    static const char *const words[] = {
        [STV_SIDE_NONE] = "-",
        [STV_SIDE_AGE] = "old enough",
        [STV_SIDE_WOOD_LOW] = "enough wood",
        [STV_SIDE_WOOD_HIGH] = "too much wood",
        [STV_SIDE_STRENGTH] = "strength",
        [STV_SIDE_VOLUME] = "few bottles",
    };
    return words[side];
}

static const struct stv_window *window_at(const struct stv_bottling *bottling, size_t i)
{
    return &bottling->windows[i];
}

static const char *cask_id(const struct stv_chain *chain, const struct stv_window *window)
{
    return chain->book.ledger.casks[window->cask_idx].id;
}

/* Adds "12, 18 and 26" for the casks that a rule picks; returns how many there are. */
static size_t add_ids(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_bottling *bottling,
                      bool (*is_picked)(const struct stv_window *))
{
    size_t n = 0;
    for (size_t i = 0; i < bottling->n_windows; i++)
        n += is_picked(window_at(bottling, i));
    size_t k = 0;
    for (size_t i = 0; i < bottling->n_windows; i++) {
        if (!is_picked(window_at(bottling, i)))
            continue;
        stv_prose_add(text, "%s%s", k == 0 ? "" : (k + 1 == n ? " and " : ", "),
                      cask_id(chain, window_at(bottling, i)));
        k++;
    }
    return n;
}

static bool is_open_now(const struct stv_window *window)
{
    return window->has_window && window->open_idx == 0;
}

static bool is_closing_soon(const struct stv_window *window)
{
    return window->has_window && window->closes && window->close_idx < SOON_MONTHS;
}

static bool is_never(const struct stv_window *window)
{
    return !window->has_window;
}

static void add_group(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_bottling *bottling,
                      bool (*is_picked)(const struct stv_window *), const char *lead,
                      const char *none)
{
    struct stv_text ids = {0};
    size_t n = add_ids(&ids, chain, bottling, is_picked);
    if (n)
        stv_prose_wrap(text, 0, "%s: %s.", lead, stv_text_string(&ids));
    else if (none)
        stv_prose_wrap(text, 0, "%s", none);
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

void stv_words_bottling_answer(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_outlook *months,
                               const struct stv_bottling *bottling)
{
    if (bottling->n_windows == 0 || months->n_days == 0) {
        stv_prose_wrap(text, 0, "No cask holds spirit, so there is nothing to bottle.");
        return;
    }
    add_group(text, chain, bottling, is_open_now, "Could be bottled now",
              "No cask meets all your wishes in most trials now.");
    add_group(text, chain, bottling, is_closing_soon, "Closing within six months", NULL);
    add_group(text, chain, bottling, is_never, "Not in the months looked at", NULL);
}

static void add_row(struct stv_text *text, const struct stv_chain *chain,
                    const struct stv_outlook *months, const struct stv_window *window)
{
    stv_prose_cell(text, cask_id(chain, window), stv_words_id_columns(chain));
    stv_text_add(text, " ");
    if (!window->has_window) {
        stv_prose_add(text, "%-8s fails most often by: %s\n", "none",
                      stv_window_side_text(window->never_by));
        return;
    }
    struct stv_formatted surest = window->surest_frac < SURE_FRAC
                                      ? stv_format("not clear")
                                      : stv_format_month(months->days_d[window->surest_idx]);
    struct stv_formatted closes =
        window->closes ? stv_format_month(months->days_d[window->close_idx]) : stv_format("open");
    stv_prose_add(
        text, WINDOW_ROW,
        window->open_idx == 0 ? "now" : stv_format_month(months->days_d[window->open_idx]).text,
        surest.text, closes.text, short_side(window->opens_by), short_side(window->closes_by),
        stv_format("%s (%s)", stv_format_number(window->bottles_nd.p50, 0).text,
                   stv_format_number(window->bottles_nd.p05, 0).text)
            .text);
}

static void add_waiting(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_bottling *bottling)
{
    const struct stv_window *dearest = NULL;
    for (size_t i = 0; i < bottling->n_windows; i++) {
        const struct stv_window *window = window_at(bottling, i);
        if (window->has_window && isfinite(window->wait_cost_bottles_nd) &&
            (!dearest || window->wait_cost_bottles_nd > dearest->wait_cost_bottles_nd))
            dearest = window;
    }
    if (dearest)
        stv_prose_wrap(text, 0,
                       "Waiting a year after the surest month costs most on cask %s: %s "
                       "bottles, and %s in 10 that its wood goes over what you allow.",
                       cask_id(chain, dearest),
                       stv_format_number(dearest->wait_cost_bottles_nd, 0).text,
                       stv_format_number(10.0 * dearest->wait_over_frac, 0).text);
}

static void add_label_words(struct stv_text *text, const struct stv_chain *chain,
                            const struct stv_bottling *bottling)
{
    struct stv_text ids = {0};
    for (size_t i = 0; i < bottling->n_windows; i++) {
        const struct stv_window *window = window_at(bottling, i);
        if (stv_lineage_spirit(chain->lineage, window->cask_idx).had_water)
            stv_prose_add(&ids, "%s%s", ids.n ? ", " : "", cask_id(chain, window));
    }
    if (ids.n)
        stv_prose_wrap(text, 0, "Words on the label: these had water in the cask: %s.",
                       stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static void add_wishes(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_outlook *months)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    struct stv_formatted age =
        rules->least_age_y > 0.0
            ? stv_format("at least %s years old, ", stv_format_number(rules->least_age_y, 1).text)
            : stv_format("%s", "");
    stv_prose_wrap(
        text, 0,
        "Looked at: %s to %s. Wishes: %swood %s to %s of your reference cask, "
        "at least %s %%vol in the cask, at least %s bottles.",
        stv_format_month(months->days_d[0]).text,
        stv_format_month(months->days_d[months->n_days - 1]).text, age.text,
        stv_format_number(rules->wood_least_nd, 2).text,
        stv_format_number(rules->wood_most_nd, 2).text,
        stv_words_percent(fmax(rules->least_abv20_frac, rules->bottling_abv20_frac)).text,
        stv_format_number(chain->book.least_bottles_nd, 0).text);
}

void stv_words_bottling(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_outlook *months, const struct stv_bottling *bottling)
{
    stv_words_bottling_answer(text, chain, months, bottling);
    if (bottling->n_windows == 0 || months->n_days == 0)
        return;
    stv_prose_add(text, "\n%-*s " WINDOW_ROW, (int)stv_words_id_columns(chain), "cask", "opens",
                  "surest", "closes", "opens by", "closes by", "bottles");
    for (size_t i = 0; i < bottling->n_windows; i++)
        add_row(text, chain, months, window_at(bottling, i));
    stv_prose_add(
        text, "(a window: at least half the trials meet every wish; \"not clear\": never 7 in 10;\n"
              " bottles in brackets: reached in 19 trials of 20)\n\n");
    add_waiting(text, chain, bottling);
    add_label_words(text, chain, bottling);
    add_wishes(text, chain, months);
    stv_words_bottle_basis(text, &chain->book.rules);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2, "A nosing of the casks that are \"not clear\".");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_planning(text);
    stv_words_caution_haze(text, &chain->book.rules);
    stv_words_caution_vapour(text);
}
