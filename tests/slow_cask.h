/* One cask integrated hour by hour with a library's stepper, equation by equation as the parameter
 * sheet states them: what the engine is measured against.  Nothing of the engine is used, only the
 * properties of spirit, air and wood. */
#ifndef STV_TESTS_SLOW_CASK_H
#define STV_TESTS_SLOW_CASK_H

#include "model/extraction.h"
#include "model/params.h"
#include "model/position.h"
#include "tests/places.h"

/* Order of the states. */
enum {
    SLOW_TEMP,
    SLOW_ETHANOL,
    SLOW_WATER,
    SLOW_CONTENT,
    SLOW_FAST = SLOW_CONTENT + STV_OAK_N,
    SLOW_GIVEN = SLOW_FAST + STV_OAK_N, /* the slow pools */
    SLOW_ESTER = SLOW_GIVEN + STV_OAK_N,
    SLOW_FRUIT,
    SLOW_N
};

enum { SLOW_MEANS = 36 };

struct slow_cask {
    struct stv_cask_geometry geometry;
    struct stv_params params;
    const struct stv_position *place;
    double exposed_frac;
    double state[SLOW_N];
    int64_t wetted_d; /* local day on which spirit met dry wood */
    double indrink_l, damp_water_kg;
    bool is_tight;
    /* insides */
    double mean_pa[SLOW_MEANS]; /* of ethanol in a year, by time constant; NaN: not noted */
    size_t hour;
    /* The wetted share as a line through the volume, taken once in half an hour. */
    double volume20_l, wetted_frac, wetted_per_l;
};

/* Wood of a history, nothing in it, and what the place's year means to its joints. */
void slow_start(struct slow_cask *cask, enum stv_wood_history history);
/* Fills it at the start of a local day. */
void slow_fill(struct slow_cask *cask, int64_t day_d, double volume20_l, double abv20_frac,
               bool is_soaked);
/* Carries it to another place, where it is as warm as one that stood there before. */
void slow_move(struct slow_cask *cask, int64_t day_d, const struct stv_position *place);
/* Litres at 20 C that it holds. */
double slow_litres(const struct slow_cask *cask);
/* Takes out a part of the liquid, 0..1, and what is dissolved in it. */
void slow_take(struct slow_cask *cask, double part);
/* Pours a part of one into another, which keeps its temperature. */
void slow_pour(struct slow_cask *from, struct slow_cask *to, double part);
/* Dry wood meets spirit that was poured in by hand. */
void slow_wet(struct slow_cask *cask, int64_t day_d, bool is_soaked);
/* The liquid as warm as one that stood there before. */
void slow_settle(struct slow_cask *cask, int64_t day_d);
/* Carries it over whole local days. */
void slow_carry(struct slow_cask *cask, int64_t from_d, int64_t to_d);

#endif
