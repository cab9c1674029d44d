/* The latest gauges beside the forecast of their day: what `learn` made of one that disagrees, or
 * what to look at before it was asked. */
#include "cli/words.h"

#include "cli/cask_lesson.h"
#include "cli/cask_state.h"
#include "cli/prose.h"
#include "model/leak_walk.h"

#include <math.h>

/* Room for a glass read by eye, %vol; judgement. */
#define STRENGTH_ROOM_PCT 0.5
/* Of a cask: gauges tell no less, a litre of 200; judgement. */
#define TELLING_LEAK_FRAC 0.005
/* A gauge stands outside a range when it does with so much of its own error, too; judgement. */
#define GAUGE_SDS 2.0
/* So many casks that miss to one side are more than chance or a leak or two; judgement. */
#define SHARED_LEAST 3
#define IDS_MOST 40
#define OTHER_STRENGTH "gauge it again; water not written down, another cask, or a misread glass."

enum side { SIDE_INSIDE, SIDE_LOW, SIDE_HIGH, SIDE_WEAK, SIDE_STRONG, SIDE_N };

static const struct stv_range *litres_of(const struct stv_forecast_cask *cask)
{
    return &cask->at_gauge.quantity[STV_Q_VOLUME20_L];
}

static struct stv_range abv_pct_of(const struct stv_forecast_cask *cask)
{
    return stv_range_scaled(cask->at_gauge.quantity[STV_Q_ABV20_FRAC], 100.0);
}

static bool is_told(const struct stv_forecast_cask *cask)
{
    return cask->gauge_idx >= 0 && isfinite(litres_of(cask)->p50);
}

static enum side side_of_strength(const struct stv_gauge *gauge,
                                  const struct stv_forecast_cask *cask)
{
    struct stv_range abv_pct = abv_pct_of(cask);
    double read_pct = 100.0 * gauge->abv20_frac;
    if (!(abv_pct.p95 > abv_pct.p05) || litres_of(cask)->p50 < STV_DRY_L)
        return SIDE_INSIDE;
    if (read_pct < abv_pct.p05 - STRENGTH_ROOM_PCT)
        return SIDE_WEAK;
    return read_pct > abv_pct.p95 + STRENGTH_ROOM_PCT ? SIDE_STRONG : SIDE_INSIDE;
}

static enum side side_of(const struct stv_gauge *gauge, const struct stv_forecast_cask *cask)
{
    const struct stv_range *litres = litres_of(cask);
    double own_l = GAUGE_SDS * gauge->volume_sd_l;
    /* With one run alone there is no range to stand outside of. */
    if (!(litres->p95 > litres->p05))
        return SIDE_INSIDE;
    if (gauge->volume20_l + own_l < litres->p05)
        return SIDE_LOW;
    if (gauge->volume20_l - own_l > litres->p95)
        return SIDE_HIGH;
    return side_of_strength(gauge, cask);
}

static void add_strength(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_forecast_cask *cask, const char *why)
{
    const struct stv_gauge *gauge = &chain->book.gauges[cask->gauge_idx];
    stv_prose_wrap(text, 2, "Cask %s read %s %%vol when gauged on %s, where %s was expected: %s",
                   chain->book.ledger.casks[cask->cask_idx].id,
                   stv_format_number(100.0 * gauge->abv20_frac, 1).text,
                   stv_format_day(gauge->day_d).text, stv_format_range(abv_pct_of(cask), 1).text,
                   why);
}

/* "Cask 31 held 132.0 L when gauged on 24 September 2027. By its gauges it": what follows is of the
 * leak. */
static void add_held(struct stv_text *line, const char *id, const struct stv_gauge *gauge)
{
    if (isfinite(gauge->volume20_l))
        stv_text_format(line, "Cask %s held %s L when gauged on %s. By its gauges it", id,
                        stv_format_number(gauge->volume20_l, 1).text,
                        stv_format_day(gauge->day_d).text);
    else
        stv_text_format(line, "By its gauges cask %s", id);
}

