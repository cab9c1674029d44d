/* The work of `fetch`: lists of stations, the best of them, the files. */
#ifndef STV_CLI_FETCH_RUN_H
#define STV_CLI_FETCH_RUN_H

#include "cli/words_fetch.h"
#include "ingest/problem.h"

struct stv_fetch_run {
    const struct stv_options *options;
    struct stv_fetch_request request;
    struct stv_fetch_rules rules;
    struct stv_station_list list;
    struct stv_station_near *near; /* owned */
    struct stv_problems problems;  /* of the lists */
    struct stv_fetch_answer answer;
};

/* Finds the station where only a place is known, and what the lists tell of it.  A dry run looks
 * into the cache alone and may leave the station unknown.
 * Errors: those of stv_fetch and stv_station_list_read; STV_E_NO_DATA no station has the years */
STV_MUST_CHECK enum stv_status stv_fetch_run_station(struct stv_fetch_run *run, char *why,
                                                     size_t size);

/* Sets the addresses; n is 0 after it while the station is not known.
 * Errors: STV_E_USAGE, STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_fetch_run_plan(struct stv_fetch_run *run, char *why,
                                                  size_t size);

/* Fetches the files of the plan into the folder of the answer.  What became of each is in its
 * result; after a failure of the network, offline apart, the rest is not tried. */
void stv_fetch_run_files(struct stv_fetch_run *run);

/* Accepts a run of which any part is done. */
void stv_fetch_run_free(struct stv_fetch_run *run);

#endif
