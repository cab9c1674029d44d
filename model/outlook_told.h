/* Private to outlook*.c: what is told of casks. */
#ifndef STV_MODEL_OUTLOOK_TOLD_H
#define STV_MODEL_OUTLOOK_TOLD_H

#include "model/outlook.h"
#include "model/path.h"

/* The house's reference cask at its age in one draw. */
struct stv__reference {
    double content_per_lpa_mg_l[STV_OAK_N], esters_mg_l;
};
struct stv__reference stv__reference_of(const struct stv__packet *packet, size_t lane);

/* All quantities of one lane; NaN when it is empty or holds water alone. */
void stv__quantities_of(const struct stv__packet *packet, size_t lane,
                        const struct stv_house_rules *rules, const struct stv__reference *reference,
                        double out[STV_Q_N]);
/* Litres that a kilogram of each takes off a liquid of a composition (partial volumes at 20 C). */
struct stv__partial {
    double ethanol_l_kg, water_l_kg;
};
struct stv__partial stv__partial_volumes(double ethanol_kg, double water_kg);

/* Worst |in - out - left| of water or ethanol over what came in. */
double stv__residual_frac(const struct stv__packet *packet, size_t lane);

/* Room for what a request asks of an outlook whose casks and draws are set. */
STV_MUST_CHECK enum stv_status stv__outlook_room(const struct stv_outlook_request *request,
                                                 struct stv_outlook *out);
/* Keeps one cask's values [(day * STV_Q_N + quantity) * n_draws + draw], or their ranges; casks may
 * be kept side by side. */
STV_MUST_CHECK enum stv_status stv__outlook_keep(struct stv_outlook *outlook, size_t cask_idx,
                                                 const double *values);
/* Adds a group's casks, one block of values after another, to the sums they belong to. */
void stv__outlook_add(struct stv_outlook *outlook, const struct stv_outlook_request *request,
                      const struct stv_path_group *group, const double *values);

#endif
