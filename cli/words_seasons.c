/* Every figure of every tier, season by season: for those who want the numbers behind the words. */
#include "cli/words.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "model/climate_metrics.h"

static const char *const season_names[STV_SEASON_N] = {"Warm season", "Cold season", "The year"};

/* "6" or "4-07": tier, and the bay where it has a logger of its own. */
static struct stv_formatted row_name(const struct stv_position_metrics *row)
{
    if (row->place.bay_idx < 0)
        return stv_format("%d", row->place.tier_idx + 1);
    return stv_format("%d-%02d", row->place.tier_idx + 1, row->place.bay_idx + 1);
}

static void add_air_row(struct stv_text *text, const struct stv_position_metrics *row,
                        size_t season)
{
    const struct stv_season_metrics *m = &row->seasons[season];
    stv_prose_add(text, "%-5s %8.1f %6.1f %6.1f %7.1f %6.1f %8.1f %9.0f %9.0f\n",
                  row_name(row).text, m->air_mean_c, m->air_p05_c, m->air_p95_c, m->air_min_c,
                  m->air_max_c, m->air_swing_k, 100.0 * m->rh_mean_frac,
                  100.0 * m->rh_weighted_frac);
}

static void add_liquid_row(struct stv_text *text, const struct stv_position_metrics *row,
                           size_t season)
{
    const struct stv_season_metrics *m = &row->seasons[season];
    stv_prose_add(text, "%-5s %8.1f %6.1f %6.1f %7.1f %6.1f %8.1f %9.1f %9.1f\n",
                  row_name(row).text, m->liquid_mean_c, m->liquid_p05_c, m->liquid_p95_c,
                  m->liquid_min_c, m->liquid_max_c, m->liquid_swing_k, m->cycles_nd,
                  m->kinetic_mean_c);
}

static void add_rate_row(struct stv_text *text, const struct stv_position_metrics *row,
                         size_t season)
{
    const struct stv_season_metrics *m = &row->seasons[season];
    stv_prose_add(text, "%-5s %8.0f %8.0f %9.2f %8.2f %8.2f %9s %9.2f\n", row_name(row).text,
                  m->degree_days_k_d, m->cool_hours_h, 100.0 * m->evaporation_frac_per_y,
                  m->water_lost_kg_per_y, m->ethanol_lost_kg_per_y,
                  stv_format_signed(100.0 * m->abv20_drift_frac_per_y, 2).text,
                  m->extraction_rel_nd);
}

/* Top tier first, then the bays with a logger of their own. */
static void
add_rows(struct stv_text *text, const struct stv_warehouse_climate *warehouse, size_t season,
         void (*add_row)(struct stv_text *, const struct stv_position_metrics *, size_t))
{
    for (size_t t = warehouse->n_tiers; t-- > 0;)
        add_row(text, &warehouse->tiers[t], season);
    for (size_t b = 0; b < warehouse->n_bays; b++)
        add_row(text, &warehouse->bays[b], season);
}

void stv_words_season_figures(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                              const struct stv_cask_numbers *numbers)
{
    for (size_t s = 0; s < STV_SEASON_N; s++) {
        const struct stv_season_span *span = &warehouse->seasons[s];
        stv_text_add(text, "\n");
        stv_prose_heading(text, "%s, %s", season_names[s],
                          stv_format_doy_span(span->from_doy, span->to_doy).text);
        stv_prose_add(text, "air, C    mean    5 %%   95 %%   least   most  day's   humidity %%\n"
                            "tier                                          swing K     plain  "
                            "by vapour\n");
        add_rows(text, warehouse, s, add_air_row);
        stv_prose_add(text, "cask, C   mean    5 %%   95 %%   least   most  day's      cycles   "
                            "working\n"
                            "tier                                          swing K            "
                            "temperature\n");
        add_rows(text, warehouse, s, add_liquid_row);
        stv_prose_add(text, "rates   degree-     cool   litres    water  alcohol  strength      "
                            "wood\n"
                            "tier       days    hours    %%/year  kg/year  kg/year  %%vol/year  "
                            "20 C = 1\n");
        add_rows(text, warehouse, s, add_rate_row);
    }
    stv_prose_wrap(
        text, 0,
        "The cask is one of 200 L, 97 %% full at 60 %%vol, soaked. Degree-days above %.0f "
        "C in it, hourly; cool hours at or below %.0f C; cycles of 0.5 K or more "
        "(rainflow); working temperature with %.1f kJ/mol; 5 %% and 95 %% of the hours. "
        "Humidity by vapour is weighted by saturation pressure.",
        numbers->degree_day_base_c, numbers->cool_below_c, numbers->kinetic_mean_ea_j_mol / 1000.0);
}
