/* A good book is read as written; each slip of the pen in book.yaml gives one refusal at its
 * place; refused rows take along what hangs on them and nothing else; a new book is a good book.
 * The tables' slips: test_book_tables.c. */
#include "tests/book_case.h"

#include "model/calendar.h"
#include "model/constructions.h"

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

static int64_t day_of(int year, int month, int day)
{
    return stv_day_from_date((struct stv_date){year, month, day});
}

static void good_book(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    enum stv_status status = case_read(&one, false);
    case_print(&one);
    stv_assert_ok(status);
    assert_int_equal(one.problems.n_total, 0);
    const struct stv_book *book = &one.book;
    assert_string_equal(book->name, "Quill Basin");
    assert_true(book->is_invented && book->has_site && !book->has_weather);
    stv_assert_close(book->site.longitude_deg, -101.7, 0.0, 1e-12);
    assert_int_equal(book->clock.standard_offset_min, -360);
    assert_int_equal(book->n_warehouses, 2);
    assert_int_equal(book->warehouses[0].building.n_tiers, 6);
    assert_int_equal(book->warehouses[0].by_hand_tiers, 2);
    assert_int_equal(book->warehouses[0].with_lift_tiers, 6);
    assert_non_null(strstr(book->warehouses[0].filled_in, "roof"));
    assert_null(strstr(book->warehouses[0].filled_in, "tiers"));
    assert_int_equal(book->as_of_day_d, day_of(2025, 9, 24));
    stv_assert_close(book->rules.bottle_l, 0.70, 1e-12, 0.0);
    stv_assert_close(book->params.neutral_loss_per_y, 0.0142, 1e-12, 0.0);
    assert_string_equal(book->overridden, "");
    case_close(&one);
}

static void good_casks_and_events(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    stv_assert_ok(case_read(&one, false));
    const struct stv_ledger *ledger = &one.book.ledger;
    assert_int_equal(ledger->n_casks, 3);
    assert_int_equal(ledger->casks[0].history, STV_WOOD_NEW);
    assert_string_equal(ledger->casks[0].kind_name, "new oak 200 L");
    assert_int_equal(ledger->casks[1].history, STV_WOOD_HELD_SPIRIT);
    assert_string_equal(ledger->casks[1].kind_name, "refill 200 L");
    assert_int_equal(ledger->casks[2].history, STV_WOOD_HELD_FORTIFIED);
    assert_string_equal(ledger->casks[2].kind_name, "first-fill sherry 500 L");
    assert_int_equal(ledger->casks[2].row, 4);
    assert_int_equal(ledger->n_events, 5);
    const struct stv_event *fill = &ledger->events[1];
    assert_int_equal(fill->day_d, day_of(2024, 3, 14));
    stv_assert_close(fill->abv20_frac, 0.635, 1e-12, 0.0);
    assert_true(fill->is_soaked);
    const struct stv_event *move = &ledger->events[2];
    assert_int_equal(move->place.warehouse_idx, 1);
    assert_int_equal(move->place.tier_idx, 2);
    assert_int_equal(move->place.depth_idx, 0); /* the store is one cask deep */
    stv_assert_close(ledger->events[3].water_kg, 11.7, 1e-12, 0.0);
    stv_assert_close(ledger->events[4].volume20_l, NAN, 0.0, 0.0);
    assert_int_equal(ledger->events[4].other_idx, 2);
    case_close(&one);
}

static void good_gauges_and_loggers(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    stv_assert_ok(case_read(&one, false));
    assert_int_equal(one.book.n_gauges, 1);
    stv_assert_close(one.book.gauges[0].abv20_frac, 0.56, 1e-12, 0.0);
    assert_int_equal(one.book.gauges[0].nose, STV_NOSE_NEARLY);
    assert_int_equal(one.book.n_loggers, 2);
    const struct stv_logger_source *rack = &one.book.loggers[0];
    assert_int_equal(rack->from_s, day_of(2024, 3, 15) * 86400 + 6 * 3600);
    assert_int_equal(rack->to_s, day_of(2025, 1, 1) * 86400 + 6 * 3600);
    stv_assert_close(rack->temp_correction_k, -0.3, 1e-12, 0.0);
    stv_assert_close(rack->rh_correction_frac, 0.02, 1e-12, 0.0);
    assert_int_equal(rack->place.bay_idx, 3);
    assert_int_equal(one.book.loggers[1].place.warehouse_idx, -1);
    assert_string_equal(one.book.loggers[1].path, rack->path);
    case_close(&one);
}

