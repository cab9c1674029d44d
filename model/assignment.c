/* The transport problem over kinds.  Its vertices are whole numbers, so the simplex method is
 * enough; only a limit on moves, which ties all columns together, may ask for branching. */
#include "model/assignment.h"

#include <glpk.h>
#include <math.h>
#include <setjmp.h>
#include <stdint.h>
#include <stdlib.h>

#define WHOLE_ND 1e-6 /* how near a whole number the solver's answers are */
#define NODES_MOST 20000

/* The library ends the program on an error unless it is left by a jump. */
static void leave(void *info)
{
    longjmp(*(jmp_buf *)info, 1);
}

/* Nothing is ever printed from here, the library's errors neither. */
static int swallow(void *info, const char *text)
{
    (void)info;
    (void)text;
    return 1;
}

struct model {
    const struct stv_assignment_problem *problem;
    glp_prob *lp;
    int *column_of;     /* [group * n_kinds + kind]; 0: forbidden */
    int move_row;       /* 0: none */
    double left_out_nd; /* what a cask without a place costs */
    int n_nodes;
};

static int is_move(const struct stv_assignment_problem *problem, size_t group, size_t kind)
{
    return problem->present_idx && problem->present_idx[group] != SIZE_MAX &&
           problem->present_idx[group] != kind;
}

static enum stv_status check(const struct stv_assignment_problem *problem)
{
    size_t n_groups = problem->n_groups, n_kinds = problem->n_kinds;
    for (size_t i = 0; i < n_groups * n_kinds; i++)
        if (isinf(problem->merits_nd[i]))
            return STV_E_ARG;
    size_t *n_lying = calloc(n_kinds + 1, sizeof *n_lying);
    if (!n_lying)
        return STV_E_MEMORY;
    enum stv_status status = STV_OK;
    for (size_t g = 0; problem->present_idx && g < n_groups && status == STV_OK; g++) {
        size_t kind = problem->present_idx[g];
        if (kind == SIZE_MAX)
            continue;
        if (kind >= n_kinds || (n_lying[kind] += problem->n_casks[g]) > problem->n_places[kind])
            status = STV_E_ARG;
    }
    free(n_lying);
    return status;
}

/* A cask more with a place may push others along a chain that meets each kind once: a place is
 * worth more than all that such a chain can lose. */
static double left_out_cost_nd(const struct stv_assignment_problem *problem)
{
    double least_nd = 0.0, most_nd = 0.0;
    for (size_t i = 0; i < problem->n_groups * problem->n_kinds; i++) {
        double merit_nd = problem->merits_nd[i];
        if (isnan(merit_nd))
            continue;
        least_nd = fmin(least_nd, merit_nd);
        most_nd = fmax(most_nd, merit_nd);
    }
    size_t n = problem->n_groups < problem->n_kinds ? problem->n_groups : problem->n_kinds;
    return (2.0 * (double)n + 2.0) * (most_nd - least_nd + 1.0);
}

static void add_column(struct model *model, size_t group, size_t kind)
{
    const struct stv_assignment_problem *problem = model->problem;
    double merit_nd = problem->merits_nd[group * problem->n_kinds + kind];
    if (isnan(merit_nd))
        return;
    int column = glp_add_cols(model->lp, 1);
    int rows[4] = {0, (int)group + 1, (int)(problem->n_groups + kind) + 1, model->move_row};
    double ones[4] = {0.0, 1.0, 1.0, 1.0};
    glp_set_col_bnds(model->lp, column, GLP_LO, 0.0, 0.0);
    glp_set_obj_coef(model->lp, column, merit_nd + model->left_out_nd);
    glp_set_mat_col(model->lp, column, model->move_row && is_move(problem, group, kind) ? 3 : 2,
                    rows, ones);
    model->column_of[group * problem->n_kinds + kind] = column;
}

static void build(struct model *model, size_t n_lying)
{
    const struct stv_assignment_problem *problem = model->problem;
    glp_prob *lp = model->lp = glp_create_prob();
    int n_rows = (int)(problem->n_groups + problem->n_kinds);
    int is_limited = problem->most_moves < n_lying;
    glp_set_obj_dir(lp, GLP_MAX);
    glp_add_rows(lp, n_rows + is_limited);
    for (size_t g = 0; g < problem->n_groups; g++)
        glp_set_row_bnds(lp, (int)g + 1, GLP_UP, 0.0, (double)problem->n_casks[g]);
    for (size_t k = 0; k < problem->n_kinds; k++)
        glp_set_row_bnds(lp, (int)(problem->n_groups + k) + 1, GLP_UP, 0.0,
                         (double)problem->n_places[k]);
    if (is_limited) {
        model->move_row = n_rows + 1;
        glp_set_row_bnds(lp, model->move_row, GLP_UP, 0.0, (double)problem->most_moves);
    }
    for (size_t g = 0; g < problem->n_groups; g++)
        for (size_t k = 0; k < problem->n_kinds; k++)
            add_column(model, g, k);
}

