/* The list is put together from the tables that the model itself reads, so that it cannot show a
 * number that is not used. */
#include "cli/parameters.h"

#include "cli/json.h"
#include "cli/prose.h"
#include "ingest/gauge_numbers.h"
#include "model/cask_heat.h"
#include "model/cask_room.h"
#include "model/climate_metrics.h"
#include "model/esters.h"
#include "model/gauge.h"
#include "model/params.h"
#include "model/spirit.h"
#include "model/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHEET "parameter sheet (DEVELOPERS.md, Sources): judgement"
#define BOOK "set by the book"
#define HOUSE "house rule: the book's, else the default"

static void add(struct stv_parameter_list *list, struct stv_parameter item)
{
    if (list->n == list->capacity) {
        size_t capacity = list->capacity ? list->capacity * 2 : 64;
        struct stv_parameter *items = realloc(list->items, capacity * sizeof *items);
        if (!items) {
            list->is_short_of_memory = true;
            return;
        }
        list->items = items;
        list->capacity = capacity;
    }
    list->items[list->n++] = item;
}

/* True when a comma-separated list holds a word. */
static bool holds_word(const char *list, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = list; *at;) {
        at += strspn(at, ", ");
        size_t n = strcspn(at, ", ");
        if (n == length && strncmp(at, word, n) == 0)
            return true;
        at += n;
    }
    return false;
}

static void add_model(struct stv_parameter_list *list, const struct stv_book *book)
{
    const struct stv_params params = book ? book->params : stv_params_default();
    const double values[] = {
#define FIELD_VALUE(field, value, unit, range) params.field,
        STV_PARAM_TABLE(FIELD_VALUE)
#undef FIELD_VALUE
    };
    size_t n;
    const struct stv_param_info *table = stv_param_table(&n);
    for (size_t i = 0; i < n; i++) {
        struct stv_parameter item = {
            "", values[i], table[i].unit, STV_CLASS_ASSUMED, table[i].range, SHEET};
        strncpy(item.name, table[i].name, sizeof item.name - 1);
        if (book && holds_word(book->overridden, table[i].name))
            item.source = BOOK;
        add(list, item);
    }
}

static void add_house(struct stv_parameter_list *list, const struct stv_book *book)
{
    const struct stv_house_rules rules = book ? book->rules : stv_house_rules_default();
    const struct stv_parameter items[] = {
        {"bottling_strength_pct", rules.bottling_abv20_frac * 100.0, "%vol", STV_CLASS_ASSUMED, "",
         HOUSE},
        {"bottle_l", rules.bottle_l, "L", STV_CLASS_ASSUMED, "", HOUSE},
        {"bottling_loss_pct", rules.bottling_loss_frac * 100.0, "%", STV_CLASS_ASSUMED, "", HOUSE},
        {"reference_cask_l", rules.reference_capacity_l, "L", STV_CLASS_ASSUMED, "", HOUSE},
        {"reference_strength_pct", rules.reference_abv20_frac * 100.0, "%vol", STV_CLASS_ASSUMED,
         "", HOUSE},
        {"reference_age_months", rules.reference_months, "months", STV_CLASS_ASSUMED, "", HOUSE},
        {"wood_least_of_reference", rules.wood_least_nd, "-", STV_CLASS_ASSUMED, "", HOUSE},
        {"wood_most_of_reference", rules.wood_most_nd, "-", STV_CLASS_ASSUMED, "", HOUSE},
        {"least_strength_pct", rules.least_abv20_frac * 100.0, "%vol", STV_CLASS_ASSUMED, "",
         HOUSE},
        {"least_age_y", rules.least_age_y, "y", STV_CLASS_ASSUMED, "", HOUSE},
        {"planned_age_y", rules.planned_age_y, "y", STV_CLASS_ASSUMED, "", HOUSE},
    };
    for (size_t i = 0; i < sizeof items / sizeof items[0]; i++)
        add(list, items[i]);
}

