/* What gauges and noses taught of the casks: casks to look at, what was predicted and what was
 * measured, what is known better now and what is not, and which gauge comes next. */
#include "cli/words.h"

#include "cli/cask_lesson.h"
#include "cli/prose.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STILL_FRAC 0.003 /* a strength that moved by less did not move */
#define ROWS_MOST 12
#define INSIDE_ROWS_LEAST 3 /* of figures that were met, also when misses would fill the table */
#define ID_COLUMNS_MOST 8   /* beside the longest name of a figure */
#define MOVED_MOST 10
#define NEXT_MOST 3
#define TOLD_INSIDE_FRAC 0.9
#define CHANCE_ERRORS 2.0
#define TOLD_LEAST 20     /* figures; fewer say nothing of a share */
#define NEXT_ALIKE_MOST 2 /* of one way: weighings and nosings narrow different things */
#define NOSES_WANTED 30   /* verdicts that settle a house's range; judgement */

static const char *id_of(const struct stv_chain *chain, size_t cask_idx)
{
    return chain->book.ledger.casks[cask_idx].id;
}

/* --- casks to look at ------------------------------------------------------------------------ */

static void add_neighbours(struct stv_text *line, const struct stv_chain *chain, int cask_idx)
{
    int beside[STV_NEIGHBOURS_MOST];
    size_t n = stv_lesson_neighbours(chain, cask_idx, beside);
    for (size_t i = 0; i < n; i++)
        stv_text_format(line, "%s%s",
                        i == 0       ? " On the way look at "
                        : i + 1 == n ? " and "
                                     : ", ",
                        id_of(chain, (size_t)beside[i]));
    stv_text_add(line, n ? " beside it." : "");
}

/* Earlier gauges that looked misread until a later one bore the leak out: one story, not two. */
static void add_borne_out(struct stv_text *line, const struct stv_chain *chain,
                          const struct stv_cask_lesson *lesson, size_t leak_idx)
{
    const struct stv_learned_verdict *verdicts = lesson->kept.verdicts;
    for (size_t v = 0; v < leak_idx; v++) {
        if (verdicts[v].cask_idx != verdicts[leak_idx].cask_idx ||
            verdicts[v].since_day_d != verdicts[leak_idx].since_day_d ||
            !stv_lesson_fits_leak(lesson, v))
            continue;
        const struct stv_gauge *gauge = &chain->book.gauges[lesson->learning.verdicts[v].gauge_idx];
        stv_text_format(line,
                        " The %s L gauged on %s (line %zu) fit that leak; before the later gauge "
                        "they looked misread, %s. Were they, it began after that day.",
                        stv_format_number(gauge->volume20_l, 1).text,
                        stv_format_day(verdicts[v].day_d).text, gauge->row,
                        stv_words_chance(verdicts[v].misread_frac).text);
    }
}

static void add_leak(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_cask_lesson *lesson, size_t verdict_idx)
{
    const struct stv_learned_verdict *verdict = &lesson->kept.verdicts[verdict_idx];
    const struct stv_posterior_cask *entry = stv_posterior_find(
        &lesson->kept.posterior, stv_key_of(id_of(chain, (size_t)verdict->cask_idx)));
    struct stv_place place = stv_lineage_place(chain->lineage, verdict->cask_idx);
    const struct stv_gauge *gauge =
        &chain->book.gauges[lesson->learning.verdicts[verdict_idx].gauge_idx];
    struct stv_text line = {0};
    stv_text_format(&line, "Cask %s (%s) may leak: %s L short of what the air takes since %s",
                    id_of(chain, (size_t)verdict->cask_idx), stv_words_place_of(chain, &place).text,
                    stv_format_number(verdict->excess_l, 0).text,
                    stv_format_day(verdict->since_day_d).text);
    double meant_frac = lesson->learning.verdicts[verdict_idx].change.rise_abv20_frac;
    if (fabs(verdict->rise_abv20_frac) < STILL_FRAC)
        stv_text_add(&line, ", and its strength has not moved");
    else if (fabs(verdict->rise_abv20_frac - meant_frac) < STILL_FRAC)
        stv_text_add(&line, ", and its strength is what the air alone makes it");
    else if (isfinite(verdict->rise_abv20_frac))
        stv_text_format(&line, "; its strength moved by %s %%vol",
                        stv_format_signed(100.0 * verdict->rise_abv20_frac, 1).text);
    stv_text_format(&line, ". %s.%s",
                    stv_words_chance(entry ? entry->leak.chance_frac : verdict->leak_frac).text,
                    gauge->seeps ? " It was seen to weep." : "");
    add_borne_out(&line, chain, lesson, verdict_idx);
    add_neighbours(&line, chain, verdict->cask_idx);
    stv_prose_wrap(text, 2, "%s", stv_text_string(&line));
    stv_text_free(&line);
}

