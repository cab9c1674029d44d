/* Casks to buy for fills to come: what the house's own casks serve, when to order the rest, and
 * which casks have served their time.
 *
 * Layer 8; pure. */
#ifndef STV_MODEL_BUYING_H
#define STV_MODEL_BUYING_H

#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* What a cask is to the next whisky that goes into it. */
enum stv_buying_wood {
    STV_BUYING_NEW,        /* never held anything */
    STV_BUYING_FIRST_FILL, /* held another liquid, no whisky yet */
    STV_BUYING_REFILL,
    STV_BUYING_WOODS
};

/* Sizes within so much of each other serve each other: makers differ.  Source: judgement */
#define STV_BUYING_SIZE_FRAC 0.10

#define STV_BUYING_LEAD_MONTHS 3 /* from order to delivery.  Source: judgement */

/* A cask that is or will be empty. */
struct stv_buying_cask {
    int cask_idx;
    int64_t free_day_d;
    enum stv_buying_wood wood; /* for its next fill */
    double capacity_l;
    size_t n_fills_left; /* 0: it is retired on that day */
};
/* A fill run that is planned. */
struct stv_buying_fill {
    int64_t day_d;
    size_t n_casks;
    enum stv_buying_wood wood;
    double capacity_l;
};

struct stv_buying_served {
    size_t n_own, n_to_buy;
};
struct stv_buying_plan {
    struct stv_buying_served *fills; /* per fill, in the order given */
    size_t *fill_of_cask;            /* per cask: the fill it serves; SIZE_MAX: none */
    size_t n_retired, n_spare;       /* casks without fills left, and those that no fill asks for */
};

/* Serves fills in the order of their days, each from casks of its wood and size that are free by
 * then, the one that has been empty longest first: wood must not dry out for long.
 *
 * fills, casks  in any order
 * out           free with stv_buying_free; empty when the status is not OK
 *
 * Cost:    fills times casks
 * Errors:  STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_buying_serve(const struct stv_buying_fill *fills, size_t n_fills,
                                                const struct stv_buying_cask *casks, size_t n_casks,
                                                struct stv_buying_plan *out);
/* Frees and empties; may be called twice. */
void stv_buying_free(struct stv_buying_plan *plan);

#endif
