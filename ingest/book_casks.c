/* casks.csv: the wood, one row per cask, and for those who keep it in one sheet its fill. */
#include "ingest/book_parts.h"
#include "ingest/typed_damage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define LEAST_SIZE_L 1.0
#define MOST_SIZE_L 1000.0
#define STENCIL_MAX 160

enum cask_column {
    CASK,
    SIZE,
    HELD,
    USES,
    WOOD,
    TOAST,
    STAVE,
    KIND,
    NOTE,
    FILLED,
    LITRES,
    STRENGTH,
    WAREHOUSE,
    TIER,
    BAY,
    DEPTH,
    SOAKED,
    STENCIL,
    N_COLUMNS
};

static const struct stv_table_column columns[N_COLUMNS] = {
    [CASK] = {"cask", true, STV_DIM_N},
    [SIZE] = {"size", false, STV_DIM_VOLUME},
    [HELD] = {"held", false, STV_DIM_N},
    [USES] = {"uses", false, STV_DIM_N},
    [WOOD] = {"wood", false, STV_DIM_N},
    [TOAST] = {"toast", false, STV_DIM_N},
    [STAVE] = {"stave", false, STV_DIM_LENGTH},
    [KIND] = {"kind", false, STV_DIM_N},
    [NOTE] = {"note", false, STV_DIM_N},
    [FILLED] = {"filled", false, STV_DIM_N},
    [LITRES] = {"litres", false, STV_DIM_VOLUME},
    [STRENGTH] = {"strength", false, STV_DIM_STRENGTH},
    [WAREHOUSE] = {"warehouse", false, STV_DIM_N},
    [TIER] = {"tier", false, STV_DIM_N},
    [BAY] = {"bay", false, STV_DIM_N},
    [DEPTH] = {"depth", false, STV_DIM_N},
    [SOAKED] = {"soaked", false, STV_DIM_N},
    [STENCIL] = {"stencil", false, STV_DIM_N},
};

static const struct stv__fill_columns fill_columns = {.litres = LITRES,
                                                      .strength = STRENGTH,
                                                      .soaked = SOAKED,
                                                      .place = {WAREHOUSE, TIER, BAY, DEPTH}};

/* "new" first; the fortified wines from FORTIFIED_FIRST on. */
const char *const stv__held_words[] = {
    "new",    "whisky",   "whiskey",  "bourbon", "rye",      "rum",        "brandy",
    "cognac", "armagnac", "calvados", "tequila", "mezcal",   "gin",        "spirit",
    "beer",   "cider",    "mead",     "wine",    "red wine", "white wine", "sweet wine",
    "other",  "sherry",   "port",     "madeira", "marsala",  "vermouth",   "fortified wine"};
const size_t stv__n_held_words = sizeof stv__held_words / sizeof stv__held_words[0];
#define HELD_NEW 0
#define WINE_FIRST 17
#define WINE_LAST 20
#define FORTIFIED_FIRST 22

enum stv_wood_history stv__wood_history(size_t held_idx, size_t n_uses)
{
    /* A whisky fill in this wood has taken what spirit takes, whatever was in it before. */
    if (n_uses > 0)
        return STV_WOOD_HELD_SPIRIT;
    if (held_idx == HELD_NEW)
        return STV_WOOD_NEW;
    return held_idx >= FORTIFIED_FIRST ? STV_WOOD_HELD_FORTIFIED : STV_WOOD_HELD_SPIRIT;
}

bool stv__is_wine_wood(size_t held_idx, size_t n_uses)
{
    bool is_wine = (held_idx >= WINE_FIRST && held_idx <= WINE_LAST) || held_idx >= FORTIFIED_FIRST;
    return is_wine && n_uses == 0;
}

void stv__cask_kind_name(size_t held_idx, size_t n_uses, double capacity_l, char *out, size_t size)
{
    if (n_uses > 0)
        snprintf(out, size, "refill %.4g L", capacity_l);
    else if (held_idx == HELD_NEW)
        snprintf(out, size, "new oak %.4g L", capacity_l);
    else
        snprintf(out, size, "first-fill %s %.4g L", stv__held_words[held_idx], capacity_l);
}

/* Wood that is no oak is a kind of its own as long as it is new. */
static void name_kind(const struct stv__wood *wood, struct stv_cask *cask)
{
    if (cask->is_other_wood && wood->held == HELD_NEW && wood->n_uses == 0)
        snprintf(cask->kind_name, sizeof cask->kind_name, "new non-oak %.4g L", wood->size_l);
    else
        stv__cask_kind_name(wood->held, wood->n_uses, wood->size_l, cask->kind_name,
                            sizeof cask->kind_name);
}

