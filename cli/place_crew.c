/* What the crew gets: an order, a weight for each step, and the cool hours. */
#include "cli/place_crew.h"

#include "cli/csv.h"
#include "cli/json.h"
#include "cli/json_document.h"
#include "cli/prose.h"
#include "cli/words.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>

/* A full 200 L cask; common practice, no published source. */
#define USUAL_KG 230.0
#define WORK_FIRST_H 5 /* hours of the day in which a crew may work */
#define WORK_LAST_H 20
#define WORK_SPAN_H 5
#define HOURS_MATTER_K 2.0
/* Halves of a store that differ by no more are called even; judgement. */
#define EVEN_CASKS 4

static const char *step_word(enum stv_crew_step_kind kind)
{
    static const char *const words[] = {[STV_CREW_IN] = "bring in",
                                        [STV_CREW_MOVE] = "move",
                                        [STV_CREW_ASIDE] = "to the floor",
                                        [STV_CREW_BACK] = "from floor"};
    return words[kind];
}

static const char *step_key(enum stv_crew_step_kind kind)
{
    static const char *const keys[] = {[STV_CREW_IN] = "in",
                                       [STV_CREW_MOVE] = "move",
                                       [STV_CREW_ASIDE] = "aside",
                                       [STV_CREW_BACK] = "back"};
    return keys[kind];
}

static const char *step_id(const struct stv_chain *chain, const struct stv_place_house *house,
                           const struct stv_crew_step *step)
{
    int item = house->crew_item[step->cask_idx];
    return item >= 0 ? house->items[item].id
                     : chain->book.ledger.casks[house->crew_cask[step->cask_idx]].id;
}

static double step_kg(const struct stv_chain *chain, const struct stv_place_house *house,
                      const struct stv_crew_step *step)
{
    int item = house->crew_item[step->cask_idx];
    return item >= 0 ? house->items[item].mass_kg
                     : stv_place_book_cask_kg(chain, house->crew_cask[step->cask_idx]);
}

double stv_place_crew_kg(const struct stv_chain *chain, const struct stv_place_house *house)
{
    double sum_kg = 0.0;
    for (size_t s = 0; s < house->crew.n_steps; s++) {
        double own_kg = step_kg(chain, house, &house->crew.steps[s]);
        sum_kg += isnan(own_kg) ? USUAL_KG : own_kg;
    }
    return sum_kg;
}

/* The coolest hours of a working day on the highest tier that the steps touch, by the mean day of
 * the month of the answer. */
struct cool_hours {
    int from_h;
    double coolest_c, hottest_c; /* means of the span, and of the hottest hour */
    int tier_idx, warehouse_idx;
};

static struct stv_place highest_place(const struct stv_place_house *house)
{
    struct stv_place highest = {-1, -1, -1, -1};
    for (size_t s = 0; s < house->crew.n_steps; s++) {
        const struct stv_place *ends[2] = {&house->crew.steps[s].from, &house->crew.steps[s].to};
        for (int i = 0; i < 2; i++)
            if (ends[i]->warehouse_idx >= 0 && ends[i]->tier_idx > highest.tier_idx)
                highest = *ends[i];
    }
    return highest;
}

static bool find_cool_hours(const struct stv_chain *chain, const struct stv_place_house *house,
                            struct cool_hours *out)
{
    struct stv_place place = highest_place(house);
    double sums_c[24] = {0.0}, n[24] = {0.0};
    if (place.warehouse_idx < 0)
        return false;
    const struct stv_position *air =
        &chain->set.positions[stv_position_of_place(&chain->set, &place)];
    int month = stv_date_from_day(chain->as_of_day_d).month;
    for (size_t k = 0; k < air->grid.n; k++) {
        int hour = 0;
        int64_t day_d = stv_grid_local_day(&air->grid, k, &hour);
        if (stv_date_from_day(day_d).month != month || isnan(air->air_c[k]))
            continue;
        sums_c[hour] += air->air_c[k];
        n[hour] += 1.0;
    }
    *out = (struct cool_hours){.coolest_c = INFINITY,
                               .hottest_c = -INFINITY,
                               .tier_idx = place.tier_idx,
                               .warehouse_idx = place.warehouse_idx};
    for (int h = WORK_FIRST_H; h < WORK_LAST_H; h++) {
        if (n[h] == 0.0)
            return false;
        out->hottest_c = fmax(out->hottest_c, sums_c[h] / n[h]);
    }
    for (int h = WORK_FIRST_H; h + WORK_SPAN_H <= WORK_LAST_H; h++) {
        double mean_c = 0.0;
        for (int i = h; i < h + WORK_SPAN_H; i++)
            mean_c += sums_c[i] / n[i] / WORK_SPAN_H;
        if (mean_c < out->coolest_c) {
            out->coolest_c = mean_c;
            out->from_h = h;
        }
    }
    return true;
}

