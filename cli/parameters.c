/* The list is put together from the tables that the model itself reads, so that it cannot show a
 * number that is not used. */
#include "cli/parameters.h"

#include "cli/chain_cask_learning.h"
#include "cli/json.h"
#include "cli/prose.h"
#include "ingest/gauge_numbers.h"
#include "model/cask_learning.h"
#include "model/cask_room.h"
#include "model/gauge.h"
#include "model/params.h"
#include "model/spirit.h"
#include "model/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHEET "parameter sheet (DEVELOPERS.md, Sources): judgement"
#define BOOK "set by the book"
#define UNDER_PARAMETERS "parameters: in book.yaml"

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

/* A row of a table that `parameters:` sets; trials: how it is drawn, "" when it is not. */
struct row {
    const char *name, *unit, *trials, *source;
    double value, usual, least, most;
};

static void add_row(struct stv_parameter_list *list, const struct stv_book *book,
                    const struct row *row)
{
    bool is_set = book && holds_word(book->overridden, row->name);
    struct stv_parameter item = {.value = row->value,
                                 .default_value = row->usual,
                                 .unit = row->unit,
                                 .kind = STV_CLASS_ASSUMED,
                                 .set_by = UNDER_PARAMETERS,
                                 .source = is_set ? BOOK : row->source};
    snprintf(item.name, sizeof item.name, "%s", row->name);
    snprintf(item.range, sizeof item.range, "%s%s%g to %g allowed", row->trials,
             row->trials[0] ? "; " : "", row->least, row->most);
    add(list, item);
}

static void add_model(struct stv_parameter_list *list, const struct stv_book *book)
{
    const struct stv_params params = book ? book->params : stv_params_default();
    const struct stv_cask_numbers numbers = book ? book->numbers : stv_cask_numbers_default();
    size_t n;
    const struct stv_param_info *drawn = stv_param_table(&n);
    for (size_t i = 0; i < n; i++) {
        const double *value =
            (const double *)(const void *)((const char *)&params + drawn[i].offset);
        add_row(list, book,
                &(struct row){drawn[i].name, drawn[i].unit, drawn[i].range, SHEET, *value,
                              drawn[i].default_nd, drawn[i].least_nd, drawn[i].most_nd});
    }
    const struct stv_cask_number_info *fixed = stv_cask_number_table(&n);
    for (size_t i = 0; i < n; i++)
        add_row(list, book,
                &(struct row){fixed[i].name, fixed[i].unit, "", fixed[i].source,
                              *stv_cask_number_nd(&numbers, i), fixed[i].default_nd,
                              fixed[i].least_nd, fixed[i].most_nd});
}

