/* What each file says may be right alone and still not fit the others: loggers that never meet the
 * weather, a sky of another place, a clock of another zone, gauges of casks that were empty.  Each
 * is said and asks for a look; only loggers that cannot be used are left out. */
#include "cli/chain_doubts.h"
#include "cli/chain.h"

#include "ingest/quality.h"
#include "model/calendar.h"
#include "model/lane_rows.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Margins, all judgement: what no honest pair of files differs by. */
#define SITE_APART_DEG 3.0
#define CLOCK_APART_H 3.0
#define LOGGERS_APART_K 12.0
#define OUTDOORS_APART_K 15.0
#define COLD_RACK_C \
    5.0 /* further below the air outdoors than it may differ, no cellar is so cold */
#define HOT_RACK_C 27.0 /* further above it, no store is heated so far */
#define LEAST_COMMON_H 240
#define STILL_K 0.01
#define STILL_LEAST_H (30 * 24) /* no store shuts the weather out so long */
#define OUTDOORS_MOVE_K 10.0
/* Nearer to the equator the warmest months need not be the sun's. */
#define SEASONS_FROM_DEG 25.0
#define SEASONS_APART_K 3.0
#define QUARTER_LEAST_D 60
#define DEG_PER_H 15.0
#define LAST_APART_D (4 * 365) /* books rest, but not for so long with casks in them */

static struct stv_date day_of(const struct stv_grid *grid, size_t k)
{
    return stv_date_from_day(stv_grid_local_day(grid, k, NULL));
}

static void span_text(const struct stv_grid *grid, char *buffer, size_t size)
{
    struct stv_date first = day_of(grid, 0);
    struct stv_date last = day_of(grid, grid->n - 1);
    snprintf(buffer, size, "%d-%02d-%02d to %d-%02d-%02d", first.year, first.month, first.day,
             last.year, last.month, last.day);
}

/* Loggers whose hours no weather shares say nothing about the weather's years: not used. */
static void drop_unmet_loggers(struct stv_chain *chain)
{
    const struct stv_grid *sky = &chain->record.grid;
    for (size_t i = 0; i < chain->book.n_loggers; i++) {
        struct stv_grid *own = &chain->loggers[i].grid;
        if (own->n == 0 || chain->book.loggers[i].place.warehouse_idx < 0)
            continue;
        int64_t own_end_s = stv_grid_start_s(own, own->n);
        int64_t sky_end_s = stv_grid_start_s(sky, sky->n);
        if (!sky->is_typical && own->t0_s < sky_end_s && sky->t0_s < own_end_s)
            continue;
        char own_span[48];
        char sky_span[48];
        span_text(own, own_span, sizeof own_span);
        span_text(sky, sky_span, sizeof sky_span);
        struct stv_logger_report *report = &chain->logger_reports[i];
        struct stv_finding finding = {.severity = STV_SET_ASIDE,
                                      .file = chain->book.loggers[i].path,
                                      .count = report->n_used,
                                      .found = own_span};
        report->n_set_aside += report->n_used;
        report->n_used = 0;
        stv_finding_add(&chain->problems, &finding,
                        "the logger's hours never meet the weather file's (%s), so none is used: "
                        "take weather of the logger's time, or no weather file",
                        sky->is_typical ? "a typical year without dates" : sky_span);
        own->n = 0;
    }
}

/* Mean difference of a logger and another record over their common hours, and into out_mean_c when
 * not NULL its own mean of them; NaN below ten days of them. */
static double apart_k(const struct stv_logger_hours *a, const struct stv_grid *grid,
                      const double *air_c, double *out_mean_c)
{
    double sum = 0.0, own_sum = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < a->grid.n; k++) {
        size_t at = stv_grid_index(grid, stv_grid_start_s(&a->grid, k));
        if (at >= grid->n || !isfinite(a->air_c[k]) || !isfinite(air_c[at]))
            continue;
        sum += a->air_c[k] - air_c[at];
        own_sum += a->air_c[k];
        n++;
    }
    if (out_mean_c)
        *out_mean_c = n >= LEAST_COMMON_H ? own_sum / (double)n : (double)NAN;
    return n >= LEAST_COMMON_H ? sum / (double)n : (double)NAN;
}

