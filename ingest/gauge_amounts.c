/* How much is in the cask and how strong, from whatever was at hand: litres, a dip, two scales, a
 * hydrometer.  All of it goes through model/gauge.h, which carries the errors.  What this does not
 * do: turn a gross weight into litres where the wood may have drunk since its tare was taken. */
#include "ingest/gauge_parts.h"

#include "model/dip.h"
#include "model/gauge.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Limits that only catch slips of the pen. */
#define LEAST_L 0.1
#define MOST_L 1000.0
#define LEAST_KG 0.1
#define LEAST_CASK_KG 1.0
#define MOST_CASK_KG 500.0
#define MOST_KG 2000.0
#define MOST_DIP_M 1.5
#define LEAST_KG_M3 750.0
#define MOST_KG_M3 1020.0
/* Where the spirit's tables lie: model/spirit.h. */
#define LEAST_C (-20.0)
#define MOST_C 50.0

#define REFERENCE_C 20.0
#define WATER_KG_L 0.9982 /* at 20 C; OIML R 22 */
#define DRY_DIP_MAX 64
#define BILGE_SDS 2.0
#define TYPED_DECIMALS_MOST 6

/* The cells of a row as numbers; values are NaN where nothing is said or it was refused. */
struct amounts {
    struct stv_strength_reading reading;
    bool has_strength;
    struct stv_measured temp, volume, net;
    enum stv__gauge_column net_column;
};

static const struct stv_measured unsaid = {NAN, NAN, 1};

static double sd_of(struct stv_measured value, double usual)
{
    return isnan(value.error) ? usual * sqrt((double)value.n) : value.error;
}

enum stv__gauge_column stv__gauge_litres_column(const struct stv_gauge *gauge)
{
    switch (gauge->volume_from) {
    case STV_VOLUME_DIP:
        return STV__GAUGE_DIP;
    case STV_VOLUME_DRY_DIP:
        return STV__GAUGE_DRY_DIP;
    case STV_VOLUME_WEIGHT:
        return isfinite(gauge->gross_kg) ? STV__GAUGE_GROSS : STV__GAUGE_NET;
    case STV_VOLUME_NONE:
    case STV_VOLUME_LITRES:
        break;
    }
    return STV__GAUGE_LITRES;
}

enum stv__gauge_column stv__gauge_strength_column(const struct stv_gauge *gauge)
{
    return gauge->is_reading ? STV__GAUGE_READING : STV__GAUGE_STRENGTH;
}

/* A strength by volume with its error, by mass. */
static bool set_mass_frac(double abv20_frac, double sd_frac, struct stv_strength_reading *out)
{
    double high, low;
    if (stv_mass_frac_from_abv20(abv20_frac, &out->mass_frac) != STV_OK ||
        stv_mass_frac_from_abv20(fmin(1.0, abv20_frac + sd_frac), &high) != STV_OK ||
        stv_mass_frac_from_abv20(fmax(0.0, abv20_frac - sd_frac), &low) != STV_OK)
        return false;
    out->error_mass_frac = 0.5 * (high - low);
    return true;
}

/* A scale of proof, US or UK, is right at 60 F; one of per cent at 20 C. */
static double reference_c(const struct stv_table *table)
{
    const char *text = stv_csv_text(&table->csv, table->row, table->index[STV__GAUGE_READING]);
    const char *unit = stv_table_unit(table, STV__GAUGE_READING);
    if (!strchr(text, '%') && !strpbrk(text, "pP") && unit)
        text = unit;
    return strpbrk(text, "pP") ? STV_60F_C : REFERENCE_C;
}

/* The cell's figure as written: a plain number in front, of which digits may have changed places.
 */
