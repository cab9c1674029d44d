/* Which guide a hole is offered, and in words what became of it. */
#include "cli/chain_gaps.h"
#include "cli/chain_learned.h"

#include "cli/format.h"
#include "cli/prose.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A logger's columns as they were before any hole was filled. */
struct measured {
    double *air_c, *rh_frac;
};

static void free_measured(struct measured *all, size_t n)
{
    for (size_t i = 0; all && i < n; i++) {
        free(all[i].air_c);
        free(all[i].rh_frac);
    }
    free(all);
}

static double *copy_of(const double *values, size_t n)
{
    double *copy = values ? malloc((n + 1) * sizeof *copy) : NULL;
    if (copy && n > 0)
        memcpy(copy, values, n * sizeof *copy);
    return copy;
}

static struct measured *copy_all(const struct stv_chain *chain)
{
    struct measured *all = calloc(chain->book.n_loggers + 1, sizeof *all);
    for (size_t i = 0; all && i < chain->book.n_loggers; i++) {
        const struct stv_logger_hours *logger = &chain->loggers[i];
        all[i].air_c = copy_of(logger->air_c, logger->grid.n);
        all[i].rh_frac = copy_of(logger->rh_frac, logger->grid.n);
        if ((logger->air_c && !all[i].air_c) || (logger->rh_frac && !all[i].rh_frac)) {
            free_measured(all, chain->book.n_loggers);
            return NULL;
        }
    }
    return all;
}

static bool hangs_in(const struct stv_chain *chain, size_t logger_idx, size_t warehouse_idx)
{
    const struct stv_logger_hours *logger = &chain->loggers[logger_idx];
    return logger->grid.n > 0 && logger->place.warehouse_idx == (int)warehouse_idx;
}

/* The other loggers of the house, nearest tier first, then the building model. */
static size_t guides_of(const struct stv_chain *chain, size_t logger_idx,
                        const struct measured *all, struct stv_gap_guide *out)
{
    const struct stv_place *place = &chain->loggers[logger_idx].place;
    const struct stv_building_climate *climate = &chain->warehouses[place->warehouse_idx].climate;
    size_t n = 0;
    for (int away = 0; away < STV_TIERS_MAX; away++) {
        for (size_t i = 0; i < chain->book.n_loggers; i++) {
            const struct stv_logger_hours *other = &chain->loggers[i];
            if (i != logger_idx && hangs_in(chain, i, (size_t)place->warehouse_idx) &&
                abs(other->place.tier_idx - place->tier_idx) == away)
                out[n++] = (struct stv_gap_guide){STV_HOUR_NEIGHBOUR, &other->grid, all[i].air_c,
                                                  all[i].rh_frac};
        }
    }
    if (climate->n_tiers && !climate->grid.is_typical) {
        size_t first = (size_t)place->tier_idx * climate->grid.n;
        struct stv_air_hours told = {climate->air_c + first, climate->rh_frac + first};
        struct stv_place tier = {place->warehouse_idx, place->tier_idx, -1, -1};
        if (!stv_chain_told(chain, place, &told))
            (void)stv_chain_told(chain, &tier, &told);
        out[n++] =
            (struct stv_gap_guide){STV_HOUR_WEATHER, &climate->grid, told.air_c, told.rh_frac};
    }
    return n;
}

enum stv_status stv_chain_fill_gaps(struct stv_chain *chain, size_t warehouse_idx)
{
    size_t n_loggers = chain->book.n_loggers;
    if (!chain->gap_reports)
        chain->gap_reports = calloc(n_loggers + 1, sizeof *chain->gap_reports);
    struct stv_gap_guide *guides = calloc(n_loggers + 1, sizeof *guides);
    struct measured *all = copy_all(chain);
    enum stv_status status = guides && all && chain->gap_reports ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < n_loggers && status == STV_OK; i++) {
        if (!hangs_in(chain, i, warehouse_idx))
            continue;
        size_t n_guides = guides_of(chain, i, all, guides);
        status = stv_gap_fill(&chain->loggers[i], guides, n_guides, &chain->book.gaps,
                              &chain->gap_reports[i]);
    }
    free_measured(all, n_loggers);
    free(guides);
    return status;
}

/* "4 h by a straight line (0.2 C either way)": nothing when there is none. */
static void add_filled(struct stv_text *line, const struct stv_gap_report *report,
                       enum stv_hour_origin origin, const char *how)
{
    if (report->n_hours[origin] == 0)
        return;
    stv_text_format(line, "%s%zu h %s", stv_text_string(line)[0] ? ", " : "",
                    report->n_hours[origin], how);
    if (isfinite(report->error_k[origin]))
        stv_text_format(line, " (misses by %s " STV_PROSE_DEGREE "C an hour, rms)",
                        stv_format_number(report->error_k[origin], 1).text);
}

static void add_left(struct stv_text *text, const struct stv_chain *chain, size_t logger_idx)
{
    const struct stv_gap_report *report = &chain->gap_reports[logger_idx];
    if (report->n_holes_left == 0)
        return;
    const struct stv_grid *grid = &chain->loggers[logger_idx].grid;
    struct stv_grid at = *grid;
    at.t0_s = report->longest_left_from_s;
    stv_prose_wrap(
        text, 4,
        "%s: %zu h missing in %s and not filled in, the longest %.1f days from %s (holes "
        "above %.0f h are left, or nothing spoke there).",
        chain->book.loggers[logger_idx].label, report->n_hours[STV_HOUR_HOLE],
        stv_format_count(report->n_holes_left, "hole", "holes").text,
        (double)report->longest_left_h / 24.0,
        stv_format_day(stv_grid_local_day(&at, 0, NULL)).text, chain->book.gaps.longest_h);
}

static bool is_from_elsewhere(const struct stv_gap_report *report)
{
    return report->n_hours[STV_HOUR_NEIGHBOUR] > 0 || report->n_hours[STV_HOUR_WEATHER] > 0;
}

static void add_fills(struct stv_text *text, const struct stv_chain *chain, size_t logger_idx)
{
    const struct stv_gap_report *report = &chain->gap_reports[logger_idx];
    struct stv_text line = {0};
    add_filled(&line, report, STV_HOUR_LINE, "by a straight line");
    add_filled(&line, report, STV_HOUR_NEIGHBOUR, "from the nearest logger that speaks");
    add_filled(&line, report, STV_HOUR_WEATHER,
               "from the weather, as learned or through the building model");
    if (stv_text_string(&line)[0])
        stv_prose_wrap(text, 4, "%s: filled %s.", chain->book.loggers[logger_idx].label,
                       stv_text_string(&line));
    stv_text_free(&line);
}

void stv_words_gaps_bridged(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t i = 0; chain->gap_reports && i < chain->book.n_loggers; i++)
        if (!is_from_elsewhere(&chain->gap_reports[i]))
            add_fills(text, chain, i);
}

void stv_words_gaps_heed(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t i = 0; chain->gap_reports && i < chain->book.n_loggers; i++) {
        if (is_from_elsewhere(&chain->gap_reports[i]))
            add_fills(text, chain, i);
        add_left(text, chain, i);
    }
}
