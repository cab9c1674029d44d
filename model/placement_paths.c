/* Copies of a cask, each filled in its place: one ledger, one outlook. */
#include "model/placement_paths.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>

static enum stv_status check(const struct stv_path_wish *wish)
{
    double before_y = 0.0;
    if (wish->n_places == 0 || wish->n_ages == 0)
        return STV_E_ARG;
    for (size_t a = 0; a < wish->n_ages; a++) {
        if (!(wish->ages_y[a] > before_y))
            return STV_E_ARG;
        before_y = wish->ages_y[a];
    }
    return STV_OK;
}

static void fill(const struct stv_path_wish *wish, struct stv_ledger *ledger, int64_t *days_d)
{
    for (size_t p = 0; p < wish->n_places; p++) {
        ledger->casks[p] = *wish->cask;
        ledger->events[p] = (struct stv_event){.day_d = wish->from_day_d,
                                               .kind = STV_EVENT_FILL,
                                               .cask_idx = (int)p,
                                               .other_idx = -1,
                                               .volume20_l = wish->volume20_l,
                                               .abv20_frac = wish->abv20_frac,
                                               .water_kg = (double)NAN,
                                               .place = wish->places[p],
                                               .row = p};
    }
    ledger->n_casks = ledger->n_events = wish->n_places;
    for (size_t a = 0; a < wish->n_ages; a++)
        days_d[a] = wish->from_day_d + (int64_t)llround(wish->ages_y[a] * STV_YEAR_D);
}

static void tell(const struct stv_outlook *outlook, const struct stv_path_wish *wish,
                 double *room_draws, struct stv_path_age *out)
{
    double filled_lpa_l = wish->volume20_l * wish->abv20_frac;
    for (size_t p = 0; p < wish->n_places; p++)
        for (size_t a = 0; a < wish->n_ages; a++) {
            const double *left_draws = stv_outlook_draws(outlook, p, a, STV_Q_LPA_L);
            for (size_t k = 0; k < outlook->n_draws; k++)
                room_draws[k] = 1.0 - left_draws[k] / filled_lpa_l;
            out[p * wish->n_ages + a] =
                (struct stv_path_age){stv_range_of(room_draws, outlook->n_draws),
                                      stv_outlook_range(outlook, p, a, STV_Q_WOOD_INDEX_ND)};
        }
}

enum stv_status stv_placement_paths(const struct stv_outlook_request *house,
                                    const struct stv_path_wish *wish, struct stv_path_age *out)
{
    enum stv_status status = check(wish);
    if (status != STV_OK)
        return status;
    struct stv_outlook outlook = {0};
    struct stv_outlook_request request = *house;
    struct stv_ledger ledger = {.casks = calloc(wish->n_places, sizeof *ledger.casks),
                                .events = calloc(wish->n_places, sizeof *ledger.events)};
    int64_t *days_d = malloc(wish->n_ages * sizeof *days_d);
    double *room = NULL;
    if (!ledger.casks || !ledger.events || !days_d)
        status = STV_E_MEMORY;
    if (status == STV_OK) {
        fill(wish, &ledger, days_d);
        request.ledger = &ledger;
        request.days_d = days_d;
        request.n_days = wish->n_ages;
        request.keeps_ranges_only = 0;
        request.sums = NULL;
        request.n_sums = 0;
        request.rows = NULL;
        status = stv_outlook_run(&request, &outlook);
    }
    if (status == STV_OK && !(room = malloc(outlook.n_draws * sizeof *room)))
        status = STV_E_MEMORY;
    if (status == STV_OK)
        tell(&outlook, wish, room, out);
    free(room);
    free(days_d);
    stv_outlook_free(&outlook);
    stv_ledger_free(&ledger);
    return status;
}
