/* `marry`: what several spirits make together, its legal age, water and bottles. */
#include "cli/commands.h"

#include "cli/bench_age.h"
#include "cli/bench_limit.h"
#include "cli/bench_us.h"
#include "cli/format.h"
#include "cli/json.h"
#include "cli/prose.h"
#include "model/marry.h"

#include <math.h>

#define PARTS_MOST 100

struct marry_case {
    struct stv_bench_part parts[PARTS_MOST];
    struct stv_marry_part sums[PARTS_MOST];
    size_t n_parts;
    struct stv_marry_input input;
    struct stv_marriage made;
    int64_t day_d; /* of bottling; INT64_MIN: not said */
    int age_years; /* of the youngest part by dates; -1: not known */
    bool counts;   /* every part lay in wood whose years the market counts */
    bool uses_us;
    bool has_old_water; /* a part was watered in its cask */
    const struct stv_market *market;
};

static const struct stv_bench_column columns[] = {
    {STV_OPT_PART, STV_DIM_N},        {STV_OPT_TO, STV_DIM_STRENGTH},
    {STV_OPT_BOTTLE, STV_DIM_VOLUME}, {STV_OPT_LOSS, STV_DIM_FRACTION},
    {STV_OPT_DATE, STV_DIM_N},
};

static struct stv_formatted number(double value, int decimals)
{
    return stv_format_number(value, decimals);
}

static void read_part(struct stv_bench_reader *reader, size_t i, struct marry_case *out)
{
    const struct stv_bench_word *word = stv_bench_word(reader, STV_OPT_PART, i);
    struct stv_bench_part *part = &out->parts[i];
    char why[STV_BENCH_WHY_MAX / 2];
    enum stv_status status = stv_bench_part_parse(word->text, true, part, why, sizeof why);
    if (status == STV_OK && part->filled_day_d != INT64_MIN && out->day_d != INT64_MIN &&
        part->filled_day_d > out->day_d) {
        status = STV_E_CONSISTENCY;
        stv_bench_fault(reader, status, STV_OPT_PART,
                        "--part \"%.80s\" was filled after --date, the day of bottling.",
                        word->text);
    }
    if (status != STV_OK)
        stv_bench_fault(reader, status, STV_OPT_PART, "--part \"%.80s\" %s.", word->text, why);
    if (reader->status != STV_OK)
        reader->column = word->column;
    double known_y = part->age_y;
    if (part->filled_day_d != INT64_MIN && out->day_d != INT64_MIN)
        known_y = (double)stv_bench_age_years(part, out->day_d);
    out->sums[i] =
        (struct stv_marry_part){part->volume20_l, part->mass_kg, part->abv20_frac, known_y};
    out->has_old_water = out->has_old_water || part->is_watered;
}

static void read(struct stv_bench_reader *reader, struct marry_case *out)
{
    out->day_d = INT64_MIN;
    out->uses_us = stv_bench_uses_us(reader);
    stv_bench_date(reader, STV_OPT_DATE, &out->day_d);
    if (!stv_bench_need(reader, STV_OPT_PART,
                        "one for each spirit, as --part \"172 L, 61.3 %vol, 2020-03-01\""))
        return;
    while (out->n_parts < PARTS_MOST && stv_bench_word(reader, STV_OPT_PART, out->n_parts))
        read_part(reader, out->n_parts++, out);
    if (stv_bench_word(reader, STV_OPT_PART, PARTS_MOST))
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_PART, "More than %d parts.", PARTS_MOST);
    out->input =
        (struct stv_marry_input){.parts = out->sums, .n_parts = out->n_parts, .to_abv20_frac = NAN};
    stv_bench_quantity(reader, STV_OPT_TO, STV_DIM_STRENGTH, &out->input.to_abv20_frac);
    stv_bench_read_bottles(reader, &out->input.loss_frac, &out->input.bottle_l);
}

static void refuse(struct stv_bench_reader *reader, enum stv_status status,
                   const struct marry_case *marry_case)
{
    if (status == STV_E_CONSISTENCY)
        stv_bench_fault(
            reader, status, STV_OPT_TO,
            "--to, %.4g %%vol, is above what these parts make together: water cannot raise "
            "a strength.",
            100.0 * marry_case->input.to_abv20_frac);
    else
        stv_bench_fault(
            reader, status, STV_OPT_PART,
            "These parts cannot be married: each needs litres or kilograms above 0, and "
            "--to must be above 0.");
}

static void warn_label(const struct marry_case *marry_case, struct stv_bench_notes *notes)
{
    bool has_new_water = marry_case->made.water_kg > 0.0;
    if (marry_case->n_parts > 1)
        stv_bench_note(notes, false,
                       "Label: it may not say \"single cask\" when the parts come from different "
                       "casks.");
    if (has_new_water || marry_case->has_old_water)
        stv_bench_note(notes, false,
                       "Label: it may not say \"as drawn\" or that no water was added%s.",
                       has_new_water ? "" : ", for a part was watered in its cask");
    if (marry_case->age_years < 0)
        stv_bench_note(
            notes, false,
            "The legal age is not known: every part needs its fill date or age, and a fill "
            "date needs --date, the day of bottling.");
}

