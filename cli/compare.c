/* Both sides draw the same trials, so that one's trial can be held against the other's.  All trials
 * of the casks that are told are kept until both sides have run. */
#include "cli/compare.h"

#include "cli/forecast.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Margins are judgement: a tie in bottles as where places are compared, what a good
 * hydrometer resolves, and what a nose would hardly tell. */
static const struct stv_figure_form forms[STV_FIGURE_N] = {
    [STV_FIGURE_VOLUME] = {"volume20_l", "litres", STV_Q_VOLUME20_L, 1.0, 1, 0.0,
                           STV_BOTTLES_TIE_SHARE},
    [STV_FIGURE_STRENGTH] = {"abv20_pct", "strength %vol", STV_Q_ABV20_FRAC, 100.0, 1, 0.002, 0.0},
    [STV_FIGURE_LPA] = {"lpa_l", "litres of pure alcohol", STV_Q_LPA_L, 1.0, 1, 0.0,
                        STV_BOTTLES_TIE_SHARE},
    [STV_FIGURE_BOTTLES] = {"bottles", "bottles", STV_Q_BOTTLES_ND, 1.0, 0, 0.0,
                            STV_BOTTLES_TIE_SHARE},
    [STV_FIGURE_WOOD] = {"wood_index", "wood, reference = 1", STV_Q_WOOD_INDEX_ND, 1.0, 2, 0.04,
                         0.0},
    [STV_FIGURE_FRUIT] = {"still_fruit_index", "still fruit left", STV_Q_STILL_FRUIT_ND, 1.0, 2,
                          0.04, 0.0},
    [STV_FIGURE_ESTERS] = {"cask_esters_index", "made in the cask", STV_Q_CASK_ESTERS_ND, 1.0, 2,
                           0.04, 0.0},
    [STV_FIGURE_OAK] = {"oak", "oak drawn out", STV_Q_OAK_MG_PER_LPA_L, 1.0, 0, 0.0, 0.04},
};

const struct stv_figure_form *stv_figure_form(enum stv_figure figure)
{
    return &forms[figure];
}

/* One side's trials of the casks that are told. */
struct side_run {
    const struct stv_compare_ask *ask;
    size_t n_draws;
    size_t *slot_of; /* per cask of the part: its slot, or SIZE_MAX */
    double *draws;   /* [((slot * n_days + day) * STV_FIGURE_N + figure) * n_draws + draw] */
};

static size_t at_of(const struct side_run *run, size_t slot, size_t day_idx, size_t figure)
{
    return ((slot * run->ask->n_days + day_idx) * STV_FIGURE_N + figure) * run->n_draws;
}

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    const struct side_run *run = context;
    for (size_t d = 0; d < run->ask->n_days; d++)
        for (size_t f = 0; f < STV_FIGURE_N; f++)
            memcpy(run->draws + at_of(run, run->slot_of[cask_idx], d, f),
                   values + (d * STV_Q_N + (size_t)forms[f].quantity) * run->n_draws,
                   run->n_draws * sizeof *values);
    return STV_OK;
}

/* All casks of the pairs, each once; their slots are their places in the list. */
static size_t list_casks(const struct stv_compare_ask *ask, int *out)
{
    size_t n = 0;
    for (size_t i = 0; i < 2 * ask->n_pairs; i++) {
        int cask = i % 2 ? ask->pairs[i / 2].other_idx : ask->pairs[i / 2].cask_idx;
        size_t at = 0;
        while (at < n && out[at] != cask)
            at++;
        if (at == n)
            out[n++] = cask;
    }
    return n;
}