static void add_rate(struct stv_text *line, const char *verb, const struct stv_posterior_leak *leak)
{
    stv_text_format(line, " %s since %s, about %s %% of what it holds a year.", verb,
                    stv_format_day(stv_posterior_leak_since_day(leak)).text,
                    stv_format_number(-100.0 * expm1(-leak->per_y), 0).text);
    if (leak->again_d < INT64_MAX)
        stv_text_format(line, " A leak before that was stopped on %s.",
                        stv_format_day(leak->to_d).text);
    if (leak->chance_frac < 1.0)
        stv_text_format(line, " %s.", stv_words_chance(leak->chance_frac).text);
}

/* Who stopped it knows that it leaked, and nobody since when. */
static void add_stopped_leak(struct stv_text *line, const struct stv_posterior_leak *leak,
                             int64_t stopped_d)
{
    double taken_frac = -expm1(-leak->per_y * leak->leaking_y);
    if (leak->chance_frac < 1.0) {
        add_rate(line, "leaked", leak);
        stv_text_format(line, " That was stopped on %s.", stv_format_day(stopped_d).text);
    } else if (taken_frac < TELLING_LEAK_FRAC) {
        stv_text_format(line, " lost too little to tell by the leak that was stopped on %s.",
                        stv_format_day(leak->to_d).text);
    } else {
        stv_text_format(line,
                        " lost about %s %% by the leak that was stopped on %s and began nobody "
                        "knows when, here spread from %s on.",
                        stv_format_number(100.0 * taken_frac, 0).text,
                        stv_format_day(leak->to_d).text, stv_format_day(leak->from_d).text);
    }
}

/* A leak that `learn` found: the range reckons with it, so it says nothing of the gauge. */
static bool add_learned_leak(struct stv_text *text, const struct stv_chain *chain,
                             const struct stv_gauge *gauge, int cask_idx)
{
    const char *id = chain->book.ledger.casks[cask_idx].id;
    const struct stv_posterior_cask *learned =
        stv_posterior_find(&chain->learned_casks.posterior, stv_key_of(id));
    if (!learned || !(learned->leak.chance_frac >= STV_WALK_LEARNED_FRAC))
        return false;
    int64_t stopped_d = stv_leak_stopped_day(&chain->book.ledger, cask_idx,
                                             stv_posterior_leak_since_day(&learned->leak));
    struct stv_text line = {0};
    bool is_stopped = stopped_d <= chain->as_of_day_d;
    add_held(&line, id, gauge);
    if (is_stopped)
        add_stopped_leak(&line, &learned->leak, stopped_d);
    else
        add_rate(&line, "may leak", &learned->leak);
    stv_prose_wrap(text, 2, "%s The figures here %s.%s", stv_text_string(&line),
                   chain->run.n_draws > 0 ? "reckon with that" : "leave that out (--draws 0)",
                   is_stopped ? "" : " Look for it.");
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
    return true;
}

/* What `learn` made of a gauge; NULL: it has not seen it. */
static const struct stv_learned_verdict *verdict_of(const struct stv_chain *chain,
                                                    const struct stv_gauge *gauge)
{
    const struct stv_learned_casks *learned = &chain->learned_casks;
    for (size_t v = 0; v < learned->n_verdicts; v++)
        if (learned->verdicts[v].cask_idx == gauge->cask_idx &&
            learned->verdicts[v].day_d == gauge->day_d)
            return &learned->verdicts[v];
    return NULL;
}

static void add_verdict(struct stv_text *line, const struct stv_learned_verdict *verdict)
{
    if (verdict->agrees)
        stv_text_add(line, STV_WORDS_AGREES);
    else if (verdict->misread_frac > STV_LIKELIER_FRAC)
        stv_text_format(line, "by what was learned it was misread. %s. Gauge it again.",
                        stv_words_chance(verdict->misread_frac).text);
    else if (verdict->leak_frac > STV_LIKELIER_FRAC)
        stv_text_format(line, "by what was learned it may leak. %s. Look for it.",
                        stv_words_chance(verdict->leak_frac).text);
    else if (verdict->evaporation_frac > STV_LIKELIER_FRAC)
        stv_text_format(line,
                        "by what was learned neither a leak nor a slip. %s. Nothing to do now but "
                        "gauge it again when next you open it.",
                        stv_words_chance(verdict->evaporation_frac).text);
    else
        stv_text_format(line,
                        "by what was learned misread %.0f %%, a leak %.0f %%, neither %.0f %%. "
                        "Gauge it again.",
                        100.0 * verdict->misread_frac, 100.0 * verdict->leak_frac,
                        100.0 * verdict->evaporation_frac);
}

