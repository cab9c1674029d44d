/* The whole of published tables, where a folder of them is at hand: the gauging tables of 27 CFR
 * part 30, vapour pressures, and grids of R 22.  The tables are not part of this project; without
 * them every test here is skipped and says so.
 *
 * Cells that the folder's list of suspects names are left out and counted: slips of transcription,
 * found because they disagree with their neighbours or with R 22.  What is printed is for the
 * accuracy table of the README. */
#include "tests/published_data.h"

#include "ingest/csv.h"
#include "model/air.h"
#include "model/gauge.h"
#include "model/spirit_vapour.h"
#include "model/units.h"

#include <stdlib.h>
#include <string.h>

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
#define MMHG_PA 133.322
#define SUSPECTS "ttb_27cfr30_suspect_cells.csv"

/* Water weighs 1 lb per 0.120074 gal in air at 60 F (27 CFR 30.41); air is 1.2173 kg/m3. */
#define WATER_GAL_LB 0.120074
#define AIR_KG_M3 1.2173

#define TABLES "alcoholometry"

static void skip_without_tables(void)
{
    char folder[1024];
    stv_published_path(TABLES, folder, sizeof folder);
}

static void open_table(const char *name, struct stv_csv *out)
{
    char path[1024], why[200];
    char inside[128];
    snprintf(inside, sizeof inside, TABLES "/%s", name);
    stv_published_path(inside, path, sizeof path);
    if (stv_csv_read(path, out, why, sizeof why) != STV_OK)
        fail_msg("%s: %s", path, why);
}

static size_t column(const struct stv_csv *csv, const char *name)
{
    size_t index = stv_csv_find(csv, 0, name);
    if (index == SIZE_MAX)
        fail_msg("no column \"%s\"", name);
    return index;
}

static double number_of(const char *text)
{
    char *end;
    double value = strtod(text, &end);
    if (end == text || *end != '\0')
        fail_msg("\"%s\" is no number", text);
    return value;
}

static double number(const struct stv_csv *csv, size_t row, size_t index)
{
    return number_of(stv_csv_text(csv, row, index));
}

/* How far off the cells of a part of a table are. */
struct tally {
    size_t n;
    double sum, squares, worst, at_row, at_f;
};

static void tally_add(struct tally *tally, double off, double row, double temp_f)
{
    tally->n++;
    tally->sum += off;
    tally->squares += off * off;
    if (fabs(off) <= fabs(tally->worst))
        return;
    tally->worst = off;
    tally->at_row = row;
    tally->at_f = temp_f;
}

static double mean_of(const struct tally *tally)
{
    return tally->sum / (double)tally->n;
}

static double sd_of(const struct tally *tally)
{
    double mean = mean_of(tally);
    return sqrt(fmax(0.0, tally->squares / (double)tally->n - mean * mean));
}

static double rms_of(const struct tally *tally)
{
    return sqrt(tally->squares / (double)tally->n);
}

/* Parts of the tables, by true proof and temperature; ends included. */
enum part {
    WHOLE,
    CASKS,
    CASKS_ALL_TEMPS,
    WEAKEST,
    WEAK,
    STRONG,
    STRONGEST,
    BELOW_FREEZING,
    N_PARTS
};
static const struct {
    const char *name;
    double from_proof, to_proof, from_f, to_f;
} parts[N_PARTS] = {{"whole table", 0.0, 200.0, 0.0, 120.0},
                    {"70-150 proof, 40-100 F", 70.0, 150.0, 40.0, 100.0},
                    {"70-150 proof", 70.0, 150.0, 0.0, 120.0},
                    {"below 20 proof", 0.0, 19.99, 0.0, 120.0},
                    {"20-70 proof", 20.0, 69.99, 0.0, 120.0},
                    {"150-190 proof", 150.01, 190.0, 0.0, 120.0},
                    {"above 190 proof", 190.01, 200.0, 0.0, 120.0},
                    {"below 32 F", 0.0, 200.0, 0.0, 31.99}};

struct sweep {
    size_t n_suspect, n_blank, n_unknown; /* unknown: frozen, or beyond the scale */
    struct tally part[N_PARTS];
};

static void sweep_add(struct sweep *sweep, double off, double row, double true_proof, double temp_f)
{
    for (int i = 0; i < N_PARTS; i++)
        if (true_proof >= parts[i].from_proof && true_proof <= parts[i].to_proof &&
            temp_f >= parts[i].from_f && temp_f <= parts[i].to_f)
            tally_add(&sweep->part[i], off, row, temp_f);
}

