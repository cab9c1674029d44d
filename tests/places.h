/* Climates and casks of the tests: simple formulas, so that what a cask must do is known. */
#ifndef STV_TESTS_PLACES_H
#define STV_TESTS_PLACES_H

#include "model/calendar.h"
#include "model/outlook.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.28318530717958647693
#define NO_PLACE       \
    {                  \
        -1, -1, -1, -1 \
    }

/* Mean, yearly wave (warmest on 20 July) and daily wave (warmest at 15 h) of a place. */
struct climate_of {
    double mean_c, year_k, day_k;
    double rh_frac, rh_year_frac, rh_day_frac; /* dry when warm */
    double radiant_more_k;
};
static const struct climate_of mild_climate = {.mean_c = 15.0,
                                               .year_k = 10.0,
                                               .day_k = 5.0,
                                               .rh_frac = 0.60,
                                               .rh_year_frac = 0.05,
                                               .rh_day_frac = 0.05};

static inline int64_t day_of(int year, int month, int day)
{
    return stv_day_from_date((struct stv_date){year, month, day});
}

static inline double *room_for(size_t n)
{
    double *values = calloc(n, sizeof *values);
    assert_non_null(values);
    return values;
}

/* Values of some casks of an outlook, as a run of these casks alone would give them; `of` is the
 * outlook. */
static inline enum stv_status outlook_of_casks(void *of, const int *casks, size_t n,
                                               struct stv_outlook *out, int *out_at)
{
    const struct stv_outlook *outlook = of;
    size_t block =
        outlook->n_days * outlook->n_draws * (outlook->n_told ? outlook->n_told : (size_t)STV_Q_N);
    *out = *outlook;
    out->n_casks = n;
    out->values = room_for(n * block);
    out->days_d = calloc(outlook->n_days, sizeof *out->days_d);
    assert_non_null(out->days_d);
    memcpy(out->days_d, outlook->days_d, outlook->n_days * sizeof *out->days_d);
    out->sum_draws = NULL;
    out->n_labels = NULL;
    out->in_record = NULL;
    for (size_t i = 0; i < n; i++) {
        memcpy(out->values + i * block, outlook->values + (size_t)casks[i] * block,
               block * sizeof *out->values);
        out_at[i] = (int)i;
    }
    return STV_OK;
}

/* Whole local days from 1 January of a year on, n_hours of them, in a zone of an offset. */
static inline struct stv_position place_new(int year, size_t n_hours, int offset_min,
                                            const struct climate_of *climate)
{
    struct stv_position place = {
        .place = {0, 0, -1, -1},
        .grid = {.t0_s = day_of(year, 1, 1) * STV_DAY_S - (int64_t)offset_min * 60,
                 .step_s = STV_HOUR_S,
                 .utc_offset_min = offset_min,
                 .n = n_hours},
        .air_c = room_for(n_hours),
        .rh_frac = room_for(n_hours),
        .radiant_c = room_for(n_hours),
    };
    for (size_t k = 0; k < n_hours; k++) {
        double hour = (double)k + 0.5;
        double year_nd = cos(TWO_PI * (hour / STV_DAY_H - 200.0) / STV_YEAR_D);
        double day_nd = cos(TWO_PI * (hour - 15.0) / STV_DAY_H);
        place.air_c[k] = climate->mean_c + climate->year_k * year_nd + climate->day_k * day_nd;
        place.rh_frac[k] =
            climate->rh_frac - climate->rh_year_frac * year_nd - climate->rh_day_frac * day_nd;
        place.radiant_c[k] = place.air_c[k] + climate->radiant_more_k;
    }
    return place;
}

static inline struct stv_position steady_place(int year, size_t n_hours, double air_c,
                                               double rh_frac)
{
    struct climate_of climate = {.mean_c = air_c, .rh_frac = rh_frac};
    return place_new(year, n_hours, 0, &climate);
}

static inline void place_end(struct stv_position *place)
{
    free(place->air_c);
    free(place->rh_frac);
    free(place->radiant_c);
}

static inline struct stv_cask cask_new(const char *id, double capacity_l)
{
    struct stv_cask cask = {.history = STV_WOOD_NEW};
    snprintf(cask.id, sizeof cask.id, "%s", id);
    stv_assert_ok(stv_cask_geometry(capacity_l, NAN, &usual, &cask.geometry));
    return cask;
}

/* An event with everything unused left unsaid. */
static inline struct stv_event event_new(int64_t day_d, enum stv_event_kind kind, int cask_idx,
                                         size_t row)
{
    return (struct stv_event){.day_d = day_d,
                              .kind = kind,
                              .cask_idx = cask_idx,
                              .other_idx = -1,
                              .volume20_l = NAN,
                              .abv20_frac = NAN,
                              .water_kg = NAN,
                              .place = NO_PLACE,
                              .row = row};
}

static inline struct stv_event fill_new(int64_t day_d, int cask_idx, double volume20_l,
                                        double abv20_frac, size_t row)
{
    struct stv_event fill = event_new(day_d, STV_EVENT_FILL, cask_idx, row);
    fill.volume20_l = volume20_l;
    fill.abv20_frac = abv20_frac;
    return fill;
}

static inline double drawn(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx,
                           enum stv_quantity quantity)
{
    return stv_outlook_draws(outlook, cask_idx, day_idx, quantity)[0];
}

#endif
