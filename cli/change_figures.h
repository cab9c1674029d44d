/* How each figure of a change is named and scaled for people and for other programs, and its data
 * for --json and --csv. */
#ifndef STV_CLI_CHANGE_FIGURES_H
#define STV_CLI_CHANGE_FIGURES_H

#include "cli/json.h"
#include "ingest/study.h"
#include "plots/sheet.h"

struct stv_change_figure_form {
    const char *level_key;  /* of the building as it is; NULL when a level says nothing */
    const char *change_key; /* of a difference; units in both */
    double factor_nd;       /* from the model's unit to the printed one */
};
const struct stv_change_figure_form *stv_change_figure_form(enum stv_change_figure figure);

/* Changes of every site: changes[i] belongs to study->sites[i]. */
struct stv_site_changes {
    const struct stv_study *study;
    const struct stv_changes_result *changes;
};

/* What must be said where such changes are asked for: a fan that is added, a floor that is wetted;
 * static texts, how many. */
#define STV_CHANGE_CAUTIONS_MOST 4
size_t stv_changes_cautions(const struct stv_study *study,
                            const char *out[STV_CHANGE_CAUTIONS_MOST]);

/* Adds changes, as_is, change_margin and change_ranges to an answer. */
void stv_changes_add_json(json_t *document, const struct stv_site_changes *all);

/* ",change,tier,..." behind the columns of the sites, and one row per site, change and tier; rows
 * begin with the site's name and n_skipped empty cells. */
void stv_changes_add_heads(struct stv_text *names);
void stv_changes_add_rows(struct stv_sheet *table, const struct stv_site_changes *all,
                          size_t n_skipped);
/* The empty cells of a row that is no change's. */
void stv_changes_skip_cells(struct stv_sheet *table);

#endif