static void warn_tolerance(const struct marry_case *marry_case, struct stv_bench_notes *notes)
{
    if (!marry_case->market)
        return;
    const struct stv_rule *tolerance = &marry_case->market->label_tolerance_abv20_frac;
    double label_pct = 100.0 * marry_case->made.bottling_abv20_frac;
    if (!isnan(tolerance->value))
        stv_bench_note(
            notes, false, "A label of %s %%vol must be met within %s to %s %%vol for %s (%s, %s).",
            number(label_pct, 1).text, number(label_pct - 100.0 * tolerance->value, 1).text,
            number(label_pct + 100.0 * tolerance->value, 1).text, marry_case->market->name,
            tolerance->source, tolerance->seen);
}

static const void *work(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                        struct stv_bench_notes *notes)
{
    static struct marry_case marry_case;
    marry_case = (struct marry_case){.market = shared->market, .age_years = -1};
    read(reader, &marry_case);
    if (reader->status != STV_OK)
        return NULL;
    enum stv_status status = stv_marry_work(&marry_case.input, &marry_case.made);
    if (status != STV_OK) {
        refuse(reader, status, &marry_case);
        return NULL;
    }
    marry_case.age_years = stv_bench_full_years(marry_case.made.age_y);
    marry_case.counts = true;
    for (size_t i = 0; i < marry_case.n_parts; i++)
        marry_case.counts &= stv_bench_counts(shared->market, &marry_case.parts[i]);
    stv_bench_warn_least(shared->market, marry_case.made.bottling_abv20_frac, notes);
    stv_bench_warn_age(shared->market, marry_case.parts, marry_case.n_parts, marry_case.age_years,
                       notes);
    warn_label(&marry_case, notes);
    warn_tolerance(&marry_case, notes);
    stv_bench_warn_haze(marry_case.made.bottling_abv20_frac, notes);
    return &marry_case;
}

static void add_bottling(struct stv_text *text, const struct marry_case *marry_case)
{
    const struct stv_marriage *made = &marry_case->made;
    if (made->water_kg > 0.0)
        stv_prose_wrap(text, 0, "To %s %%vol: add %s kg of water, %s L.",
                       number(100.0 * made->bottling_abv20_frac, 1).text,
                       number(made->water_kg, 1).text, number(made->bottling20_l, 1).text);
    stv_bench_add_bottles(text, made->bottles_nd, marry_case->input.bottle_l,
                          marry_case->input.loss_frac);
}

static void add_parts(struct stv_text *text, const struct marry_case *marry_case)
{
    stv_prose_add(text, "  %4s  %9s  %7s  %5s  %s\n", "part", "amount", "%vol", "years", "wood");
    for (size_t i = 0; i < marry_case->n_parts; i++) {
        const struct stv_bench_part *part = &marry_case->parts[i];
        bool has_volume = !isnan(part->volume20_l);
        int years = stv_bench_age_years(part, marry_case->day_d);
        stv_prose_add(text, "  %4zu  %6s %-2s  %7s  %5s  %s%s\n", i + 1,
                      number(has_volume ? part->volume20_l : part->mass_kg, 1).text,
                      has_volume ? "L" : "kg", number(100.0 * part->abv20_frac, 1).text,
                      years < 0 ? "-" : stv_format("%d", years).text,
                      part->wood[0] ? part->wood : "-", part->is_watered ? ", watered" : "");
    }
}

/* Which parts the market's clock does not count, in the place of a legal age. */
static void add_standing(struct stv_text *text, const struct marry_case *marry_case)
{
    struct stv_text parts = {0};
    for (size_t i = 0; i < marry_case->n_parts; i++)
        if (!stv_bench_counts(marry_case->market, &marry_case->parts[i]))
            stv_prose_add(&parts, "%spart %zu (%s)", parts.n ? ", " : "", i + 1,
                          marry_case->parts[i].wood);
    stv_prose_wrap(
        text, 0,
        "Legal age for %s: not known, perhaps none, for %s lay where its clock "
        "stands.%s",
        marry_case->market->name, stv_text_string(&parts),
        marry_case->age_years < 0
            ? ""
            : stv_format(" By dates the youngest has %s.",
                         stv_format_count((size_t)marry_case->age_years, "year", "years").text)
                  .text);
    text->has_failed = text->has_failed || parts.has_failed;
    stv_text_free(&parts);
}

/* Years that are legal age; -1: not known. */
static int legal_years(const struct marry_case *marry_case)
{
    return marry_case->counts ? marry_case->age_years : -1;
}

