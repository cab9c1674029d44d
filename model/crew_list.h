/* Moves of full casks in an order in which a crew can make them: what stands in the way is met
 * first, lower rows come first, and no side of a store is emptied or loaded alone. */
#ifndef STV_MODEL_CREW_LIST_H
#define STV_MODEL_CREW_LIST_H

#include "model/position.h"
#include "model/status.h"

#include <stddef.h>

/* A cask that is in the stores, or is to come in; warehouse_idx -1: nowhere.  One that lies and
 * stays has both places alike. */
struct stv_crew_cask {
    struct stv_place from, to;
};

enum stv_crew_step_kind {
    STV_CREW_IN,    /* from outside the racks into its place */
    STV_CREW_MOVE,  /* from place to place */
    STV_CREW_ASIDE, /* out of its place to the floor, to come back or go on later */
    STV_CREW_BACK   /* from the floor into the place it goes to */
};

struct stv_crew_step {
    size_t cask_idx;
    enum stv_crew_step_kind kind;
    struct stv_place from, to; /* warehouse_idx -1: the floor, or outside */
};

struct stv_crew_list {
    struct stv_crew_step *steps; /* in order */
    size_t n_steps;
    size_t n_aside;       /* casks put on the floor on the way */
    size_t most_on_floor; /* of these at one time */
    size_t most_off; /* how far the two halves of a store ever differ from the start, in casks */
};

/* The steps from one set of places to another.
 *
 * casks    n_casks; places are whole (tier, bay and depth said), each place one cask's, before and
 *          after; a cask with from somewhere and to nowhere is an error
 * out      free with stv_crew_list_free; empty when the status is not OK
 *
 * Cost:    in step with moves squared
 * Errors:  STV_E_ARG          a place that is not whole, or a cask that goes nowhere
 *          STV_E_CONSISTENCY  two casks in one place
 *          STV_E_MEMORY
 * Source:  common practice, no published source: lower rows first when racks are loaded, never one
 *          side alone; a cask behind another is not reached before that one is out of the way */
STV_MUST_CHECK enum stv_status stv_crew_list_make(const struct stv_crew_cask *casks, size_t n_casks,
                                                  struct stv_crew_list *out);
/* Frees and empties; may be called twice. */
void stv_crew_list_free(struct stv_crew_list *list);

#endif
