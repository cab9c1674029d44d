/* The casks of one cell.  Each is told on days of its own, so that memory grows with the fill years
 * and not with their square. */
#include "model/sites_cell.h"

#include "model/calendar.h"
#include "model/cycles.h"
#include "model/sites_year.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MONTHS 12

size_t stv_cell_n_months(const struct stv_study_cell *cell)
{
    return MONTHS * cell->follow_y;
}

size_t stv_cell_n_values(const struct stv_study_cell *cell)
{
    return cell->n_tiers * STV_CELL_METRIC_N * cell->n_years * cell->n_draws;
}

size_t stv_cell_n_month_values(const struct stv_study_cell *cell)
{
    return cell->n_tiers * cell->n_years * stv_cell_n_months(cell) * cell->n_draws;
}

double *stv_cell_values_nd(const struct stv_study_cell *cell, size_t tier,
                           enum stv_cell_metric metric, size_t year_idx)
{
    size_t row = (tier * STV_CELL_METRIC_N + (size_t)metric) * cell->n_years + year_idx;
    return cell->values + row * cell->n_draws;
}

enum stv_status stv_cell_year_range(const struct stv_study_cell *cell, size_t tier,
                                    enum stv_cell_metric metric, size_t year_idx,
                                    struct stv_range *out)
{
    double *room = malloc((cell->n_draws + 1) * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    memcpy(room, stv_cell_values_nd(cell, tier, metric, year_idx), cell->n_draws * sizeof *room);
    *out = stv_range_of(room, cell->n_draws);
    free(room);
    return STV_OK;
}

enum stv_status stv_cell_allocate(struct stv_study_cell *cell)
{
    cell->years = calloc(cell->n_years + 1, sizeof *cell->years);
    cell->values = calloc(stv_cell_n_values(cell) + 1, sizeof *cell->values);
    cell->month_oak_mg = calloc(stv_cell_n_month_values(cell) + 1, sizeof(double));
    cell->month_abv20_frac = calloc(stv_cell_n_month_values(cell) + 1, sizeof(double));
    cell->reference_oak_mg = calloc(cell->n_draws + 1, sizeof(double));
    if (cell->years && cell->values && cell->month_oak_mg && cell->month_abv20_frac &&
        cell->reference_oak_mg)
        return STV_OK;
    stv_cell_free(cell);
    return STV_E_MEMORY;
}

void stv_cell_free(struct stv_study_cell *cell)
{
    free(cell->years);
    free(cell->values);
    free(cell->month_oak_mg);
    free(cell->month_abv20_frac);
    free(cell->reference_oak_mg);
    *cell = (struct stv_study_cell){0};
}

struct listener {
    const struct stv_cell_input *input;
    struct stv_study_cell *cell;
};

/* Quantity of one told day, n_draws values. */
static const double *told(const struct listener *to, const double *values, size_t day,
                          enum stv_quantity quantity)
{
    return values + (day * STV_Q_N + (size_t)quantity) * to->cell->n_draws;
}

static void take_months(const struct listener *to, size_t cask_idx, const double *values)
{
    struct stv_study_cell *cell = to->cell;
    size_t n_months = stv_cell_n_months(cell), n = cell->n_draws;
    for (size_t m = 0; m < n_months; m++) {
        size_t at = (cask_idx * n_months + m) * n;
        memcpy(cell->month_oak_mg + at, told(to, values, m, STV_Q_OAK_MG_PER_LPA_L),
               n * sizeof(double));
        memcpy(cell->month_abv20_frac + at, told(to, values, m, STV_Q_ABV20_FRAC),
               n * sizeof(double));
    }
}

/* Casks come tier by tier, years within; called from several threads, each for a cask of its own.
 */
static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    const struct listener *to = context;
    struct stv_study_cell *cell = to->cell;
    size_t tier = cask_idx / cell->n_years, year = cask_idx % cell->n_years;
    size_t last = stv_cell_n_months(cell) - 1;
    double fill_l = stv__fresh_fill_l(to->input->cask);
    double fill_lpa_l = fill_l * to->input->fill_abv20_frac;
    take_months(to, cask_idx, values);
    for (size_t d = 0; d < cell->n_draws; d++) {
        double oak_mg = told(to, values, last, STV_Q_OAK_MG_PER_LPA_L)[d];
        const double figures[] = {
            [STV_CELL_BOTTLES_ND] = told(to, values, last, STV_Q_BOTTLES_ND)[d],
            [STV_CELL_LPA_LOSS_FRAC] = 1.0 - told(to, values, last, STV_Q_LPA_L)[d] / fill_lpa_l,
            [STV_CELL_VOLUME_LOSS_FRAC] =
                1.0 - told(to, values, last, STV_Q_VOLUME20_L)[d] / fill_l,
            [STV_CELL_DRIFT_FRAC] =
                told(to, values, last, STV_Q_ABV20_FRAC)[d] - to->input->fill_abv20_frac,
            [STV_CELL_WOOD_ND] = oak_mg,
            [STV_CELL_FRUIT_ND] = told(to, values, last, STV_Q_STILL_FRUIT_ND)[d],
            [STV_CELL_WINDOW_MONTHS] = (double)NAN,
        };
        for (size_t m = 0; m <= STV_CELL_WINDOW_MONTHS; m++)
            stv_cell_values_nd(cell, tier, (enum stv_cell_metric)m, year)[d] = figures[m];
        /* After a month, when no cask has dried up yet. */
        if (cask_idx == (cell->n_tiers - 1) / 2 * cell->n_years)
            cell->reference_oak_mg[d] = told(to, values, 0, STV_Q_OAK_MG_PER_LPA_L)[d] /
                                        told(to, values, 0, STV_Q_WOOD_INDEX_ND)[d];
    }
    return STV_OK;
}

