/* What there is to place and where: places, kinds of them, casks, and groups of casks alike. */
#include "cli/cask_state.h"
#include "cli/casks_alike.h"
#include "cli/place_house.h"

#include "model/cask_room.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct stock {
    const struct stv_chain *chain;
    const struct stv_place_ask *ask;
    struct stv_place_house *out;
    size_t *first_cell; /* per warehouse */
    size_t n_cells;
    int *occupant;   /* per cell: full cask of the book, -1: none */
    size_t *slot_of; /* per cell; SIZE_MAX: no slot */
    struct stv_alike alike;
    size_t n_new; /* ids given to casks that no book has yet */
};

double stv_place_cask_kg(const struct stv_cask *cask, double litres_l, double abv20_frac)
{
    double mass_frac = NAN;
    if (stv_mass_frac_from_abv20(abv20_frac, &mass_frac) != STV_OK)
        return NAN;
    return 1e-3 * litres_l * stv_spirit_rho20_kg_m3(mass_frac) + cask->geometry.wood_kg;
}

const struct stv_event *stv_place_fill_of(const struct stv_chain *chain, size_t cask_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_event *fill = NULL;
    for (size_t e = 0; e < ledger->n_events && ledger->events[e].day_d <= chain->as_of_day_d; e++)
        if (ledger->events[e].kind == STV_EVENT_FILL &&
            (size_t)ledger->events[e].cask_idx == cask_idx)
            fill = &ledger->events[e];
    return fill;
}

double stv_place_book_cask_kg(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_event *fill = stv_place_fill_of(chain, (size_t)cask_idx);
    return fill ? stv_place_cask_kg(&chain->book.ledger.casks[cask_idx], fill->volume20_l,
                                    fill->abv20_frac)
                : (double)NAN;
}

double stv_place_plate_kg(const struct stv_warehouse *warehouse, int tier_idx)
{
    double plate_kg = warehouse->plate_kg[tier_idx];
    return plate_kg > 0.0 ? plate_kg / (double)warehouse->building.n_depth : (double)INFINITY;
}

bool stv_place_is_whole(const struct stv_place *place)
{
    return place->warehouse_idx >= 0 && place->tier_idx >= 0 && place->bay_idx >= 0 &&
           place->depth_idx >= 0;
}

static size_t cell_of(const struct stock *stock, const struct stv_place *place)
{
    const struct stv_building *building =
        &stock->chain->book.warehouses[place->warehouse_idx].building;
    return stock->first_cell[place->warehouse_idx] +
           ((size_t)place->tier_idx * building->n_bays + (size_t)place->bay_idx) *
               building->n_depth +
           (size_t)place->depth_idx;
}

static bool is_full(const struct stock *stock, size_t cask_idx)
{
    return stv_lineage_spirit(stock->chain->lineage, (int)cask_idx).is_there;
}

static enum stv_status stock_new(struct stock *stock)
{
    const struct stv_book *book = &stock->chain->book;
    stock->first_cell = malloc((book->n_warehouses + 1) * sizeof *stock->first_cell);
    if (!stock->first_cell)
        return STV_E_MEMORY;
    for (size_t w = 0; w < book->n_warehouses; w++) {
        const struct stv_building *building = &book->warehouses[w].building;
        stock->first_cell[w] = stock->n_cells;
        stock->n_cells += building->n_tiers * building->n_bays * building->n_depth;
    }
    stock->occupant = malloc((stock->n_cells + 1) * sizeof *stock->occupant);
    stock->slot_of = malloc((stock->n_cells + 1) * sizeof *stock->slot_of);
    stock->out->slots = malloc((stock->n_cells + 1) * sizeof *stock->out->slots);
    stock->out->kinds = malloc((stock->n_cells + 1) * sizeof *stock->out->kinds);
    if (!stock->occupant || !stock->slot_of || !stock->out->slots || !stock->out->kinds)
        return STV_E_MEMORY;
    for (size_t i = 0; i < stock->n_cells; i++) {
        stock->occupant[i] = -1;
        stock->slot_of[i] = SIZE_MAX;
    }
    for (size_t c = 0; c < book->ledger.n_casks; c++) {
        struct stv_place place = stv_lineage_place(stock->chain->lineage, (int)c);
        if (is_full(stock, c) && stv_place_is_whole(&place))
            stock->occupant[cell_of(stock, &place)] = (int)c;
    }
    return STV_OK;
}

static struct stv_place_kind kind_of(const struct stock *stock, const struct stv_place *place)
{
    const struct stv_warehouse *warehouse = &stock->chain->book.warehouses[place->warehouse_idx];
    struct stv_place_kind kind = {
        .position_idx = stv_position_of_place(&stock->chain->set, place),
        .place = *place,
        .reach = place->tier_idx < (int)warehouse->by_hand_tiers ? STV_REACH_HAND : STV_REACH_LIFT,
        .most_kg = stv_place_plate_kg(warehouse, place->tier_idx),
    };
    struct stv_place front = *place;
    for (front.depth_idx = 0; front.depth_idx < place->depth_idx; front.depth_idx++)
        if (stock->occupant[cell_of(stock, &front)] >= 0)
            kind.reach = STV_REACH_BEHIND;
    return kind;
}

