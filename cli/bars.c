#include "cli/bars.h"

#include "cli/format.h"
#include "cli/prose.h"

#include <math.h>
#include <string.h>

void stv_bar_scale_hold(struct stv_bar_scale *scale, const struct stv_bar *bar)
{
    scale->from = fmin(scale->from, bar->low); /* fmin and fmax pass over NaN */
    scale->to = fmax(scale->to, bar->high);
}

/* Column of a value; the nearest for one beyond the scale. */
static size_t column_of(const struct stv_bar_scale *scale, double value)
{
    double share =
        scale->to > scale->from ? (value - scale->from) / (scale->to - scale->from) : 0.0;
    share = fmin(1.0, fmax(0.0, share));
    return (size_t)lround(share * (double)(scale->n_columns - 1));
}

void stv_bars_add(struct stv_text *text, const struct stv_bar_scale *scale,
                  const struct stv_bar *bars, size_t n)
{
    char line[STV_BAR_COLUMNS_MOST];
    memset(line, ' ', sizeof line);
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(bars[i].low) || !isfinite(bars[i].high))
            continue;
        size_t first = column_of(scale, bars[i].low), last = column_of(scale, bars[i].high);
        memset(line + first, bars[i].stroke, last - first + 1);
    }
    for (size_t i = 0; i < n; i++)
        if (isfinite(bars[i].middle))
            line[column_of(scale, bars[i].middle)] = bars[i].mark;
    stv_text_add_bytes(text, line, scale->n_columns);
}

void stv_bar_scale_add(struct stv_text *text, const struct stv_bar_scale *scale, int n_decimals,
                       const char *unit)
{
    struct stv_formatted from = stv_format_number(scale->from, n_decimals);
    struct stv_formatted to =
        stv_format("%s %s", stv_format_number(scale->to, n_decimals).text, unit);
    int gap = (int)scale->n_columns - (int)strlen(from.text);
    stv_prose_add(text, "%s%*s", from.text, gap, to.text);
}
