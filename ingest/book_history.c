/* history.csv: the spirit, one row per thing done.  Each kind of row has the cells it needs, the
 * cells it may have, and no others: a litre figure that would be passed over is refused. */
#include "ingest/book_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum history_column {
    DATE,
    WHAT,
    CASK,
    TO,
    LITRES,
    STRENGTH,
    WATER,
    WAREHOUSE,
    TIER,
    BAY,
    DEPTH,
    SOAKED,
    FILLED,
    NOTE,
    N_COLUMNS
};

static const struct stv_table_column columns[N_COLUMNS] = {
    [DATE] = {"date", true, STV_DIM_N},
    [WHAT] = {"what", true, STV_DIM_N},
    [CASK] = {"cask", true, STV_DIM_N},
    [TO] = {"to", false, STV_DIM_N},
    [LITRES] = {"litres", false, STV_DIM_VOLUME},
    [STRENGTH] = {"strength", false, STV_DIM_STRENGTH},
    [WATER] = {"water", false, STV_DIM_MASS},
    [WAREHOUSE] = {"warehouse", false, STV_DIM_N},
    [TIER] = {"tier", false, STV_DIM_N},
    [BAY] = {"bay", false, STV_DIM_N},
    [DEPTH] = {"depth", false, STV_DIM_N},
    [SOAKED] = {"soaked", false, STV_DIM_N},
    [FILLED] = {"filled", false, STV_DIM_N},
    [NOTE] = {"note", false, STV_DIM_N},
};

static const struct stv__place_columns place_columns = {WAREHOUSE, TIER, BAY, DEPTH};
static const struct stv__fill_columns fill_columns = {.litres = LITRES,
                                                      .strength = STRENGTH,
                                                      .soaked = SOAKED,
                                                      .place = {WAREHOUSE, TIER, BAY, DEPTH}};

#define BIT(column) (1u << (column))
#define PLACE_BITS (BIT(WAREHOUSE) | BIT(TIER) | BIT(BAY) | BIT(DEPTH))

/* Cells that a kind of row may have beside date, what, cask and note. */
static const unsigned allowed_cells[STV_EVENT_N] = {
    [STV_EVENT_FILL] = BIT(LITRES) | BIT(STRENGTH) | BIT(SOAKED) | PLACE_BITS,
    [STV_EVENT_MOVE] = PLACE_BITS,
    [STV_EVENT_TRANSFER] = BIT(TO) | BIT(LITRES) | PLACE_BITS,
    [STV_EVENT_ADD_WATER] = BIT(WATER),
    [STV_EVENT_TOP_UP] = BIT(LITRES) | BIT(STRENGTH) | BIT(FILLED),
    [STV_EVENT_SAMPLE] = BIT(LITRES),
};
/* A marriage leaves the receiver where it lies. */
#define MARRIAGE_CELLS (BIT(TO) | BIT(LITRES))

/* Limits that only catch slips of the pen; the ledger knows what goes into which cask. */
#define LEAST_L 0.001
#define MOST_L 1000.0
#define MOST_WATER_KG 1000.0
#define LEAST_TOP_UP_FRAC 0.05
#define MOST_TOP_UP_FRAC 0.972

static void read_top_up(struct stv_table *table, struct stv_event *event)
{
    if (stv_table_need(table, LITRES, "how much went in, like 2.5 L"))
        stv_table_quantity(table, LITRES, LEAST_L, MOST_L, &event->volume20_l);
    if (stv_table_need(table, STRENGTH, "its strength, like 60 %vol"))
        stv_table_quantity(table, STRENGTH, LEAST_TOP_UP_FRAC, MOST_TOP_UP_FRAC,
                           &event->abv20_frac);
    int64_t filled_d;
    double width_d = 0.0;
    if (!stv_table_vague_date(table, FILLED, &filled_d, &width_d) || event->day_d == INT64_MIN)
        return;
    if (filled_d > event->day_d)
        stv_table_refuse(table, FILLED,
                         "lies after the day it was put in: write when that spirit first met "
                         "wood, or leave the cell empty when it never did");
    event->age_d = event->day_d - filled_d;
    event->age_width_d = width_d + event->day_width_d;
}

static void read_transfer(struct stv__book_reader *reader, struct stv_table *table,
                          struct stv_event *event, bool *out_hangs)
{
    event->other_idx = stv__cask_cell(reader, table, TO, out_hangs);
    stv_table_quantity(table, LITRES, LEAST_L, MOST_L, &event->volume20_l);
    stv__place_cells(reader, table, place_columns, &event->place, out_hangs);
}

