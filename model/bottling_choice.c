/* The choice of casks as a mixed-integer program: how many of each cask, and of those
 * alike, go into each bottling, what is missing at a price that nothing else pays, marriages held
 * in range by their middle values.  The program without whole numbers tells what each cask would
 * add to the cost at least; whole numbers are sought among the casks that add little, so that a
 * house of thousands takes hardly longer than one of hundreds. */
#include "model/bottling_parts.h"

#include <glpk.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* Prices: a whole bottling missing, one lot more in a series, one whole bottling too many.  What
 * is missing outweighs all else; the rest against the logarithm of odds.  Judgement. */
#define MISSING_COST 1000.0
#define LOT_COST 0.15
#define SPARE_COST 0.10
/* The search ends here, by branches and not by seconds: the same answer on every machine. */
#define NODES_MOST 20000
#define WORK_MOST 2e6 /* branches times elements of the matrix */
#define GAP_ND 0.001  /* of a choice that cannot be bettered by more: a thousandth of the odds */
/* Beside the casks that the program without whole numbers takes, so many of the cheapest for each
 * wish are looked at: twice as many found no cheaper choice in houses of 300 to 5000 casks. */
#define SPARE_OF_WISH 30
#define NO_PRICE_ND 1e-9

struct model {
    const struct stv__choice *choice;
    glp_prob *problem;
    int *column_of;    /* [wish * n_casks + cask], 0: it is not looked at */
    double *price_nd;  /* [wish * n_casks + cask]: what one of it adds to the cost at least */
    double *sorted_nd; /* the prices of those that may serve, n_priced of them */
    size_t n_priced;
    int *rows, *columns; /* elements of the matrix, from 1 as GLPK counts */
    double *values;
    int n;
};

static int column_of(const struct model *model, size_t wish, size_t cask)
{
    return model->column_of[wish * model->choice->n_casks + cask];
}

static double most_of(const struct stv__choice *choice, size_t cask)
{
    return choice->n_alike ? (double)choice->n_alike[cask] : 1.0;
}

static void add(struct model *model, int row, int column, double value)
{
    if (value == 0.0 || column == 0)
        return;
    model->n++;
    model->rows[model->n] = row;
    model->columns[model->n] = column;
    model->values[model->n] = value;
}

static int new_row(struct model *model, int kind, double low, double high)
{
    int row = glp_add_rows(model->problem, 1);
    glp_set_row_bnds(model->problem, row, kind, low, high);
    return row;
}

static int new_column(struct model *model, double most, double cost)
{
    int column = glp_add_cols(model->problem, 1);
    glp_set_col_bnds(model->problem, column, most > 0.0 ? GLP_DB : GLP_FX, 0.0, most);
    glp_set_obj_coef(model->problem, column, cost);
    return column;
}

static void add_cells(struct model *model, double most_price_nd)
{
    const struct stv__choice *choice = model->choice;
    for (size_t at = 0; at < choice->n_wishes * choice->n_casks; at++) {
        const struct stv__choice_wish *wish = &choice->wishes[at / choice->n_casks];
        const struct stv__choice_cask *cask = &choice->casks[at];
        double spare =
            wish->bottles_nd > 0.0 ? SPARE_COST * cask->bottles_nd / wish->bottles_nd : 0.0;
        model->column_of[at] = 0;
        if (!cask->may_serve || model->price_nd[at] > most_price_nd)
            continue;
        model->column_of[at] =
            new_column(model, most_of(choice, at % choice->n_casks), cask->cost_nd + spare);
        glp_set_col_kind(model->problem, model->column_of[at], GLP_IV);
    }
}

/* SIZE_MAX: every wish is of it. */
static bool is_of_series(const struct model *model, size_t wish_idx, size_t series_idx)
{
    const struct stv__choice_wish *wish = &model->choice->wishes[wish_idx];
    return series_idx == SIZE_MAX || (wish->is_in_series && wish->series_idx == series_idx);
}

/* What the wishes of a series, SIZE_MAX: all, take of a cask is `most` times `used` at most; used
 * 0: most.  A row over all releases is tighter than one for each. */
static void add_most(struct model *model, size_t cask, size_t series_idx, int used)
{
    const struct stv__choice *choice = model->choice;
    double most = most_of(choice, cask);
    int row = 0;
    for (size_t w = 0; w < choice->n_wishes; w++) {
        if (column_of(model, w, cask) == 0 || !is_of_series(model, w, series_idx))
            continue;
        if (row == 0)
            row = new_row(model, GLP_UP, 0.0, used ? 0.0 : most);
        add(model, row, column_of(model, w, cask), 1.0);
    }
    if (row)
        add(model, row, used, -most);
}

