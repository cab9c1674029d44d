/* Room, bottles and the market's limits: words that several sums need. */
#include "cli/bench_limit.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "model/spirit.h"

#include <math.h>

#define ROOM_MOST_FRAC 0.5
#define LOSS_MOST_FRAC 0.5
#define UNSAID_C 20.0

/* Strengths equal to a limit to within rounding keep it. */
#define ROUNDING_FRAC 1e-9

/* Below it reduced spirit may haze when it is cold, up to the second when it is iced: trade
 * convention, not a measured threshold. */
#define HAZE_FRAC 0.46
#define HAZE_ICED_FRAC 0.50

void stv_bench_read_limit(struct stv_bench_reader *reader, double now_c,
                          struct stv_bench_limit *out)
{
    struct stv_cask_limit *limit = &out->limit;
    *limit = (struct stv_cask_limit){NAN, UNSAID_C, STV_ROOM_USUAL_FRAC};
    out->has_capacity = stv_bench_volume(reader, STV_OPT_CAPACITY, &limit->capacity_l);
    out->has_hottest = stv_bench_temp(reader, STV_OPT_HOTTEST, &limit->hottest_c);
    stv_bench_share(reader, STV_OPT_ROOM, &limit->room_frac);
    if (!(limit->room_frac >= 0.0 && limit->room_frac <= ROOM_MOST_FRAC))
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_ROOM, "--room is outside 0 to 50 %%.");
    out->is_hottest_now = now_c > limit->hottest_c;
    limit->hottest_c = fmax(limit->hottest_c, now_c);
}

struct stv_formatted stv_bench_where_judged(const struct stv_bench_limit *limit)
{
    const char *why = limit->is_hottest_now ? " (as warm as it is now)"
                      : limit->has_hottest  ? ""
                                            : " (--hottest was not said)";
    return stv_format("at %s C%s", stv_format_number(limit->limit.hottest_c, 0).text, why);
}

bool stv_bench_may_enter(const struct stv_market *market, double abv20_frac)
{
    return abv20_frac <= market->entry_most_abv20_frac.value + ROUNDING_FRAC;
}

void stv_bench_warn_entry(const struct stv_market *market, double abv20_frac,
                          struct stv_bench_notes *notes)
{
    if (!market || isnan(market->entry_most_abv20_frac.value))
        return;
    const struct stv_rule *most = &market->entry_most_abv20_frac;
    if (!stv_bench_may_enter(market, abv20_frac))
        stv_bench_note(
            notes, true,
            "ABOVE THE ENTRY LIMIT: %s %%vol is more than the %s that %s allows into the "
            "cask (%s, %s).",
            stv_format_number(100.0 * abv20_frac, 1).text, most->text, market->name, most->source,
            most->seen);
}

void stv_bench_warn_least(const struct stv_market *market, double abv20_frac,
                          struct stv_bench_notes *notes)
{
    if (!market || isnan(market->bottled_least_abv20_frac.value))
        return;
    const struct stv_rule *least = &market->bottled_least_abv20_frac;
    if (abv20_frac < least->value - ROUNDING_FRAC)
        stv_bench_note(notes, true,
                       "UNDER THE MINIMUM: %s %%vol is less than the %s that %s asks in the bottle "
                       "(%s, %s).",
                       stv_format_number(100.0 * abv20_frac, 2).text, least->text, market->name,
                       least->source, least->seen);
}

void stv_bench_warn_haze(double abv20_frac, struct stv_bench_notes *notes)
{
    if (abv20_frac < HAZE_FRAC - ROUNDING_FRAC)
        stv_bench_note(
            notes, false,
            "Below about 46 %%vol spirit may haze when it is cold, unless it is chill "
            "filtered (trade convention, not a measured threshold): try a chilled sample "
            "before the strength is chosen.");
    else if (abv20_frac < HAZE_ICED_FRAC)
        stv_bench_note(
            notes, false,
            "At 46 to 50 %%vol spirit is usually clear at room temperature and may haze on "
            "ice (trade convention, not a measured threshold).");
}

void stv_bench_warn_hot(double temp_c, struct stv_bench_notes *notes)
{
    if (stv_spirit_is_extrapolated(temp_c))
        stv_bench_note(notes, false,
                       "%s C is above the 40 C at which the density tables end: the formula was "
                       "carried on, about 0.3 kg/m3 unsure (0.03 %% of the litres).",
                       stv_format_number(temp_c, 1).text);
}

void stv_bench_read_bottles(struct stv_bench_reader *reader, double *out_loss_frac,
                            double *out_bottle_l)
{
    *out_loss_frac = 0.0;
    *out_bottle_l = NAN;
    stv_bench_share(reader, STV_OPT_LOSS, out_loss_frac);
    stv_bench_volume(reader, STV_OPT_BOTTLE, out_bottle_l);
    if (!(*out_loss_frac >= 0.0 && *out_loss_frac <= LOSS_MOST_FRAC))
        stv_bench_fault(reader, STV_E_DOMAIN, STV_OPT_LOSS, "--loss is outside 0 to 50 %%.");
}

void stv_bench_add_bottles(struct stv_text *text, double bottles_nd, double bottle_l,
                           double loss_frac)
{
    if (isnan(bottles_nd))
        return;
    struct stv_formatted loss =
        stv_format("%s %% taken off", stv_format_number(100.0 * loss_frac, 1).text);
    stv_prose_wrap(
        text, 0, "%s bottles of %s cl, %s for emptying, filtering and filling%s.",
        stv_format_number(bottles_nd, 0).text, stv_format_number(100.0 * bottle_l, 0).text,
        loss_frac > 0.0 ? loss.text : "nothing taken off", loss_frac > 0.0 ? "" : " (--loss)");
}
