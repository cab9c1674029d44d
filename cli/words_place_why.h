/* What tells one place from another, in words. */
#ifndef STV_CLI_WORDS_PLACE_WHY_H
#define STV_CLI_WORDS_PLACE_WHY_H

#include "cli/format.h"
#include "model/placement.h"
#include "plots/text.h"

/* "still fruit", "wood allowed". */
const char *stv_place_part_words(enum stv_place_part part, const struct stv_house_rules *rules);

/* What a place is ahead of another by, and what it is behind by: "still fruit (0.41 against 0.36),
 * then bottles (+2.1)".  Parts under 0.3 % of the merit are left out; sign -1 gives what it is
 * behind by.  Returns how many were told. */
size_t stv_place_add_parts(struct stv_text *line, const struct stv_house_rules *rules,
                           const struct stv_place_score *own, const struct stv_place_score *other,
                           int sign);

#endif
