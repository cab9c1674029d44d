/* From words to the input of model/gauge.h: which instrument, which weights, how much it may be off
 * by.  Errors that are not typed are assumed, and the answer says so. */
#include "cli/gauge_case.h"

#include "model/dip.h"
#include "model/units.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* What readings are off by when nobody says: half a small graduation of the usual bench
 * instruments.  Assumed: common practice, no published source. */
#define READING_ERROR_VOL_FRAC 0.001
#define READING_ERROR_KG_M3 0.1
#define THERMOMETER_ERROR_K 0.25
#define SCALE_ERROR_KG 0.1

#define SCALE_MOST_KG 1e6

/* Tolerances of a package gauge: metered 0.5 %, dipped 2 L to 200 L and 3 L above.  UK SI 2023/806,
 * schedule 1, second-hand. */
#define VOLUME_ERROR_FRAC 0.005
#define DIP_ERROR_L 2.0
#define DIP_ERROR_LARGE_L 3.0
#define DIP_LARGE_FROM_L 200.0

/* Makers differ by about so much in the bilge of one capacity; assumed. */
#define BILGE_SPREAD_FRAC 0.04

/* Dissolved solids hide 0.4 US proof for each 100 mg in 100 mL (27 CFR 30.31 and 30.32,
 * second-hand): 1 kg/m3 is 100 mg in 100 mL. */
#define OBSCURATION_PROOF_PER_KG_M3 0.4
#define SOLIDS_DISTIL_KG_M3 6.0

/* Wood that was dry when it was weighed drinks 3 to 6 L in 39 kg of staves; parameter sheet,
 * section 2, and common practice, no published source. */
#define DRINK_LEAST_L 3.0
#define DRINK_MOST_L 6.0
#define DRINK_WOOD_KG 39.0

static bool ends_in(const char *text, const char *end)
{
    size_t n = strlen(text), n_end = strlen(end);
    return n >= n_end && strcasecmp(text + n - n_end, end) == 0;
}

/* Density as a meter shows it; "in air" is turned into vacuum. */
static bool read_density(const struct stv_bench_word *word, struct stv_measured *out)
{
    char plain[128], unused[256];
    bool is_in_air = ends_in(word->text, "in air");
    size_t n = strlen(word->text) - (is_in_air ? strlen("in air") : 0);
    if (n >= sizeof plain)
        return false;
    memcpy(plain, word->text, n);
    plain[n] = '\0';
    if (stv_measured_parse(plain, STV_DIM_DENSITY, word->unit, out, unused, sizeof unused) !=
        STV_OK)
        return false;
    if (is_in_air)
        out->value = out->value * (1.0 - STV_GAUGE_AIR_KG_M3 / STV_GAUGE_WEIGHTS_KG_M3) +
                     STV_GAUGE_AIR_KG_M3;
    return true;
}

static bool holds(const char *text, const char *letters)
{
    size_t n = strlen(letters);
    for (const char *at = text; *at; at++)
        if (strncasecmp(at, letters, n) == 0)
            return true;
    return false;
}

/* The scale of the unit that was used: the text's own, else the column's. */
static enum stv_gauge_scale scale_of(const struct stv_bench_word *word)
{
    bool has_own = holds(word->text, "proof") || holds(word->text, "%");
    const char *unit = has_own || !word->unit ? word->text : word->unit;
    if (!holds(unit, "proof"))
        return STV_SCALE_VOL;
    return holds(unit, "UK") ? STV_SCALE_UK_PROOF : STV_SCALE_US_PROOF;
}

static double shown_number(enum stv_gauge_scale scale, double mass_frac)
{
    if (scale == STV_SCALE_US_PROOF)
        return stv_us_proof_nd(mass_frac);
    if (scale == STV_SCALE_UK_PROOF)
        return stv_uk_proof_nd(mass_frac);
    return 100.0 * stv_abv20_from_mass_frac(mass_frac);
}

