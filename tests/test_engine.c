/* The engine against the slow integrator (tests/slow_cask.h): every state at every year's end,
 * relative to the larger of the state and a hundredth of the fill; for what is dissolved and for
 * the pools, a hundredth of the most there ever was in that cask.
 *
 *     test_engine        a choice of casks, and a history
 *     test_engine all    all sizes in all climates, 2 minutes
 *     test_engine 100 240  casks and histories of these draws, in turn of all sizes and climates,
 *                        three seconds each
 *
 * Nothing is compared once a strength has left the 12 to 92 %vol that the engine knows, nor once
 * the slow cask is down to its litre: at which hour of the day it got there decides what that
 * holds, up to a gram of either.
 */
#include "model/ensemble.h"
#include "model/spirit.h"
#include "tests/slow_cask.h"

#include <gsl/gsl_errno.h>

#define N_YEARS 20
#define MOST_ERROR 1e-4
#define LEAST_L 1.001

/* Weather that is never the same: the waves of tests/places.h and slow and quick noise on top. */
static struct stv_position weathered(const struct climate_of *climate, double noise_k,
                                     uint64_t seed)
{
    size_t n = (N_YEARS * 365 + 5) * 24;
    struct stv_position place = place_new(2001, n, 0, climate);
    double slow_k = 0.0, damp = 0.0;
    for (size_t k = 0; k < n; k++) {
        double u = stv_draw_normal_nd(seed, 1, 2, k);
        double v = stv_draw_normal_nd(seed, 3, 4, k);
        slow_k += -slow_k / 60.0 + noise_k * u * sqrt(2.0 / 60.0);
        damp += -damp / 40.0 + 0.08 * v * sqrt(2.0 / 40.0);
        place.air_c[k] += slow_k;
        place.radiant_c[k] += slow_k;
        place.rh_frac[k] = fmin(0.98, fmax(0.08, place.rh_frac[k] + damp));
    }
    return place;
}

static const struct climate_of seasonal = {16.0, 12.0, 8.0, 0.58, 0.12, 0.16, 1.0};
static const struct climate_of furnace = {29.0, 6.0, 8.0, 0.30, 0.08, 0.12, 1.0};
static const struct climate_of cellar = {7.0, 3.0, 1.0, 0.82, 0.03, 0.04, 0.0};
static const struct climate_of jungle = {30.0, 3.0, 6.0, 0.84, 0.03, 0.12, 0.5};

/* States of one lane at the days, in the slow cask's order. */
struct seen {
    size_t n_days;
    double (*at)[SLOW_N]; /* [member * n_days + day] */
};

static void see(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                const struct stv__packet *packet)
{
    const struct seen *seen = context;
    double *at = seen->at[member_idx * seen->n_days + day_idx];
    assert_int_equal(packet_idx, 0);
    at[SLOW_ETHANOL] = packet->ethanol_kg[0];
    at[SLOW_WATER] = packet->water_kg[0];
    at[SLOW_ESTER] = packet->ester_mg[0];
    at[SLOW_FRUIT] = packet->fruit_nd[0];
    for (size_t k = 0; k < STV_OAK_N; k++) {
        at[SLOW_CONTENT + k] = packet->content_mg[k][0];
        at[SLOW_FAST + k] = packet->fast_mg_m2[k][0];
        at[SLOW_GIVEN + k] = packet->slow_mg_m2[k][0];
    }
}

static void run_engine(const struct stv_ledger *ledger, const struct stv_position_set *set,
                       const struct stv_params *params, const int64_t *days_d, struct seen *seen)
{
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request request = {.ledger = ledger,
                                          .set = set,
                                          .rules = &rules,
                                          .base = params,
                                          .options = {.seed = 1, .step_d = 10.0},
                                          .days_d = days_d,
                                          .n_days = seen->n_days};
    struct stv__ensemble ensemble;
    size_t to;
    stv_assert_ok(stv__ensemble_new(&request, &ensemble));
    stv_assert_ok(stv__ensemble_tables(&ensemble, 0, &to));
    assert_int_equal(ensemble.n_groups, 1);
    struct stv_path_input input = stv__ensemble_path(&ensemble);
    input.days_d = days_d;
    input.n_days = seen->n_days;
    struct stv__lane_cask *lanes = aligned_alloc(64, ledger->n_casks * sizeof *lanes);
    assert_non_null(lanes);
    stv__ensemble_lanes(&ensemble, ensemble.groups, NULL, lanes);
    stv_assert_ok(stv_path_run(&input, ensemble.groups, lanes, see, seen));
    free(lanes);
    stv__ensemble_free(&ensemble);
}