/* A house rule, with the same rule of a house that says nothing. */
static void add_house(struct stv_parameter_list *list, const struct stv_book *book)
{
    static const char house[] = "house rule, judgement until the book says it";
    const struct stv_house_rules usual = stv_house_rules_default();
    const struct stv_house_rules rules = book ? book->rules : usual;
    const struct {
        const char *name, *unit;
        double value, usual;
        const char *range, *set_by;
    } rows[] = {
#define RULE(field, factor) (factor) * rules.field, (factor)*usual.field
        {"bottling_strength_pct", "%vol", RULE(bottling_abv20_frac, 100.0), "5 to 97.2 allowed",
         "targets: bottling_strength in book.yaml"},
        {"bottle_l", "L", RULE(bottle_l, 1.0), "0.02 to 10 allowed",
         "targets: bottle in book.yaml"},
        {"bottling_loss_pct", "%", RULE(bottling_loss_frac, 100.0), "0 to 50 allowed",
         "targets: bottling_loss in book.yaml"},
        {"reference_cask_l", "L", RULE(reference_capacity_l, 1.0), "1 to 1000 allowed",
         "reference_cask: size in book.yaml"},
        {"reference_strength_pct", "%vol", RULE(reference_abv20_frac, 100.0), "10 to 97.2 allowed",
         "reference_cask: strength in book.yaml"},
        {"reference_age_months", "months", RULE(reference_months, 1.0), "1 to 1200 allowed",
         "reference_cask: age in book.yaml"},
        {"wood_least_of_reference", "-", RULE(wood_least_nd, 1.0), "0 to 100 allowed",
         "targets: wood: least in book.yaml"},
        {"wood_most_of_reference", "-", RULE(wood_most_nd, 1.0), "0 to 100 allowed",
         "targets: wood: most in book.yaml"},
        {"least_strength_pct", "%vol", RULE(least_abv20_frac, 100.0), "5 to 97.2 allowed",
         "targets: least_strength in book.yaml"},
        {"least_age_y", "y", RULE(least_age_y, 1.0), "0 to 100 allowed",
         "targets: least_age in book.yaml"},
        {"planned_age_y", "y", RULE(planned_age_y, 1.0), "0.083 to 100 allowed",
         "targets: planned_age in book.yaml"},
#undef RULE
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bool is_learned = book && book->wood_from == STV_WOOD_LEARNED &&
                          strncmp(rows[i].name, "wood_", strlen("wood_")) == 0;
        bool is_of_market =
            book &&
            ((book->market.sets_strength && strcmp(rows[i].name, "least_strength_pct") == 0) ||
             (book->market.sets_age && strcmp(rows[i].name, "least_age_y") == 0));
        const char *said = is_learned     ? "learned from the house's noses"
                           : is_of_market ? "the named market's rules"
                                          : BOOK;
        struct stv_parameter item = {.value = rows[i].value,
                                     .default_value = rows[i].usual,
                                     .unit = rows[i].unit,
                                     .kind = is_learned ? STV_CLASS_FITTED : STV_CLASS_ASSUMED,
                                     .set_by = rows[i].set_by,
                                     .source = rows[i].value != rows[i].usual ? said : house};
        snprintf(item.name, sizeof item.name, "%s", rows[i].name);
        snprintf(item.range, sizeof item.range, "%s", rows[i].range);
        add(list, item);
    }
}

/* A number as it stands without a book. */
static struct stv_parameter usual_of(enum stv_parameter_class kind, const char *name, double value,
                                     const char *unit, const char *source)
{
    struct stv_parameter item = {.value = value,
                                 .default_value = value,
                                 .unit = unit,
                                 .kind = kind,
                                 .set_by = "",
                                 .source = source};
    snprintf(item.name, sizeof item.name, "%s", name);
    return item;
}

static struct stv_parameter standard(const char *name, double value, const char *unit,
                                     const char *source)
{
    return usual_of(STV_CLASS_STANDARD, name, value, unit, source);
}

/* A name with what it belongs to before it, cut to the room there is. */
static void name_item(struct stv_parameter *item, const char *owner, const char *name)
{
    snprintf(item->name, sizeof item->name, "%.30s%.32s", owner, name);
}

/* What is taken of gauges where a cell does not say it. */
static void add_gauges(struct stv_parameter_list *list, const struct stv_book *book)
{
    const struct stv_gauge_numbers numbers =
        book ? book->gauge_numbers : stv_gauge_numbers_default();
    size_t n;
    const struct stv_gauge_number_info *table = stv_gauge_number_table(&n);
    for (size_t i = 0; i < n; i++) {
        const double *value =
            (const double *)(const void *)((const char *)&numbers + table[i].offset);
        add_row(list, book,
                &(struct row){table[i].name, table[i].unit, "", table[i].source, *value,
                              table[i].default_nd, table[i].least_nd, table[i].most_nd});
    }
}