static int is_whole(const struct model *model)
{
    for (int c = 1; c <= glp_get_num_cols(model->lp); c++) {
        double value = glp_get_col_prim(model->lp, c);
        if (fabs(value - round(value)) > WHOLE_ND)
            return 0;
    }
    return 1;
}

static void count_nodes(glp_tree *tree, void *info)
{
    int *n_nodes = info;
    if (glp_ios_reason(tree) == GLP_ISELECT && ++*n_nodes > NODES_MOST)
        glp_ios_terminate(tree);
}

static enum stv_status branch(struct model *model, int *out_is_proven)
{
    glp_iocp how;
    for (int c = 1; c <= glp_get_num_cols(model->lp); c++)
        glp_set_col_kind(model->lp, c, GLP_IV);
    glp_init_iocp(&how);
    how.msg_lev = GLP_MSG_OFF;
    how.cb_func = count_nodes;
    how.cb_info = &model->n_nodes;
    int code = glp_intopt(model->lp, &how);
    int found = glp_mip_status(model->lp);
    *out_is_proven = code == 0 && found == GLP_OPT;
    return found == GLP_OPT || found == GLP_FEAS ? STV_OK : STV_E_NO_CONVERGENCE;
}

static void take_answer(const struct model *model, int is_mip, struct stv_assignment *out)
{
    const struct stv_assignment_problem *problem = model->problem;
    for (size_t g = 0; g < problem->n_groups; g++) {
        size_t n_placed = 0;
        for (size_t k = 0; k < problem->n_kinds; k++) {
            size_t i = g * problem->n_kinds + k;
            int column = model->column_of[i];
            if (!column)
                continue;
            double value =
                is_mip ? glp_mip_col_val(model->lp, column) : glp_get_col_prim(model->lp, column);
            out->n_placed[i] = (size_t)llround(fmax(value, 0.0));
            n_placed += out->n_placed[i];
            out->n_moves += is_move(problem, g, k) ? out->n_placed[i] : 0;
            out->merit_nd += (double)out->n_placed[i] * problem->merits_nd[i];
        }
        out->n_left[g] = problem->n_casks[g] - n_placed;
    }
}

static enum stv_status solve(struct model *model, size_t n_lying, struct stv_assignment *out)
{
    glp_smcp how;
    int is_mip = 0;
    build(model, n_lying);
    glp_init_smcp(&how);
    how.msg_lev = GLP_MSG_OFF;
    out->is_proven = 1;
    if (glp_get_num_cols(model->lp) > 0) {
        if (glp_simplex(model->lp, &how) != 0 || glp_get_status(model->lp) != GLP_OPT)
            return STV_E_NO_CONVERGENCE;
        is_mip = !is_whole(model);
    }
    enum stv_status status = is_mip ? branch(model, &out->is_proven) : STV_OK;
    if (status == STV_OK)
        take_answer(model, is_mip, out);
    return status;
}

/* Alone in a function, so that nothing it changes has to outlive the jump. */
static enum stv_status solve_guarded(struct model *model, size_t n_lying,
                                     struct stv_assignment *out)
{
    jmp_buf back;
    if (setjmp(back) != 0) {
        glp_free_env(); /* with all that was made in it */
        return STV_E_MEMORY;
    }
    glp_error_hook(leave, &back);
    glp_term_hook(swallow, NULL);
    glp_term_out(GLP_OFF);
    enum stv_status status = solve(model, n_lying, out);
    glp_delete_prob(model->lp);
    glp_error_hook(NULL, NULL);
    glp_free_env();
    return status;
}

enum stv_status stv_assignment_solve(const struct stv_assignment_problem *problem,
                                     struct stv_assignment *out)
{
    size_t n = problem->n_groups * problem->n_kinds;
    *out = (struct stv_assignment){.n_groups = problem->n_groups, .n_kinds = problem->n_kinds};
    enum stv_status status = check(problem);
    if (status != STV_OK)
        return status;
    struct model model = {.problem = problem, .left_out_nd = left_out_cost_nd(problem)};
    out->n_placed = calloc(n + 1, sizeof *out->n_placed);
    out->n_left = calloc(problem->n_groups + 1, sizeof *out->n_left);
    model.column_of = calloc(n + 1, sizeof *model.column_of);
    size_t n_lying = 0;
    for (size_t g = 0; problem->present_idx && g < problem->n_groups; g++)
        n_lying += problem->present_idx[g] != SIZE_MAX ? problem->n_casks[g] : 0;
    status = out->n_placed && out->n_left && model.column_of ? solve_guarded(&model, n_lying, out)
                                                             : STV_E_MEMORY;
    free(model.column_of);
    if (status != STV_OK)
        stv_assignment_free(out);
    return status;
}

void stv_assignment_free(struct stv_assignment *assignment)
{
    free(assignment->n_placed);
    free(assignment->n_left);
    *assignment = (struct stv_assignment){0};
}