/* Racks that no weather makes: below the air outdoors and near freezing, or hot beyond it. */
static void doubt_racks(struct stv_chain *chain)
{
    const double *outdoors_c = chain->record.columns[STV_WQ_TEMP_C];
    for (size_t i = 0; outdoors_c && i < chain->book.n_loggers; i++) {
        const struct stv_logger_hours *hours = &chain->loggers[i];
        double mean_c;
        if (hours->grid.n == 0 || chain->record.grid.is_typical)
            continue;
        double difference_k = apart_k(hours, &chain->record.grid, outdoors_c, &mean_c);
        bool is_cold = difference_k < -OUTDOORS_APART_K && mean_c < COLD_RACK_C;
        if (!is_cold && !(difference_k > OUTDOORS_APART_K && mean_c > HOT_RACK_C))
            continue;
        stv_problem_add(&chain->problems, STV_NOTED, chain->book.loggers[i].path, 0, 0, NULL,
                        "is at %.1f C on average, %.0f K %s than it is outdoors in the same "
                        "hours: used, but no warehouse is known to do that; %s: look at the "
                        "header, or write the right unit under `unit` in loggers.csv",
                        mean_c, fabs(difference_k), is_cold ? "colder" : "hotter",
                        is_cold ? "it may be C, read as F" : "it may be F, read as C");
        chain->needs_attention = true;
    }
}

/* A stretch in which a logger's temperature never moves, and by how much it moves outdoors. */
struct still {
    size_t from, to, n; /* n hours with a value, from the first to the last */
    double outdoors_k;
};

static struct still longest_still(const struct stv_logger_hours *hours, const struct stv_grid *sky,
                                  const double *outdoors_c)
{
    double still_c = (double)NAN, low_c = HUGE_VAL, high_c = -HUGE_VAL;
    struct still longest = {0};
    size_t from = 0, n = 0;
    for (size_t k = 0; k < hours->grid.n; k++) {
        size_t at = stv_grid_index(sky, stv_grid_start_s(&hours->grid, k));
        if (isnan(hours->air_c[k]))
            continue;
        if (!(fabs(hours->air_c[k] - still_c) <= STILL_K)) {
            still_c = hours->air_c[k];
            low_c = HUGE_VAL;
            high_c = -HUGE_VAL;
            from = k;
            n = 0;
        }
        n++;
        if (at < sky->n && isfinite(outdoors_c[at])) {
            low_c = fmin(low_c, outdoors_c[at]);
            high_c = fmax(high_c, outdoors_c[at]);
        }
        if (n > longest.n)
            longest = (struct still){from, k, n, high_c - low_c};
    }
    return longest;
}

/* Hours that no rule of the file has doubted yet. */
static void mark_still(struct stv_logger_report *report, const struct still *still)
{
    for (size_t k = still->from; k <= still->to; k++)
        if (report->marks[k] == STV_MARK_USED) {
            report->marks[k] = STV_MARK_SUSPECT;
            report->n_suspect++;
        }
}

/* A logger that reads so coarsely that its own rows do not betray it as dead: the weather's do. */
static void doubt_still(struct stv_chain *chain)
{
    const double *low_c = chain->record.columns[STV_WQ_TEMP_C];
    if (!low_c)
        low_c = chain->record.columns[STV_WQ_TEMP_MIN_C];
    for (size_t i = 0; low_c && i < chain->book.n_loggers; i++) {
        const struct stv_logger_hours *hours = &chain->loggers[i];
        struct still still = longest_still(hours, &chain->record.grid, low_c);
        if (still.n < STILL_LEAST_H || still.outdoors_k < OUTDOORS_MOVE_K)
            continue;
        mark_still(&chain->logger_reports[i], &still);
        stv_finding_add(&chain->problems,
                        &(struct stv_finding){.severity = STV_SUSPECT,
                                              .rule = "stuck",
                                              .file = chain->book.loggers[i].path,
                                              .count = still.n},
                        "the temperature does not move by a hundredth in %.0f days, while it moves "
                        "by %.0f K outdoors: used, but is the logger dead? Leave its row out of "
                        "loggers.csv until it is looked at",
                        (double)still.n / 24.0, still.outdoors_k);
        chain->needs_attention = true;
    }
}