static void sweep_print(const char *title, const char *unit, const struct sweep *sweep)
{
    print_message("%s, ours less the print, %s\n", title, unit);
    print_message("  left out: %zu suspect, %zu blank, %zu frozen or beyond the scale\n",
                  sweep->n_suspect, sweep->n_blank, sweep->n_unknown);
    for (int i = 0; i < N_PARTS; i++) {
        const struct tally *tally = &sweep->part[i];
        if (tally->n > 0)
            print_message("  %-24s %6zu cells  mean %+.2e  sd %.2e  worst %+.2e (row %g, %g F)\n",
                          parts[i].name, tally->n, mean_of(tally), sd_of(tally), tally->worst,
                          tally->at_row, tally->at_f);
    }
}

/* True when the list names this cell: table, row, and a column or the first words of its name. */
static bool is_suspect(const struct stv_csv *suspects, char table, double row, const char *name)
{
    for (size_t i = 1; i < suspects->n_rows; i++) {
        const char *listed = stv_csv_text(suspects, i, 2);
        size_t n = strcspn(listed, " ");
        if (stv_csv_text(suspects, i, 0)[0] == table && number(suspects, i, 1) == row &&
            strncmp(listed, name, n) == 0 && (name[n] == '\0' || name[n] == '_'))
            return true;
    }
    return false;
}

/* One column of a table whose rows are proofs.  Where the print itself is the true proof of a
 * reading, it says to which part the cell belongs; elsewhere the row does. */
static void sweep_column(const struct stv_csv *csv, const struct stv_csv *suspects, char table,
                         size_t index, double temp_f, double (*ours)(double row, double temp_f),
                         struct sweep *out)
{
    const char *name = stv_csv_text(csv, 0, index);
    for (size_t i = 1; i < csv->n_rows; i++) {
        double row = number(csv, i, 0);
        const char *text = stv_csv_text(csv, i, index);
        if (*text == '\0') {
            out->n_blank++;
        } else if (is_suspect(suspects, table, row, name)) {
            out->n_suspect++;
        } else {
            double print = number_of(text), mine = ours(row, temp_f);
            double true_proof = table == '1' ? print : row;
            if (isnan(mine))
                out->n_unknown++;
            else
                sweep_add(out, mine - print, row, true_proof, temp_f);
        }
    }
}

/* A table of columns F1, F2, ...: temperatures. */
static struct sweep sweep_grid(const char *file, char table, double (*ours)(double, double))
{
    struct sweep sweep = {0};
    struct stv_csv csv, suspects;
    open_table(file, &csv);
    open_table(SUSPECTS, &suspects);
    for (size_t index = 1; index < csv.rows[0].n_cells; index++) {
        const char *name = stv_csv_text(&csv, 0, index);
        assert_int_equal(name[0], 'F');
        sweep_column(&csv, &suspects, table, index, number_of(name + 1), ours, &sweep);
    }
    stv_csv_free(&suspects);
    stv_csv_free(&csv);
    return sweep;
}

static struct sweep sweep_named(const char *file, char table, const char *name,
                                double (*ours)(double, double))
{
    struct sweep sweep = {0};
    struct stv_csv csv, suspects;
    open_table(file, &csv);
    open_table(SUSPECTS, &suspects);
    sweep_column(&csv, &suspects, table, column(&csv, name), 60.0, ours, &sweep);
    stv_csv_free(&suspects);
    stv_csv_free(&csv);
    return sweep;
}

/* Density of spirit of a proof, kg/m3; NaN where there is none. */
static double rho_kg_m3(double us_proof_nd, double temp_f)
{
    struct stv_spirit_at at;
    double p;
    if (stv_mass_frac_from_us_proof(us_proof_nd, &p) != STV_OK ||
        stv_spirit_at(temp_f == 60.0 ? STV_60F_C : stv_c_from_f(temp_f), &at) != STV_OK)
        return NAN;
    return stv_spirit_at_rho_kg_m3(&at, p);
}

static double true_proof_of(double reading, double temp_f)
{
    struct stv_strength_reading shown = {.instrument = STV_HYDROMETER, .reference_c = STV_60F_C};
    double p;
    if (stv_mass_frac_from_us_proof(reading, &shown.mass_frac) != STV_OK ||
        stv_true_mass_frac(&shown, stv_c_from_f(temp_f), &p) != STV_OK)
        return NAN;
    return stv_us_proof_nd(p);
}

