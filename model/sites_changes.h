/* What a change of the building does to its tiers and to a cask there, against the building as it
 * is, trial by trial. */
#ifndef STV_MODEL_SITES_CHANGES_H
#define STV_MODEL_SITES_CHANGES_H

#include "model/building_spread.h"
#include "model/sites.h"
#include "model/weather.h"

enum stv_change_figure {
    STV_CHANGE_WARM_LIQUID_C, /* spirit of a 200 L cask, mean of the season */
    STV_CHANGE_COLD_LIQUID_C,
    STV_CHANGE_YEAR_LIQUID_C,
    STV_CHANGE_WARM_RH_FRAC, /* air of the tier, mean of the season */
    STV_CHANGE_COLD_RH_FRAC,
    STV_CHANGE_YEAR_RH_FRAC,
    STV_CHANGE_BOTTLES_ND, /* in the cask a year after it was filled */
    STV_CHANGE_LPA_L,
    STV_CHANGE_VOLUME20_L,
    STV_CHANGE_ABV20_FRAC,
    STV_CHANGE_WOOD_ND,  /* phenolics per litre of alcohol: a difference is told as a share of the
                            building as it is; a level of judgement by itself */
    STV_CHANGE_FRUIT_ND, /* still fruit left */
    STV_CHANGE_FIGURES
};

/* One tier, or the mean of all. */
struct stv_change_row {
    struct stv_range figure[STV_CHANGE_FIGURES];
};

struct stv_building_change {
    char name[STV_ID_MAX];
    struct stv_building building; /* as it would be */
};

struct stv_changes_request {
    const struct stv_weather *weather;
    struct stv_season_span seasons[STV_SEASON_N]; /* of the building as it is */
    const struct stv_building *as_is;
    const struct stv_building_change *changes; /* each with as many tiers as as_is */
    size_t n_changes;
    const struct stv_cask *cask;
    double fill_abv20_frac;
    const struct stv_house_rules *rules; /* for bottles */
    const struct stv_params *base;       /* NULL: defaults */
    double margin[STV_CHANGE_FIGURES];   /* of one cask, in the figure's unit; set beforehand */
    struct stv_run_options options;
    const struct stv_cask_numbers *numbers; /* never NULL */
};

struct stv_change_effect {
    char name[STV_ID_MAX];
    double n_casks;                /* that the changed building stores */
    struct stv_change_row *tiers;  /* n_tiers from the floor up: change minus as it is */
    struct stv_change_row mean;    /* mean over the tiers, so of a cask of the house */
    struct stv_range behind_lpa_l; /* what the best change keeps more of a cask, trial by trial */
};

struct stv_changes_result {
    size_t n_tiers;
    struct stv_change_row *as_is; /* n_tiers: levels */
    struct stv_change_row as_is_mean;
    struct stv_change_effect *effects;
    size_t n_effects;
    size_t best_idx;            /* effect that keeps most alcohol by its middle; 0 without any */
    size_t n_members, n_trials; /* buildings drawn, and trials in them */
    size_t n_years;             /* years of the record that were run */
    bool is_typical;
    double margin[STV_CHANGE_FIGURES];
};

#define STV_BUILDING_MEMBERS 16

/* Runs the building as it is and each change through the same members: doubts of the building
 * (model/building_spread.h), an error of the climate as other answers have it, and a year of the
 * record; in each member the same draws of the cask.  Differences are taken member by member and
 * draw by draw.
 *
 * request  options.n_draws spread over up to STV_BUILDING_MEMBERS members, rounded up; 0 runs the
 *          buildings as they are said and the default cask over all whole years of the record, and
 *          its one value is the mean of the years
 * out      free with stv_changes_result_free; empty when the status is not OK
 *
 * Errors:  STV_E_NO_DATA  a record without a whole calendar year
 *          STV_E_DOMAIN   a change with another number of tiers; others of stv_building_simulate
 *                         and stv_outlook_run
 * Accuracy: as those.  The same bytes at any number of threads and in any order of changes
 * Source:  own rule: casks are spread evenly over the tiers, so the mean over tiers is the house's
 * Assumes: no logger; every year is run by itself after a spin-up of that year; all casks are like
 *          the one asked about, in its first year */
STV_MUST_CHECK enum stv_status stv_sites_changes(const struct stv_changes_request *request,
                                                 struct stv_changes_result *out);
/* Frees and empties; may be called twice. */
void stv_changes_result_free(struct stv_changes_result *result);

#endif
