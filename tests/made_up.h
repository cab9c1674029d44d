/* Invented results for the tests of charts and report: smooth numbers that no model made. */
#ifndef STV_TESTS_MADE_UP_H
#define STV_TESTS_MADE_UP_H

#include "plots/charts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MADE_DRAWS 41

static inline void *made_room(size_t n, size_t size)
{
    void *room = calloc(n, size);
    if (room == NULL)
        abort();
    return room;
}

/* A bell curve of shares about a mean. */
static inline void made_histogram(double *share_frac, double mean_c, double width_k)
{
    double sum = 0.0;
    for (int b = 0; b < STV_HISTOGRAM_BINS; b++) {
        double t = STV_HISTOGRAM_FROM_C + (b + 0.5) * STV_HISTOGRAM_STEP_K;
        double z = (t - mean_c) / width_k;
        share_frac[b] = z * z < 12.0 ? exp(-0.5 * z * z) * (1.0 + 0.15 * sin(2.3 * t)) : 0.0;
        sum += share_frac[b];
    }
    for (int b = 0; b < STV_HISTOGRAM_BINS; b++)
        share_frac[b] /= sum;
}

/* Cycles that become fewer as they become wider; none from 12 K on in the liquid. */
static inline void made_cycles(struct stv_season_metrics *sm, double all_nd)
{
    for (int b = 0; b < STV_CYCLE_BINS; b++) {
        sm->liquid_cycles_nd[b] = b < 12 ? all_nd * exp(-1.1 * b) : 0.0;
        sm->air_cycles_nd[b] = b < 20 ? 0.6 * all_nd * exp(-0.05 * (b - 5) * (b - 5)) : 0.0;
        sm->cycles_nd += sm->liquid_cycles_nd[b];
    }
}

static inline void made_position(struct stv_position_metrics *m, int tier, int bay)
{
    memset(m, 0, sizeof *m);
    m->place = (struct stv_place){0, tier, bay, bay < 0 ? -1 : bay % 2};
    m->source = bay >= 0        ? STV_SOURCE_MIXED
                : tier % 3 == 1 ? STV_SOURCE_MEASURED
                                : STV_SOURCE_MODELLED;
    m->measured_frac = m->source == STV_SOURCE_MODELLED ? 0.0 : 0.37;
    for (int s = 0; s < STV_SEASON_N; s++) {
        struct stv_season_metrics *sm = &m->seasons[s];
        double mean = s == STV_SEASON_WARM   ? 22.43 + 1.47 * tier
                      : s == STV_SEASON_COLD ? 8.41 + 0.07 * tier
                                             : 15.7 + 0.7 * tier;
        double off = bay >= 0 ? 0.31 * (bay % 5) - 0.4 : 0.0;
        sm->liquid_mean_c = sm->liquid_p50_c = mean + off;
        sm->air_mean_c = sm->liquid_mean_c + 0.2;
        sm->air_swing_k = 3.0 + tier;
        sm->liquid_p05_c = mean - 4.0;
        sm->liquid_p95_c = mean + 4.0;
        sm->liquid_swing_k = 0.8 + 0.1 * tier;
        sm->evaporation_frac_per_y = 0.031 + 0.0021 * (mean - 8.0) + 0.001 * off;
        sm->extraction_rel_nd = pow(1.052, mean + off - 20.0);
        sm->rh_mean_frac = 0.62 - 0.04 * tier;
        sm->abv20_drift_frac_per_y = 0.002 * tier - 0.003;
        sm->cool_hours_h = s == STV_SEASON_WARM ? 3.0 : 2000.0 - 40.0 * tier;
        sm->fruit_fading_per_y = 0.1 + 0.02 * tier;
        sm->ethanol_lost_kg_per_y = 2.9 + 0.2 * tier;
        sm->water_lost_kg_per_y = 4.9 + 0.5 * tier;
        made_cycles(sm, s == STV_SEASON_WARM ? 90.0 : 40.0);
        made_histogram(m->liquid_histogram_frac[s], mean,
                       s == STV_SEASON_WARM ? 2.1 + 0.2 * tier : 1.6);
    }
    m->warmest_month_c = 25.0 + 1.5 * tier;
    m->waking_doy = 145 - 6 * tier;
    m->quiet_doy = tier == 0 ? -1 : 260 + 4 * tier;
    m->n_years = 15;
}

