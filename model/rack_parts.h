/* Shared by the files of model/rack*.c alone. */
#ifndef STV_MODEL_RACK_PARTS_H
#define STV_MODEL_RACK_PARTS_H

#include "model/rack.h"

/* Mean outdoor air of the 30 days that end with each hour; NaN in the record's first 30 days. */
void stv__rack_mean_30d(const struct stv_weather *weather, double *out_c);

/* Every figure of a skill, from what was told of hours that had no part in telling.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__rack_judge(const struct stv_rack_request *request,
                                               const struct stv_air_hours *told,
                                               struct stv_rack_skill *out);

#endif