/* One draw of all parameters. */
static struct stv_params drawn_params(uint64_t seed, bool is_leaky)
{
    struct stv_house_draws house;
    struct stv_params base = stv_params_default();
    uint64_t kind = stv_key_of("oak");
    stv_assert_ok(stv_house_draws_new(seed, 1, &kind, 1, &house));
    struct stv_scores scores = stv_scores_drawn(&base, &usual, &house, 0, 0, stv_key_of("cask"));
    scores.leak_per_y = is_leaky ? 0.06 : 0.0;
    struct stv_params params = stv_params_of_scores(&base, &usual, &scores);
    stv_house_draws_free(&house);
    return params;
}

struct worst {
    double error;
    int state, year;
};

/* One cask's reckoning: the most of each state so far, and its worst error. */
struct judged {
    bool has_left; /* the strengths that the engine knows */
    double most[SLOW_N], most_kg;
    struct worst worst;
};

static void note_most(struct judged *judged, const double *state)
{
    for (int i = 0; i < SLOW_N; i++)
        judged->most[i] = fmax(judged->most[i], state[i]);
    judged->most_kg = fmax(judged->most_kg, state[SLOW_ETHANOL] + state[SLOW_WATER]);
}

static void compare(const double *got, const double *want, int year, struct judged *judged)
{
    note_most(judged, want);
    for (int i = SLOW_ETHANOL; i < SLOW_N; i++) {
        double scale = i <= SLOW_WATER ? judged->most_kg : judged->most[i];
        double error = fabs(got[i] - want[i]) / fmax(want[i], 0.01 * scale);
        if (!(error <= judged->worst.error) && !isnan(judged->worst.error))
            judged->worst = (struct worst){error, i, year};
    }
}

static bool is_good(const char *what, const struct judged *judged)
{
    const struct worst *worst = &judged->worst;
    bool good = worst->error <= MOST_ERROR; /* NaN is not */
    print_message("%s:  %.1e (state %d, %d)%s\n", what, worst->error, worst->state, worst->year,
                  good ? "" : "  TOO MUCH");
    return good;
}

static bool is_known(const struct slow_cask *slow)
{
    double mole_frac = stv_mole_frac_from_mass_frac(
        slow->state[SLOW_ETHANOL] / (slow->state[SLOW_ETHANOL] + slow->state[SLOW_WATER]));
    return mole_frac > STV_TABLE_LEAST_MOLE_FRAC && mole_frac < STV_TABLE_MOST_MOLE_FRAC;
}

/* Carries the slow cask on and looks at it now and then: for the most there ever was, and whether
 * its strength is still known. */
static void carry(struct slow_cask *slow, int64_t from_d, int64_t to_d, struct judged *judged)
{
    for (int64_t next_d; from_d < to_d; from_d = next_d) {
        next_d = from_d + 10 < to_d ? from_d + 10 : to_d;
        slow_carry(slow, from_d, next_d);
        note_most(judged, slow->state);
        judged->has_left = judged->has_left || !is_known(slow);
    }
}

struct one {
    double capacity_l, abv20_frac;
    const struct climate_of *climate;
    uint64_t draw; /* 0: the defaults */
    bool is_leaky;
};

