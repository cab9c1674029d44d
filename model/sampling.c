/* Every target and every reading is a direction in independent normals (stv__fit_spread).  A pick
 * conditions all of them: each then carries one more coefficient per reading taken, which counts
 * against it.  What a reading narrows of all casks through what they share goes by one matrix of
 * the targets' directions, so that a choice costs no square of the number of casks. */
#include "model/sampling.h"

#include "model/cask_worth.h"
#include "model/gauge_fit_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ROWS_MOST 2
#define PICKS_MOST 64 /* a morning's list is shorter */
#define DIMS_MOST (STV__FIT_SHARED_MOST + ROWS_MOST * PICKS_MOST)

enum { LITRES, WOOD, MEASURES };

/* A direction, with the coefficients that picks left behind its shared part. */
struct direction {
    size_t cask_idx;
    double dims_nd[DIMS_MOST], block_nd[STV__FIT_BLOCK_MOST];
};

struct choice {
    const struct stv_fit_problem *problem;
    const struct stv_fit *fit;
    const struct stv_sampling_request *request;
    struct stv_sampling_list *list;
    size_t n_dims; /* shared scores, then readings taken */
    size_t *target_of_cask;
    struct direction *targets; /* n_targets x MEASURES */
    struct direction *rows;    /* n_offers x ROWS_MOST, error 1 */
    size_t *n_rows;
    double weight_nd[MEASURES]; /* of a squared error, so that all of them add up to 1 */
    double *matrix_nd;          /* n_dims x n_dims of DIMS_MOST */
    bool *is_taken;
    double *drawn_l; /* per cask of the fit */
    bool *is_visited;
};

static double along(const struct choice *choice, const double *a, const double *b)
{
    double sum = 0.0;
    for (size_t i = 0; i < choice->fit->n_shared; i++)
        sum += a[i] * b[i];
    for (size_t i = choice->fit->n_shared; i < choice->n_dims; i++)
        sum -= a[i] * b[i];
    return sum;
}

static double own(const struct choice *choice, const struct direction *a, const struct direction *b)
{
    double sum = 0.0;
    for (size_t i = 0; i < choice->fit->n_block && a->cask_idx == b->cask_idx; i++)
        sum += a->block_nd[i] * b->block_nd[i];
    return sum;
}

static double covariance(const struct choice *choice, const struct direction *a,
                         const struct direction *b)
{
    return along(choice, a->dims_nd, b->dims_nd) + own(choice, a, b);
}

static void direct(const struct choice *choice, size_t cask_idx, const struct stv__fit_told *told,
                   double error, struct direction *out)
{
    struct stv__fit_spread spread;
    stv__fit_spread_of(choice->fit, cask_idx, told, &spread);
    *out = (struct direction){.cask_idx = cask_idx};
    for (size_t i = 0; i < choice->fit->n_shared; i++)
        out->dims_nd[i] = spread.shared_nd[i] / error;
    for (size_t i = 0; i < choice->fit->n_block; i++)
        out->block_nd[i] = spread.block_nd[i] / error;
}

static void direct_target(struct choice *choice, size_t target_idx)
{
    static const int quantity[MEASURES] = {STV_FIT_VOLUME20_L, STV_FIT_LN_WOOD};
    const struct stv_sampling_target *target = &choice->request->targets[target_idx];
    for (size_t m = 0; m < MEASURES; m++) {
        struct stv__fit_told told = {0};
        memcpy(told.by_shared_nd, target->target->by_top_nd[quantity[m]],
               choice->fit->n_top * sizeof(double));
        memcpy(told.by_block_nd, target->target->by_own_nd[quantity[m]],
               choice->fit->n_own * sizeof(double));
        direct(choice, target->cask_idx, &told, 1.0, &choice->targets[target_idx * MEASURES + m]);
    }
}

/* One straight reading of the wood against the threshold of ready, with the error at which it
 * narrows the cask's own wood as much as its four verdicts do on average. */