static void doubt_loggers(struct stv_chain *chain)
{
    for (size_t i = 0; i < chain->book.n_loggers; i++) {
        for (size_t k = i + 1; k < chain->book.n_loggers; k++) {
            const struct stv_logger_hours *a = &chain->loggers[i];
            const struct stv_logger_hours *b = &chain->loggers[k];
            if (a->grid.n == 0 || b->grid.n == 0 || a->place.warehouse_idx < 0 ||
                a->place.warehouse_idx != b->place.warehouse_idx)
                continue;
            double difference_k = apart_k(a, &b->grid, b->air_c, NULL);
            if (!(fabs(difference_k) > LOGGERS_APART_K))
                continue;
            stv_problem_add(&chain->problems, STV_NOTED, chain->book.loggers[k].path, 0, 0, NULL,
                            "is %.0f K %s on average than %s in the same house: used, but one of "
                            "the two is in doubt; is a unit in a header wrong?",
                            fabs(difference_k), difference_k > 0.0 ? "colder" : "warmer",
                            chain->book.loggers[i].label);
            chain->needs_attention = true;
        }
    }
}

static void doubt_site(struct stv_chain *chain)
{
    const struct stv_site_position *house = &chain->book.site;
    const struct stv_site_position *sky = &chain->weather_meta.site;
    if (fabs(house->latitude_deg - sky->latitude_deg) <= SITE_APART_DEG &&
        fabs(house->longitude_deg - sky->longitude_deg) <= SITE_APART_DEG)
        return;
    stv_problem_add(
        &chain->problems, STV_NOTED, chain->book.weather.path, 0, 0, NULL,
        "was measured at latitude %.1f, longitude %.1f, but the book's site is at %.1f, "
        "%.1f: the weather's own place is used, its sun and its seasons; is it the "
        "right file?",
        sky->latitude_deg, sky->longitude_deg, house->latitude_deg, house->longitude_deg);
    chain->needs_attention = true;
}

/* Mean temperature of three months around the turn of a year's half: from December, or from June.
 */
static double quarter_mean_c(const struct stv_weather_record *record, bool is_june)
{
    const double *own = record->columns[STV_WQ_TEMP_C];
    const double *low = own ? own : record->columns[STV_WQ_TEMP_MIN_C];
    const double *high = own ? own : record->columns[STV_WQ_TEMP_MAX_C];
    double sum_c = 0.0;
    size_t n = 0;
    for (size_t k = 0; low && high && k < record->grid.n; k++) {
        int month = day_of(&record->grid, k).month;
        bool is_in = is_june ? month >= 6 && month <= 8 : month == 12 || month <= 2;
        if (!is_in || !isfinite(low[k] + high[k]))
            continue;
        sum_c += (low[k] + high[k]) / 2.0;
        n++;
    }
    return (int64_t)n * record->grid.step_s >= QUARTER_LEAST_D * STV_DAY_S ? sum_c / (double)n
                                                                           : (double)NAN;
}

/* A latitude with the wrong sign moves the sun by half a year. */
static void doubt_hemisphere(struct stv_chain *chain)
{
    double latitude_deg = chain->record.site.latitude_deg;
    double june_k = quarter_mean_c(&chain->record, true) - quarter_mean_c(&chain->record, false);
    bool is_north = latitude_deg > 0.0;
    if (fabs(latitude_deg) < SEASONS_FROM_DEG || !((is_north ? -june_k : june_k) > SEASONS_APART_K))
        return;
    stv_problem_add(&chain->problems, STV_NOTED,
                    chain->book.has_site ? "book.yaml" : chain->book.weather.path, 0, 0, NULL,
                    "site: latitude %.1f lies %s of the equator, but the weather is %.0f K warmer "
                    "from %s, as on the other side: is the sign of the latitude (or its N or S) "
                    "right? The sun is reckoned by it",
                    latitude_deg, is_north ? "north" : "south", fabs(june_k),
                    is_north ? "December to February" : "June to August");
    chain->needs_attention = true;
}