static const char full_yaml[] =
    "name: Quill Basin\n"
    "as_of: 2027-12-12\n"
    "units: {strength: US proof, volume: US gal, temperature: F, length: ft, mass: lb}\n"
    "seasons: {warm: [Jun, July, 8], cold: [Dec, Jan, Feb]}\n"
    "reference_cask: {size: 53, strength: 120, age: 36 months}\n"
    "targets: {planned_age: 8 y, bottling_strength: 92, bottle: 70 cl, bottling_loss: 2 %,\n"
    "  wood: {least: 0.7, most: 1.3}, least_strength: 46 %vol, least_bottles: 60, prefer: wood}\n"
    "parameters: {neutral_loss_per_y: 0.02, ester_ea_j_mol: 7.0e4}\n"
    "warehouses:\n"
    "  - name: Shed\n"
    "    kind: rick house\n"
    "    tiers: 4\n"
    "    wall: {layers: [{material: brick, thickness: 105 mm}, {resistance: 0.18 m2K/W},\n"
    "      {conductivity: 0.13 W/mK, thickness: 1, density: 500 kg/m3, heat_capacity: 1.6 "
    "kJ/kgK}],\n"
    "      absorptance: 0.6}\n"
    "    roof: {construction: bare steel sheet, emittance: 30 %}\n"
    "    floor: {kind: earth, wetness: 0.25}\n"
    "    night_air: {air_change: 5 1/h, above: 72}\n"
    "    usual_cask: 53\n"
    "    leak_area: 2 sq ft\n"
    "    reach: {by_hand: 1, with_lift: 3}\n";

static void every_key(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "book.yaml", full_yaml);
    for (size_t i = 1; i < 5; i++)
        case_write(&one, case_files[i], NULL);
    enum stv_status status = case_read(&one, false);
    case_print(&one);
    stv_assert_ok(status);
    const struct stv_book *book = &one.book;
    const struct stv_building *shed = &book->warehouses[0].building;
    assert_int_equal(book->as_of_day_d, day_of(2027, 12, 12));
    assert_true(book->warm_months.is_said && book->warm_months.holds[6]);
    assert_false(book->warm_months.holds[8]);
    stv_assert_close(book->rules.reference_capacity_l, 53 * 3.785411784, 1e-12, 0.0);
    stv_assert_close(book->rules.reference_abv20_frac, 0.601, 0.0, 0.001);
    stv_assert_close(book->rules.reference_months, 36.0, 1e-12, 0.0);
    stv_assert_close(book->rules.planned_age_y, 8.0, 1e-12, 0.0);
    stv_assert_close(book->rules.wood_most_nd, 1.3, 1e-12, 0.0);
    stv_assert_close(book->least_bottles_nd, 60.0, 0.0, 0.0);
    assert_int_equal(book->rules.wood_first, 1);
    stv_assert_close(book->params.neutral_loss_per_y, 0.02, 1e-12, 0.0);
    assert_string_equal(book->overridden, "neutral_loss_per_y,ester_ea_j_mol");
    assert_int_equal(shed->wall.n_layers, 3);
    stv_assert_close(shed->wall.layers[0].thickness_m, 0.105, 1e-12, 0.0);
    stv_assert_close(shed->wall.layers[2].thickness_m, 0.3048, 1e-12, 0.0);
    stv_assert_close(shed->wall.layers[2].cp_j_kgk, 1600.0, 1e-12, 0.0);
    stv_assert_close(shed->roof.emittance_frac, 0.30, 1e-12, 0.0);
    assert_int_equal(shed->floor, STV_FLOOR_EARTH);
    stv_assert_close(shed->night_air_above_c, (72.0 - 32.0) / 1.8, 1e-12, 0.0);
    stv_assert_close(shed->leak_area_m2, 2 * 0.09290304, 1e-12, 0.0);
    assert_int_equal(book->warehouses[0].with_lift_tiers, 3);
    case_close(&one);
}

#define HEAD "name: Quill Basin\n"
/* Line 2 is "warehouses:", line 3 the entry, line 4 the key under test; no other file refers. */
#define SHED(line) \
    HEAD "warehouses:\n  - {name: Long Shed, kind: racked shed, tiers: 6,\n    " line "}\n"

