/* The age of a mixture is that of its youngest part.  Some markets count only years in some wood,
 * and a date of filling does not tell in which wood they were spent. */
#include "cli/bench_age.h"

#include "model/marry.h"

#include <math.h>

/* 5.9999999 years, as months make them, are 6. */
#define ROUNDING_Y 1e-6

int stv_bench_full_years(double age_y)
{
    return isnan(age_y) ? -1 : (int)floor(age_y + ROUNDING_Y);
}

int stv_bench_age_years(const struct stv_bench_part *part, int64_t on_day_d)
{
    if (!isnan(part->age_y))
        return stv_bench_full_years(part->age_y);
    if (part->filled_day_d == INT64_MIN || on_day_d == INT64_MIN)
        return -1;
    return stv_whole_years(part->filled_day_d, on_day_d);
}

const char *stv_bench_clock_words(enum stv_age_clock clock)
{
    switch (clock) {
    case STV_AGE_IN_CHARRED_NEW_OAK:
        return "charred new oak";
    case STV_AGE_IN_ANY_OAK:
        return "oak of any kind";
    case STV_AGE_IN_ANY_WOOD:
        return "wood of any kind";
    case STV_AGE_CLOCK_UNKNOWN:
        break;
    }
    return NULL;
}

bool stv_bench_counts(const struct stv_market *market, const struct stv_bench_part *part)
{
    return !market || !stv_bench_clock_words(market->age_clock) ||
           stv_bench_clock(market->age_clock, part->wood_class) != STV_CLOCK_STANDS;
}

static void warn_clock(const struct stv_market *market, const struct stv_bench_part *parts,
                       size_t n_parts, struct stv_bench_notes *notes)
{
    const char *words = stv_bench_clock_words(market->age_clock);
    size_t n_of[STV_CLOCK_STANDS + 1] = {0};
    if (!words)
        return;
    for (size_t i = 0; i < n_parts; i++)
        n_of[stv_bench_clock(market->age_clock, parts[i].wood_class)]++;
    const char *verdict =
        n_of[STV_CLOCK_STANDS]   ? " A part lay in other wood, where that clock stands: its age "
                                   "there is less than told here, perhaps none."
        : n_of[STV_CLOCK_UNSURE] ? " Not every part says its wood well enough to know: the legal "
                                   "age may be less."
                                 : "";
    stv_bench_note(notes, n_of[STV_CLOCK_STANDS] > 0,
                   "Age clock: %s counts only time in %s (%s, %s).%s", market->name, words,
                   market->age_clock_rule.source, market->age_clock_rule.seen, verdict);
}

void stv_bench_warn_age(const struct stv_market *market, const struct stv_bench_part *parts,
                        size_t n_parts, int years, struct stv_bench_notes *notes)
{
    if (!market)
        return;
    const struct stv_rule *least = &market->age_least_y;
    if (!isnan(least->value) && years >= 0 && (double)years < least->value - ROUNDING_Y)
        stv_bench_note(notes, true,
                       "TOO YOUNG: the youngest part has %d full years; %s asks for %s (%s, %s).",
                       years, market->name, least->text, least->source, least->seen);
    warn_clock(market, parts, n_parts, notes);
}
