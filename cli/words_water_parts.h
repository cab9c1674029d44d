/* Private to words_water*.c: a cask's plan in words, and what house and cask share. */
#ifndef STV_CLI_WORDS_WATER_PARTS_H
#define STV_CLI_WORDS_WATER_PARTS_H

#include "cli/format.h"
#include "cli/water.h"
#include "plots/text.h"

/* A strength that moves by less between the last step and the last day stands still: what a good
 * hydrometer resolves, as where forecasts are compared. */
#define STV__WATER_STILL_FRAC 0.002

/* "11.7 (9.8-13.4)": a middle of its own, and the range about it. */
struct stv_formatted stv__water_tight(struct stv_range range, double middle_nd, int decimals);
struct stv_formatted stv__water_kg(double value_kg);
struct stv_formatted stv__water_range_pct(struct stv_range range);
const char *stv__water_id(const struct stv_chain *chain, const struct stv_reduction_plan *plan);
/* "water" or "reducing spirit". */
const char *stv__water_added(const struct stv_chain *chain);
bool stv__water_has_no_room(const struct stv_reduction_plan *plan);

/* What the steps gain or cost in bottles, or that it does not matter. */
void stv__water_add_price(struct stv_text *text, struct stv_range gain_nd, struct stv_range all_nd);
/* Why a cask is too full, and what would help. */
void stv__water_add_room_help(struct stv_text *text, const struct stv_chain *chain,
                              const struct stv_reduction_plan *plan);
/* All of one cask's plan. */
void stv__water_add_cask(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_reduction_plan *plan);

#endif