static void add_metrics(struct stv_parameter_list *list)
{
    static const char source[] = "convention of the climate tables; judgement";
    const struct stv_metric_options metrics = stv_metric_options_default();
    const struct stv_parameter items[] = {
        {"degree_day_base_c", metrics.degree_day_base_c, "C", STV_CLASS_ASSUMED, "", source},
        {"cool_below_c", metrics.cool_below_c, "C", STV_CLASS_ASSUMED, "", source},
        {"waking_c", metrics.waking_c, "C", STV_CLASS_ASSUMED, "", source},
        {"kinetic_mean_ea_j_mol", metrics.kinetic_ea_j_mol, "J/mol", STV_CLASS_STANDARD, "",
         "usual value for the mean kinetic temperature, 83.144 kJ/mol"},
    };
    for (size_t i = 0; i < sizeof items / sizeof items[0]; i++)
        add(list, items[i]);
}

static void add_vapour(struct stv_parameter_list *list)
{
    const struct stv_parameter air = {"vapour_air_factor",
                                      1.0,
                                      "-",
                                      STV_CLASS_ASSUMED,
                                      "lognormal, 90 % 0.5..2; vapour alone, not with --air",
                                      "judgement"};
    add(list, air);
}

static void add_oak(struct stv_parameter_list *list)
{
    static const char *const kinds[STV_OAK_N] = {"phenolics", "lactone", "aldehydes",
                                                 "tannins",   "acids",   "sugars"};
    const struct stv_oak_constants *oak = stv_oak_table();
    for (int i = 0; i < STV_OAK_N; i++) {
        const struct {
            const char *name, *unit;
            double value;
        } rows[] = {
            {"fast_rate_per_d", "1/d", oak[i].fast_rate_per_d},
            {"fast_ea_j_mol", "J/mol", oak[i].fast_ea_j_mol},
            {"fast_pool_mg_m2", "mg/m2", oak[i].fast_pool_mg_m2},
            {"slow_rate_per_y", "1/y", oak[i].slow_rate_per_y},
            {"slow_ea_j_mol", "J/mol", oak[i].slow_ea_j_mol},
            {"slow_pool_mg_m2", "mg/m2", oak[i].slow_pool_mg_m2},
            {"decay_per_y", "1/y", oak[i].decay_per_y},
            {"decay_ea_j_mol", "J/mol", oak[i].decay_ea_j_mol},
        };
        for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
            struct stv_parameter item = {"", rows[k].value, rows[k].unit, STV_CLASS_ASSUMED,
                                         "", SHEET};
            strcpy(item.name, "oak_");
            strcat(item.name, kinds[i]);
            strcat(item.name, "_");
            strcat(item.name, rows[k].name);
            add(list, item);
        }
    }
}

/* A name with what it belongs to before it, cut to the room there is. */
static void name_item(struct stv_parameter *item, const char *owner, const char *name)
{
    snprintf(item->name, sizeof item->name, "%.30s%.32s", owner, name);
}

/* What is taken of gauges where a cell does not say it. */
static void add_gauges(struct stv_parameter_list *list)
{
    size_t n;
    const struct stv_gauge_number_info *table = stv_gauge_number_table(&n);
    for (size_t i = 0; i < n; i++) {
        struct stv_parameter item = {"", table[i].value, table[i].unit, STV_CLASS_ASSUMED,
                                     "", table[i].source};
        name_item(&item, "gauge_", table[i].name);
        add(list, item);
    }
}

/* The building model's own numbers: the defaults, and where a warehouse of the book sets another.
 */
static void add_building_numbers(struct stv_parameter_list *list, const struct stv_book *book)
{
    size_t n;
    const struct stv_building_number_info *table = stv_building_number_table(&n);
    for (size_t i = 0; i < n; i++) {
        struct stv_parameter item = {"", table[i].default_nd, table[i].unit, STV_CLASS_ASSUMED,
                                     "", table[i].source};
        name_item(&item, "building_", table[i].name);
        add(list, item);
        for (size_t w = 0; book && w < book->n_warehouses; w++) {
            item.value = *stv_building_number_nd(&book->warehouses[w].building.numbers, i);
            item.source = BOOK;
            char owner[STV_NAME_MAX + 2];
            snprintf(owner, sizeof owner, "%.28s: ", book->warehouses[w].name);
            name_item(&item, owner, table[i].name);
            if (item.value != table[i].default_nd)
                add(list, item);
        }
    }
}