static enum stv_status run_rows(const struct stv_chain *chain, const struct stv_compare_side *side,
                                const struct stv_ledger *part, struct side_run *run)
{
    const int64_t **days_d = calloc(part->n_casks + 1, sizeof *days_d);
    size_t *n_days = calloc(part->n_casks + 1, sizeof *n_days);
    struct stv_params params = chain->book.params;
    struct stv_outlook_request request = stv_chain_request(chain);
    const struct stv_outlook_rows rows = {days_d, n_days, take, run};
    struct stv_outlook outlook;
    enum stv_status status = days_d && n_days ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < part->n_casks && status == STV_OK; c++) {
        days_d[c] = run->ask->days_d;
        n_days[c] = run->slot_of[c] == SIZE_MAX ? 0 : run->ask->n_days;
    }
    params.cycling_gain_per_k = side->cycling_gain_per_k;
    request.ledger = part;
    request.base = &params;
    request.keeps_ranges_only = 1;
    request.rows = &rows;
    if (status == STV_OK)
        status = stv_outlook_run(&request, &outlook);
    if (status == STV_OK)
        stv_outlook_free(&outlook);
    free(days_d);
    free(n_days);
    return status;
}

static enum stv_status run_side(const struct stv_chain *chain, const struct stv_compare_side *side,
                                const int *casks, size_t n_casks, struct side_run *run)
{
    size_t n_book = side->ledger->n_casks;
    struct stv_ledger part = {0};
    int *idx_of = malloc((n_book + 1) * sizeof *idx_of);
    run->slot_of = malloc((n_book + 1) * sizeof *run->slot_of);
    run->draws = malloc((at_of(run, n_casks, 0, 0) + 1) * sizeof *run->draws);
    enum stv_status status = idx_of && run->slot_of && run->draws ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_ledger_part(side->ledger, casks, n_casks, &part, idx_of);
    for (size_t c = 0; c < part.n_casks && status == STV_OK; c++)
        run->slot_of[c] = SIZE_MAX;
    for (size_t i = 0; i < n_casks && status == STV_OK; i++)
        run->slot_of[idx_of[casks[i]]] = i;
    if (status == STV_OK)
        status = run_rows(chain, side, &part, run);
    stv_ledger_free(&part);
    free(idx_of);
    return status;
}

static struct stv_compared compare(const double *one, const double *other, size_t n_draws,
                                   enum stv_figure figure, double *room)
{
    struct stv_compared compared;
    memcpy(room, one, n_draws * sizeof *room);
    compared.one = stv_range_of(room, n_draws);
    memcpy(room, other, n_draws * sizeof *room);
    compared.other = stv_range_of(room, n_draws);
    for (size_t k = 0; k < n_draws; k++)
        room[k] = other[k] - one[k];
    compared.difference = stv_range_of(room, n_draws);
    for (size_t k = 0; k < n_draws; k++)
        room[k] = other[k] / one[k];
    compared.ratio_nd = stv_range_of(room, n_draws);
    double margin = fmax(forms[figure].margin, forms[figure].margin_share * fabs(compared.one.p50));
    compared.matters = fabs(compared.difference.p50) > margin;
    compared.is_sure = compared.difference.p05 > 0.0 || compared.difference.p95 < 0.0;
    return compared;
}

/* Sums over all slots, trial by trial, an empty cask counting nothing. */
static void add_up(const struct side_run *run, size_t n_slots, size_t day_idx, size_t figure,
                   double *sum)
{
    bool adds_up = stv_quantity_adds_up(forms[figure].quantity);
    for (size_t k = 0; k < run->n_draws; k++) {
        sum[k] = adds_up ? 0.0 : (double)NAN;
        for (size_t s = 0; s < n_slots; s++) {
            double value = run->draws[at_of(run, s, day_idx, figure) + k];
            sum[k] += isfinite(value) ? value : 0.0;
        }
    }
}

static size_t slot_in(const int *casks, int cask_idx)
{
    size_t at = 0;
    while (casks[at] != cask_idx)
        at++;
    return at;
}

