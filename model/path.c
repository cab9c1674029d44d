/* A group of casks in date order: each is carried to the next event or reported day, then the event
 * is applied.  A step of the table that an event cuts in two is walked day by day, for its mean
 * would hold for neither part, and so are the first days after wood was wetted and the last litres
 * of a cask. */
#include "model/path.h"

#include "model/calendar.h"
#include "model/path_start.h"
#include "model/path_step.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* While wood drinks and gives fast, a step is too coarse: first its mean climate, then its length.
 * In a small cask, which has more wall to the litre, both take longer than in one of USUAL_L. */
#define USUAL_L 200.0
#define FRESH_BY_DAY_D 26.0
#define FRESH_Y 1.1
#define FRESH_PIECE_D 2.5

struct walk {
    const struct stv_path_input *input;
    const struct stv_path_group *group;
    struct stv__cask_now *casks; /* n_members */
    int64_t now_d;
    int64_t last_event_d, next_event_d; /* INT64_MIN and INT64_MAX when there is none */
};

/* Share of the whole indrink that has happened after an age. */
static double indrink_share(const struct stv_cask_numbers *numbers, double age_d)
{
    double fast = numbers->indrink_fast_frac;
    return fast * fmin(1.0, age_d / numbers->indrink_fast_d) -
           (1.0 - fast) * expm1(-age_d / numbers->indrink_slow_d);
}

/* A piece of a table's step: where it stands, and how long it is. */
struct piece {
    int32_t year;
    size_t step_idx, day_idx; /* day SIZE_MAX: the mean of the step */
    int64_t from_d, to_d, step_from_d;
};

/* Days since a cask was wetted, counted as in a cask of the usual size. */
static double fresh_age_d(const struct stv__cask_now *now, int64_t day_d)
{
    double size = fmin(1.0, now->cask->geometry.capacity_l / USUAL_L);
    return (double)(day_d - now->wetted_day_d) * size;
}

/* First day of the table's step that holds a day; the year's last step takes what is left of it. */
static int64_t step_begin(const struct stv_climate_table *table, int64_t day_d, size_t *out_step)
{
    size_t n_steps = stv_table_steps(table), step_d = stv_table_step_start_d(table, 1);
    int32_t year = stv_date_from_day(day_d).year;
    int64_t new_year_d = stv_day_from_date((struct stv_date){year, 1, 1});
    size_t step = (size_t)(day_d - new_year_d) / step_d;
    *out_step = step < n_steps - 1 ? step : n_steps - 1;
    return new_year_d + (int64_t)(*out_step * step_d);
}

static struct piece piece_at(const struct walk *walk, const struct stv__cask_now *now,
                             const struct stv_climate_table *table, int64_t to_d)
{
    size_t n_steps = stv_table_steps(table), step_d = stv_table_step_start_d(table, 1), step;
    int64_t start_d = step_begin(table, walk->now_d, &step);
    int32_t year = stv_date_from_day(start_d).year;
    int64_t end_d = step + 1 < n_steps ? start_d + (int64_t)step_d
                                       : stv_day_from_date((struct stv_date){year + 1, 1, 1});
    struct piece piece = {year, step, SIZE_MAX, walk->now_d, end_d < to_d ? end_d : to_d, start_d};
    bool is_cut = (walk->last_event_d > start_d && walk->last_event_d < end_d) ||
                  (walk->next_event_d > start_d && walk->next_event_d < end_d);
    if (is_cut || fresh_age_d(now, start_d) < FRESH_BY_DAY_D) {
        piece.day_idx = (size_t)(walk->now_d - start_d);
        piece.to_d = walk->now_d + 1;
    }
    return piece;
}

/* Rows that the last packet of these lanes found in a piece: trials of a member mostly share them.
 */
struct found {
    size_t panel, first_node; /* SIZE_MAX: none yet */
    const float *rows[STV__TAU_WINDOW];
};

static void forget_found(struct found found[STV__LANES])
{
    for (size_t l = 0; l < STV__LANES; l++)
        found[l].panel = found[l].first_node = SIZE_MAX;
}