static enum stv_status direct_nosing(struct choice *choice, size_t offer_idx,
                                     const struct stv_sampling_target *target)
{
    struct stv__fit_told told[STV_FIT_THRESHOLDS];
    struct stv_fit_worth worth;
    struct direction *row = &choice->rows[offer_idx * ROWS_MOST];
    const struct stv_fit_wish wish = {
        .observation = {.cask_idx = target->cask_idx,
                        .kind = STV_FIT_VERDICT,
                        .error = STV_FIT_NOSE_ERROR_LN},
        .moment = target->moment,
        .target_cask_idx = target->cask_idx,
        .target_by_top_nd = target->target->by_top_nd[STV_FIT_LN_WOOD],
        .target_by_own_nd = target->target->by_own_nd[STV_FIT_LN_WOOD],
    };
    const struct stv__fit_point point = {
        choice->fit->shared_nd, choice->fit->block_nd + target->cask_idx * choice->fit->n_block};
    enum stv_status status = stv_fit_worth_of(choice->problem, choice->fit, &wish, &worth);
    if (status != STV_OK)
        return status;
    (void)stv__fit_tell(choice->problem, &wish.observation, wish.moment, point, told);
    direct(choice, target->cask_idx, &told[1], 1.0, row);
    size_t at = choice->target_of_cask[target->cask_idx];
    double shared = covariance(choice, row, &choice->targets[at * MEASURES + WOOD]);
    double lowered = worth.before_nd * worth.before_nd - worth.after_nd * worth.after_nd;
    double variance = shared * shared / lowered - covariance(choice, row, row);
    if (!(lowered > 0.0) || !(variance > 0.0))
        return STV_OK; /* tells nothing: no row */
    choice->n_rows[offer_idx] = 1;
    direct(choice, target->cask_idx, &told[1], sqrt(variance), row);
    return STV_OK;
}

static void direct_gauging(struct choice *choice, size_t offer_idx,
                           const struct stv_sampling_target *target)
{
    static const struct {
        enum stv_fit_kind kind;
        double error;
    } readings[ROWS_MOST] = {{STV_FIT_LIQUID, STV_CASK_WEIGHING_ERROR_KG},
                             {STV_FIT_STRENGTH, STV_SAMPLING_STRENGTH_ERROR_FRAC}};
    const struct stv__fit_point point = {
        choice->fit->shared_nd, choice->fit->block_nd + target->cask_idx * choice->fit->n_block};
    for (size_t r = 0; r < ROWS_MOST; r++) {
        struct stv__fit_told told[STV_FIT_THRESHOLDS];
        const struct stv_fit_observation observation = {
            .cask_idx = target->cask_idx, .kind = readings[r].kind, .error = readings[r].error};
        (void)stv__fit_tell(choice->problem, &observation, target->moment, point, told);
        direct(choice, target->cask_idx, &told[0], readings[r].error,
               &choice->rows[offer_idx * ROWS_MOST + r]);
    }
    choice->n_rows[offer_idx] = ROWS_MOST;
}

static void errors_of(const struct choice *choice, struct stv_sampling_error *out,
                      struct stv_sampling_error *out_house)
{
    size_t n = choice->request->n_targets;
    *out_house = (struct stv_sampling_error){0.0, 0.0};
    for (size_t t = 0; t < n; t++) {
        const struct direction *pair = &choice->targets[t * MEASURES];
        double litres = fmax(covariance(choice, &pair[LITRES], &pair[LITRES]), 0.0);
        double wood = fmax(covariance(choice, &pair[WOOD], &pair[WOOD]), 0.0);
        out[t] = (struct stv_sampling_error){sqrt(litres), sqrt(wood)};
        out_house->volume20_l += litres / (double)n;
        out_house->wood_ln_nd += wood / (double)n;
    }
    out_house->volume20_l = sqrt(out_house->volume20_l);
    out_house->wood_ln_nd = sqrt(out_house->wood_ln_nd);
}