/* A sum over the casks of a wish; with_missing: what falls short of it may be bought. */
static void add_need(struct model *model, size_t wish_idx, bool counts_bottles, double need)
{
    const struct stv__choice *choice = model->choice;
    int row = new_row(model, counts_bottles ? GLP_LO : GLP_FX, need, need);
    for (size_t c = 0; c < choice->n_casks; c++) {
        const struct stv__choice_cask *cask = &choice->casks[wish_idx * choice->n_casks + c];
        add(model, row, column_of(model, wish_idx, c), counts_bottles ? cask->bottles_nd : 1.0);
    }
    add(model, row, new_column(model, need, MISSING_COST / need), 1.0);
}

/* What lies in a marriage above `of`, weighted: low of it at least, high at most. */
static void add_mean(struct model *model, size_t wish_idx, bool is_wood, const double range[2])
{
    const struct stv__choice *choice = model->choice;
    int low = new_row(model, GLP_LO, 0.0, 0.0), high = new_row(model, GLP_UP, 0.0, 0.0);
    for (size_t c = 0; c < choice->n_casks; c++) {
        const struct stv__choice_cask *cask = &choice->casks[wish_idx * choice->n_casks + c];
        int column = column_of(model, wish_idx, c);
        double amount = is_wood ? cask->wood_nd * cask->lpa_l : cask->lpa_l;
        double weight = is_wood ? cask->lpa_l : cask->volume20_l;
        add(model, low, column, amount - range[0] * weight);
        add(model, high, column, amount - range[1] * weight);
    }
}

static void add_wishes(struct model *model)
{
    for (size_t w = 0; w < model->choice->n_wishes; w++) {
        const struct stv__choice_wish *wish = &model->choice->wishes[w];
        if (wish->bottles_nd > 0.0)
            add_need(model, w, true, wish->bottles_nd);
        if (wish->n_casks > 0)
            add_need(model, w, false, (double)wish->n_casks);
        if (!wish->is_married)
            continue;
        const double abv[2] = {wish->least_abv20_frac, wish->most_abv20_frac};
        const double wood[2] = {wish->wood_least_nd, wish->wood_most_nd};
        add_mean(model, w, false, abv);
        add_mean(model, w, true, wood);
    }
}

/* A lot that a series uses costs a little once, whichever release uses it. */
static void add_lots(struct model *model, size_t series_idx)
{
    const struct stv__choice *choice = model->choice;
    for (size_t c = 0; c < choice->n_casks; c++) {
        size_t lot = choice->lot_of_cask[c];
        bool is_first = lot != SIZE_MAX;
        for (size_t other = 0; other < c && is_first; other++)
            is_first = choice->lot_of_cask[other] != lot;
        if (!is_first)
            continue;
        int used = new_column(model, 1.0, LOT_COST);
        if (choice->n_alike) /* one of several would else pay a part of it */
            glp_set_col_kind(model->problem, used, GLP_IV);
        for (size_t m = c; m < choice->n_casks; m++)
            if (choice->lot_of_cask[m] == lot)
                add_most(model, m, series_idx, used);
    }
}

static void add_series(struct model *model)
{
    const struct stv__choice *choice = model->choice;
    for (size_t w = 0; w < choice->n_wishes; w++) {
        bool is_first = choice->wishes[w].is_in_series != 0;
        for (size_t other = 0; other < w; other++)
            is_first = is_first && choice->wishes[other].series_idx != choice->wishes[w].series_idx;
        if (is_first)
            add_lots(model, choice->wishes[w].series_idx);
    }
}

/* Ends the search where nothing better by more than the gap can come, or after enough work. */
static void stop_in_time(glp_tree *tree, void *context)
{
    const struct model *model = context;
    int n_all = 0, best = glp_ios_best_node(tree);
    glp_ios_tree_size(tree, NULL, NULL, &n_all);
    bool has_found = glp_mip_status(model->problem) == GLP_FEAS;
    bool is_near =
        best != 0 && glp_mip_obj_val(model->problem) - glp_ios_node_bound(tree, best) < GAP_ND;
    bool is_long = n_all > NODES_MOST || (double)n_all * model->n > WORK_MOST;
    if (has_found && (is_near || is_long)) /* none at all is a choice too: it is soon found */
        glp_ios_terminate(tree);
}

