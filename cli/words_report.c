/* The report's first screen: the answers of all commands, the shortest form of each. */
#include "cli/words.h"

#include "cli/cask_state.h"
#include "cli/prose.h"

#define LOOKS_MOST 6

/* Gauges that disagree with the forecast, as many as fit. */
static size_t add_disagreeing(struct stv_text *text, const struct stv_first_screen *screen)
{
    size_t n = 0;
    for (size_t i = 0; i < screen->forecast->n_casks && n < LOOKS_MOST; i++) {
        struct stv_text line = {0};
        if (stv_words_gauge(&line, screen->chain, &screen->forecast->casks[i])) {
            stv_text_add(text, stv_text_string(&line));
            n++;
        }
        text->has_failed = text->has_failed || line.has_failed;
        stv_text_free(&line);
    }
    return n;
}

static size_t count_never_nosed(const struct stv_first_screen *screen)
{
    size_t n = 0;
    for (size_t i = 0; i < screen->forecast->n_casks; i++)
        n += stv_last_nose(screen->chain, screen->forecast->casks[i].cask_idx) < 0;
    return n;
}

static void add_looks(struct stv_text *text, const struct stv_first_screen *screen)
{
    stv_prose_heading(text, "LOOK AT FIRST");
    size_t n = add_disagreeing(text, screen);
    const struct stv_problems *problems = &screen->chain->problems;
    if (problems->n_by_severity[STV_REFUSED] + problems->n_by_severity[STV_SET_ASIDE] > 0) {
        stv_prose_wrap(text, 2,
                       "%zu values or rows of the book's files are set aside or refused: stavecast "
                       "check lists them.",
                       problems->n_by_severity[STV_REFUSED] +
                           problems->n_by_severity[STV_SET_ASIDE]);
        n++;
    }
    if (problems->n_by_severity[STV_SUSPECT] > 0) {
        stv_prose_wrap(text, 2, "%zu doubts about loggers and weather: stavecast check lists them.",
                       problems->n_by_severity[STV_SUSPECT]);
        n++;
    }
    if (n == 0)
        stv_prose_wrap(text, 2, "%s",
                       screen->chain->book.n_gauges > 0
                           ? "Nothing stands out: no gauge disagrees with the forecast."
                           : "Nothing to hold the forecast against: no cask was gauged yet.");
}

static void add_least_sure(struct stv_text *text, const struct stv_first_screen *screen)
{
    stv_prose_heading(text, "LEAST SURE OF");
    if (screen->forecast)
        stv_prose_wrap(text, 2, "Wood in the %zu of %zu casks never nosed since they were filled.",
                       count_never_nosed(screen), screen->forecast->n_full);
    for (size_t i = 0; i < screen->chain->book.n_warehouses; i++) {
        const struct stv_chain_warehouse *warehouse = &screen->chain->warehouses[i];
        struct stv_text tiers = {0};
        for (size_t k = 0; k < warehouse->n_tiers; k++)
            if (!(warehouse->positions[k].measured_frac > 0.0))
                stv_prose_add(&tiers, "%s%zu", tiers.n ? ", " : "", k + 1);
        if (tiers.n)
            stv_prose_wrap(text, 2, "%s: tiers without a logger: %s.",
                           screen->chain->book.warehouses[i].name, stv_text_string(&tiers));
        text->has_failed = text->has_failed || tiers.has_failed;
        stv_text_free(&tiers);
    }
}

void stv_words_first_screen(struct stv_text *text, const struct stv_first_screen *screen)
{
    if (screen->forecast) {
        stv_words_forecast_answer(text, screen->chain, screen->forecast);
        add_looks(text, screen);
    } else {
        stv_prose_wrap(text, 0, "The book holds no full cask yet.");
    }
    if (screen->bottling && screen->months) {
        stv_prose_heading(text, "BOTTLING");
        stv_words_bottling_answer(text, screen->chain, screen->months, screen->bottling);
    }
    stv_prose_heading(text, "THE RACKS");
    for (size_t i = 0; i < screen->climate->n_warehouses; i++) {
        if (screen->climate->n_warehouses > 1)
            stv_prose_add(text, "%s. ", screen->climate->warehouses[i].name);
        if (screen->climate->warehouses[i].n_tiers > 0)
            stv_words_climate_answer(text, &screen->climate->warehouses[i],
                                     screen->chain->despite_holes);
    }
    if (screen->sites) {
        stv_prose_heading(text, "SITES");
        stv_words_sites_answer(text, screen->sites);
    }
    if (screen->changes) {
        stv_prose_heading(text, "CHANGES OF THE BUILDING");
        for (size_t s = 0; s < screen->study->n_sites; s++)
            stv_words_changes_answer(text, screen->study, s, &screen->changes[s]);
        stv_prose_wrap(text, 2, "Tier by tier, and what it rests on: stavecast sites.");
    }
    add_least_sure(text, screen);
    stv_prose_wrap(text, 0,
                   "Planning figures. Not a duty account, not a loss account. Not a "
                   "safety assessment.");
}
