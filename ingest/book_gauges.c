/* gauges.csv: what was measured or nosed in a cask on a day. */
#include "ingest/book_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum gauge_column { DATE, CASK, LITRES, STRENGTH, NOSE, BY, NOTE, N_COLUMNS };

static const struct stv_table_column columns[N_COLUMNS] = {
    [DATE] = {"date", true, STV_DIM_N},
    [CASK] = {"cask", true, STV_DIM_N},
    [LITRES] = {"litres", false, STV_DIM_VOLUME},
    [STRENGTH] = {"strength", false, STV_DIM_STRENGTH},
    [NOSE] = {"nose", false, STV_DIM_N},
    [BY] = {"by", false, STV_DIM_N},
    [NOTE] = {"note", false, STV_DIM_N},
};

static void check_against_cask(const struct stv_book *book, struct stv_table *table,
                               const struct stv_gauge *gauge)
{
    if (gauge->cask_idx < 0 || !isfinite(gauge->volume20_l))
        return;
    const struct stv_cask *cask = &book->ledger.casks[gauge->cask_idx];
    if (gauge->volume20_l > cask->geometry.capacity_l)
        stv_table_refuse(table, LITRES, "is more than cask %s holds (%g L)", cask->id,
                         cask->geometry.capacity_l);
}

static enum stv_status read_row(struct stv__book_reader *reader, struct stv_table *table)
{
    static const char *const noses[] = {"not yet", "nearly", "ready", "over"};
    struct stv_book *book = reader->book;
    struct stv_gauge gauge = {.volume20_l = NAN, .abv20_frac = NAN, .row = stv_table_line(table)};
    bool hangs = false;
    size_t nose = 0;
    if (stv_table_need(table, DATE, "the date, like 2024-03-14"))
        stv_table_vague_date(table, DATE, &gauge.day_d, &gauge.day_width_d);
    gauge.cask_idx = stv__cask_cell(reader, table, CASK, &hangs);
    stv_table_quantity(table, LITRES, 0.0, 1000.0, &gauge.volume20_l);
    stv_table_quantity(table, STRENGTH, 0.0, 1.0, &gauge.abv20_frac);
    if (stv_table_word(table, NOSE, noses, 4, &nose))
        snprintf(gauge.nose, sizeof gauge.nose, "%s", noses[nose]);
    stv_table_text(table, BY, gauge.by, sizeof gauge.by);
    if (!stv_table_has(table, LITRES) && !stv_table_has(table, STRENGTH))
        stv_table_need(table, NOSE, "litres, strength or a nose; one of them at least");
    check_against_cask(book, table, &gauge);
    if (table->row_is_refused || hangs) {
        reader->n_hanging += !table->row_is_refused;
        return STV_OK;
    }
    struct stv_gauge *grown = stv__grown(book->gauges, book->n_gauges, sizeof *grown);
    if (!grown)
        return STV_E_MEMORY;
    book->gauges = grown;
    book->gauges[book->n_gauges++] = gauge;
    stv__note_day(reader, gauge.day_d);
    return STV_OK;
}

enum stv_status stv__book_gauges(struct stv__book_reader *reader)
{
    char *path = reader->gauges_path;
    if (!stv__join_path(reader->folder, "gauges.csv", path) || !stv__exists(path))
        return STV_OK;
    struct stv_table_spec spec = {path, columns, N_COLUMNS, reader->units,
                                  stv__book_side(reader->book)};
    enum stv_status status = stv_table_open(path, spec, reader->problems, &reader->gauges);
    reader->has_gauges = status == STV_OK;
    while (status == STV_OK && stv_table_next(&reader->gauges))
        status = read_row(reader, &reader->gauges);
    return status;
}
