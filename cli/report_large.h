/* The casks of a large house, where one outlook of all values would not fit into memory: ranges of
 * every cask, values of two days alone, and charts of kinds of casks. */
#ifndef STV_CLI_REPORT_LARGE_H
#define STV_CLI_REPORT_LARGE_H

#include "cli/report_data.h"

/* With more full casks a house is large, and charts are of kinds and of casks that ask for a
 * look. */
#define STV_REPORT_LARGE_CASKS 300
/* Kinds that have a chart: those of most casks. */
#define STV_REPORT_KINDS_MOST 200

/* How far ahead charts and windows look. */
#define STV_REPORT_MONTHS_AHEAD 36

/* Fills what a page with full casks needs; climate and seasons stand in data already.
 * Errors: those of stv_outlook_run.  Free with stv_report_data_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_report_large_gather(struct stv_report_data *data);

/* Half-years around the day of the answer, from the first fill on, at the end of n days; days_d has
 * room for STV_REPORT_HALF_YEARS more.  Returns how many there are then. */
#define STV_REPORT_HALF_YEARS_BACK 120 /* more than any cask lies */
#define STV_REPORT_HALF_YEARS (STV_REPORT_HALF_YEARS_BACK + STV_REPORT_MONTHS_AHEAD / 6 + 1)
size_t stv_report_half_years(const struct stv_chain *chain, int64_t *days_d, size_t n);

#endif