/* What a kind of building fills in, at its usual size. */
static void add_kind(struct stv_parameter_list *list, enum stv_building_kind kind)
{
    static const char source[] = "trade press of 2003-2015 and judgement, named in "
                                 "model/tables/building_kinds.h; set by the warehouse's own keys";
    struct stv_building b;
    if (stv_building_of_kind(kind, 0, 0, 0, &b) != STV_OK)
        return;
    const struct {
        const char *name, *unit;
        double value;
    } rows[] = {
        {"tiers", "-", (double)b.n_tiers},
        {"bays", "-", (double)b.n_bays},
        {"depth", "-", (double)b.n_depth},
        {"length_m", "m", b.length_m},
        {"width_m", "m", b.width_m},
        {"eaves_height_m", "m", b.eaves_height_m},
        {"tier_height_m", "m", b.tier_height_m},
        {"long_axis_deg", "deg", b.long_axis_deg},
        {"roof_pitch_deg", "deg", b.roof_pitch_deg},
        {"casks_stored", "-", b.n_casks},
        {"usual_cask_l", "L", b.cask_capacity_l},
        {"floor_wetness_frac", "-", b.floor_wetness_frac},
        {"leak_area_m2", "m2", b.leak_area_m2},
        {"vent_low_m2", "m2", b.vent_low_m2},
        {"vent_high_m2", "m2", b.vent_high_m2},
        {"wind_shelter_frac", "-", b.wind_shelter_frac},
        {"ground_albedo_frac", "-", b.ground_albedo_frac},
        {"cask_vapour_kg_h", "kg/h", b.cask_vapour_kg_h},
        {"exposed_frac", "-", b.exposed_frac},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct stv_parameter item = {"", rows[i].value, rows[i].unit, STV_CLASS_ASSUMED,
                                     "", source};
        char owner[STV_NAME_MAX];
        snprintf(owner, sizeof owner, "%s: ", stv_building_kind_name(kind));
        name_item(&item, owner, rows[i].name);
        add(list, item);
    }
}

static void add_constants(struct stv_parameter_list *list)
{
    static const char codata[] = "CODATA 2018";
    const struct stv_parameter items[] = {
        {"gas_constant_j_molk", STV_GAS_J_MOLK, "J/(mol K)", STV_CLASS_STANDARD, "", codata},
        {"stefan_boltzmann_w_m2k4", STV_STEFAN_W_M2K4, "W/(m2 K4)", STV_CLASS_STANDARD, "", codata},
        {"ethanol_rho20_kg_m3", STV_ETHANOL_RHO20_KG_M3, "kg/m3", STV_CLASS_STANDARD, "",
         "OIML R 22"},
        {"ethanol_kg_mol", STV_ETHANOL_KG_MOL, "kg/mol", STV_CLASS_STANDARD, "",
         "molar mass; parameter sheet (DEVELOPERS.md, Sources)"},
        {"water_kg_mol", STV_WATER_KG_MOL, "kg/mol", STV_CLASS_STANDARD, "",
         "molar mass; parameter sheet (DEVELOPERS.md, Sources)"},
        {"cask_film_convective_frac", STV_CASK_CONVECTIVE_FRAC, "-", STV_CLASS_ASSUMED, "", SHEET},
        {"oxidation_ea_j_mol", STV_OXIDATION_EA_J_MOL, "J/mol", STV_CLASS_ASSUMED, "", SHEET},
    };
    for (size_t i = 0; i < sizeof items / sizeof items[0]; i++)
        add(list, items[i]);
}