static inline struct stv_climate_result made_climate(const char *name, size_t n_tiers,
                                                     size_t n_bays)
{
    struct stv_climate_result out = {made_room(1, sizeof *out.warehouses), 1};
    struct stv_warehouse_climate *w = out.warehouses;
    snprintf(w->name, sizeof w->name, "%s", name);
    w->building.n_tiers = n_tiers;
    w->building.n_bays = 12;
    w->building.n_depth = 2;
    w->building.tier_height_m = 1.1;
    w->seasons[STV_SEASON_WARM] = (struct stv_season_span){154, 244};
    w->seasons[STV_SEASON_COLD] = (struct stv_season_span){337, 62};
    w->seasons[STV_SEASON_YEAR] = (struct stv_season_span){0, 364};
    w->gradient_k_m[STV_SEASON_WARM] = 1.34;
    w->gradient_k_m[STV_SEASON_COLD] = 0.064;
    w->tiers = made_room(n_tiers, sizeof *w->tiers);
    w->n_tiers = n_tiers;
    for (size_t t = 0; t < n_tiers; t++)
        made_position(&w->tiers[t], (int)t, -1);
    w->bays = made_room(n_bays + 1, sizeof *w->bays);
    w->n_bays = n_bays;
    for (size_t b = 0; b < n_bays; b++)
        made_position(&w->bays[b], (int)((2 * b + 1) % n_tiers), (int)(2 + 4 * b) % 40);
    w->air_change_mean_per_h = 0.43;
    w->n_years = 15;
    w->first_year = 1998;
    w->last_year = 2012;
    return out;
}

/* Days of a wave through the year, warmest on 20 July, with weather of nine days and of years. */
static inline struct stv_climate_days made_climate_days(int64_t from_day_d, size_t n_days)
{
    struct stv_climate_days out = {.place = {0, 2, -1, -1},
                                   .base_c = 10.0,
                                   .first_day_d = from_day_d,
                                   .n_days = n_days,
                                   .max_c = made_room(n_days, sizeof *out.max_c),
                                   .degree_days_k_d =
                                       made_room(n_days, sizeof *out.degree_days_k_d)};
    for (size_t d = 0; d < n_days; d++) {
        double day = (double)(from_day_d + (int64_t)d);
        out.max_c[d] = 16.0 + 13.0 * cos(0.0172024 * (day - 200.0)) + 2.5 * sin(0.7 * day) +
                       1.5 * sin(0.0031 * day);
        out.degree_days_k_d[d] = fmax(0.0, out.max_c[d] - 1.0 - out.base_c);
    }
    return out;
}

static inline void made_climate_free(struct stv_climate_result *climate)
{
    free(climate->warehouses[0].tiers);
    free(climate->warehouses[0].bays);
    free(climate->warehouses);
}

static inline int64_t made_day(int year, int month, int day)
{
    return stv_day_from_date((struct stv_date){year, month, day});
}

/* n casks filled in the spring of 2024; some got water, some moved, the last is emptied. */
static inline struct stv_ledger made_ledger(size_t n)
{
    struct stv_ledger out = {made_room(n, sizeof *out.casks), n,
                             made_room(4 * n, sizeof *out.events), 0};
    const struct stv_event none = {.cask_idx = -1,
                                   .other_idx = -1,
                                   .volume20_l = NAN,
                                   .abv20_frac = NAN,
                                   .water_kg = NAN,
                                   .place = {-1, -1, -1, -1}};
    for (size_t c = 0; c < n; c++) {
        snprintf(out.casks[c].id, sizeof out.casks[c].id, "%zu", c + 1);
        snprintf(out.casks[c].kind_name, sizeof out.casks[c].kind_name, "new oak 200 L");
        out.casks[c].geometry.capacity_l = 200.0;
        struct stv_event e = none;
        e.day_d = made_day(2024, 3, 14) + (int64_t)(c % 20);
        e.kind = STV_EVENT_FILL;
        e.cask_idx = (int)c;
        e.volume20_l = 195.0;
        e.abv20_frac = 0.592;
        e.place = (struct stv_place){0, (int)(c % 6), (int)(c % 12), 0};
        out.events[out.n_events++] = e;
    }
    for (size_t c = 0; c < n; c++) {
        struct stv_event e = none;
        e.cask_idx = (int)c;
        e.day_d = made_day(2026, 10, 12);
        e.kind = c % 3 == 0 ? STV_EVENT_ADD_WATER : c % 3 == 1 ? STV_EVENT_MOVE : STV_EVENT_SAMPLE;
        e.volume20_l = c % 3 == 2 ? 0.4 : (double)NAN;
        e.water_kg = c % 3 == 0 ? 11.7 : (double)NAN;
        out.events[out.n_events++] = e;
    }
    struct stv_event e = none;
    e.cask_idx = (int)n - 1;
    e.day_d = made_day(2027, 6, 1);
    e.kind = STV_EVENT_EMPTY;
    out.events[out.n_events++] = e;
    return out;
}