static struct stv_typed_figure typed_of(const struct stv_table *table, size_t column)
{
    const char *text = stv_csv_text(&table->csv, table->row, table->index[column]);
    struct stv_typed_figure typed = {0.0, 0};
    double place = 0.0;
    for (; isdigit((unsigned char)*text) || *text == '.' || *text == ','; text++) {
        if (!isdigit((unsigned char)*text)) {
            if (place > 0.0)
                return (struct stv_typed_figure){0.0, 0};
            place = 1.0;
            continue;
        }
        typed.value_nd = 10.0 * typed.value_nd + (*text - '0');
        place *= 10.0;
        typed.n_decimals += place > 0.0;
    }
    const char *plus = strchr(text, '+');
    if (typed.n_decimals > TYPED_DECIMALS_MOST || (plus && plus[1] != '-'))
        return (struct stv_typed_figure){0.0, 0};
    typed.value_nd /= place > 0.0 ? place : 1.0;
    return typed;
}

static bool read_instrument(const struct stv__gauge_sheet *sheet, double temp_c,
                            struct stv_gauge *gauge, struct amounts *out)
{
    struct stv_table *table = sheet->table;
    struct stv_measured value;
    struct stv_strength_reading *reading = &out->reading;
    if (stv_table_measured_as(table, STV__GAUGE_READING, STV_DIM_DENSITY, &value)) {
        reading->instrument = STV_DENSITY_METER;
        reading->rho_kg_m3 = value.value;
        reading->rho_error_kg_m3 = sd_of(value, sheet->numbers->density_sd_kg_m3);
        reading->reference_c = temp_c;
        bool is_good = value.value >= LEAST_KG_M3 && value.value <= MOST_KG_M3;
        if (!is_good)
            stv_table_refuse(table, STV__GAUGE_READING,
                             "is no density of spirit: it lies in %g to "
                             "%g kg/m3",
                             LEAST_KG_M3, MOST_KG_M3);
        return is_good;
    }
    if (!stv_table_measured(table, STV__GAUGE_READING, 0.0, 1.0, &value))
        return false;
    gauge->strength_typed = typed_of(table, STV__GAUGE_READING);
    reading->instrument = STV_HYDROMETER;
    reading->reference_c = reference_c(table);
    return set_mass_frac(value.value, sd_of(value, sheet->numbers->reading_sd_frac), reading);
}

static void read_strength(const struct stv__gauge_sheet *sheet, struct stv_gauge *gauge,
                          struct amounts *out)
{
    struct stv_table *table = sheet->table;
    struct stv_measured value;
    bool has_reading = stv_table_has(table, STV__GAUGE_READING);
    if (has_reading && stv_table_has(table, STV__GAUGE_STRENGTH)) {
        stv_table_refuse(table, STV__GAUGE_READING,
                         "stands beside a strength: keep what the instrument showed, with temp, or "
                         "the true strength");
        return;
    }
    if (has_reading) {
        gauge->is_reading = true;
        if (!stv_table_has(table, STV__GAUGE_TEMP))
            stv_table_need(table, STV__GAUGE_TEMP,
                           "the spirit's temperature at the reading; what an instrument has "
                           "corrected already belongs under strength");
        else if (isfinite(out->temp.value))
            out->has_strength = read_instrument(sheet, out->temp.value, gauge, out);
        return;
    }
    if (!stv_table_measured(table, STV__GAUGE_STRENGTH, 0.0, 1.0, &value))
        return;
    gauge->strength_typed = typed_of(table, STV__GAUGE_STRENGTH);
    out->reading.instrument = STV_CORRECTED;
    out->has_strength =
        set_mass_frac(value.value, sd_of(value, sheet->numbers->strength_sd_frac), &out->reading);
}