static void add_hours(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_house *house)
{
    struct cool_hours hours;
    if (!find_cool_hours(chain, house, &hours))
        return;
    struct stv_place tier = {hours.warehouse_idx, hours.tier_idx, -1, -1};
    const char *where = stv_words_place_of(chain, &tier).text;
    if (hours.hottest_c - hours.coolest_c < HOURS_MATTER_K)
        stv_prose_wrap(text, 0,
                       "The hour hardly matters this month: on %s the working day stays within "
                       "%s C.",
                       where, stv_format_number(HOURS_MATTER_K, 0).text);
    else
        stv_prose_wrap(text, 0,
                       "Cool hours this month, on %s: from %d to %d h, %s C on average; the "
                       "hottest hour has %s C.",
                       where, hours.from_h, hours.from_h + WORK_SPAN_H,
                       stv_format_number(hours.coolest_c, 0).text,
                       stv_format_number(hours.hottest_c, 0).text);
}

/* The floor of a step: before the bay where the cask lay at the start. */
static struct stv_formatted floor_words(const struct stv_place_house *house,
                                        const struct stv_crew_step *step)
{
    int item = house->crew_item[step->cask_idx];
    const struct stv_place *start = step->kind == STV_CREW_ASIDE ? &step->from
                                    : item >= 0                  ? &house->items[item].from
                                                                 : &step->to;
    return stv_format("floor by bay %d", start->bay_idx + 1);
}

/* One end of a step: a place, the floor, or outside. */
static struct stv_formatted end_words(const struct stv_chain *chain,
                                      const struct stv_place_house *house,
                                      const struct stv_crew_step *step, const struct stv_place *end)
{
    if (end->warehouse_idx >= 0)
        return stv_words_place_short(chain, end);
    return step->kind == STV_CREW_IN ? stv_format("outside") : floor_words(house, step);
}

static void add_steps(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_house *house)
{
    stv_prose_add(text, "\n%5s  %-16s %-14s%-17s%-17s%6s\n", "step", "cask", "do", "from", "to",
                  "kg");
    for (size_t s = 0; s < house->crew.n_steps; s++) {
        const struct stv_crew_step *step = &house->crew.steps[s];
        stv_prose_add(text, "%5zu  ", s + 1);
        stv_prose_name_cell(text, step_id(chain, house, step), 16, 7);
        stv_prose_add(text, " %-14s", step_word(step->kind));
        stv_prose_cell(text, end_words(chain, house, step, &step->from).text, 17);
        stv_prose_cell(text, end_words(chain, house, step, &step->to).text, 17);
        stv_prose_add(text, "%6s\n", stv_format_number(step_kg(chain, house, step), 0).text);
    }
    stv_words_warehouse_key(text, chain);
    stv_prose_add(text, "\n");
}

