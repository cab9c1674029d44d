#include "cli/cask_lesson.h"

#include "cli/cask_state.h"
#include "model/leak_walk.h"
#include "model/score_words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TIER_APART 1.5 /* bays that a tier counts for: a leak runs down, not along */
#define DEPTH_APART 0.5
#define ALIKE_PER_ONE 1e5 /* finer differences of what was moved are rounding */

#define LEAK_LEAST_FRAC 0.05 /* a gauge by which a leak is less likely is no part of one */

/* A later gauge says the same, and more of it. */
static bool is_repeated(const struct stv_cask_lesson *lesson, size_t verdict_idx)
{
    const struct stv_learned_verdict *verdict = &lesson->kept.verdicts[verdict_idx];
    for (size_t v = verdict_idx + 1; v < lesson->kept.n_verdicts; v++) {
        const struct stv_learned_verdict *later = &lesson->kept.verdicts[v];
        if (later->cask_idx == verdict->cask_idx && later->since_day_d == verdict->since_day_d &&
            later->leak_frac > STV_LIKELIER_FRAC)
            return true;
    }
    return false;
}

bool stv_lesson_fits_leak(const struct stv_cask_lesson *lesson, size_t verdict_idx)
{
    const struct stv_learned_verdict *verdict = &lesson->kept.verdicts[verdict_idx];
    return verdict->misread_frac > STV_LIKELIER_FRAC && verdict->leak_frac > LEAK_LEAST_FRAC &&
           !isfinite(verdict->meant_strength_nd) && is_repeated(lesson, verdict_idx);
}

enum stv_look stv_lesson_look(const struct stv_chain *chain, const struct stv_cask_lesson *lesson,
                              size_t verdict_idx)
{
    const struct stv_learned_verdict *verdict = &lesson->kept.verdicts[verdict_idx];
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_posterior_cask *entry = stv_posterior_find(
        &lesson->kept.posterior, stv_key_of(ledger->casks[verdict->cask_idx].id));
    int fill = stv_fill_event(chain, verdict->cask_idx);
    if (verdict->agrees)
        return STV_LOOK_MISREAD;
    if (verdict->misread_frac > STV_LIKELIER_FRAC)
        return stv_lesson_fits_leak(lesson, verdict_idx) ? STV_LOOK_NOT : STV_LOOK_MISREAD;
    bool is_present = fill >= 0 && ledger->events[fill].day_d <= verdict->day_d;
    bool is_leak =
        verdict->leak_frac >= STV_WALK_LEARNED_FRAC && is_present && entry &&
        entry->leak.chance_frac >= STV_WALK_LEARNED_FRAC && !is_repeated(lesson, verdict_idx) &&
        stv_leak_stopped_day(ledger, verdict->cask_idx, verdict->since_day_d) > chain->as_of_day_d;
    if (is_leak)
        return STV_LOOK_LEAK;
    /* A leak that later gauges do not bear out is none; what is left then is a slip. */
    bool is_refuted = verdict->leak_frac > STV_LIKELIER_FRAC && is_present && entry &&
                      entry->leak.chance_frac <= STV_LIKELIER_FRAC;
    return is_refuted && stv_slip_if_no_leak(ledger, verdict->cask_idx, verdict->since_day_d,
                                             verdict->misread_frac, verdict->evaporation_frac)
               ? STV_LOOK_MISREAD
               : STV_LOOK_NOT;
}

/* Bays apart, or HUGE_VAL: not beside each other at all. */
static double apart(const struct stv_place *a, const struct stv_place *b)
{
    if (a->warehouse_idx < 0 || a->warehouse_idx != b->warehouse_idx || a->tier_idx < 0 ||
        b->tier_idx < 0)
        return HUGE_VAL;
    double bays = a->bay_idx < 0 || b->bay_idx < 0 ? 0.0 : fabs((double)(a->bay_idx - b->bay_idx));
    return bays + TIER_APART * fabs((double)(a->tier_idx - b->tier_idx)) +
           DEPTH_APART * fabs((double)(a->depth_idx - b->depth_idx));
}

size_t stv_lesson_neighbours(const struct stv_chain *chain, int cask_idx,
                             int out[STV_NEIGHBOURS_MOST])
{
    double best[STV_NEIGHBOURS_MOST];
    size_t n = 0;
    struct stv_place own = stv_lineage_place(chain->lineage, cask_idx);
    for (int c = 0; c < (int)chain->book.ledger.n_casks; c++) {
        struct stv_place place = stv_lineage_place(chain->lineage, c);
        double distance = apart(&own, &place);
        if (c == cask_idx || isinf(distance) || !stv_lineage_spirit(chain->lineage, c).is_there)
            continue;
        size_t at = n < STV_NEIGHBOURS_MOST ? n++ : STV_NEIGHBOURS_MOST;
        for (; at > 0 && distance < best[at - 1]; at--) {
            if (at == STV_NEIGHBOURS_MOST)
                continue;
            best[at] = best[at - 1];
            out[at] = out[at - 1];
        }
        if (at < STV_NEIGHBOURS_MOST) {
            best[at] = distance;
            out[at] = c;
        }
    }
    return n;
}

static double off_errors(const struct stv_learned_told *told)
{
    return (told->value - told->then_value) / told->then_error;
}