static enum stv_status begin(struct choice *choice)
{
    const struct stv_sampling_request *request = choice->request;
    for (size_t c = 0; c < choice->fit->n_casks; c++)
        choice->target_of_cask[c] = SIZE_MAX;
    for (size_t t = 0; t < request->n_targets; t++) {
        if (request->targets[t].cask_idx >= choice->fit->n_casks)
            return STV_E_ARG;
        choice->target_of_cask[request->targets[t].cask_idx] = t;
        direct_target(choice, t);
    }
    enum stv_status status = STV_OK;
    for (size_t o = 0; o < request->n_offers && status == STV_OK; o++) {
        const struct stv_sampling_offer *offer = &request->offers[o];
        if (offer->cask_idx >= choice->fit->n_casks ||
            choice->target_of_cask[offer->cask_idx] == SIZE_MAX)
            return STV_E_ARG;
        const struct stv_sampling_target *target =
            &request->targets[choice->target_of_cask[offer->cask_idx]];
        if (offer->way == STV_SAMPLING_NOSE)
            status = direct_nosing(choice, o, target);
        else
            direct_gauging(choice, o, target);
    }
    errors_of(choice, choice->list->before, &choice->list->house_before);
    const double house[MEASURES] = {choice->list->house_before.volume20_l,
                                    choice->list->house_before.wood_ln_nd};
    for (size_t m = 0; m < MEASURES; m++)
        choice->weight_nd[m] =
            house[m] > 0.0 ? 0.5 / (house[m] * house[m] * (double)request->n_targets) : 0.0;
    return status;
}

/* The weighted sum of the targets' directions times themselves. */
static void sum_targets(struct choice *choice)
{
    size_t n = choice->n_dims;
    for (size_t i = 0; i < n; i++)
        memset(choice->matrix_nd + i * DIMS_MOST, 0, n * sizeof(double));
    for (size_t t = 0; t < choice->request->n_targets * MEASURES; t++) {
        const double *dims_nd = choice->targets[t].dims_nd;
        for (size_t i = 0; i < n; i++) {
            double weighted = choice->weight_nd[t % MEASURES] * dims_nd[i];
            for (size_t j = 0; j <= i; j++)
                choice->matrix_nd[i * DIMS_MOST + j] += weighted * dims_nd[j];
        }
    }
}

/* Weighted sum over all targets of their covariances with two readings of one cask. */
static double moved_by(const struct choice *choice, const struct direction *a,
                       const struct direction *b)
{
    size_t n = choice->n_dims, ns = choice->fit->n_shared;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double *line = choice->matrix_nd + i * DIMS_MOST;
        double row = 0.5 * line[i] * (i < ns ? b->dims_nd[i] : -b->dims_nd[i]);
        double column = 0.5 * line[i] * (i < ns ? a->dims_nd[i] : -a->dims_nd[i]);
        for (size_t j = 0; j < i; j++) {
            double sign = j < ns ? 1.0 : -1.0;
            row += line[j] * sign * b->dims_nd[j];
            column += line[j] * sign * a->dims_nd[j];
        }
        sum += (i < ns ? 1.0 : -1.0) * (a->dims_nd[i] * row + b->dims_nd[i] * column);
    }
    const struct direction *pair = &choice->targets[choice->target_of_cask[a->cask_idx] * MEASURES];
    for (size_t m = 0; m < MEASURES; m++) {
        double to_a = along(choice, pair[m].dims_nd, a->dims_nd);
        double to_b = along(choice, pair[m].dims_nd, b->dims_nd);
        sum +=
            choice->weight_nd[m] *
            ((to_a + own(choice, &pair[m], a)) * (to_b + own(choice, &pair[m], b)) - to_a * to_b);
    }
    return sum;
}