static void add_outside(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_forecast_cask *cask, enum side side)
{
    static const char *const unlearned[SIDE_N] = {
        [SIDE_LOW] = "look for a leak, or gauge it again.",
        [SIDE_HIGH] = "a tight cask, or a misread gauge.",
        [SIDE_WEAK] = OTHER_STRENGTH,
        [SIDE_STRONG] = OTHER_STRENGTH,
    };
    const struct stv_gauge *gauge = &chain->book.gauges[cask->gauge_idx];
    const struct stv_learned_verdict *verdict = verdict_of(chain, gauge);
    const char *id = chain->book.ledger.casks[cask->cask_idx].id;
    struct stv_formatted day = stv_format_day(gauge->day_d);
    struct stv_formatted measured = stv_format_number(gauge->volume20_l, 1);
    struct stv_formatted expected = stv_format_range(*litres_of(cask), 1);
    struct stv_text why = {0};
    if (verdict)
        add_verdict(&why, verdict);
    else
        stv_text_add(&why, unlearned[side]);
    if (side == SIDE_LOW)
        stv_prose_wrap(text, 2,
                       "Cask %s held %s L when gauged on %s, where the air would leave %s: %s", id,
                       measured.text, day.text, expected.text, stv_text_string(&why));
    else if (side == SIDE_HIGH)
        stv_prose_wrap(text, 2,
                       "Cask %s held %s L when gauged on %s, more than the %s expected: %s", id,
                       measured.text, day.text, expected.text, stv_text_string(&why));
    else
        add_strength(text, chain, cask, stv_text_string(&why));
    text->has_failed = text->has_failed || why.has_failed;
    stv_text_free(&why);
}

static bool tell(struct stv_text *text, const struct stv_chain *chain,
                 const struct stv_forecast_cask *cask)
{
    const struct stv_gauge *gauge = &chain->book.gauges[cask->gauge_idx];
    const struct stv_range *range = litres_of(cask);
    enum side side = side_of(gauge, cask);
    bool is_leak = add_learned_leak(text, chain, gauge, cask->cask_idx);
    if (!is_leak && side != SIDE_INSIDE)
        add_outside(text, chain, cask, side);
    /* Litres and strength may both be off; one line tells of one. */
    if ((is_leak || side == SIDE_LOW || side == SIDE_HIGH) &&
        side_of_strength(gauge, cask) != SIDE_INSIDE)
        add_strength(text, chain, cask, OTHER_STRENGTH);
    if (is_leak || side != SIDE_INSIDE)
        return true;
    const char *id = chain->book.ledger.casks[cask->cask_idx].id;
    struct stv_formatted day = stv_format_day(gauge->day_d);
    struct stv_formatted measured = stv_format_number(gauge->volume20_l, 1);
    if (!isfinite(gauge->volume20_l)) {
        stv_prose_wrap(text, 2, "Cask %s was gauged on %s: %s %%vol, expected %s.", id, day.text,
                       stv_format_number(100.0 * gauge->abv20_frac, 1).text,
                       stv_format_range(abv_pct_of(cask), 1).text);
        return false;
    }
    bool is_outside = gauge->volume20_l < range->p05 || gauge->volume20_l > range->p95;
    if (range->p95 > range->p05)
        stv_prose_wrap(text, 2,
                       "Cask %s was gauged on %s: %s L, expected %s. %s the range, which neither "
                       "shows a leak nor rules one out.",
                       id, day.text, measured.text, stv_format_range(*range, 1).text,
                       is_outside ? "By its own error it may lie in" : "Inside");
    else
        stv_prose_wrap(text, 2,
                       "Cask %s was gauged on %s: %s L, where one run gives %s. It has no range, "
                       "and neither shows a leak nor rules one out.",
                       id, day.text, measured.text, stv_format_range(*range, 1).text);
    return false;
}

