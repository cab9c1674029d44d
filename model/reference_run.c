/* The house's yardstick: a new cask on the middle tier, filled with the record's first whole year.
 */
#include "model/ensemble.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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

static unsigned char *put(unsigned char *at, const void *bytes, size_t n)
{
    memcpy(at, bytes, n);
    return at + n;
}

void *stv__reference_key(const struct stv__ensemble *ensemble, const struct stv__reference_run *run,
                         const struct stv__lane_cask *lanes, size_t *out_n)
{
    /* Without the padding at the end. */
    const size_t n_lane =
        offsetof(struct stv__lane_cask, leak_again_d) + sizeof lanes->leak_again_d;
    const double days_d[] = {(double)run->fill.day_d, (double)run->end_d};
    const double fill[] = {run->fill.volume20_l, run->fill.abv20_frac};
    size_t n_draws = ensemble->n_packets * STV__PACKET * sizeof *ensemble->draw_of_lane;
    *out_n = sizeof ensemble->numbers + sizeof days_d + sizeof fill + n_draws +
             ensemble->n_packets * n_lane;
    unsigned char *key = malloc(*out_n), *at = key;
    if (!key)
        return NULL;
    at = put(at, &ensemble->numbers, sizeof ensemble->numbers);
    at = put(at, days_d, sizeof days_d);
    at = put(at, fill, sizeof fill);
    at = put(at, ensemble->draw_of_lane, n_draws);
    for (size_t p = 0; p < ensemble->n_packets; p++)
        at = put(at, &lanes[p], n_lane);
    return key;
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
