/* Random numbers that depend on the seed, a name and an id, never on the order of rows. */
#ifndef STV_MODEL_DRAWS_H
#define STV_MODEL_DRAWS_H

#include "model/cask_numbers.h"
#include "model/params.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* Key of a text.
 *
 * text     bytes up to the first 0
 *
 * Source:  FNV-1a, 64 bit (Fowler, Noll, Vo), from memory; tested against its reference vectors */
uint64_t stv_key_of(const char *text);

/* Uniform on the open (0, 1), and standard normal: functions of four numbers, without state.
 *
 * seed, name_key, id_key, draw_idx   any; all four count, and their order
 *
 * Accuracy: the uniform is the same on every machine; the normal as gsl_cdf_ugaussian_Pinv
 * Source:  finaliser of splitmix64 (Steele, Lea & Flood 2014, OOPSLA) applied to each number in
 *          turn */
double stv_draw_uniform_nd(uint64_t seed, uint64_t name_key, uint64_t id_key, uint64_t draw_idx);
double stv_draw_normal_nd(uint64_t seed, uint64_t name_key, uint64_t id_key, uint64_t draw_idx);

/* The same normal from one of n_members equally likely strata (the middle of it), shuffled apart by
 * seed and name: a few members already fill the range.
 *
 * member_idx   below n_members; n_members at least 1, which alone gives 0 */
double stv_draw_stratum_nd(uint64_t seed, const char *name, size_t member_idx, size_t n_members);

/* Scores that a whole house shares, standard normal, one row per draw.  The first ones move what a
 * climate table is made of and are alike in all draws of a climate member: one from each of 16
 * equally likely strata.  The others are Sobol points with a random shift (Cranley & Patterson
 * 1976, SIAM J. Numer. Anal. 13:904), so few draws already fill the ranges. */
enum stv_house_score {
    STV_SCORE_LIQUID, /* temperature and humidity of the places, in their own errors */
    STV_SCORE_HUMIDITY,
    STV_SCORE_PERMEANCE_EA,
    STV_SCORE_WATER_ACTIVITY,
    STV_SCORE_EXTRACTION_EA,
    STV_SCORE_ESTER_EA,
    STV_SCORE_TIME_CONSTANT,
    STV_SCORE_MEMBER_N, /* so many belong to the member */
    STV_SCORE_LOSS = STV_SCORE_MEMBER_N,
    STV_SCORE_WATER_PERMEANCE,
    STV_SCORE_POOLS,
    STV_SCORE_ESTER_RATE,
    STV_SCORE_TEMP_SHARE, /* by its normal probability: uniform 0..1 */
    STV_SCORE_OXIDATION,  /* likewise, between its limits */
    STV_SCORE_N
};
/* Scores that casks of one kind share, and those of a cask alone. */
enum stv_kind_score {
    STV_KIND_LOSS,
    STV_KIND_WATER_PERMEANCE,
    STV_KIND_RATIO,
    STV_KIND_POOLS,
    STV_KIND_SCORE_N
};
enum stv_own_score {
    STV_OWN_LOSS,
    STV_OWN_WATER_PERMEANCE,
    STV_OWN_RATIO,
    STV_OWN_POOLS,
    STV_OWN_AREA,
    STV_OWN_STAVE,
    STV_OWN_SCORE_N
};

struct stv_house_draws {
    size_t n_draws, n_kinds;
    uint64_t seed;
    double *scores_nd; /* [draw * STV_SCORE_N + score] */
    double *kinds_nd;  /* [(draw * n_kinds + kind) * STV_KIND_SCORE_N + score] */
    size_t n_shared;   /* of what was learned (model/cask_posterior.h); 0 without */
    double *shared_nd; /* [draw * n_shared + score] */
};

/* A kind's standard normal score in one draw, whatever other kinds there are. */
double stv_kind_score_nd(uint64_t seed, uint64_t kind_key, size_t score_idx, size_t draw_idx);

