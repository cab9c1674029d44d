/* `reduce`: water, or weaker spirit, that brings a strength down in steps. */
#include "cli/commands.h"

#include "cli/bench_age.h"
#include "cli/bench_limit.h"
#include "cli/bench_us.h"
#include "cli/format.h"
#include "cli/json.h"
#include "cli/prose.h"
#include "model/reduce.h"
#include "model/spirit.h"

#include <math.h>
#include <string.h>

/* Steps that lie further apart than this in all have lost something to the air. */
#define DRY_DAYS 60

#define AGED_PARTS 2 /* the spirit itself, and what reduces it */

struct reduce_case {
    struct stv_reduce_input input;
    struct stv_bench_limit limit;
    struct stv_reduce_step steps[STV_REDUCE_STEPS_MAX];
    struct stv_bench_part parts[AGED_PARTS];
    bool has_reducing_spirit, uses_us;
    int64_t first_day_d, last_day_d; /* INT64_MIN: not said */
    int age_years;                   /* by dates, on the last day; -1: not known */
    const struct stv_market *stands; /* does not count the reducing spirit's wood; NULL: none */
    double loss_frac, bottle_l;      /* bottle_l NaN: no bottles asked for */
    double bottles_nd;
};

static const struct stv_bench_column columns[] = {
    {STV_OPT_VOLUME, STV_DIM_VOLUME},   {STV_OPT_TEMP, STV_DIM_TEMPERATURE},
    {STV_OPT_FROM, STV_DIM_STRENGTH},   {STV_OPT_TO, STV_DIM_STRENGTH},
    {STV_OPT_STEPS, STV_DIM_NUMBER},    {STV_OPT_EQUAL, STV_DIM_N},
    {STV_OPT_WITH, STV_DIM_N},          {STV_OPT_FILLED, STV_DIM_N},
    {STV_OPT_FIRST, STV_DIM_N},         {STV_OPT_LAST, STV_DIM_N},
    {STV_OPT_CAPACITY, STV_DIM_VOLUME}, {STV_OPT_HOTTEST, STV_DIM_TEMPERATURE},
    {STV_OPT_ROOM, STV_DIM_FRACTION},   {STV_OPT_BOTTLE, STV_DIM_VOLUME},
    {STV_OPT_LOSS, STV_DIM_FRACTION},
};

static struct stv_formatted number(double value, int decimals)
{
    return stv_format_number(value, decimals);
}

static void read_with(struct stv_bench_reader *reader, struct reduce_case *out)
{
    const struct stv_bench_word *word = stv_bench_word(reader, STV_OPT_WITH, 0);
    char why[STV_BENCH_WHY_MAX / 2];
    if (!word || strcmp(word->text, "water") == 0)
        return;
    enum stv_status status =
        stv_bench_part_parse(word->text, false, &out->parts[1], why, sizeof why);
    if (status != STV_OK)
        stv_bench_fault(reader, status, STV_OPT_WITH, "--with \"%.60s\" %s.", word->text, why);
    out->has_reducing_spirit = out->parts[1].abv20_frac > 0.0;
    out->input.with_abv20_frac = out->parts[1].abv20_frac;
}

