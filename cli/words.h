/* Sentences that answer, shared by the printed text and the report.  Answer first, then what it
 * rests on, then what would change it, then cautions. */
#ifndef STV_CLI_WORDS_H
#define STV_CLI_WORDS_H

#include "cli/chain.h"
#include "cli/forecast.h"
#include "cli/format.h"
#include "plots/text.h"

/* --- common ------------------------------------------------------------------------------- */

struct stv_place_words {
    char text[192];
};

/* "Long Shed, tier 2, bay 7, front"; without the warehouse when there is one; "no place known". */
struct stv_place_words stv_words_place_of(const struct stv_chain *chain,
                                          const struct stv_place *place);
/* "5-04 front" for tier 5, bay 4; "B 5-04 front" with several warehouses: for the tables, under
 * which stv_words_warehouse_key says what B is. */
struct stv_formatted stv_words_place_short(const struct stv_chain *chain,
                                           const struct stv_place *place);
void stv_words_warehouse_key(struct stv_text *text, const struct stv_chain *chain);
/* Columns that cask ids need in a table, 4 to 8: a longer one has a line of its own
 * (stv_prose_name_cell). */
size_t stv_words_id_columns(const struct stv_chain *chain);
/* "52" or "52.5": a fraction as per cent with no more decimals than it has. */
struct stv_formatted stv_words_percent(double value_frac);

/* What a house of these rules is told wherever bottles are counted. */
void stv_words_bottle_basis(struct stv_text *text, const struct stv_house_rules *rules,
                            size_t indent);
/* Weather, loggers and trials behind an answer, as much of them as the chain's basis asks for. */
void stv_words_rests_on(struct stv_text *text, const struct stv_chain *chain, bool has_casks);
/* The same, with sentences of the command's own that are told whatever the basis; NULL: none. */
void stv_words_rests_on_with(struct stv_text *text, const struct stv_chain *chain, bool has_casks,
                             const struct stv_text *own);
/* Days of the weather that no temperature speaks of and other years stand in for: told by every
 * answer, whatever the basis. */
void stv_words_made_up_days(struct stv_text *text, const struct stv_chain *chain, size_t indent);
/* The same of a study's records, by what was found in them. */
void stv_words_study_made_up(struct stv_text *text, const struct stv_problems *problems,
                             size_t indent);
/* The day of the answer, where no one said it and a table's latest row stands in. */
void stv_words_day_taken(struct stv_text *text, const struct stv_chain *chain);
/* Water that misting and roof spray evaporate, for each store that has them. */
void stv_words_water_used(struct stv_text *text, const struct stv_chain *chain);
/* Which measurement would narrow the answer most. */
void stv_words_would_change(struct stv_text *text, const struct stv_chain *chain);

/* Of gauges that agree with each other alone; see model/gauge_agree.h. */
#define STV_WORDS_AGREES                                                                        \
    "another gauge agrees with it, and neither with what came before. Something was done that " \
    "history.csv lacks: water, another cask's spirit, a mix-up of casks. Write it down; until " \
    "then nothing is learned of either."

/* Cautions; none of them is ever left out. */
void stv_words_caution_planning(struct stv_text *text);
/* Says so where casks_stored counts more than the book lists: their places may be told as free. */
void stv_words_others_stored(struct stv_text *text, const struct stv_chain *chain);
/* Names those of the casks that history.csv moves or empties later, which the answer leaves out. */
void stv_words_planned_leaves(struct stv_text *text, const struct stv_chain *chain,
                              const int *casks, size_t n_casks);
/* Names those of the empty casks that it fills later, which the answer counts as free. */
void stv_words_planned_fills(struct stv_text *text, const struct stv_chain *chain,
                             const int *casks, size_t n_casks);
void stv_words_caution_moving(struct stv_text *text);
void stv_words_caution_pouring(struct stv_text *text);
void stv_words_caution_open_bungs(struct stv_text *text);
void stv_words_caution_room(struct stv_text *text);
/* Only where the bottling strength lies under the strength at which chilled spirit hazes. */
void stv_words_caution_haze(struct stv_text *text, const struct stv_house_rules *rules);
void stv_words_caution_vapour(struct stv_text *text);
/* Of walking a store for leaks and opening casks. */
void stv_words_caution_leaks(struct stv_text *text);
/* Of water, fans, lamps and heaters in the stores; nothing where none has them. */
void stv_words_caution_stores(struct stv_text *text, const struct stv_chain *chain);

