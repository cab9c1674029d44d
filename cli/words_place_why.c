/* The parts of a difference between two places, the largest first. */
#include "cli/words_place_why.h"

#include "cli/prose.h"

#include <math.h>

#define TOLD_LEAST_ND 0.003

const char *stv_place_part_words(enum stv_place_part part, const struct stv_house_rules *rules)
{
    switch (part) {
    case STV_PART_BOTTLES:
        return "bottles";
    case STV_PART_WOOD:
        return "wood allowed";
    case STV_PART_STRENGTH:
        return "strength";
    case STV_PART_QUALITY:
    case STV_PARTS:
        break;
    }
    return rules->wood_first ? "wood" : "still fruit";
}

/* The figures behind a part: "0.41 against 0.36". */
static struct stv_formatted figures(enum stv_place_part part, const struct stv_house_rules *rules,
                                    const struct stv_place_score *own,
                                    const struct stv_place_score *other)
{
    const double *pair[2] = {&own->fruit_nd.p50, &other->fruit_nd.p50};
    switch (part) {
    case STV_PART_BOTTLES:
        return stv_format_signed(own->bottles_against_best_nd - other->bottles_against_best_nd, 1);
    case STV_PART_WOOD:
    case STV_PART_STRENGTH:
        pair[0] = part == STV_PART_WOOD ? &own->wood_ok_frac : &own->abv_ok_frac;
        pair[1] = part == STV_PART_WOOD ? &other->wood_ok_frac : &other->abv_ok_frac;
        return stv_format("in %s of 100 trials against %s",
                          stv_format_number(100.0 * *pair[0], 0).text,
                          stv_format_number(100.0 * *pair[1], 0).text);
    case STV_PART_QUALITY:
    case STV_PARTS:
        break;
    }
    if (rules->wood_first) {
        pair[0] = &own->wood_nd.p50;
        pair[1] = &other->wood_nd.p50;
    }
    return stv_format("%s against %s", stv_format_number(*pair[0], 2).text,
                      stv_format_number(*pair[1], 2).text);
}

size_t stv_place_add_parts(struct stv_text *line, const struct stv_house_rules *rules,
                           const struct stv_place_score *own, const struct stv_place_score *other,
                           int sign)
{
    double parts_nd[STV_PARTS];
    size_t n = 0;
    stv_place_parts(own, other, own->bottles_against_best_nd - other->bottles_against_best_nd,
                    rules, parts_nd);
    for (;;) {
        enum stv_place_part part = stv_place_main_part(parts_nd, sign);
        if (!(sign * parts_nd[part] >= TOLD_LEAST_ND))
            return n;
        stv_prose_add(line, "%s%s (%s)", n++ ? ", then " : "", stv_place_part_words(part, rules),
                      figures(part, rules, own, other).text);
        parts_nd[part] = 0.0;
    }
}