/* "26.8" with the decimals it was written with. */
static struct stv_formatted typed_words(double value_nd, struct stv_typed_figure typed)
{
    return stv_format_number(value_nd, typed.n_decimals);
}

/* "157.9 L", or what the scale showed: "198.6 kg with the cask". */
static struct stv_formatted amount_words(const struct stv_gauge *gauge)
{
    return isfinite(gauge->volume20_l)
               ? stv_format("%s L", stv_format_number(gauge->volume20_l, 1).text)
               : stv_format("%s kg with the cask", stv_format_number(gauge->gross_kg, 1).text);
}

static void add_misread(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_cask_lesson *lesson, size_t verdict_idx)
{
    const struct stv_learned_verdict *verdict = &lesson->kept.verdicts[verdict_idx];
    const struct stv_gauge *gauge =
        &chain->book.gauges[lesson->learning.verdicts[verdict_idx].gauge_idx];
    struct stv_text line = {0};
    if (verdict->agrees) {
        stv_prose_wrap(text, 2, "Cask %s, gauged %s (line %zu): " STV_WORDS_AGREES,
                       id_of(chain, (size_t)verdict->cask_idx), stv_format_day(verdict->day_d).text,
                       gauge->row);
        return;
    }
    bool has_amount = isfinite(gauge->volume20_l) || isfinite(gauge->gross_kg);
    struct stv_formatted amount = amount_words(gauge);
    stv_text_format(&line,
                    "Cask %s, gauged %s (line %zu): ", id_of(chain, (size_t)verdict->cask_idx),
                    stv_format_day(verdict->day_d).text, gauge->row);
    if (isfinite(verdict->meant_strength_nd))
        stv_text_format(&line, "strength %s was misread, %s likely meant",
                        typed_words(gauge->strength_typed.value_nd, gauge->strength_typed).text,
                        typed_words(verdict->meant_strength_nd, gauge->strength_typed).text);
    else if (isfinite(verdict->meant_litres_nd))
        stv_text_format(&line, "litres %s were misread, %s likely meant",
                        typed_words(gauge->litres_typed.value_nd, gauge->litres_typed).text,
                        typed_words(verdict->meant_litres_nd, gauge->litres_typed).text);
    else if (has_amount && isfinite(gauge->abv20_frac))
        stv_text_format(&line,
                        "%s and %s %%vol do not go together with what was gauged before; "
                        "one was misread",
                        amount.text, stv_format_number(100.0 * gauge->abv20_frac, 1).text);
    else if (has_amount)
        stv_text_format(&line, "%s cannot follow what was gauged before; they were misread",
                        amount.text);
    else
        stv_text_format(&line, "%s %%vol cannot follow what was gauged before; it was misread",
                        stv_format_number(100.0 * gauge->abv20_frac, 1).text);
    /* As likely as it is once the gauges after it have ruled out that it leaked. */
    bool is_refuted = verdict->leak_frac > verdict->misread_frac;
    double chance_frac =
        is_refuted ? verdict->misread_frac / (verdict->misread_frac + verdict->evaporation_frac)
                   : verdict->misread_frac;
    stv_prose_wrap(text, 2, "%s. %s%s. Nothing is learned from it, and nothing is corrected.",
                   stv_text_string(&line), stv_words_chance(chance_frac).text,
                   is_refuted ? ": the gauges after it hold more than a leak would have left" : "");
    stv_text_free(&line);
}