static inline void made_ledger_free(struct stv_ledger *ledger)
{
    free(ledger->casks);
    free(ledger->events);
}

/* One quantity of one cask: smooth in time and spread over the draws. */
static inline double made_value(size_t cask, double years, enum stv_quantity q, double spread_nd)
{
    double keep = pow(0.952 + 0.001 * (double)(cask % 7) + 0.006 * spread_nd, years);
    double volume = 195.0 * keep;
    double abv = 0.592 + (0.002 + 0.0005 * (double)(cask % 6) + 0.0015 * spread_nd) * years;
    const double values[STV_Q_N] = {
        [STV_Q_VOLUME20_L] = volume,
        [STV_Q_ABV20_FRAC] = abv,
        [STV_Q_LPA_L] = volume * abv,
        [STV_Q_WATER_LOST_KG] = 4.4 * years,
        [STV_Q_ETHANOL_LOST_KG] = 2.7 * years,
        [STV_Q_WOOD_INDEX_ND] = (0.34 + 0.05 * spread_nd) * years,
        [STV_Q_CASK_ESTERS_ND] = 0.1 * years,
        [STV_Q_STILL_FRUIT_ND] = exp(-(0.12 + 0.02 * spread_nd) * years),
        [STV_Q_AIR_LPA_L] = (3.4 + 0.5 * spread_nd) * years,
        [STV_Q_JOINT_LPA_L] = 1.1 * years,
        [STV_Q_INDRINK_LPA_L] = 0.8,
        [STV_Q_SAMPLE_LPA_L] = 0.3,
        [STV_Q_BOTTLES_ND] = volume * abv / 0.46 / 0.70 * 0.98,
    };
    return values[q];
}

/* n_days steps from a day on; the last cask is empty from 2027-06-01. */
static inline struct stv_outlook made_outlook(size_t n_casks, int64_t from_day_d, int step_months,
                                              size_t n_days)
{
    struct stv_outlook out = {.n_casks = n_casks, .n_days = n_days, .n_draws = MADE_DRAWS};
    out.days_d = made_room(n_days, sizeof *out.days_d);
    out.in_record = made_room(n_days, sizeof *out.in_record);
    out.values = made_room(n_casks * n_days * STV_Q_N * MADE_DRAWS, sizeof *out.values);
    for (size_t d = 0; d < n_days; d++)
        out.days_d[d] = stv_day_add_months(from_day_d, (int)d * step_months);
    double *value = out.values;
    for (size_t c = 0; c < n_casks; c++)
        for (size_t d = 0; d < n_days; d++)
            for (int q = 0; q < STV_Q_N; q++)
                for (size_t i = 0; i < MADE_DRAWS; i++) {
                    double years = (double)(out.days_d[d] - made_day(2024, 3, 14)) / 365.25;
                    double spread = 4.0 * ((double)i / (MADE_DRAWS - 1) - 0.5);
                    int is_empty =
                        years < 0.0 || (c + 1 == n_casks && out.days_d[d] >= made_day(2027, 6, 1));
                    *value++ =
                        is_empty ? (double)NAN : made_value(c, years, (enum stv_quantity)q, spread);
                }
    return out;
}

static inline void made_outlook_free(struct stv_outlook *outlook)
{
    free(outlook->days_d);
    free(outlook->values);
    free(outlook->in_record);
}

