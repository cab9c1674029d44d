/* A record of loggers alone has holes, and a cask's temperature cannot be carried across one: the
 * liquid starts afresh, settled to the hours that follow, in every unbroken run. */
#include "model/position_liquid.h"

#include "model/cask_heat.h"

#include <math.h>
#include <stdbool.h>

static bool is_known(const struct stv_position *position, size_t k)
{
    return isfinite(position->air_c[k]) && isfinite(position->radiant_c[k]);
}

enum stv_status stv_position_liquid_at_c(const struct stv_position *position,
                                         double time_constant_h, double convective_frac,
                                         double *out_liquid_c)
{
    size_t n = position->grid.n;
    if (n == 0)
        return STV_E_ARG;
    for (size_t k = 0; k < n; k++)
        out_liquid_c[k] = NAN;
    size_t from = 0;
    while (from < n) {
        size_t to = from;
        while (to < n && is_known(position, to))
            to++;
        if (to > from) {
            enum stv_status status =
                stv_cask_liquid_c(position->air_c + from, position->radiant_c + from, to - from,
                                  time_constant_h, convective_frac, out_liquid_c + from);
            if (status != STV_OK)
                return status;
        }
        from = to + 1;
    }
    return STV_OK;
}
