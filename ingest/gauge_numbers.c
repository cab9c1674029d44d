/* The table of ingest/gauge_numbers.h as values and as a list. */
#include "ingest/gauge_numbers.h"

struct stv_gauge_numbers stv_gauge_numbers_default(void)
{
    return (struct stv_gauge_numbers){
#define VALUE(field, value, unit, least, most, source) .field = (value),
        STV_GAUGE_NUMBERS(VALUE)
#undef VALUE
    };
}

const struct stv_gauge_number_info *stv_gauge_number_table(size_t *out_n)
{
    static const struct stv_gauge_number_info table[] = {
#define ROW(field, value, unit, least, most, source)                                             \
    {"gauge_" #field, offsetof(struct stv_gauge_numbers, field), (value), (least), (most), unit, \
     source},
        STV_GAUGE_NUMBERS(ROW)
#undef ROW
    };
    *out_n = sizeof table / sizeof table[0];
    return table;
}