/* Windows of all casks but the last, of every form. */
static inline struct stv_bottling made_bottling(size_t n, size_t n_months)
{
    struct stv_bottling out = {made_room(n, sizeof *out.windows), n};
    for (size_t i = 0; i < n; i++) {
        struct stv_window *w = &out.windows[i];
        *w = (struct stv_window){.cask_idx = (int)i,
                                 .has_window = i % 5 != 3,
                                 .open_idx = i % 4 == 0 ? 0 : 3 + i % 9,
                                 .opens_by = i % 4 == 0   ? STV_SIDE_NONE
                                             : i % 2 == 0 ? STV_SIDE_AGE
                                                          : STV_SIDE_WOOD_LOW,
                                 .never_by = STV_SIDE_STRENGTH,
                                 .surest_frac = 0.71,
                                 .closes = i % 3 != 1,
                                 .wait_cost_bottles_nd = 6.6,
                                 .wait_over_frac = 0.38};
        w->surest_idx = w->open_idx + 5 + i % 6;
        w->surest_from_idx = w->surest_to_idx = w->surest_idx;
        w->close_idx = w->closes ? w->surest_idx + 3 + i % 8 : n_months - 1;
        w->closes_by =
            w->closes ? (i % 2 == 0 ? STV_SIDE_WOOD_HIGH : STV_SIDE_STRENGTH) : STV_SIDE_NONE;
        w->bottles_nd = (struct stv_range){246.6, 250.0, 253.2, 256.0, 259.4};
        w->abv20_frac = (struct stv_range){0.571, 0.573, 0.575, 0.577, 0.579};
        w->wood_nd = (struct stv_range){0.8, 1.0, 1.1, 1.3, 1.5};
    }
    return out;
}

static inline struct stv_sites_result made_sites(size_t n_sites)
{
    static const double level[STV_SITE_METRIC_N] = {0.0724, 0.0513, -0.0031, 1.0, 0.81};
    static const double step[STV_SITE_METRIC_N] = {0.0121, 0.0083, 0.0057, 0.14, -0.05};
    static const char *const names[] = {"Quill Basin", "High Mesa", "River Flat", "North Ridge"};
    struct stv_sites_result out = {
        .sites = made_room(n_sites, sizeof *out.sites), .n_sites = n_sites, .n_draws = MADE_DRAWS};
    for (size_t s = 0; s < n_sites; s++) {
        struct stv_site_years *site = &out.sites[s];
        snprintf(site->name, sizeof site->name, "%s", names[s % 4]);
        site->n_years = 9;
        site->years = made_room(9, sizeof *site->years);
        for (int y = 0; y < 9; y++)
            site->years[y] = 2004 + y;
        for (int m = 0; m < STV_SITE_METRIC_N; m++) {
            double mid = level[m] + step[m] * (double)s, w = fabs(step[m]);
            site->metric[m] =
                (struct stv_range){mid - 1.1 * w, mid - 0.4 * w, mid, mid + 0.5 * w, mid + 1.3 * w};
            site->year_median[m] = made_room(9, sizeof(double));
            for (int y = 0; y < 9; y++)
                site->year_median[m][y] = mid + 0.7 * w * sin(1.7 * y + (double)s);
        }
    }
    out.n_pairs = n_sites * (n_sites - 1) / 2;
    out.pairs = made_room(out.n_pairs + 1, sizeof *out.pairs);
    size_t p = 0;
    for (size_t a = 0; a < n_sites; a++)
        for (size_t b = a + 1; b < n_sites; b++, p++) {
            out.pairs[p].a_idx = a;
            out.pairs[p].b_idx = b;
            out.pairs[p].n_common_years = 9;
            for (int m = 0; m < STV_SITE_METRIC_N; m++) {
                double d = -step[m] * (double)(b - a), w = fabs(step[m]);
                out.pairs[p].metric[m].spread =
                    (struct stv_range){d - w, d - 0.4 * w, d, d + 0.4 * w, d + w};
                out.pairs[p].metric[m].n_years = 9;
                out.pairs[p].metric[m].n_years_more = d > 0.0 ? 8 : 1;
                out.pairs[p].metric[m].verdict = (enum stv_verdict)((size_t)m % 4);
            }
        }
    for (int m = 0; m < STV_SITE_METRIC_N; m++)
        out.margin[m] = 0.003;
    return out;
}

static inline void made_sites_free(struct stv_sites_result *sites)
{
    for (size_t s = 0; s < sites->n_sites; s++) {
        free(sites->sites[s].years);
        for (int m = 0; m < STV_SITE_METRIC_N; m++)
            free(sites->sites[s].year_median[m]);
    }
    free(sites->sites);
    free(sites->pairs);
}

static inline struct stv_house_rules made_rules(void)
{
    return (struct stv_house_rules){.bottling_abv20_frac = 0.46,
                                    .bottle_l = 0.70,
                                    .bottling_loss_frac = 0.02,
                                    .reference_capacity_l = 200.0,
                                    .reference_abv20_frac = 0.60,
                                    .reference_months = 36.0,
                                    .wood_least_nd = 0.7,
                                    .wood_most_nd = 1.3,
                                    .least_abv20_frac = 0.57,
                                    .planned_age_y = 8.0};
}

#endif