/* casks_stored below the casks that the book itself lists there. */
static void doubt_stored(struct stv_chain *chain)
{
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        const struct stv_warehouse *warehouse = &chain->book.warehouses[w];
        size_t n_listed = stv_chain_listed(chain, w);
        if (strstr(warehouse->filled_in, "casks stored") ||
            warehouse->building.n_casks >= (double)n_listed)
            continue;
        stv_problem_add(&chain->problems, STV_NOTED, "book.yaml", 0, 0, warehouse->name,
                        "casks_stored says %.0f, but the book lists %zu full casks there: the air "
                        "is worked out with %.0f; say how many lie there in all",
                        warehouse->building.n_casks, n_listed, warehouse->building.n_casks);
        chain->needs_attention = true;
    }
}

static void doubt_clock(struct stv_chain *chain)
{
    double clock_h = chain->book.clock.standard_offset_min / 60.0;
    double sun_h = chain->book.site.longitude_deg / DEG_PER_H;
    if (fabs(clock_h - sun_h) <= CLOCK_APART_H)
        return;
    stv_problem_add(&chain->problems, STV_NOTED, "book.yaml", 0, 0, NULL,
                    "site: the clock stands %+.1f h from UTC, but at longitude %.1f the sun stands "
                    "at %+.1f h: is the sign of one of them wrong?",
                    clock_h, chain->book.site.longitude_deg, sun_h);
    chain->needs_attention = true;
}

static void doubt_gauges(struct stv_chain *chain)
{
    for (size_t i = 0; i < chain->book.n_gauges; i++) {
        const struct stv_gauge *gauge = &chain->book.gauges[i];
        bool is_later = chain->as_of_day_d != INT64_MIN && gauge->day_d > chain->as_of_day_d;
        if (gauge->is_suspect || !is_later)
            continue; /* a suspect one is listed where it was found, and not used either */
        stv_problem_add(&chain->problems, STV_NOTED, "gauges.csv", gauge->row, 0,
                        chain->book.ledger.casks[gauge->cask_idx].id,
                        "lies after the day the answers speak of: the gauge is not used");
        chain->needs_attention = true;
    }
}

static void doubt_future(struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    size_t n_future = 0;
    for (size_t e = 0; e < ledger->n_events; e++)
        n_future += chain->as_of_day_d != INT64_MIN && ledger->events[e].day_d > chain->as_of_day_d;
    if (n_future > 0)
        stv_problem_add(&chain->problems, STV_NOTED, "history.csv", 0, 0, NULL,
                        "%zu %s after the day the answers speak of: taken as plans", n_future,
                        n_future == 1 ? "row lies" : "rows lie");
}

/* A day years after all the others is a slip of the pen, and would move every answer to it. */
static void doubt_last_day(struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    int64_t last_d = INT64_MIN, before_d = INT64_MIN;
    size_t last_row = 0;
    for (size_t e = 0; e < ledger->n_events; e++) {
        int64_t day_d = ledger->events[e].day_d;
        if (day_d > last_d) {
            before_d = last_d;
            last_d = day_d;
            last_row = ledger->events[e].row;
        } else if (day_d < last_d && day_d > before_d) {
            before_d = day_d;
        }
    }
    for (size_t i = 0; i < chain->book.n_gauges; i++)
        if (chain->book.gauges[i].day_d > before_d)
            before_d = chain->book.gauges[i].day_d;
    if (before_d == INT64_MIN || last_d - before_d < LAST_APART_D)
        return;
    struct stv_date last = stv_date_from_day(last_d);
    stv_problem_add(&chain->problems, STV_NOTED, last_row ? "history.csv" : "casks.csv", last_row,
                    0, NULL,
                    "%d-%02d-%02d lies %.0f years after everything else in the book: is the year "
                    "right?%s",
                    last.year, last.month, last.day, (double)(last_d - before_d) / STV_YEAR_D,
                    chain->as_of_day_d == last_d ? " The answers speak of that day" : "");
    chain->needs_attention = true;
}

