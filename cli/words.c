/* Sentences that several answers share.  Cautions are common practice in the trade, no published
 * source, unless a line names one; they defer to local codes and to people on the spot. */
#include "cli/words.h"

#include "cli/cask_state.h"
#include "cli/prose.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Below about this strength reduced spirit may haze when it is cold: common practice. */
#define HAZE_ABV20_FRAC 0.46

#define ID_COLUMNS_LEAST 4
#define ID_COLUMNS_MOST 8

struct stv_place_words stv_words_place_of(const struct stv_chain *chain,
                                          const struct stv_place *place)
{
    struct stv_place_words words = {"no place known"};
    if (place->warehouse_idx < 0)
        return words;
    char where[96];
    stv_place_text(place, where, sizeof where);
    const struct stv_book *book = &chain->book;
    if (book->n_warehouses > 1 && (size_t)place->warehouse_idx < book->n_warehouses)
        snprintf(words.text, sizeof words.text, "%s, %s",
                 book->warehouses[place->warehouse_idx].name, where);
    else
        snprintf(words.text, sizeof words.text, "%s", where);
    return words;
}

/* A, B, .. Z, then W27 and so on. */
static struct stv_formatted warehouse_letter(int warehouse_idx)
{
    return warehouse_idx < 26 ? stv_format("%c", 'A' + warehouse_idx)
                              : stv_format("W%d", warehouse_idx + 1);
}

struct stv_formatted stv_words_place_short(const struct stv_chain *chain,
                                           const struct stv_place *place)
{
    if (place->warehouse_idx < 0 || place->tier_idx < 0)
        return stv_format("-");
    bool is_named = chain->book.n_warehouses > 1;
    const char *depth = place->depth_idx == 0 ? " front" : place->depth_idx > 0 ? " behind" : "";
    struct stv_formatted bay =
        place->bay_idx >= 0 ? stv_format("-%02d", place->bay_idx + 1) : stv_format("%s", "");
    return stv_format("%s%s%d%s%s", is_named ? warehouse_letter(place->warehouse_idx).text : "",
                      is_named ? " " : "", place->tier_idx + 1, bay.text, depth);
}

void stv_words_warehouse_key(struct stv_text *text, const struct stv_chain *chain)
{
    struct stv_text key = {0};
    for (size_t i = 0; i < chain->book.n_warehouses; i++)
        stv_prose_add(&key, "%s%s: %s", i ? "; " : "", warehouse_letter((int)i).text,
                      chain->book.warehouses[i].name);
    if (chain->book.n_warehouses > 1)
        stv_prose_wrap(text, 0, "(%s)", stv_text_string(&key));
    text->has_failed = text->has_failed || key.has_failed;
    stv_text_free(&key);
}

size_t stv_words_id_columns(const struct stv_chain *chain)
{
    size_t widest = ID_COLUMNS_LEAST;
    for (size_t i = 0; i < chain->book.ledger.n_casks; i++) {
        const char *id = chain->book.ledger.casks[i].id;
        size_t columns = stv_prose_columns(id, strlen(id));
        widest = columns > widest && columns <= ID_COLUMNS_MOST ? columns : widest;
    }
    return widest;
}

struct stv_formatted stv_words_percent(double value_frac)
{
    double tenths = round(value_frac * 1000.0);
    bool is_whole = fmod(tenths, 10.0) == 0.0;
    return stv_format_number(tenths / 10.0, is_whole ? 0 : 1);
}

void stv_words_bottle_basis(struct stv_text *text, const struct stv_house_rules *rules,
                            size_t indent)
{
    stv_prose_wrap(text, indent,
                   "Bottles are %s cl at %s %%vol, after %s %% lost in emptying, filtering and "
                   "samples.",
                   stv_format_number(rules->bottle_l * 100.0, 0).text,
                   stv_words_percent(rules->bottling_abv20_frac).text,
                   stv_words_percent(rules->bottling_loss_frac).text);
}

void stv_words_would_change(struct stv_text *text, const struct stv_chain *chain)
{
    stv_prose_heading(text, "Would change it");
    for (size_t i = 0; i < chain->book.n_warehouses; i++) {
        const struct stv_chain_warehouse *warehouse = &chain->warehouses[i];
        size_t least = 0;
        for (size_t k = 1; k < warehouse->n_tiers; k++)
            if (warehouse->positions[k].measured_frac <= warehouse->positions[least].measured_frac)
                least = k;
        if (warehouse->n_tiers == 0)
            continue;
        stv_prose_wrap(text, 2, "A logger with humidity for a year on tier %zu of %s%s.", least + 1,
                       chain->book.warehouses[i].name,
                       warehouse->positions[least].measured_frac > 0.0
                           ? ", the tier measured least"
                           : ", where nothing is measured yet");
    }
    if (chain->has_weather &&
        (chain->weather.grid.is_typical || chain->weather.grid.n < 5u * 365u * 24u))
        stv_prose_wrap(text, 2, "A longer weather record: it would show how years differ.");
    if (chain->book.ledger.n_casks > 0 && chain->book.n_gauges == 0)
        stv_prose_wrap(text, 2, "A first weighing or dip of any cask.");
}

void stv_words_caution_planning(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "Planning estimate. Not a loss account, not a duty account: duty and labels "
                   "need approved instruments and tables. Not a safety assessment.");
}

void stv_words_others_stored(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        const struct stv_warehouse *warehouse = &chain->book.warehouses[w];
        size_t n_listed = stv_chain_listed(chain, w);
        size_t n_stored = (size_t)warehouse->building.n_casks;
        if (n_listed == 0 || n_stored <= n_listed || strstr(warehouse->filled_in, "casks stored"))
            continue;
        stv_prose_wrap(text, 0,
                       "%s: casks_stored counts %zu casks, and the book says where %zu full ones "
                       "lie. The others may stand in places told as free: look before you carry.",
                       warehouse->name, n_stored, n_listed);
    }
}

