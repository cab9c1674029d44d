#include "model/cask_numbers.h"

struct stv_cask_numbers stv_cask_numbers_default(void)
{
    return (struct stv_cask_numbers){
#define DEFAULT(field, value, unit, least, most, source) .field = (value),
        STV_CASK_NUMBERS(DEFAULT)
#undef DEFAULT
    };
}

const struct stv_cask_number_info *stv_cask_number_table(size_t *out_n)
{
    static const struct stv_cask_number_info table[] = {
#define ROW(field, value, unit, least, most, source) \
    {#field, offsetof(struct stv_cask_numbers, field), (value), (least), (most), unit, source},
        STV_CASK_NUMBERS(ROW)
#undef ROW
    };
    *out_n = sizeof table / sizeof table[0];
    return table;
}

const double *stv_cask_number_nd(const struct stv_cask_numbers *numbers, size_t row_idx)
{
    size_t n;
    return (const double *)(const void *)((const char *)numbers +
                                          stv_cask_number_table(&n)[row_idx].offset);
}

const char *stv_cask_numbers_crossed(const struct stv_cask_numbers *numbers, const char **out_other)
{
    const struct {
        const char *less, *more;
        double less_nd, more_nd;
    } pairs[] = {
#define PAIR(less, more) {#less, #more, numbers->less, numbers->more}
        PAIR(oak_strength_line_least_nd, oak_strength_line_most_nd),
        PAIR(oak_ea_least_j_mol, oak_ea_most_j_mol),
        PAIR(spread_oxidation_least_nd, spread_oxidation_most_nd),
#undef PAIR
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (pairs[i].less_nd > pairs[i].more_nd) {
            *out_other = pairs[i].more;
            return pairs[i].less;
        }
    return NULL;
}
