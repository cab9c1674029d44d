/* One rule for the terminal, JSON, charts and the report's tables.  Both limits are judgement. */
#include "model/window_clear.h"

#include <math.h>

#define SURE_FRAC 0.7
/* Wood that is known to the half year is told as a month. */
#define WOOD_MONTHS_D 183.0

bool stv_window_side_is_clear(enum stv_window_side side, const struct stv_crossing *wood)
{
    bool is_wood = side == STV_SIDE_WOOD_LOW || side == STV_SIDE_WOOD_HIGH;
    return !is_wood || !isfinite(wood->earliest_d) ||
           wood->latest_d - wood->earliest_d < WOOD_MONTHS_D;
}

bool stv_window_opens_clear(const struct stv_window *window)
{
    return window->open_idx == 0 ||
           stv_window_side_is_clear(window->opens_by, &window->enough_wood);
}

bool stv_window_closes_clear(const struct stv_window *window)
{
    return !window->closes || stv_window_side_is_clear(window->closes_by, &window->too_much_wood);
}

bool stv_window_surest_is_clear(const struct stv_window *window)
{
    return !(window->surest_frac < SURE_FRAC);
}