/* Mass fraction of a strength, and half of what it moves by within the error. */
static void set_strength(struct stv_bench_reader *reader, enum stv_option option,
                         struct stv_measured strength, struct stv_gauge_case *out)
{
    struct stv_strength_reading *reading = &out->input.reading;
    double error = isnan(strength.error) ? READING_ERROR_VOL_FRAC : strength.error, high, low;
    out->has_typed_errors = out->has_typed_errors && !isnan(strength.error);
    if (stv_mass_frac_from_abv20(strength.value, &reading->mass_frac) != STV_OK ||
        stv_mass_frac_from_abv20(fmin(1.0, strength.value + error), &high) != STV_OK ||
        stv_mass_frac_from_abv20(fmax(0.0, strength.value - error), &low) != STV_OK) {
        stv_bench_fault(reader, STV_E_DOMAIN, option, "--%s is no strength that there is.",
                        stv_option_table()[option].name);
        return;
    }
    reading->error_mass_frac = 0.5 * (high - low);
    out->scale = scale_of(stv_bench_word(reader, option, 0));
    out->shown = shown_number(out->scale, reading->mass_frac);
}

/* A scale of per cent by volume that is right at another temperature than 20 C shows per cent at
 * that temperature. */
static void apply_reference(struct stv_bench_reader *reader, struct stv_gauge_case *out)
{
    struct stv_strength_reading *reading = &out->input.reading;
    bool is_proof = out->scale == STV_SCALE_US_PROOF || out->scale == STV_SCALE_UK_PROOF;
    bool is_said = stv_bench_has(reader, STV_OPT_REFERENCE);
    struct stv_spirit_at at;
    if (!is_said)
        reading->reference_c = is_proof ? STV_60F_C : 20.0;
    if (!is_said || out->scale != STV_SCALE_VOL)
        return;
    if (stv_spirit_at(reading->reference_c, &at) != STV_OK ||
        stv_spirit_at_mass_frac_of_vol(&at, out->shown / 100.0, &reading->mass_frac) != STV_OK)
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_REFERENCE,
                        "--reference is outside -20 to 50 C.");
}

static void read_reading(struct stv_bench_reader *reader, struct stv_gauge_case *out)
{
    struct stv_strength_reading *reading = &out->input.reading;
    struct stv_measured value;
    bool is_corrected = stv_bench_has(reader, STV_OPT_STRENGTH);
    if (is_corrected && stv_bench_has(reader, STV_OPT_READING)) {
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_STRENGTH,
                        "Give --reading or --strength, not both.");
        return;
    }
    if (!is_corrected && !stv_bench_need(reader, STV_OPT_READING,
                                         "what the hydrometer or density meter showed, as "
                                         "\"124.6 US proof\", \"57.2 %vol\" or \"915.2 kg/m3\""))
        return;
    const struct stv_bench_word *word =
        stv_bench_word(reader, is_corrected ? STV_OPT_STRENGTH : STV_OPT_READING, 0);
    stv_bench_quantity(reader, STV_OPT_REFERENCE, STV_DIM_TEMPERATURE, &reading->reference_c);
    if (!is_corrected && read_density(word, &value)) {
        reading->instrument = STV_DENSITY_METER;
        reading->rho_kg_m3 = out->shown = value.value;
        reading->rho_error_kg_m3 = isnan(value.error) ? READING_ERROR_KG_M3 : value.error;
        out->has_typed_errors = out->has_typed_errors && !isnan(value.error);
        out->scale = STV_SCALE_DENSITY;
        if (!stv_bench_has(reader, STV_OPT_REFERENCE))
            reading->reference_c = out->input.temp_c;
        return;
    }
    if (!stv_bench_measured(reader, word->option, STV_DIM_STRENGTH, &value))
        return;
    reading->instrument = is_corrected ? STV_CORRECTED : STV_HYDROMETER;
    set_strength(reader, word->option, value, out);
    if (!is_corrected && reader->status == STV_OK)
        apply_reference(reader, out);
}