static bool is_one_kind(const struct stv_place_kind *a, const struct stv_place_kind *b)
{
    return a->position_idx == b->position_idx && a->reach == b->reach && a->most_kg == b->most_kg &&
           a->place.tier_idx == b->place.tier_idx &&
           a->place.warehouse_idx == b->place.warehouse_idx;
}

static void add_slot(struct stock *stock, const struct stv_place *place)
{
    struct stv_place_house *out = stock->out;
    struct stv_place_kind kind = kind_of(stock, place);
    size_t k = 0;
    while (k < out->n_kinds && !is_one_kind(&out->kinds[k], &kind))
        k++;
    if (k == out->n_kinds)
        out->kinds[out->n_kinds++] = kind;
    out->kinds[k].n_places++;
    stock->slot_of[cell_of(stock, place)] = out->n_slots;
    out->slots[out->n_slots++] = (struct stv_house_slot){*place, k};
}

/* Free places as far as the gear reaches, and all that are taken when the whole house may move. */
static void add_slots(struct stock *stock)
{
    const struct stv_book *book = &stock->chain->book;
    for (int w = 0; w < (int)book->n_warehouses; w++) {
        const struct stv_building *building = &book->warehouses[w].building;
        for (int t = 0; t < (int)building->n_tiers; t++)
            for (int b = 0; b < (int)building->n_bays; b++)
                for (int d = 0; d < (int)building->n_depth; d++) {
                    struct stv_place place = {w, t, b, d};
                    bool is_free = stock->occupant[cell_of(stock, &place)] < 0;
                    bool is_reached = t < (int)book->warehouses[w].with_lift_tiers;
                    if (is_free && is_reached && stv_planned_into(stock->chain, &place, -1) >= 0) {
                        stock->out->n_promised++;
                        continue;
                    }
                    if (is_free ? is_reached : stock->ask->has_all)
                        add_slot(stock, &place);
                    stock->out->n_free += is_free && is_reached;
                }
    }
}

static bool is_alike(const struct stock *stock, const struct stv_cask_group *group, int cask_idx,
                     size_t present_idx)
{
    bool is_of_book = group->cask_idx < (int)stock->chain->book.ledger.n_casks;
    return is_of_book && group->present_idx == present_idx &&
           stv_alike_is(&stock->alike, group->cask_idx, cask_idx);
}

static void label_of(size_t idx, char out[8])
{
    if (idx < 26)
        snprintf(out, 8, "%c", (char)('A' + idx));
    else
        snprintf(out, 8, "%c%c", (char)('A' + (idx / 26 - 1) % 26), (char)('A' + idx % 26));
}

static struct stv_cask_group *new_group(struct stock *stock, int cask_idx, size_t present_idx,
                                        const struct stv_event *fill)
{
    struct stv_place_house *out = stock->out;
    struct stv_cask_group *group = &out->groups[out->n_groups];
    struct stv_place_group *words = &out->group_words[out->n_groups];
    const struct stv_cask *cask = &out->ledger.casks[cask_idx];
    *words = (struct stv_place_group){.filled_day_d = fill ? fill->day_d : INT64_MIN,
                                      .litres_l = fill ? fill->volume20_l : (double)NAN,
                                      .abv20_frac = fill ? fill->abv20_frac : (double)NAN};
    label_of(out->n_groups++, words->label);
    memcpy(words->kind_name, cask->kind_name, sizeof words->kind_name);
    *group = (struct stv_cask_group){
        .cask_idx = cask_idx,
        .present_idx = present_idx,
        .mass_kg = stv_place_cask_kg(cask, words->litres_l, words->abv20_frac)};
    return group;
}

bool stv_place_is_over_plate(const struct stv_place_house *house, size_t item_idx)
{
    size_t slot = house->house_items[item_idx].slot_idx;
    return slot != SIZE_MAX &&
           house->items[item_idx].mass_kg > house->kinds[house->slots[slot].kind_idx].most_kg;
}

static void add_item(struct stock *stock, size_t group_idx, int cask_idx, const char *id,
                     const struct stv_place *from)
{
    struct stv_place_house *out = stock->out;
    size_t slot = stv_place_is_whole(from) ? stock->slot_of[cell_of(stock, from)] : SIZE_MAX;
    struct stv_place_item *item = &out->items[out->n_items];
    *item = (struct stv_place_item){
        .cask_idx = cask_idx, .from = *from, .mass_kg = out->groups[group_idx].mass_kg};
    snprintf(item->id, sizeof item->id, "%s", id);
    out->house_items[out->n_items++] = (struct stv_house_item){group_idx, slot};
    out->groups[group_idx].n_casks++;
    out->n_too_heavy += stv_place_is_over_plate(out, out->n_items - 1);
}