static const struct stv_slip yaml_slips[] = {
    {"book.yaml", "nmae: Quill Basin\nname: x\n", 1, 1, "nmae", "did you mean \"name\""},
    {"book.yaml", HEAD "invented: perhaps\n", 2, 11, "perhaps", "yes"},
    {"book.yaml", HEAD "as_of: 2024-02-30\n", 2, 8, "2024-02-30", "does not exist"},
    {"book.yaml", HEAD "name: again\n", 2, 1, "name", "said twice"},
    {"book.yaml", HEAD "units: {strength: kg}\n", 2, 19, "kg", "unit of mass"},
    {"book.yaml", HEAD "units: {strength: proof}\n", 2, 19, "proof", "US proof or UK proof"},
    {"book.yaml", HEAD "units: {colour: red}\n", 2, 9, "colour", "known: strength"},
    {"book.yaml", HEAD "site: {latitude: 95, longitude: 1, elevation: 1}\n", 2, 18, "95",
     "latitude"},
    {"book.yaml", HEAD "site: {latitude: 35.2, elevation: 1100}\n", 2, 7, "", "longitude"},
    {"book.yaml", HEAD "site: {latitude: 35, longitude: 1, elevation: 3 kg}\n", 2, 47, "3 kg",
     "unit of mass"},
    {"book.yaml", HEAD "site: {latitude: 35, longitude: 1, elevation: 1, clock: noon}\n", 2, 57,
     "noon", ""},
    {"book.yaml", HEAD "weather: {file: weather/absent.csv}\n", 2, 17, "weather/absent.csv",
     "no such file"},
    {"book.yaml", HEAD "weather: {station: X}\n", 2, 10, "", "needs a file"},
    {"book.yaml", HEAD "seasons: {warm: [Jun], cold: [Dez]}\n", 2, 31, "Dez", "Jun"},
    {"book.yaml", HEAD "seasons: {warm: [Jun], cold: [Jun]}\n", 2, 10, "", "both warm and cold"},
    {"book.yaml", HEAD "reference_cask: {strength: 60 kg}\n", 2, 28, "60 kg", "unit of mass"},
    {"book.yaml", HEAD "reference_cask: {size: 200}\n", 2, 24, "200", "no unit of volume"},
    {"book.yaml", HEAD "targets: {bottling_strength: 46 proof}\n", 2, 30, "46 proof",
     "US proof or UK proof"},
    {"book.yaml", HEAD "targets: {bottling_loss: 2}\n", 2, 26, "2", "write 2 %"},
    {"book.yaml", HEAD "targets: {bottling_loss: 0,02}\n", 2, 28, "02", "known"},
    {"book.yaml", HEAD "targets: {bottling_loss: \"0,02\"}\n", 2, 26, "0,02", "decimal comma"},
    {"book.yaml", HEAD "targets: {planned_age: 800 y}\n", 2, 24, "800 y", "outside"},
    {"book.yaml", HEAD "targets: {wood: {least: 2, most: 1}}\n", 2, 17, "", "more than most"},
    {"book.yaml", HEAD "targets: {prefer: friut}\n", 2, 19, "friut", "did you mean \"fruit\""},
    {"book.yaml", HEAD "wood_life: {old: {uses: 4}}\n", 2, 13, "old", "known"},
    {"book.yaml", HEAD "wood_life: {new: 4}\n", 2, 18, "4", "pairs are wanted"},
    {"book.yaml", HEAD "wood_life: {new: {uses: 0}}\n", 2, 25, "0", "outside 1 to 30"},
    {"book.yaml", HEAD "wood_life: {new: {use: 3}}\n", 2, 19, "use", "did you mean \"uses\""},
    {"book.yaml", HEAD "wood_life: {spirit: {dry_after: 60}}\n", 2, 33, "60", "no unit of time"},
    {"book.yaml", HEAD "wood_life: {move_loss: 30 %}\n", 2, 24, "30 %", "outside"},
    {"book.yaml", HEAD "wood_life: {new: {uses: 3}, new: {uses: 4}}\n", 2, 29, "new", "said twice"},
    {"book.yaml", HEAD "parameters: {neutral_los_per_y: 1}\n", 2, 14, "neutral_los_per_y",
     "neutral_loss_per_y"},
    {"book.yaml", HEAD "parameters: {neutral_loss_per_y: nan}\n", 2, 34, "nan", "not a number"},
    {"book.yaml", HEAD "parameters: {neutral_loss_per_y: -1}\n", 2, 34, "-1", "outside 1e-06 to 5"},
    {"book.yaml", HEAD "warehouses: {name: x}\n", 2, 13, "", "a list"},
    {"book.yaml", SHED("teirs: 5"), 4, 5, "teirs", "did you mean \"tiers\""},
    {"book.yaml", SHED("bays: 0x10"), 4, 11, "0x10", "whole number"},
    {"book.yaml", SHED("bays: 012"), 4, 11, "012", "starts with a zero"},
    {"book.yaml", SHED("length: 30"), 4, 13, "30", "no unit of length"},
    {"book.yaml", SHED("length: 30 L"), 4, 13, "30 L", "unit of volume"},
    {"book.yaml", SHED("length: 0.2 m"), 4, 13, "0.2 m", "outside 1 to 1000 m"},
    {"book.yaml", SHED("wall: {construction: brik 220 mm}"), 4, 26, "brik 220 mm", "brick 220 mm"},
    {"book.yaml", SHED("wall: {layers: [{material: brick}]}"), 4, 21, "", "thickness"},
    {"book.yaml", SHED("wall: {layers: [{material: bric, thickness: 1 m}]}"), 4, 32, "bric",
     "did you mean \"brick\""},
    {"book.yaml", SHED("wall: {absorptance: 1.4}"), 4, 25, "1.4", "%"},
    {"book.yaml", SHED("wall: brick"), 4, 11, "brick", "pairs are wanted"},
    {"book.yaml", SHED("floor: {kind: slab, wetness: 0.5}"), 4, 34, "0.5", "earth floor only"},
    {"book.yaml", SHED("night_air: {above: 22 C}"), 4, 16, "", "needs air_change"},
    {"book.yaml", SHED("tier_height: 3 m, eaves_height: 5 m"), 3, 5, "", "do not fit"},
    {"book.yaml", SHED("reach: {by_hand: 7}"), 4, 22, "7", "outside 0 to 6"},
    {"book.yaml", SHED("reach: {by_hand: 4, with_lift: 3}"), 4, 36, "3", "lower than a hand"},
    {"book.yaml", HEAD "warehouses:\n  - {name: A}\n", 3, 5, "", "needs a kind"},
    {"book.yaml", HEAD "warehouses:\n  - {kind: dunnage}\n", 3, 5, "", "needs a name"},
    {"book.yaml", HEAD "warehouses:\n  - {name: A, kind: dunage}\n", 3, 21, "dunage",
     "did you mean \"dunnage\""},
    {"book.yaml", HEAD "warehouses:\n  - {name: A, kind: dunnage}\n  - {name: A, kind: dunnage}\n",
     4, 12, "A", "earlier warehouse"},
    {"book.yaml", HEAD "warehouses:\n  - {name: outdoors, kind: dunnage}\n", 3, 12, "outdoors",
     "another name"},
    {"book.yaml", HEAD "warehouses:\n  - {name: A, kind: dunnage, tiers: 40}\n", 3, 37, "40",
     "outside 1 to 32"},
    {"book.yaml", "invented: yes\n", 1, 1, "", "needs a name"},
    {"book.yaml", HEAD "site:\n\tlatitude: 1\n", 3, 1, "", "tab"},
    {"book.yaml", "name: caf\xE9\n", 1, 10, "", "UTF-8"},
    {"book.yaml", "", 1, 1, "", "empty"},
};