/* The scores of a house.
 *
 * seed       shifts the points
 * n_draws    at least 1; the first draws are the same however many there are
 * kind_keys  n_kinds keys of kinds of casks (stv_key_of their names); may be NULL without any
 * out        free with stv_house_draws_free
 *
 * Errors:  STV_E_ARG     n_draws is 0; STV_E_MEMORY; out then holds nothing to free */
STV_MUST_CHECK enum stv_status stv_house_draws_new(uint64_t seed, size_t n_draws,
                                                   const uint64_t *kind_keys, size_t n_kinds,
                                                   struct stv_house_draws *out);
/* Frees and empties; may be called twice. */
void stv_house_draws_free(struct stv_house_draws *draws);

/* All the scores behind one cask in one draw. */
struct stv_scores {
    const double *house_nd; /* STV_SCORE_N */
    const double *kind_nd;  /* STV_KIND_SCORE_N */
    double own_nd[STV_OWN_SCORE_N];
    double leak_per_y; /* 0: tight beyond its joints */
};

/* All scores 0: the middle of everything. */
struct stv_scores stv_scores_middle(void);

/* Parameters that scores stand for: base moved by them; the temperature share alone is replaced.
 *
 * Source:  parameter sheet (DEVELOPERS.md, Sources), section 6; a plain +- there is read as one
 *          standard deviation
 * Assumes: half of the log-variance of loss, permeance and ratio is the cask's; the other half is
 *          shared by house and kind, of the ratio it is the kind's alone (judgement); all
 *          activation energies of extraction move together; the error of the water activity is
 *          that of 15 C and above (0.012) at every temperature */
struct stv_params stv_params_of_scores(const struct stv_params *base,
                                       const struct stv_cask_numbers *numbers,
                                       const struct stv_scores *scores);

/* Scores of a cask in a draw, and its leak: 5 % of casks lose 4 % a year and more in all.
 *
 * draw_idx  below house->n_draws
 * kind_idx  its place among the keys, or SIZE_MAX: the middle of all kinds
 * cask_key  stv_key_of its id; 0 leaves the cask's part out (the house's reference cask) */
struct stv_scores stv_scores_drawn(const struct stv_params *base,
                                   const struct stv_cask_numbers *numbers,
                                   const struct stv_house_draws *house, size_t draw_idx,
                                   size_t kind_idx, uint64_t cask_key);

/* Factor on the outdoor air that passes a warehouse in one draw: lognormal about the numbers' own,
 * by default 1, and 90 % within a factor of two.  The building's own temperatures do not move
 * along.
 *
 * seed, draw_idx   as elsewhere
 * store_key        stv_key_of the warehouse's name
 *
 * Source: judgement: openings are guessed, and leakage models miss measured air change by about
 *         half (from memory) */
double stv_air_factor_drawn_nd(const struct stv_cask_numbers *numbers, uint64_t seed,
                               uint64_t store_key, size_t draw_idx);

/* How far a place's climate may be off, one standard deviation. */
struct stv_climate_error {
    double liquid_k, rh_frac;
};
/* From weather through the building model, by default 1 K and 0.06; with a logger at the place,
 * 0.3 K and 0.03. */
struct stv_climate_error stv_climate_error_weather(const struct stv_cask_numbers *numbers);
struct stv_climate_error stv_climate_error_logger(const struct stv_cask_numbers *numbers);

/* Climate of a member: normal offsets of temperature and humidity, one from each of n_members
 * equally likely strata, shuffled apart by the seed.
 *
 * member_idx   below n_members; n_members at least 1 (alone it is the middle: no offset)
 * error        one standard deviation of each; all places of a house share the offsets' scores
 *
 * Source:  parameter sheet, section 6 */
struct stv_climate_member {
    double liquid_offset_k;
    double humidity_offset_frac;
};
struct stv_climate_member stv_climate_member(uint64_t seed, size_t member_idx, size_t n_members,
                                             struct stv_climate_error error);

#define STV_CLIMATE_MEMBERS 16

/* Which member a draw belongs to: every run of n_members draws (at least 1) meets each member once,
 * in an order of the seed's, so that members do not follow the house scores' own pattern. */
size_t stv_draw_member(uint64_t seed, size_t draw_idx, size_t n_members);

#endif