static void read_days(struct stv_bench_reader *reader, struct reduce_case *out)
{
    out->first_day_d = out->last_day_d = INT64_MIN;
    out->parts[0].filled_day_d = INT64_MIN;
    out->parts[0].age_y = NAN;
    stv_bench_date(reader, STV_OPT_FILLED, &out->parts[0].filled_day_d);
    stv_bench_date(reader, STV_OPT_FIRST, &out->first_day_d);
    stv_bench_date(reader, STV_OPT_LAST, &out->last_day_d);
    if (out->last_day_d == INT64_MIN && out->first_day_d != INT64_MIN && out->input.n_steps > 1)
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_FIRST,
                        "--last is missing: the day of the last of %zu steps.", out->input.n_steps);
    if (out->first_day_d == INT64_MIN)
        out->first_day_d = out->input.n_steps > 1 ? out->first_day_d : out->last_day_d;
    if (out->last_day_d == INT64_MIN)
        out->last_day_d = out->first_day_d;
    if (out->parts[0].filled_day_d != INT64_MIN && out->last_day_d == INT64_MIN)
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_FILLED,
                        "--filled tells an age only with the day of the last step: say --last.");
    if (out->parts[0].filled_day_d > out->last_day_d && out->last_day_d != INT64_MIN)
        stv_bench_fault(reader, STV_E_CONSISTENCY, STV_OPT_FILLED,
                        "--filled is after the last step.");
    if (out->last_day_d < out->first_day_d)
        stv_bench_fault(reader, STV_E_CONSISTENCY, STV_OPT_LAST, "--last is before --first.");
}

static void read(struct stv_bench_reader *reader, struct reduce_case *out)
{
    struct stv_reduce_input *input = &out->input;
    out->uses_us = stv_bench_uses_us(reader);
    input->n_steps = 1;
    input->temp_c = 20.0;
    if (!stv_bench_need(reader, STV_OPT_VOLUME, "the litres now, as \"185 L\"") ||
        !stv_bench_need(reader, STV_OPT_FROM, "the strength now, as \"62 %vol\"") ||
        !stv_bench_need(reader, STV_OPT_TO, "the strength wanted, as \"46 %vol\""))
        return;
    stv_bench_volume(reader, STV_OPT_VOLUME, &input->volume_l);
    stv_bench_temp(reader, STV_OPT_TEMP, &input->temp_c);
    stv_bench_quantity(reader, STV_OPT_FROM, STV_DIM_STRENGTH, &input->from_abv20_frac);
    stv_bench_quantity(reader, STV_OPT_TO, STV_DIM_STRENGTH, &input->to_abv20_frac);
    stv_bench_count(reader, STV_OPT_STEPS, STV_REDUCE_STEPS_MAX, &input->n_steps);
    input->has_equal_additions = stv_bench_choice(reader, STV_OPT_EQUAL, "water");
    read_with(reader, out);
    read_days(reader, out);
    stv_bench_read_limit(reader, input->temp_c, &out->limit);
    input->limit = out->limit.limit;
    stv_bench_read_bottles(reader, &out->loss_frac, &out->bottle_l);
}

static void refuse(struct stv_bench_reader *reader, enum stv_status status,
                   const struct stv_reduce_input *input)
{
    if (status != STV_E_CONSISTENCY)
        stv_bench_fault(
            reader, status, STV_OPT_VOLUME,
            "Nothing can be reduced so: litres must be above 0, and temperatures inside "
            "-20 to 50 C and above freezing.");
    else if (input->to_abv20_frac >= input->from_abv20_frac)
        stv_bench_fault(
            reader, status, STV_OPT_TO,
            "--to, %.4g %%vol, is not below --from, %.4g %%vol: adding to it cannot raise "
            "or keep a strength.",
            100.0 * input->to_abv20_frac, 100.0 * input->from_abv20_frac);
    else
        stv_bench_fault(reader, status, STV_OPT_TO,
                        "--to, %.4g %%vol, is not above what is added, %.4g %%vol: it cannot be "
                        "reached.",
                        100.0 * input->to_abv20_frac, 100.0 * input->with_abv20_frac);
}

/* Number of the first step that does not fit, from 1; 0: all fit. */
static size_t first_too_full(const struct reduce_case *reduce_case)
{
    for (size_t i = 0; i < reduce_case->input.n_steps; i++)
        if (!reduce_case->steps[i].fits)
            return i + 1;
    return 0;
}