/* Only book.yaml: the tables would add their own refusals. */
static void slips_of_the_yaml(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_OF(yaml_slips); i++) {
        const struct stv_slip *slip = &yaml_slips[i];
        struct stv_book_case one;
        case_open(&one);
        for (size_t k = 1; k < 5; k++)
            case_write(&one, case_files[k], NULL);
        case_write(&one, "book.yaml", slip->text);
        stv_assert_status(case_read(&one, false), STV_E_PARSE);
        bool is_said = case_says(&one, slip);
        if (!is_said) {
            print_error("wanted %zu:%zu \"%s\" %s\n", slip->row, slip->column, slip->found,
                        slip->phrase);
            case_print(&one);
        }
        case_close(&one);
        assert_true(is_said);
    }
}

static void no_book(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "book.yaml", NULL);
    stv_assert_status(case_read(&one, true), STV_E_IO);
    assert_int_equal(one.problems.n_total, 1);
    assert_non_null(strstr(one.problems.items[0].message, "no book.yaml"));
    struct stv_book absent;
    stv_assert_status(stv_book_read("/absent/folder", false, &one.problems, &absent), STV_E_IO);
    assert_non_null(strstr(one.problems.items[1].message, "no such folder"));
    stv_assert_status(stv_book_read("", false, &one.problems, &absent), STV_E_IO);
    case_close(&one);
}

