/* Which free position suits a cask: its outcome at each kind of position, by the same draws. */
#ifndef STV_MODEL_PLACEMENT_H
#define STV_MODEL_PLACEMENT_H

#include "model/outlook.h"

enum stv_reach { STV_REACH_HAND, STV_REACH_LIFT, STV_REACH_BEHIND };

struct stv_free_place {
    struct stv_place place;
    size_t position_idx; /* which climate it has */
    enum stv_reach reach;
    int is_present;              /* where the cask lies now */
    double most_kg;              /* what the plate leaves for one cask; INFINITY: none is known */
    char blocked_by[STV_ID_MAX]; /* cask in front, "" when none */
};

struct stv_place_score {
    size_t free_idx;
    struct stv_range bottles_nd, abv20_frac, wood_nd, fruit_nd, lpa_l;
    struct stv_range water_kg;      /* that brings it to the bottling strength; 0 where it is no
                                       stronger; told for one cask only */
    double bottles_against_best_nd; /* median of paired differences to the first row */
    double wood_ok_frac;            /* share of draws inside the wood range the house allows */
    double abv_ok_frac;             /* share at or above the least strength */
    double merit_nd;                /* bottles weighted by the house's wishes: what is compared */
    int as_good;                    /* cannot be told from the best merit within the margins */
};

/* What tells places apart. */
enum stv_place_part {
    STV_PART_BOTTLES,
    STV_PART_WOOD,     /* inside the range the house allows */
    STV_PART_STRENGTH, /* at or above the least strength */
    STV_PART_QUALITY,  /* fruit, or wood, whichever the house puts first */
    STV_PARTS
};

/* By how much of the merit a place is ahead of another (below 0: behind), part by part; together
 * about the logarithm of the two merits' ratio.  bottles_nd: median of its bottles less the
 * other's.
 * Source: own rule, the merit of stv_placement_rank taken apart at medians and shares */
void stv_place_parts(const struct stv_place_score *own, const struct stv_place_score *other,
                     double bottles_nd, const struct stv_house_rules *rules,
                     double out_nd[STV_PARTS]);
/* The part with the most of one sign: what a place is ahead by (sign 1), or behind by (-1). */
enum stv_place_part stv_place_main_part(const double parts_nd[STV_PARTS], int sign);

struct stv_placement {
    int cask_idx;
    int64_t target_day_d;
    struct stv_place_score *scores; /* one per free place: those as good as the best first, easiest
                                       reach first; then by merit */
    size_t n_scores;
    size_t other_taste_idx; /* the score that would be in front if the house put wood first instead
                               of fruit, or fruit instead of wood; 0: the same, or one as good */
    int is_matter;          /* 0 when every position is as good */
    double margin_bottles_nd;
};

/* A cask that looks for a place, from a day to the day it is wanted. */
struct stv_placement_wish {
    int cask_idx;
    int64_t from_day_d, target_day_d;
    const struct stv_free_place *free_places;
    size_t n_free;
};

/* Ranks free places for a cask.  Every place is tried with the same draws, so that differences
 * are judged and not levels.
 *
 * house   its days are not used
 * wish    the cask must be full on from_day_d; what the book says of later days is left out.  Every
 *         position_idx must be stv_position_of_place of its place.
 * out     best first; equals by: present place, easier reach, lower tier.  Holds nothing when the
 *         status is not OK.
 *
 * Errors:  STV_E_ARG      no such cask, or a target before the day of the move
 *          STV_E_NO_DATA  no free place, or the cask is empty that day
 *          others of stv_outlook_run
 * Source:  own rule; margins (1.5 % of the bottles, 0.1 of the draws, 0.04 of quality) and the
 *          weight of quality are judgement
 * Memory:  free with stv_placement_free */
STV_MUST_CHECK enum stv_status stv_placement_rank(const struct stv_outlook_request *house,
                                                  const struct stv_placement_wish *wish,
                                                  struct stv_placement *out);
/* Frees the scores; may be called twice. */
void stv_placement_free(struct stv_placement *placement);

#endif