/* What to do when the last step does not fit: the next size, whether it is tight, and splitting. */
static void add_advice(const struct reduce_case *reduce_case, struct stv_text *text)
{
    const struct stv_cask_limit *limit = &reduce_case->limit.limit;
    const struct stv_reduce_step *last = &reduce_case->steps[reduce_case->input.n_steps - 1];
    struct stv_room_help help = stv_room_help(limit, last->volume_hot_l);
    if (!isnan(help.tight_l))
        stv_prose_add(text, "A %s L cask would hold it, still too tight; ",
                      number(help.tight_l, 0).text);
    if (!isnan(help.roomy_l))
        stv_prose_add(text, "a %s L cask has the room; ", number(help.roomy_l, 0).text);
    stv_prose_add(text, "or split it over %zu of %s L, or start with at most %s L in this one.",
                  help.n_casks, number(limit->capacity_l, 0).text,
                  number(reduce_case->input.volume_l * help.share_frac, 1).text);
}

static void warn_room(const struct reduce_case *reduce_case, struct stv_bench_notes *notes)
{
    size_t step = first_too_full(reduce_case);
    if (!reduce_case->limit.has_capacity || step == 0)
        return;
    const struct stv_cask_limit *limit = &reduce_case->limit.limit;
    double volume_hot_l = reduce_case->steps[step - 1].volume_hot_l;
    struct stv_text advice = {0};
    add_advice(reduce_case, &advice);
    stv_bench_note(notes, true,
                   "%s from step %zu: %s L in a %s L cask, %s %% of it wanted free, judged %s. %s",
                   volume_hot_l > limit->capacity_l ? "WILL NOT FIT" : "TOO FULL", step,
                   number(volume_hot_l, 1).text, number(limit->capacity_l, 0).text,
                   number(100.0 * limit->room_frac, 1).text,
                   stv_bench_where_judged(&reduce_case->limit).text, stv_text_string(&advice));
    stv_text_free(&advice);
}

static void warn_ages(struct reduce_case *reduce_case, const struct stv_market *market,
                      struct stv_bench_notes *notes)
{
    size_t n_parts = reduce_case->has_reducing_spirit ? 2 : 1;
    int years = stv_bench_age_years(&reduce_case->parts[0], reduce_case->last_day_d);
    if (reduce_case->has_reducing_spirit) {
        int other = stv_bench_age_years(&reduce_case->parts[1], reduce_case->last_day_d);
        years = other < years ? other : years;
        stv_bench_note(
            notes, false,
            "The reducing spirit carries its own age, origin and wood: the cask is as old "
            "as its youngest spirit%s, and its label may no longer say \"single cask\".",
            years < 0 ? " (say --filled, the date in --with, and --first or --last to have "
                        "it counted)"
                      : "");
    }
    reduce_case->age_years = years;
    reduce_case->stands =
        n_parts == 2 && !stv_bench_counts(market, &reduce_case->parts[1]) ? market : NULL;
    stv_bench_warn_age(market, reduce_case->parts, n_parts, years, notes);
}

static void warn(struct reduce_case *reduce_case, const struct stv_market *market,
                 struct stv_bench_notes *notes)
{
    double to = reduce_case->input.to_abv20_frac;
    warn_room(reduce_case, notes);
    stv_bench_warn_least(market, to, notes);
    if (reduce_case->first_day_d != INT64_MIN &&
        reduce_case->last_day_d - reduce_case->first_day_d > DRY_DAYS)
        stv_bench_note(
            notes, false,
            "More than 60 days from first to last: what evaporates between the steps is "
            "left out here. A book counts it: put the water into its history.csv and run "
            "`stavecast forecast`, or let `stavecast water` plan the steps. Restart from the next "
            "real gauge.");
    warn_ages(reduce_case, market, notes);
    stv_bench_warn_haze(to, notes);
    stv_bench_warn_hot(reduce_case->limit.limit.hottest_c, notes);
}

