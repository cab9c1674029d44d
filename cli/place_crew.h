/* A crew's steps, told as lines, CSV and JSON, with the hours to work in. */
#ifndef STV_CLI_PLACE_CREW_H
#define STV_CLI_PLACE_CREW_H

#include "cli/place_house.h"
#include "plots/sheet.h"
#include "plots/text.h"

#include <jansson.h>

/* How many handlings, of what weight; with_steps: each of them as well.  Cautions are the
 * caller's. */
void stv_place_crew_text(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_place_house *house, bool with_steps);
void stv_place_crew_csv(struct stv_sheet *table, const struct stv_chain *chain,
                        const struct stv_place_house *house);
/* {"steps": [...], "put_aside", "weight_kg", "coolest_from_h"} */
json_t *stv_place_crew_json(const struct stv_chain *chain, const struct stv_place_house *house);

/* Weight of all steps together, kg; what is not known counts as 230. */
double stv_place_crew_kg(const struct stv_chain *chain, const struct stv_place_house *house);

#endif