static void read_temp(struct stv_bench_reader *reader, struct stv_gauge_case *out)
{
    struct stv_measured temp;
    out->input.temp_c = 20.0; /* a corrected strength and a weight need no thermometer */
    bool has_litres = stv_bench_has(reader, STV_OPT_VOLUME) ||
                      stv_bench_has(reader, STV_OPT_WET_DIP) ||
                      stv_bench_has(reader, STV_OPT_DRY_DIP);
    out->has_temp = stv_bench_has(reader, STV_OPT_TEMP);
    if (!out->has_temp && stv_bench_has(reader, STV_OPT_STRENGTH) && !has_litres)
        return;
    if (!stv_bench_need(
            reader, STV_OPT_TEMP,
            "the temperature of the spirit when it was read, as \"84 F\" or \"29 C\"") ||
        !stv_bench_measured(reader, STV_OPT_TEMP, STV_DIM_TEMPERATURE, &temp))
        return;
    out->input.temp_c = temp.value;
    out->input.temp_error_k = isnan(temp.error) ? THERMOMETER_ERROR_K : temp.error;
    out->has_typed_errors = out->has_typed_errors && !isnan(temp.error);
    if (!(temp.value >= -20.0 && temp.value <= 50.0))
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_TEMP,
                        "--temp is %.1f C: strength is known from -20 to 50 C only. Let the spirit "
                        "come to the room and read it again.",
                        temp.value);
}

static void read_obscuration(struct stv_bench_reader *reader, struct stv_gauge_case *out)
{
    double solids_kg_m3 = 0.0;
    bool has_both =
        stv_bench_has(reader, STV_OPT_SOLIDS) && stv_bench_has(reader, STV_OPT_OBSCURATION);
    if (has_both)
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_SOLIDS,
                        "Give --obscuration or --solids, not both.");
    stv_bench_quantity(reader, STV_OPT_OBSCURATION, STV_DIM_STRENGTH,
                       &out->input.obscuration_abv20_frac);
    if (!stv_bench_quantity(reader, STV_OPT_SOLIDS, STV_DIM_DENSITY, &solids_kg_m3))
        return;
    if (solids_kg_m3 > SOLIDS_DISTIL_KG_M3)
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_SOLIDS,
                        "--solids is above 600 mg in 100 ml: distil a sample and read that "
                        "(27 CFR 30.32).");
    out->input.obscuration_abv20_frac = OBSCURATION_PROOF_PER_KG_M3 * solids_kg_m3 / 200.0;
}

/* One tare for each cask, or one that was summed already. */
static void read_tare(struct stv_bench_reader *reader, struct stv_gauge_case *out,
                      struct stv_measured *tare)
{
    if (!stv_bench_sum(reader, STV_OPT_TARE, STV_DIM_MASS, tare))
        return;
    if (out->n_casks > 1 && tare->n != out->n_casks)
        stv_bench_fault(reader, STV_E_CONSISTENCY, STV_OPT_TARE,
                        "--tare has %zu weights for %zu casks: write one for each, as \"45 kg + 46 "
                        "kg\" or \"%zu x 45 kg\".",
                        tare->n, out->n_casks, out->n_casks);
    out->tare_kg = tare->value;
    out->has_dry_tare = stv_bench_choice(reader, STV_OPT_TARE_WAS, "dry");
    out->has_tare_state = stv_bench_has(reader, STV_OPT_TARE_WAS);
    out->soak_l = DRINK_LEAST_L * tare->value / DRINK_WOOD_KG;
    out->soak_most_l = DRINK_MOST_L * tare->value / DRINK_WOOD_KG;
}