static const void *work(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                        struct stv_bench_notes *notes)
{
    static struct reduce_case reduce_case;
    reduce_case = (struct reduce_case){.bottle_l = NAN};
    read(reader, &reduce_case);
    if (reader->status != STV_OK)
        return NULL;
    enum stv_status status = stv_reduce_work(&reduce_case.input, reduce_case.steps);
    if (status != STV_OK) {
        refuse(reader, status, &reduce_case.input);
        return NULL;
    }
    double end_l = reduce_case.steps[reduce_case.input.n_steps - 1].volume20_l;
    reduce_case.bottles_nd =
        isnan(reduce_case.bottle_l)
            ? (double)NAN
            : stv_bottles_of_volume_nd(end_l * (1.0 - reduce_case.loss_frac), reduce_case.bottle_l);
    warn(&reduce_case, shared->market, notes);
    return &reduce_case;
}

static double total_kg(const struct reduce_case *reduce_case)
{
    double kg = 0.0;
    for (size_t i = 0; i < reduce_case->input.n_steps; i++)
        kg += reduce_case->steps[i].added_kg;
    return kg;
}

/* Day of a step, spread evenly from first to last; INT64_MIN: no days were said. */
static int64_t day_of(const struct reduce_case *reduce_case, size_t i)
{
    size_t n = reduce_case->input.n_steps;
    if (reduce_case->first_day_d == INT64_MIN || n < 2)
        return reduce_case->first_day_d;
    int64_t span = reduce_case->last_day_d - reduce_case->first_day_d;
    return reduce_case->first_day_d + span * (int64_t)i / (int64_t)(n - 1);
}

static void add_steps(struct stv_text *text, const struct reduce_case *reduce_case)
{
    const char *added = reduce_case->has_reducing_spirit ? "spirit" : "water";
    bool has_days = reduce_case->first_day_d != INT64_MIN;
    stv_prose_add(text, "  %4s  %6s kg  %7s  %9s  %7s  %9s  %s\n", "step", added, "L", "makes L",
                  "%vol", reduce_case->limit.has_hottest ? "hottest L" : "",
                  has_days ? "   day" : "");
    for (size_t i = 0; i < reduce_case->input.n_steps; i++) {
        const struct stv_reduce_step *step = &reduce_case->steps[i];
        const char *judged = !reduce_case->limit.has_capacity ? ""
                             : step->fits                     ? "fits"
                                                              : "no room";
        stv_prose_add(text, "  %4zu  %9s  %7s  %9s  %7s  %9s  %s%s%s\n", i + 1,
                      number(step->added_kg, 2).text, number(step->added20_l, 2).text,
                      number(step->volume20_l, 1).text, number(100.0 * step->abv20_frac, 2).text,
                      reduce_case->limit.has_hottest ? number(step->volume_hot_l, 1).text : "",
                      judged, has_days ? "  " : "",
                      has_days ? stv_format_iso_day(day_of(reduce_case, i)).text : "");
    }
}

static void add_answer(struct stv_text *text, const void *sum_case)
{
    const struct reduce_case *reduce_case = sum_case;
    const struct stv_reduce_input *input = &reduce_case->input;
    const struct stv_reduce_step *last = &reduce_case->steps[input->n_steps - 1];
    struct stv_formatted what = reduce_case->has_reducing_spirit
                                    ? stv_format("reducing spirit of %s %%vol",
                                                 number(100.0 * input->with_abv20_frac, 1).text)
                                    : stv_format("water");
    if (reduce_case->limit.has_capacity && first_too_full(reduce_case) > 0)
        stv_prose_wrap(text, 0,
                       "NO ROOM: the cask has no room for it from step %zu. What is asked:",
                       first_too_full(reduce_case));
    stv_prose_wrap(text, 0, "Add %s kg of %s in %s: %s L at %s %%vol.",
                   number(total_kg(reduce_case), 2).text, what.text,
                   stv_format_count(input->n_steps, "step", "steps").text,
                   number(last->volume20_l, 1).text, number(100.0 * last->abv20_frac, 1).text);
    stv_bench_add_bottles(text, reduce_case->bottles_nd, reduce_case->bottle_l,
                          reduce_case->loss_frac);
    if (!reduce_case->limit.has_capacity)
        stv_prose_wrap(text, 0, "Whether the cask holds it was not judged: say --capacity.");
    else if (first_too_full(reduce_case) == 0)
        stv_prose_wrap(text, 0, "Every step fits the cask %s.",
                       stv_bench_where_judged(&reduce_case->limit).text);
    if (reduce_case->stands)
        stv_prose_wrap(text, 0,
                       "Legal age for %s: not known, perhaps none, for the reducing spirit (%s) "
                       "lay where its clock stands.",
                       reduce_case->stands->name, reduce_case->parts[1].wood);
    else if (reduce_case->age_years >= 0)
        stv_prose_wrap(text, 0, "Legal age on the last day: %s.",
                       stv_format_count((size_t)reduce_case->age_years, "year", "years").text);
}