/* "three fingers below the bung" as "3 fingers". */
static void in_figures(const char *text, char out[DRY_DIP_MAX])
{
    static const char *const numbers[] = {"one", "two", "three", "four", "five", "six"};
    static const char *const ends[] = {" below the bung", " under the bung", " below bung"};
    snprintf(out, DRY_DIP_MAX, "%s", text);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        size_t n = strlen(numbers[i]);
        if (strncasecmp(text, numbers[i], n) == 0 && text[n] == ' ')
            snprintf(out, DRY_DIP_MAX, "%zu%s", i + 1, text + n);
    }
    size_t n_out = strlen(out);
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        size_t n = strlen(ends[i]);
        if (n_out > n && strcasecmp(out + n_out - n, ends[i]) == 0)
            out[n_out - n] = '\0';
    }
}

static bool read_dry_dip(struct stv_table *table, struct stv_measured *out)
{
    char text[DRY_DIP_MAX], figures[DRY_DIP_MAX], why[320];
    if (!stv_table_text(table, STV__GAUGE_DRY_DIP, text, sizeof text))
        return false;
    in_figures(text, figures);
    if (strcmp(text, figures) == 0)
        return stv_table_measured(table, STV__GAUGE_DRY_DIP, 0.0, MOST_DIP_M, out);
    if (stv_table_reading(table, STV__GAUGE_DRY_DIP, figures, out, why, sizeof why) == STV_OK)
        return true;
    stv_table_refuse(table, STV__GAUGE_DRY_DIP, "%s", why);
    return false;
}

/* How a cask is dipped. */
struct dipping {
    double capacity_l, bilge_sd_frac;
    bool is_dry;
};

/* Litres of a dip in a cask whose bilge is off the usual by a share; NaN where there is no liquid.
 * A dip deeper than the usual bilge fills the cask as long as one may be so wide. */
static double dipped_l(const struct dipping *dipping, double bilge_frac, double dip_m)
{
    struct stv_cask_shape shape;
    double volume_l;
    if (stv_cask_shape(dipping->capacity_l, NAN, &shape) != STV_OK)
        return NAN;
    double widest_m = shape.bilge_m * (1.0 + BILGE_SDS * dipping->bilge_sd_frac);
    shape.bilge_m *= 1.0 + bilge_frac;
    double wet_m = dipping->is_dry ? fmax(shape.bilge_m - dip_m, 0.0) : dip_m;
    if (wet_m > widest_m ||
        stv_dip_volume_l(&shape, fmin(wet_m, shape.bilge_m), &volume_l) != STV_OK)
        return NAN;
    return volume_l;
}

/* Litres of a cask lying bung up; its error is that of the dip and of the cask's shape. */
static void read_dip(const struct stv__gauge_sheet *sheet, const struct stv_cask *cask, bool is_dry,
                     struct stv_measured *out)
{
    struct stv_table *table = sheet->table;
    struct stv_measured dip;
    enum stv__gauge_column column = is_dry ? STV__GAUGE_DRY_DIP : STV__GAUGE_DIP;
    bool is_read = is_dry ? read_dry_dip(table, &dip)
                          : stv_table_measured(table, column, 0.0, MOST_DIP_M, &dip);
    if (!is_read || !cask)
        return;
    double capacity_l = cask->geometry.capacity_l, off = sheet->numbers->bilge_sd_frac;
    struct dipping dipping = {capacity_l, off, is_dry};
    double volume_l = dipped_l(&dipping, 0.0, dip.value);
    struct stv_cask_shape shape = {NAN, NAN, NAN};
    if (!(volume_l >= LEAST_L)) {
        bool is_shape = stv_cask_shape(capacity_l, NAN, &shape) == STV_OK;
        stv_table_refuse(
            table, column,
            "cannot be: a cask of %g L is about %.0f cm across inside at the bung, and "
            "some of that is liquid",
            capacity_l, is_shape ? 100.0 * shape.bilge_m : (double)NAN);
        return;
    }
    double sd_m = sd_of(dip, sheet->numbers->dip_sd_m);
    double more_l = dipped_l(&dipping, 0.0, dip.value + sd_m);
    double less_l = dipped_l(&dipping, 0.0, fmax(dip.value - sd_m, 0.0));
    double by_depth_l = fmax(fabs(isnan(more_l) ? 0.0 : more_l - volume_l),
                             fabs(isnan(less_l) ? 0.0 : less_l - volume_l));
    double by_shape_l =
        0.5 * fabs(dipped_l(&dipping, off, dip.value) - dipped_l(&dipping, -off, dip.value));
    *out = (struct stv_measured){volume_l, hypot(by_depth_l, by_shape_l), 1};
}