static enum stv_status find_row(struct stv_climate_table *table, const struct piece *piece,
                                size_t lane, size_t panel, size_t first_node, struct found *found)
{
    if (found->panel == panel && found->first_node == first_node)
        return STV_OK;
    const struct stv__table_window window = {panel,       first_node,      lane,
                                             piece->year, piece->step_idx, piece->day_idx};
    found->panel = panel;
    found->first_node = first_node;
    return stv__table_rows(table, &window, found->rows);
}

/* Whether a cask leaks on a day, if it leaks at all: a stop ends what began before it. */
static bool leaks(const struct stv__cask_now *now, int64_t day_d)
{
    const struct stv__lane_cask *lane = &now->lanes[0];
    if (day_d >= lane->leak_again_d)
        return now->stopped_d <= lane->leak_again_d;
    if (day_d < lane->leak_from_d)
        return false;
    return lane->leak_to_d < INT64_MAX ? day_d < lane->leak_to_d
                                       : now->stopped_d <= lane->leak_from_d;
}

static struct stv__step step_of(const struct walk *walk, const struct stv__cask_now *now,
                                const struct piece *piece)
{
    const struct stv_cask_numbers *numbers = &walk->input->model->numbers;
    double age_d = (double)(piece->from_d - now->wetted_day_d);
    double step_d = (double)(piece->to_d - piece->from_d);
    struct stv__step step = {.step_d = step_d, .wood_pieces = 1, .leak_frac = 1.0};
    if (fresh_age_d(now, piece->from_d) < FRESH_Y * STV_YEAR_D)
        step.wood_pieces = (int)ceil(step_d / FRESH_PIECE_D);
    step.leak_frac = leaks(now, piece->from_d) ? 1.0 : 0.0;
    if (now->indrink_total_l > 0.0) {
        step.indrink_l = now->indrink_total_l *
                         (indrink_share(numbers, age_d + step_d) - indrink_share(numbers, age_d));
        step.damp_water_kg =
            now->damp_water_kg * (fmin(1.0, (age_d + step_d) / numbers->indrink_fast_d) -
                                  fmin(1.0, age_d / numbers->indrink_fast_d));
    }
    return step;
}

/* Eight trials of a cask that go through a step side by side. */
struct abreast {
    const struct walk *walk;
    struct stv__cask_now *now;
    struct stv_climate_table *table;
    const struct stv__lane_cask *cask;
    struct stv__packet *packet;
    size_t table_lane[STV__PACKET];
};

static size_t table_lane_of(size_t packet_idx, size_t lane)
{
    return STV__PACKET * (packet_idx % STV__PACKETS) + lane;
}

static enum stv_status find_rows(const struct abreast *at, const struct piece *piece,
                                 const struct stv__step_needs *needs,
                                 struct found found[STV__LANES], struct stv__step *out)
{
    for (size_t l = 0; l < STV__PACKET; l++) {
        struct found *own = &found[at->table_lane[l]];
        if (!needs->is_alive[l])
            continue;
        enum stv_status status = find_row(at->table, piece, at->table_lane[l], needs->panel[l],
                                          stv__first_node(needs, l), own);
        if (status != STV_OK)
            return status;
        memcpy(out->rows[l], own->rows, sizeof out->rows[l]);
    }
    for (size_t l = 0; l < STV__PACKET; l++)
        if (!needs->is_alive[l])
            memcpy(out->rows[l], out->rows[needs->first_alive], sizeof out->rows[l]);
    return STV_OK;
}

/* Nothing happens where no lane is alive. */
static enum stv_status take_step(const struct abreast *at, const struct piece *piece,
                                 struct found found[STV__LANES], struct stv__step *step)
{
    const struct stv__path_model *model = at->walk->input->model;
    struct stv__step_needs needs;
    stv__packet_needs(model, at->cask, at->packet, step->step_d, &needs);
    if (needs.first_alive == STV__PACKET)
        return STV_OK;
    enum stv_status status = find_rows(at, piece, &needs, found, step);
    if (status == STV_OK)
        stv__packet_advance(model, at->cask, step, &needs, at->packet);
    return status;
}