static void tell_pair(const struct side_run sides[2], const int *casks, size_t pair_idx,
                      double *room, struct stv_comparison *out)
{
    const struct stv_compare_pair *pair = &out->pairs[pair_idx];
    size_t one = slot_in(casks, pair->cask_idx), other = slot_in(casks, pair->other_idx);
    for (size_t d = 0; d < out->n_days; d++)
        for (size_t f = 0; f < STV_FIGURE_N; f++)
            out->figures[(pair_idx * out->n_days + d) * STV_FIGURE_N + f] =
                compare(sides[0].draws + at_of(&sides[0], one, d, f),
                        sides[1].draws + at_of(&sides[1], other, d, f), sides[0].n_draws,
                        (enum stv_figure)f, room);
}

static void tell_together(const struct side_run sides[2], size_t n_casks, double *room,
                          struct stv_comparison *out)
{
    size_t n_draws = sides[0].n_draws;
    double *one = room + n_draws, *other = one + n_draws;
    for (size_t d = 0; d < out->n_days; d++) {
        for (size_t f = 0; f < STV_FIGURE_N; f++) {
            add_up(&sides[0], n_casks, d, f, one);
            add_up(&sides[1], n_casks, d, f, other);
            out->together[d * STV_FIGURE_N + f] =
                compare(one, other, n_draws, (enum stv_figure)f, room);
        }
    }
}

static enum stv_status tell(const struct side_run sides[2], const int *casks, size_t n_casks,
                            struct stv_comparison *out)
{
    double *room = malloc(3 * sides[0].n_draws * sizeof *room);
    out->figures = calloc(out->n_pairs * out->n_days * STV_FIGURE_N + 1, sizeof *out->figures);
    out->together = calloc(out->n_days * STV_FIGURE_N + 1, sizeof *out->together);
    if (!room || !out->figures || !out->together) {
        free(room);
        return STV_E_MEMORY;
    }
    for (size_t p = 0; p < out->n_pairs; p++)
        tell_pair(sides, casks, p, room, out);
    tell_together(sides, n_casks, room, out);
    free(room);
    return STV_OK;
}

enum stv_status stv_compare(const struct stv_chain *chain, const struct stv_compare_ask *ask,
                            struct stv_comparison *out)
{
    size_t n_draws = chain->run.n_draws ? chain->run.n_draws : 1;
    struct side_run sides[2] = {{.ask = ask, .n_draws = n_draws}, {.ask = ask, .n_draws = n_draws}};
    int *casks = malloc((2 * ask->n_pairs + 1) * sizeof *casks);
    *out = (struct stv_comparison){
        .pairs = ask->pairs, .n_pairs = ask->n_pairs, .days_d = ask->days_d, .n_days = ask->n_days};
    if (!casks)
        return STV_E_MEMORY;
    size_t n_casks = list_casks(ask, casks);
    enum stv_status status = run_side(chain, &ask->one, casks, n_casks, &sides[0]);
    if (status == STV_OK)
        status = run_side(chain, &ask->other, casks, n_casks, &sides[1]);
    if (status == STV_OK)
        status = tell(sides, casks, n_casks, out);
    for (int i = 0; i < 2; i++) {
        free(sides[i].draws);
        free(sides[i].slot_of);
    }
    free(casks);
    if (status != STV_OK)
        stv_comparison_free(out);
    return status;
}

void stv_comparison_free(struct stv_comparison *comparison)
{
    free(comparison->figures);
    free(comparison->together);
    comparison->figures = comparison->together = NULL;
}

const struct stv_compared *stv_compared_of(const struct stv_comparison *comparison, size_t pair_idx,
                                           size_t day_idx, enum stv_figure figure)
{
    return &comparison->figures[(pair_idx * comparison->n_days + day_idx) * STV_FIGURE_N +
                                (size_t)figure];
}

bool stv_compared_is_overfull(const struct stv_ledger *ledger,
                              const struct stv_comparison *comparison, size_t pair_idx,
                              size_t day_idx)
{
    const struct stv_cask *cask = &ledger->casks[comparison->pairs[pair_idx].other_idx];
    const struct stv_compared *litres =
        stv_compared_of(comparison, pair_idx, day_idx, STV_FIGURE_VOLUME);
    return litres->other.p50 > STV_OVERFULL_FRAC * cask->geometry.capacity_l;
}