/* The end of a month of those that are followed, where a step of the cask model ends: a cut step
 * would be two.  Years end to the day. */
static int64_t month_end_d(const struct stv_cell_input *input, int32_t fill_year, size_t month)
{
    int32_t year = (int32_t)(month / MONTHS);
    size_t nth = month % MONTHS + 1;
    if (nth == MONTHS)
        return stv_day_from_date((struct stv_date){fill_year, 1, 1}) +
               (int64_t)(year + 1) * STV__FOLLOWED_D;
    double step_d = input->options.step_d;
    return stv_day_from_date((struct stv_date){fill_year + year, 1, 1}) +
           llround(step_d * round((double)nth * STV__FOLLOWED_D / MONTHS / step_d));
}

static enum stv_status run_casks(const struct stv_cell_input *input, int32_t first_year,
                                 struct stv_study_cell *cell)
{
    size_t n_months = stv_cell_n_months(cell), n_casks = cell->n_tiers * cell->n_years;
    int64_t *days_d = malloc(cell->n_years * n_months * sizeof *days_d);
    const int64_t **of_cask = malloc(n_casks * sizeof *of_cask);
    size_t *n_days = malloc(n_casks * sizeof *n_days);
    double *exposed_frac = malloc(cell->n_tiers * sizeof *exposed_frac);
    enum stv_status status = days_d && of_cask && n_days && exposed_frac ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < n_casks && status == STV_OK; c++) {
        size_t year = c % cell->n_years;
        for (size_t m = 0; m < n_months; m++)
            days_d[year * n_months + m] = month_end_d(input, first_year + (int32_t)year, m);
        of_cask[c] = days_d + year * n_months;
        n_days[c] = n_months;
    }
    if (status == STV_OK) {
        for (size_t t = 0; t < cell->n_tiers; t++)
            exposed_frac[t] = input->exposed_frac;
        struct listener to = {input, cell};
        struct stv_outlook_rows rows = {of_cask, n_days, take, &to};
        struct stv_position_set set = {input->tiers, cell->n_tiers, exposed_frac,
                                       (cell->n_tiers - 1) / 2, 0};
        struct stv__fresh_fills fills = {
            &set,           input->cask,    input->fill_abv20_frac, input->rules, input->base,
            input->options, input->numbers, input->follow_y,        &rows,        input->kept};
        struct stv_outlook outlook;
        status = stv__fresh_fills_run(&fills, first_year, cell->n_years, &outlook);
        if (status == STV_OK)
            stv_outlook_free(&outlook);
    }
    free(days_d);
    free(of_cask);
    free(n_days);
    free(exposed_frac);
    return status;
}

struct year_climate {
    double air_c, rh_frac, hot_h, cool_h, cycles_nd;
};

static size_t hour_of(const struct stv_grid *grid, int32_t year)
{
    int64_t local_s = stv_day_from_date((struct stv_date){year, 1, 1}) * STV_DAY_S;
    return stv_grid_index(grid, local_s - (int64_t)grid->utc_offset_min * 60);
}