struct stv_parameter_list stv_parameters_list(const struct stv_book *book)
{
    struct stv_parameter_list list = {0};
    add_model(&list, book);
    add_house(&list, book);
    add_metrics(&list);
    add_vapour(&list);
    add_oak(&list);
    add_gauges(&list);
    add_building_numbers(&list, book);
    for (int kind = 0; !book && kind < STV_BUILDING_N; kind++)
        add_kind(&list, kind);
    add_constants(&list);
    return list;
}

const char *stv_parameter_class_text(enum stv_parameter_class kind)
{
    switch (kind) {
    case STV_CLASS_STANDARD:
        return "standard";
    case STV_CLASS_FITTED:
        return "fitted";
    case STV_CLASS_ASSUMED:
        return "assumed";
    }
    return "unknown";
}

void stv_parameters_text(struct stv_text *text, const struct stv_book *book)
{
    struct stv_parameter_list list = stv_parameters_list(book);
    text->has_failed = text->has_failed || list.is_short_of_memory;
    stv_prose_heading(text, "%-34s %-13s %-20s %s", "number", "value", "unit", "class");
    for (size_t i = 0; i < list.n; i++) {
        const struct stv_parameter *item = &list.items[i];
        stv_prose_add(text, "%-34s %-13.9g %-20s %s\n", item->name, item->value, item->unit,
                      stv_parameter_class_text(item->kind));
        if (item->range[0])
            stv_prose_wrap(text, 4, "trials: %s", item->range);
        stv_prose_wrap(text, 4, "%s", item->source);
    }
    stv_prose_wrap(text, 0,
                   "Set any of the first block in book.yaml under `parameters:`, and any that "
                   "begins with building_, without that word, under `numbers:` of a warehouse. "
                   "Properties of spirit and air follow published equations (DEVELOPERS.md, "
                   "Sources); a book's own buildings stand in `inputs` of `climate --json`.");
    free(list.items);
}

static json_t *json_of_items(const struct stv_parameter *items, size_t n)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        json_t *object = json_object();
        stv_json_set(object, "name", stv_json_text(items[i].name));
        stv_json_set(object, "value", stv_json_number(items[i].value));
        stv_json_set(object, "unit", stv_json_text(items[i].unit));
        stv_json_set(object, "class", stv_json_text(stv_parameter_class_text(items[i].kind)));
        stv_json_set(object, "source", stv_json_text(items[i].source));
        stv_json_append(array, object);
    }
    return array;
}

json_t *stv_parameters_json(const struct stv_book *book)
{
    struct stv_parameter_list list = stv_parameters_list(book);
    json_t *array = json_of_items(list.items, list.n);
    free(list.items);
    return array;
}

json_t *stv_parameters_bench_json(void)
{
    static const char practice[] = "common practice, no published source";
    const struct stv_parameter items[] = {
        {"ethanol_rho20_kg_m3", STV_ETHANOL_RHO20_KG_M3, "kg/m3", STV_CLASS_STANDARD, "",
         "OIML R 22"},
        {"glass_growth_per_k", STV_GLASS_PER_K, "1/K", STV_CLASS_STANDARD, "", "OIML R 22"},
        {"steel_growth_per_k", STV_STEEL_PER_K, "1/K", STV_CLASS_STANDARD, "", "OIML R 22"},
        {"air_kg_m3", STV_GAUGE_AIR_KG_M3, "kg/m3", STV_CLASS_STANDARD, "", "OIML R 22"},
        {"weights_kg_m3", STV_GAUGE_WEIGHTS_KG_M3, "kg/m3", STV_CLASS_STANDARD, "", "OIML R 22"},
        {"wine_gallon_l", STV_WINE_GALLON_L, "L", STV_CLASS_STANDARD, "",
         "231 cubic inches, exact"},
        {"room_usual_pct", 100.0 * STV_ROOM_USUAL_FRAC, "%", STV_CLASS_ASSUMED, "", practice},
        {"indrink_pct", 100.0 * STV_INDRINK_FRAC, "%", STV_CLASS_ASSUMED, "",
         "trade magazine, second-hand"},
    };
    return json_of_items(items, sizeof items / sizeof items[0]);
}