/* An answer of a day long after all that is known is one of the record's weather over again. */
static void doubt_far_day(struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_grid *sky = &chain->record.grid;
    int64_t known_d = INT64_MIN;
    for (size_t e = 0; e < ledger->n_events; e++)
        known_d = ledger->events[e].day_d > known_d ? ledger->events[e].day_d : known_d;
    for (size_t i = 0; i < chain->book.n_gauges; i++)
        if (chain->book.gauges[i].day_d > known_d)
            known_d = chain->book.gauges[i].day_d;
    if (chain->has_weather && !sky->is_typical &&
        stv_grid_local_day(sky, sky->n - 1, NULL) > known_d)
        known_d = stv_grid_local_day(sky, sky->n - 1, NULL);
    if (chain->as_of_day_d == INT64_MIN || known_d == INT64_MIN ||
        chain->as_of_day_d - known_d < LAST_APART_D)
        return;
    struct stv_date day = stv_date_from_day(chain->as_of_day_d);
    stv_finding_add(
        &chain->problems,
        &(struct stv_finding){.severity = STV_NOTED, .rule = STV_RULE_BEYOND, .file = "book.yaml"},
        "the answers speak of %d-%02d-%02d, %.0f years after the last row of the book "
        "and the last hour of its weather: what was done in between is not known, its "
        "weather is the record's over again, and figures of that day are no forecast; "
        "is the year right (`as_of:`, --date)?",
        day.year, day.month, day.day, (double)(chain->as_of_day_d - known_d) / STV_YEAR_D);
    chain->needs_attention = true;
}

/* Spirit put in that lies outside of the strengths whose rates are known. */
static void doubt_strengths(struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        bool is_put_in = event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_TOP_UP;
        double mass_frac;
        if (!is_put_in || stv_mass_frac_from_abv20(event->abv20_frac, &mass_frac) != STV_OK)
            continue;
        double mole_frac = stv_mole_frac_from_mass_frac(mass_frac);
        if (mole_frac >= STV_TABLE_LEAST_MOLE_FRAC && mole_frac <= STV_TABLE_MOST_MOLE_FRAC)
            continue;
        struct stv_date day = stv_date_from_day(event->day_d);
        stv_finding_add(&chain->problems,
                        &(struct stv_finding){.severity = STV_NOTED,
                                              .rule = STV_RULE_BEYOND,
                                              .file = event->row ? "history.csv" : "casks.csv",
                                              .row = event->row,
                                              .found = ledger->casks[event->cask_idx].id},
                        "%.1f %%vol, put in on %d-%02d-%02d, is outside of the 12 to 92 %%vol in "
                        "which the model knows a "
                        "cask: its rates are those at that end, and what is told of it is a guess; "
                        "is the strength right?",
                        100.0 * event->abv20_frac, day.year, day.month, day.day);
        chain->needs_attention = true;
    }
}

/* Rows that move a cask with nothing in it: no harm, but perhaps another cask was meant. */
static enum stv_status doubt_empty_moves(struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    size_t *moves = malloc((ledger->n_events + 1) * sizeof *moves), n = 0;
    enum stv_status status = moves ? stv_ledger_empty_moves(ledger, moves, &n) : STV_E_MEMORY;
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        const struct stv_event *event = &ledger->events[moves[i]];
        stv_problem_add(&chain->problems, STV_NOTED, "history.csv", event->row, 0,
                        ledger->casks[event->cask_idx].id,
                        "the cask that is moved is empty by then: is it the right one, and the "
                        "right day?");
        chain->needs_attention = true;
    }
    free(moves);
    return status;
}

enum stv_status stv_chain_doubts(struct stv_chain *chain)
{
    if (chain->has_weather) {
        drop_unmet_loggers(chain);
        doubt_racks(chain);
        doubt_still(chain);
        doubt_hemisphere(chain);
    }
    doubt_loggers(chain);
    if (chain->has_weather && chain->book.has_site && chain->weather_meta.has_site)
        doubt_site(chain);
    if (chain->book.has_site)
        doubt_clock(chain);
    doubt_stored(chain);
    doubt_gauges(chain);
    doubt_future(chain);
    doubt_last_day(chain);
    doubt_far_day(chain);
    doubt_strengths(chain);
    enum stv_status status = doubt_empty_moves(chain);
    return status == STV_OK ? stv__doubt_litres(chain) : status;
}