static void read_kind_cells(struct stv__book_reader *reader, struct stv_table *table,
                            struct stv_event *event, bool *out_hangs)
{
    switch (event->kind) {
    case STV_EVENT_FILL:
        stv__fill_cells(reader, table, fill_columns, event, out_hangs);
        break;
    case STV_EVENT_MOVE:
        stv_table_need(table, TIER, "the tier it went to; 1 is the floor");
        stv__place_cells(reader, table, place_columns, &event->place, out_hangs);
        break;
    case STV_EVENT_TRANSFER:
        read_transfer(reader, table, event, out_hangs);
        break;
    case STV_EVENT_ADD_WATER:
        if (stv_table_need(table, WATER, "how much water, like 11.7 kg"))
            stv_table_quantity(table, WATER, LEAST_L, MOST_WATER_KG, &event->water_kg);
        break;
    case STV_EVENT_TOP_UP:
        read_top_up(table, event);
        break;
    case STV_EVENT_SAMPLE:
        if (stv_table_need(table, LITRES, "how much was drawn, like 200 ml"))
            stv_table_quantity(table, LITRES, LEAST_L, MOST_L, &event->volume20_l);
        break;
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_REJUVENATE:
    case STV_EVENT_EMPTY:
    case STV_EVENT_N:
        break;
    }
}

static void refuse_other_cells(struct stv_table *table, const struct stv_event *event)
{
    unsigned allowed = event->is_marriage ? MARRIAGE_CELLS : allowed_cells[event->kind];
    for (size_t column = TO; column <= FILLED; column++)
        if (!(allowed & BIT(column)) && stv_table_has(table, column))
            stv_table_refuse(
                table, column, "means nothing in a row of \"%s\": leave the cell empty",
                event->is_marriage ? STV_MARRIAGE_NAME : stv_event_kind_name(event->kind));
}

static bool read_kind(struct stv_table *table, struct stv_event *event)
{
    const char *words[STV_EVENT_N + 1];
    for (int i = 0; i < STV_EVENT_N; i++)
        words[i] = stv_event_kind_name((enum stv_event_kind)i);
    words[STV_EVENT_N] = STV_MARRIAGE_NAME;
    size_t index = 0;
    if (!stv_table_need(table, WHAT, "what was done: fill, move, sample ...") ||
        !stv_table_word(table, WHAT, words, STV_EVENT_N + 1, &index))
        return false;
    event->is_marriage = index == STV_EVENT_N;
    event->kind = event->is_marriage ? STV_EVENT_TRANSFER : (enum stv_event_kind)index;
    return true;
}

/* After a fill, transfer or emptying that could not be read, nobody knows what is in the cask. */
static void break_history(struct stv__book_reader *reader, const struct stv_event *event,
                          int64_t day_d)
{
    const int casks[2] = {event->cask_idx, event->other_idx};
    for (int i = 0; i < 2; i++) {
        if (casks[i] < 0)
            continue;
        struct stv__break *at = &reader->breaks[casks[i]];
        if (day_d < at->day_d || (day_d == at->day_d && event->row < at->row))
            *at = (struct stv__break){day_d, event->row, i > 0};
    }
}

static bool changes_contents(enum stv_event_kind kind)
{
    return kind == STV_EVENT_FILL || kind == STV_EVENT_TRANSFER || kind == STV_EVENT_EMPTY;
}

static enum stv_status read_row(struct stv__book_reader *reader, struct stv_table *table)
{
    struct stv_event event = stv__event_blank();
    event.row = stv_table_line(table);
    bool hangs = false;
    int64_t day_d = INT64_MIN;
    if (stv_table_need(table, DATE, "the date, like 2024-03-14"))
        stv_table_vague_date(table, DATE, &day_d, &event.day_width_d);
    event.day_d = day_d;
    event.cask_idx = stv__cask_cell(reader, table, CASK, &hangs);
    bool has_kind = read_kind(table, &event);
    if (has_kind) {
        read_kind_cells(reader, table, &event, &hangs);
        refuse_other_cells(table, &event);
    }
    if (!table->row_is_refused && !hangs)
        return stv__event_add(reader, &event);
    if (hangs && !table->row_is_refused)
        reader->n_hanging++;
    if (has_kind && changes_contents(event.kind))
        break_history(reader, &event, day_d);
    return STV_OK;
}

enum stv_status stv__book_history(struct stv__book_reader *reader)
{
    char *path = reader->history_path;
    if (!stv__join_path(reader->folder, "history.csv", path) || !stv__exists(path))
        return STV_OK;
    if (!reader->has_casks) {
        stv_problem_add(reader->problems, STV_REFUSED, path, 0, 0, NULL,
                        "needs a casks.csv beside it, with a row for each cask named here");
        return STV_OK;
    }
    struct stv_table_spec spec = {path, columns, N_COLUMNS, reader->units,
                                  stv__book_side(reader->book)};
    enum stv_status status = stv_table_open(path, spec, reader->problems, &reader->history);
    reader->has_history = status == STV_OK;
    while (status == STV_OK && stv_table_next(&reader->history))
        status = read_row(reader, &reader->history);
    stv__beyond_say(reader, &reader->history);
    return status;
}
