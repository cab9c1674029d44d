/* What an answer rests on.  Facts first: the weather, the loggers, the casks or the building; how
 * each was come by is told when it is asked for; what wants heed is told whenever there is any. */
#include "cli/words.h"

#include "cli/chain_cask_learning.h"
#include "cli/chain_gaps.h"
#include "cli/chain_learned.h"
#include "cli/parameters.h"
#include "cli/prose.h"
#include "ingest/quality.h"
#include "model/units.h"

#include <math.h>
#include <string.h>

#define NOTED_HOLES_FRAC 0.005
#define BEYOND_LISTED 3
/* Of fewer, the twentieth that a range leaves out at each end is less than one trial. */
#define TRIALS_LEAST 20

/* Where each kind of sentence goes; what is not asked for, aside. */
struct parts {
    struct stv_text *facts, *details, *heed;
};

static const char *const weather_columns[STV_WC_N] = {[STV_WC_TEMP_C] = "hourly temperature",
                                                      [STV_WC_VAPOUR_PA] = "humidity",
                                                      [STV_WC_PRESSURE_PA] = "pressure",
                                                      [STV_WC_WIND_M_S] = "hourly wind",
                                                      [STV_WC_GHI_W_M2] = "sun",
                                                      [STV_WC_DNI_W_M2] = "beam of the sun",
                                                      [STV_WC_DHI_W_M2] = "diffuse sun",
                                                      [STV_WC_SKY_W_M2] = "heat from the sky"};

static double measured_share(const struct stv_chain *chain)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < chain->book.n_warehouses; i++)
        for (size_t k = 0; k < chain->warehouses[i].n_tiers; k++, n++)
            sum += chain->warehouses[i].positions[k].measured_frac;
    return n ? sum / (double)n : 0.0;
}

/* Hours that were missing in columns that the file has, and what stands in them. */
static void add_weather_holes(struct stv_text *text, const struct stv_weather *weather)
{
    struct stv_text columns = {0};
    for (int i = 0; i < STV_WC_N; i++) {
        double missing_frac = (double)weather->n_filled[i] / (double)weather->grid.n;
        if (weather->origin[i] == STV_ORIGIN_MEASURED && missing_frac > NOTED_HOLES_FRAC)
            stv_text_format(&columns, "%s%s %s %%", columns.n ? ", " : "", weather_columns[i],
                            stv_format_number(100.0 * missing_frac, 0).text);
    }
    if (columns.n)
        stv_prose_wrap(text, 2,
                       "Weather: hours that are missing in the file and filled in: %s. Up to 6 h "
                       "by a straight line, up to 10 days by the same hours of the days beside, "
                       "longer by the mean of that hour of that day in other years; sun and sky "
                       "from what they derive from.",
                       stv_text_string(&columns));
    text->has_failed = text->has_failed || columns.has_failed;
    stv_text_free(&columns);
}

void stv_words_made_up_days(struct stv_text *text, const struct stv_chain *chain, size_t indent)
{
    const struct stv_weather_record *record = &chain->record;
    struct stv_weather_hole hole = {0};
    while (stv_weather_next_hole(record, &hole)) {
        int64_t first_d = stv_grid_local_day(&record->grid, hole.from, NULL);
        int64_t last_d = stv_grid_local_day(&record->grid, hole.from + hole.n - 1, NULL);
        stv_prose_wrap(text, indent,
                       "Weather: no temperature from %s to %s (%.0f h): made up, the mean of the "
                       "same hours of those days in its other years; what that time was like of "
                       "its own is not in the answer.",
                       stv_format_day(first_d).text, stv_format_day(last_d).text,
                       (double)hole.n * (double)record->grid.step_s / STV_HOUR_S);
    }
}

void stv_words_study_made_up(struct stv_text *text, const struct stv_problems *problems,
                             size_t indent)
{
    for (size_t i = 0; i < problems->n; i++)
        if (strcmp(problems->items[i].rule, STV_RULE_HOLE) == 0)
            stv_prose_wrap(text, indent,
                           "%s: %s; what that time was like of its own is not in the answer.",
                           problems->items[i].file, problems->items[i].message);
}

void stv_words_day_taken(struct stv_text *text, const struct stv_chain *chain)
{
    if (chain->as_of_table)
        stv_prose_wrap(
            text, 2,
            "Today is taken as %s, the latest row of %s: `as_of:` in book.yaml or --date "
            "names another.",
            stv_format_day(chain->as_of_day_d).text, chain->as_of_table);
}

