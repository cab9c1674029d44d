/* `gauge`: one reading with its temperature and weights, or a sheet of them. */
#include "cli/commands.h"

#include "cli/gauge_case.h"
#include "cli/json.h"

#include <math.h>

static const struct stv_bench_column columns[] = {
    {STV_OPT_READING, STV_DIM_STRENGTH},
    {STV_OPT_STRENGTH, STV_DIM_STRENGTH},
    {STV_OPT_REFERENCE, STV_DIM_TEMPERATURE},
    {STV_OPT_TEMP, STV_DIM_TEMPERATURE},
    {STV_OPT_OBSCURATION, STV_DIM_STRENGTH},
    {STV_OPT_SOLIDS, STV_DIM_DENSITY},
    {STV_OPT_GROSS, STV_DIM_MASS},
    {STV_OPT_TARE, STV_DIM_MASS},
    {STV_OPT_TARE_WAS, STV_DIM_N},
    {STV_OPT_NET, STV_DIM_MASS},
    {STV_OPT_EARLIER_GROSS, STV_DIM_MASS},
    {STV_OPT_EARLIER_VOLUME, STV_DIM_VOLUME},
    {STV_OPT_EARLIER_STRENGTH, STV_DIM_STRENGTH},
    {STV_OPT_CASKS, STV_DIM_NUMBER},
    {STV_OPT_VOLUME, STV_DIM_VOLUME},
    {STV_OPT_VESSEL, STV_DIM_N},
    {STV_OPT_WET_DIP, STV_DIM_LENGTH},
    {STV_OPT_DRY_DIP, STV_DIM_LENGTH},
    {STV_OPT_CAPACITY, STV_DIM_VOLUME},
    {STV_OPT_CASK_KIND, STV_DIM_N},
    {STV_OPT_BILGE, STV_DIM_LENGTH},
};

static const void *work(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                        struct stv_bench_notes *notes)
{
    static struct stv_gauge_case gauge_case;
    stv_gauge_read(reader, shared, &gauge_case);
    if (reader->status != STV_OK)
        return NULL;
    enum stv_status status = stv_gauge_work(&gauge_case.input, &gauge_case.gauge);
    if (status != STV_OK)
        stv_bench_fault(
            reader, status, STV_OPT_READING,
            "No spirit reads so at %.1f C: it would be heavier than water, lighter than "
            "ethanol, frozen, or stronger than there is. Look at the reading, its unit "
            "and the temperature.",
            gauge_case.input.temp_c);
    else
        stv_gauge_warn(&gauge_case, shared->market, notes);
    return &gauge_case;
}

/* In the order of result_names. */
static void results(const void *sum_case, double *out)
{
    const struct stv_gauge_case *gauge_case = sum_case;
    const struct stv_gauged *gauge = &gauge_case->gauge;
    const double numbers[] = {
        100.0 * gauge->value[STV_GAUGE_ABV20_FRAC],
        100.0 * gauge->error[STV_GAUGE_ABV20_FRAC],
        gauge->value[STV_GAUGE_US_PROOF_ND],
        gauge->value[STV_GAUGE_NET_IN_AIR_KG],
        gauge->value[STV_GAUGE_MASS_KG],
        gauge->error[STV_GAUGE_MASS_KG],
        gauge->value[STV_GAUGE_VOLUME20_L],
        gauge->error[STV_GAUGE_VOLUME20_L],
        gauge->value[STV_GAUGE_LPA_L],
        gauge->error[STV_GAUGE_LPA_L],
        gauge->value[STV_GAUGE_WINE_GAL],
        gauge->value[STV_GAUGE_PROOF_GAL],
        gauge_case->lost_kg,
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        out[i] = numbers[i];
}

static void add_json(json_t *document, const void *sum_case)
{
    const struct stv_gauge_case *gauge_case = sum_case;
    const struct stv_gauged *gauge = &gauge_case->gauge;
    static const struct {
        const char *key, *error_key;
        enum stv_gauge_value value;
        double factor;
    } keys[] = {
        {"abv20_pct", "abv20_error_pct", STV_GAUGE_ABV20_FRAC, 100.0},
        {"us_proof", "us_proof_error", STV_GAUGE_US_PROOF_ND, 1.0},
        {"net_in_air_kg", "net_in_air_error_kg", STV_GAUGE_NET_IN_AIR_KG, 1.0},
        {"mass_kg", "mass_error_kg", STV_GAUGE_MASS_KG, 1.0},
        {"volume20_l", "volume20_error_l", STV_GAUGE_VOLUME20_L, 1.0},
        {"lpa_l", "lpa_error_l", STV_GAUGE_LPA_L, 1.0},
        {"wine_gal", "wine_gal_error", STV_GAUGE_WINE_GAL, 1.0},
        {"proof_gal", "proof_gal_error", STV_GAUGE_PROOF_GAL, 1.0},
    };
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        stv_json_set(document, keys[i].key,
                     stv_json_number(keys[i].factor * gauge->value[keys[i].value]));
        stv_json_set(document, keys[i].error_key,
                     stv_json_number(keys[i].factor * gauge->error[keys[i].value]));
    }
    stv_json_set(document, "abv60f_pct", stv_json_number(100.0 * gauge->abv60f_frac));
    stv_json_set(document, "uk_proof", stv_json_number(gauge->uk_proof_nd));
    stv_json_set(document, "mass_pct", stv_json_number(100.0 * gauge->mass_frac));
    stv_json_set(document, "shown_abv20_pct", stv_json_number(100.0 * gauge->shown_abv20_frac));
    stv_json_set(document, "temp_c", stv_json_number(gauge_case->input.temp_c));
    stv_json_set(document, "density_kg_m3", stv_json_number(gauge->rho_kg_m3));
    stv_json_set(document, "volume_l", stv_json_number(gauge->volume_l));
    stv_json_set(document, "casks", json_integer((json_int_t)gauge_case->n_casks));
    stv_json_set(document, "tare_kg", stv_json_number(gauge_case->tare_kg));
    stv_json_set(document, "lost_kg", stv_json_number(gauge_case->lost_kg));
    stv_json_set(document, "lost20_l",
                 stv_json_number(gauge_case->earlier20_l - gauge->value[STV_GAUGE_VOLUME20_L]));
    stv_json_set(document, "lost_lpa_l",
                 stv_json_number(gauge_case->earlier_lpa_l - gauge->value[STV_GAUGE_LPA_L]));
    stv_json_set(document, "is_extrapolated", json_boolean(gauge->is_extrapolated));
}

static const char *const cautions[] = {
    "Drawing a sample opens the cask to flammable vapour: no flame or unrated lamp, air the store "
    "first, bond pump and vessel. Local codes decide.",
    NULL};

int stv_cmd_gauge(const struct stv_options *options)
{
    static const struct stv_bench_sum sum = {
        .columns = columns,
        .n_columns = sizeof columns / sizeof columns[0],
        .work = work,
        .add_answer = stv_gauge_add_answer,
        .add_rest = stv_gauge_add_rest,
        .add_json = add_json,
        .result_names = "abv20_pct,abv20_error_pct,us_proof,net_in_air_kg,mass_kg,mass_error_kg,"
                        "volume20_l,volume20_error_l,lpa_l,lpa_error_l,wine_gal,proof_gal,lost_kg",
        .results = results,
        .basis = "Litres, litres of pure alcohol and %vol at 20 C; US proof and gallons at 60 F. "
                 "Density by OIML R 22, glass 25e-6 per K, air 1.2 kg/m3.",
        .cautions = cautions,
    };
    return stv_bench_run(options, &sum);
}