/* --- by command --------------------------------------------------------------------------- */

/* Every figure of every tier in the warm season, the cold season and the year. */
void stv_words_season_figures(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                              const struct stv_cask_numbers *numbers);
/* One or two sentences: what the tiers differ by, warm season and cold. */
void stv_words_climate_answer(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                              bool despite_holes);
/* What was learned of each rack, and how far it misses. */
struct stv_learning;
void stv_words_learn(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_learning *learning);
/* Casks to look at, predictions against gauges, what is known better now, what to gauge next. */
struct stv_cask_lesson;
void stv_words_cask_learning(struct stv_text *text, const struct stv_chain *chain,
                             const struct stv_cask_lesson *lesson);
/* years: of each warehouse. */
void stv_words_climate(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_climate_result *result,
                       const struct stv_chain_years *years);

/* How many casks, litres of pure alcohol and bottles, now and at the end. */
void stv_words_forecast_answer(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_forecast *forecast);
/* True when the latest gauge lies outside the forecast's range for its day: said in one line. */
bool stv_words_gauge(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_forecast_cask *cask);
/* Those of all casks that ask for a look, n_most at most; before anything was learned, what most
 * casks share is said once.  Returns how many were told. */
size_t stv_words_gauges(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_forecast *forecast, size_t n_most);

/* One or two sentences: what can be bottled soon, what is closing. */
/* The casks whose window closes within six months; false: none. */
bool stv_words_closing(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_bottling *bottling);
void stv_words_bottling_answer(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_bottling *bottling);
struct stv_bottling_answer;
void stv_words_bottling(struct stv_text *text, const struct stv_bottling_answer *answer);

/* One or two sentences: which site keeps most, and what cannot be told apart. */
void stv_words_sites_answer(struct stv_text *text, const struct stv_sites_result *result);
/* changes: per site, NULL without any; problems: what its weather files said. */
void stv_words_sites(struct stv_text *text, const struct stv_study *study,
                     const struct stv_sites_result *result,
                     const struct stv_climate_result *climates,
                     const struct stv_changes_result *changes, const struct stv_problems *problems);

/* The study's changes under one sky: which keeps most, what it does to top and floor, what does
 * nothing; the whole with its tables; what they rest on; and their own cautions. */
void stv_words_changes_answer(struct stv_text *text, const struct stv_study *study, size_t site_idx,
                              const struct stv_changes_result *result);
void stv_words_changes(struct stv_text *text, const struct stv_study *study, size_t site_idx,
                       const struct stv_changes_result *result);
void stv_words_changes_rest(struct stv_text *text, const struct stv_study *study,
                            const struct stv_changes_result *result);
void stv_words_changes_cautions(struct stv_text *text, const struct stv_study *study);

/* The report's first screen: stock, what to look at, next release, next water, the year, racks,
 * sites, least sure of. */
struct stv_report_answers;
struct stv_first_screen {
    const struct stv_chain *chain;
    const struct stv_climate_result *climate;
    const struct stv_forecast *forecast; /* NULL: no casks */
    const struct stv_outlook *months;
    const struct stv_bottling *bottling; /* NULL: no casks */
    const struct stv_report_answers *answers;
    const struct stv_sites_result *sites; /* NULL: no study */
    const struct stv_study *study;
    const struct stv_changes_result *changes; /* per site of the study; NULL without any */
};
void stv_words_first_screen(struct stv_text *text, const struct stv_first_screen *screen);
/* That of a page without forecasts: of the screen, chain and climate alone. */
void stv_words_ledger_screen(struct stv_text *text, const struct stv_first_screen *screen);

/* "9 chances in 10". */
struct stv_formatted stv_words_chance(double frac);

/* Casks that may leak by what `learn` kept: each added to a list, the list told in one sentence
 * that comes before what is planned with them, and freed; and a line under the row of one.  Nothing
 * for casks that are not suspected. */
void stv_words_list_leak(struct stv_text *list, const struct stv_chain *chain, int cask_idx);
void stv_words_leaks_first(struct stv_text *text, struct stv_text *list);
/* "may leak, 9 in 10: look first", or that its last gauge does not fit; "" for one that nothing is
 * held against. */
struct stv_formatted stv_words_doubt_note(const struct stv_chain *chain, int cask_idx);
void stv_words_doubt_row(struct stv_text *text, const struct stv_chain *chain, int cask_idx);

#endif