static void add_book_cask(struct stock *stock, int cask_idx)
{
    struct stv_place_house *out = stock->out;
    struct stv_place place = stv_lineage_place(stock->chain->lineage, cask_idx);
    bool is_nowhere = place.warehouse_idx < 0;
    if (!is_nowhere && !stv_place_is_whole(&place)) {
        out->n_left_aside++;
        return;
    }
    if (is_nowhere ? !stock->ask->has_placeless : !stock->ask->has_all)
        return;
    size_t present_idx =
        is_nowhere ? SIZE_MAX : out->slots[stock->slot_of[cell_of(stock, &place)]].kind_idx;
    size_t g = 0;
    while (g < out->n_groups && !is_alike(stock, &out->groups[g], cask_idx, present_idx))
        g++;
    if (g == out->n_groups)
        new_group(stock, cask_idx, present_idx, stv_place_fill_of(stock->chain, (size_t)cask_idx))
            ->target_day_d = stv_chain_planned_day(stock->chain, cask_idx);
    add_item(stock, g, cask_idx, stock->chain->book.ledger.casks[cask_idx].id, &place);
}

/* The book's ledger with room for one cask and fill of each run. */
static enum stv_status copy_ledger(struct stock *stock)
{
    const struct stv_ledger *book = &stock->chain->book.ledger;
    struct stv_ledger *out = &stock->out->ledger;
    size_t n_runs = stock->ask->n_runs;
    out->casks = malloc((book->n_casks + n_runs + 1) * sizeof *out->casks);
    out->events = malloc((book->n_events + n_runs + 1) * sizeof *out->events);
    if (!out->casks || !out->events)
        return STV_E_MEMORY;
    memcpy(out->casks, book->casks, book->n_casks * sizeof *out->casks);
    memcpy(out->events, book->events, book->n_events * sizeof *out->events);
    out->n_casks = book->n_casks;
    out->n_events = book->n_events;
    return STV_OK;
}

static void add_run(struct stock *stock, const struct stv_fill_words *run)
{
    struct stv_place_house *out = stock->out;
    const struct stv_chain *chain = stock->chain;
    const struct stv_place nowhere = {-1, -1, -1, -1};
    int cask_idx = (int)out->ledger.n_casks;
    struct stv_cask *cask = &out->ledger.casks[out->ledger.n_casks++];
    struct stv_event *fill = &out->ledger.events[out->ledger.n_events++];
    char label[8], id[STV_ID_MAX];
    label_of(out->n_groups, label);
    *cask = run->cask;
    /* A name that no cask of a book has: it only seeds the run's trials. */
    snprintf(cask->id, sizeof cask->id, "fill run %s", label);
    *fill = (struct stv_event){
        .day_d = chain->as_of_day_d,
        .kind = STV_EVENT_FILL,
        .cask_idx = cask_idx,
        .other_idx = -1,
        .volume20_l =
            isnan(run->litres_l) ? STV_USUAL_FILL_FRAC * cask->geometry.capacity_l : run->litres_l,
        .abv20_frac = run->strengths_frac[0],
        .water_kg = NAN,
        .place = nowhere,
        .row = SIZE_MAX - 1,
    };
    double plan_y = isnan(run->plan_y) ? chain->book.rules.planned_age_y : run->plan_y;
    size_t g = out->n_groups;
    struct stv_cask_group *group = new_group(stock, cask_idx, SIZE_MAX, fill);
    group->target_day_d = chain->as_of_day_d + (int64_t)llround(plan_y * STV_YEAR_D);
    out->group_words[g].is_invented = true;
    for (size_t n = 0; n < run->n_casks; n++) {
        do /* an id that the book has is passed over */
            snprintf(id, sizeof id, "new %zu", ++stock->n_new);
        while (stv_chain_cask(chain, id) >= 0);
        add_item(stock, g, -1, id, &nowhere);
    }
}

enum stv_status stv__place_stock(const struct stv_chain *chain, const struct stv_place_ask *ask,
                                 struct stv_place_house *out)
{
    struct stock stock = {.chain = chain, .ask = ask, .out = out};
    size_t n_book = chain->book.ledger.n_casks, n_most = n_book;
    for (size_t r = 0; r < ask->n_runs; r++)
        n_most += ask->runs[r].n_casks;
    out->groups = malloc((n_book + ask->n_runs + 1) * sizeof *out->groups);
    out->group_words = malloc((n_book + ask->n_runs + 1) * sizeof *out->group_words);
    out->items = malloc((n_most + 1) * sizeof *out->items);
    out->house_items = malloc((n_most + 1) * sizeof *out->house_items);
    enum stv_status status = out->groups && out->group_words && out->items && out->house_items
                                 ? copy_ledger(&stock)
                                 : STV_E_MEMORY;
    if (status == STV_OK)
        status = stock_new(&stock);
    if (status == STV_OK)
        status = stv_alike_new(chain, chain->as_of_day_d, &stock.alike);
    if (status == STV_OK) {
        add_slots(&stock);
        for (size_t r = 0; r < ask->n_runs; r++)
            add_run(&stock, &ask->runs[r]);
        for (size_t c = 0; c < n_book; c++)
            if (is_full(&stock, c))
                add_book_cask(&stock, (int)c);
        status = stv_ledger_sort(&out->ledger);
    }
    free(stock.first_cell);
    free(stock.occupant);
    free(stock.slot_of);
    stv_alike_free(&stock.alike);
    return status;
}
