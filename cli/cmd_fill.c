/* `fill`: spirit and water for casks filled alike, and whether summer leaves them room. */
#include "cli/commands.h"

#include "cli/bench_limit.h"
#include "cli/bench_us.h"
#include "cli/format.h"
#include "cli/json.h"
#include "cli/prose.h"
#include "model/fill_run.h"
#include "model/units.h"

#include <math.h>

#define CASKS_MOST 100000
#define BAR_PA 1e5
#define LEAST_TOLD_BAR 0.05

struct fill_case {
    struct stv_fill_input input;
    struct stv_bench_limit limit;
    struct stv_fill fill;
    const struct stv_market *market;
    bool uses_us;
};

static const struct stv_bench_column columns[] = {
    {STV_OPT_CASKS, STV_DIM_NUMBER},         {STV_OPT_INTO, STV_DIM_VOLUME},
    {STV_OPT_AT_STRENGTH, STV_DIM_STRENGTH}, {STV_OPT_FROM, STV_DIM_STRENGTH},
    {STV_OPT_CAPACITY, STV_DIM_VOLUME},      {STV_OPT_FILLED_AT, STV_DIM_TEMPERATURE},
    {STV_OPT_HOTTEST, STV_DIM_TEMPERATURE},  {STV_OPT_ROOM, STV_DIM_FRACTION},
    {STV_OPT_INDRINK, STV_DIM_FRACTION},
};

static struct stv_formatted number(double value, int decimals)
{
    return stv_format_number(value, decimals);
}

static void read(struct stv_bench_reader *reader, struct fill_case *out)
{
    struct stv_fill_input *input = &out->input;
    out->uses_us = stv_bench_uses_us(reader);
    input->n_casks = 1;
    input->filled_at_c = 20.0;
    stv_bench_count(reader, STV_OPT_CASKS, CASKS_MOST, &input->n_casks);
    if (!stv_bench_need(reader, STV_OPT_INTO, "the litres into each cask, as \"194 L\"") ||
        !stv_bench_need(reader, STV_OPT_AT_STRENGTH,
                        "the strength wanted in the cask, as \"60 %vol\""))
        return;
    stv_bench_volume(reader, STV_OPT_INTO, &input->into_l);
    stv_bench_quantity(reader, STV_OPT_AT_STRENGTH, STV_DIM_STRENGTH, &input->abv20_frac);
    input->from_abv20_frac = input->abv20_frac;
    stv_bench_quantity(reader, STV_OPT_FROM, STV_DIM_STRENGTH, &input->from_abv20_frac);
    stv_bench_temp(reader, STV_OPT_FILLED_AT, &input->filled_at_c);
    input->indrink_frac = STV_INDRINK_FRAC;
    stv_bench_share(reader, STV_OPT_INDRINK, &input->indrink_frac);
    if (!(input->indrink_frac >= 0.0 && input->indrink_frac <= 0.5))
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_INDRINK, "--indrink is outside 0 to 50 %%.");
    stv_bench_read_limit(reader, input->filled_at_c, &out->limit);
    input->limit = out->limit.limit;
}

static void refuse(struct stv_bench_reader *reader, enum stv_status status,
                   const struct stv_fill_input *input)
{
    if (status == STV_E_CONSISTENCY)
        stv_bench_fault(
            reader, status, STV_OPT_FROM,
            "--from, %.4g %%vol, is weaker than the %.4g %%vol wanted: water cannot raise "
            "a strength.",
            100.0 * input->from_abv20_frac, 100.0 * input->abv20_frac);
    else if (input->into_l > input->limit.capacity_l)
        stv_bench_fault(reader, status, STV_OPT_INTO,
                        "--into, %.5g L, is more than the %.5g L that the cask holds.",
                        input->into_l, input->limit.capacity_l);
    else
        stv_bench_fault(reader, status, STV_OPT_INTO,
                        "Nothing can be filled so: litres and strength must be above 0, and "
                        "temperatures inside -20 to 50 C and above freezing.");
}

