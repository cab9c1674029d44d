/* Ethanol in the air of each warehouse of a book, or of one store described on the command line. */
#ifndef STV_CLI_VAPOUR_H
#define STV_CLI_VAPOUR_H

#include "cli/chain.h"
#include "cli/json_document.h"
#include "model/vapour_trials.h"
#include "plots/sheet.h"

#define STV_VAPOUR_WORST 5 /* told; chosen among STV_VAPOUR_WATCH */

struct stv_vapour_hour {
    int64_t time_s; /* end of the hour; INT64_MIN without a calendar */
    double ppm, release_kg_h, air_m3_h, air_c, outdoor_c;
    struct stv_range ppm_range; /* of the same hour in all trials */
};

/* The store's figures over all trials; all five numbers the default's without any. */
struct stv_vapour_ranges {
    struct stv_range mean_kg_h, peak_kg_h, air_mean_m3_h, mean_ppm, peak_ppm, peak_vapour_m3_h;
    struct stv_range over_day_h_per_y;
};

/* Numbers alone are those of the default numbers, or of what was said. */
struct stv_vapour_store {
    const char *name;          /* NULL without a book */
    double n_casks;            /* that give off; the rest of the figures is all of theirs */
    double n_listed, n_stored; /* of them in casks.csv; casks_stored of the book, 0 unsaid */
    bool is_stock_said;
    double mean_kg_h, peak_kg_h;
    double volume_m3, air_mean_m3_h;
    double mean_ppm, peak_ppm;
    double peak_vapour_m3_h; /* of the hour that gives off most */
    double over_day_h_per_y; /* hours above the limit of a working day */
    double slowing_frac;     /* bound of what the room's vapour takes off the release; NaN */
    double spill_kg;         /* ethanol that brings the room to the lower explosive limit */
    /* Each of another day, the highest upper end first; n_worst of them, at most STV_VAPOUR_WORST
     * when they are told. */
    struct stv_vapour_hour worst[STV_VAPOUR_WATCH];
    size_t n_worst;
    bool is_air_said;
    /* Of each hour of the day in each month, the highest of the record; a book's, NaN unknown */
    struct stv_range clock_ppm[STV_MONTHS][STV_DAY_H];
    bool has_clock;
    bool has_ranges; /* a book's: else the numbers said are all there is */
    struct stv_vapour_ranges ranges;
};

struct stv_vapour_answer {
    const struct stv_chain *chain; /* NULL without a book */
    struct stv_vapour_store *stores;
    size_t n;
    double mixing_nd;
};

/* Stands wherever a figure of vapour does; on a page with the sign of a degree.  Source: beside
 * add_cautions in words_vapour.c */
#define STV_VAPOUR_CAUTION_WITH(degree)                                                            \
    "Steady evaporation only: spills, filling, transfers and sudden leaks are not covered, and "   \
    "inside a cask that is warmer than 20 " degree "C the vapour can burn. No figure here clears " \
    "anybody to enter: air first, measure with a calibrated gas meter, then enter."
#define STV_VAPOUR_CAUTION STV_VAPOUR_CAUTION_WITH("")

/* What a user is told of each limit. */
struct stv_vapour_limit {
    double ppm;
    const char *words, *source;
};
#define STV_VAPOUR_LIMITS 3
extern const struct stv_vapour_limit stv_vapour_limits[STV_VAPOUR_LIMITS];

/* One store from numbers alone: each cask's yearly release, the worst hour over the mean. */
struct stv_vapour_sum {
    double n_casks, cask_kg_h, peak_nd, volume_m3, air_change_per_h, air_c;
};
void stv_vapour_sum_up(const struct stv_vapour_sum *sum, struct stv_vapour_store *out);

/* Every warehouse of a chain that has its climate.
 * air_change_per_h  in place of the building's own; NaN: its own
 * Errors: STV_E_NO_DATA no weather, so no air change is known; those of stv_chain_outlook; free
 * with stv_vapour_answer_free */
STV_MUST_CHECK enum stv_status stv_chain_vapour(const struct stv_chain *chain,
                                                double air_change_per_h,
                                                struct stv_vapour_answer *out);
/* The same from an outlook whose first day is the day of the answer, its values kept;
 * an empty one where there is no cask. */
STV_MUST_CHECK enum stv_status stv_chain_vapour_of(const struct stv_chain *chain,
                                                   const struct stv_outlook *outlook,
                                                   double air_change_per_h,
                                                   struct stv_vapour_answer *out);
void stv_vapour_answer_free(struct stv_vapour_answer *answer);

/* Whether the worst hour, at the upper end of its range, lies above the lower explosive limit. */
bool stv_vapour_can_burn(const struct stv_vapour_store *store);

void stv_words_vapour(struct stv_text *text, const struct stv_vapour_answer *answer);
void stv_json_vapour(json_t *document, const struct stv_vapour_answer *answer);
void stv_csv_vapour(struct stv_sheet *table, const struct stv_vapour_answer *answer);

#endif
