/* The house's yardstick: a new cask on the middle tier, filled with the record's first whole year. */
#include "model/ensemble.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>

enum stv_status stv__reference_run_of(const struct stv__ensemble *ensemble,
                                      const struct stv_house_rules *rules,
                                      struct stv__reference_run *out)
{
    *out = (struct stv__reference_run){
        .cask.history = STV_WOOD_NEW,
        .fill = {.day_d = stv_day_from_date((struct stv_date){ensemble->reference_year, 1, 1}),
                 .kind = STV_EVENT_FILL,
                 .other_idx = -1,
                 .volume20_l = rules->reference_capacity_l,
                 .abv20_frac = rules->reference_abv20_frac,
                 .place = {-1, -1, -1, -1}},
    };
    out->end_d =
        out->fill.day_d + (int64_t)llround(rules->reference_months * STV_YEAR_D / STV_MONTHS);
    return stv_cask_geometry(rules->reference_capacity_l, NAN, &ensemble->numbers,
                             &out->cask.geometry);
}

enum stv_status stv__reference_run(const struct stv__ensemble *ensemble,
                                   const struct stv__reference_run *run,
                                   const struct stv__lane_cask *lanes, stv__path_report *report,
                                   void *context)
{
    struct stv_cask cask = run->cask;
    struct stv_event fill = run->fill;
    const struct stv_ledger ledger = {.casks = &cask, .n_casks = 1, .events = &fill, .n_events = 1};
    const size_t zero = 0;
    const struct stv_path_group group = {&zero, &zero, 1, 1};
    struct stv_path_input input = stv__ensemble_path(ensemble);
    input.ledger = &ledger;
    input.event_positions = &ensemble->set->reference_idx;
    input.days_d = &run->end_d;
    input.n_days = 1;
    return stv_path_run(&input, &group, lanes, report, context);
}