/* Tare from an earlier gross, litres and strength of the same cask. */
static void infer_tare(struct stv_bench_reader *reader, double earlier_gross_kg,
                       struct stv_gauge_case *out, struct stv_measured *tare)
{
    double volume20_l, abv20_frac, ethanol_kg, water_kg;
    if (!stv_bench_has(reader, STV_OPT_EARLIER_VOLUME) &&
        !stv_bench_has(reader, STV_OPT_EARLIER_STRENGTH))
        return;
    if (!stv_bench_need(reader, STV_OPT_EARLIER_VOLUME, "the litres at the earlier weighing") ||
        !stv_bench_need(reader, STV_OPT_EARLIER_STRENGTH, "the strength at the earlier weighing") ||
        !stv_bench_quantity(reader, STV_OPT_EARLIER_VOLUME, STV_DIM_VOLUME, &volume20_l) ||
        !stv_bench_quantity(reader, STV_OPT_EARLIER_STRENGTH, STV_DIM_STRENGTH, &abv20_frac))
        return;
    if (stv_spirit_masses_kg(volume20_l, abv20_frac, &ethanol_kg, &water_kg) != STV_OK) {
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_EARLIER_VOLUME,
                        "--earlier-volume and --earlier-strength make no spirit.");
        return;
    }
    double mass_kg = ethanol_kg + water_kg;
    out->earlier20_l = volume20_l;
    out->earlier_lpa_l = volume20_l * abv20_frac;
    double net_kg = stv_net_from_mass_kg(mass_kg, 1000.0 * mass_kg / volume20_l);
    out->tare_kg = earlier_gross_kg - net_kg;
    *tare =
        (struct stv_measured){out->tare_kg, hypot(SCALE_ERROR_KG, VOLUME_ERROR_FRAC * net_kg), 1};
    if (out->tare_kg <= 0.0)
        stv_bench_fault(reader, STV_E_CONSISTENCY, STV_OPT_EARLIER_GROSS,
                        "--earlier-gross is below the weight of the spirit that was in it.");
}

static double scale_error_kg(struct stv_measured weight, struct stv_gauge_case *out)
{
    if (!isnan(weight.error))
        return weight.error;
    out->has_typed_errors = false;
    return SCALE_ERROR_KG * sqrt((double)weight.n);
}

static void check_weight(struct stv_bench_reader *reader, enum stv_option option, double kg)
{
    if (!(kg > 0.0) || kg > SCALE_MOST_KG)
        stv_bench_fault(reader, STV_E_DOMAIN, option, "--%s is %s.",
                        stv_option_table()[option].name,
                        kg > 0.0 ? "more than any scale bears" : "nothing");
}

static bool is_in_pounds(const struct stv_bench_reader *reader, enum stv_option option)
{
    const struct stv_bench_word *word = stv_bench_word(reader, option, 0);
    return word &&
           (strstr(word->text, "lb") || strstr(word->text, "pound") ||
            (word->unit && strncasecmp(word->unit, "lb", 2) == 0 && !strstr(word->text, "kg")));
}

static void read_weights(struct stv_bench_reader *reader, struct stv_gauge_case *out)
{
    struct stv_measured gross, tare = {NAN, NAN, 0}, net;
    double earlier_kg;
    struct stv_gauge_input *input = &out->input;
    if (stv_bench_has(reader, STV_OPT_NET) && stv_bench_has(reader, STV_OPT_GROSS)) {
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_NET,
                        "Give --net, or --gross with --tare, not both.");
        return;
    }
    if (stv_bench_measured(reader, STV_OPT_NET, STV_DIM_MASS, &net)) {
        check_weight(reader, STV_OPT_NET, net.value);
        input->by = STV_BY_WEIGHT;
        input->net_in_air_kg = net.value;
        input->net_error_kg = scale_error_kg(net, out);
        return;
    }
    if (!stv_bench_sum(reader, STV_OPT_GROSS, STV_DIM_MASS, &gross))
        return;
    check_weight(reader, STV_OPT_GROSS, gross.value);
    out->gross_kg = gross.value;
    read_tare(reader, out, &tare);
    if (!isnan(out->tare_kg) && stv_bench_has(reader, STV_OPT_EARLIER_VOLUME))
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_TARE,
                        "--tare and --earlier-volume both tell the tare: give one of them.");
    if (stv_bench_quantity(reader, STV_OPT_EARLIER_GROSS, STV_DIM_MASS, &earlier_kg)) {
        out->lost_kg = earlier_kg - gross.value;
        if (isnan(out->tare_kg))
            infer_tare(reader, earlier_kg, out, &tare);
    } else if (isnan(out->tare_kg)) {
        stv_bench_need(reader, STV_OPT_TARE,
                       "the weight of the empty cask; when it is not known, give an earlier weight "
                       "with --earlier-gross");
    }
    if (isnan(out->tare_kg) || reader->status != STV_OK)
        return;
    out->has_mixed_units =
        is_in_pounds(reader, STV_OPT_GROSS) != is_in_pounds(reader, STV_OPT_TARE) &&
        stv_bench_has(reader, STV_OPT_TARE);
    if (gross.value <= out->tare_kg)
        stv_bench_fault(
            reader, STV_E_CONSISTENCY, STV_OPT_GROSS,
            "The gross weight, %.6g kg, is not above the tare, %.6g kg: nothing would be "
            "in it. Were they exchanged, or read in other units?",
            gross.value, out->tare_kg);
    input->by = STV_BY_WEIGHT;
    input->net_in_air_kg = gross.value - out->tare_kg;
    input->net_error_kg = hypot(scale_error_kg(gross, out), scale_error_kg(tare, out));
}

