#include "model/building_numbers.h"

struct stv_building_numbers stv_building_numbers_default(void)
{
    return (struct stv_building_numbers){
#define DEFAULT(field, value, unit, least, most, source) .field = (value),
        STV_BUILDING_NUMBERS(DEFAULT)
#undef DEFAULT
    };
}

const struct stv_building_number_info *stv_building_number_table(size_t *out_n)
{
    static const struct stv_building_number_info table[] = {
#define ROW(field, value, unit, least, most, source) \
    {#field, offsetof(struct stv_building_numbers, field), (value), (least), (most), unit, source},
        STV_BUILDING_NUMBERS(ROW)
#undef ROW
    };
    *out_n = sizeof table / sizeof table[0];
    return table;
}

const double *stv_building_number_nd(const struct stv_building_numbers *numbers, size_t row_idx)
{
    size_t n;
    return (const double *)(const void *)((const char *)numbers +
                                          stv_building_number_table(&n)[row_idx].offset);
}