/* What over-filling does, in words that end a warning. */
static struct stv_formatted pressure_words(const struct fill_case *fill_case)
{
    double over_bar = (fill_case->fill.closed_pa - STV_STANDARD_PRESSURE_PA) / BAR_PA;
    if (isinf(over_bar))
        return stv_format("A tight cask lifts its bung or its heads.");
    if (over_bar < LEAST_TOLD_BAR)
        return stv_format("%s", "");
    return stv_format("In a tight cask about %s bar over.", number(over_bar, 1).text);
}

static void warn_room(const struct fill_case *fill_case, struct stv_bench_notes *notes)
{
    const struct stv_fill *fill = &fill_case->fill;
    const struct stv_cask_limit *limit = &fill_case->limit.limit;
    double room_l = limit->capacity_l - fill->volume_hot_l;
    const char *ease = "Ease the bung on a cool morning, face away.";
    if (room_l < 0.0)
        stv_bench_note(
            notes, true,
            "WILL NOT FIT: %s it would be %s L in a %s L cask. %s %s At most %s L at %s C.",
            stv_bench_where_judged(&fill_case->limit).text, number(fill->volume_hot_l, 1).text,
            number(limit->capacity_l, 0).text, pressure_words(fill_case).text, ease,
            number(fill->most_full_l, 1).text, number(fill_case->input.filled_at_c, 0).text);
    else if (!fill->fits)
        stv_bench_note(
            notes, true,
            "TOO FULL: %s it stands at %s L and leaves %s L, %s %% of the cask; %s %% is "
            "wanted. %s %s At most %s L at %s C.",
            stv_bench_where_judged(&fill_case->limit).text, number(fill->volume_hot_l, 1).text,
            number(room_l, 1).text, number(100.0 * room_l / limit->capacity_l, 1).text,
            number(100.0 * limit->room_frac, 1).text, pressure_words(fill_case).text, ease,
            number(fill->most_full_l, 1).text, number(fill_case->input.filled_at_c, 0).text);
}

static void warn_size(const struct stv_market *market, double capacity_l,
                      struct stv_bench_notes *notes)
{
    if (market && capacity_l > market->cask_most_l.value)
        stv_bench_note(notes, true,
                       "TOO LARGE A CASK: %s L is more than the %s that %s allows (%s, %s).",
                       number(capacity_l, 0).text, market->cask_most_l.text, market->name,
                       market->cask_most_l.source, market->cask_most_l.seen);
}

static const void *work(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                        struct stv_bench_notes *notes)
{
    static struct fill_case fill_case;
    fill_case = (struct fill_case){.market = shared->market};
    read(reader, &fill_case);
    if (reader->status != STV_OK)
        return NULL;
    enum stv_status status = stv_fill_work(&fill_case.input, &fill_case.fill);
    if (status != STV_OK) {
        refuse(reader, status, &fill_case.input);
        return NULL;
    }
    stv_bench_warn_entry(shared->market, fill_case.input.abv20_frac, notes);
    warn_size(shared->market, fill_case.limit.limit.capacity_l, notes);
    if (fill_case.limit.has_capacity)
        warn_room(&fill_case, notes);
    stv_bench_warn_hot(fmax(fill_case.limit.limit.hottest_c, fill_case.input.filled_at_c), notes);
    return &fill_case;
}

static double most_full(const struct fill_case *fill_case, double room_frac)
{
    return stv_most_full_l(&fill_case->limit.limit, fill_case->fill.mass_frac,
                           fill_case->input.filled_at_c, room_frac);
}