/* Trials that are down to the last litres, from any of the cask's packets. */
struct last_lanes {
    size_t packet_idx[STV__PACKET], lane[STV__PACKET], n;
};

/* Packets are vectors of eight lanes, and so is a cask but for what all trials share. */
enum {
    PACKET_VECTORS = sizeof(struct stv__packet) / sizeof(stv__v8),
    CASK_VECTORS = offsetof(struct stv__lane_cask, wood_j_k) / sizeof(stv__v8)
};

static void copy_lane(const void *from, size_t from_lane, size_t n_vectors, void *to,
                      size_t to_lane)
{
    const stv__v8 *in = from;
    stv__v8 *out = to;
    for (size_t i = 0; i < n_vectors; i++)
        out[i][to_lane] = in[i][from_lane];
}

static void empty_lane(struct stv__packet *packet, size_t lane)
{
    packet->ethanol_kg[lane] = packet->water_kg[lane] = 0.0;
}

/* Day by day in each day's own climate, whatever they come to on the way. */
static enum stv_status step_by_day(const struct abreast *at, const struct piece *whole)
{
    enum stv_status status = STV_OK;
    for (int64_t day_d = whole->from_d; day_d < whole->to_d && status == STV_OK; day_d++) {
        struct found found[STV__LANES];
        struct piece piece = *whole;
        piece.day_idx = (size_t)(day_d - whole->step_from_d);
        piece.from_d = day_d;
        piece.to_d = day_d + 1;
        struct stv__step step = step_of(at->walk, at->now, &piece);
        forget_found(found);
        status = take_step(at, &piece, found, &step);
    }
    return status;
}

/* Last lanes, of which there must be one, are put together: eight take as long as one. */
static enum stv_status step_last(const struct walk *walk, struct stv__cask_now *now,
                                 struct stv_climate_table *table, const struct piece *piece,
                                 struct last_lanes *last)
{
    struct stv__lane_cask cask = now->lanes[0];
    struct stv__packet packet = now->packets[0];
    struct abreast at = {walk, now, table, &cask, &packet, {0}};
    for (size_t l = 0; l < STV__PACKET; l++) {
        size_t own = l < last->n ? l : 0, p = last->packet_idx[own];
        at.table_lane[l] = table_lane_of(p, last->lane[own]);
        copy_lane(&now->packets[p], last->lane[own], PACKET_VECTORS, &packet, l);
        copy_lane(&now->lanes[p], last->lane[own], CASK_VECTORS, &cask, l);
        if (l >= last->n)
            empty_lane(&packet, l);
    }
    enum stv_status status = step_by_day(&at, piece);
    for (size_t l = 0; l < last->n; l++)
        copy_lane(&packet, l, PACKET_VECTORS, &now->packets[last->packet_idx[l]], last->lane[l]);
    last->n = 0;
    return status;
}

/* Lanes that are down to the last litres are set apart, the others take the step. */
static enum stv_status step_others(const struct abreast *at, const struct piece *piece,
                                   size_t packet_idx, stv__m8 is_last,
                                   struct found found[STV__LANES], struct stv__step *step,
                                   struct last_lanes *last)
{
    enum stv_status status = STV_OK;
    struct stv__packet others = *at->packet;
    struct abreast rest = *at;
    rest.packet = &others;
    for (size_t l = 0; l < STV__PACKET && status == STV_OK; l++) {
        if (!is_last[l])
            continue;
        empty_lane(&others, l);
        if (last->n == STV__PACKET)
            status = step_last(at->walk, at->now, at->table, piece, last);
        last->packet_idx[last->n] = packet_idx;
        last->lane[last->n++] = l;
    }
    if (status == STV_OK)
        status = take_step(&rest, piece, found, step);
    for (size_t l = 0; l < STV__PACKET; l++)
        if (!is_last[l])
            copy_lane(&others, l, PACKET_VECTORS, at->packet, l);
    return status;
}

