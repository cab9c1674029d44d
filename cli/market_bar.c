#include "cli/market_bar.h"

#include "cli/bench_wood.h"
#include "cli/transfer.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

struct span {
    int64_t from_d, to_d;
};

static enum stv_clock_verdict verdict_of(const struct stv_chain *chain,
                                         const struct stv_wood_stay *stay)
{
    const struct stv_market *market = chain->named.market;
    const struct stv_cask *cask = &chain->book.ledger.casks[stay->cask_idx];
    if (stv_market_is_too_large(market, cask->geometry.capacity_l))
        return STV_CLOCK_STANDS;
    if (market->age_clock == STV_AGE_CLOCK_UNKNOWN)
        return STV_CLOCK_COUNTS;
    return stv_bench_clock(market->age_clock, stv_transfer_wood(cask, stay->use_idx));
}

static int compare_spans(const void *a, const void *b)
{
    const struct span *x = a, *y = b;
    return (x->from_d > y->from_d) - (x->from_d < y->from_d);
}

/* Days after `since` that lie in any of the spans. */
static int64_t days_in(struct span *spans, size_t n, int64_t since_d)
{
    int64_t done_d = since_d, days = 0;
    qsort(spans, n, sizeof *spans, compare_spans);
    for (size_t i = 0; i < n; i++) {
        int64_t from_d = spans[i].from_d > done_d ? spans[i].from_d : done_d;
        if (spans[i].to_d <= from_d)
            continue;
        days += spans[i].to_d - from_d;
        done_d = spans[i].to_d;
    }
    return days;
}

/* Days since the birth in wood that does not count: surely, or (least) as far as is known. */
static int64_t lost_days(const struct stv_chain *chain, const struct stv_lineage_parts *parts,
                         int64_t born_d, enum stv_clock_verdict from, struct span *room)
{
    size_t n = 0;
    for (size_t s = 0; s < parts->n_stays; s++)
        if (verdict_of(chain, &parts->stays[s]) >= from)
            room[n++] = (struct span){parts->stays[s].from_day_d, parts->stays[s].to_day_d};
    return days_in(room, n, born_d);
}

static bool went_in_too_strong(const struct stv_chain *chain, const struct stv_lineage_parts *parts)
{
    for (size_t p = 0; p < parts->n_parts; p++)
        if (stv_market_is_too_strong(
                chain->named.market,
                chain->book.ledger.events[parts->parts[p].event_idx].abv20_frac))
            return true;
    return false;
}

/* An age that is too small bars; with wood of which nothing is known counted, so that only what is
 * sure does.  Birthdays count as on the calendar, later by the days that do not. */
static void judge_age(const struct stv_market *market, bool runs, int64_t born_d,
                      int64_t not_counted_d, int64_t day_d, struct stv_market_stand *out)
{
    double least_y = market->age_least_y.value;
    int months = isfinite(least_y) ? (int)lround(least_y * STV_MONTHS) : 0;
    int64_t old_enough_d = stv_day_add_months(born_d + not_counted_d, months);
    bool has_none = not_counted_d > 0 && born_d + not_counted_d >= day_d;
    if (not_counted_d == 0 || (day_d >= old_enough_d && !has_none))
        return;
    out->bar = STV_BAR_AGE;
    if (runs)
        out->lifts_day_d = old_enough_d;
}

static void judge(const struct stv_chain *chain, const struct stv_lineage_parts *parts,
                  struct span life, struct span *room, struct stv_market_stand *out)
{
    const struct stv_market *market = chain->named.market;
    int64_t day_d = life.to_d, born_d = life.from_d;
    int64_t sure_d = lost_days(chain, parts, born_d, STV_CLOCK_STANDS, room);
    int64_t most_d = lost_days(chain, parts, born_d, STV_CLOCK_UNSURE, room);
    const struct stv_wood_stay *now = parts->n_stays ? &parts->stays[parts->n_stays - 1] : NULL;
    bool runs = now && verdict_of(chain, now) != STV_CLOCK_STANDS;
    out->age_y = out->calendar_y - (double)most_d / STV_YEAR_D;
    out->most_age_y = out->calendar_y - (double)sure_d / STV_YEAR_D;
    if (went_in_too_strong(chain, parts))
        out->bar = STV_BAR_STRONG;
    else if (now && stv_market_is_too_large(
                        market, chain->book.ledger.casks[now->cask_idx].geometry.capacity_l))
        out->bar = STV_BAR_LARGE;
    else
        judge_age(market, runs, born_d, sure_d, day_d, out);
}

enum stv_status stv_market_stand(const struct stv_chain *chain, const struct stv_lineage *lineage,
                                 int cask_idx, int64_t day_d, struct stv_market_stand *out)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(lineage, cask_idx);
    struct stv_lineage_parts parts = {0};
    *out = (struct stv_market_stand){.lifts_day_d = INT64_MIN};
    if (!spirit.is_there)
        return STV_OK;
    out->calendar_y = (double)(day_d - spirit.youngest.to_day_d) / STV_YEAR_D;
    out->age_y = out->most_age_y = out->calendar_y;
    if (!chain->named.market)
        return STV_OK;
    enum stv_status status = stv_lineage_held(lineage, cask_idx, spirit.use_idx, &parts);
    struct span *room = malloc((parts.n_stays + 1) * sizeof *room);
    if (status == STV_OK && !room)
        status = STV_E_MEMORY;
    if (status == STV_OK)
        judge(chain, &parts, (struct span){spirit.youngest.to_day_d, day_d}, room, out);
    free(room);
    stv_lineage_parts_free(&parts);
    return status;
}