static void add_answer(struct stv_text *text, const void *sum_case)
{
    const struct fill_case *fill_case = sum_case;
    const struct stv_fill_input *input = &fill_case->input;
    const struct stv_fill *fill = &fill_case->fill;
    double capacity_l = fill_case->limit.limit.capacity_l;
    bool needs_water = input->from_abv20_frac > input->abv20_frac;
    if (fill_case->limit.has_capacity && !fill->fits)
        stv_prose_wrap(text, 0,
                       "TOO FULL: %s L is more than fits, at most %s L at %s C. What is asked:",
                       number(input->into_l, 1).text, number(fill->most_full_l, 1).text,
                       number(input->filled_at_c, 0).text);
    stv_prose_wrap(
        text, 0, "Take %s L of %s %%vol (%s kg) and %s: %s of %s L, measured at %s C, at %s %%vol.",
        number(fill->spirit20_l, 1).text, number(100.0 * input->from_abv20_frac, 1).text,
        number(fill->spirit_kg, 1).text,
        needs_water ? stv_format("%s kg of water", number(fill->water_kg, 1).text).text
                    : "no water",
        stv_format_count(input->n_casks, "cask", "casks").text, number(input->into_l, 1).text,
        number(input->filled_at_c, 0).text, number(100.0 * input->abv20_frac, 1).text);
    if (!fill_case->limit.has_capacity)
        stv_prose_wrap(text, 0,
                       "Whether it fits was not judged: say --capacity, and --hottest for a hot "
                       "store.");
    else if (fill->fits)
        stv_prose_wrap(text, 0, "It fits: %s it stands at %s L and leaves %s L of the %s L cask.",
                       stv_bench_where_judged(&fill_case->limit).text,
                       number(fill->volume_hot_l, 1).text,
                       number(capacity_l - fill->volume_hot_l, 1).text, number(capacity_l, 0).text);
}

static void add_room(struct stv_text *text, const struct fill_case *fill_case)
{
    stv_prose_wrap(
        text, 0,
        "How full, measured at %s C: at most %s, %s or %s L leave 2, 2.5 or 3 %% of the cask "
        "free %s, before the wood drinks.",
        number(fill_case->input.filled_at_c, 0).text,
        number(most_full(fill_case, STV_ROOM_LEAST_FRAC), 1).text,
        number(most_full(fill_case, STV_ROOM_USUAL_FRAC), 1).text,
        number(most_full(fill_case, STV_ROOM_MOST_FRAC), 1).text,
        stv_bench_where_judged(&fill_case->limit).text);
    stv_prose_wrap(
        text, 0,
        "New or dry wood drinks about %s %% within two days: then %s L at the hottest. Wood "
        "that was wet before drinks less, and this room was not counted on.",
        stv_format("%.3g", 100.0 * fill_case->input.indrink_frac).text,
        number(fill_case->fill.volume_hot_after_indrink_l, 1).text);
}

static void add_market(struct stv_text *text, const struct stv_market *market)
{
    const struct stv_rule *most = &market->entry_most_abv20_frac;
    if (!isnan(most->value))
        stv_prose_wrap(text, 0, "Into the cask %s (%s) allows at most %s (%s, %s).", market->name,
                       market->label, most->text, most->source, most->seen);
    else if (most->text[0])
        stv_prose_wrap(text, 0, "%s (%s) sets no limit on strength into the cask (%s, %s).",
                       market->name, market->label, most->source, most->seen);
    else
        stv_prose_wrap(
            text, 0,
            "Whether %s (%s) limits the strength into the cask is not known here: look it "
            "up.",
            market->name, market->label);
}

static void add_rest(struct stv_text *text, const void *sum_case)
{
    const struct fill_case *fill_case = sum_case;
    const struct stv_fill *fill = &fill_case->fill;
    if (fill_case->limit.has_capacity)
        add_room(text, fill_case);
    stv_prose_wrap(text, 0,
                   "Each cask: %s L at %s C weigh %s kg and are %s L at 20 C. In all %s L of pure "
                   "alcohol.",
                   number(fill_case->input.into_l, 1).text,
                   number(fill_case->input.filled_at_c, 0).text, number(fill->cask_kg, 1).text,
                   number(fill->into20_l, 1).text, number(fill->lpa_l, 1).text);
    stv_prose_wrap(
        text, 0,
        "Weigh spirit and water: litres do not add up. Mixing warms it by some degrees: let "
        "it cool before it is gauged. Note the water's source and treatment.");
    if (fill_case->uses_us)
        stv_prose_wrap(text, 0,
                       "In US measure, 60 F, weighed in air: spirit %s; water %s; each cask %s.",
                       stv_bench_us_spirit(fill->spirit_kg, fill_case->input.from_abv20_frac).text,
                       stv_bench_us_water(fill->water_kg).text,
                       stv_bench_us_spirit(fill->cask_kg, fill_case->input.abv20_frac).text);
    if (fill_case->market)
        add_market(text, fill_case->market);
}

