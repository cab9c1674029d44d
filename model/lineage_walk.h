/* Private to lineage.c and lineage_parts.c: the liquids of a ledger as a graph.
 *
 * A liquid is a node: what came to be in a cask when something was poured in.  It is made of the
 * liquid that was there before (older), and of another cask's liquid or of spirit from outside.
 * What flows out changes no composition and makes no node, so there are at most as many nodes as
 * events, and each is made of nodes with smaller numbers. */
#ifndef STV_MODEL_LINEAGE_WALK_H
#define STV_MODEL_LINEAGE_WALK_H

#include "model/ledger_walk.h"
#include "model/lineage.h"

struct stv__liquid {
    int use;           /* place in lineage->uses */
    int older;         /* node; -1: the cask was empty */
    int other;         /* node; -1: spirit from outside, by the event */
    double older_frac; /* share of older in the alcohol; the rest is the other's */
    size_t event_idx;
};

struct stv__use {
    int cask_idx, use_idx;
    int before;    /* the same wood's use before, in lineage->uses; -1 */
    int last_node; /* its liquid now or when it left */
    size_t event_idx;
    int64_t from_day_d, to_day_d;
};

/* What a cask holds. */
struct stv__holding {
    int use;  /* the latest; -1: never filled */
    int node; /* -1: empty */
    struct stv_spirit_history spirit;
};

struct stv_lineage {
    struct stv_ledger ledger; /* arrays of the caller */
    size_t n_done;            /* events walked */
    int64_t day_d;
    struct stv__cask_entry *entries; /* per cask */
    struct stv__holding *holdings;   /* per cask */
    struct stv__liquid *liquids;
    struct stv__use *uses;
    int n_liquids, n_uses;
};

/* When what an event brings from outside first met wood. */
struct stv_day_span stv__event_born(const struct stv_event *event);

#endif