/* What `learn` takes of noses, tares, leaks and slips before anything was measured. */
static void add_learning(struct stv_parameter_list *list)
{
    const struct stv_fit_tare dry = stv_fit_tare_of(STV_FIT_TARE_DRY, 0.0);
    const struct stv_fit_tare wet = stv_fit_tare_of(STV_FIT_TARE_WET, 0.0);
    const struct stv_fit_tare unknown = stv_fit_tare_of(STV_FIT_TARE_UNKNOWN, 0.0);
    const struct stv_fit_scale points = stv_fit_points(), card = stv_fit_card(12);
    const struct {
        const char *name, *unit;
        double value;
        const char *source;
    } rows[] = {
        {"nose_error_ln", "-", STV_FIT_NOSE_ERROR_LN,
         "error of a nosing or a colour card, in ln of wood; judgement"},
        {"ready_error_ln", "-", STV_READY_ERROR_LN,
         "of where noses call ready, before any spoke; judgement"},
        {"not_yet_to_ready_ln", "-", STV_NOT_YET_TO_READY_LN,
         "from \"nearly\" to \"ready\", in ln of wood; judgement"},
        {"nose_points_wood_ln", "-", points.wood_ln_nd,
         "ln of the reference's wood at 5 points of 10; judgement"},
        {"nose_points_step_ln", "-", points.step_ln_nd, "a point more, in ln of wood; judgement"},
        {"card_of_12_wood_ln", "-", card.wood_ln_nd,
         "ln of wood in the middle of a colour card; judgement"},
        {"card_of_12_step_ln", "-", card.step_ln_nd, "a card more, in ln of wood; judgement"},
        {"unmixed_strength_error_frac", "-", STV_FIT_UNMIXED_ERROR_FRAC,
         "added to a strength that may not be mixed; judgement"},
        {"tare_dry_soak_kg", "kg", dry.tare_kg,
         "soaked in above a dry tare; coopers tell 3 to 6 L"},
        {"tare_dry_error_kg", "kg", dry.error_kg, "its error; judgement"},
        {"tare_wet_error_kg", "kg", wet.error_kg, "error of a wet tare; judgement"},
        {"tare_unknown_error_kg", "kg", unknown.error_kg, "of a tare that nobody told; judgement"},
        {"weighing_error_kg", "kg", STV_CASK_WEIGHING_ERROR_KG,
         "of the next weighing, when it is asked what it narrows; judgement"},
        {"leak_prior_frac", "-", STV_LEAK_PRIOR_FRAC,
         "of gauges: a leak since the last; judgement"},
        {"leak_seen_frac", "-", STV_LEAK_SEEN_FRAC,
         "the same where a leak was stopped since, or later; judgement"},
        {"leak_per_y_frac", "1/y", STV_LEAK_PER_Y_FRAC,
         "of the cask: mean of what a leak takes; judgement"},
        {"leak_least_y", "y", STV_LEAK_LEAST_Y, "a leak counts as so long at least; judgement"},
        {"leak_run_out_frac", "-", STV_LEAK_RUN_OUT_FRAC,
         "of leaks: those that may take all; judgement"},
        {"swap_prior_frac", "-", STV_SWAP_PRIOR_FRAC,
         "of figures: two digits changed places; judgement"},
        {"slip_prior_frac", "-", STV_SLIP_PRIOR_FRAC, "of figures: any other slip; judgement"},
        {"slip_volume_frac", "-", STV_SLIP_VOLUME_FRAC,
         "of the cask: spread of a slip in the litres; judgement"},
        {"slip_strength_frac", "-", STV_SLIP_STRENGTH_FRAC,
         "of volume: spread of a slip in the strength; judgement"},
        {"slip_any_frac", "-", STV_SLIP_ANY_FRAC,
         "of slips: those that may show any figure; judgement"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct stv_parameter item =
            usual_of(STV_CLASS_ASSUMED, "", rows[i].value, rows[i].unit, rows[i].source);
        name_item(&item, "learn_", rows[i].name);
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
        struct stv_parameter item =
            usual_of(STV_CLASS_ASSUMED, "", table[i].default_nd, table[i].unit, table[i].source);
        item.set_by = "numbers: of a warehouse in book.yaml";
        name_item(&item, "building_", table[i].name);
        snprintf(item.range, sizeof item.range, "%g to %g allowed", table[i].least_nd,
                 table[i].most_nd);
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
                                 "model/tables/building_kinds.h";
    struct stv_building b;
    if (stv_building_of_kind(kind, 0, 0, 0, &b) != STV_OK)
        return;
    const struct {
        const char *name, *unit;
        double value;
        const char *range, *set_by;
    } rows[] = {
        {"tiers", "-", (double)b.n_tiers, "1 and more", "tiers of a warehouse"},
        {"bays", "-", (double)b.n_bays, "1 and more", "bays of a warehouse"},
        {"depth", "-", (double)b.n_depth, "1 and more", "depth of a warehouse"},
        {"length_m", "m", b.length_m, "1 to 1000 allowed", "length of a warehouse"},
        {"width_m", "m", b.width_m, "1 to 1000 allowed", "width of a warehouse"},
        {"eaves_height_m", "m", b.eaves_height_m, "1.5 to 60 allowed",
         "eaves_height of a warehouse"},
        {"tier_height_m", "m", b.tier_height_m, "0.3 to 10 allowed", "tier_height of a warehouse"},
        {"long_axis_deg", "deg", b.long_axis_deg, "0 to 360 allowed", "long_axis of a warehouse"},
        {"roof_pitch_deg", "deg", b.roof_pitch_deg, "0 to 60 allowed", "roof_pitch of a warehouse"},
        {"casks_stored", "-", b.n_casks, "0 and more, as fit", "casks_stored of a warehouse"},
        {"usual_cask_l", "L", b.cask_capacity_l, "1 to 1000 allowed", "usual_cask of a warehouse"},
        {"floor_wetness_frac", "-", b.floor_wetness_frac, "0 to 1 allowed",
         "floor: wetness of a warehouse"},
        {"leak_area_m2", "m2", b.leak_area_m2, "0 to 1000 allowed", "leak_area of a warehouse"},
        {"vent_low_m2", "m2", b.vent_low_m2, "0 to 1000 allowed", "vent_low of a warehouse"},
        {"vent_high_m2", "m2", b.vent_high_m2, "0 to 1000 allowed", "vent_high of a warehouse"},
        {"wind_shelter_frac", "-", b.wind_shelter_frac, "0 to 1 allowed",
         "wind_shelter of a warehouse"},
        {"ground_albedo_frac", "-", b.ground_albedo_frac, "0 to 1 allowed",
         "ground_albedo of a warehouse"},
        {"cask_vapour_kg_h", "kg/h", b.cask_vapour_kg_h, "0 to 0.1 allowed",
         "cask_vapour of a warehouse"},
        {"exposed_frac", "-", b.exposed_frac, "0.05 to 1 allowed", "exposed of a warehouse"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct stv_parameter item =
            usual_of(STV_CLASS_ASSUMED, "", rows[i].value, rows[i].unit, source);
        char owner[STV_NAME_MAX];
        item.set_by = rows[i].set_by;
        snprintf(owner, sizeof owner, "%s: ", stv_building_kind_name(kind));
        name_item(&item, owner, rows[i].name);
        snprintf(item.range, sizeof item.range, "%s", rows[i].range);
        add(list, item);
    }
}

static void add_constants(struct stv_parameter_list *list)
{
    static const char codata[] = "CODATA 2018";
    static const char mass[] = "molar mass; parameter sheet (DEVELOPERS.md, Sources)";
    add(list, standard("gas_constant_j_molk", STV_GAS_J_MOLK, "J/(mol K)", codata));
    add(list, standard("stefan_boltzmann_w_m2k4", STV_STEFAN_W_M2K4, "W/(m2 K4)", codata));
    add(list, standard("ethanol_rho20_kg_m3", STV_ETHANOL_RHO20_KG_M3, "kg/m3", "OIML R 22"));
    add(list, standard("ethanol_kg_mol", STV_ETHANOL_KG_MOL, "kg/mol", mass));
    add(list, standard("water_kg_mol", STV_WATER_KG_MOL, "kg/mol", mass));
}

/* What a bench sum takes where its option says nothing. */
static struct stv_parameter of_sum(const char *name, double frac, const char *option,
                                   const char *source)
{
    struct stv_parameter item = usual_of(STV_CLASS_ASSUMED, name, 100.0 * frac, "%", source);
    snprintf(item.range, sizeof item.range, "0 to 50 allowed");
    item.set_by = option;
    return item;
}

static struct stv_parameter room_of_sum(void)
{
    return of_sum("room_usual_pct", STV_ROOM_USUAL_FRAC, "--room of a sum",
                  "common practice, no published source");
}

static struct stv_parameter indrink_of_sum(void)
{
    return of_sum("indrink_pct", STV_INDRINK_FRAC, "--indrink of a sum",
                  "trade magazine, second-hand");
}

static struct stv_parameter step_of_water(const struct stv_book *book)
{
    struct stv_parameter item =
        usual_of(STV_CLASS_ASSUMED, "water_least_step_kg", STV_REDUCTION_LEAST_STEP_KG, "kg",
                 "common practice, no published source");
    snprintf(item.range, sizeof item.range, "0 to 20 allowed");
    item.set_by = "water: least_weight_per_step in book.yaml";
    if (!book)
        return item;
    item.value = book->water.rules.least_step_kg;
    item.source =
        item.value < item.default_value || item.value > item.default_value ? BOOK : item.source;
    return item;
}

struct stv_parameter_list stv_parameters_list(const struct stv_book *book)
{
    struct stv_parameter_list list = {0};
    add_model(&list, book);
    add_house(&list, book);
    add_gauges(&list, book);
    add_learning(&list);
    add_building_numbers(&list, book);
    for (int kind = 0; !book && kind < STV_BUILDING_N; kind++)
        add_kind(&list, kind);
    add(&list, room_of_sum());
    add(&list, indrink_of_sum());
    add(&list, step_of_water(book));
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
        if (item->set_by[0])
            stv_prose_wrap(text, 4, "default %.9g; %s; set by %s", item->default_value, item->range,
                           item->set_by);
        stv_prose_wrap(text, 4, "%s", item->source);
    }
    stv_prose_wrap(text, 0,
                   "Numbers that begin with building_ are set without that word, under "
                   "`numbers:` of a warehouse. Those that begin with spread_ say how far trials "
                   "spread; the rest without words of a distribution is the same in every trial. "
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
        stv_json_set(object, "default", stv_json_number(items[i].default_value));
        stv_json_set(object, "unit", stv_json_text(items[i].unit));
        stv_json_set(object, "class", stv_json_text(stv_parameter_class_text(items[i].kind)));
        stv_json_set(object, "range", stv_json_text(items[i].range));
        stv_json_set(object, "set_by", stv_json_text(items[i].set_by));
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
    static const char r22[] = "OIML R 22";
    const struct stv_parameter items[] = {
        standard("ethanol_rho20_kg_m3", STV_ETHANOL_RHO20_KG_M3, "kg/m3", r22),
        standard("glass_growth_per_k", STV_GLASS_PER_K, "1/K", r22),
        standard("steel_growth_per_k", STV_STEEL_PER_K, "1/K", r22),
        standard("air_kg_m3", STV_GAUGE_AIR_KG_M3, "kg/m3", r22),
        standard("weights_kg_m3", STV_GAUGE_WEIGHTS_KG_M3, "kg/m3", r22),
        standard("wine_gallon_l", STV_WINE_GALLON_L, "L", "231 cubic inches, exact"),
        room_of_sum(),
        indrink_of_sum(),
    };
    return json_of_items(items, sizeof items / sizeof items[0]);
}

void stv_parameters_words(struct stv_text *text, const struct stv_book *book)
{
    struct stv_parameter_list list = stv_parameters_list(book);
    struct stv_text said = {.has_failed = list.is_short_of_memory};
    for (size_t i = 0; i < list.n; i++)
        if (holds_word(book->overridden, list.items[i].name))
            stv_prose_add(&said, "%s%s %.9g %s (not %.9g)", said.n ? ", " : "", list.items[i].name,
                          list.items[i].value, list.items[i].unit, list.items[i].default_value);
    if (said.n)
        stv_prose_wrap(text, 2, "Numbers of the model that the book sets: %s.",
                       stv_text_string(&said));
    text->has_failed = text->has_failed || said.has_failed;
    stv_text_free(&said);
    free(list.items);
}