static void read_volume(const struct stv__gauge_sheet *sheet, const struct stv_cask *cask,
                        struct stv_gauge *gauge, struct stv_measured *out)
{
    struct stv_table *table = sheet->table;
    static const enum stv__gauge_column ways[] = {STV__GAUGE_LITRES, STV__GAUGE_DIP,
                                                  STV__GAUGE_DRY_DIP};
    static const enum stv_volume_from from[] = {STV_VOLUME_LITRES, STV_VOLUME_DIP,
                                                STV_VOLUME_DRY_DIP};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        if (!stv_table_has(table, ways[i]))
            continue;
        if (gauge->volume_from != STV_VOLUME_NONE) {
            stv_table_refuse(table, ways[i],
                             "tells the litres a second time: keep one of litres, dip and dry dip, "
                             "or give the other a row of its own");
            return;
        }
        gauge->volume_from = from[i];
    }
    if (gauge->volume_from == STV_VOLUME_LITRES) {
        if (stv_table_measured(table, STV__GAUGE_LITRES, LEAST_L, MOST_L, out))
            out->error = sd_of(*out, sheet->numbers->litres_sd_l);
        gauge->litres_typed = typed_of(table, STV__GAUGE_LITRES);
    } else if (gauge->volume_from != STV_VOLUME_NONE) {
        read_dip(sheet, cask, gauge->volume_from == STV_VOLUME_DRY_DIP, out);
    }
}

static void read_tare(const struct stv__gauge_sheet *sheet, struct stv_gauge *gauge)
{
    struct stv_table *table = sheet->table;
    static const char *const states[] = {"dry", "wet"};
    struct stv_measured tare;
    size_t state = 0;
    if (stv_table_word(table, STV__GAUGE_TARE_WAS, states, 2, &state))
        gauge->tare_was = state ? STV_TARE_WET : STV_TARE_DRY;
    if (!stv_table_has(table, STV__GAUGE_TARE)) {
        if (stv_table_has(table, STV__GAUGE_TARE_WAS))
            stv_table_refuse(table, STV__GAUGE_TARE_WAS, "speaks of a tare, and there is none");
        return;
    }
    if (!stv_table_measured(table, STV__GAUGE_TARE, LEAST_CASK_KG, MOST_CASK_KG, &tare))
        return;
    gauge->tare_kg = tare.value;
    gauge->tare_sd_kg = sd_of(tare, sheet->numbers->scale_sd_kg);
    if (!stv_table_has(table, STV__GAUGE_GROSS))
        stv_table_refuse(table, STV__GAUGE_TARE,
                         "stands without a gross weight: the weight painted on a head belongs in "
                         "casks.csv, under stencil");
}

/* Why a gross weight stays what it is; said at the first such row. */
static void say_kept_as_gross(struct stv__gauge_sheet *sheet, const struct stv_gauge *gauge)
{
    bool *has_said =
        gauge->tare_was == STV_TARE_DRY ? &sheet->has_said_dry : &sheet->has_said_unsaid;
    if (*has_said)
        return;
    *has_said = true;
    if (gauge->tare_was == STV_TARE_DRY)
        stv_table_say(sheet->table, STV_NOTED, STV__GAUGE_TARE,
                      "was weighed dry, and wood drinks %g to %g L after that: the gross weight is "
                      "kept as it is and not made litres, here and below",
                      sheet->numbers->soak_least_l, sheet->numbers->soak_most_l);
    else
        stv_table_say(sheet->table, STV_NOTED, STV__GAUGE_TARE,
                      "was the cask dry or wet when it was weighed? Write it under \"tare was\"; "
                      "until then the gross weight is kept as it is and not made litres, here and "
                      "below");
}