static struct abreast packet_at(const struct walk *walk, struct stv__cask_now *now,
                                struct stv_climate_table *table, size_t packet_idx)
{
    struct abreast at = {walk, now, table, &now->lanes[packet_idx], &now->packets[packet_idx], {0}};
    for (size_t l = 0; l < STV__PACKET; l++)
        at.table_lane[l] = table_lane_of(packet_idx, l);
    return at;
}

static enum stv_status advance(const struct walk *walk, struct stv__cask_now *now,
                               struct stv_climate_table *table, const struct piece *piece)
{
    struct stv__step step = step_of(walk, now, piece);
    struct found found[STV__LANES];
    struct last_lanes last = {.n = 0};
    enum stv_status status = STV_OK;
    forget_found(found);
    for (size_t p = 0; p < walk->input->n_packets && status == STV_OK; p++) {
        const struct abreast at = packet_at(walk, now, table, p);
        stv__m8 is_last = stv__packet_last(at.packet);
        if (piece->day_idx == SIZE_MAX && stv__any(is_last))
            status = step_others(&at, piece, p, is_last, found, &step, &last);
        else
            status = take_step(&at, piece, found, &step);
    }
    if (status == STV_OK && last.n > 0)
        status = step_last(walk, now, table, piece, &last);
    return status;
}

static enum stv_status carry_to(struct walk *walk, int64_t to_d)
{
    enum stv_status status = STV_OK;
    int64_t from_d = walk->now_d;
    for (size_t m = 0; m < walk->group->n_members && status == STV_OK; m++) {
        struct stv__cask_now *now = &walk->casks[m];
        struct stv_climate_table *table = walk->input->tables[now->position_idx];
        for (walk->now_d = from_d; now->is_full && walk->now_d < to_d && status == STV_OK;) {
            struct piece piece = piece_at(walk, now, table, to_d);
            status = advance(walk, now, table, &piece);
            walk->now_d = piece.to_d;
        }
    }
    walk->now_d = to_d;
    return status;
}

static struct stv__cask_now *member_of(struct walk *walk, int cask_idx)
{
    size_t low = 0, high = walk->group->n_members;
    while (low + 1 < high) {
        size_t middle = (low + high) / 2;
        if (walk->group->members[middle] <= (size_t)cask_idx)
            low = middle;
        else
            high = middle;
    }
    return &walk->casks[low];
}

/* Empties the lanes that are told to nobody, so that no row of a table is made for them. */
static void empty_unasked(const struct stv_path_input *input, struct stv__cask_now *now)
{
    for (size_t i = 0; now && input->draw_of_lane && i < input->n_packets * STV__PACKET; i++)
        if (input->draw_of_lane[i] == SIZE_MAX)
            empty_lane(&now->packets[i / STV__PACKET], i % STV__PACKET);
}

/* A cask that was filled, moved or touched is at once as warm as one that was always so. */
static void settle(const struct stv_path_input *input, struct stv__cask_now *now)
{
    for (size_t p = 0; now && p < input->n_packets; p++)
        now->packets[p].warmer_k = now->packets[p].row_tau_h = stv__all(0.0);
}

static enum stv_status apply(struct walk *walk, size_t event_idx)
{
    const struct stv_event *event = &walk->input->ledger->events[event_idx];
    struct stv__cask_now *now = member_of(walk, event->cask_idx);
    struct stv__cask_now *other = event->other_idx >= 0 ? member_of(walk, event->other_idx) : NULL;
    enum stv_status status = stv__event_apply(walk->input, event_idx, now, other);
    settle(walk->input, now);
    settle(walk->input, other);
    empty_unasked(walk->input, now);
    empty_unasked(walk->input, other);
    return status;
}

static void tell(const struct walk *walk, size_t day_idx, stv__path_report *report, void *context)
{
    for (size_t m = 0; m < walk->group->n_members; m++)
        for (size_t p = 0; p < walk->input->n_packets; p++)
            report(context, m, day_idx, p, &walk->casks[m].packets[p]);
}

static int64_t event_day(const struct walk *walk, size_t nth)
{
    return nth < walk->group->n_events ? walk->input->ledger->events[walk->group->events[nth]].day_d
                                       : INT64_MAX;
}

