/* A gauge told back: true strength and amounts first, then what the glass said, then each figure
 * with what it may be off by. */
#include "cli/gauge_case.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "model/units.h"

#include <math.h>

/* A reading misleads when it is off by more than this and by more than its error. */
#define MISLEADS_FRAC 0.002

static struct stv_formatted number(double value, int decimals)
{
    return stv_format_number(value, decimals);
}

/* Per cent that a user would take a reading for: half a US proof, at 60 F. */
static double taken_for_pct(const struct stv_gauge_case *gauge_case)
{
    return gauge_case->scale == STV_SCALE_US_PROOF ? 0.5 * gauge_case->shown
                                                   : 100.0 * gauge_case->gauge.shown_abv20_frac;
}

static void warn_misleading(const struct stv_gauge_case *gauge_case, struct stv_bench_notes *notes)
{
    const struct stv_gauged *gauge = &gauge_case->gauge;
    double true_frac = gauge->value[STV_GAUGE_ABV20_FRAC];
    /* What solids hide is no fault of the thermometer. */
    double hidden_frac = gauge_case->input.obscuration_abv20_frac;
    double off_frac = gauge->shown_abv20_frac - (true_frac - hidden_frac);
    if (gauge_case->input.reading.instrument != STV_HYDROMETER ||
        !(fabs(off_frac) > fmax(MISLEADS_FRAC, gauge->error[STV_GAUGE_ABV20_FRAC])))
        return;
    bool is_proof = gauge_case->scale == STV_SCALE_US_PROOF;
    double true_pct = 100.0 * ((is_proof ? gauge->abv60f_frac : true_frac) - hidden_frac);
    double taken_pct = taken_for_pct(gauge_case);
    stv_bench_note(notes, false,
                   "Uncorrected the reading would have shown %s %%vol%s: %s points too %s, for the "
                   "spirit was at %s C.",
                   number(taken_pct, 1).text, is_proof ? " at 60 F" : "",
                   number(fabs(taken_pct - true_pct), 1).text, off_frac > 0.0 ? "much" : "little",
                   number(gauge_case->input.temp_c, 1).text);
}

static void warn_market(const struct stv_gauge_case *gauge_case, const struct stv_market *market,
                        struct stv_bench_notes *notes)
{
    const struct stv_rule *least = &market->bottled_least_abv20_frac;
    double abv20_frac = gauge_case->gauge.value[STV_GAUGE_ABV20_FRAC];
    double error_frac = gauge_case->gauge.error[STV_GAUGE_ABV20_FRAC];
    if (isnan(least->value)) {
        stv_bench_note(notes, false, "No least strength is known for %s.", market->name);
        return;
    }
    if (abv20_frac >= least->value + error_frac)
        return;
    bool is_under = abv20_frac < least->value;
    stv_bench_note(
        notes, true,
        "%s: %s %%vol is %s the %s that %s asks in the bottle (%s, %s). Let a sample come "
        "to 20 C and read it again before anything is done.",
        is_under ? "UNDER THE MINIMUM" : "Too near the minimum to tell",
        number(100.0 * abv20_frac, 1).text, is_under ? "under" : "within its error of", least->text,
        market->name, least->source, least->seen);
}

/* Alcohol that left weighs at most what the cask lost; more means that water came in. */
static void warn_exchange(const struct stv_gauge_case *gauge_case, struct stv_bench_notes *notes)
{
    const struct stv_gauged *gauge = &gauge_case->gauge;
    double lost_lpa_l = gauge_case->earlier_lpa_l - gauge->value[STV_GAUGE_LPA_L];
    double lost_ethanol_kg = lost_lpa_l * STV_ETHANOL_RHO20_KG_M3 / 1000.0;
    if (lost_ethanol_kg > gauge_case->lost_kg + gauge->error[STV_GAUGE_LPA_L])
        stv_bench_note(
            notes, true,
            "It lost %s kg of alcohol but only %s kg of weight: air takes both. Was water "
            "added, or is a reading off?",
            number(lost_ethanol_kg, 1).text, number(gauge_case->lost_kg, 1).text);
}

static void warn_amount(const struct stv_gauge_case *gauge_case, struct stv_bench_notes *notes)
{
    double volume_l = gauge_case->gauge.volume_l;
    double held_l = gauge_case->capacity_l * (double)gauge_case->n_casks;
    if (volume_l > held_l)
        stv_bench_note(
            notes, true,
            "MORE THAN IT HOLDS: %s L as it stands, and the cask holds %s L. Look at the "
            "units of weights and tare.",
            number(volume_l, 1).text, number(held_l, 0).text);
    if (gauge_case->has_mixed_units)
        stv_bench_note(
            notes, true,
            "One weight is in pounds and the other in kilograms: %s kg gross, %s kg tare. Is "
            "that so?",
            number(gauge_case->gross_kg, 1).text, number(gauge_case->tare_kg, 1).text);
    if (!isnan(gauge_case->earlier_lpa_l))
        warn_exchange(gauge_case, notes);
}

