#include "ingest/weather_columns.h"

struct stv_weather_columns stv__weather_columns_find(const struct stv_weather_known *known,
                                                     size_t n_known, const struct stv_slice *cells,
                                                     size_t n_cells)
{
    struct stv_weather_columns columns = {.known = known, .n_known = n_known};
    for (size_t i = 0; i < n_known; i++) {
        unsigned bit = STV_SAMPLES_BIT(known[i].want.quantity);
        bool is_taken = columns.quantities & bit;
        columns.cell[i] = is_taken ? SIZE_MAX : stv_slice_find(cells, n_cells, known[i].name);
        columns.quantities |= columns.cell[i] != SIZE_MAX ? bit : 0u;
    }
    return columns;
}

void stv__weather_columns_read(const struct stv_weather_columns *columns,
                               struct stv_weather_text *file, const struct stv_line *line,
                               const struct stv_slice *cells, size_t n_cells,
                               struct stv_weather_row *row)
{
    for (size_t i = 0; i < columns->n_known; i++)
        if (columns->cell[i] < n_cells)
            row->values[columns->known[i].want.quantity] =
                stv__weather_value(file, line, cells[columns->cell[i]], columns->known[i].want);
}