static double wine_gal_lb(double us_proof_nd, double temp_f)
{
    double water = rho_kg_m3(0.0, temp_f) - AIR_KG_M3;
    return WATER_GAL_LB * water / (rho_kg_m3(us_proof_nd, temp_f) - AIR_KG_M3);
}

static double proof_gal_lb(double us_proof_nd, double temp_f)
{
    return wine_gal_lb(us_proof_nd, temp_f) * us_proof_nd / 100.0;
}

static double gravity_nd(double us_proof_nd, double temp_f)
{
    return rho_kg_m3(us_proof_nd, temp_f) / rho_kg_m3(0.0, temp_f);
}

static double factor_to_60f(double us_proof_nd, double temp_f)
{
    return rho_kg_m3(us_proof_nd, temp_f) / rho_kg_m3(us_proof_nd, 60.0);
}

static void table_1_true_proof(void **state)
{
    (void)state;
    skip_without_tables();
    struct sweep sweep = sweep_grid("ttb_27cfr30_table1_true_proof.csv", '1', true_proof_of);
    sweep_print("27 CFR 30.61, table 1, true proof", "proof; printed to 0.1; row: reading", &sweep);
    assert_true(sweep.part[WHOLE].n > 17000);
    assert_true(sweep.part[CASKS].n > 4500);
    assert_true(fabs(mean_of(&sweep.part[CASKS])) <= 0.01);
    assert_true(sd_of(&sweep.part[CASKS]) <= 0.05);
}

/* Ours rounded as the print is. */
static double rounded_wine_gal_lb(double us_proof_nd, double temp_f)
{
    return round(1e5 * wine_gal_lb(us_proof_nd, temp_f)) / 1e5;
}

static double rounded_proof_gal_lb(double us_proof_nd, double temp_f)
{
    return round(1e5 * proof_gal_lb(us_proof_nd, temp_f)) / 1e5;
}

/* A column of table 4: rounded as the print is, at most so many units of its last digit away. */
static void check_table_4(const char *name, double (*ours)(double, double),
                          double (*rounded)(double, double), double most_units)
{
    const char *file = "ttb_27cfr30_table4_gal_per_lb.csv";
    struct sweep plain = sweep_named(file, '4', name, ours);
    struct sweep units = sweep_named(file, '4', name, rounded);
    print_message("%s: ", name);
    sweep_print("27 CFR 30.64, table 4", "gal/lb; printed to 1e-5; row: proof", &plain);
    assert_true(plain.part[WHOLE].n > 1900);
    assert_true(plain.part[CASKS].n > 750);
    assert_true(fabs(units.part[CASKS].worst) <= most_units * 1.001e-5);
}

static void table_4_wine_gallons(void **state)
{
    (void)state;
    skip_without_tables();
    check_table_4("wine_gal_per_lb", wine_gal_lb, rounded_wine_gal_lb, 1.0);
}

/* One unit in 797 cells of 798; at 139.5 proof two, where the print multiplies its own rounded wine
 * gallon, a unit above ours, by the proof. */
static void table_4_proof_gallons(void **state)
{
    (void)state;
    skip_without_tables();
    check_table_4("proof_gal_per_lb", proof_gal_lb, rounded_proof_gal_lb, 2.0);
}

static void table_6_specific_gravity(void **state)
{
    (void)state;
    skip_without_tables();
    struct sweep sweep =
        sweep_named("ttb_27cfr30_table6_volumes_sg.csv", '6', "sg_vacuum_60_60F", gravity_nd);
    sweep_print("27 CFR 30.66, table 6, specific gravity in vacuum", "printed to 1e-5; row: proof",
                &sweep);
    assert_true(sweep.part[WHOLE].n > 190);
    assert_true(sweep.part[CASKS].n > 75);
    assert_true(fabs(sweep.part[CASKS].worst) <= 4e-5);
}

static void table_7_volume_factors(void **state)
{
    (void)state;
    skip_without_tables();
    struct sweep sweep = sweep_grid("ttb_27cfr30_table7_volume_correction.csv", '7', factor_to_60f);
    sweep_print("27 CFR 30.67, table 7, volume factor to 60 F", "printed to 1e-3; row: proof",
                &sweep);
    assert_true(sweep.part[WHOLE].n > 1400);
    assert_true(sweep.part[CASKS].n > 450);
    assert_true(fabs(sweep.part[WHOLE].worst) <= 1e-3);
}