static enum stv_status leave(const struct walk *walk, size_t n_events, size_t n_days)
{
    const struct stv_path_input *input = walk->input;
    size_t n = walk->group->n_members;
    struct stv__path_start *out = input->leave;
    enum stv_status status = stv__path_start_new(n, input->n_packets, out);
    if (status != STV_OK)
        return status;
    out->day_d = walk->now_d;
    out->last_event_d = walk->last_event_d;
    out->n_events = n_events;
    out->n_days = n_days;
    memcpy(out->casks, walk->casks, n * sizeof *out->casks);
    memcpy(out->packets, walk->casks[0].packets, n * input->n_packets * sizeof *out->packets);
    return STV_OK;
}

static void take_up(struct walk *walk)
{
    const struct stv__path_start *from = walk->input->from;
    size_t n_packets = walk->input->n_packets;
    walk->now_d = from->day_d;
    walk->last_event_d = from->last_event_d;
    for (size_t m = 0; m < walk->group->n_members; m++) {
        struct stv__cask_now *now = &walk->casks[m];
        struct stv__cask_now own = *now;
        *now = from->casks[m];
        now->cask = own.cask;
        now->lanes = own.lanes;
        now->packets = own.packets;
        memcpy(now->packets, from->packets + m * n_packets, n_packets * sizeof *now->packets);
    }
}

/* INT64_MAX where nothing is to be left. */
static int64_t leave_day(const struct stv_path_input *input)
{
    size_t step;
    if (!input->leave)
        return INT64_MAX;
    return step_begin(input->tables[input->reference_idx], input->leave_day_d - 1, &step);
}

static enum stv_status walk_group(struct walk *walk, stv__path_report *report, void *context)
{
    const struct stv_path_input *input = walk->input;
    enum stv_status status = STV_OK;
    bool has_begun = input->from != NULL;
    size_t e = has_begun ? input->from->n_events : 0, d = has_begun ? input->from->n_days : 0;
    int64_t leave_d = leave_day(input);
    /* Events after the last reported day change nothing that is asked. */
    while (d < input->n_days && status == STV_OK) {
        walk->next_event_d = event_day(walk, e);
        int64_t next_d =
            walk->next_event_d < input->days_d[d] ? walk->next_event_d : input->days_d[d];
        if (has_begun && walk->now_d < leave_d && leave_d < next_d)
            next_d = leave_d;
        if (has_begun)
            status = carry_to(walk, next_d);
        walk->now_d = next_d;
        has_begun = true;
        for (; status == STV_OK && event_day(walk, e) == next_d; e++) {
            status = apply(walk, walk->group->events[e]);
            walk->last_event_d = next_d;
        }
        for (; status == STV_OK && d < input->n_days && input->days_d[d] == next_d; d++)
            tell(walk, d, report, context);
        if (status == STV_OK && next_d == leave_d)
            status = leave(walk, e, d);
    }
    return status;
}

enum stv_status stv_path_run(const struct stv_path_input *input, const struct stv_path_group *group,
                             const struct stv__lane_cask *casks, stv__path_report *report,
                             void *context)
{
    struct walk walk = {.input = input, .group = group, .last_event_d = INT64_MIN};
    size_t n = group->n_members * input->n_packets;
    struct stv__packet *packets = aligned_alloc(64, (n + 1) * sizeof *packets);
    walk.casks = malloc((group->n_members + 1) * sizeof *walk.casks);
    enum stv_status status = packets && walk.casks ? STV_OK : STV_E_MEMORY;
    for (size_t m = 0; m < group->n_members && status == STV_OK; m++) {
        walk.casks[m] = (struct stv__cask_now){
            .cask = &input->ledger->casks[group->members[m]],
            .lanes = casks + m * input->n_packets,
            .packets = packets + m * input->n_packets,
        };
        stv__cask_now_start(input, &walk.casks[m]);
    }
    if (status == STV_OK && input->from)
        take_up(&walk);
    if (status == STV_OK)
        status = walk_group(&walk, report, context);
    free(packets);
    free(walk.casks);
    return status;
}