/* Litres at a wet depth, by the own rod or by the usual shape; NaN when it is no depth of it. */
static double litres_at(const struct stv_rod *rod, const struct stv_cask_shape *shape, double wet_m)
{
    double volume_l;
    if (rod)
        return stv_rod_volume_l(rod, wet_m);
    return stv_dip_volume_l(shape, wet_m, &volume_l) == STV_OK ? volume_l : (double)NAN;
}

/* What the names of casks usually mean; common practice, no published source. */
static const struct {
    const char *name;
    double capacity_l;
} kinds[] = {{"octave", 50.0},    {"quarter cask", 125.0}, {"barrel", 200.0},
             {"hogshead", 250.0}, {"puncheon", 500.0},     {"butt", 500.0}};

/* Capacity as measured, else as the kind's name has it. */
static bool read_capacity(struct stv_bench_reader *reader, struct stv_gauge_case *out,
                          double *out_l)
{
    bool has_kind =
        stv_bench_has(reader, STV_OPT_CASK_KIND) && !stv_bench_has(reader, STV_OPT_CAPACITY);
    if (!has_kind)
        return stv_bench_need(reader, STV_OPT_CAPACITY,
                              "what the cask holds, as \"200 L\"; or its --cask-kind, or your own "
                              "rod's table with --rod") &&
               stv_bench_quantity(reader, STV_OPT_CAPACITY, STV_DIM_VOLUME, out_l);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (stv_bench_choice(reader, STV_OPT_CASK_KIND, kinds[i].name))
            *out_l = out->kind_l = kinds[i].capacity_l;
    return reader->status == STV_OK;
}

static bool find_shape(struct stv_bench_reader *reader, struct stv_gauge_case *out,
                       struct stv_cask_shape *shape)
{
    double capacity_l = NAN, bilge_m = NAN;
    if (!read_capacity(reader, out, &capacity_l))
        return false;
    out->has_assumed_shape = !stv_bench_quantity(reader, STV_OPT_BILGE, STV_DIM_LENGTH, &bilge_m);
    if (reader->status == STV_OK && stv_cask_shape(capacity_l, bilge_m, shape) != STV_OK)
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_CAPACITY,
                        "No cask is known of this capacity and bilge: 1 to 1000 L, 10 to 150 cm.");
    out->bilge_m = shape->bilge_m;
    return reader->status == STV_OK;
}