/* A cask that was left out whole, with the rows that somebody has to look at. */
static void add_stuck(struct stv_text *text, const struct stv_chain *chain, size_t cask_idx)
{
    struct stv_text lines = {0};
    for (size_t i = 0; i < chain->book.n_gauges; i++)
        if (chain->book.gauges[i].cask_idx == (int)cask_idx)
            stv_text_format(&lines, "%s%zu", lines.n ? ", " : "", chain->book.gauges[i].row);
    stv_prose_wrap(text, 2,
                   "Cask %s was left out, the others were learned: no fit takes its gauges "
                   "together. Either it leaks fast or a row is a slip: look at the cask, then at "
                   "gauges.csv (lines %s) and its history.",
                   id_of(chain, cask_idx), stv_text_string(&lines));
    text->has_failed = text->has_failed || lines.has_failed;
    stv_text_free(&lines);
}

static void add_looks(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_cask_lesson *lesson)
{
    static void (*const add[])(struct stv_text *, const struct stv_chain *,
                               const struct stv_cask_lesson *,
                               size_t) = {NULL, add_leak, add_misread};
    bool has_any = lesson->n_stuck > 0;
    if (has_any)
        stv_prose_heading(text, "Look at first");
    for (size_t s = 0; s < lesson->n_stuck; s++)
        add_stuck(text, chain, lesson->stuck[s]);
    for (int kind = STV_LOOK_LEAK; kind <= STV_LOOK_MISREAD; kind++) {
        for (size_t v = 0; v < lesson->kept.n_verdicts; v++) {
            if ((int)stv_lesson_look(chain, lesson, v) != kind)
                continue;
            if (!has_any)
                stv_prose_heading(text, "Look at first");
            has_any = true;
            add[kind](text, chain, lesson, v);
        }
    }
    if (!has_any)
        stv_prose_wrap(text, 0,
                       "No leak and no slip is likelier than not. A miss below is more, or less, "
                       "than was foretold, and counts.");
}

/* --- predicted then, measured now ------------------------------------------------------------ */

static const struct {
    const char *name, *unit;
    double factor;
    int decimals;
} figures[STV_FIT_KINDS] = {
    [STV_FIT_VOLUME] = {"litres", "L", 1.0, 1},
    [STV_FIT_STRENGTH] = {"strength", "%vol", 100.0, 1},
    [STV_FIT_LIQUID] = {"net", "kg", 1.0, 1},
    [STV_FIT_GROSS] = {"gross", "kg", 1.0, 1},
    [STV_FIT_READING] = {"by eye or nose", "", 1.0, 1},
    [STV_FIT_VERDICT] = {"nose", "", 1.0, 0},
};

static struct stv_formatted value_words(enum stv_fit_kind kind, double value)
{
    if (kind == STV_FIT_VERDICT) {
        double step = fmin(fmax(floor(value + 0.5), 0.0), (double)STV_FIT_THRESHOLDS);
        return stv_format("%s", stv_nose_name((enum stv_nose)((int)step + STV_NOSE_NOT_YET)));
    }
    return stv_format_number(figures[kind].factor * value, figures[kind].decimals);
}

static void add_told(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_learned_told *told)
{
    double reach = STV_RANGE_ERRORS * told->then_error;
    struct stv_formatted range =
        stv_format("%s to %s", value_words(told->kind, told->then_value - reach).text,
                   value_words(told->kind, told->then_value + reach).text);
    const char *id = id_of(chain, (size_t)told->cask_idx);
    bool is_long = stv_prose_columns(id, strlen(id)) > ID_COLUMNS_MOST;
    struct stv_text what = {0};
    if (is_long)
        stv_prose_add(text, "%s\n", id);
    stv_text_format(&what, "%s%s%s%s", is_long ? "" : stv_format("%s ", id).text,
                    figures[told->kind].name, figures[told->kind].unit[0] ? ", " : "",
                    figures[told->kind].unit);
    stv_prose_add(text, "%-12s", stv_format_iso_day(told->day_d).text);
    stv_prose_cell(text, stv_text_string(&what), 24);
    stv_text_free(&what);
    stv_prose_add(text, "%9s  %-19s%9s%s\n", value_words(told->kind, told->then_value).text,
                  range.text, value_words(told->kind, told->value).text,
                  told->is_left_out        ? " -"
                  : stv_told_is_miss(told) ? " !"
                                           : "");
}

