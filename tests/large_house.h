/* A house of 20 000 casks in 100 kinds and as many places in 60: for the test and for the bench. */
#ifndef STV_TESTS_LARGE_HOUSE_H
#define STV_TESTS_LARGE_HOUSE_H

#include "model/assignment.h"
#include "model/draws.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#define LARGE_GROUPS 100
#define LARGE_KINDS 60
#define LARGE_CASKS 200 /* of each kind */

struct large_house {
    struct stv_assignment_problem problem;
    size_t n_casks[LARGE_GROUPS], n_places[LARGE_KINDS], present_idx[LARGE_GROUPS];
    double *merits_nd;
};

/* Made up: about 250 bottles a cask, each kind feeling height and each place in its own way; one
 * pair in fifty is forbidden. */
static inline void large_house_new(struct large_house *house)
{
    house->merits_nd = malloc(LARGE_GROUPS * LARGE_KINDS * sizeof *house->merits_nd);
    if (!house->merits_nd)
        abort();
    size_t n_total = LARGE_GROUPS * LARGE_CASKS;
    for (size_t k = 0; k < LARGE_KINDS; k++)
        house->n_places[k] = n_total / LARGE_KINDS + (k < n_total % LARGE_KINDS) + 70;
    for (size_t g = 0; g < LARGE_GROUPS; g++) {
        house->n_casks[g] = LARGE_CASKS;
        house->present_idx[g] = g % LARGE_KINDS;
        for (size_t k = 0; k < LARGE_KINDS; k++) {
            double height_nd = (double)k / LARGE_KINDS;
            double feels_nd = 40.0 * stv_draw_uniform_nd(1, 1, g, 0) - 25.0;
            house->merits_nd[g * LARGE_KINDS + k] =
                250.0 + feels_nd * height_nd + 5.0 * stv_draw_uniform_nd(1, 2, g, k);
            if (k != g % LARGE_KINDS && stv_draw_uniform_nd(1, 3, g, k) < 0.02)
                house->merits_nd[g * LARGE_KINDS + k] = NAN;
        }
    }
    house->problem = (struct stv_assignment_problem){
        LARGE_GROUPS,     LARGE_KINDS, house->n_casks, house->n_places,
        house->merits_nd, NULL,        SIZE_MAX};
}

static inline void large_house_end(struct large_house *house)
{
    free(house->merits_nd);
}

#endif