/* What the litres move by when the assumed bilge is off by its usual spread. */
static double shape_error_l(const struct stv_cask_shape *shape, double wet_m,
                            enum stv_option option)
{
    double ends_l[2];
    for (int side = 0; side < 2; side++) {
        struct stv_cask_shape other = *shape;
        other.bilge_m *= side ? 1.0 + BILGE_SPREAD_FRAC : 1.0 - BILGE_SPREAD_FRAC;
        /* A wet dip is the same depth of another cask, a dry dip the same room above. */
        double depth_m =
            option == STV_OPT_WET_DIP ? wet_m : other.bilge_m - (shape->bilge_m - wet_m);
        ends_l[side] = litres_at(NULL, &other, fmin(fmax(depth_m, 0.0), other.bilge_m));
    }
    return 0.5 * fabs(ends_l[1] - ends_l[0]);
}

static void read_dip(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                     struct stv_gauge_case *out)
{
    struct stv_measured dip;
    struct stv_cask_shape shape = {0};
    enum stv_option option =
        stv_bench_has(reader, STV_OPT_WET_DIP) ? STV_OPT_WET_DIP : STV_OPT_DRY_DIP;
    if (!shared->rod && !find_shape(reader, out, &shape))
        return;
    if (!stv_bench_measured(reader, option, STV_DIM_LENGTH, &dip))
        return;
    double full_m = shared->rod ? stv_rod_full_m(shared->rod) : shape.bilge_m;
    double wet_m = option == STV_OPT_WET_DIP ? dip.value : full_m - dip.value;
    struct stv_gauge_input *input = &out->input;
    input->by = STV_BY_VOLUME;
    input->volume_l = litres_at(shared->rod, &shape, wet_m);
    if (!(input->volume_l > 0.0)) {
        stv_bench_fault(reader, STV_E_DOMAIN, option,
                        "--%s is no depth of this cask: it is 0 to %.1f cm deep at the bung.",
                        stv_option_table()[option].name, 100.0 * full_m);
        return;
    }
    double usual_l = input->volume_l > DIP_LARGE_FROM_L ? DIP_ERROR_LARGE_L : DIP_ERROR_L;
    double least_m = fmax(0.0, wet_m - dip.error), most_m = fmin(full_m, wet_m + dip.error);
    out->has_typed_errors = out->has_typed_errors && !isnan(dip.error);
    double by_depth_l = isnan(dip.error) ? usual_l
                                         : 0.5 * (litres_at(shared->rod, &shape, most_m) -
                                                  litres_at(shared->rod, &shape, least_m));
    input->volume_error_l = out->has_assumed_shape
                                ? hypot(by_depth_l, shape_error_l(&shape, wet_m, option))
                                : by_depth_l;
}

static void read_volume(struct stv_bench_reader *reader, struct stv_gauge_case *out)
{
    struct stv_measured volume;
    if (!stv_bench_measured(reader, STV_OPT_VOLUME, STV_DIM_VOLUME, &volume))
        return;
    out->input.by = STV_BY_VOLUME;
    out->input.volume_l = volume.value;
    out->has_typed_errors = out->has_typed_errors && !isnan(volume.error);
    out->input.volume_error_l =
        isnan(volume.error) ? VOLUME_ERROR_FRAC * volume.value : volume.error;
    if (stv_bench_choice(reader, STV_OPT_VESSEL, "steel"))
        out->input.vessel_per_k = STV_STEEL_PER_K;
    else if (stv_bench_choice(reader, STV_OPT_VESSEL, "glass"))
        out->input.vessel_per_k = STV_GLASS_PER_K;
    if (!(volume.value > 0.0))
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_VOLUME, "--volume is nothing.");
}