/* Says that a cell is needed; where neither it nor a stencil has a column, that was said once. */
static bool need(struct stv_table *table, size_t column, const char *what)
{
    bool is_said = table->index[column] == SIZE_MAX && table->index[STENCIL] == SIZE_MAX;
    table->row_is_refused |= is_said;
    return !is_said && stv_table_need(table, column, what);
}

static struct stv__wood read_wood_cells(struct stv_table *table)
{
    static const size_t uses_range[2] = {0, 30};
    struct stv__wood wood = {.size_l = NAN, .tare_kg = NAN, .fill_day_d = INT64_MIN};
    wood.has_size = stv_table_quantity(table, SIZE, LEAST_SIZE_L, MOST_SIZE_L, &wood.size_l);
    wood.has_held = stv_table_word(table, HELD, stv__held_words, stv__n_held_words, &wood.held);
    wood.has_uses = stv_table_count(table, USES, uses_range, &wood.n_uses);
    return wood;
}

/* True when a cell holds a word, in letters of any size. */
static bool says(const struct stv_table *table, size_t column, const char *word)
{
    if (!stv_table_has(table, column))
        return false;
    for (const char *at = stv_csv_text(&table->csv, table->row, table->index[column]); *at; at++)
        if (strncasecmp(at, word, strlen(word)) == 0)
            return true;
    return false;
}

/* The cask of what the row and its stencil say. */
static void set_wood(struct stv_table *table, const struct stv__wood *wood,
                     const struct stv_cask_numbers *numbers, struct stv_cask *cask)
{
    double stave_m = NAN, stave_mm = NAN;
    bool has_size = wood->has_size, has_held = wood->has_held;
    /* A cell that was refused is there, and has been spoken of. */
    if (!has_size && !stv_table_has(table, SIZE))
        need(table, SIZE, "the cask's capacity, like 200 L");
    if (!has_held && !stv_table_has(table, HELD))
        need(table, HELD, "what it held before: new, bourbon, sherry ...");
    if (stv_table_quantity(table, STAVE, 0.010, 0.060, &stave_m))
        stave_mm = 1000.0 * stave_m;
    if (has_held)
        cask->history = stv__wood_history(wood->held, wood->n_uses);
    if (has_size && stv_cask_geometry(wood->size_l, stave_mm, numbers, &cask->geometry) != STV_OK)
        stv_table_refuse(table, stv_table_has(table, SIZE) ? SIZE : STENCIL,
                         "no cask of this size and stave is known");
    cask->is_other_wood = stv_table_has(table, WOOD) && !says(table, WOOD, "oak");
    if (!stv_table_text(table, KIND, cask->kind_name, sizeof cask->kind_name) && has_held &&
        has_size)
        name_kind(wood, cask);
    cask->n_fills_before = wood->n_uses;
    cask->tare_kg = wood->tare_kg;
    cask->n_uses_before = (int)wood->n_uses;
    cask->is_charred = says(table, TOAST, "char");
}

static bool says_a_fill(const struct stv_table *table)
{
    for (size_t i = FILLED; i <= SOAKED; i++)
        if (stv_table_has(table, i))
            return true;
    return false;
}

/* The id, refused when it is missing, damaged or taken.  A stencil may say it in its place. */
static bool read_id(struct stv__book_reader *reader, struct stv_table *table,
                    const struct stv_stencil *stencil, char id[STV_ID_MAX])
{
    char why[256];
    bool is_stencilled = !stv_table_has(table, CASK) && stencil->number[0];
    if (is_stencilled)
        snprintf(id, STV_ID_MAX, "%s", stencil->number);
    else if (!stv_table_need(table, CASK, "the cask's number or name") ||
             !stv_table_text(table, CASK, id, STV_ID_MAX))
        return false;
    const struct stv__id *earlier = stv__ids_find(&reader->ids, id);
    if (earlier)
        stv_table_refuse(table, CASK, "is the cask of line %zu already: give each its own",
                         earlier->line);
    else if (!is_stencilled && stv_damage_of_id(id, why, sizeof why))
        stv_table_refuse(table, CASK, "%s", why);
    return !earlier;
}

static enum stv_status add_cask(struct stv__book_reader *reader, const struct stv_cask *cask,
                                bool is_wine_wood)
{
    struct stv_ledger *ledger = &reader->book->ledger;
    struct stv_cask *grown = stv__grown(ledger->casks, ledger->n_casks, sizeof *grown);
    if (!grown)
        return STV_E_MEMORY;
    ledger->casks = grown;
    bool *marks = stv__grown(reader->is_wine_wood, ledger->n_casks, sizeof *marks);
    if (!marks)
        return STV_E_MEMORY;
    reader->is_wine_wood = marks;
    marks[ledger->n_casks] = is_wine_wood;
    ledger->casks[ledger->n_casks++] = *cask;
    return STV_OK;
}