void stv_gauge_warn(const struct stv_gauge_case *gauge_case, const struct stv_market *market,
                    struct stv_bench_notes *notes)
{
    const struct stv_gauged *gauge = &gauge_case->gauge;
    if (market)
        warn_market(gauge_case, market, notes);
    warn_misleading(gauge_case, notes);
    if (gauge->is_extrapolated)
        stv_bench_note(notes, false,
                       "%s C is above the 40 C at which the density tables end: the formula was "
                       "carried on, about 0.3 kg/m3 unsure. Read again cooler.",
                       number(gauge_case->input.temp_c, 1).text);
    if (gauge_case->has_dry_tare)
        stv_bench_note(
            notes, false,
            "The tare was dry: %s to %s L of these litres may sit in the wood and will not "
            "pour.",
            number(gauge_case->soak_l, 1).text, number(gauge_case->soak_most_l, 1).text);
    if (!isnan(gauge_case->kind_l))
        stv_bench_note(
            notes, false,
            "%s L was taken from the kind's name, which varies from maker to maker: measure "
            "the cask and say --capacity.",
            number(gauge_case->kind_l, 0).text);
    warn_amount(gauge_case, notes);
    if (!isnan(gauge_case->lost_kg) && gauge_case->lost_kg < 0.0)
        stv_bench_note(notes, true,
                       "It weighs %s kg more than before: was something added, or another cask "
                       "weighed?",
                       number(-gauge_case->lost_kg, 1).text);
}

/* What is gone since the earlier weighing, as far as it can be told. */
static void add_loss(struct stv_text *text, const struct stv_gauge_case *gauge_case)
{
    const struct stv_gauged *gauge = &gauge_case->gauge;
    if (isnan(gauge_case->lost_kg))
        return;
    stv_prose_wrap(text, 0, "It weighs %s kg %s than before.",
                   number(fabs(gauge_case->lost_kg), 1).text,
                   gauge_case->lost_kg < 0.0 ? "more" : "less");
    if (!isnan(gauge_case->earlier_lpa_l))
        stv_prose_wrap(text, 0, "Since then %s L and %s L of pure alcohol are gone, at 20 C.",
                       number(gauge_case->earlier20_l - gauge->value[STV_GAUGE_VOLUME20_L], 1).text,
                       number(gauge_case->earlier_lpa_l - gauge->value[STV_GAUGE_LPA_L], 1).text);
    else if (gauge_case->lost_kg > 0.0)
        stv_prose_wrap(
            text, 0,
            "That would be %s L if what left had today's strength; give --earlier-volume "
            "and --earlier-strength to know.",
            number(1000.0 * gauge_case->lost_kg / stv_spirit_rho20_kg_m3(gauge->mass_frac), 1)
                .text);
}

void stv_gauge_add_answer(struct stv_text *text, const void *sum_case)
{
    const struct stv_gauge_case *gauge_case = sum_case;
    const struct stv_gauged *gauge = &gauge_case->gauge;
    const double *value = gauge->value;
    stv_prose_wrap(text, 0, "%s US proof: %s %%vol at 60 F, %s %%vol at 20 C, give or take %s.",
                   number(value[STV_GAUGE_US_PROOF_ND], 1).text,
                   number(100.0 * gauge->abv60f_frac, 1).text,
                   number(100.0 * value[STV_GAUGE_ABV20_FRAC], 1).text,
                   number(100.0 * gauge->error[STV_GAUGE_ABV20_FRAC], 2).text);
    if (!isnan(value[STV_GAUGE_LPA_L]))
        stv_prose_wrap(
            text, 0, "%s L at 20 C, %s L of pure alcohol%s. %s wine gallons, %s proof gallons.",
            number(value[STV_GAUGE_VOLUME20_L], 1).text, number(value[STV_GAUGE_LPA_L], 1).text,
            gauge_case->n_casks > 1 ? stv_format(" in %zu casks", gauge_case->n_casks).text : "",
            number(value[STV_GAUGE_WINE_GAL], 1).text, number(value[STV_GAUGE_PROOF_GAL], 1).text);
    else if (isnan(gauge_case->lost_kg))
        stv_prose_wrap(text, 0, "No weight, volume or dip was given: strength alone.");
    add_loss(text, gauge_case);
}

