/* The spirit's history in the order in which a label asks: age of the youngest, woods, whose
 * spirit it is, water. */
#include "cli/words_lineage.h"

#include "cli/cask_state.h"
#include "cli/prose.h"
#include "cli/words.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>

#define MONTH_D (STV_YEAR_D / STV_MONTHS)
/* Woods told one by one; the rest is for --json. */
#define STAYS_MOST 6
/* A part of all but this counts as all of it. */
#define WHOLE_FRAC 0.995

struct stv_formatted stv_words_age(struct stv_day_span born, int64_t day_d)
{
    struct stv_age age = stv_age_between(stv_day_span_middle(born), day_d);
    struct stv_formatted years = stv_format_count((size_t)age.years, "year", "years");
    struct stv_formatted days = stv_format_count((size_t)age.days, "day", "days");
    int64_t width_d = stv_day_span_width_d(born);
    struct stv_formatted doubt = stv_format("%s", "");
    if (width_d > 0)
        doubt =
            stv_format(", give or take %s", stv_format_count((size_t)width_d, "day", "days").text);
    if (age.years == 0)
        return stv_format("%s old%s", days.text, doubt.text);
    if (age.days == 0)
        return stv_format("%s old%s", years.text, doubt.text);
    return stv_format("%s and %s old%s", years.text, days.text, doubt.text);
}

static void add_age(struct stv_text *line, const struct stv_chain *chain,
                    const struct stv_spirit_history *spirit, const struct stv_lineage_parts *parts)
{
    int64_t day_d = chain->as_of_day_d;
    int years = stv_age_between(stv_day_span_middle(spirit->youngest), day_d).years;
    int sure = stv_age_between(spirit->youngest.to_day_d, day_d).years;
    stv_prose_add(line, parts->n_parts == 1 ? "The spirit is %s" : "The youngest part is %s",
                  stv_words_age(spirit->youngest, day_d).text);
    if (sure < years)
        stv_prose_add(
            line, " (%s)",
            sure == 0
                ? "no full year is sure"
                : stv_format("only %s sure",
                             stv_format_count((size_t)sure, "full year is", "full years are").text)
                      .text);
    stv_text_add(line, ". ");
}

/* The part that gave most alcohol, where there are several. */
static void add_parts(struct stv_text *line, const struct stv_chain *chain,
                      const struct stv_lineage_parts *parts)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_spirit_part *most = &parts->parts[0];
    if (parts->n_parts == 1)
        return;
    for (size_t i = 1; i < parts->n_parts; i++)
        if (parts->parts[i].share_frac > most->share_frac)
            most = &parts->parts[i];
    const struct stv_event *event = &ledger->events[most->event_idx];
    stv_prose_add(line, "It is made of %zu parts", parts->n_parts);
    if (isfinite(most->share_frac))
        stv_prose_add(line, "; the %s of cask %s on %s gave %s %% of its alcohol, as written",
                      stv_event_kind_name(event->kind), ledger->casks[event->cask_idx].id,
                      stv_format_day(event->day_d).text,
                      stv_format_number(100.0 * most->share_frac, 0).text);
    stv_text_add(line, ". ");
}

static struct stv_formatted months_or_days(double mean_d)
{
    if (mean_d < MONTH_D)
        return stv_format_count((size_t)llround(mean_d), "day", "days");
    return stv_format_count((size_t)llround(mean_d / MONTH_D), "month", "months");
}

static void add_stay(struct stv_text *line, const struct stv_chain *chain,
                     const struct stv_wood_stay *stay)
{
    const struct stv_cask *cask = &chain->book.ledger.casks[stay->cask_idx];
    if (stay->share_frac < WHOLE_FRAC)
        stv_prose_add(line, "%s %% of it ", stv_format_number(100.0 * stay->share_frac, 0).text);
    double apart_d = (double)(stay->to_day_d - stay->from_day_d) - stay->mean_d;
    stv_prose_add(line, "%s%s in ",
                  isfinite(stay->mean_d) ? months_or_days(stay->mean_d).text : "some time",
                  apart_d > MONTH_D ? " on average" : "");
    if (stay->is_now)
        stv_text_add(line, "this one");
    else
        stv_prose_add(line, "cask %s (%s)", cask->id, cask->kind_name);
    if (stay->use_idx > 0)
        stv_prose_add(line, ", use no. %d here", stay->use_idx + 1);
}