/* What an offer narrows of the whole. */
static double gain_of(const struct choice *choice, size_t offer_idx)
{
    const struct direction *row = &choice->rows[offer_idx * ROWS_MOST];
    if (choice->n_rows[offer_idx] == 0)
        return 0.0;
    double v00 = covariance(choice, &row[0], &row[0]) + 1.0, s00 = moved_by(choice, row, row);
    if (choice->n_rows[offer_idx] == 1)
        return s00 / v00;
    double v11 = covariance(choice, &row[1], &row[1]) + 1.0;
    double v01 = covariance(choice, &row[0], &row[1]);
    double s11 = moved_by(choice, &row[1], &row[1]), s01 = moved_by(choice, &row[0], &row[1]);
    return (s00 * v11 - 2.0 * s01 * v01 + s11 * v00) / (v00 * v11 - v01 * v01);
}

static bool spares(const struct choice *choice, const struct stv_sampling_offer *offer)
{
    return choice->drawn_l[offer->cask_idx] + offer->sample_l <=
           choice->request->limits.most_share_frac * offer->holds_l * (1.0 + 1e-12);
}

static bool is_open(const struct choice *choice, size_t offer_idx)
{
    const struct stv_sampling_offer *offer = &choice->request->offers[offer_idx];
    const struct stv_sampling_limits *limits = &choice->request->limits;
    return !choice->is_taken[offer_idx] && spares(choice, offer) &&
           choice->list->samples_l + offer->sample_l <= limits->most_samples_l + 1e-9 &&
           (choice->is_visited[offer->cask_idx] || choice->list->n_casks < limits->most_casks);
}

/* Among those as good: one visited anyway, then the smaller share of its cask. */
static bool is_easier(const struct choice *choice, size_t a, size_t b)
{
    const struct stv_sampling_offer *x = &choice->request->offers[a],
                                    *y = &choice->request->offers[b];
    bool has_x = choice->is_visited[x->cask_idx], has_y = choice->is_visited[y->cask_idx];
    if (has_x != has_y)
        return has_x;
    return x->sample_l / x->holds_l < y->sample_l / y->holds_l;
}

/* The next pick; false when nothing open is worth it. */
static bool pick(const struct choice *choice, double *gains, struct stv_sampling_pick *out)
{
    const struct stv_sampling_offer *offers = choice->request->offers;
    size_t n = choice->request->n_offers, best = SIZE_MAX;
    double most = STV_SAMPLING_LEAST_FRAC;
    for (size_t o = 0; o < n; o++) {
        gains[o] = is_open(choice, o) ? gain_of(choice, o) : 0.0;
        most = fmax(most, gains[o]);
    }
    double as_good = (1.0 - STV_SAMPLING_AS_GOOD_FRAC) * most;
    for (size_t o = 0; o < n; o++)
        if (gains[o] >= as_good && gains[o] >= STV_SAMPLING_LEAST_FRAC &&
            (best == SIZE_MAX || is_easier(choice, o, best)))
            best = o;
    if (best == SIZE_MAX)
        return false;
    *out = (struct stv_sampling_pick){best, gains[best], 0};
    for (size_t o = 0; o < n; o++)
        out->n_as_good += gains[o] >= as_good && gains[o] >= STV_SAMPLING_LEAST_FRAC &&
                          offers[o].cask_idx != offers[best].cask_idx;
    return true;
}

static void condition(struct choice *choice, const struct direction *row)
{
    struct direction taken = *row;
    size_t at = choice->n_dims;
    double error = sqrt(covariance(choice, &taken, &taken) + 1.0);
    struct direction *lists[2] = {choice->targets, choice->rows};
    const size_t n[2] = {choice->request->n_targets * MEASURES,
                         choice->request->n_offers * ROWS_MOST};
    for (size_t l = 0; l < 2; l++)
        for (size_t i = 0; i < n[l]; i++)
            lists[l][i].dims_nd[at] = covariance(choice, &lists[l][i], &taken) / error;
    choice->n_dims++;
}