static void add_row(struct stv_text *text, const char *name, struct stv_formatted value,
                    struct stv_formatted error, struct stv_formatted beside)
{
    stv_prose_add(text, "  %-18s %14s  +- %-9s %s\n", name, value.text, error.text, beside.text);
}

static void add_table(struct stv_text *text, const struct stv_gauge_case *gauge_case)
{
    const struct stv_gauged *gauge = &gauge_case->gauge;
    const double *value = gauge->value, *error = gauge->error;
    add_row(text, "true strength", stv_format("%s %%vol", number(100.0 * value[0], 2).text),
            number(100.0 * error[0], 2),
            stv_format("%s US proof, %s %%mass", number(value[STV_GAUGE_US_PROOF_ND], 2).text,
                       number(100.0 * gauge->mass_frac, 2).text));
    if (isnan(value[STV_GAUGE_MASS_KG]))
        return;
    double net_kg = value[STV_GAUGE_NET_IN_AIR_KG];
    add_row(text, "net, in air", stv_format("%s kg", number(net_kg, 2).text),
            number(error[STV_GAUGE_NET_IN_AIR_KG], 2),
            stv_format("%s lb", number(net_kg / STV_LB_KG, 1).text));
    add_row(text, "mass", stv_format("%s kg", number(value[STV_GAUGE_MASS_KG], 2).text),
            number(error[STV_GAUGE_MASS_KG], 2), stv_format("buoyancy of air undone"));
    add_row(text, "litres at 20 C", stv_format("%s L", number(value[STV_GAUGE_VOLUME20_L], 2).text),
            number(error[STV_GAUGE_VOLUME20_L], 2),
            stv_format("%s L as it stands at %s C", number(gauge->volume_l, 1).text,
                       number(gauge_case->input.temp_c, 1).text));
    add_row(text, "pure alcohol", stv_format("%s L", number(value[STV_GAUGE_LPA_L], 2).text),
            number(error[STV_GAUGE_LPA_L], 2), stv_format("at 20 C"));
    add_row(text, "wine gallons", number(value[STV_GAUGE_WINE_GAL], 2),
            number(error[STV_GAUGE_WINE_GAL], 2), stv_format("at 60 F"));
    add_row(text, "proof gallons", number(value[STV_GAUGE_PROOF_GAL], 2),
            number(error[STV_GAUGE_PROOF_GAL], 2), stv_format("at 60 F"));
}

static void add_errors(struct stv_text *text, const struct stv_gauge_case *gauge_case)
{
    const struct stv_gauged *gauge = &gauge_case->gauge;
    double from_reading = gauge->strength_error_of_reading_frac;
    double from_temp = gauge->strength_error_of_temp_frac;
    stv_text_add(text, "\n");
    stv_prose_wrap(
        text, 0,
        "The +- of the strength: %s from the reading, %s from the thermometer; they combine as "
        "independent and mean the same as the +- put in.%s",
        number(100.0 * from_reading, 2).text, number(100.0 * from_temp, 2).text,
        gauge_case->has_typed_errors
            ? ""
            : " Where none was typed: reading 0.1 %vol or 0.1 kg/m3, thermometer 0.25 C, "
              "each scale 0.1 kg, volume 0.5 %, dip 2 or 3 L. Write yours as \"84 F +- 1 "
              "F\".");
    if (!isnan(gauge_case->tare_kg) && !gauge_case->has_tare_state)
        stv_prose_wrap(
            text, 0,
            "How the tare was weighed was not said (--tare-was): if dry, %s to %s L may sit "
            "in the wood.",
            number(gauge_case->soak_l, 1).text, number(gauge_case->soak_most_l, 1).text);
    if (gauge_case->has_assumed_shape)
        stv_prose_wrap(
            text, 0,
            "The cask's shape was assumed: %s cm at the bung inside, heads 0.86 of that. Your "
            "own rod (--rod) or --bilge is better; a finger is taken as 1.9 cm.",
            number(100.0 * gauge_case->bilge_m, 1).text);
    if (!gauge_case->has_temp)
        stv_prose_wrap(text, 0, "The temperature was not said: 20 C was taken.");
    double hidden_frac = gauge_case->input.obscuration_abv20_frac;
    if (hidden_frac > 0.0)
        stv_prose_wrap(text, 0, "%s %%vol was added for dissolved solids, as you said.",
                       number(100.0 * hidden_frac, 2).text);
    else if (gauge_case->input.reading.instrument != STV_CORRECTED)
        stv_prose_wrap(
            text, 0,
            "Dissolved solids were not said and not guessed: 100 mg in 100 ml hide about "
            "0.2 %%vol of cask spirit (27 CFR 30.31).");
}

void stv_gauge_add_rest(struct stv_text *text, const void *sum_case)
{
    add_table(text, sum_case);
    add_errors(text, sum_case);
}