static size_t count_misses(const struct stv_learned_casks *kept)
{
    size_t n = 0;
    for (size_t i = 0; i < kept->n_told; i++)
        n += stv_told_is_miss(&kept->told[i]);
    return n;
}

/* Ranges that held fewer than 9 in 10 of what was told before, by more than chance makes of so
 * many: said where they were learned and in every answer that rests on them. */
static void add_held_too_few(struct stv_text *text, const struct stv_learned_casks *kept,
                             size_t indent)
{
    double n = (double)kept->n_told, held = n - (double)count_misses(kept);
    double least = TOLD_INSIDE_FRAC * n -
                   CHANCE_ERRORS * sqrt(n * TOLD_INSIDE_FRAC * (1.0 - TOLD_INSIDE_FRAC));
    if (kept->n_told >= TOLD_LEAST && held < least)
        stv_prose_wrap(
            text, indent,
            "LOOK: the ranges learned held %.0f of %zu gauges told before, where 9 in 10 "
            "were to be held: read every range of a cask as too narrow, and look for "
            "slips in gauges.csv (`stavecast learn` lists the misses).",
            held, kept->n_told);
}

static void add_table(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_cask_lesson *lesson)
{
    const struct stv_learned_casks *kept = &lesson->kept;
    size_t *order = stv_lesson_misses_first(lesson), n_misses = count_misses(kept), n_shown = 0;
    if (!order) {
        text->has_failed = true;
        return;
    }
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Predicted then, measured now");
    stv_prose_wrap(text, 0,
                   "%zu of %zu figures lie inside the range in which 9 in 10 were to lie, each "
                   "told from the gauges of earlier days alone.",
                   kept->n_told - n_misses, kept->n_told);
    add_held_too_few(text, kept, 0);
    stv_prose_add(text, "%-12s%-24s%9s  %-19s%9s\n", "day", "cask", "then", "9 in 10", "now");
    size_t n_misses_most = ROWS_MOST - INSIDE_ROWS_LEAST;
    for (size_t i = 0; i < kept->n_told && n_shown < ROWS_MOST; i++) {
        if (i < n_misses && i >= n_misses_most)
            continue;
        add_told(text, chain, &kept->told[order[i]]);
        n_shown++;
    }
    stv_prose_wrap(text, 0, "Misses first (!; those marked - taught nothing), then the newest.%s",
                   kept->n_told > n_shown ? " --csv has all." : "");
    free(order);
}

/* --- what moved ------------------------------------------------------------------------------ */

static void add_moved(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_cask_lesson *lesson)
{
    size_t n = 0, n_moved = 0, n_still = 0, n_far = 0, n_shown = 0;
    struct stv_lesson_moved *list = stv_lesson_moved_list(chain, lesson, &n);
    struct stv_text still = {.has_failed = list == NULL};
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "What they moved, and what not");
    stv_prose_add(text, "%-41s%-23s%7s%9s\n", "", "", "doubt", "moved by");
    stv_prose_add(text, "%-41s%-23s%7s%9s\n", "", "kind of cask", "left, %", "doubts");
    for (size_t i = 0; i < n && stv_lesson_is_moved(&list[i]); i++) {
        n_far += fabs(list[i].moved_nd) > STV_SURPRISING_DOUBTS;
        if (n_moved++ >= (n_far > MOVED_MOST ? n_far : MOVED_MOST))
            continue;
        n_shown++;
        stv_prose_cell(text, list[i].name, 41);
        stv_prose_cell(text, list[i].kind_name ? list[i].kind_name : "", 23);
        stv_prose_add(text, "%7.0f%9s\n", 100.0 * list[i].error_left_frac,
                      stv_format_signed(list[i].moved_nd, 1).text);
    }
    for (size_t i = n_moved; i < n; i++)
        if (!list[i].kind_name)
            stv_text_format(&still, "%s%s", n_still++ ? "; " : "", list[i].name);
    if (n_moved > n_shown)
        stv_prose_wrap(text, 0, "And %zu more, by less (--json).", n_moved - n_shown);
    if (n_far > 0)
        stv_prose_wrap(text, 0,
                       "%s by more than %.0f doubts, further than 19 in 20 were thought to lie: "
                       "the first above. Look at the gauges and the sizes behind it before you "
                       "believe it. (A doubt: how far off the number was thought to be; 1 in 3 lie "
                       "further.)",
                       stv_format_count(n_far, "number moved", "numbers moved").text,
                       STV_SURPRISING_DOUBTS);
    if (n_still)
        stv_prose_wrap(text, 0, "Of the house they left as it was: %s.", stv_text_string(&still));
    if (n - n_moved > n_still)
        stv_prose_wrap(text, 0, "And %zu numbers of single kinds of cask.", n - n_moved - n_still);
    text->has_failed = text->has_failed || still.has_failed;
    stv_text_free(&still);
    free(list);
}