static enum stv_status climate_of_year(const struct stv_cell_input *input, size_t tier,
                                       const double *liquid_c, int32_t year,
                                       struct year_climate *out)
{
    const struct stv_position *position = &input->tiers[tier];
    size_t from = hour_of(&position->grid, year), to = hour_of(&position->grid, year + 1);
    to = to < position->grid.n ? to : position->grid.n;
    *out = (struct year_climate){0};
    for (size_t k = from; k < to; k++) {
        out->air_c += position->air_c[k];
        out->rh_frac += position->rh_frac[k];
        out->hot_h += position->air_c[k] > STV_CELL_HOT_C;
        out->cool_h += liquid_c[k] <= input->numbers->cool_below_c;
    }
    out->air_c /= (double)(to - from);
    out->rh_frac /= (double)(to - from);
    return stv_cycles_sum_nd(liquid_c + from, to - from, STV_CELL_CYCLE_K, &out->cycles_nd);
}

/* Mean of the years that a fill is followed; the same in every draw. */
static void store_climate(const struct year_climate *years, size_t tier, size_t year,
                          struct stv_study_cell *cell)
{
    struct year_climate mean = {0};
    size_t n_years = cell->is_typical ? 1 : cell->follow_y;
    for (size_t k = 0; k < n_years; k++) {
        mean.air_c += years[year + k].air_c / (double)n_years;
        mean.rh_frac += years[year + k].rh_frac / (double)n_years;
        mean.hot_h += years[year + k].hot_h / (double)n_years;
        mean.cool_h += years[year + k].cool_h / (double)n_years;
        mean.cycles_nd += years[year + k].cycles_nd / (double)n_years;
    }
    for (size_t d = 0; d < cell->n_draws; d++) {
        stv_cell_values_nd(cell, tier, STV_CELL_AIR_C, year)[d] = mean.air_c;
        stv_cell_values_nd(cell, tier, STV_CELL_RH_FRAC, year)[d] = mean.rh_frac;
        stv_cell_values_nd(cell, tier, STV_CELL_HOT_H, year)[d] = mean.hot_h;
        stv_cell_values_nd(cell, tier, STV_CELL_COOL_H, year)[d] = mean.cool_h;
        stv_cell_values_nd(cell, tier, STV_CELL_CYCLES_ND, year)[d] = mean.cycles_nd;
    }
}

static enum stv_status run_climate(const struct stv_cell_input *input, int32_t first_year,
                                   size_t n_whole, struct stv_study_cell *cell)
{
    double *liquid_c = malloc(input->tiers[0].grid.n * sizeof *liquid_c);
    struct year_climate *years = malloc(n_whole * sizeof *years);
    enum stv_status status = liquid_c && years ? STV_OK : STV_E_MEMORY;
    for (size_t t = 0; t < cell->n_tiers && status == STV_OK; t++) {
        status =
            stv_position_liquid_c(&input->tiers[t], input->exposed_frac, input->numbers, liquid_c);
        for (size_t y = 0; y < n_whole && status == STV_OK; y++)
            status = climate_of_year(input, t, liquid_c, first_year + (int32_t)y, &years[y]);
        for (size_t y = 0; y < cell->n_years && status == STV_OK; y++)
            store_climate(years, t, y, cell);
    }
    free(liquid_c);
    free(years);
    return status;
}

enum stv_status stv_cell_run(const struct stv_cell_input *input, struct stv_study_cell *out)
{
    const struct stv_grid *grid = &input->tiers[0].grid;
    int32_t first_year;
    size_t n_whole = stv__whole_years(grid, &first_year);
    *out = (struct stv_study_cell){
        .n_tiers = input->n_tiers,
        .n_draws = input->options.n_draws ? input->options.n_draws : 1,
        .follow_y = input->follow_y,
        .is_typical = grid->is_typical,
    };
    if (input->follow_y < 1 || input->follow_y > STV_FOLLOW_MOST_Y)
        return STV_E_DOMAIN;
    if (n_whole == 0 || (!grid->is_typical && n_whole < input->follow_y))
        return STV_E_NO_DATA;
    out->n_years = grid->is_typical ? 1 : n_whole - input->follow_y + 1;
    enum stv_status status = stv_cell_allocate(out);
    for (size_t y = 0; y < out->n_years && status == STV_OK; y++)
        out->years[y] = grid->is_typical ? 0 : first_year + (int32_t)y;
    if (status == STV_OK)
        status = run_casks(input, first_year, out);
    if (status == STV_OK)
        status = run_climate(input, first_year, n_whole, out);
    if (status != STV_OK)
        stv_cell_free(out);
    return status;
}