static void add_weather(const struct parts *to, const struct stv_chain *chain)
{
    if (!chain->has_weather) {
        stv_prose_wrap(to->facts, 2, "No weather file: only what the loggers measured.");
        return;
    }
    const struct stv_grid *grid = &chain->weather.grid;
    const char *source = chain->weather_meta.source;
    double n_years = (double)grid->n / (24.0 * 365.25);
    const char *slash = strrchr(chain->book.weather.path, '/');
    const char *name = slash ? slash + 1 : chain->book.weather.path;
    if (grid->is_typical)
        stv_prose_wrap(to->heed, 2,
                       "Weather: %s%s%s, a typical year without a calendar year. It says nothing "
                       "of how years differ.",
                       name, source[0] ? ", " : "", source);
    else
        stv_prose_wrap(to->facts, 2, "Weather: %s%s%s%s%s, %s years from %s.", name,
                       chain->book.weather.station[0] ? ", " : "", chain->book.weather.station,
                       source[0] ? ", " : "", source, stv_format_number(n_years, 1).text,
                       stv_format_day(stv_grid_first_day(grid)).text);
    if (chain->weather_meta.how[0])
        stv_prose_wrap(to->details, 4, "%s", chain->weather_meta.how);
    for (int i = 0; i < STV_WC_N; i++)
        if (chain->weather.origin[i] != STV_ORIGIN_MEASURED && chain->weather.method[i])
            stv_prose_wrap(to->details, 4, "%s: %s", weather_columns[i], chain->weather.method[i]);
    add_weather_holes(to->heed, &chain->weather);
    stv_words_made_up_days(to->heed, chain, 2);
}

static size_t count_met_loggers(const struct stv_chain *chain)
{
    size_t n = 0;
    for (size_t i = 0; i < chain->book.n_loggers; i++)
        n += chain->logger_reports[i].n_used > 0;
    return n;
}

/* How air gets in, as the building says it: by a said change of its own volume, or by openings. */
static void add_air(struct stv_text *line, const struct stv_building *building)
{
    if (!isnan(building->zone.air_change_per_h))
        stv_text_format(line, "%s changes of its air an hour",
                        stv_format_number(building->zone.air_change_per_h, 2).text);
    else
        stv_text_format(line, "%s m2 of leaks and %s m2 of open vents",
                        stv_format_number(building->leak_area_m2, 2).text,
                        stv_format_number(building->vent_low_m2 + building->vent_high_m2, 2).text);
    if (building->night_air_change_per_h > 0.0)
        stv_text_format(line, ", a fan of %s changes an hour",
                        stv_format_number(building->night_air_change_per_h, 1).text);
}

static void add_run_as(struct stv_text *text, const struct stv_warehouse *warehouse)
{
    const struct stv_building *building = &warehouse->building;
    struct stv_text air = {0};
    add_air(&air, building);
    stv_prose_wrap(text, 2,
                   "%s is run as %s x %s m under eaves at %s m, %s casks stored, %s. Size, stock "
                   "and openings move the answer more than anything else: say yours.",
                   warehouse->name, stv_format_number(building->length_m, 1).text,
                   stv_format_number(building->width_m, 1).text,
                   stv_format_number(building->eaves_height_m, 1).text,
                   stv_format_number(building->n_casks, 0).text, stv_text_string(&air));
    text->has_failed = text->has_failed || air.has_failed;
    stv_text_free(&air);
}

/* What the kind filled in, and the sizes that move the answer most; of casks, these are details. */
static void add_buildings(const struct parts *to, const struct stv_chain *chain, bool has_casks)
{
    for (size_t i = 0; i < chain->book.n_warehouses; i++) {
        const struct stv_warehouse *warehouse = &chain->book.warehouses[i];
        if (!chain->has_weather)
            continue;
        if (warehouse->filled_in[0])
            stv_prose_wrap(to->details, 2, "%s: not said, so taken from the kind: %s.",
                           warehouse->name, warehouse->filled_in);
        add_run_as(has_casks ? to->details : to->facts, warehouse);
    }
}

/* Hours that a logger wrote without measuring: missing, and said wherever they would have counted.
 */
static void add_dead(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t i = 0; i < chain->problems.n; i++) {
        const struct stv_problem *problem = &chain->problems.items[i];
        if (strcmp(problem->rule, STV_RULE_DEAD) == 0)
            stv_prose_wrap(text, 2, "Not measured: %s, from line %zu on: %s.", problem->file,
                           problem->row, problem->message);
    }
}