/* The amount: by weight, by volume or by a dip, one of them or none. */
static void read_amount(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                        struct stv_gauge_case *out)
{
    bool has_weight = stv_bench_has(reader, STV_OPT_GROSS) || stv_bench_has(reader, STV_OPT_NET);
    bool has_dip = stv_bench_has(reader, STV_OPT_WET_DIP) || stv_bench_has(reader, STV_OPT_DRY_DIP);
    bool has_volume = stv_bench_has(reader, STV_OPT_VOLUME);
    stv_bench_count(reader, STV_OPT_CASKS, 200, &out->n_casks);
    stv_bench_volume(reader, STV_OPT_CAPACITY, &out->capacity_l);
    if (stv_bench_has(reader, STV_OPT_WET_DIP) && stv_bench_has(reader, STV_OPT_DRY_DIP))
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_WET_DIP,
                        "Give --wet-dip or --dry-dip, not both.");
    if (has_weight + has_dip + has_volume > 1)
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_N,
                        "Give weights, a volume or a dip, one of them: two would have to agree.");
    else if (has_weight)
        read_weights(reader, out);
    else if (has_dip)
        read_dip(reader, shared, out);
    else if (has_volume)
        read_volume(reader, out);
    else if (stv_bench_has(reader, STV_OPT_TARE) || stv_bench_has(reader, STV_OPT_EARLIER_GROSS))
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_TARE, "--gross is missing beside its tare.");
    if (shared->rod && !has_dip)
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_N,
                        "--rod does nothing without --wet-dip or --dry-dip.");
    if (shared->rod && has_dip &&
        (stv_bench_has(reader, STV_OPT_BILGE) || stv_bench_has(reader, STV_OPT_CASK_KIND)))
        stv_bench_fault(reader, STV_E_USAGE, STV_OPT_BILGE,
                        "--rod tells the cask's shape itself: leave --bilge and --cask-kind out.");
}

/* Options that mean something only beside one of two others.  In a sheet a column may stand there
 * for other rows. */
static void check_companions(struct stv_bench_reader *reader)
{
    static const struct {
        enum stv_option option, beside, or_beside;
    } companions[] = {
        {STV_OPT_TARE, STV_OPT_GROSS, STV_OPT_GROSS},
        {STV_OPT_TARE_WAS, STV_OPT_TARE, STV_OPT_TARE},
        {STV_OPT_CASKS, STV_OPT_GROSS, STV_OPT_NET},
        {STV_OPT_EARLIER_GROSS, STV_OPT_GROSS, STV_OPT_GROSS},
        {STV_OPT_EARLIER_VOLUME, STV_OPT_EARLIER_GROSS, STV_OPT_EARLIER_GROSS},
        {STV_OPT_EARLIER_STRENGTH, STV_OPT_EARLIER_GROSS, STV_OPT_EARLIER_GROSS},
        {STV_OPT_VESSEL, STV_OPT_VOLUME, STV_OPT_VOLUME},
        {STV_OPT_CASK_KIND, STV_OPT_WET_DIP, STV_OPT_DRY_DIP},
        {STV_OPT_BILGE, STV_OPT_WET_DIP, STV_OPT_DRY_DIP},
        {STV_OPT_REFERENCE, STV_OPT_READING, STV_OPT_READING},
    };
    for (size_t i = 0; i < sizeof companions / sizeof companions[0] && !reader->is_sheet; i++)
        if (stv_bench_has(reader, companions[i].option) &&
            !stv_bench_has(reader, companions[i].beside) &&
            !stv_bench_has(reader, companions[i].or_beside))
            stv_bench_fault(reader, STV_E_USAGE, companions[i].option,
                            "--%s does nothing without --%s.",
                            stv_option_table()[companions[i].option].name,
                            stv_option_table()[companions[i].beside].name);
}

void stv_gauge_read(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                    struct stv_gauge_case *out)
{
    *out = (struct stv_gauge_case){.n_casks = 1,
                                   .gross_kg = NAN,
                                   .tare_kg = NAN,
                                   .has_tare_state = true,
                                   .soak_l = NAN,
                                   .soak_most_l = NAN,
                                   .lost_kg = NAN,
                                   .kind_l = NAN,
                                   .capacity_l = NAN,
                                   .earlier20_l = NAN,
                                   .earlier_lpa_l = NAN,
                                   .has_typed_errors = true};
    check_companions(reader);
    read_temp(reader, out);
    read_reading(reader, out);
    read_obscuration(reader, out);
    read_amount(reader, shared, out);
}