void stv_words_caution_moving(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "A full 200 L cask is about 230 kg: two people, gear, lower rows first, and "
                   "never one side of a rack emptied alone. Check the plate on the rack. In heat, "
                   "work early and in pairs. Air the store before anyone goes in.");
}

void stv_words_caution_pouring(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "Pumping spirit is when stores burn: bond and earth pump, hose and both casks, "
                   "fill from the bottom, keep lamps and switches that are not rated for vapour "
                   "away; local codes decide.");
}

void stv_words_caution_open_bungs(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "Ethanol vapour: air the store first, no flame or unrated switch near open "
                   "bungs, low tiers first, never alone; local rules decide.");
}

void stv_words_caution_room(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "Filling: leave at least 2 to 3 %% of the cask free at the hottest the spirit "
                   "will be. A tight cask filled further builds pressure; ease the bung on a cool "
                   "morning, face away.");
}

void stv_words_caution_haze(struct stv_text *text, const struct stv_house_rules *rules)
{
    if (rules->bottling_abv20_frac < HAZE_ABV20_FRAC)
        stv_prose_wrap(text, 0,
                       "At %s %%vol reduced spirit may haze when it is cold (below about 46 %%): "
                       "settle that before the strength is chosen, and say which water is used and "
                       "how it is treated.",
                       stv_words_percent(rules->bottling_abv20_frac).text);
}

void stv_words_caution_vapour(struct stv_text *text)
{
    stv_prose_wrap(text, 0,
                   "Emptied casks hold flammable vapour and must not dry out for long. Lamps, "
                   "fans and loggers in the store must be rated for where they hang; local codes "
                   "decide.");
}

void stv_words_caution_stores(struct stv_text *text, const struct stv_chain *chain)
{
    bool has_mist = false, has_spray = false, has_gear = false;
    for (size_t i = 0; i < chain->book.n_warehouses; i++) {
        const struct stv_building *building = &chain->book.warehouses[i].building;
        has_mist = has_mist || building->misting.rate_kg_h > 0.0;
        has_spray = has_spray || building->roof_spray.wet_frac > 0.0;
        has_gear = has_gear || building->night_air_change_per_h > 0.0 || building->gain_w > 0.0 ||
                   !isnan(building->heating_c);
    }
    if (has_mist)
        stv_prose_wrap(text, 0,
                       "Mist: wet floors slip, damp grows mould on wood, labels and walls, and "
                       "standing water breeds germs that spray carries.");
    if (has_spray)
        stv_prose_wrap(text, 0,
                       "Roof spray: wet roofs and yards slip and rust, and the frame must bear "
                       "the water.");
    if (has_mist || has_gear)
        stv_prose_wrap(text, 0,
                       "Fans, lamps, heaters, pumps and their switches near spirit vapour must be "
                       "rated for it; local codes decide.");
}

void stv_words_water_used(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t i = 0; i < chain->book.n_warehouses; i++) {
        const struct stv_building_climate *climate = &chain->warehouses[i].climate;
        const char *name = chain->book.warehouses[i].name;
        if (climate->mist_kg_per_y > 0.0)
            stv_prose_wrap(text, 0, "%s: misting evaporates about %s kg of water a year.", name,
                           stv_format_number(climate->mist_kg_per_y, 0).text);
        if (climate->roof_water_kg_per_y > 0.0)
            stv_prose_wrap(text, 0,
                           "%s: the roof spray evaporates about %s kg of water a year, and more "
                           "runs off.",
                           name, stv_format_number(climate->roof_water_kg_per_y, 0).text);
    }
}

struct stv_formatted stv_words_chance(double frac)
{
    if (frac >= 0.95)
        return stv_format("%s", frac >= 0.995 ? "Hardly in doubt" : "19 chances in 20");
    return stv_format("%.0f chances in 10", floor(10.0 * frac + 0.5));
}

static struct stv_formatted leak_odds(const struct stv_chain *chain, int cask_idx)
{
    double frac = stv_leak_frac(chain, cask_idx);
    return frac >= 0.95 ? stv_format("19 in 20")
                        : stv_format("%.0f in 10", floor(10.0 * frac + 0.5));
}

void stv_words_list_leak(struct stv_text *list, const struct stv_chain *chain, int cask_idx)
{
    if (stv_may_leak(chain, cask_idx))
        stv_prose_add(list, "%s%s (%s)", list->n ? ", " : "", chain->book.ledger.casks[cask_idx].id,
                      leak_odds(chain, cask_idx).text);
}

void stv_words_leaks_first(struct stv_text *text, struct stv_text *list)
{
    if (list->n)
        stv_prose_wrap(text, 0,
                       "LOOK FIRST: may leak, by their gauges: %s. Go and see before anything is "
                       "done with them here: what has run out cannot be used.",
                       stv_text_string(list));
    text->has_failed = text->has_failed || list->has_failed;
    stv_text_free(list);
}

struct stv_formatted stv_words_doubt_note(const struct stv_chain *chain, int cask_idx)
{
    if (stv_may_leak(chain, cask_idx))
        return stv_format("may leak, %s: look first", leak_odds(chain, cask_idx).text);
    return stv_format("%s", stv_is_gauge_doubted(chain, cask_idx)
                                ? "last gauge does not fit: gauge it again first"
                                : "");
}

void stv_words_doubt_row(struct stv_text *text, const struct stv_chain *chain, int cask_idx)
{
    struct stv_formatted note = stv_words_doubt_note(chain, cask_idx);
    if (note.text[0])
        stv_prose_add(text, "     %s\n", note.text);
}
