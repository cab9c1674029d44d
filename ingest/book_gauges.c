/* gauges.csv: what was measured or nosed in a cask on a day. */
#include "ingest/gauge_parts.h"

#include <math.h>

static const struct stv_table_column columns[STV__GAUGE_COLUMNS] = {
    [STV__GAUGE_DATE] = {"date", true, STV_DIM_N},
    [STV__GAUGE_CASK] = {"cask", true, STV_DIM_N},
    [STV__GAUGE_LITRES] = {"litres", false, STV_DIM_VOLUME},
    [STV__GAUGE_STRENGTH] = {"strength", false, STV_DIM_STRENGTH},
    [STV__GAUGE_READING] = {"reading", false, STV_DIM_STRENGTH},
    [STV__GAUGE_TEMP] = {"temp", false, STV_DIM_TEMPERATURE},
    [STV__GAUGE_GROSS] = {"gross", false, STV_DIM_MASS},
    [STV__GAUGE_TARE] = {"tare", false, STV_DIM_MASS},
    [STV__GAUGE_TARE_WAS] = {"tare was", false, STV_DIM_N},
    [STV__GAUGE_NET] = {"net", false, STV_DIM_MASS},
    [STV__GAUGE_DIP] = {"dip", false, STV_DIM_LENGTH},
    [STV__GAUGE_DRY_DIP] = {"dry dip", false, STV_DIM_LENGTH},
    [STV__GAUGE_COLOUR] = {"colour", false, STV_DIM_N},
    [STV__GAUGE_NOSE] = {"nose", false, STV_DIM_NUMBER}, /* or a word */
    [STV__GAUGE_BLIND] = {"blind", false, STV_DIM_N},
    [STV__GAUGE_BY] = {"by", false, STV_DIM_N},
    [STV__GAUGE_SEEPS] = {"seeps", false, STV_DIM_N},
    [STV__GAUGE_NOTE] = {"note", false, STV_DIM_N},
};

static bool says_something(const struct stv_table *table)
{
    static const enum stv__gauge_column measured[] = {
        STV__GAUGE_LITRES, STV__GAUGE_STRENGTH, STV__GAUGE_READING, STV__GAUGE_GROSS,
        STV__GAUGE_NET,    STV__GAUGE_DIP,      STV__GAUGE_DRY_DIP, STV__GAUGE_COLOUR,
        STV__GAUGE_NOSE,   STV__GAUGE_SEEPS};
    for (size_t i = 0; i < sizeof measured / sizeof measured[0]; i++)
        if (stv_table_has(table, measured[i]))
            return true;
    return false;
}

static struct stv_gauge blank(size_t row)
{
    return (struct stv_gauge){.volume20_l = NAN,
                              .volume_sd_l = NAN,
                              .abv20_frac = NAN,
                              .abv_sd_frac = NAN,
                              .temp_c = NAN,
                              .liquid_kg = NAN,
                              .liquid_sd_kg = NAN,
                              .gross_kg = NAN,
                              .gross_sd_kg = NAN,
                              .tare_kg = NAN,
                              .tare_sd_kg = NAN,
                              .colour_card = NAN,
                              .colour_of = NAN,
                              .nose_score = NAN,
                              .row = row};
}

static enum stv_status read_row(struct stv__book_reader *reader, struct stv__gauge_sheet *sheet)
{
    struct stv_book *book = reader->book;
    struct stv_table *table = sheet->table;
    struct stv_gauge gauge = blank(stv_table_line(table));
    bool hangs = false;
    if (stv_table_need(table, STV__GAUGE_DATE, "the date, like 2024-03-14"))
        stv_table_vague_date(table, STV__GAUGE_DATE, &gauge.day_d, &gauge.day_width_d);
    gauge.cask_idx = stv__cask_cell(reader, table, STV__GAUGE_CASK, &hangs);
    stv__gauge_amounts(sheet, gauge.cask_idx < 0 ? NULL : &book->ledger.casks[gauge.cask_idx],
                       &gauge);
    stv__gauge_senses(table, &gauge);
    if (!table->row_is_refused && !says_something(table))
        stv_table_need(table, STV__GAUGE_NOSE,
                       "litres, a strength, a weight, a dip, a colour or a nose; one of them at "
                       "least");
    if (table->row_is_refused || hangs) {
        reader->n_hanging += !table->row_is_refused;
        return STV_OK;
    }
    struct stv_gauge *grown = stv__grown(book->gauges, book->n_gauges, sizeof *grown);
    if (!grown)
        return STV_E_MEMORY;
    book->gauges = grown;
    book->gauges[book->n_gauges++] = gauge;
    stv__note_day(reader, gauge.day_d, "gauges.csv");
    return STV_OK;
}

enum stv_status stv__book_gauges(struct stv__book_reader *reader)
{
    char *path = reader->gauges_path;
    if (!stv__join_path(reader->folder, "gauges.csv", path) || !stv__exists(path))
        return STV_OK;
    struct stv_table_spec spec = {path, columns, STV__GAUGE_COLUMNS, reader->units,
                                  stv__book_side(reader->book)};
    enum stv_status status = stv_table_open(path, spec, reader->problems, &reader->gauges);
    struct stv__gauge_sheet sheet = {.table = &reader->gauges,
                                     .numbers = &reader->book->gauge_numbers};
    reader->has_gauges = status == STV_OK;
    while (status == STV_OK && stv_table_next(&reader->gauges))
        status = read_row(reader, &sheet);
    return status;
}
