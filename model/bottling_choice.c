/* The choice of casks as a mixed-integer program: how many of each cask, and of those
 * alike, go into each bottling, what is missing at a price that nothing else pays, marriages held
 * in range by their middle values. */
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
#define WORK_MOST 5e6 /* branches times elements of the matrix */
#define GAP_ND 0.01   /* of a choice that cannot be bettered by more: a hundredth of the odds */

struct model {
    const struct stv__choice *choice;
    glp_prob *problem;
    int *rows, *columns; /* elements of the matrix, from 1 as GLPK counts */
    double *values;
    int n;
};

static int column_of(const struct stv__choice *choice, size_t wish, size_t cask)
{
    return (int)(wish * choice->n_casks + cask) + 1;
}

static double most_of(const struct stv__choice *choice, size_t cask)
{
    return choice->n_alike ? (double)choice->n_alike[cask] : 1.0;
}

static void add(struct model *model, int row, int column, double value)
{
    if (value == 0.0)
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

static void add_casks(struct model *model)
{
    const struct stv__choice *choice = model->choice;
    for (size_t w = 0; w < choice->n_wishes; w++) {
        const struct stv__choice_wish *wish = &choice->wishes[w];
        for (size_t c = 0; c < choice->n_casks; c++) {
            const struct stv__choice_cask *cask = &choice->casks[w * choice->n_casks + c];
            double spare =
                wish->bottles_nd > 0.0 ? SPARE_COST * cask->bottles_nd / wish->bottles_nd : 0.0;
            int column = new_column(model, cask->may_serve ? most_of(choice, c) : 0.0,
                                    cask->may_serve ? cask->cost_nd + spare : 0.0);
            glp_set_col_kind(model->problem, column, GLP_IV);
        }
    }
    for (size_t c = 0; c < choice->n_casks; c++) {
        int row = new_row(model, GLP_UP, 0.0, most_of(choice, c));
        for (size_t w = 0; w < choice->n_wishes; w++)
            add(model, row, column_of(choice, w, c), 1.0);
    }
}

/* A sum over the casks of a wish; with_missing: what falls short of it may be bought. */
static void add_need(struct model *model, size_t wish_idx, bool counts_bottles, double need)
{
    const struct stv__choice *choice = model->choice;
    int row = new_row(model, counts_bottles ? GLP_LO : GLP_FX, need, need);
    for (size_t c = 0; c < choice->n_casks; c++) {
        const struct stv__choice_cask *cask = &choice->casks[wish_idx * choice->n_casks + c];
        if (cask->may_serve)
            add(model, row, column_of(choice, wish_idx, c),
                counts_bottles ? cask->bottles_nd : 1.0);
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
        if (!cask->may_serve)
            continue;
        int column = column_of(choice, wish_idx, c);
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
        for (size_t w = 0; w < choice->n_wishes; w++)
            for (size_t m = c; m < choice->n_casks && choice->wishes[w].is_in_series; m++) {
                if (choice->wishes[w].series_idx != series_idx || choice->lot_of_cask[m] != lot)
                    continue;
                int row = new_row(model, GLP_UP, 0.0, 0.0);
                add(model, row, column_of(choice, w, m), 1.0);
                add(model, row, used, -most_of(choice, m));
            }
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

static enum stv_status solve(struct model *model, size_t *out_taken)
{
    const struct stv__choice *choice = model->choice;
    glp_iocp how;
    glp_init_iocp(&how);
    how.msg_lev = GLP_MSG_OFF;
    how.fp_heur = GLP_ON;
    how.cb_func = stop_in_time;
    how.cb_info = model;
    glp_load_matrix(model->problem, model->n, model->rows, model->columns, model->values);
    if (relax(model) != STV_OK)
        return STV_E_NO_CONVERGENCE;
    int code = glp_intopt(model->problem, &how);
    int state = glp_mip_status(model->problem);
    if ((code != 0 && code != GLP_ESTOP) || (state != GLP_OPT && state != GLP_FEAS))
        return STV_E_NO_CONVERGENCE;
    for (size_t w = 0; w < choice->n_wishes; w++)
        for (size_t c = 0; c < choice->n_casks; c++)
            out_taken[w * choice->n_casks + c] =
                (size_t)lround(glp_mip_col_val(model->problem, column_of(choice, w, c)));
    return STV_OK;
}

enum stv_status stv__choose(const struct stv__choice *choice, size_t *out_taken)
{
    /* One of each cask's rows; two needs, two means of two rows; two of a lot. */
    size_t most = choice->n_wishes * choice->n_casks * 9 + choice->n_wishes * 2 + 1;
    struct model model = {.choice = choice};
    model.rows = malloc((most + 1) * sizeof *model.rows);
    model.columns = malloc((most + 1) * sizeof *model.columns);
    model.values = malloc((most + 1) * sizeof *model.values);
    enum stv_status status = model.rows && model.columns && model.values ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        int speaks = glp_term_out(GLP_OFF);
        model.problem = glp_create_prob();
        add_casks(&model);
        add_wishes(&model);
        add_series(&model);
        status = solve(&model, out_taken);
        glp_delete_prob(model.problem);
        glp_term_out(speaks);
        glp_free_env();
    }
    free(model.rows);
    free(model.columns);
    free(model.values);
    return status;
}