/* Regression: densities of R 22 computed apart from this code, mass fraction by temperature. */
static void r22_density_grid(void **state)
{
    (void)state;
    skip_without_tables();
    struct stv_csv csv;
    struct tally tally = {0};
    size_t n_frozen = 0;
    open_table("oiml_r22_density_check_grid.csv", &csv);
    for (size_t index = 1; index < csv.rows[0].n_cells; index++) {
        struct stv_spirit_at at;
        double temp_c = number_of(stv_csv_text(&csv, 0, index) + strlen("t_"));
        stv_assert_ok(stv_spirit_at(temp_c, &at));
        for (size_t i = 1; i < csv.n_rows; i++) {
            double rho = stv_spirit_at_rho_kg_m3(&at, number(&csv, i, 0));
            if (isnan(rho))
                n_frozen++;
            else
                tally_add(&tally, rho - number(&csv, i, index), number(&csv, i, 0), temp_c);
        }
    }
    stv_csv_free(&csv);
    print_message("R 22 densities: %zu cells, %zu frozen, worst %+.1e kg/m3\n", tally.n, n_frozen,
                  tally.worst);
    assert_true(tally.n > 200);
    assert_true(n_frozen < 10);
    assert_true(fabs(tally.worst) <= 1e-3);
}

/* Regression: strengths of R 22 computed apart from this code, every half per cent by volume; with
 * the formula's own density of pure ethanol instead of the printed one, 2e-6 of mass fraction near
 * the top. */
static void r22_strengths(void **state)
{
    (void)state;
    skip_without_tables();
    struct stv_csv csv;
    struct tally mass = {0}, density = {0}, mole = {0}, proof = {0};
    open_table("oiml_r22_abv_check_table.csv", &csv);
    size_t abv_at = column(&csv, "abv20"), mass_at = column(&csv, "p");
    size_t density_at = column(&csv, "rho20"), mole_at = column(&csv, "x");
    size_t proof_at = column(&csv, "proof_us");
    for (size_t i = 1; i < csv.n_rows; i++) {
        double abv = number(&csv, i, abv_at), p;
        stv_assert_ok(stv_mass_frac_from_abv20(abv / 100.0, &p));
        tally_add(&mass, p - number(&csv, i, mass_at), abv, 68.0);
        tally_add(&density, stv_spirit_rho20_kg_m3(p) - number(&csv, i, density_at), abv, 68.0);
        tally_add(&mole, stv_mole_frac_from_mass_frac(p) - number(&csv, i, mole_at), abv, 68.0);
        tally_add(&proof, stv_us_proof_nd(p) - number(&csv, i, proof_at), abv, 68.0);
    }
    stv_csv_free(&csv);
    print_message("R 22 strengths: %zu rows, worst %+.1e of mass fraction, %+.1e kg/m3, %+.1e of "
                  "mole fraction, %+.1e proof\n",
                  mass.n, mass.worst, density.worst, mole.worst, proof.worst);
    assert_true(mass.n > 200);
    assert_true(fabs(mass.worst) <= 3e-6);
    assert_true(fabs(density.worst) <= 1e-3);
    assert_true(fabs(mole.worst) <= 1e-5);
    assert_true(fabs(proof.worst) <= 1e-3);
}

static double total_pa(double x, double temp_c)
{
    struct stv_spirit_vapour at;
    stv_assert_ok(stv_spirit_vapour(x, temp_c, &at));
    return at.ethanol_pa + at.water_pa;
}

/* A file of total pressures at one temperature; column and row name the places. */
static struct tally sweep_isotherm(const char *file, const char *strength, const char *pressure,
                                   double unit_pa, double temp_c)
{
    struct stv_csv csv;
    struct tally tally = {0};
    open_table(file, &csv);
    size_t x_at = column(&csv, strength), p_at = column(&csv, pressure);
    for (size_t i = 1; i < csv.n_rows; i++) {
        double x = number(&csv, i, x_at);
        if (strcmp(strength, "w_ethanol_mass") == 0)
            x = stv_mole_frac_from_mass_frac(x);
        double ours_pa = total_pa(x, temp_c);
        tally_add(&tally, ours_pa / (unit_pa * number(&csv, i, p_at)) - 1.0, x,
                  32.0 + 1.8 * temp_c);
    }
    stv_csv_free(&csv);
    print_message("%s: %zu points, total pressure rms %.2f %%, worst %+.2f %% at x %.5f\n", file,
                  tally.n, 100.0 * rms_of(&tally), 100.0 * tally.worst, tally.at_row);
    return tally;
}

