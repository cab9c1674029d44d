/* First part of the chain: everything that lies in files, read and checked. */
#include "cli/chain.h"
#include "cli/chain_cask_learning.h"
#include "cli/chain_doubts.h"

#include "ingest/quality.h"
#include "model/calendar.h"
#include "model/units.h"
#include "model/yard.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define MOST_PAST_BOOK_D (100 * 366)
#define CLOCK_LEAST_S INT64_C(1735689600) /* start of 2025 */

static void copy_text(char *to, size_t size, const char *from)
{
    size_t length = strlen(from);
    if (length > size - 1)
        length = size - 1;
    memcpy(to, from, length);
    to[length] = '\0';
}

static void count_attention(struct stv_chain *chain)
{
    chain->needs_attention |= chain->problems.n_by_severity[STV_SET_ASIDE] > 0 ||
                              chain->problems.n_by_severity[STV_SUSPECT] > 0 ||
                              chain->problems.n_by_severity[STV_REFUSED] > 0;
}

/* Loggers beside each other, and beside the air outdoors where it was that of the same days. */
static enum stv_status compare_loggers(struct stv_chain *chain)
{
    const struct stv_book *book = &chain->book;
    const struct stv_weather_record *record = &chain->record;
    struct stv_quality_logger *side_by_side = calloc(book->n_loggers + 1, sizeof *side_by_side);
    size_t n = 0;
    if (!side_by_side)
        return STV_E_MEMORY;
    for (size_t i = 0; i < book->n_loggers; i++)
        if (chain->loggers[i].grid.n > 0)
            side_by_side[n++] =
                (struct stv_quality_logger){book->loggers[i].path, book->loggers[i].sensor,
                                            &chain->loggers[i], chain->logger_reports[i].marks};
    bool has_outdoors = chain->has_weather && !record->grid.is_typical &&
                        record->grid.step_s == STV_HOUR_S && record->columns[STV_WQ_TEMP_C];
    enum stv_status status = stv_quality_check_neighbours(
        side_by_side, n, &record->grid, has_outdoors ? record->columns[STV_WQ_TEMP_C] : NULL,
        &chain->problems);
    free(side_by_side);
    return status;
}

/* A book made of a weather file and a kind of building: one warehouse and no casks. */
static enum stv_status bare_book(const struct stv_request *request, struct stv_chain *chain)
{
    struct stv_book *book = &chain->book;
    enum stv_building_kind kind;
    if (!request->building_kind ||
        stv_building_kind_from_name(request->building_kind, &kind) != STV_OK) {
        stv_problem_add(&chain->problems, STV_REFUSED, "--building", 0, 0, request->building_kind,
                        "a weather file alone needs a kind of building: --building \"dunnage\", "
                        "\"racked shed\", \"rick house\", \"palletised store\" or \"plain zone\"");
        return STV_E_USAGE;
    }
    book->rules = stv_house_rules_default();
    book->params = stv_params_default();
    book->numbers = stv_cask_numbers_default();
    book->gauge_numbers = stv_gauge_numbers_default();
    book->gaps = stv_gap_rules_default();
    book->as_of_day_d = INT64_MIN;
    book->warehouses = calloc(1, sizeof *book->warehouses);
    if (!book->warehouses)
        return STV_E_MEMORY;
    book->n_warehouses = 1;
    struct stv_warehouse *warehouse = &book->warehouses[0];
    copy_text(warehouse->name, sizeof warehouse->name, stv_building_kind_name(kind));
    copy_text(warehouse->filled_in, sizeof warehouse->filled_in, "everything but the kind");
    enum stv_status status =
        stv_building_of_kind(kind, request->n_tiers, 0, 0, &warehouse->building);
    if (status != STV_OK) {
        stv_problem_add(&chain->problems, STV_REFUSED, "--tiers", 0, 0, NULL,
                        "at most %d tiers can be modelled", STV_TIERS_MAX);
        return status == STV_E_DOMAIN ? STV_E_USAGE : status;
    }
    warehouse->by_hand_tiers = warehouse->with_lift_tiers = warehouse->building.n_tiers;
    copy_text(book->weather.path, sizeof book->weather.path, request->weather_path);
    book->has_weather = true;
    if (request->station)
        copy_text(book->weather.station, sizeof book->weather.station, request->station);
    if (request->clock)
        copy_text(book->weather.meta.clock, sizeof book->weather.meta.clock, request->clock);
    return STV_OK;
}