/* "0.63 (0.49 to 0.81)" */
static struct stv_formatted threshold_words(const struct stv_learned_casks *kept, size_t t)
{
    double reach = STV_RANGE_ERRORS * kept->ready_error_ln_nd[t];
    return stv_format("%s (%s to %s)", stv_format_number(exp(kept->ready_ln_nd[t]), 2).text,
                      stv_format_number(exp(kept->ready_ln_nd[t] - reach), 2).text,
                      stv_format_number(exp(kept->ready_ln_nd[t] + reach), 2).text);
}

static void add_ready(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_cask_lesson *lesson)
{
    const struct stv_learned_casks *kept = &lesson->kept;
    const struct stv_house_rules *rules = &chain->book.rules;
    bool is_books = chain->book.wood_from == STV_WOOD_BOOK;
    struct stv_formatted before =
        stv_format("%s to %s", stv_format_number(rules->wood_least_nd, 2).text,
                   stv_format_number(rules->wood_most_nd, 2).text);
    if (kept->n_verdicts_of_noses == 0) {
        stv_prose_wrap(text, 2,
                       "What the house calls ready: no nose said yet; %s of the reference cask's "
                       "wood, %s.",
                       before.text, is_books ? "as the book says" : "assumed");
        return;
    }
    stv_prose_wrap(text, 2,
                   "What the house calls ready, by %s: %s to %s of the reference cask's wood.%s",
                   stv_format_count(kept->n_verdicts_of_noses, "nosing", "nosings").text,
                   threshold_words(kept, 0).text, threshold_words(kept, 1).text,
                   kept->n_verdicts_of_noses < NOSES_WANTED ? " About thirty settle it." : "");
    if (is_books)
        stv_prose_wrap(text, 4,
                       "The book's own range stays in use: %s. Without `wood:` in its targets "
                       "forecasts and windows follow the noses.",
                       before.text);
    else
        stv_prose_wrap(text, 4, "Forecasts and windows use it from now on, not the assumed %s.",
                       before.text);
}

/* --- what comes next ------------------------------------------------------------------------- */

static void add_next_one(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_cask_lesson *lesson, const struct stv_lesson_next *next)
{
    const struct stv_cask_wish *wish = &lesson->wishes[next->wish_idx];
    const struct stv_cask_worth *worth = &lesson->worths[next->wish_idx];
    struct stv_formatted when = stv_format_month(wish->target_day_d);
    if (next->by_nose)
        stv_prose_wrap(
            text, 2, "Nose cask %s: its wood in %s is then known within a factor of %s, now %s.",
            id_of(chain, wish->cask_idx), when.text,
            stv_format_number(exp(STV_RANGE_ERRORS * worth->wood_by_nose.after_nd), 1).text,
            stv_format_number(exp(STV_RANGE_ERRORS * worth->wood_by_nose.before_nd), 1).text);
    else
        stv_prose_wrap(text, 2,
                       "Weigh cask %s: its litres in %s are then known to +-%s L, now to +-%s.",
                       id_of(chain, wish->cask_idx), when.text,
                       stv_format_number(STV_RANGE_ERRORS * worth->volume20_l.after_nd, 0).text,
                       stv_format_number(STV_RANGE_ERRORS * worth->volume20_l.before_nd, 0).text);
}