static bool cask_is_good(const struct one *one)
{
    char what[80];
    double exposed_frac = 1.0, at[N_YEARS][SLOW_N];
    struct stv_position place = weathered(one->climate, 2.5, one->draw + 11);
    struct stv_position_set set = {&place, 1, &exposed_frac, 0, 0};
    struct stv_params params =
        one->draw ? drawn_params(one->draw, one->is_leaky) : stv_params_default();
    struct stv_cask cask = cask_new("a", one->capacity_l);
    /* In mid step. */
    struct stv_event fill =
        fill_new(day_of(2001, 3, 14), 0, 0.97 * one->capacity_l, one->abv20_frac, 0);
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    int64_t days_d[N_YEARS - 1], now_d = fill.day_d;
    struct seen seen = {N_YEARS - 1, at};
    struct slow_cask slow = {
        .geometry = cask.geometry, .params = params, .place = &place, .exposed_frac = 1.0};
    struct judged judged = {0};
    for (int y = 0; y < N_YEARS - 1; y++)
        days_d[y] = day_of(2002 + y, 1, 1);
    run_engine(&ledger, &set, &params, days_d, &seen);
    slow_start(&slow, STV_WOOD_NEW);
    slow_fill(&slow, fill.day_d, fill.volume20_l, fill.abv20_frac, false);
    note_most(&judged, slow.state);
    for (int y = 0; y < N_YEARS - 1 && !judged.has_left; y++) {
        carry(&slow, now_d, days_d[y], &judged);
        now_d = days_d[y];
        if (!judged.has_left && slow_litres(&slow) > LEAST_L)
            compare(at[y], slow.state, 2002 + y, &judged);
    }
    snprintf(what, sizeof what, "draw %3d%s: %3.0f L at %2.0f C, %3.0f kg of %3.0f left",
             (int)one->draw, one->is_leaky ? ", leaky" : "", one->capacity_l, one->climate->mean_c,
             slow.state[SLOW_ETHANOL] + slow.state[SLOW_WATER], judged.most_kg);
    place_end(&place);
    return is_good(what, &judged);
}

static void chosen_casks(void **state)
{
    (void)state;
    static const struct one chosen[] = {
        {50, 0.60, &seasonal, 0, false},   {250, 0.60, &seasonal, 3, true},
        {200, 0.60, &furnace, 12, false},  {100, 0.70, &jungle, 31, false},
        {50, 0.60, &jungle, 0, false},     {500, 0.635, &furnace, 14, false},
        {225, 0.55, &cellar, 21, true},    {50, 0.70, &furnace, 105, false},
        {100, 0.70, &furnace, 126, false}, {100, 0.60, &jungle, 3016, false},
        {50, 0.60, &jungle, 3095, false},  {50, 0.60, &cellar, 3050, false},
        {50, 0.60, &jungle, 3395, false},  {100, 0.70, &furnace, 3306, false},
        {250, 0.70, &jungle, 3798, false},
    };
    for (size_t i = 0; i < sizeof chosen / sizeof *chosen; i++)
        assert_true(cask_is_good(&chosen[i]));
}

static const double sizes_l[] = {50, 100, 200, 250, 500};
static const struct climate_of *const climates[] = {&seasonal, &furnace, &cellar, &jungle};

static void all_casks(void **state)
{
    (void)state;
    int n_bad = 0;
    for (uint64_t c = 0; c < 4; c++)
        for (uint64_t s = 0; s < 5; s++)
            n_bad += !cask_is_good(&(struct one){sizes_l[s], s == 1 ? 0.70 : 0.60, climates[c],
                                                 s % 2 ? 10 * c + s : 0, s == 3});
    assert_int_equal(n_bad, 0);
}

/* Three casks in two places, most of it done in mid step: A of 200 L is filled, watered, sampled
 * and partly poured into B of 100 L, topped up, poured into C of 250 L, and filled again. */
enum { A, B, C, N_HISTORY = 3 };
static const double exposed_fracs[] = {1.0, 0.8};

struct history {
    struct stv_position places[2];
    struct slow_cask slow[N_HISTORY];
    struct judged judged[N_HISTORY];
    bool is_full[N_HISTORY];
};

static double part_of_litres(const struct slow_cask *slow, double volume20_l)
{
    return volume20_l / slow_litres(slow);
}

static void stand(struct history *history, struct slow_cask *slow, const struct stv_event *event)
{
    slow->exposed_frac = exposed_fracs[event->place.tier_idx];
    slow_move(slow, event->day_d, &history->places[event->place.tier_idx]);
}