static void all_faults_in_one_run(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "book.yaml",
               "name: Quill Basin\nsite: {latitude: 95, longitude: 1, elevation: 1}\ncolour: red\n"
               "warehouses:\n  - {name: Long Shed, kind: racked shed, tiers: six}\n");
    case_write(&one, "casks.csv", "cask,size,held\n12,200,new\n18,200 L,shery\nA-26,500 L,new\n");
    case_write(&one, "history.csv", "date,what,cask\n2024-02-30,empty,A-26\n2024-01-01,emtpy,99\n");
    case_write(&one, "gauges.csv", "date,cask,nose\n2024-01-01,A-26,redy\n");
    case_write(&one, "loggers.csv", "file,warehouse\nabsent.csv,outdoors\n");
    stv_assert_status(case_read(&one, false), STV_E_PARSE);
    if (one.problems.n_by_severity[STV_REFUSED] != 10)
        case_print(&one);
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 10);
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 0);
    case_close(&one);
}

static void keep_going_leaves_out_what_hangs(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    /* The fill of 18 is refused, and with it the transfer and all of A-26's later history. */
    case_write(&one, "history.csv",
               "date,what,cask,to,litres,strength,water,tier,warehouse\n"
               "2024-03-14,fill,12,,195 L,60 %vol,,5,Long Shed\n"
               "2024-03-14,fill,18,,190 L,60 kg,,2,Long Shed\n"
               "2024-06-01,sample,18,,200 ml,,,,\n"
               "2024-06-01,sample,12,,200 ml,,,,\n"
               "2025-06-30,transfer,18,A-26,,,,1,Long Shed\n"
               "2025-07-30,sample,A-26,,200 ml,,,,\n"
               "2025-08-30,sample,12,,2O0 ml,,,,\n");
    stv_assert_ok(case_read(&one, true));
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 3);
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 1);
    assert_non_null(strstr(one.problems.items[2].message, "3 more rows"));
    assert_non_null(strstr(one.problems.items[3].message, "cask A-26: its history is left out"));
    assert_int_equal(one.problems.items[3].row, 6);
    assert_true(one.book.cut_from_d[0] == INT64_MAX);
    assert_int_equal(one.book.cut_from_d[1], day_of(2024, 3, 14));
    assert_int_equal(one.book.cut_from_d[2], day_of(2025, 6, 30));
    assert_int_equal(one.book.ledger.n_casks, 3);
    assert_int_equal(one.book.ledger.n_events, 2);
    assert_int_equal(one.book.ledger.events[0].cask_idx, 0);
    assert_int_equal(one.book.ledger.events[1].cask_idx, 0);
    case_close(&one);
}

static void keep_going_without_a_cask_or_a_warehouse(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "casks.csv", "cask,size,held\n12,200,new\n18,200 L,new\nA-26,500 L,new\n");
    stv_assert_ok(case_read(&one, true));
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 1);
    assert_int_equal(one.book.ledger.n_casks, 2);
    assert_int_equal(one.book.ledger.n_events, 2); /* fill and transfer of 18 */
    assert_int_equal(one.book.n_gauges, 0);
    case_close(&one);
    case_open(&one);
    case_write(&one, "book.yaml",
               "name: x\nunits: {strength: \"%vol\"}\nwarehouses:\n"
               "  - {name: Long Shed, kind: shed, tiers: 6, bays: 12, depth: 2}\n"
               "  - {name: Low Store, kind: dunnage, tiers: 3, bays: 5, depth: 1}\n");
    stv_assert_ok(case_read(&one, true));
    /* The warehouse, and the three casks that were filled into it. */
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 4);
    assert_int_equal(one.book.n_warehouses, 1);
    assert_int_equal(one.book.ledger.n_events, 0);
    assert_int_equal(one.book.n_loggers, 1);
    case_close(&one);
}