/* The reducing spirit as it was understood. */
static void add_with(struct stv_text *text, const struct stv_bench_part *with)
{
    bool has_day = with->filled_day_d != INT64_MIN;
    stv_prose_wrap(
        text, 0, "Reducing spirit: %s %%vol, %s, wood %s.",
        number(100.0 * with->abv20_frac, 1).text,
        has_day ? stv_format("filled %s", stv_format_iso_day(with->filled_day_d).text).text
        : !isnan(with->age_y) ? stv_format("%s years old", number(with->age_y, 1).text).text
                              : "its age not said",
        with->wood[0] ? with->wood : "not said");
}

static void add_us(struct stv_text *text, const struct reduce_case *reduce_case)
{
    const struct stv_reduce_step *last = &reduce_case->steps[reduce_case->input.n_steps - 1];
    double with_frac = reduce_case->input.with_abv20_frac, end_kg;
    double added = total_kg(reduce_case), ethanol_kg, water_kg;
    if (stv_spirit_masses_kg(last->volume20_l, last->abv20_frac, &ethanol_kg, &water_kg) != STV_OK)
        return;
    end_kg = ethanol_kg + water_kg;
    stv_prose_wrap(text, 0, "In US measure, 60 F, weighed in air: add %s in all; it makes %s.",
                   reduce_case->has_reducing_spirit ? stv_bench_us_spirit(added, with_frac).text
                                                    : stv_bench_us_water(added).text,
                   stv_bench_us_spirit(end_kg, last->abv20_frac).text);
}

static void add_rest(struct stv_text *text, const void *sum_case)
{
    const struct reduce_case *reduce_case = sum_case;
    add_steps(text, reduce_case);
    stv_text_add(text, "\n");
    if (reduce_case->has_reducing_spirit)
        add_with(text, &reduce_case->parts[1]);
    if (reduce_case->uses_us)
        add_us(text, reduce_case);
    stv_prose_wrap(
        text, 0,
        "Weigh what is added: litres do not add up. Stir, let it rest and cool (mixing warms "
        "it), gauge before the next step. Note the water's source and treatment.");
}

static json_t *step_object(const struct reduce_case *reduce_case, size_t i)
{
    const struct stv_reduce_step *step = &reduce_case->steps[i];
    json_t *object = json_object();
    stv_json_set(object, "step", json_integer((json_int_t)i + 1));
    int64_t day_d = day_of(reduce_case, i);
    stv_json_set(object, "date", day_d == INT64_MIN ? json_null() : stv_json_day(day_d));
    stv_json_set(object, "water_kg", stv_json_number(step->water_kg));
    stv_json_set(object, "added_kg", stv_json_number(step->added_kg));
    stv_json_set(object, "added20_l", stv_json_number(step->added20_l));
    stv_json_set(object, "volume20_l", stv_json_number(step->volume20_l));
    stv_json_set(object, "abv20_pct", stv_json_number(100.0 * step->abv20_frac));
    stv_json_set(object, "volume_hot_l", stv_json_number(step->volume_hot_l));
    stv_json_set(object, "fits",
                 reduce_case->limit.has_capacity ? json_boolean(step->fits) : json_null());
    return object;
}