static void check_gross(struct stv_table *table, const struct stv_cask *cask,
                        const struct stv_gauge *gauge)
{
    bool has_tare = isfinite(gauge->tare_kg);
    double tare_kg = has_tare ? gauge->tare_kg : cask ? cask->tare_kg : (double)NAN;
    if (tare_kg > 0.0 && gauge->gross_kg <= tare_kg)
        stv_table_refuse(table, STV__GAUGE_GROSS,
                         "is not above the tare%s, %.5g kg: nothing would be in it. Were they "
                         "exchanged, or read in other units?",
                         has_tare ? "" : " on its head", tare_kg);
}

/* A net weight beside a gross must be what lies between it and the tare. */
static void check_net(struct stv_table *table, const struct stv_gauge *gauge,
                      struct stv_measured net)
{
    double sd_kg = hypot(net.error, hypot(gauge->gross_sd_kg, gauge->tare_sd_kg));
    double between_kg = gauge->gross_kg - gauge->tare_kg;
    if (isnan(between_kg))
        stv_table_refuse(table, STV__GAUGE_NET,
                         "stands beside a gross weight without the tare between them: add it, or "
                         "leave one of the two out");
    else if (fabs(net.value - between_kg) > 2.0 * sd_kg)
        stv_table_refuse(table, STV__GAUGE_NET, "is not gross less tare, which is %.5g kg",
                         between_kg);
}

/* Weights in air; *out is the spirit's, where it can be told. */
static void read_weights(struct stv__gauge_sheet *sheet, const struct stv_cask *cask,
                         struct stv_gauge *gauge, struct amounts *out)
{
    struct stv_table *table = sheet->table;
    struct stv_measured gross = unsaid, net = unsaid;
    if (stv_table_measured(table, STV__GAUGE_GROSS, LEAST_CASK_KG, MOST_KG, &gross)) {
        gauge->gross_kg = gross.value;
        gauge->gross_sd_kg = sd_of(gross, sheet->numbers->scale_sd_kg);
    }
    read_tare(sheet, gauge);
    if (stv_table_measured(table, STV__GAUGE_NET, LEAST_KG, MOST_L, &net))
        net.error = sd_of(net, sheet->numbers->scale_sd_kg);
    if (table->row_is_refused)
        return;
    if (isnan(gauge->gross_kg)) {
        out->net = net;
        return;
    }
    check_gross(table, cask, gauge);
    if (isfinite(net.value))
        check_net(table, gauge, net);
    if (table->row_is_refused || isnan(gauge->tare_kg))
        return;
    if (gauge->tare_was != STV_TARE_WET)
        say_kept_as_gross(sheet, gauge);
    else
        out->net = (struct stv_measured){gauge->gross_kg - gauge->tare_kg,
                                         hypot(gauge->gross_sd_kg, gauge->tare_sd_kg), 1};
    out->net_column = STV__GAUGE_GROSS;
}

/* What model/gauge.h is asked.  Litres and weights without a strength are worked as if it were the
 * usual one, whose error goes with it. */
static bool prepare(const struct stv_gauge_numbers *numbers, const struct amounts *amounts,
                    struct stv_gauge_input *out)
{
    *out = (struct stv_gauge_input){.reading = amounts->reading, .temp_c = REFERENCE_C};
    if (isfinite(amounts->temp.value)) {
        out->temp_c = amounts->temp.value;
        out->temp_error_k = sd_of(amounts->temp, numbers->temp_sd_k);
    }
    if (isfinite(amounts->volume.value)) {
        out->by = STV_BY_VOLUME;
        out->volume_l = amounts->volume.value;
        out->volume_error_l = amounts->volume.error;
    } else if (isfinite(amounts->net.value)) {
        out->by = STV_BY_WEIGHT;
        out->net_in_air_kg = amounts->net.value;
        out->net_error_kg = amounts->net.error;
    }
    if (amounts->has_strength)
        return true;
    out->reading.instrument = STV_CORRECTED;
    return set_mass_frac(numbers->unsaid_strength_frac, numbers->unsaid_strength_sd_frac,
                         &out->reading);
}

