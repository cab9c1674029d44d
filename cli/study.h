/* A study of sites, buildings, casks and tiers as a whole: run or taken up again, told in words,
 * JSON and tables, and kept in a folder with all that is needed to run it once more. */
#ifndef STV_CLI_STUDY_H
#define STV_CLI_STUDY_H

#include "cli/chain.h"
#include "cli/format.h"
#include "cli/json.h"
#include "cli/options.h"
#include "plots/sheet.h"
#include "plots/text.h"

#define STV_STUDY_PATH_MAX 768

/* A file that a study was made from. */
struct stv_study_input {
    char path[STV_STUDY_PATH_MAX]; /* as it was opened */
    const char *what;              /* "study", "book", "weather", "weather description" */
    char sha256[STV_SHA256_TEXT];
    char source[256], licence[128]; /* of weather; "" when its description does not say */
};

/* Everything the outputs of a study are made from. */
struct stv_study_run {
    const struct stv_study *study;
    const char *study_path;
    struct stv_run_options options;
    const struct stv_problems *problems; /* what its weather files said, holes among them */
    struct stv_study_input *inputs;
    size_t n_inputs;
    struct stv_study_cell *cells; /* as struct stv_grid_request */
    bool *is_invented;            /* per site */
    size_t n_cells, n_kept;       /* n_kept: taken from an earlier run */
    struct stv_grid_result grid;
};

/* Runs every cell, or takes it from the folder of cells where it is finished there, and compares.
 *
 * cells_folder  NULL: nothing is kept or taken; else it is there, and each cell is put into it as
 *               soon as it is done, so that a run that was cut short goes on
 * out           free with stv_study_run_free, also after a failure
 * A site whose record is too short for follow_years is refused with its name.
 * Errors: those of the weather files, stv_building_simulate and stv_cell_run; STV_E_IO when a cell
 *         could not be kept, said in problems */
STV_MUST_CHECK enum stv_status
stv_study_run(const struct stv_options *options, const struct stv_study *study,
              const char *cells_folder, struct stv_problems *problems, struct stv_study_run *out);
void stv_study_run_free(struct stv_study_run *run);

/* Lists the files of a study with their check sums, into inputs and n_inputs.
 * Errors: STV_E_IO one cannot be read, said in problems; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_study_list_inputs(struct stv_study_run *run,
                                                     struct stv_problems *problems);
/* Check sum of all that one cell is made from; the inputs are listed before. */
void stv_study_cell_key(const struct stv_study_run *run, size_t cell_idx,
                        char out[STV_SHA256_TEXT]);

/* Every number behind the casks and the house, and behind each building. */
json_t *stv_study_parameters(const struct stv_study *study);
/* Who made it: {"program", "version", "commit", "libraries"}. */
json_t *stv_study_program(void);

/* "Plain" of an arm, with the building, cask and tier where the study has several. */
struct stv_formatted stv_study_arm_name(const struct stv_study *study, const struct stv_arm *arm);

/* "25 casks", or "5000 casks of 200 kinds" where the study counts them. */
struct stv_formatted stv_study_casks(const struct stv_study *study);
/* Name of a site, building or cask. */
const char *stv_study_level_name(const struct stv_study *study, enum stv_arm_factor factor,
                                 size_t level_idx);
/* A figure as it is printed, a change of strength with its sign. */
struct stv_formatted stv_study_shown(double value_nd, enum stv_cell_metric metric);
/* "4.1 (3.6 to 4.7)" of a difference told the way round that makes it positive. */
struct stv_formatted stv_study_by_how_much(const struct stv_judged *judged,
                                           enum stv_cell_metric metric);
/* "in 4 of 4 years": those that speak for the sign of the mean. */
struct stv_formatted stv_study_in_years(const struct stv_judged *judged);

/* Which site, which building and which cask keeps most, each over all the others' arms. */
void stv_words_levels(struct stv_text *text, const struct stv_study_run *run);
/* The answer in words and as JSON keys. */
void stv_words_study(struct stv_text *text, const struct stv_study_run *run);
void stv_study_add_json(json_t *document, const struct stv_study_run *run);

/* The files of a study, in order; the manifest is the last and tells the check sums of the rest. */
#define STV_STUDY_FILES 8
struct stv_study_file {
    const char *name;
    struct stv_text text;
};
/* Makes them all.  Free each text.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_study_files(const struct stv_study_run *run,
                                               struct stv_study_file files[STV_STUDY_FILES]);
void stv_study_files_free(struct stv_study_file files[STV_STUDY_FILES]);
/* Puts them into a folder that is there, the manifest last.  Errors: STV_E_IO, said. */
STV_MUST_CHECK enum stv_status
stv_study_files_write(const char *folder, const struct stv_study_file files[STV_STUDY_FILES]);
/* False, and said, when a file there would be replaced that no study wrote or that this one reads;
 * only the inputs of the run are looked at. */
bool stv_study_folder_is_free(const char *folder, const struct stv_study_run *run);
/* Makes a folder, and one inside it when `inside` is not NULL; out has STV_STUDY_PATH_MAX bytes and
 * names the inner one.  Errors: STV_E_IO, said. */
STV_MUST_CHECK enum stv_status stv_study_make_folder(const char *folder, const char *inside,
                                                     char *out);

/* Tables of the study, added to a text as CSV. */
void stv_study_results_sheet(struct stv_sheet *table, const struct stv_study_run *run);
void stv_study_results_csv(struct stv_text *out, const struct stv_study_run *run);
void stv_study_pairs_csv(struct stv_text *out, const struct stv_study_run *run);
void stv_study_split_csv(struct stv_text *out, const struct stv_study_run *run);
void stv_study_dictionary_csv(struct stv_text *out, const struct stv_study *study);
/* How it was done, for a paper, and the sources as BibTeX. */
void stv_study_methods(struct stv_text *out, const struct stv_study_run *run);
void stv_study_bibtex(struct stv_text *out);

#endif
