#include "model/params.h"

struct stv_params stv_params_default(void)
{
    return (struct stv_params){
#define STV_PARAM_DEFAULT(field, value, unit, least, most, range) .field = (value),
        STV_PARAM_TABLE(STV_PARAM_DEFAULT)
#undef STV_PARAM_DEFAULT
    };
}

const struct stv_param_info *stv_param_table(size_t *out_n)
{
    static const struct stv_param_info table[] = {
#define STV_PARAM_INFO(field, value, unit, least, most, range) \
    {#field, offsetof(struct stv_params, field), (value), (least), (most), unit, range},
        STV_PARAM_TABLE(STV_PARAM_INFO)
#undef STV_PARAM_INFO
    };
    *out_n = sizeof table / sizeof table[0];
    return table;
}
