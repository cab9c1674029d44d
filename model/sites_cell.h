/* One cell of a study: one cask in some tiers of one building under one sky, filled afresh in every
 * year of the record and followed through the years that came after. */
#ifndef STV_MODEL_SITES_CELL_H
#define STV_MODEL_SITES_CELL_H

#include "model/outlook.h"

#define STV_FOLLOW_MOST_Y 30

/* Figures of one cask of one fill year; losses and gains over the years it is followed. */
enum stv_cell_metric {
    STV_CELL_BOTTLES_ND, /* in the cask at the end */
    STV_CELL_LPA_LOSS_FRAC,
    STV_CELL_VOLUME_LOSS_FRAC, /* at 20 C, of the fill */
    STV_CELL_DRIFT_FRAC,       /* change of strength */
    STV_CELL_WOOD_ND,          /* phenolics over the study's reference cask */
    STV_CELL_FRUIT_ND,         /* still fruit left */
    STV_CELL_WINDOW_MONTHS,    /* months of those followed in which it could be bottled */
    STV_CELL_AIR_C,            /* air of the tier, mean of the years */
    STV_CELL_RH_FRAC,
    STV_CELL_HOT_H,     /* hours a year with air over STV_CELL_HOT_C */
    STV_CELL_COOL_H,    /* hours a year with spirit at or below cool_below_c */
    STV_CELL_CYCLES_ND, /* rainflow cycles of the spirit a year, of STV_CELL_CYCLE_K and more */
    STV_CELL_METRIC_N
};

/* As the question is put in the trade; no published source for either. */
#define STV_CELL_HOT_C 35.0
#define STV_CELL_CYCLE_K 8.0

struct stv_cell_input {
    const struct stv_position *tiers; /* n_tiers, on one grid */
    size_t n_tiers;
    double exposed_frac;
    const struct stv_cask *cask;
    double fill_abv20_frac;
    const struct stv_house_rules *rules;
    const struct stv_params *base; /* NULL: defaults */
    const struct stv_cask_numbers *numbers;
    struct stv_run_options options;
    size_t follow_y;              /* 1..STV_FOLLOW_MOST_Y */
    struct stv_kept_tables *kept; /* for the next cell of the same tiers; NULL: none */
};

/* What a cell gives, before any other cell is known: wood is an amount, and the window is told once
 * the study's reference cask is known (model/sites_grid.h). */
struct stv_study_cell {
    size_t n_tiers, n_years, n_draws, follow_y; /* n_years: fill years */
    bool is_typical;
    int32_t *years; /* n_years; 0: a typical year */
    double *values; /* [((tier * STV_CELL_METRIC_N + metric) * n_years + year) * n_draws +
                       draw]; wood in mg per litre of pure alcohol, the window NaN */
    /* At the ends of months, or of the model's steps that come next to them. */
    double *month_oak_mg; /* [((tier * n_years + year) * 12 follow_y + month) * n_draws + draw] */
    double *month_abv20_frac; /* likewise */
    double *reference_oak_mg; /* n_draws: of the house's reference cask in the middle tier asked */
};

/* Runs a cell.  The cask is filled soaked and full on 1 January of each year from which the record
 * has follow_y whole years, and stays 365 days for each of them; the same draws in every cell of
 * the same seed.  A typical year stands for every year that is followed and gives one fill year.
 *
 * out  free with stv_cell_free; empty when the status is not OK
 *
 * Errors:   STV_E_NO_DATA  fewer than follow_y whole years; STV_E_DOMAIN follow_y; others of
 *           stv_outlook_run
 * Accuracy: as stv_outlook_run; the same bytes at any number of threads
 * Assumes:  no logger: figures of the climate are those of the building model and alike in every
 *           draw */
STV_MUST_CHECK enum stv_status stv_cell_run(const struct stv_cell_input *input,
                                            struct stv_study_cell *out);

/* Room for a cell of the sizes that are set in it, all zero.  Errors: STV_E_MEMORY, empty then. */
STV_MUST_CHECK enum stv_status stv_cell_allocate(struct stv_study_cell *cell);
/* Frees and empties; may be called twice. */
void stv_cell_free(struct stv_study_cell *cell);

/* n_draws values of a tier, metric and fill year. */
double *stv_cell_values_nd(const struct stv_study_cell *cell, size_t tier,
                           enum stv_cell_metric metric, size_t year_idx);
/* Range over the draws of one of them.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_cell_year_range(const struct stv_study_cell *cell, size_t tier,
                                                   enum stv_cell_metric metric, size_t year_idx,
                                                   struct stv_range *out);
/* Number of months that are followed. */
size_t stv_cell_n_months(const struct stv_study_cell *cell);
/* Doubles in `values`, and in each of the two columns of months. */
size_t stv_cell_n_values(const struct stv_study_cell *cell);
size_t stv_cell_n_month_values(const struct stv_study_cell *cell);

#endif