static void vapour_pressures(void **state)
{
    (void)state;
    skip_without_tables();
    struct tally tally =
        sweep_isotherm("vle/pemberton_mash_1978_303K15.csv", "x1_ethanol", "P_kPa", 1000.0, 30.0);
    assert_true(tally.n >= 23 && rms_of(&tally) <= 0.003);
    tally =
        sweep_isotherm("vle/ethanol_water_isotherm_30C.csv", "x1_ethanol", "P_kPa", 1000.0, 30.0);
    assert_true(tally.n >= 25 && rms_of(&tally) <= 0.003);
    tally =
        sweep_isotherm("vle/yang_1979_298K15.csv", "w_ethanol_mass", "P_total_mmHg", MMHG_PA, 25.0);
    assert_true(tally.n >= 9 && rms_of(&tally) <= 0.007);
}

/* Boiling under 760 mmHg, several authors, who differ by a per cent or two among themselves: the
 * pressure that we give at their temperatures. */
static void boiling_at_one_atmosphere(void **state)
{
    (void)state;
    skip_without_tables();
    struct stv_csv csv;
    struct tally tally = {0};
    size_t n_hotter = 0;
    open_table("vle/ethanol_water_isobar_760torr.csv", &csv);
    size_t x_at = column(&csv, "x1_ethanol"), t_at = column(&csv, "T_C");
    for (size_t i = 1; i < csv.n_rows; i++) {
        struct stv_spirit_vapour at;
        double x = number(&csv, i, x_at), temp_c = number(&csv, i, t_at);
        if (stv_spirit_vapour(x, temp_c, &at) != STV_OK)
            n_hotter++;
        else
            tally_add(&tally, (at.ethanol_pa + at.water_pa) / STV_STANDARD_PRESSURE_PA - 1.0, x,
                      32.0 + 1.8 * temp_c);
    }
    stv_csv_free(&csv);
    print_message("boiling at 760 mmHg: %zu points, rms %.2f %%, worst %+.2f %% at x %.4f; %zu "
                  "hotter than 93 C\n",
                  tally.n, 100.0 * rms_of(&tally), 100.0 * tally.worst, tally.at_row, n_hotter);
    assert_true(tally.n >= 20);
    assert_true(rms_of(&tally) <= 0.02);
}

/* Regression: activity coefficients and pressures computed apart from this code. */
static void vapour_check_values(void **state)
{
    (void)state;
    skip_without_tables();
    struct stv_csv csv;
    open_table("vle/recommended_model_check_values.csv", &csv);
    size_t t_at = column(&csv, "T_C"), x_at = column(&csv, "x_ethanol");
    size_t ethanol_at = column(&csv, "p_ethanol_kPa"), water_at = column(&csv, "p_water_kPa");
    size_t gamma_at = column(&csv, "gamma_ethanol"), gamma_water_at = column(&csv, "gamma_water");
    assert_true(csv.n_rows > 60);
    for (size_t i = 1; i < csv.n_rows; i++) {
        double x = number(&csv, i, x_at), temp_c = number(&csv, i, t_at), ethanol, water;
        struct stv_spirit_vapour at;
        stv_assert_ok(stv_spirit_vapour(x, temp_c, &at));
        stv_assert_ok(stv_spirit_ln_gamma(x, temp_c, &ethanol, &water));
        stv_assert_close(at.ethanol_pa / 1000.0, number(&csv, i, ethanol_at), 0.0, 2e-4);
        stv_assert_close(at.water_pa / 1000.0, number(&csv, i, water_at), 0.0, 2e-4);
        stv_assert_close(exp(ethanol), number(&csv, i, gamma_at), 0.0, 2e-5);
        stv_assert_close(exp(water), number(&csv, i, gamma_water_at), 0.0, 2e-5);
    }
    print_message("partial pressures of the model sheet: %zu rows\n", csv.n_rows - 1);
    stv_csv_free(&csv);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(table_1_true_proof),
        cmocka_unit_test(table_4_wine_gallons),
        cmocka_unit_test(table_4_proof_gallons),
        cmocka_unit_test(table_6_specific_gravity),
        cmocka_unit_test(table_7_volume_factors),
        cmocka_unit_test(r22_density_grid),
        cmocka_unit_test(r22_strengths),
        cmocka_unit_test(vapour_pressures),
        cmocka_unit_test(boiling_at_one_atmosphere),
        cmocka_unit_test(vapour_check_values),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