static void add_loggers(const struct parts *to, const struct stv_chain *chain)
{
    double share = measured_share(chain);
    if (chain->book.n_loggers == 0)
        stv_prose_wrap(to->heed, 2,
                       "No logger: the air at each tier comes from the building's description "
                       "alone, and a cask may lie a degree or two off it.");
    else if (count_met_loggers(chain) == 0)
        stv_prose_wrap(to->heed, 2,
                       "%s, of which none shares an hour with the weather: not used. The air at "
                       "each tier comes from the building's description alone.",
                       stv_format_count(chain->book.n_loggers, "logger", "loggers").text);
    else
        stv_prose_wrap(to->facts, 2, "%s: %s %% of the tiers' hours were measured.",
                       stv_format_count(count_met_loggers(chain), "logger", "loggers").text,
                       stv_format_number(share * 100.0, 0).text);
    add_dead(to->heed, chain);
    stv_words_gaps_bridged(to->details, chain);
    stv_words_gaps_heed(to->heed, chain);
    if (chain->book.n_loggers || chain->learned.n_racks) {
        stv_words_sources(to->details, chain);
        stv_words_sources_heed(to->heed, chain);
    }
}

/* What lies outside of what the model or the record knows; all in `check`. */
static void add_beyond(struct stv_text *text, const struct stv_chain *chain)
{
    size_t n = 0;
    for (size_t i = 0; i < chain->problems.n; i++) {
        const struct stv_problem *problem = &chain->problems.items[i];
        if (strcmp(problem->rule, STV_RULE_BEYOND) == 0 && n++ < BEYOND_LISTED)
            stv_prose_wrap(text, 2, "BEYOND WHAT IS KNOWN: %s%s%s%s",
                           problem->found[0] ? "cask " : "", problem->found,
                           problem->found[0] ? ": " : "", problem->message);
    }
    if (n > BEYOND_LISTED)
        stv_prose_wrap(text, 2, "... and %zu more of that kind: `stavecast check` lists them.",
                       n - BEYOND_LISTED);
}

static void add_casks(const struct parts *to, const struct stv_chain *chain)
{
    stv_words_day_taken(to->heed, chain);
    add_beyond(to->heed, chain);
    stv_words_learned_casks(to->facts, chain);
    stv_words_learned_casks_heed(to->heed, chain);
    if (chain->run.n_draws == 0)
        stv_prose_wrap(to->heed, 2, "One run with the default numbers: no ranges (--draws 0).");
    else if (chain->run.n_draws < TRIALS_LEAST)
        stv_prose_wrap(to->heed, 2,
                       "%s: too few for a range (--draws). The number in front is the middle one; "
                       "the brackets are what these gave, and the truth may well lie outside.",
                       stv_format_count(chain->run.n_draws, "trial", "trials").text);
    else
        stv_prose_wrap(to->facts, 2,
                       "%zu trials; the number in front is the middle one, 9 in 10 lie within the "
                       "brackets.",
                       chain->run.n_draws);
    stv_prose_wrap(to->details, 2,
                   "What the wood gives and what the joints lose is judgement until gauges and "
                   "noses say more (`--parameters` lists every number).");
    if (chain->run.n_draws > 0)
        stv_prose_wrap(to->details, 2,
                       "What nobody knows of a single cask is drawn by its id: a cask with another "
                       "id draws anew, and a sum over the house moves by what so many trials leave "
                       "open.");
    stv_prose_wrap(to->details, 2,
                   "Days after the weather record run through its years over again.");
}

void stv_words_rests_on_with(struct stv_text *text, const struct stv_chain *chain, bool has_casks,
                             const struct stv_text *own)
{
    struct stv_text body = {0}, aside = {0};
    const struct parts to = {chain->basis == STV_BASIS_HEED ? &aside : &body,
                             chain->basis == STV_BASIS_ALL ? &body : &aside, &body};
    add_weather(&to, chain);
    add_loggers(&to, chain);
    add_buildings(&to, chain, has_casks);
    stv_parameters_words(to.heed, &chain->book);
    if (has_casks)
        add_casks(&to, chain);
    if (own)
        stv_text_add(&body, stv_text_string(own));
    if (chain->basis == STV_BASIS_FACTS)
        stv_prose_wrap(&body, 2, "How each was come by: --explain.");
    if (has_casks)
        stv_words_market_beside(text, chain);
    if (body.n)
        stv_prose_heading(text, "Rests on");
    stv_text_add(text, stv_text_string(&body));
    text->has_failed = text->has_failed || body.has_failed || aside.has_failed;
    stv_text_free(&body);
    stv_text_free(&aside);
}

void stv_words_rests_on(struct stv_text *text, const struct stv_chain *chain, bool has_casks)
{
    stv_words_rests_on_with(text, chain, has_casks, NULL);
}