static void add_next(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_cask_lesson *lesson)
{
    size_t n = 0;
    struct stv_lesson_next *list = stv_lesson_next_list(lesson, &n);
    text->has_failed = text->has_failed || !list;
    if (n) {
        stv_prose_add(text, "\n");
        stv_prose_heading(text, "The next that narrows most");
    }
    for (size_t i = 0, n_of[2] = {0, 0}; i < n && n_of[0] + n_of[1] < NEXT_MOST; i++)
        if (n_of[list[i].by_nose] < NEXT_ALIKE_MOST) {
            n_of[list[i].by_nose]++;
            add_next_one(text, chain, lesson, &list[i]);
        }
    free(list);
}

/* --- what it rests on ------------------------------------------------------------------------ */

static void add_count(struct stv_text *line, size_t n, const char *words)
{
    if (n)
        stv_text_format(line, "%s%zu %s", line->n ? "; " : "", n, words);
}

/* Gauges told above as misread, but for those that are slips by what stands around them. */
static size_t count_misread(const struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    size_t n = 0;
    for (size_t v = 0; v < lesson->kept.n_verdicts; v++)
        n += stv_lesson_look(chain, lesson, v) == STV_LOOK_MISREAD &&
             !chain->book.gauges[lesson->learning.verdicts[v].gauge_idx].is_suspect;
    return n;
}

static void add_unused(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_cask_lesson *lesson)
{
    const struct stv_gauges_unused *unused = &lesson->unused;
    struct stv_text line = {0};
    add_count(&line, unused->n_suspect,
              unused->n_suspect == 1 ? "that looks like a slip of the pen"
                                     : "that look like slips of the pen");
    add_count(&line, count_misread(chain, lesson), "likelier misread than not");
    add_count(&line, unused->n_later, "after the day of this answer");
    add_count(&line, unused->n_empty, "of casks that were emptied that day");
    add_count(&line, unused->n_same_day,
              "of the very day of an addition: before it or after, nobody knows");
    add_count(&line, unused->n_other_wood, "colours of wood that another liquid coloured");
    add_count(&line, unused->n_scales_over, "readings by a nose or card beyond the sixteenth");
    if (line.n)
        stv_prose_wrap(text, 2, "Not used: %s.", stv_text_string(&line));
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
}

static bool has_stopped_leak(const struct stv_ledger *ledger)
{
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].kind == STV_EVENT_LEAK_STOPPED)
            return true;
    return false;
}

void stv_words_cask_learning(struct stv_text *text, const struct stv_chain *chain,
                             const struct stv_cask_lesson *lesson)
{
    stv_prose_wrap(text, 0, "%s learned from %s up to %s.",
                   stv_format_count(lesson->kept.n_gauged_casks, "cask", "casks").text,
                   stv_format_count(lesson->n_gauges, "gauge", "gauges").text,
                   stv_format_day(chain->as_of_day_d).text);
    add_looks(text, chain, lesson);
    add_table(text, chain, lesson);
    add_moved(text, chain, lesson);
    add_ready(text, chain, lesson);
    add_next(text, chain, lesson);
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Rests on");
    if (chain->basis != STV_BASIS_HEED)
        stv_prose_wrap(
            text, 2,
            "Each figure with its own error; house, kind of cask and cask told apart by how "
            "far each is assumed to vary (`--parameters`). A leak or a slip is judged "
            "against what earlier gauges said, and left out once it is likelier than not.");
    if (has_stopped_leak(&chain->book.ledger))
        stv_prose_wrap(text, 2,
                       "Litres gauged before a leak was stopped teach nothing, for nobody knows "
                       "when it began; those after it tell what went since.");
    stv_words_day_taken(text, chain);
    add_unused(text, chain, lesson);
    stv_prose_wrap(text, 2,
                   "Kept in %s. Every other command takes casks from there; deleting the file "
                   "undoes it, --as-if-never-gauged leaves it aside once.",
                   STV_LEARNED_CASKS_FILE);
}

