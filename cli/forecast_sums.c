/* Losses by cause, and sums over lots, tiers and the house.  A lot is what was filled on one day
 * into one kind of cask; a tier holds what lies there on the day of the answer. */
#include "cli/forecast_parts.h"

#include "cli/cask_state.h"
#include "cli/format.h"
#include "cli/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *key, *name;
    enum stv_quantity lpa, litres;
} losses[STV_LOSS_N] = {
    [STV_LOSS_WOOD_AIR] = {"wood_air", "through the wood", STV_Q_AIR_LPA_L, STV_Q_AIR_L},
    [STV_LOSS_JOINTS] = {"joints", "at the joints", STV_Q_JOINT_LPA_L, STV_Q_JOINT_L},
    [STV_LOSS_INDRINK] = {"indrink", "soaked into staves", STV_Q_INDRINK_LPA_L, STV_Q_INDRINK_L},
    [STV_LOSS_SAMPLES] = {"samples", "samples", STV_Q_SAMPLE_LPA_L, STV_Q_SAMPLE_L},
    [STV_LOSS_LEAK] = {"leak", "leaks", STV_Q_LEAK_LPA_L, STV_Q_LEAK_L},
    [STV_LOSS_ALL] = {"all", "all together", STV_Q_N, STV_Q_N},
};

enum stv_quantity stv_loss_lpa(enum stv_loss loss)
{
    return losses[loss].lpa;
}

enum stv_quantity stv_loss_litres(enum stv_loss loss)
{
    return losses[loss].litres;
}

const char *stv_loss_key(enum stv_loss loss)
{
    return losses[loss].key;
}

const char *stv_loss_name(enum stv_loss loss)
{
    return losses[loss].name;
}

/* Litres are told beside the spirit of their day: what is gone takes so much less, at the most,
 * when its strength moves.  A cask filled anew loses far more of what it had lost. */
#define MIXING_FRAC 0.01

/* Of one trial; NaN where the cask is empty on either day or was filled anew between them. */
static double lost(const double *to, const double *from, size_t draw)
{
    double before = from ? from[draw] : 0.0, amount = to[draw] - before;
    if (amount < 0.0 && amount >= -MIXING_FRAC * before)
        return 0.0;
    return amount >= 0.0 ? amount : (double)NAN;
}

/* One measure of the losses, by cause and together. */
static void losses_of(const void *source, stv__draws_of *draws_of, const size_t day_idx[2],
                      const enum stv_quantity *which, const struct stv__scratch *scratch,
                      struct stv_range *out)
{
    size_t n = scratch->n_draws;
    double *one = scratch->room, *all = scratch->room + n;
    memset(all, 0, n * sizeof *all);
    for (size_t l = 0; l < STV_LOSS_ALL; l++) {
        const double *to = draws_of(source, day_idx[1], which[l]);
        const double *from = day_idx[0] == SIZE_MAX ? NULL : draws_of(source, day_idx[0], which[l]);
        for (size_t k = 0; k < n; k++) {
            one[k] = lost(to, from, k);
            all[k] += one[k];
        }
        out[l] = stv_range_of(one, n);
    }
    out[STV_LOSS_ALL] = stv_range_of(all, n);
}

void stv__losses_between(const void *source, stv__draws_of *draws_of, const size_t day_idx[2],
                         const struct stv__scratch *scratch, struct stv_losses_told *out)
{
    enum stv_quantity lpa[STV_LOSS_ALL], litres[STV_LOSS_ALL];
    for (size_t l = 0; l < STV_LOSS_ALL; l++) {
        lpa[l] = losses[l].lpa;
        litres[l] = losses[l].litres;
    }
    losses_of(source, draws_of, day_idx, lpa, scratch, out->lpa_l);
    losses_of(source, draws_of, day_idx, litres, scratch, out->volume20_l);
}

/* --- labels ------------------------------------------------------------------------------- */

/* What a cask is summed under; casks of equal keys share a sum. */
struct key {
    int64_t first, second; /* day of the fill and tier, or warehouse and tier */
    const char *kind_name;
    int cask_idx;
};

static struct key key_of(const struct stv_chain *chain, enum stv_forecast_by by, int cask_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct key key = {0, 0, "", cask_idx};
    if (by == STV_BY_LOT) {
        key.first = ledger->events[stv_fill_event(chain, cask_idx)].day_d;
        key.kind_name = ledger->casks[cask_idx].kind_name;
    } else if (by == STV_BY_TIER) {
        struct stv_place place = stv_lineage_place(chain->lineage, cask_idx);
        key.first = place.tier_idx < 0 ? INT64_MAX : place.warehouse_idx;
        key.second = place.tier_idx;
    }
    return key;
}