static void add_woods(struct stv_text *line, const struct stv_chain *chain,
                      const struct stv_lineage_parts *parts)
{
    for (size_t i = 0; i < parts->n_stays && i < STAYS_MOST; i++) {
        bool is_all = parts->stays[i].share_frac >= WHOLE_FRAC;
        stv_text_add(line, i == 0 ? "In wood: " : is_all ? ", then " : ", ");
        add_stay(line, chain, &parts->stays[i]);
    }
    if (parts->n_stays > STAYS_MOST)
        stv_prose_add(line, ", and %zu more that --json lists", parts->n_stays - STAYS_MOST);
    bool is_from_elsewhere = false;
    for (size_t i = 0; i < parts->n_parts; i++)
        is_from_elsewhere |= chain->book.ledger.events[parts->parts[i].event_idx].age_d > 0;
    stv_text_add(line, is_from_elsewhere ? "; where the topping spirit lay before is not written. "
                                         : ". ");
}

static void add_label(struct stv_text *line, const struct stv_chain *chain,
                      const struct stv_spirit_history *spirit)
{
    stv_text_add(line, spirit->is_single ? "It never met another cask's spirit"
                                         : "No single cask: it met other casks' spirit");
    if (spirit->had_top_up)
        stv_prose_add(line, "; it was topped up with spirit now %s (the weakest %s %%vol)%s",
                      stv_words_age(spirit->topping, chain->as_of_day_d).text,
                      stv_words_percent(spirit->topping_least_abv20_frac).text,
                      spirit->is_single ? ", which may end \"single cask\"" : "");
    stv_text_add(line, ". ");
    if (!spirit->had_water)
        stv_text_add(line, "No water was added.");
    else if (isfinite(spirit->water_kg))
        stv_prose_add(line, "%s kg of water were added.",
                      stv_format_number(spirit->water_kg, 1).text);
    else
        stv_text_add(line, "Water was added.");
}

static void add_spirit(struct stv_text *text, const struct stv_chain *chain, int cask_idx,
                       const struct stv_spirit_history *spirit)
{
    struct stv_lineage_parts parts;
    struct stv_text line = {0};
    if (stv_lineage_held(chain->lineage, cask_idx, spirit->use_idx, &parts) != STV_OK) {
        text->has_failed = true;
        return;
    }
    add_age(&line, chain, spirit, &parts);
    add_parts(&line, chain, &parts);
    add_woods(&line, chain, &parts);
    add_label(&line, chain, spirit);
    stv_prose_wrap(text, 0, "%s", stv_text_string(&line));
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
    stv_lineage_parts_free(&parts);
}

#define WORDS_CUT                                                                 \
    "a row that fills, empties or pours it was refused, and what hangs on it is " \
    "left out (`stavecast check` names it)."

static void add_empty(struct stv_text *text, const struct stv_chain *chain, int cask_idx)
{
    struct stv_wood_life life;
    if (stv_lineage_wood(chain->lineage, cask_idx, &life) != STV_OK) {
        text->has_failed = true;
        return;
    }
    if (stv_is_cask_cut(chain, cask_idx))
        stv_prose_wrap(text, 0, "What it holds is not known: " WORDS_CUT);
    else if (life.n_uses == 0)
        stv_prose_wrap(text, 0, "Not filled yet by this book's history.");
    else
        stv_prose_wrap(text, 0, "Empty since %s, after %s here.",
                       stv_format_day(life.empty_since_day_d).text,
                       stv_format_count(life.n_uses, "use", "uses").text);
    int fill_idx = stv_planned_fill(chain, cask_idx);
    if (fill_idx >= 0)
        stv_prose_wrap(text, 0, "history.csv fills it on %s.",
                       stv_format_day(chain->book.ledger.events[fill_idx].day_d).text);
    stv_wood_life_free(&life);
}

void stv_words_lineage(struct stv_text *text, const struct stv_chain *chain, int cask_idx)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    if (spirit.is_there) {
        add_spirit(text, chain, cask_idx, &spirit);
        if (stv_is_cask_cut(chain, cask_idx))
            stv_prose_wrap(text, 0, "LOOK: what is told of this cask is not so: " WORDS_CUT);
    } else {
        add_empty(text, chain, cask_idx);
    }
}