static void read_fill(struct stv__book_reader *reader, struct stv_table *table,
                      struct stv_event *fill, bool *out_hangs)
{
    if (stv_table_need(table, FILLED, "the date of the fill, like 2024-03-14"))
        stv_table_vague_date(table, FILLED, &fill->day_d, &fill->day_width_d);
    stv__fill_cells(reader, table, fill_columns, fill, out_hangs);
}

static struct stv_stencil read_stencil(struct stv_table *table, bool *out_is_there)
{
    char text[STENCIL_MAX] = "", id[STV_ID_MAX] = "";
    *out_is_there = stv_table_text(table, STENCIL, text, sizeof text);
    snprintf(id, sizeof id, "%.*s", STV_ID_MAX - 1,
             stv_csv_text(&table->csv, table->row, table->index[CASK]));
    return stv_stencil_read(text, id);
}

/* The cask and its fill, where the row is good; its id in any case.  The fill's kind tells whether
 * there is one. */
static enum stv_status add_row(struct stv__book_reader *reader, const struct stv_cask *cask,
                               const struct stv_event *fill, bool is_wine_wood, bool is_good)
{
    enum stv_status status = STV_OK;
    if (cask->id[0])
        status = stv__ids_add(&reader->ids, cask->id, is_good ? fill->cask_idx : -1, cask->row);
    if (status == STV_OK && is_good)
        status = add_cask(reader, cask, is_wine_wood);
    if (status == STV_OK && is_good && fill->kind == STV_EVENT_FILL)
        status = stv__event_add(reader, fill);
    return status;
}

static enum stv_status read_row(struct stv__book_reader *reader, struct stv_table *table)
{
    struct stv_cask cask = {.row = stv_table_line(table)};
    /* Row 0 tells a fill of this file from those of history.csv, and puts it first in its day. */
    struct stv_event fill = stv__event_blank();
    bool hangs = false, has_stencil = false;
    struct stv_stencil stencil = read_stencil(table, &has_stencil);
    if (!read_id(reader, table, &stencil, cask.id))
        cask.id[0] = '\0';
    struct stv__wood wood = read_wood_cells(table);
    fill.cask_idx = (int)reader->book->ledger.n_casks;
    fill.kind = says_a_fill(table) ? STV_EVENT_FILL : STV_EVENT_N;
    if (fill.kind == STV_EVENT_FILL) {
        fill.day_d = INT64_MIN;
        read_fill(reader, table, &fill, &hangs);
        wood.fill_day_d = fill.day_d;
        wood.fill_width_d = fill.day_width_d;
    }
    if (has_stencil)
        stv__stencil_apply(table, STENCIL, &stencil, cask.id, &wood);
    set_wood(table, &wood, &reader->book->numbers, &cask);
    bool is_good = !table->row_is_refused && !hangs;
    if (hangs && !table->row_is_refused)
        reader->n_hanging++;
    return add_row(reader, &cask, &fill, wood.has_held && stv__is_wine_wood(wood.held, wood.n_uses),
                   is_good);
}

/* Every cask's history is sound until a row of it is refused. */
static enum stv_status make_breaks(struct stv__book_reader *reader)
{
    size_t n = reader->book->ledger.n_casks;
    reader->breaks = malloc((n + 1) * sizeof *reader->breaks);
    if (!reader->breaks)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        reader->breaks[i] = (struct stv__break){INT64_MAX, 0, false};
    return STV_OK;
}

/* Size and what it held stand in columns of their own, or in the stencil. */
static void need_columns(struct stv_table *table)
{
    for (size_t column = SIZE; column <= HELD && table->index[STENCIL] == SIZE_MAX; column++)
        if (table->index[column] == SIZE_MAX)
            stv_problem_add(table->problems, STV_REFUSED, table->spec.file, table->csv.rows[0].line,
                            0, NULL, "the column \"%s\" is missing from the first row",
                            columns[column].name);
}

enum stv_status stv__book_casks(struct stv__book_reader *reader)
{
    char *path = reader->casks_path;
    if (!stv__join_path(reader->folder, "casks.csv", path) || !stv__exists(path))
        return make_breaks(reader);
    struct stv_table_spec spec = {path, columns, N_COLUMNS, reader->units,
                                  stv__book_side(reader->book)};
    enum stv_status status = stv_table_open(path, spec, reader->problems, &reader->casks);
    reader->has_casks = status == STV_OK;
    if (status == STV_OK)
        need_columns(&reader->casks);
    while (status == STV_OK && stv_table_next(&reader->casks))
        status = read_row(reader, &reader->casks);
    stv__beyond_say(reader, &reader->casks);
    return status == STV_OK ? make_breaks(reader) : status;
}