static int compare_keys(const void *a, const void *b)
{
    const struct key *x = a, *y = b;
    if (x->first != y->first)
        return x->first < y->first ? -1 : 1;
    if (x->second != y->second)
        return x->second < y->second ? -1 : 1;
    int kinds = strcmp(x->kind_name, y->kind_name);
    return kinds ? kinds : (x->cask_idx > y->cask_idx) - (x->cask_idx < y->cask_idx);
}

static bool is_same(const struct key *x, const struct key *y)
{
    return x->first == y->first && x->second == y->second &&
           strcmp(x->kind_name, y->kind_name) == 0;
}

static void name_sum(const struct stv_chain *chain, const struct stv_forecast_ask *ask,
                     const struct key *key, char *name)
{
    if (ask->by == STV_BY_LOT) {
        snprintf(name, STV_SUM_NAME_MAX, "%s, %s", stv_format_iso_day(key->first).text,
                 key->kind_name);
    } else if (ask->by == STV_BY_TIER) {
        struct stv_place place = {-1, -1, -1, -1};
        if (key->second >= 0)
            place = (struct stv_place){(int)key->first, (int)key->second, -1, -1};
        snprintf(name, STV_SUM_NAME_MAX, "%s", stv_words_place_of(chain, &place).text);
    } else {
        snprintf(name, STV_SUM_NAME_MAX, ask->is_named ? "the casks named" : "the house");
    }
}

static enum stv_status list_keys(const struct stv_chain *chain, const struct stv_forecast_ask *ask,
                                 struct key **out, size_t *out_n)
{
    struct key *keys = malloc((ask->n_casks + 1) * sizeof *keys);
    *out = keys;
    *out_n = 0;
    if (!keys)
        return STV_E_MEMORY;
    for (size_t i = 0; i < ask->n_casks; i++)
        if (stv_fill_event(chain, ask->cask_idx[i]) >= 0)
            keys[(*out_n)++] = key_of(chain, ask->by, ask->cask_idx[i]);
    qsort(keys, *out_n, sizeof *keys, compare_keys);
    return STV_OK;
}

enum stv_status stv__sum_labels(const struct stv_chain *chain, const struct stv_forecast_ask *ask,
                                const int *idx_of, size_t *label_of_cask, struct stv_forecast *out)
{
    struct key *keys;
    size_t n;
    enum stv_status status = list_keys(chain, ask, &keys, &n);
    out->sums = calloc(n + 1, sizeof *out->sums);
    if (!out->sums)
        status = STV_E_MEMORY;
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        if (i == 0 || !is_same(&keys[i - 1], &keys[i]))
            name_sum(chain, ask, &keys[i], out->sums[out->n_sums++].name);
        out->sums[out->n_sums - 1].n_casks++;
        label_of_cask[idx_of[keys[i].cask_idx]] = out->n_sums - 1;
    }
    out->n_unsummed = ask->n_casks - n;
    free(keys);
    return status;
}

/* --- sums --------------------------------------------------------------------------------- */

struct sum_source {
    const struct stv_outlook *outlook;
    size_t sum_idx, label_idx;
};

static const double *draws_of_sum(const void *source, size_t day_idx, enum stv_quantity quantity)
{
    const struct sum_source *sum = source;
    return stv_outlook_sum_draws(sum->outlook, sum->sum_idx, sum->label_idx, day_idx, quantity);
}

void stv__sum_take(const struct stv_outlook *outlook, const size_t sum_label_day[3],
                   const struct stv__scratch *scratch, struct stv_forecast_totals *out)
{
    const struct sum_source source = {outlook, sum_label_day[0], sum_label_day[1]};
    const struct {
        enum stv_quantity quantity;
        struct stv_range *to;
    } parts[] = {{STV_Q_LPA_L, &out->lpa_l},
                 {STV_Q_BOTTLES_ND, &out->bottles_nd},
                 {STV_Q_VOLUME20_L, &out->volume20_l}};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        memcpy(scratch->room, draws_of_sum(&source, sum_label_day[2], parts[i].quantity),
               scratch->n_draws * sizeof *scratch->room);
        *parts[i].to = stv_range_of(scratch->room, scratch->n_draws);
    }
    const size_t since_fill[2] = {SIZE_MAX, sum_label_day[2]};
    stv__losses_between(&source, draws_of_sum, since_fill, scratch, &out->gone);
}