void stv_place_crew_text(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_place_house *house, bool with_steps)
{
    const struct stv_crew_list *crew = &house->crew;
    if (crew->n_steps == 0)
        return;
    stv_prose_heading(text, "The work");
    stv_prose_wrap(
        text, 0, "%s, %s kg in all, each cask some %s kg.",
        stv_format_count(crew->n_steps, "handling", "handlings").text,
        stv_format_number(stv_place_crew_kg(chain, house), 0).text,
        stv_format_number(stv_place_crew_kg(chain, house) / (double)crew->n_steps, 0).text);
    if (crew->n_aside)
        stv_prose_wrap(text, 0,
                       "%s to the floor on the way, out of the way of others, %zu at a time at "
                       "most: before the bay each came from, wedged, and the way out kept free.",
                       stv_format_count(crew->n_aside, "cask goes", "casks go").text,
                       crew->most_on_floor);
    stv_prose_wrap(text, 0,
                   "In this order lower rows come first, and what stands in front is met first.");
    if (crew->most_off <= EVEN_CASKS)
        stv_prose_wrap(text, 0,
                       "The two halves of a store are never more than %s apart from how they stood "
                       "at the start.",
                       stv_format_count(crew->most_off, "cask", "casks").text);
    else
        stv_prose_wrap(text, 0,
                       "The two halves of a store get up to %zu casks apart from how they stood at "
                       "the start, for free places and casks lie on different sides: ask whoever "
                       "knows the racks before you begin.",
                       crew->most_off);
    if (with_steps)
        add_steps(text, chain, house);
    else
        stv_prose_wrap(text, 0, "Step by step: --crew, also with --csv.");
    add_hours(text, chain, house);
}

/* What comes before any step, on a list that somebody carries into the store. */
static void add_air_row(struct stv_sheet *table)
{
    stv_csv_number(table, 0.0);
    stv_sheet_add_text(table, "");
    stv_sheet_add_text(table, "air");
    for (int i = 0; i < 2; i++) {
        stv_sheet_add_text(table, i == 0 ? "air the store, then go in"
                                         : "two people, gear, the rack's plate checked");
        for (int k = 0; k < 3; k++)
            stv_csv_place(table, -1);
    }
    stv_csv_number(table, NAN);
}

void stv_place_crew_csv(struct stv_sheet *table, const struct stv_chain *chain,
                        const struct stv_place_house *house)
{
    stv_csv_heads(table, "step,cask,do,from,from_tier,from_bay,from_depth,to,to_tier,to_bay,"
                         "to_depth,weight_kg");
    if (house->crew.n_steps > 0)
        add_air_row(table);
    for (size_t s = 0; s < house->crew.n_steps; s++) {
        const struct stv_crew_step *step = &house->crew.steps[s];
        const struct stv_place *ends[2] = {&step->from, &step->to};
        stv_csv_number(table, (double)s + 1.0);
        stv_sheet_add_text(table, step_id(chain, house, step));
        stv_sheet_add_text(table, step_key(step->kind));
        for (int i = 0; i < 2; i++) {
            bool is_place = ends[i]->warehouse_idx >= 0;
            stv_sheet_add_text(table, is_place ? stv_words_place_of(chain, ends[i]).text
                                               : end_words(chain, house, step, ends[i]).text);
            stv_csv_place(table, is_place ? ends[i]->tier_idx : -1);
            stv_csv_place(table, is_place ? ends[i]->bay_idx : -1);
            stv_csv_place(table, is_place ? ends[i]->depth_idx : -1);
        }
        stv_csv_number(table, step_kg(chain, house, step));
    }
}

json_t *stv_place_crew_json(const struct stv_chain *chain, const struct stv_place_house *house)
{
    const struct stv_crew_list *crew = &house->crew;
    struct cool_hours hours;
    json_t *object = json_object(), *steps = json_array();
    for (size_t s = 0; s < crew->n_steps; s++) {
        const struct stv_crew_step *step = &crew->steps[s];
        json_t *own = json_object();
        stv_json_set(own, "cask", stv_json_text(step_id(chain, house, step)));
        stv_json_set(own, "do", stv_json_text(step_key(step->kind)));
        stv_json_set(own, "from", stv_json_place_object(chain, &step->from));
        stv_json_set(own, "to", stv_json_place_object(chain, &step->to));
        stv_json_set(own, "weight_kg", stv_json_number(step_kg(chain, house, step)));
        stv_json_append(steps, own);
    }
    stv_json_set(object, "steps", steps);
    stv_json_set(object, "put_aside", json_integer((json_int_t)crew->n_aside));
    stv_json_set(object, "most_on_floor", json_integer((json_int_t)crew->most_on_floor));
    stv_json_set(object, "halves_most_apart", json_integer((json_int_t)crew->most_off));
    stv_json_set(object, "weight_kg", stv_json_number(stv_place_crew_kg(chain, house)));
    stv_json_set(object, "coolest_from_h",
                 find_cool_hours(chain, house, &hours) ? json_integer(hours.from_h) : json_null());
    return object;
}