/* What an event does to the slow casks.  As model/path.h assumes, a cask is at once as warm as one
 * that always held so much there. */
static void slow_event(struct history *history, const struct stv_event *event)
{
    struct slow_cask *own = &history->slow[event->cask_idx];
    struct slow_cask *other = &history->slow[event->other_idx < 0 ? 0 : event->other_idx];
    double ethanol_kg, water_kg;
    bool is_whole = isnan(event->volume20_l);
    switch (event->kind) {
    case STV_EVENT_FILL:
        slow_fill(own, event->day_d, event->volume20_l, event->abv20_frac, event->is_soaked);
        history->is_full[event->cask_idx] = true;
        break;
    case STV_EVENT_MOVE:
        stand(history, own, event);
        break;
    case STV_EVENT_ADD_WATER:
        own->state[SLOW_WATER] += event->water_kg;
        break;
    case STV_EVENT_TOP_UP:
        stv_assert_ok(
            stv_spirit_masses_kg(event->volume20_l, event->abv20_frac, &ethanol_kg, &water_kg));
        own->state[SLOW_ETHANOL] += ethanol_kg;
        own->state[SLOW_WATER] += water_kg;
        break;
    case STV_EVENT_SAMPLE:
        slow_take(own, part_of_litres(own, event->volume20_l));
        break;
    case STV_EVENT_TRANSFER:
        slow_pour(own, other, is_whole ? 1.0 : part_of_litres(own, event->volume20_l));
        slow_wet(other, event->day_d, false);
        stand(history, other, event);
        history->is_full[event->other_idx] = true;
        history->is_full[event->cask_idx] = !is_whole;
        break;
    case STV_EVENT_LEAK_STOPPED:
        own->is_tight = true;
        break;
    default:
        fail();
    }
    if (history->is_full[event->cask_idx])
        slow_settle(own, event->day_d);
}

static struct stv_event event_of(int64_t day_d, enum stv_event_kind kind, int cask_idx,
                                 double amount)
{
    struct stv_event event = event_new(day_d, kind, cask_idx, 0);
    if (kind == STV_EVENT_ADD_WATER)
        event.water_kg = amount;
    else
        event.volume20_l = amount;
    event.abv20_frac = kind == STV_EVENT_FILL || kind == STV_EVENT_TOP_UP ? 0.61 : (double)NAN;
    return event;
}

static struct stv_event transfer_of(int64_t day_d, int from, int to, double volume20_l)
{
    struct stv_event event = event_of(day_d, STV_EVENT_TRANSFER, from, volume20_l);
    event.other_idx = to;
    event.place = (struct stv_place){0, 1, -1, -1};
    return event;
}

static void walk_slowly(struct history *history, const struct stv_ledger *ledger,
                        const int64_t *days_d, struct seen *seen)
{
    int64_t now_d = ledger->events[0].day_d;
    size_t e = 0;
    for (size_t y = 0; y < seen->n_days;) {
        bool is_event = e < ledger->n_events && ledger->events[e].day_d <= days_d[y];
        int64_t next_d = is_event ? ledger->events[e].day_d : days_d[y];
        for (int c = 0; c < N_HISTORY; c++)
            if (history->is_full[c])
                carry(&history->slow[c], now_d, next_d, &history->judged[c]);
        now_d = next_d;
        if (is_event)
            slow_event(history, &ledger->events[e++]);
        for (size_t c = 0; c < N_HISTORY; c++) {
            note_most(&history->judged[c], history->slow[c].state);
            if (!is_event && history->is_full[c] && !history->judged[c].has_left)
                compare(seen->at[c * seen->n_days + y], history->slow[c].state, 2002 + (int)y,
                        &history->judged[c]);
        }
        y += !is_event;
    }
}