static void take(struct choice *choice, const struct stv_sampling_pick *picked)
{
    const struct stv_sampling_offer *offer = &choice->request->offers[picked->offer_idx];
    struct stv_sampling_list *list = choice->list;
    for (size_t r = 0; r < choice->n_rows[picked->offer_idx]; r++)
        condition(choice, &choice->rows[picked->offer_idx * ROWS_MOST + r]);
    list->n_casks += !choice->is_visited[offer->cask_idx];
    list->samples_l += offer->sample_l;
    choice->is_visited[offer->cask_idx] = choice->is_taken[picked->offer_idx] = true;
    choice->drawn_l[offer->cask_idx] += offer->sample_l;
    list->picks[list->n_picks++] = *picked;
}

static enum stv_status make_room(struct choice *choice)
{
    size_t n_offers = choice->request->n_offers, n_targets = choice->request->n_targets;
    size_t n_casks = choice->fit->n_casks;
    choice->target_of_cask = calloc(n_casks + 1, sizeof *choice->target_of_cask);
    choice->targets = calloc(n_targets * MEASURES + 1, sizeof *choice->targets);
    choice->rows = calloc(n_offers * ROWS_MOST + 1, sizeof *choice->rows);
    choice->n_rows = calloc(n_offers + 1, sizeof *choice->n_rows);
    choice->matrix_nd = calloc(DIMS_MOST * DIMS_MOST, sizeof *choice->matrix_nd);
    choice->is_taken = calloc(n_offers + 1, sizeof *choice->is_taken);
    choice->drawn_l = calloc(n_casks + 1, sizeof *choice->drawn_l);
    choice->is_visited = calloc(n_casks + 1, sizeof *choice->is_visited);
    choice->list->picks = calloc(PICKS_MOST, sizeof *choice->list->picks);
    choice->list->before = calloc(n_targets + 1, sizeof *choice->list->before);
    choice->list->after = calloc(n_targets + 1, sizeof *choice->list->after);
    bool has_all = choice->target_of_cask && choice->targets && choice->rows && choice->n_rows &&
                   choice->matrix_nd && choice->is_taken && choice->drawn_l && choice->is_visited &&
                   choice->list->picks && choice->list->before && choice->list->after;
    return has_all ? STV_OK : STV_E_MEMORY;
}

static void free_choice(struct choice *choice)
{
    free(choice->target_of_cask);
    free(choice->targets);
    free(choice->rows);
    free(choice->n_rows);
    free(choice->matrix_nd);
    free(choice->is_taken);
    free(choice->drawn_l);
    free(choice->is_visited);
}

static enum stv_status choose(struct choice *choice)
{
    struct stv_sampling_pick next;
    double *gains = calloc(choice->request->n_offers + 1, sizeof *gains);
    enum stv_status status = gains ? begin(choice) : STV_E_MEMORY;
    for (size_t o = 0; o < choice->request->n_offers && status == STV_OK; o++)
        choice->list->n_spared += !spares(choice, &choice->request->offers[o]);
    while (status == STV_OK && choice->list->n_picks < PICKS_MOST) {
        sum_targets(choice);
        if (!pick(choice, gains, &next))
            break;
        take(choice, &next);
    }
    if (status == STV_OK)
        errors_of(choice, choice->list->after, &choice->list->house_after);
    free(gains);
    return status;
}

enum stv_status stv_sampling_choose(const struct stv_fit_problem *problem,
                                    const struct stv_fit *fit,
                                    const struct stv_sampling_request *request,
                                    struct stv_sampling_list *out)
{
    *out = (struct stv_sampling_list){0};
    struct choice choice = {
        .problem = problem, .fit = fit, .request = request, .list = out, .n_dims = fit->n_shared};
    enum stv_status status = make_room(&choice);
    if (status == STV_OK)
        status = choose(&choice);
    free_choice(&choice);
    if (status != STV_OK)
        stv_sampling_free(out);
    return status;
}

