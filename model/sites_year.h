/* Private to sites*.c: a cask filled afresh on every 1 January at every position of a set, soaked
 * and full, and followed for one year of 365 days or several. */
#ifndef STV_MODEL_SITES_YEAR_H
#define STV_MODEL_SITES_YEAR_H

#include "model/outlook.h"

struct stv__fresh_fills {
    const struct stv_position_set *set;
    const struct stv_cask *cask;
    double fill_abv20_frac;
    const struct stv_house_rules *rules;
    const struct stv_params *base; /* NULL: defaults */
    struct stv_run_options options;
    const struct stv_cask_numbers *numbers; /* NULL: defaults */
    size_t follow_y;                        /* years that each is followed; at least 1 */
    const struct stv_outlook_rows *rows;    /* told in place of the ends of years; NULL: none */
    struct stv_kept_tables *kept;           /* as stv_outlook_request.kept; NULL: none */
};

#define STV__FOLLOWED_D 365 /* days of a year that is followed */

/* Litres at 20 C that go in. */
double stv__fresh_fill_l(const struct stv_cask *cask);

/* Calendar years of which every local day is inside the grid; a typical year counts as one. */
size_t stv__whole_years(const struct stv_grid *grid, int32_t *out_first);

/* Runs the casks of n_years (at least 1) from first_year on.
 *
 * out   cask [position * n_years + year], day [year]: the end of what is followed; without days
 *       where rows are told; free with stv_outlook_free.  All casks have the same id and so the
 * same draws. Errors: those of stv_outlook_run */
STV_MUST_CHECK enum stv_status stv__fresh_fills_run(const struct stv__fresh_fills *fills,
                                                    int32_t first_year, size_t n_years,
                                                    struct stv_outlook *out);

#endif