static enum stv_status relax(const struct model *model)
{
    glp_smcp how;
    glp_init_smcp(&how);
    how.msg_lev = GLP_MSG_OFF;
    glp_scale_prob(model->problem, GLP_SF_AUTO);
    glp_std_basis(model->problem);
    return glp_simplex(model->problem, &how) == 0 && glp_get_status(model->problem) == GLP_OPT
               ? STV_OK
               : STV_E_NO_CONVERGENCE;
}

static void build(struct model *model, double most_price_nd)
{
    model->n = 0;
    model->problem = glp_create_prob();
    add_cells(model, most_price_nd);
    for (size_t c = 0; c < model->choice->n_casks; c++)
        add_most(model, c, SIZE_MAX, 0);
    add_wishes(model);
    add_series(model);
    glp_load_matrix(model->problem, model->n, model->rows, model->columns, model->values);
}

static int compare_prices(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Prices of the program without whole numbers; what it takes, or some of it, is free. */
static enum stv_status find_prices(struct model *model)
{
    size_t n_cells = model->choice->n_wishes * model->choice->n_casks;
    build(model, INFINITY);
    enum stv_status status = relax(model);
    for (size_t at = 0; at < n_cells && status == STV_OK; at++) {
        if (model->column_of[at] == 0)
            continue;
        model->price_nd[at] = fmax(0.0, glp_get_col_dual(model->problem, model->column_of[at]));
        model->sorted_nd[model->n_priced++] = model->price_nd[at];
    }
    glp_delete_prob(model->problem);
    qsort(model->sorted_nd, model->n_priced, sizeof *model->sorted_nd, compare_prices);
    return status;
}

static double most_price_nd(const struct model *model)
{
    size_t most = SPARE_OF_WISH * model->choice->n_wishes;
    for (size_t i = 0; i < model->n_priced && model->sorted_nd[i] <= NO_PRICE_ND; i++)
        most++;
    return most < model->n_priced ? model->sorted_nd[most] : (double)INFINITY;
}

static enum stv_status search(struct model *model, size_t *out_taken)
{
    size_t n_cells = model->choice->n_wishes * model->choice->n_casks;
    glp_iocp how;
    glp_init_iocp(&how);
    how.msg_lev = GLP_MSG_OFF;
    how.mir_cuts = GLP_ON;
    how.cb_func = stop_in_time;
    how.cb_info = model;
    if (relax(model) != STV_OK)
        return STV_E_NO_CONVERGENCE;
    int code = glp_intopt(model->problem, &how);
    int state = glp_mip_status(model->problem);
    if ((code != 0 && code != GLP_ESTOP) || (state != GLP_OPT && state != GLP_FEAS))
        return STV_E_NO_CONVERGENCE;
    for (size_t at = 0; at < n_cells; at++) {
        int column = model->column_of[at];
        out_taken[at] = column ? (size_t)lround(glp_mip_col_val(model->problem, column)) : 0;
    }
    return STV_OK;
}

static enum stv_status solve(struct model *model, size_t *out_taken)
{
    int speaks = glp_term_out(GLP_OFF);
    enum stv_status status = find_prices(model);
    if (status == STV_OK) {
        build(model, most_price_nd(model));
        status = search(model, out_taken);
        glp_delete_prob(model->problem);
    }
    glp_term_out(speaks);
    glp_free_env();
    return status;
}

enum stv_status stv__choose(const struct stv__choice *choice, size_t *out_taken)
{
    size_t n_cells = choice->n_wishes * choice->n_casks;
    /* One of each cask's rows; two needs, two means of two rows; two of a lot. */
    size_t most = n_cells * 9 + choice->n_wishes * 2 + 1;
    struct model model = {.choice = choice};
    model.column_of = malloc((n_cells + 1) * sizeof *model.column_of);
    model.price_nd = calloc(n_cells + 1, sizeof *model.price_nd);
    model.sorted_nd = malloc((n_cells + 1) * sizeof *model.sorted_nd);
    model.rows = malloc((most + 1) * sizeof *model.rows);
    model.columns = malloc((most + 1) * sizeof *model.columns);
    model.values = malloc((most + 1) * sizeof *model.values);
    bool has_room = model.column_of && model.price_nd && model.sorted_nd && model.rows &&
                    model.columns && model.values;
    enum stv_status status = has_room ? solve(&model, out_taken) : STV_E_MEMORY;
    free(model.column_of);
    free(model.price_nd);
    free(model.sorted_nd);
    free(model.rows);
    free(model.columns);
    free(model.values);
    return status;
}