/* The command line's position wins; what it leaves out is the file's own. */
static void override_site(const struct stv_request *request, struct stv_site_position *site)
{
    if (isfinite(request->latitude_deg))
        site->latitude_deg = request->latitude_deg;
    if (isfinite(request->longitude_deg))
        site->longitude_deg = request->longitude_deg;
    if (isfinite(request->elevation_m))
        site->elevation_m = request->elevation_m;
}

static enum stv_status read_weather(const struct stv_request *request, struct stv_chain *chain)
{
    struct stv_weather_source *source = &chain->book.weather;
    stv_book_weather_fallbacks(&chain->book, source);
    if (isfinite(request->latitude_deg) && isfinite(request->longitude_deg) &&
        isfinite(request->elevation_m)) {
        source->meta.has_site = true;
        override_site(request, &source->meta.site);
    }
    enum stv_status status =
        stv_weather_read(source, &chain->problems, &chain->record, &chain->weather_meta);
    if (status != STV_OK)
        return status;
    chain->has_weather = true;
    chain->record.site = chain->weather_meta.site;
    override_site(request, &chain->record.site);
    return STV_OK;
}

/* A day after now, whatever the zone, or after the book's own day where that is later; no bound
 * while the computer's clock has lost its date. */
static int64_t latest_row_s(const struct stv_chain *chain)
{
    int64_t now_s = (int64_t)time(NULL);
    int64_t book_s = chain->as_of_day_d == INT64_MIN ? INT64_MIN : chain->as_of_day_d * STV_DAY_S;
    now_s = now_s > book_s ? now_s : book_s;
    return now_s > CLOCK_LEAST_S ? now_s + 2 * STV_DAY_S : INT64_MAX;
}

static enum stv_status read_loggers(bool keep_going, struct stv_chain *chain)
{
    size_t n = chain->book.n_loggers;
    int64_t latest_s = latest_row_s(chain);
    enum stv_status worst = STV_OK;
    chain->loggers = calloc(n + 1, sizeof *chain->loggers);
    chain->logger_reports = calloc(n + 1, sizeof *chain->logger_reports);
    if (!chain->loggers || !chain->logger_reports)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        struct stv_logger_source *source = &chain->book.loggers[i];
        source->latest_s = latest_s;
        enum stv_status status =
            stv_logger_file_read(source, chain->book.clock.standard_offset_min, &chain->problems,
                                 &chain->loggers[i], &chain->logger_reports[i]);
        chain->loggers[i].place = source->place;
        if (status != STV_OK)
            worst = status;
    }
    return keep_going && worst != STV_E_MEMORY ? STV_OK : worst;
}

static void say_yard(struct stv_chain *chain, const char *path, enum stv_status status,
                     const struct stv_yard_report *report)
{
    if (status == STV_E_NO_DATA) {
        stv_problem_add(
            &chain->problems, STV_NOTED, path, 0, 0, NULL,
            "outdoor logger: not used to correct the weather, which wants hourly weather "
            "of real dates and ten days in common (it has %zu hours)",
            report->n_common_h);
        return;
    }
    char left[96] = "";
    if (isfinite(report->after_k))
        snprintf(left, sizeof left,
                 "; each month predicted from the others they differ by %.1f K instead of %.1f",
                 report->after_k, report->before_k);
    stv_problem_add(
        &chain->problems, STV_NOTED, path, 0, 0, NULL,
        "outdoor logger: its %zu hours stand for the weather's, which is moved by %+.1f "
        "K on average elsewhere (%+.1f to %+.1f by season and hour)%s",
        report->n_replaced_h, report->mean_k, report->least_k, report->most_k, left);
}

