/* loggers.csv: which file of loggers/ hung where, and from when to when. */
#include "ingest/book_parts.h"
#include "model/units.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

enum logger_column {
    FILE_NAME,
    WAREHOUSE,
    TIER,
    BAY,
    DEPTH,
    CLOCK,
    DATES,
    SENSOR,
    UNIT,
    FROM,
    TO,
    TEMP_CORRECTION,
    RH_CORRECTION,
    NOTE,
    N_COLUMNS
};

static const struct stv_table_column columns[N_COLUMNS] = {
    [FILE_NAME] = {"file", true, STV_DIM_N},
    [WAREHOUSE] = {"warehouse", false, STV_DIM_N},
    [TIER] = {"tier", false, STV_DIM_N},
    [BAY] = {"bay", false, STV_DIM_N},
    [DEPTH] = {"depth", false, STV_DIM_N},
    [CLOCK] = {"clock", false, STV_DIM_N},
    [DATES] = {"dates", false, STV_DIM_N},
    [SENSOR] = {"sensor", false, STV_DIM_N},
    [UNIT] = {"unit", false, STV_DIM_N},
    [FROM] = {"from", false, STV_DIM_N},
    [TO] = {"to", false, STV_DIM_N},
    [TEMP_CORRECTION] = {"temp_correction", false, STV_DIM_TEMP_STEP},
    [RH_CORRECTION] = {"rh_correction", false, STV_DIM_FRACTION},
    [NOTE] = {"note", false, STV_DIM_N},
};

static const struct stv__place_columns place_columns = {WAREHOUSE, TIER, BAY, DEPTH};

/* A correction beyond these is a broken logger, not a calibration. */
#define MOST_TEMP_CORRECTION_K 10.0
#define MOST_RH_CORRECTION_FRAC 0.3

static void read_file_cell(struct stv__book_reader *reader, struct stv_table *table,
                           struct stv_logger_source *out)
{
    static const char prefix[] = "loggers/";
    char folder[STV__PATH_MAX];
    if (!stv_table_need(table, FILE_NAME, "the logger's file in loggers/") ||
        !stv_table_text(table, FILE_NAME, out->label, sizeof out->label))
        return;
    const char *name = out->label;
    if (strncmp(name, prefix, sizeof prefix - 1) == 0)
        name += sizeof prefix - 1;
    if (!stv__join_path(reader->folder, "loggers", folder) ||
        !stv__join_path(folder, name, out->path))
        stv_table_refuse(table, FILE_NAME, "makes too long a path");
    else if (!stv__exists(out->path))
        stv_table_refuse(table, FILE_NAME,
                         "there is no such file at %s: put it there, or correct the name",
                         out->path);
}

static void read_place(struct stv__book_reader *reader, struct stv_table *table,
                       struct stv_place *out, bool *out_hangs)
{
    char name[STV_NAME_MAX] = "";
    if (stv_table_has(table, WAREHOUSE) && stv_table_text(table, WAREHOUSE, name, sizeof name) &&
        strcasecmp(name, "outdoors") == 0) {
        for (size_t column = TIER; column <= DEPTH; column++)
            if (stv_table_has(table, column))
                stv_table_refuse(table, column, "means nothing outdoors: leave the cell empty");
        return;
    }
    if (stv_table_need(table, TIER,
                       "the tier it hangs at (1 is the floor), or \"outdoors\" under "
                       "warehouse"))
        stv__place_cells(reader, table, place_columns, out, out_hangs);
}

/* Which number of a date is the day, where the file alone does not tell. */
static void read_dates(struct stv_table *table, struct stv_logger_source *out)
{
    static const char *const words[] = {"year first", "day first", "month first"};
    static const enum stv_stamp_order orders[] = {STV_YEAR_FIRST, STV_DAY_FIRST, STV_MONTH_FIRST};
    size_t idx;
    if (!stv_table_word(table, DATES, words, sizeof words / sizeof words[0], &idx))
        return;
    out->has_order = true;
    out->order = orders[idx];
}

/* Of the temperature, where the file itself says none. */
static void read_unit(struct stv_table *table, struct stv_logger_source *out)
{
    static const char *const words[] = {"C", "F", "K"};
    size_t idx;
    if (stv_table_word(table, UNIT, words, sizeof words / sizeof words[0], &idx))
        snprintf(out->unit, sizeof out->unit, "%s", words[idx]);
}

static void read_span(struct stv_table *table, struct stv_logger_source *out)
{
    int64_t from_d = 0, to_d = 0;
    bool has_from = stv_table_date(table, FROM, &from_d), has_to = stv_table_date(table, TO, &to_d);
    int64_t offset_s = (int64_t)out->clock.standard_offset_min * 60;
    if (has_from && has_to && to_d < from_d)
        stv_table_refuse(table, TO, "comes before the day it starts");
    if (has_from)
        out->from_s = from_d * STV_DAY_S - offset_s;
    if (has_to) /* the day named is the last one used */
        out->to_s = (to_d + 1) * STV_DAY_S - offset_s;
}

static enum stv_status read_row(struct stv__book_reader *reader, struct stv_table *table)
{
    struct stv_book *book = reader->book;
    struct stv_logger_source source = {.place = {-1, -1, -1, -1},
                                       .clock = book->clock,
                                       .from_s = INT64_MIN,
                                       .to_s = INT64_MAX,
                                       .latest_s = INT64_MAX,
                                       .row = stv_table_line(table)};
    char clock[STV_NAME_MAX], why[192];
    bool hangs = false;
    read_file_cell(reader, table, &source);
    if (stv_table_text(table, CLOCK, clock, sizeof clock) &&
        stv_clock_parse(clock, &source.clock, why, sizeof why) != STV_OK)
        stv_table_refuse(table, CLOCK, "%s", why);
    read_place(reader, table, &source.place, &hangs);
    read_dates(table, &source);
    read_unit(table, &source);
    stv_table_text(table, SENSOR, source.sensor, sizeof source.sensor);
    read_span(table, &source);
    stv_table_quantity(table, TEMP_CORRECTION, -MOST_TEMP_CORRECTION_K, MOST_TEMP_CORRECTION_K,
                       &source.temp_correction_k);
    stv_table_quantity(table, RH_CORRECTION, -MOST_RH_CORRECTION_FRAC, MOST_RH_CORRECTION_FRAC,
                       &source.rh_correction_frac);
    if (table->row_is_refused || hangs) {
        reader->n_hanging += !table->row_is_refused;
        return STV_OK;
    }
    struct stv_logger_source *grown = stv__grown(book->loggers, book->n_loggers, sizeof *grown);
    if (!grown)
        return STV_E_MEMORY;
    book->loggers = grown;
    book->loggers[book->n_loggers++] = source;
    return STV_OK;
}

enum stv_status stv__book_loggers(struct stv__book_reader *reader)
{
    return stv__each_row(reader, "loggers.csv", columns, N_COLUMNS, read_row);
}