bool stv_told_is_miss(const struct stv_learned_told *told)
{
    return fabs(off_errors(told)) > STV_RANGE_ERRORS;
}

struct ranked {
    size_t at;
    double size; /* larger first */
    bool is_miss;
};

static int compare_ranked(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    if (x->is_miss != y->is_miss)
        return x->is_miss ? -1 : 1;
    if (x->size != y->size)
        return x->size > y->size ? -1 : 1;
    return (x->at > y->at) - (x->at < y->at);
}

size_t *stv_lesson_misses_first(const struct stv_cask_lesson *lesson)
{
    size_t n = lesson->kept.n_told;
    struct ranked *ranked = calloc(n + 1, sizeof *ranked);
    size_t *order = malloc((n + 1) * sizeof *order);
    for (size_t i = 0; ranked && i < n; i++) {
        const struct stv_learned_told *told = &lesson->kept.told[i];
        bool is_miss = stv_told_is_miss(told);
        ranked[i] =
            (struct ranked){i, is_miss ? fabs(off_errors(told)) : (double)told->day_d, is_miss};
    }
    if (ranked && n)
        qsort(ranked, n, sizeof *ranked, compare_ranked);
    for (size_t i = 0; ranked && order && i < n; i++)
        order[i] = ranked[i].at;
    if (!ranked) {
        free(order);
        order = NULL;
    }
    free(ranked);
    return order;
}

static const char *kind_name_of(const struct stv_ledger *ledger, uint64_t key)
{
    for (size_t c = 0; c < ledger->n_casks; c++)
        if (stv_key_of(ledger->casks[c].kind_name) == key)
            return ledger->casks[c].kind_name;
    return "";
}

bool stv_lesson_is_moved(const struct stv_lesson_moved *moved)
{
    return moved->error_left_frac < STV_NOT_MOVED_FRAC ||
           fabs(moved->moved_nd) > STV_SURPRISING_DOUBTS;
}

/* What moved before what did not, by how far.  Where nothing tells two apart but rounding, the
 * house goes before its kinds. */
static int compare_moved(const void *a, const void *b)
{
    const struct stv_lesson_moved *x = a, *y = b;
    long long far_x = llround(ALIKE_PER_ONE * fabs(x->moved_nd));
    long long far_y = llround(ALIKE_PER_ONE * fabs(y->moved_nd));
    if (stv_lesson_is_moved(x) != stv_lesson_is_moved(y))
        return stv_lesson_is_moved(x) ? -1 : 1;
    if (far_x != far_y)
        return far_x < far_y ? 1 : -1;
    return (x->at > y->at) - (x->at < y->at);
}

struct stv_lesson_moved *stv_lesson_moved_list(const struct stv_chain *chain,
                                               const struct stv_cask_lesson *lesson, size_t *out_n)
{
    const struct stv_posterior *posterior = &lesson->kept.posterior;
    const struct stv_fit *fit = &lesson->learning.fit;
    size_t n = STV_SCORE_N + posterior->n_kinds * STV_KIND_SCORE_N;
    struct stv_lesson_moved *list = calloc(n + 1, sizeof *list);
    *out_n = list ? n : 0;
    for (size_t i = 0; list && i < n; i++) {
        size_t kind = (i - STV_SCORE_N) / STV_KIND_SCORE_N;
        bool is_house = i < STV_SCORE_N;
        list[i] = (struct stv_lesson_moved){
            .name = is_house ? stv_house_score_words((enum stv_house_score)i)
                             : stv_kind_score_words(
                                   (enum stv_kind_score)((i - STV_SCORE_N) % STV_KIND_SCORE_N)),
            .kind_name =
                is_house ? NULL : kind_name_of(&chain->book.ledger, posterior->kind_keys[kind]),
            .at = i,
            .error_left_frac = fit->shared_error_nd[i],
            .moved_nd = fit->shared_nd[i]};
    }
    if (list)
        qsort(list, n, sizeof *list, compare_moved);
    return list;
}

static int compare_next(const void *a, const void *b)
{
    const struct stv_lesson_next *x = a, *y = b;
    if (x->left_frac != y->left_frac)
        return x->left_frac < y->left_frac ? -1 : 1;
    return (x->wish_idx > y->wish_idx) - (x->wish_idx < y->wish_idx);
}

struct stv_lesson_next *stv_lesson_next_list(const struct stv_cask_lesson *lesson, size_t *out_n)
{
    struct stv_lesson_next *list = calloc(2 * lesson->n_wishes + 1, sizeof *list);
    size_t n = 0;
    for (size_t w = 0; list && w < lesson->n_wishes; w++) {
        const struct stv_cask_worth *worth = &lesson->worths[w];
        double litres = worth->volume20_l.after_nd / worth->volume20_l.before_nd;
        double wood = worth->wood_by_nose.after_nd / worth->wood_by_nose.before_nd;
        if (isfinite(litres))
            list[n++] = (struct stv_lesson_next){w, false, litres};
        if (isfinite(wood))
            list[n++] = (struct stv_lesson_next){w, true, wood};
    }
    if (n)
        qsort(list, n, sizeof *list, compare_next);
    *out_n = n;
    return list;
}
