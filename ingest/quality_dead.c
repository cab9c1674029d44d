/* A sensor that says one value, to its last digit, for longer than any air does: it measured
 * nothing, and its rows are set aside.  One that reads in whole or half degrees, or in whole per
 * cents, may stand still for a season in a deep cellar, and one at the top of its range may lie in
 * a damp room: those are used. */
#include "ingest/quality_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define SAME 1e-9
#define ROWS_LEAST 24
#define DEAD_D 30 /* judgement: at a tenth of a degree no rack is so still */
#define FINE_K 0.15
#define FINE_FRAC 0.0015
#define SHOWN_K 1e-4 /* of a value converted from F */
#define SHOWN_FRAC 1e-6
#define DAMP_FRAC 0.98

static bool is_multiple(double value, double step, double within)
{
    return fabs(value - step * nearbyint(value / step)) <= within;
}

/* Whether the sensor reads finer than halves and wholes; by its one value where it has no other. */
static bool reads_finely(const struct stv_quality_rows *rows, enum stv_weather_quantity quantity,
                         double value)
{
    bool is_share = quantity == STV_WQ_RH_FRAC;
    double step = stv__quality_resolution(rows->samples, rows->samples->values[quantity]);
    double read = value - rows->correction[quantity];
    if (isfinite(step))
        return step <= (is_share ? FINE_FRAC : FINE_K);
    if (is_share)
        return !is_multiple(read, 0.01, SHOWN_FRAC);
    return !is_multiple(read, 0.5, SHOWN_K) && !is_multiple(read * 1.8 + 32.0, 0.5, SHOWN_K);
}

static void set_aside(struct stv_quality_rows *rows, enum stv_weather_quantity quantity,
                      const struct stv__run *run)
{
    struct stv_samples *samples = rows->samples;
    bool is_share = quantity == STV_WQ_RH_FRAC;
    double value = samples->values[quantity][run->from];
    double days = (double)(samples->time_s[run->to] - samples->time_s[run->from]) / STV_DAY_S;
    char said[256];
    snprintf(said, sizeof said,
             "the %s reads %.4g %s and nothing else for %.0f days, as a dead sensor does: %s; look "
             "at the logger; `from` and `to` in loggers.csv leave such rows out for good",
             is_share ? "humidity" : "temperature", is_share ? 100.0 * value : value,
             is_share ? "%" : "C", days, is_share ? "not used" : "the rows are not used");
    stv__quality_say(rows, run, said);
    for (size_t k = run->from; k <= run->to; k++) {
        samples->values[quantity][k] = (double)NAN;
        if (rows->marks[quantity])
            rows->marks[quantity][k] = is_share ? STV_MARK_ASIDE : STV_MARK_DEAD;
        if (!is_share && samples->values[STV_WQ_RH_FRAC])
            samples->values[STV_WQ_RH_FRAC][k] = (double)NAN; /* of no use without it */
    }
}

void stv__quality_dead(struct stv_quality_rows *rows, enum stv_weather_quantity quantity)
{
    const struct stv_samples *samples = rows->samples;
    const double *values = samples->values[quantity];
    for (size_t start = 0, end = 0, k = 0; k <= samples->n; k++) {
        if (k < samples->n && isnan(values[k]))
            continue;
        if (k < samples->n && fabs(values[k] - values[start]) <= SAME) {
            end = k;
            continue;
        }
        int64_t held_s = end < samples->n ? samples->time_s[end] - samples->time_s[start] : 0;
        bool is_damp = quantity == STV_WQ_RH_FRAC && values[start] >= DAMP_FRAC;
        struct stv__run run = {start, end, STV_SET_ASIDE, STV_RULE_DEAD};
        if (held_s >= DEAD_D * (int64_t)STV_DAY_S && end - start >= ROWS_LEAST && !is_damp &&
            reads_finely(rows, quantity, values[start]))
            set_aside(rows, quantity, &run);
        start = end = k;
    }
}