void stv_words_caution_leaks(struct stv_text *text)
{
    stv_prose_wrap(
        text, 0,
        "Leak walk: best after hot weeks, early in the day, in pairs, the store aired "
        "first. Ethanol vapour lies low and burns: no flame, rated lamps. Ease a bung on "
        "a cool morning, face away.");
}

/* --- in every other answer ------------------------------------------------------------------- */

static bool add_changed(struct stv_text *text, const struct stv_chain *chain)
{
    struct stv_text names = {0};
    bool is_changed = stv_chain_casks_changed(chain, &names) > 0;
    if (is_changed)
        stv_prose_wrap(text, 2,
                       "Changed since the casks were learned: %s. What came in is not in it yet: "
                       "run learn again.",
                       stv_text_string(&names));
    text->has_failed = text->has_failed || names.has_failed;
    stv_text_free(&names);
    return is_changed;
}

static void add_hindsight(struct stv_text *text, const struct stv_chain *chain)
{
    stv_prose_wrap(text, 2,
                   "Casks: learned up to %s, with gauges that nobody had on %s, and so left aside "
                   "here. `stavecast learn --date %s` learns from what was known then.",
                   stv_format_day(chain->hindsight_d).text, stv_format_day(chain->as_of_day_d).text,
                   stv_format_iso_day(chain->as_of_day_d).text);
}

bool stv_words_learned_stale(struct stv_text *text, const struct stv_chain *chain)
{
    if (chain->hindsight_d != INT64_MIN)
        add_hindsight(text, chain);
    else if (chain->learned_casks.posterior.n_casks == 0)
        return false;
    else if (!add_changed(text, chain))
        stv_prose_wrap(text, 2,
                       "The casks were learned up to %s, and there are gauges between that day and "
                       "this answer's: run learn again.",
                       stv_format_day(chain->learned_casks.as_of_day_d).text);
    return true;
}

void stv_words_learned_casks(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_learned_casks *learned = &chain->learned_casks;
    const struct stv_house_rules *rules = &chain->book.rules;
    if (learned->posterior.n_casks == 0)
        return;
    if (chain->run.n_draws > 0)
        stv_prose_wrap(text, 2, "Casks: learned from %s of %s, up to %s.",
                       stv_format_count(learned->n_gauges, "gauge", "gauges").text,
                       stv_format_count(learned->n_gauged_casks, "cask", "casks").text,
                       stv_format_day(learned->as_of_day_d).text);
    if (chain->book.wood_from == STV_WOOD_LEARNED)
        stv_prose_wrap(text, 2, "Wood called ready, %s to %s of the reference cask: by %s.",
                       stv_format_number(rules->wood_least_nd, 2).text,
                       stv_format_number(rules->wood_most_nd, 2).text,
                       stv_format_count(learned->n_verdicts_of_noses, "nosing", "nosings").text);
}

void stv_words_learning_left_out(struct stv_text *text, const struct stv_chain *chain)
{
    if (chain->learned_casks.posterior.n_casks == 0 || chain->run.n_draws > 0)
        return;
    stv_prose_wrap(text, 0,
                   "WITHOUT WHAT WAS LEARNED: the one run of --draws 0 leaves out what the gauges "
                   "told of losses and leaks and of what each cask gives.");
}

void stv_words_learned_casks_heed(struct stv_text *text, const struct stv_chain *chain)
{
    bool is_learned = chain->learned_casks.posterior.n_casks > 0;
    if (is_learned && chain->run.n_draws > 0)
        add_held_too_few(text, &chain->learned_casks, 2);
    if (is_learned)
        (void)add_changed(text, chain);
    else if (chain->hindsight_d != INT64_MIN)
        add_hindsight(text, chain);
    else if (chain->book.n_gauges)
        stv_prose_wrap(text, 2, "%s in the book: %s.",
                       stv_format_count(chain->book.n_gauges, "gauge", "gauges").text,
                       chain->is_as_if_never_gauged
                           ? "left aside, as asked"
                           : "nothing is learned from them until `stavecast learn` runs");
}
