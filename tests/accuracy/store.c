/* The climates stand here once, with where they come from; a source that names none gets an assumed
 * one, which is never moved after its row was seen. */
#include "tests/accuracy/store.h"

#include "model/spirit.h"

#define ETHANOL_KG_L (STV_ETHANOL_RHO20_KG_M3 / 1000.0)
#define FIRST_YEAR 2001
#define YEAR_H 8760
#define STEP_D 10.0 /* the longest allowed: half the time, the same table */

/* Means and waves: the words say which were stated.  Kentucky is Louisville's typical year through
 * this program's rick house, middle tier and floor, rounded to waves. */
static const struct acc_climate climates[ACC_PLACES] = {
    [ACC_KENTUCKY] = {"K",
                      {14.0, 13.0, 0.5, 0.68, 0.0, 0.0, 0.0},
                      0,
                      "14 +- 13 C, 68 %; assumed: Louisville's typical year in this program's "
                      "unheated rick house, middle tier"},
    [ACC_KENTUCKY_FLOOR] = {"Kf",
                            {12.5, 12.5, 0.5, 0.71, 0.0, 0.0, 0.0},
                            0,
                            "12.5 +- 12.5 C, 71 %; assumed: the same house, floor"},
    [ACC_HOT_DRY] = {"H", {30.0, 0.0, 0.0, 0.35, 0.0, 0.0, 0.0}, 0, "30 C, 35 %; assumed"},
    [ACC_WEST_COAST] = {"W",
                        {9.5, 4.0, 0.0, 0.87, 0.0, 0.0, 0.0},
                        0,
                        "9.5 +- 4 C, 87 %; assumed: Scotland by the sea"},
    [ACC_SCOTLAND] = {"S",
                      {9.5, 4.5, 0.0, 0.82, 0.0, 0.0, 0.0},
                      0,
                      "9.5 +- 4.5 C, 82 %; assumed: Scotland"},
    [ACC_BOTTOM_TIER] = {"Sb",
                         {9.5, 4.5, 0.0, 0.84, 0.0, 0.0, 0.0},
                         0,
                         "9.5 +- 4.5 C, 84 %, no daily wave; assumed: bottom tier, Scotland"},
    [ACC_TOP_TIER] = {"St",
                      {12.0, 6.0, 2.0, 0.66, 0.0, 0.08, 0.0},
                      0,
                      "12 +- 6 C and +- 2 C by day, 66 % and 8 % drier by day; assumed: top tier, "
                      "Scotland"},
    [ACC_CELLAR_DRY] = {"C50",
                        {14.5, 7.5, 0.0, 0.50, 0.0, 0.0, 0.0},
                        1,
                        "7 to 22 C, 40 to 60 %; stated: French cellar"},
    [ACC_CELLAR_MIDDLE] = {"C75",
                           {14.5, 7.5, 0.0, 0.75, 0.0, 0.0, 0.0},
                           1,
                           "7 to 22 C, 70 to 80 %; stated: French cellar"},
    [ACC_CELLAR_HUMID] = {"C95",
                          {14.5, 7.5, 0.0, 0.95, 0.0, 0.0, 0.0},
                          1,
                          "7 to 22 C, 90 to 100 %; stated: French cellar"},
    [ACC_WINE_CELLAR] = {"V",
                         {14.0, 0.0, 0.0, 0.75, 0.0, 0.0, 0.0},
                         0,
                         "14 C, 75 %; assumed: wine cellar"},
    [ACC_WINE_DRY] = {"Vd",
                      {22.0, 0.0, 0.0, 0.40, 0.0, 0.0, 0.0},
                      0,
                      "22 C, 40 %; assumed: dry wine cellar"},
    [ACC_WINE_HUMID] = {"Vh",
                        {12.0, 0.0, 0.0, 0.95, 0.0, 0.0, 0.0},
                        0,
                        "12 C, 95 %; assumed: humid wine cellar"},
    [ACC_WINE_HALL] = {"Va",
                       {18.0, 5.0, 0.0, 0.60, 0.0, 0.0, 0.0},
                       0,
                       "18 +- 5 C, 60 %; assumed: wine stored above ground, California"},
    [ACC_WINE_CAVE] = {"Vc",
                       {14.0, 0.0, 0.0, 0.80, 0.0, 0.0, 0.0},
                       1,
                       "14 C assumed, 70 to 90 % stated: wine cave"},
    [ACC_CALIFORNIA] = {"A",
                        {16.0, 6.0, 0.0, 0.60, 0.0, 0.0, 0.0},
                        0,
                        "16 +- 6 C, 60 %; assumed: California"},
    [ACC_CARIBBEAN] = {"B",
                       {27.0, 2.0, 0.0, 0.77, 0.0, 0.0, 0.0},
                       0,
                       "27 +- 2 C, 77 %; assumed: Caribbean"},
    [ACC_INDIA] = {"I",
                   {27.0, 4.0, 0.0, 0.62, 0.0, 0.0, 0.0},
                   0,
                   "27 +- 4 C, 62 %; assumed: India"},
    [ACC_BRAZIL] = {"Z",
                    {22.0, 3.0, 0.0, 0.70, 0.0, 0.0, 0.0},
                    0,
                    "22 +- 3 C, 70 %; assumed: Brazil"},
    [ACC_TRADE_COOL] = {"cool",
                        {10.0, 0.0, 0.0, 0.82, 0.0, 0.0, 0.0},
                        1,
                        "10 C, 82 %; stated as 80 to 85 %"},
    [ACC_TRADE_HOT] = {"hot",
                       {22.5, 0.0, 0.0, 0.60, 0.0, 0.0, 0.0},
                       1,
                       "22.5 C, 60 %; stated as 20 to 25 C, 55 to 65 %"},
    [ACC_STEADY_COOL] = {"10", {10.0, 0.0, 0.0, 0.65, 0.0, 0.0, 0.0}, 1, "10 C, 65 %"},
    [ACC_STEADY] = {"20", {20.0, 0.0, 0.0, 0.65, 0.0, 0.0, 0.0}, 1, "20 C, 65 %"},
    [ACC_SWINGING] = {"20~",
                      {20.0, 0.0, 8.0, 0.65, 0.0, 0.0, 0.0},
                      1,
                      "20 C, +- 8 C every day, 65 %"},
    [ACC_STEADY_WARM] = {"30", {30.0, 0.0, 0.0, 0.65, 0.0, 0.0, 0.0}, 1, "30 C, 65 %"},
};

