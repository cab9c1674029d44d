/* What stands out in a lesson of casks: for words and JSON alike. */
#ifndef STV_CLI_CASK_LESSON_H
#define STV_CLI_CASK_LESSON_H

#include "cli/chain_cask_learning.h"
#include "cli/format.h"

#define STV_NEIGHBOURS_MOST 3
#define STV_RANGE_ERRORS 1.64 /* 9 in 10 of a normal distribution lie within so many errors */

/* Whether litres that looked misread by the gauges before them fit a leak that a later gauge of the
 * cask bears out, since the same day: they are told with that leak. */
bool stv_lesson_fits_leak(const struct stv_cask_lesson *lesson, size_t verdict_idx);

enum stv_look { STV_LOOK_NOT, STV_LOOK_LEAK, STV_LOOK_MISREAD };
/* Whether a verdict of the lesson wants a look: a leak that is likelier than not, of the spirit
 * that is in the cask now and not written down as stopped since; a misread figure of any time. */
enum stv_look stv_lesson_look(const struct stv_chain *chain, const struct stv_cask_lesson *lesson,
                              size_t verdict_idx);

/* The full casks nearest to a cask in its warehouse: its own bay and tier first.  Returns how many,
 * up to STV_NEIGHBOURS_MOST. */
size_t stv_lesson_neighbours(const struct stv_chain *chain, int cask_idx,
                             int out[STV_NEIGHBOURS_MOST]);

/* Outside the range in which 9 in 10 figures were predicted. */
bool stv_told_is_miss(const struct stv_learned_told *told);
/* Figures in the order to read them: misses by how far they miss, then the others, newest first.
 * malloc'd, NULL without memory. */
size_t *stv_lesson_misses_first(const struct stv_cask_lesson *lesson);

/* A number that all casks, or all of a kind, share. */
struct stv_lesson_moved {
    const char *name, *kind_name; /* kind_name NULL: of the whole house */
    double error_left_frac;       /* of the error before anything was measured */
    double moved_nd;              /* in those errors */
    size_t at;                    /* in the order of the scores */
};
/* Something was learned of it, or it moved surprisingly far. */
bool stv_lesson_is_moved(const struct stv_lesson_moved *moved);

/* Of all, what moved first, by how far.  malloc'd, NULL without memory. */
struct stv_lesson_moved *stv_lesson_moved_list(const struct stv_chain *chain,
                                               const struct stv_cask_lesson *lesson, size_t *out_n);
#define STV_SURPRISING_DOUBTS 2.0 /* a number that moved further is told, whatever is left */
#define STV_NOT_MOVED_FRAC 0.95   /* from so much error left on, nothing was learned */

/* A gauge or nosing to come. */
struct stv_lesson_next {
    size_t wish_idx;
    bool by_nose;
    double left_frac; /* of the error of what it narrows */
};
/* Both ways of every full cask, what narrows most first.  malloc'd, NULL without memory. */
struct stv_lesson_next *stv_lesson_next_list(const struct stv_cask_lesson *lesson, size_t *out_n);

#endif