static void add_json(json_t *document, const void *sum_case)
{
    const struct fill_case *fill_case = sum_case;
    const struct stv_fill *fill = &fill_case->fill;
    bool is_judged = fill_case->limit.has_capacity;
    stv_json_set(document, "spirit_kg", stv_json_number(fill->spirit_kg));
    stv_json_set(document, "spirit20_l", stv_json_number(fill->spirit20_l));
    stv_json_set(document, "water_kg", stv_json_number(fill->water_kg));
    stv_json_set(document, "lpa_l", stv_json_number(fill->lpa_l));
    stv_json_set(document, "cask_kg", stv_json_number(fill->cask_kg));
    stv_json_set(document, "cask20_l", stv_json_number(fill->into20_l));
    stv_json_set(document, "fits", is_judged ? json_boolean(fill->fits) : json_null());
    stv_json_set(document, "most_full_l", stv_json_number(fill->most_full_l));
    stv_json_set(document, "room_wanted_pct",
                 stv_json_number(100.0 * fill_case->limit.limit.room_frac));
    stv_json_set(document, "most_full_2pct_l",
                 stv_json_number(most_full(fill_case, STV_ROOM_LEAST_FRAC)));
    stv_json_set(document, "most_full_3pct_l",
                 stv_json_number(most_full(fill_case, STV_ROOM_MOST_FRAC)));
    stv_json_set(document, "volume_hot_l", stv_json_number(fill->volume_hot_l));
    stv_json_set(document, "indrink_pct", stv_json_number(100.0 * fill_case->input.indrink_frac));
    stv_json_set(document, "volume_hot_after_indrink_l",
                 stv_json_number(fill->volume_hot_after_indrink_l));
    const struct stv_market *market = fill_case->market;
    bool has_limit = market && !isnan(market->entry_most_abv20_frac.value);
    stv_json_set(document, "is_within_entry_limit",
                 has_limit ? json_boolean(stv_bench_may_enter(market, fill_case->input.abv20_frac))
                           : json_null());
    stv_json_set(document, "hottest_c", stv_json_number(fill_case->limit.limit.hottest_c));
    stv_json_set(document, "tight_cask_over_bar",
                 stv_json_number((fill->closed_pa - STV_STANDARD_PRESSURE_PA) / BAR_PA));
}

/* In the order of result_names. */
static void results(const void *sum_case, double *out)
{
    const struct fill_case *fill_case = sum_case;
    const struct stv_fill *fill = &fill_case->fill;
    out[0] = fill->spirit_kg;
    out[1] = fill->spirit20_l;
    out[2] = fill->water_kg;
    out[3] = fill->lpa_l;
    out[4] = fill_case->limit.has_capacity ? (double)fill->fits : (double)NAN;
    out[5] = fill->most_full_l;
    out[6] = fill->volume_hot_l;
    out[7] = fill->volume_hot_after_indrink_l;
}

static const char *const cautions[] = {"Filling is the moment at which spirit vapour is most "
                                       "easily lit: bond and earth pump, hose and "
                                       "vessel, fill from the bottom, no unrated lamp or switch "
                                       "near. Local codes and licensed practice "
                                       "decide.",
                                       "A full 200 L cask is about 230 kg: two people, gear. A "
                                       "cask filled too far builds pressure: ease "
                                       "the bung on a cool morning, face away.",
                                       NULL};

int stv_cmd_fill(const struct stv_options *options)
{
    static const struct stv_bench_sum sum = {
        .columns = columns,
        .n_columns = sizeof columns / sizeof columns[0],
        .work = work,
        .add_answer = add_answer,
        .add_rest = add_rest,
        .add_json = add_json,
        .result_names = "spirit_kg,spirit20_l,water_kg,lpa_l,fits,most_full_l,volume_hot_l,"
                        "volume_hot_after_indrink_l",
        .results = results,
        .basis =
            "Strengths and litres of spirit at 20 C; litres into the cask at --filled-at (20 C "
            "when it is not said). Density by OIML R 22. A planning estimate.",
        .cautions = cautions,
    };
    return stv_bench_run(options, &sum);
}
