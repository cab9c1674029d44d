/* When active wood should be left, told in summers, and which empty cask should take its spirit. */
#ifndef STV_MODEL_TRANSFER_H
#define STV_MODEL_TRANSFER_H

#include "model/climate_metrics.h"
#include "model/crossing.h"
#include "model/lineage.h"
#include "model/placement.h"

/* How long a wood serves, by what it held before it came here (a whisky fill before counts as
 * spirit), and what a move costs. */
struct stv_wood_rules {
    int most_uses[STV_WOOD_HISTORY_N];      /* fills of spirit in all */
    double dry_after_d[STV_WOOD_HISTORY_N]; /* empty for longer: to be soaked and tested first */
    double move_loss_frac; /* of the litres moved: hose, drips, what stays in the emptied cask */
};
/* Four fills of new wood and of fortified wine's, three of others'; 60 days; half a per cent.
 * Common practice, no published source. */
struct stv_wood_rules stv_wood_rules_default(void);

/* First and last day. */
struct stv_summer {
    int64_t from_day_d, to_day_d;
};

/* Summers that have a day between two days, both included; one longer than a year is cut.
 *
 * warm   the warm season
 * out    room for most; ascending
 * Result how many there are, at most `most` */
size_t stv_summers_between(const struct stv_season_span *warm, int64_t from_day_d, int64_t to_day_d,
                           struct stv_summer *out, size_t most);

/* 1 when the cask's spirit lies in wood that gives much: its first use, here or before. */
int stv_wood_is_active(const struct stv_ledger *ledger, const struct stv_lineage *lineage,
                       int cask_idx);

enum stv_leave {
    STV_LEAVE_STAY,   /* likely enough under what is allowed until the planned age */
    STV_LEAVE_BEFORE, /* before the summer of last_idx */
    STV_LEAVE_NOW,    /* a summer runs already at whose end it is not */
    STV_LEAVE_OVER    /* more likely over than not today: there is no window */
};

#define STV_SUMMERS_MOST 64

struct stv_summer_odds {
    struct stv_summer summer;
    double before_frac, after_frac; /* share of trials under what is allowed when it begins (today,
                                       if it has begun) and when it is over */
};

/* A cask that stays where it is, held against the wood allowed. */
struct stv_leaving {
    enum stv_leave call;
    double now_frac, planned_frac;                    /* share of trials under what is allowed */
    struct stv_summer_odds summers[STV_SUMMERS_MOST]; /* until the planned age */
    size_t n_summers;
    size_t last_idx;     /* before which to leave; of STAY and OVER it means nothing */
    int64_t leave_day_d; /* the first day of that summer; the last of the one before where it
                            passes in the cool months between; or today */
    int64_t a_year_on_d; /* ... and a year later */
    double leave_frac, a_year_on_frac; /* share of trials under what is allowed on these days */
    double a_year_on_bottles_nd;       /* what that year takes of them: median over trials */
    struct stv_crossing enough, over;  /* passes the least and the most wood allowed */
    struct stv_range wood_now_nd, wood_planned_nd;
    struct stv_range volume20_l, abv20_frac; /* on leave_day_d */
    double area_ratio_nd; /* wall for each litre it holds, against the reference cask's */
};

enum stv_receiver_fault { STV_RECEIVER_GOOD, STV_RECEIVER_TOO_SMALL, STV_RECEIVER_USED_UP };

/* An empty cask that could take the spirit on leave_day_d, and what that makes at planned age. */
struct stv_receiver {
    int cask_idx;
    enum stv_receiver_fault fault;
    int n_uses, uses_left; /* fills of spirit so far, and to come, this one counted */
    int is_never_wet;      /* new and never filled */
    double dry_d;          /* empty for so long by then; NaN when the book does not say */
    int is_dry;            /* longer than is allowed, or nobody knows: soak and test it first */
    double full_frac, most_full_frac; /* litres in it and at most, of what it holds */
    int was_tried;                    /* else nothing below is known */
    struct stv_place_score score;     /* free_idx means nothing */
    double bottles_against_left_nd;   /* medians of paired differences to the cask left as it is */
    double wood_against_left_nd, fruit_against_left_nd;
    double worth_bottles_nd; /* what receivers are ranked by: mean over trials of the bottles, those
                                outside the wood or strength allowed counted by how far: twice the
                                wood counts half, for so much it must be let down with other spirit
                              */
    double under_frac;       /* share of trials under the wood allowed */
    double waited_bottles_nd; /* paired: left a year later, less left in time */
    double waited_under_frac; /* NaN: the planned age comes first; so the one before */
};

struct stv_transfer {
    int cask_idx;
    int64_t planned_day_d;
    struct stv_leaving leaving;
    double left_worth_bottles_nd;
    struct stv_place_score left; /* at planned age if it stays; as_good: as the best receiver */
    struct stv_receiver
        *receivers; /* as good as the best first, then by worth_bottles_nd, then not tried */
    size_t n_receivers, n_tried;
    size_t given_idx; /* the one for it where casks want the same; SIZE_MAX: none */
    double margin_bottles_nd;
};

struct stv_transfers {
    struct stv_transfer *items; /* in the order asked for */
    size_t n;
};

struct stv_transfer_request {
    const struct stv_outlook_request *house; /* its days are not used; what its ledger holds after
                                                as_of_day_d is left out */
    const struct stv_lineage *lineage;       /* of that ledger, to as_of_day_d */
    int64_t as_of_day_d;
    const struct stv_season_span *warm;
    const struct stv_wood_rules *wood;
    const int *cask_idx; /* n_casks, full on that day, each once */
    const int64_t *planned_day_d;
    size_t n_casks;
    int tries_all; /* also for casks that may stay or are over; and every receiver */
};

/* Windows of wood, and receivers.
 *
 * A cask should leave before the first summer after which fewer than 7 in 10 trials are still under
 * the wood allowed; it is over already when fewer than half are.  Receivers are empty casks: each
 * is tried by the same trials as leaving the spirit where it is, lying where the cask lies.  One of
 * which nothing was learned has the trials of a cask unknown to the house, the same for all such.
 * Without tries_all at most 8 that fit best are tried for a cask, and a receiver is given to one
 * cask only, the most urgent first.
 *
 * Errors:  STV_E_ARG     a planned day that is not after as_of_day_d
 *          STV_E_MEMORY; others of stv_outlook_run
 * Source:  own rule; 7 in 10, half, the worth of bottles outside and the margin of 1.5 % of the
 *          best's bottles, as of places, are judgement
 * Memory:  free with stv_transfers_free */
STV_MUST_CHECK enum stv_status stv_transfer_plan(const struct stv_transfer_request *request,
                                                 struct stv_transfers *out);
/* Frees and empties; may be called twice. */
void stv_transfers_free(struct stv_transfers *transfers);

#endif