const struct acc_climate *acc_climate_of(enum acc_place place)
{
    return &climates[place];
}

static int64_t day_at(double age_y)
{
    return day_of(FIRST_YEAR, 1, 1) + (int64_t)llround(age_y * STV_YEAR_D);
}

/* Fill, then empty and fill again as often as is said. */
static void tell_events(const struct acc_filling *filling, int cask_idx, struct stv_event *events,
                        size_t *row)
{
    for (size_t n = 0; n <= filling->n_refills; n++) {
        int64_t day_d = day_at((double)n * filling->refill_y);
        if (n > 0) {
            events[*row] = event_new(day_d, STV_EVENT_EMPTY, cask_idx, *row);
            (*row)++;
        }
        events[*row] = fill_new(day_d, cask_idx, filling->fill_l, filling->abv20_frac, *row);
        events[*row].is_soaked = filling->is_soaked;
        (*row)++;
    }
}

struct acc_casks acc_run(const struct acc_filling *filling, const double *ages_y, size_t n_ages,
                         size_t n_draws)
{
    const struct acc_climate *climate = acc_climate_of(filling->place);
    struct stv_position place = place_new(FIRST_YEAR, YEAR_H, 0, &climate->wave);
    place.error =
        climate->is_stated ? stv_climate_error_logger(&usual) : stv_climate_error_weather(&usual);
    size_t n_events = filling->n_casks * (2 * filling->n_refills + 1), row = 0;
    struct stv_cask *casks = calloc(filling->n_casks, sizeof *casks);
    struct stv_event *events = calloc(n_events, sizeof *events);
    int64_t *days_d = calloc(n_ages, sizeof *days_d);
    assert_true(casks && events && days_d);
    for (size_t c = 0; c < filling->n_casks; c++) {
        char id[STV_ID_MAX];
        snprintf(id, sizeof id, "%zu", c);
        casks[c] = cask_new(id, filling->capacity_l);
        casks[c].history = filling->history;
        tell_events(filling, (int)c, events, &row);
    }
    for (size_t i = 0; i < n_ages; i++)
        days_d[i] = day_at(ages_y[i]);
    struct stv_ledger ledger = {casks, filling->n_casks, events, n_events};
    stv_assert_ok(stv_ledger_sort(&ledger));
    double exposed_frac = 1.0;
    struct stv_position_set set = {&place, 1, &exposed_frac, 0, 0};
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request request = {
        .ledger = &ledger,
        .set = &set,
        .rules = &rules,
        .options = {.seed = ACC_SEED, .n_draws = n_draws, .step_d = STEP_D},
        .days_d = days_d,
        .n_days = n_ages,
        .numbers = &usual};
    struct acc_casks out = {.fill_l = filling->fill_l,
                            .fill_lpa_l = filling->fill_l * filling->abv20_frac};
    stv_assert_ok(stv_outlook_run(&request, &out.outlook));
    out.n_draws = out.outlook.n_draws;
    free(casks);
    free(events);
    free(days_d);
    place_end(&place);
    return out;
}