static void take_results(const struct amounts *amounts, const struct stv_gauged *gauged,
                         struct stv_gauge *gauge)
{
    bool has_volume = isfinite(amounts->volume.value), has_net = isfinite(amounts->net.value);
    if (amounts->has_strength) {
        gauge->abv20_frac = gauged->value[STV_GAUGE_ABV20_FRAC];
        gauge->abv_sd_frac = gauged->error[STV_GAUGE_ABV20_FRAC];
    }
    if (has_net) {
        gauge->liquid_kg = stv_mass_from_net_kg(amounts->net.value, gauged->rho_kg_m3);
        gauge->liquid_sd_kg = amounts->net.error;
    }
    if (!has_volume && has_net && amounts->has_strength)
        gauge->volume_from = STV_VOLUME_WEIGHT;
    if (gauge->volume_from != STV_VOLUME_NONE) {
        gauge->volume20_l = gauged->value[STV_GAUGE_VOLUME20_L];
        gauge->volume_sd_l = gauged->error[STV_GAUGE_VOLUME20_L];
    }
}

static void check_room(struct stv_table *table, const struct stv_cask *cask,
                       const struct amounts *amounts, const struct stv_gauge *gauge)
{
    double capacity_l = cask->geometry.capacity_l;
    double by_weight_l =
        gauge->volume_from == STV_VOLUME_WEIGHT ? gauge->volume20_l : gauge->liquid_kg / WATER_KG_L;
    if (gauge->volume_from == STV_VOLUME_LITRES && amounts->volume.value > capacity_l)
        stv_table_refuse(table, STV__GAUGE_LITRES, "is more than cask %s holds (%g L)", cask->id,
                         capacity_l);
    else if (by_weight_l > capacity_l)
        stv_table_refuse(table, amounts->net_column,
                         "is %.1f kg of spirit, %s%.0f L, more than cask %s holds (%g L)",
                         gauge->liquid_kg,
                         gauge->volume_from == STV_VOLUME_WEIGHT ? "" : "even as water ",
                         by_weight_l, cask->id, capacity_l);
}

void stv__gauge_amounts(struct stv__gauge_sheet *sheet, const struct stv_cask *cask,
                        struct stv_gauge *out)
{
    struct stv_table *table = sheet->table;
    struct amounts amounts = {.temp = unsaid, .volume = unsaid, .net = unsaid};
    struct stv_gauge_input input;
    struct stv_gauged gauged;
    amounts.net_column = STV__GAUGE_NET;
    if (stv_table_measured(table, STV__GAUGE_TEMP, LEAST_C, MOST_C, &amounts.temp))
        out->temp_c = amounts.temp.value;
    read_strength(sheet, out, &amounts);
    read_volume(sheet, cask, out, &amounts.volume);
    read_weights(sheet, cask, out, &amounts);
    bool has_any =
        amounts.has_strength || isfinite(amounts.volume.value) || isfinite(amounts.net.value);
    if (table->row_is_refused || !cask || !has_any)
        return;
    if (!prepare(sheet->numbers, &amounts, &input) || stv_gauge_work(&input, &gauged) != STV_OK) {
        stv_table_refuse(table, out->is_reading ? STV__GAUGE_READING : STV__GAUGE_TEMP,
                         out->is_reading ? "no spirit reads so at %.1f C: look at reading and temp"
                                         : "spirit of this strength is no liquid at %.1f C",
                         input.temp_c);
        return;
    }
    take_results(&amounts, &gauged, out);
    check_room(table, cask, &amounts, out);
}
