/* Cells that several tables have: which cask, which place, how it was filled. */
#include "ingest/book_parts.h"
#include "ingest/typed_damage.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* Looking for the nearest id costs as much as there are casks; a file with more unknown ids than
 * this has another fault than a typing error. */
#define NEAREST_MAX 40
/* Common practice, no published source: no spirit is filled weaker or stronger than this. */
#define LEAST_FILL_FRAC 0.05
#define MOST_FILL_FRAC 0.972 /* near the azeotrope of water and ethanol, from memory */
#define MOST_FILL_L 1000.0
#define PLACES_MAX 10000

static size_t hash_of(const char *text)
{
    size_t hash = 5381;
    for (; *text; text++)
        hash = hash * 33 + (unsigned char)*text;
    return hash;
}

static size_t slot_of(const struct stv__ids *ids, const char *text)
{
    size_t at = hash_of(text) & (ids->n_slots - 1);
    while (ids->slots[at].line && strcmp(ids->slots[at].text, text) != 0)
        at = (at + 1) & (ids->n_slots - 1);
    return at;
}

const struct stv__id *stv__ids_find(const struct stv__ids *ids, const char *text)
{
    if (ids->n_slots == 0)
        return NULL;
    const struct stv__id *slot = &ids->slots[slot_of(ids, text)];
    return slot->line ? slot : NULL;
}

static enum stv_status make_room(struct stv__ids *ids)
{
    if (2 * (ids->n + 1) <= ids->n_slots)
        return STV_OK;
    struct stv__ids larger = {.n_slots = ids->n_slots ? 2 * ids->n_slots : 64, .n = ids->n};
    larger.slots = calloc(larger.n_slots, sizeof *larger.slots);
    if (!larger.slots)
        return STV_E_MEMORY;
    for (size_t i = 0; i < ids->n_slots; i++)
        if (ids->slots[i].line)
            larger.slots[slot_of(&larger, ids->slots[i].text)] = ids->slots[i];
    free(ids->slots);
    *ids = larger;
    return STV_OK;
}

enum stv_status stv__ids_add(struct stv__ids *ids, const char *text, int cask_idx, size_t line)
{
    enum stv_status status = make_room(ids);
    if (status != STV_OK)
        return status;
    struct stv__id *slot = &ids->slots[slot_of(ids, text)];
    snprintf(slot->text, sizeof slot->text, "%s", text);
    slot->cask_idx = cask_idx;
    slot->line = line;
    ids->n++;
    return STV_OK;
}

void stv__ids_free(struct stv__ids *ids)
{
    free(ids->slots);
    *ids = (struct stv__ids){0};
}

static const char *nearest_id(const struct stv_ledger *ledger, const char *text)
{
    const char **words = calloc(ledger->n_casks + 1, sizeof *words);
    const char *nearest = NULL;
    for (size_t i = 0; words && i < ledger->n_casks; i++)
        words[i] = ledger->casks[i].id;
    if (words)
        nearest = stv_nearest_word(text, words, ledger->n_casks);
    free(words);
    return nearest;
}

/* Ids of casks.csv of which a spreadsheet can have made a text, or which it can have made of it;
 * up to two in the order of the file, with what it did to the first.  Ids of refused rows count
 * only when there is no other. */
struct likely {
    const struct stv__id *ids[2];
    const char *reason;
};

static bool comes_first(const struct stv__id *id, const struct stv__id *other)
{
    bool is_good = id->cask_idx >= 0;
    if (!other || is_good != (other->cask_idx >= 0))
        return !other || is_good;
    return id->line < other->line;
}

static struct likely likely_ids(const struct stv__ids *ids, const char *text)
{
    struct likely likely = {{NULL, NULL}, NULL};
    for (size_t i = 0; i < ids->n_slots; i++) {
        const struct stv__id *id = &ids->slots[i];
        const char *reason = id->line ? stv_damage_between(id->text, text) : NULL;
        if (reason && comes_first(id, likely.ids[0])) {
            likely.ids[1] = likely.ids[0];
            likely.ids[0] = id;
            likely.reason = reason;
        } else if (reason && comes_first(id, likely.ids[1])) {
            likely.ids[1] = id;
        }
    }
    if (likely.ids[1] && likely.ids[1]->cask_idx < 0)
        likely.ids[1] = NULL;
    return likely;
}