static bool history_is_good(uint64_t draw, const struct climate_of *far)
{
    bool is_good_all = true;
    struct stv_cask casks[N_HISTORY] = {cask_new("a", 200), cask_new("b", 100), cask_new("c", 250)};
    casks[C].history = STV_WOOD_HELD_SPIRIT;
    struct stv_event events[] = {
        event_of(day_of(2001, 3, 14), STV_EVENT_FILL, A, 190.0),
        event_of(day_of(2002, 5, 3), STV_EVENT_ADD_WATER, A, 7.0),
        event_of(day_of(2002, 9, 9), STV_EVENT_SAMPLE, A, 0.7),
        transfer_of(day_of(2003, 2, 7), A, B, 62.0),
        event_of(day_of(2003, 6, 18), STV_EVENT_TOP_UP, A, 31.0),
        event_of(day_of(2004, 2, 29), STV_EVENT_LEAK_STOPPED, A, NAN),
        transfer_of(day_of(2004, 8, 21), A, C, NAN),
        event_of(day_of(2004, 10, 2), STV_EVENT_FILL, A, 180.0),
        event_of(day_of(2005, 4, 11), STV_EVENT_MOVE, B, NAN),
    };
    enum { N_EVENTS = sizeof events / sizeof *events, N_ENDS = 5 };
    for (size_t e = 0; e < N_EVENTS; e++)
        events[e].row = e;
    events[7].is_soaked = 1; /* emptied six weeks before */
    events[8].place = (struct stv_place){0, 0, -1, -1};
    struct stv_ledger ledger = {casks, N_HISTORY, events, N_EVENTS};
    struct history history = {
        .places = {weathered(&seasonal, 2.5, draw + 5), weathered(far, 2.0, draw + 6)}};
    history.places[1].place.tier_idx = 1;
    struct stv_position_set set = {history.places, 2, exposed_fracs, 0, 0};
    struct stv_params params = drawn_params(draw, true);
    int64_t days_d[N_ENDS];
    double at[N_HISTORY * N_ENDS][SLOW_N];
    struct seen seen = {N_ENDS, at};
    for (int y = 0; y < N_ENDS; y++)
        days_d[y] = day_of(2002 + y, 1, 1);
    run_engine(&ledger, &set, &params, days_d, &seen);
    for (size_t c = 0; c < N_HISTORY; c++) {
        history.slow[c] = (struct slow_cask){.geometry = casks[c].geometry,
                                             .params = params,
                                             .place = &history.places[c > 0],
                                             .exposed_frac = exposed_fracs[c > 0]};
        slow_start(&history.slow[c], casks[c].history);
    }
    walk_slowly(&history, &ledger, days_d, &seen);
    for (int c = 0; c < N_HISTORY; c++) {
        char what[40];
        snprintf(what, sizeof what, "history of %d, cask %d", (int)draw, c + 1);
        is_good_all = is_good(what, &history.judged[c]) && is_good_all;
    }
    place_end(&history.places[0]);
    place_end(&history.places[1]);
    return is_good_all;
}

static void a_history(void **state)
{
    (void)state;
    assert_true(history_is_good(8, &furnace));
    assert_true(history_is_good(225, &furnace));
}

static uint64_t drawn_from, drawn_to;

static void drawn_casks(void **state)
{
    (void)state;
    int n_bad = 0;
    for (uint64_t d = drawn_from; d < drawn_to; d++) {
        n_bad += !cask_is_good(
            &(struct one){sizes_l[d % 5], d % 3 ? 0.60 : 0.70, climates[d / 5 % 4], d, d % 7 == 3});
        n_bad += !history_is_good(d, climates[d % 4]);
    }
    assert_int_equal(n_bad, 0);
}

int main(int n_words, char **words)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest all[] = {cmocka_unit_test(all_casks)};
    const struct CMUnitTest drawn[] = {cmocka_unit_test(drawn_casks)};
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_history),
        cmocka_unit_test(chosen_casks),
    };
    if (n_words > 1 && strcmp(words[1], "all") == 0)
        return cmocka_run_group_tests(all, NULL, NULL);
    if (n_words > 2) {
        drawn_from = strtoull(words[1], NULL, 10);
        drawn_to = strtoull(words[2], NULL, 10);
        return cmocka_run_group_tests(drawn, NULL, NULL);
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