static void keep_going_after_a_contradiction(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "history.csv",
               "date,what,cask,litres,strength\n"
               "2024-03-14,fill,12,195 L,60 %vol\n"
               "2024-04-14,fill,12,195 L,60 %vol\n"
               "2024-05-14,sample,12,0.2 L,\n"
               "2024-05-14,fill,18,195 L,60 %vol\n");
    stv_assert_ok(case_read(&one, true));
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 1);
    assert_int_equal(one.problems.items[0].row, 3);
    assert_int_equal(one.book.ledger.n_events, 2);
    case_close(&one);
    case_open(&one);
    case_write(&one, "history.csv", "date,what,cask\n2024-03-14,empty,12\n");
    stv_assert_status(case_read(&one, false), STV_E_CONSISTENCY);
    case_close(&one);
}

static void remove_tree(const char *folder)
{
    static const char *const parts[] = {"book.yaml",   "casks.csv", "history.csv", "gauges.csv",
                                        "loggers.csv", "loggers",   "weather"};
    char path[256];
    for (size_t i = 0; i < N_OF(parts); i++) {
        snprintf(path, sizeof path, "%s/%s", folder, parts[i]);
        assert_int_equal(remove(path), 0);
    }
    assert_int_equal(rmdir(folder), 0);
}

static void assert_new_book_is_good(const char *folder)
{
    struct stv_problems problems;
    struct stv_book book;
    stv_problems_init(&problems);
    enum stv_status status = stv_book_read(folder, false, &problems, &book);
    for (size_t i = 0; i < problems.n; i++)
        print_error("  %s\n", problems.items[i].message);
    stv_assert_ok(status);
    assert_int_equal(problems.n_total, 3); /* an example row in each table, noted */
    assert_int_equal(problems.n_by_severity[STV_NOTED], 3);
    assert_int_equal(book.n_warehouses, 1);
    assert_int_equal(book.ledger.n_casks, 1);
    assert_int_equal(book.ledger.n_events, 1);
    assert_int_equal(book.n_gauges, 1);
    stv_book_free(&book);
    stv_problems_free(&problems);
}

static void new_book(void **state)
{
    (void)state;
    struct stv_book_case one;
    char folder[200], deeper[220], why[256];
    case_open(&one);
    snprintf(folder, sizeof folder, "%s/fresh", one.folder);
    stv_assert_ok(stv_book_new(folder, why, sizeof why));
    assert_new_book_is_good(folder);
    /* Never over a book; the message names the file. */
    stv_assert_status(stv_book_new(folder, why, sizeof why), STV_E_USAGE);
    assert_non_null(strstr(why, "book.yaml is there already"));
    assert_new_book_is_good(folder);
    remove_tree(folder);
    /* Into a folder that is there, beside what lies in it. */
    assert_int_equal(mkdir(folder, 0777), 0);
    snprintf(deeper, sizeof deeper, "%s/notes.txt", folder);
    FILE *file = fopen(deeper, "w");
    assert_non_null(file);
    fclose(file);
    stv_assert_ok(stv_book_new(folder, why, sizeof why));
    assert_new_book_is_good(folder);
    assert_int_equal(unlink(deeper), 0);
    remove_tree(folder);
    /* A file of that name, a parent that is absent, no name: nothing is left behind. */
    snprintf(deeper, sizeof deeper, "%s/casks.csv", one.folder);
    stv_assert_status(stv_book_new(deeper, why, sizeof why), STV_E_USAGE);
    snprintf(deeper, sizeof deeper, "%s/absent/book", one.folder);
    stv_assert_status(stv_book_new(deeper, why, sizeof why), STV_E_IO);
    stv_assert_status(stv_book_new("", why, sizeof why), STV_E_USAGE);
    case_close(&one); /* fails when a work folder was left */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(good_book),
        cmocka_unit_test(good_casks_and_events),
        cmocka_unit_test(good_gauges_and_loggers),
        cmocka_unit_test(every_key),
        cmocka_unit_test(slips_of_the_yaml),
        cmocka_unit_test(no_book),
        cmocka_unit_test(all_faults_in_one_run),
        cmocka_unit_test(keep_going_leaves_out_what_hangs),
        cmocka_unit_test(keep_going_without_a_cask_or_a_warehouse),
        cmocka_unit_test(keep_going_after_a_contradiction),
        cmocka_unit_test(new_book),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