/* Says what an id that casks.csv does not have may have been; true when it hangs on a row there
 * that was refused, and nothing need be said. */
static bool refuse_id(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                      const char *text)
{
    char why[256];
    bool may_look = reader->n_nearest++ < NEAREST_MAX;
    struct likely likely = {{NULL, NULL}, NULL};
    const char *nearest = NULL;
    if (may_look)
        likely = likely_ids(&reader->ids, text);
    if (likely.ids[0] && likely.ids[0]->cask_idx < 0)
        return true;
    if (may_look && !likely.ids[0])
        nearest = nearest_id(&reader->book->ledger, text);
    if (likely.ids[1])
        stv_table_refuse(table, column,
                         "no such cask in casks.csv: did you mean \"%s\" or \"%s\"? %s",
                         likely.ids[0]->text, likely.ids[1]->text, likely.reason);
    else if (likely.ids[0])
        stv_table_refuse(table, column, "no such cask in casks.csv: did you mean \"%s\"? %s",
                         likely.ids[0]->text, likely.reason);
    else if (stv_damage_of_id(text, why, sizeof why))
        stv_table_refuse(table, column, "%s", why);
    else if (nearest)
        stv_table_refuse(table, column, "no such cask in casks.csv: did you mean \"%s\"?", nearest);
    else
        stv_table_refuse(table, column, "no such cask in casks.csv: add a row there first");
    return false;
}

int stv__cask_cell(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                   bool *out_hangs)
{
    char text[STV_ID_MAX];
    if (!stv_table_need(table, column, "a cask of casks.csv") ||
        !stv_table_text(table, column, text, sizeof text))
        return -1;
    const struct stv__id *id = stv__ids_find(&reader->ids, text);
    if (id && id->cask_idx < 0)
        *out_hangs = true;
    if (id)
        return id->cask_idx;
    if (refuse_id(reader, table, column, text))
        *out_hangs = true;
    return -1;
}

/* A warehouse whose own name was refused may be any. */
static bool is_lost(const struct stv__book_reader *reader, const char *name)
{
    for (size_t i = 0; i < reader->n_lost_warehouses; i++)
        if (!reader->lost_warehouses[i][0] || strcasecmp(reader->lost_warehouses[i], name) == 0)
            return true;
    return false;
}

static void refuse_warehouse(const struct stv_book *book, struct stv_table *table, size_t column,
                             const char *name)
{
    const char *names[STV__LOST_MAX];
    size_t n = 0;
    for (; n < book->n_warehouses && n < STV__LOST_MAX; n++)
        names[n] = book->warehouses[n].name;
    char why[192];
    if (n == 0)
        snprintf(why, sizeof why, "the book has no warehouses: describe it in book.yaml first");
    else
        stv_word_advice(name, names, n, why, sizeof why);
    stv_table_refuse(table, column, "%s", why);
}

/* The warehouse of a row: the one said, or the book's only one; -1 after a message, or when it
 * hangs on a refused one. */
static int warehouse_cell(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                          bool *out_hangs)
{
    const struct stv_book *book = reader->book;
    char name[STV_NAME_MAX];
    if (!stv_table_has(table, column)) {
        bool is_only = book->n_warehouses == 1 && reader->n_lost_warehouses == 0;
        if (!is_only && reader->n_lost_warehouses > 0)
            *out_hangs = true;
        else if (!is_only)
            stv_table_need(table, column,
                           "which warehouse; it can be left out only where the "
                           "book has one");
        return is_only ? 0 : -1;
    }
    if (!stv_table_text(table, column, name, sizeof name))
        return -1;
    for (size_t i = 0; i < book->n_warehouses; i++)
        if (strcasecmp(book->warehouses[i].name, name) == 0)
            return (int)i;
    if (is_lost(reader, name))
        *out_hangs = true;
    else
        refuse_warehouse(book, table, column, name);
    return -1;
}

/* A one-based place that the building must have; -1 when not said or refused. */
static int index_cell(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                      struct stv__beyond found)
{
    static const size_t range[2] = {1, PLACES_MAX};
    if (!stv_table_count(table, column, range, &found.number))
        return -1;
    if (found.number > found.n_there) {
        found.most = found.number;
        stv__beyond_note(reader, table, column, &found);
        return -1;
    }
    return (int)found.number - 1;
}