void acc_casks_free(struct acc_casks *casks)
{
    stv_outlook_free(&casks->outlook);
}

/* Value of one cask; 0 when it is dry. */
static double value_of(const struct acc_casks *casks, size_t cask_idx, size_t age_idx,
                       enum stv_quantity quantity, size_t draw_idx)
{
    double value = stv_outlook_draws(&casks->outlook, cask_idx, age_idx, quantity)[draw_idx];
    return isnan(value) ? 0.0 : value;
}

double acc_amount(const struct acc_casks *casks, size_t age_idx, enum stv_quantity quantity,
                  size_t draw_idx)
{
    double sum = 0.0;
    for (size_t c = 0; c < casks->outlook.n_casks; c++)
        sum += value_of(casks, c, age_idx, quantity, draw_idx);
    return sum / (double)casks->outlook.n_casks;
}

double acc_abv20_frac(const struct acc_casks *casks, size_t age_idx, size_t draw_idx)
{
    return acc_amount(casks, age_idx, STV_Q_LPA_L, draw_idx) /
           acc_amount(casks, age_idx, STV_Q_VOLUME20_L, draw_idx);
}

double acc_log_ratio(const struct acc_casks *casks, size_t age_idx, size_t draw_idx)
{
    double ethanol_kg[2], water_kg[2];
    stv_assert_ok(stv_spirit_masses_kg(casks->fill_l, casks->fill_lpa_l / casks->fill_l,
                                       &ethanol_kg[0], &water_kg[0]));
    if (stv_spirit_masses_kg(acc_amount(casks, age_idx, STV_Q_VOLUME20_L, draw_idx),
                             acc_abv20_frac(casks, age_idx, draw_idx), &ethanol_kg[1],
                             &water_kg[1]) != STV_OK)
        return NAN;
    return log(water_kg[0] / water_kg[1]) / log(ethanol_kg[0] / ethanol_kg[1]);
}

double acc_oak_mg(const struct acc_casks *casks, size_t age_idx, size_t draw_idx)
{
    double sum = 0.0;
    for (size_t c = 0; c < casks->outlook.n_casks; c++)
        sum += value_of(casks, c, age_idx, STV_Q_OAK_MG_PER_LPA_L, draw_idx) *
               value_of(casks, c, age_idx, STV_Q_LPA_L, draw_idx);
    return sum / (double)casks->outlook.n_casks;
}

struct acc_wood_loss acc_wood_loss(const struct acc_casks *casks, size_t age_idx, size_t draw_idx)
{
    /* Joints take the liquid as it is, so their water follows from their ethanol by the strength,
     * here the mean of the first and the last. */
    double joint_lpa_l = acc_amount(casks, age_idx, STV_Q_JOINT_LPA_L, draw_idx);
    double mass_ratio = 0.0;
    double strengths[2] = {casks->fill_lpa_l / casks->fill_l,
                           acc_abv20_frac(casks, age_idx, draw_idx)};
    for (int i = 0; i < 2; i++) {
        double ethanol_kg, water_kg;
        stv_assert_ok(stv_spirit_masses_kg(1.0, strengths[i], &ethanol_kg, &water_kg));
        mass_ratio += 0.5 * water_kg / ethanol_kg;
    }
    double joint_ethanol_kg = joint_lpa_l * ETHANOL_KG_L;
    return (struct acc_wood_loss){
        .ethanol_kg = acc_amount(casks, age_idx, STV_Q_AIR_LPA_L, draw_idx) * ETHANOL_KG_L,
        .water_kg = acc_amount(casks, age_idx, STV_Q_WATER_LOST_KG, draw_idx) -
                    mass_ratio * joint_ethanol_kg,
    };
}
