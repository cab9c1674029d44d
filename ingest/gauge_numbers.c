/* The table of ingest/gauge_numbers.h as values and as a list. */
#include "ingest/gauge_numbers.h"

const struct stv_gauge_numbers stv_gauge_numbers = {
#define VALUE(field, value, unit, source) .field = (value),
    STV_GAUGE_NUMBERS(VALUE)
#undef VALUE
};

static const struct stv_gauge_number_info table[] = {
#define ROW(field, value, unit, source) {#field, value, unit, source},
    STV_GAUGE_NUMBERS(ROW)
#undef ROW
};

const struct stv_gauge_number_info *stv_gauge_number_table(size_t *out_n)
{
    *out_n = sizeof table / sizeof table[0];
    return table;
}