bool stv__place_cells(struct stv__book_reader *reader, struct stv_table *table,
                      struct stv__place_columns columns, struct stv_place *out, bool *out_hangs)
{
    bool has_tier = stv_table_has(table, columns.tier), has_bay = stv_table_has(table, columns.bay);
    bool has_depth = stv_table_has(table, columns.depth);
    if (!stv_table_has(table, columns.warehouse) && !has_tier && !has_bay && !has_depth)
        return false;
    struct stv_place place = {-1, -1, -1, -1};
    place.warehouse_idx = warehouse_cell(reader, table, columns.warehouse, out_hangs);
    if (!has_tier)
        stv_table_need(table, columns.tier, "the tier too; 1 is the floor");
    if (has_depth && !has_bay)
        stv_table_need(table, columns.bay, "the bay too");
    if (place.warehouse_idx < 0)
        return false;
    const struct stv_warehouse *warehouse = &reader->book->warehouses[place.warehouse_idx];
    const struct stv_building *building = &warehouse->building;
    const struct stv__beyond tiers = {warehouse->name, "tiers", .n_there = building->n_tiers};
    const struct stv__beyond bays = {warehouse->name, "bays", .n_there = building->n_bays};
    const struct stv__beyond depths = {warehouse->name, "depth", .n_there = building->n_depth};
    place.tier_idx = index_cell(reader, table, columns.tier, tiers);
    place.bay_idx = index_cell(reader, table, columns.bay, bays);
    place.depth_idx = index_cell(reader, table, columns.depth, depths);
    if (!has_depth && has_bay && building->n_depth == 1)
        place.depth_idx = 0;
    if (table->row_is_refused)
        return false;
    *out = place;
    return true;
}

struct stv_event stv__event_blank(void)
{
    return (struct stv_event){.cask_idx = -1,
                              .other_idx = -1,
                              .volume20_l = NAN,
                              .abv20_frac = NAN,
                              .water_kg = NAN,
                              .place = {-1, -1, -1, -1}};
}

enum stv_status stv__event_add(struct stv__book_reader *reader, const struct stv_event *event)
{
    struct stv_ledger *ledger = &reader->book->ledger;
    struct stv_event *grown = stv__grown(ledger->events, ledger->n_events, sizeof *grown);
    if (!grown)
        return STV_E_MEMORY;
    ledger->events = grown;
    ledger->events[ledger->n_events++] = *event;
    reader->has_vague_day |= event->day_width_d > 0.0;
    stv__note_day(reader, event->day_d, event->row ? "history.csv" : "casks.csv");
    return STV_OK;
}

void stv__note_day(struct stv__book_reader *reader, int64_t day_d, const char *table)
{
    if (day_d <= reader->last_day_d)
        return;
    reader->last_day_d = day_d;
    reader->last_table = table;
}

void stv__fill_cells(struct stv__book_reader *reader, struct stv_table *table,
                     struct stv__fill_columns columns, struct stv_event *out, bool *out_hangs)
{
    bool is_soaked = false;
    if (stv_table_need(table, columns.litres, "how much went in, like 195 L"))
        stv_table_quantity(table, columns.litres, 0.1, MOST_FILL_L, &out->volume20_l);
    if (stv_table_need(table, columns.strength, "its strength, like 60 %vol"))
        stv_table_quantity(table, columns.strength, LEAST_FILL_FRAC, MOST_FILL_FRAC,
                           &out->abv20_frac);
    if (stv_table_flag(table, columns.soaked, &is_soaked))
        out->is_soaked = is_soaked;
    stv__place_cells(reader, table, columns.place, &out->place, out_hangs);
}

enum stv_status stv__each_row(struct stv__book_reader *reader, const char *name,
                              const struct stv_table_column *columns, size_t n_columns,
                              enum stv_status (*read_row)(struct stv__book_reader *reader,
                                                          struct stv_table *table))
{
    char path[STV__PATH_MAX];
    if (!stv__join_path(reader->folder, name, path) || !stv__exists(path))
        return STV_OK;
    struct stv_table_spec spec = {path, columns, n_columns, reader->units,
                                  stv__book_side(reader->book)};
    struct stv_table table;
    enum stv_status status = stv_table_open(path, spec, reader->problems, &table);
    while (status == STV_OK && stv_table_next(&table))
        status = read_row(reader, &table);
    stv__beyond_say(reader, &table);
    stv_table_free(&table);
    return status;
}
