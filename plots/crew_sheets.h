/* Sheets that a crew prints and ticks off: one job each, with its cautions. */
#ifndef STV_PLOTS_CREW_SHEETS_H
#define STV_PLOTS_CREW_SHEETS_H

#include <stdbool.h>
#include <stddef.h>

#define STV_CREW_PLACE_MAX 64
#define STV_CREW_WHAT_MAX 200

/* A cask to go to, in the order of the work.  has_box: there is something to tick; else it says why
 * nothing is to be done there. */
struct stv_crew_row {
    const char *cask_id;
    char place[STV_CREW_PLACE_MAX], what[STV_CREW_WHAT_MAX];
    bool has_box;
};

/* name      ascii, for the address inside the page
 * cautions  n_cautions lines as in stv_report_words, read before the work */
struct stv_crew_sheet {
    const char *name, *heading;
    const char *const *cautions;
    size_t n_cautions;
    struct stv_crew_row *rows;
    size_t n_rows;
};

#endif