static void add_answer(struct stv_text *text, const void *sum_case)
{
    const struct marry_case *marry_case = sum_case;
    const struct stv_marriage *made = &marry_case->made;
    stv_prose_wrap(text, 0, "Together %s L at %s %%vol: %s L of pure alcohol, %s kg.",
                   number(made->volume20_l, 2).text, number(100.0 * made->abv20_frac, 2).text,
                   number(made->lpa_l, 2).text, number(made->mass_kg, 1).text);
    if (!marry_case->counts)
        add_standing(text, marry_case);
    else if (marry_case->age_years >= 0)
        stv_prose_wrap(text, 0, "Legal age %s: that of the youngest part%s.",
                       stv_format_count((size_t)marry_case->age_years, "year", "years").text,
                       marry_case->market ? ""
                                          : ". Some markets count only time in some wood: name one "
                                            "with --market");
    add_bottling(text, marry_case);
}

static void add_rest(struct stv_text *text, const void *sum_case)
{
    const struct marry_case *marry_case = sum_case;
    add_parts(text, marry_case);
    stv_text_add(text, "\n");
    if (marry_case->n_parts > 1)
        stv_prose_wrap(text, 0, "Litres do not add up: the parts sum to %s L.",
                       number(marry_case->made.sum_of_volumes20_l, 2).text);
    if (marry_case->uses_us)
        stv_prose_wrap(
            text, 0, "In US measure, 60 F, weighed in air: %s before water, which is %s.",
            stv_bench_us_spirit(marry_case->made.mass_kg, marry_case->made.abv20_frac).text,
            stv_bench_us_water(marry_case->made.water_kg).text);
    stv_prose_wrap(
        text, 0,
        "Let it rest and gauge it before the last water is added; note the water's source "
        "and treatment.");
}

static void add_json(json_t *document, const void *sum_case)
{
    const struct marry_case *marry_case = sum_case;
    const struct stv_marriage *made = &marry_case->made;
    stv_json_set(document, "volume20_l", stv_json_number(made->volume20_l));
    stv_json_set(document, "abv20_pct", stv_json_number(100.0 * made->abv20_frac));
    stv_json_set(document, "lpa_l", stv_json_number(made->lpa_l));
    stv_json_set(document, "mass_kg", stv_json_number(made->mass_kg));
    stv_json_set(document, "parts", json_integer((json_int_t)marry_case->n_parts));
    stv_json_set(document, "sum_of_parts20_l", stv_json_number(made->sum_of_volumes20_l));
    stv_json_set(document, "age_years",
                 legal_years(marry_case) < 0 ? json_null() : json_integer(legal_years(marry_case)));
    stv_json_set(document, "water_kg", stv_json_number(made->water_kg));
    stv_json_set(document, "bottling20_l", stv_json_number(made->bottling20_l));
    stv_json_set(document, "bottling_abv20_pct",
                 stv_json_number(100.0 * made->bottling_abv20_frac));
    stv_json_set(document, "bottles",
                 isnan(made->bottles_nd) ? json_null()
                                         : json_integer((json_int_t)made->bottles_nd));
    stv_json_set(document, "may_say_single_cask", json_boolean(marry_case->n_parts == 1));
    stv_json_set(document, "may_say_as_drawn",
                 json_boolean(!(made->water_kg > 0.0) && !marry_case->has_old_water));
}

/* In the order of result_names. */
static void results(const void *sum_case, double *out)
{
    const struct marry_case *marry_case = sum_case;
    const struct stv_marriage *made = &marry_case->made;
    out[0] = made->volume20_l;
    out[1] = 100.0 * made->abv20_frac;
    out[2] = made->lpa_l;
    out[3] = legal_years(marry_case) < 0 ? (double)NAN : (double)legal_years(marry_case);
    out[4] = made->water_kg;
    out[5] = made->bottling20_l;
    out[6] = 100.0 * made->bottling_abv20_frac;
    out[7] = made->bottles_nd;
}

static const char *const cautions[] = {
    "Emptying and marrying release flammable vapour: bond and earth pump, hose and vat, fill from "
    "the bottom, no unrated lamp or switch near; nobody enters a vat without tested air and a "
    "watchman. Local codes and licensed practice decide.",
    "Emptied casks hold flammable vapour and must not dry out for long.", NULL};

int stv_cmd_marry(const struct stv_options *options)
{
    static const struct stv_bench_sum sum = {
        .columns = columns,
        .n_columns = sizeof columns / sizeof columns[0],
        .work = work,
        .add_answer = add_answer,
        .add_rest = add_rest,
        .add_json = add_json,
        .result_names = "volume20_l,abv20_pct,lpa_l,age_years,water_kg,bottling20_l,"
                        "bottling_abv20_pct,bottles",
        .results = results,
        .basis = "Litres and %vol at 20 C, by mass. Density by OIML R 22. A planning estimate.",
        .cautions = cautions,
    };
    return stv_bench_run(options, &sum);
}
