/* `water:`, how the house brings its casks down: to what strength, by when, in which months, and
 * with what. */
#include "ingest/book_parts.h"
#include "model/cask_room.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define STEPS_MOST 120

/* A share of the strength that keeps two of them apart. */
#define APART_FRAC 1e-9

static void read_with(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_reduction_rules *rules)
{
    static const char *const keys[] = {"strength", "filled"};
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.01, 0.9};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    bool has_strength =
        stv_yaml_quantity(context, map, "strength", strength, &rules->with_abv20_frac);
    bool has_filled = stv_yaml_date(context, map, "filled", &rules->with_filled_day_d);
    if (!has_strength && !stv_yaml_find(map, "strength"))
        stv_yaml_refuse(context, map, "needs the reducing spirit's strength, like 20 %%vol");
    if (!has_filled && !stv_yaml_find(map, "filled"))
        stv_yaml_refuse(context, map,
                        "needs filled, the day its youngest part first met wood: the cask will be "
                        "no older than that");
}

/* What cannot be true together. */
static void check(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                  struct stv_water_house *water)
{
    const struct stv_reduction_rules *rules = &water->rules;
    const struct stv_yaml_node *least = stv_yaml_find(map, "least_strength");
    if (rules->least_abv20_frac > rules->to_abv20_frac + APART_FRAC)
        stv_yaml_refuse(context, least ? least : stv_yaml_find(map, "to"),
                        least ? "is above the strength to bring casks to (%.4g %%vol)"
                              : "is under the least strength of targets (%.4g %%vol): say "
                                "least_strength here too, or a higher one",
                        100.0 * (least ? rules->to_abv20_frac : rules->least_abv20_frac));
    if (rules->with_abv20_frac >= rules->least_abv20_frac)
        stv_yaml_refuse(context, stv_yaml_find(map, "with"),
                        "must be weaker than the least strength (%.4g %%vol)",
                        100.0 * rules->least_abv20_frac);
    if (rules->most_step_frac < rules->least_step_frac)
        stv_yaml_refuse(context, map,
                        "most_per_step is less than least_per_step (%.4g and %.4g "
                        "points)",
                        100.0 * rules->most_step_frac, 100.0 * rules->least_step_frac);
    if (stv_yaml_find(map, "by") && stv_yaml_find(map, "age"))
        stv_yaml_refuse(context, stv_yaml_find(map, "age"),
                        "says the last day twice: keep by, or age");
}

static void read_amounts(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_reduction_rules *rules)
{
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.05, 0.9};
    struct stv_yaml_want points = {STV_DIM_STRENGTH, NULL, 0.001, 0.5};
    struct stv_yaml_want tank = {STV_DIM_STRENGTH, NULL, 0.0, 0.1};
    struct stv_yaml_want room = {STV_DIM_FRACTION, NULL, 0.0, 0.5};
    struct stv_yaml_want step = {STV_DIM_MASS, NULL, 0.0, 20.0};
    const size_t steps[2] = {1, STEPS_MOST};
    stv_yaml_quantity(context, map, "to", strength, &rules->to_abv20_frac);
    stv_yaml_quantity(context, map, "least_strength", strength, &rules->least_abv20_frac);
    stv_yaml_quantity(context, map, "most_per_step", points, &rules->most_step_frac);
    stv_yaml_quantity(context, map, "least_per_step", points, &rules->least_step_frac);
    stv_yaml_quantity(context, map, "least_weight_per_step", step, &rules->least_step_kg);
    stv_yaml_quantity(context, map, "leave_for_tank", tank, &rules->for_tank_frac);
    stv_yaml_quantity(context, map, "room", room, &rules->room_frac);
    stv_yaml_count(context, map, "steps", steps, &rules->most_steps);
}

void stv__water_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          struct stv_book *book)
{
    static const char *const keys[] = {"to",
                                       "by",
                                       "age",
                                       "least_strength",
                                       "most_per_step",
                                       "least_per_step",
                                       "least_weight_per_step",
                                       "months",
                                       "over",
                                       "leave_for_tank",
                                       "room",
                                       "steps",
                                       "with"};
    struct stv_yaml_want age = {STV_DIM_TIME, NULL, 30.0, 100.0 * STV_YEAR_D};
    size_t n_before = stv__n_refused(context->problems);
    struct stv_water_house *water = &book->water;
    struct stv_reduction_rules *rules = &water->rules;
    struct stv_months months = {0};
    double age_d = NAN, over_d = NAN;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    rules->least_abv20_frac = book->rules.least_abv20_frac;
    water->age_y = book->rules.planned_age_y;
    read_amounts(context, map, rules);
    stv_yaml_date(context, map, "by", &water->by_day_d);
    if (stv_yaml_quantity(context, map, "age", age, &age_d))
        water->age_y = age_d / STV_YEAR_D;
    if (stv_yaml_quantity(context, map, "over", age, &over_d))
        rules->over_d = (int64_t)llround(over_d);
    stv__months_from_yaml(context, map, "months", &months);
    for (size_t m = 0; m < STV_MONTHS; m++)
        rules->month_holds[m] = months.holds[m];
    const struct stv_yaml_node *with = stv_yaml_map(context, map, "with");
    if (with)
        read_with(context, with, rules);
    if (!stv_yaml_find(map, "to"))
        stv_yaml_refuse(context, map, "needs to, the strength to bring casks to, like 52 %%vol");
    if (!stv_yaml_find(map, "months"))
        stv_yaml_refuse(context, map,
                        "needs months, those in which water may be added, like [Oct, Nov]");
    if (stv__n_refused(context->problems) == n_before)
        check(context, map, water);
    water->is_said = stv__n_refused(context->problems) == n_before;
}

struct stv_water_house stv__water_unsaid(void)
{
    return (struct stv_water_house){
        .rules = {.most_step_frac = STV_REDUCTION_MOST_STEP_FRAC,
                  .least_step_frac = STV_REDUCTION_LEAST_STEP_FRAC,
                  .least_step_kg = STV_REDUCTION_LEAST_STEP_KG,
                  .for_tank_frac = STV_REDUCTION_FOR_TANK_FRAC,
                  .over_d = INT64_MAX,
                  .room_frac = STV_ROOM_USUAL_FRAC,
                  .with_filled_day_d = INT64_MIN},
        .by_day_d = INT64_MIN,
        .age_y = NAN,
    };
}