static void add_json(json_t *document, const void *sum_case)
{
    const struct reduce_case *reduce_case = sum_case;
    const struct stv_reduce_step *last = &reduce_case->steps[reduce_case->input.n_steps - 1];
    json_t *steps = json_array();
    double water_kg = 0.0;
    for (size_t i = 0; i < reduce_case->input.n_steps; i++) {
        stv_json_append(steps, step_object(reduce_case, i));
        water_kg += reduce_case->steps[i].water_kg;
    }
    stv_json_set(document, "steps", steps);
    stv_json_set(document, "added_abv20_pct",
                 stv_json_number(100.0 * reduce_case->input.with_abv20_frac));
    stv_json_set(
        document, "added_wood",
        stv_json_text(reduce_case->has_reducing_spirit ? reduce_case->parts[1].wood : NULL));
    stv_json_set(document, "water_kg", stv_json_number(water_kg));
    stv_json_set(document, "added_kg", stv_json_number(total_kg(reduce_case)));
    stv_json_set(document, "volume20_l", stv_json_number(last->volume20_l));
    stv_json_set(document, "abv20_pct", stv_json_number(100.0 * last->abv20_frac));
    stv_json_set(document, "hottest_c", stv_json_number(reduce_case->limit.limit.hottest_c));
    stv_json_set(document, "age_years",
                 reduce_case->age_years < 0 || reduce_case->stands
                     ? json_null()
                     : json_integer(reduce_case->age_years));
    stv_json_set(document, "bottles",
                 isnan(reduce_case->bottles_nd)
                     ? json_null()
                     : json_integer((json_int_t)reduce_case->bottles_nd));
}

/* In the order of result_names. */
static void results(const void *sum_case, double *out)
{
    const struct reduce_case *reduce_case = sum_case;
    const struct stv_reduce_step *last = &reduce_case->steps[reduce_case->input.n_steps - 1];
    bool is_judged = reduce_case->limit.has_capacity;
    size_t too_full = first_too_full(reduce_case);
    out[0] = total_kg(reduce_case);
    out[1] = reduce_case->steps[0].added_kg;
    out[2] = last->added_kg;
    out[3] = last->volume20_l;
    out[4] = 100.0 * last->abv20_frac;
    out[5] = is_judged ? (double)(too_full == 0) : (double)NAN;
    out[6] = is_judged && too_full ? (double)too_full : (double)NAN;
    out[7] = reduce_case->bottles_nd;
}

static const char *const cautions[] = {
    "Adding to a cask opens it to flammable vapour: no flame, unrated lamp or switch near, air the "
    "store first, bond and earth pump, hose and vessel. Local codes and licensed practice decide.",
    "Leave at least 2 to 3 % of the cask free at the hottest the spirit gets: a tight cask filled "
    "further builds pressure. Ease the bung on a cool morning, face away.",
    NULL};

int stv_cmd_reduce(const struct stv_options *options)
{
    static const struct stv_bench_sum sum = {
        .columns = columns,
        .n_columns = sizeof columns / sizeof columns[0],
        .work = work,
        .add_answer = add_answer,
        .add_rest = add_rest,
        .add_json = add_json,
        .result_names = "added_kg,first_step_kg,last_step_kg,volume20_l,abv20_pct,fits,"
                        "first_step_without_room,bottles",
        .results = results,
        .basis = "Strengths and litres at 20 C, the litres now at --temp when it is said, by mass. "
                 "Density by OIML R 22. A planning estimate: nothing evaporates here.",
        .cautions = cautions,
    };
    return stv_bench_run(options, &sum);
}