/* Targets and offers of the casks that can be told. */
static enum stv_status tell_all(const struct stv_fit_problem *problem, const struct stv_fit *fit,
                                const struct stv_cask_wish *wishes, size_t n_wishes,
                                struct stv_fit_moment *moments, bool *out_is_told)
{
    enum stv_status worst = STV_OK;
#pragma omp parallel for schedule(dynamic)
    for (size_t w = 0; w < n_wishes; w++) {
        size_t cask = wishes[w].cask_idx;
        enum stv_status status =
            problem->predict(problem->context, cask, fit->shared_nd,
                             fit->block_nd + cask * fit->n_block, moments + 2 * w);
        out_is_told[w] = status == STV_OK;
        if (status == STV_OK || status == STV_E_DOMAIN)
            continue;
#pragma omp critical
        worst = status;
    }
    return worst;
}

/* A cask that cannot be told moves with nothing: it is sure, and its offers narrow none. */
static void make_offers(const struct stv_cask_wish *wishes, size_t n_wishes, const bool *is_told,
                        struct stv_fit_moment *moments, struct stv_sampling_offer *offers,
                        struct stv_sampling_target *targets)
{
    for (size_t w = 0; w < n_wishes; w++) {
        size_t cask = wishes[w].cask_idx;
        if (!is_told[w])
            memset(moments + 2 * w, 0, 2 * sizeof *moments);
        double holds_l = is_told[w] ? moments[2 * w].value[STV_FIT_VOLUME20_L] : (double)INFINITY;
        targets[w] = (struct stv_sampling_target){cask, &moments[2 * w], &moments[2 * w + 1]};
        offers[2 * w] =
            (struct stv_sampling_offer){cask, STV_SAMPLING_GAUGE, STV_SAMPLING_GAUGE_L, holds_l};
        offers[2 * w + 1] =
            (struct stv_sampling_offer){cask, STV_SAMPLING_NOSE, STV_SAMPLING_NOSE_L, holds_l};
    }
}

static enum stv_status choose_told(const struct stv_fit_problem *problem, const struct stv_fit *fit,
                                   const struct stv_cask_wish *wishes, size_t n_wishes,
                                   struct stv_sampling_limits limits, struct stv_sampling_list *out)
{
    struct stv_fit_moment *moments = calloc(2 * n_wishes, sizeof *moments);
    struct stv_sampling_offer *offers = calloc(2 * n_wishes, sizeof *offers);
    struct stv_sampling_target *targets = calloc(n_wishes, sizeof *targets);
    bool *is_told = calloc(n_wishes, sizeof *is_told);
    enum stv_status status = moments && offers && targets && is_told ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = tell_all(problem, fit, wishes, n_wishes, moments, is_told);
    if (status == STV_OK) {
        make_offers(wishes, n_wishes, is_told, moments, offers, targets);
        const struct stv_sampling_request request = {offers, 2 * n_wishes, targets, n_wishes,
                                                     limits};
        status = stv_sampling_choose(problem, fit, &request, out);
    }
    free(moments);
    free(offers);
    free(targets);
    free(is_told);
    return status;
}

enum stv_status stv_sampling_of_casks(const struct stv_cask_learning_request *request,
                                      const struct stv_cask_learning *learning,
                                      const struct stv_cask_wish *wishes, size_t n_wishes,
                                      struct stv_sampling_limits limits,
                                      struct stv_sampling_list *out)
{
    struct stv__cask_probe probe;
    *out = (struct stv_sampling_list){0};
    if (n_wishes == 0)
        return STV_OK;
    enum stv_status status = stv__wish_probe(request, wishes, n_wishes, &probe);
    if (status == STV_OK) {
        struct stv_fit_problem problem = stv__wish_problem(request, &probe);
        status = choose_told(&problem, &learning->fit, wishes, n_wishes, limits, out);
    }
    stv__cask_probe_free(&probe);
    return status;
}

void stv_sampling_free(struct stv_sampling_list *list)
{
    free(list->picks);
    free(list->before);
    free(list->after);
    *list = (struct stv_sampling_list){0};
}