/* The first logger outdoors that says anything corrects the weather; others are only checked. */
static enum stv_status correct_weather(struct stv_chain *chain)
{
    bool is_done = !chain->has_weather;
    for (size_t i = 0; i < chain->book.n_loggers; i++) {
        const struct stv_logger_hours *hours = &chain->loggers[i];
        const char *path = chain->book.loggers[i].path;
        if (hours->place.warehouse_idx >= 0 || hours->grid.n == 0)
            continue;
        if (is_done) {
            stv_problem_add(&chain->problems, STV_NOTED, path, 0, 0, NULL,
                            "outdoor logger: read and checked, but not used: %s",
                            chain->has_weather ? "another corrects the weather already"
                                               : "there is no weather that it could correct");
            continue;
        }
        struct stv_yard_report report;
        const struct stv_yard yard = {hours->grid, hours->air_c, hours->rh_frac};
        enum stv_status status = stv_weather_correct_by_yard(&chain->record, &yard, &report);
        if (status != STV_OK && status != STV_E_NO_DATA)
            return status;
        say_yard(chain, path, status, &report);
        is_done = status == STV_OK;
    }
    return STV_OK;
}

void stv_chain_take_noses(struct stv_chain *chain)
{
    struct stv_book *book = &chain->book;
    const struct stv_learned_casks *learned = &chain->learned_casks;
    if (learned->n_verdicts_of_noses == 0 || book->wood_from == STV_WOOD_BOOK)
        return;
    book->wood_from = STV_WOOD_LEARNED;
    book->rules.wood_least_nd = exp(learned->ready_ln_nd[0]);
    book->rules.wood_most_nd = exp(learned->ready_ln_nd[1]);
}

/* Casks learned from gauges after the day of the answers would tell what nobody knew then. */
static void leave_hindsight(struct stv_chain *chain)
{
    int64_t learned_d = chain->learned_casks.as_of_day_d;
    bool knows_later = false;
    for (size_t g = 0; chain->learned_casks.posterior.n_casks && g < chain->book.n_gauges; g++) {
        const struct stv_gauge *gauge = &chain->book.gauges[g];
        knows_later |= gauge->day_d > chain->as_of_day_d && gauge->day_d <= learned_d;
    }
    if (!knows_later)
        return;
    chain->hindsight_d = learned_d;
    stv_chain_forget_casks(chain);
}

/* The last day of which the book's rows speak; INT64_MIN without any. */
static int64_t last_row_d(const struct stv_book *book)
{
    int64_t last_d = INT64_MIN;
    for (size_t e = 0; e < book->ledger.n_events; e++)
        last_d = book->ledger.events[e].day_d > last_d ? book->ledger.events[e].day_d : last_d;
    for (size_t i = 0; i < book->n_gauges; i++)
        last_d = book->gauges[i].day_d > last_d ? book->gauges[i].day_d : last_d;
    return last_d;
}

/* Beyond what is known an answer says so; a day a lifetime of casks away is a slip of the pen. */
static enum stv_status ask_day(struct stv_chain *chain, bool is_typed)
{
    int64_t last_d = last_row_d(&chain->book);
    if (last_d == INT64_MIN || chain->as_of_day_d <= last_d + MOST_PAST_BOOK_D)
        return STV_OK;
    struct stv_date last = stv_date_from_day(last_d);
    stv_problem_add(&chain->problems, STV_REFUSED, is_typed ? "--date" : "book.yaml", 0, 0, NULL,
                    "%s must lie within 100 years of the book's last row, which is of "
                    "%d-%02d-%02d: is the year right?",
                    is_typed ? "the day" : "as_of:", last.year, last.month, last.day);
    return is_typed ? STV_E_USAGE : STV_E_PARSE;
}

