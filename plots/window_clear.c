/* One rule for the terminal, the charts and the report's tables.  Both limits are judgement. */
#include "plots/window_clear.h"

#include <math.h>
#include <string.h>

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

void stv_window_add_surest(struct stv_text *out, const struct stv_window *window,
                           const int64_t *months_d)
{
    struct stv_text from = {0}, to = {0};
    stv_text_add_month(&from, months_d[window->surest_from_idx]);
    stv_text_add_month(&to, months_d[window->surest_to_idx]);
    const char *first = stv_text_string(&from), *last = stv_text_string(&to);
    if (!stv_window_surest_is_clear(window))
        stv_text_add(out, "not clear");
    else if (strcmp(first, last) == 0 || strlen(first) < 6 || strlen(last) < 6)
        stv_text_add(out, last);
    else if (strcmp(first + 4, last + 4) == 0)
        stv_text_format(out, "%.3s-%s", first, last);
    else
        stv_text_format(out, "%.3s %s-%.3s %s", first, first + 6, last, last + 6);
    stv_text_free(&from);
    stv_text_free(&to);
}
