/* Random numbers that depend on the seed, a name and an id, never on the order of rows. */
#ifndef STV_MODEL_DRAWS_H
#define STV_MODEL_DRAWS_H

#include "model/params.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* Hash of a text, for use as a key (FNV-1a, 64 bit). */
uint64_t stv_key_of(const char *text);

/* Uniform on (0, 1) and standard normal, the same for the same four numbers on every machine. */
double stv_draw_uniform_nd(uint64_t seed, uint64_t name_key, uint64_t id_key, uint64_t draw_idx);
double stv_draw_normal_nd(uint64_t seed, uint64_t name_key, uint64_t id_key, uint64_t draw_idx);

/* Scores that a whole house shares, one row per draw.  Sobol points with a random shift
 * (Cranley & Patterson 1976, SIAM J. Numer. Anal. 13:904), so few draws already fill the ranges. */
enum stv_house_score {
    STV_SCORE_LOSS,
    STV_SCORE_WATER_PERMEANCE,
    STV_SCORE_RATIO,
    STV_SCORE_POOLS,
    STV_SCORE_EXTRACTION_EA,
    STV_SCORE_WATER_ACTIVITY,
    STV_SCORE_ESTER_RATE,
    STV_SCORE_ESTER_EA,
    STV_SCORE_PERMEANCE_EA,
    STV_SCORE_TIME_CONSTANT,
    STV_SCORE_TEMP_SHARE, /* uniform 0..1; all others are standard normal */
    STV_SCORE_OXIDATION,
    STV_SCORE_N
};

struct stv_house_draws {
    size_t n_draws;
    uint64_t seed;
    double *scores_nd; /* [draw * STV_SCORE_N + score] */
};

/* The scores of a house; free with stv_house_draws_free.
 * Errors: STV_E_ARG n_draws = 0; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_house_draws_new(uint64_t seed, size_t n_draws,
                                                   struct stv_house_draws *out);
void stv_house_draws_free(struct stv_house_draws *draws);

/* Parameters of one cask in one draw: base moved by the house's scores and the cask's own.
 * cask_key 0 leaves the cask's part out (the house's reference cask). */
struct stv_params stv_params_drawn(const struct stv_params *base,
                                   const struct stv_house_draws *house, size_t draw_idx,
                                   uint64_t cask_key);

/* Climate of a member: offsets of temperature and humidity, equally likely strata shuffled by
 * the seed.  has_logger narrows both. */
struct stv_climate_member {
    double liquid_offset_k;
    double humidity_offset_frac;
};
struct stv_climate_member stv_climate_member(uint64_t seed, size_t member_idx, size_t n_members,
                                             int has_logger);

#define STV_CLIMATE_MEMBERS 16

/* Which member a draw belongs to: every run of n_members draws meets each member once, in an
 * order of the seed's, so that members do not follow the house scores' own pattern. */
size_t stv_draw_member(uint64_t seed, size_t draw_idx, size_t n_members);

#endif