enum stv_status stv_chain_read(const struct stv_request *request, struct stv_chain *chain)
{
    *chain = (struct stv_chain){
        .run = {.seed = request->seed,
                .n_draws = request->n_draws,
                .step_d = request->step_d,
                .warming_k_per_y = request->warming_k_per_y},
        .as_of_day_d = INT64_MIN,
        .hindsight_d = INT64_MIN,
        .despite_holes = request->despite_holes,
        .basis = request->basis,
        .is_as_if_never_gauged = request->forgets_casks,
    };
    if (request->cache_folder[0])
        stv_kept_folder_open(request->cache_folder, &chain->cache);
    chain->kept = stv_kept_tables_new(chain->cache.path[0] ? &chain->cache.store : NULL);
    stv_problems_init(&chain->problems);
    enum stv_status status;
    if (request->book_folder)
        status = stv_book_read(request->book_folder, request->keep_going, &chain->problems,
                               &chain->book);
    else
        status = bare_book(request, chain);
    chain->as_of_day_d =
        request->date_day_d != INT64_MIN ? request->date_day_d : chain->book.as_of_day_d;
    if (request->date_day_d == INT64_MIN)
        chain->as_of_table = chain->book.as_of_table;
    if (status == STV_OK)
        status = ask_day(chain, request->date_day_d != INT64_MIN);
    if (status == STV_OK)
        status = stv_lineage_new(&chain->book.ledger, chain->as_of_day_d, &chain->lineage);
    if (status == STV_OK && chain->book.has_weather)
        status = read_weather(request, chain);
    if (status == STV_OK)
        status = read_loggers(request->keep_going, chain);
    if (status == STV_OK)
        status = compare_loggers(chain);
    if (status == STV_OK)
        status = correct_weather(chain);
    if (status == STV_OK && request->book_folder && !request->forgets_racks)
        status = stv_learned_read(&chain->book, &chain->problems, &chain->learned);
    if (status == STV_OK && request->book_folder && !request->forgets_casks)
        status = stv_learned_casks_read(&chain->book, &chain->problems, &chain->learned_casks);
    if (status == STV_OK)
        leave_hindsight(chain);
    if (status == STV_OK)
        stv_chain_take_noses(chain);
    if (status == STV_OK)
        status = stv_chain_doubts(chain);
    count_attention(chain);
    return status;
}

static void free_warehouse(struct stv_chain_warehouse *warehouse)
{
    for (size_t p = 0; p < warehouse->n_positions; p++)
        stv_position_free(&warehouse->positions[p]);
    free(warehouse->positions);
    stv_building_climate_free(&warehouse->climate);
}

void stv_chain_free(struct stv_chain *chain)
{
    stv_kept_tables_free(chain->kept);
    stv_kept_folder_close(&chain->cache, STV_KEPT_FOLDER_MOST);
    for (size_t w = 0; chain->warehouses && w < chain->book.n_warehouses; w++)
        free_warehouse(&chain->warehouses[w]);
    free(chain->warehouses);
    for (size_t i = 0; chain->told && i < chain->learned.n_racks; i++) {
        free(chain->told[i].air_c);
        free(chain->told[i].rh_frac);
    }
    free(chain->told);
    stv_rack_sun_free(&chain->sun);
    stv_learned_free(&chain->learned);
    stv_learned_casks_free(&chain->learned_casks);
    free(chain->flat_positions);
    free(chain->flat_exposed_frac);
    for (size_t i = 0; chain->loggers && i < chain->book.n_loggers; i++)
        stv_logger_hours_free(&chain->loggers[i]);
    free(chain->loggers);
    for (size_t i = 0; chain->logger_reports && i < chain->book.n_loggers; i++)
        stv_logger_report_free(&chain->logger_reports[i]);
    free(chain->logger_reports);
    free(chain->gap_reports);
    stv_weather_free(&chain->weather);
    stv_weather_record_free(&chain->record);
    free(chain->is_drained);
    stv_lineage_free(chain->lineage);
    stv_named_market_free(&chain->named);
    stv_book_free(&chain->book);
    stv_problems_free(&chain->problems);
    *chain = (struct stv_chain){0};
}