/* The side to which more than half of the gauged casks miss, and nothing was learned of it yet. */
static enum side shared_side(const struct stv_chain *chain, const struct stv_forecast *forecast,
                             size_t *n_shared, size_t *n_gauged)
{
    size_t n_of[SIDE_N] = {0};
    enum side side = SIDE_LOW;
    *n_gauged = *n_shared = 0;
    if (chain->learned_casks.posterior.n_casks > 0)
        return SIDE_INSIDE;
    for (size_t i = 0; i < forecast->n_casks; i++) {
        if (!is_told(&forecast->casks[i]))
            continue;
        (*n_gauged)++;
        n_of[side_of(&chain->book.gauges[forecast->casks[i].gauge_idx], &forecast->casks[i])]++;
    }
    for (enum side s = SIDE_LOW; s < SIDE_N; s++)
        side = n_of[s] > n_of[side] ? s : side;
    *n_shared = n_of[side];
    return *n_shared >= SHARED_LEAST && 2 * *n_shared > *n_gauged ? side : SIDE_INSIDE;
}

static bool is_of_side(const struct stv_chain *chain, const struct stv_forecast_cask *cask,
                       enum side side)
{
    return side != SIDE_INSIDE && is_told(cask) &&
           side_of(&chain->book.gauges[cask->gauge_idx], cask) == side;
}

/* What most casks share is no matter of each; returns the side, SIDE_INSIDE without. */
static enum side add_shared(struct stv_text *text, const struct stv_chain *chain,
                            const struct stv_forecast *forecast)
{
    static const char *const reads[SIDE_N] = {
        [SIDE_LOW] = "read fewer litres",
        [SIDE_HIGH] = "read more litres",
        [SIDE_WEAK] = "read lower in strength",
        [SIDE_STRONG] = "read higher in strength",
    };
    size_t n_shared, n_gauged, n_listed = 0;
    enum side side = shared_side(chain, forecast, &n_shared, &n_gauged);
    struct stv_text ids = {0};
    if (side == SIDE_INSIDE)
        return side;
    for (size_t i = 0; i < forecast->n_casks && n_listed < IDS_MOST; i++)
        if (is_of_side(chain, &forecast->casks[i], side))
            stv_prose_add(&ids, "%s%s", n_listed++ ? ", " : "",
                          chain->book.ledger.casks[forecast->casks[i].cask_idx].id);
    stv_prose_wrap(text, 2,
                   "%zu of %zu casks %s than the model tells: it is the model or the air rather "
                   "than the casks; `learn` takes it up, and says which may leak all the same: "
                   "%s%s.",
                   n_shared, n_gauged, reads[side], stv_text_string(&ids),
                   n_shared > n_listed ? " and others" : "");
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
    return side;
}

size_t stv_words_gauges(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_forecast *forecast, size_t n_most)
{
    enum side shared = add_shared(text, chain, forecast);
    size_t n = shared != SIDE_INSIDE;
    size_t n_more = 0;
    for (size_t i = 0; i < forecast->n_casks; i++) {
        struct stv_text line = {0};
        if (!is_of_side(chain, &forecast->casks[i], shared) &&
            stv_words_gauge(&line, chain, &forecast->casks[i])) {
            if (n < n_most)
                stv_text_add(text, stv_text_string(&line));
            n_more += n >= n_most;
            n += n < n_most;
        }
        text->has_failed = text->has_failed || line.has_failed;
        stv_text_free(&line);
    }
    if (n_more)
        stv_prose_wrap(text, 2, "And %s: `stavecast forecast %s` tells.",
                       stv_format_count(n_more, "cask more", "casks more").text,
                       chain->book.folder);
    return n;
}

bool stv_words_gauge(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_forecast_cask *cask)
{
    if (!is_told(cask))
        return false;
    bool is_off = tell(text, chain, cask);
    if (chain->book.gauges[cask->gauge_idx].may_not_be_mixed)
        stv_prose_wrap(text, 2,
                       "It was gauged within %s days of an addition: it may not have been mixed.",
                       stv_format_number(chain->book.gauge_numbers.unmixed_d, 0).text);
    return is_off;
}
