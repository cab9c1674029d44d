/* One gnuplot run in a private folder. */
#ifndef STV_PLOTS_GNUPLOT_H
#define STV_PLOTS_GNUPLOT_H

#include "model/status.h"
#include "plots/text.h"

#include <stdbool.h>
#include <stddef.h>

/* What to type when gnuplot is missing. */
#define STV_GNUPLOT_INSTALL "apt-get install gnuplot-nox"

/* Whether a gnuplot lies in one of the absolute folders of PATH. */
bool stv_gnuplot_is_there(void);

/* Longest time one run may take; a report's charts take well under a second. */
#define STV_GNUPLOT_LIMIT_S 60

/* A private folder with the scripts and data of one run. */
struct stv_gnuplot;

/* Makes an empty folder, readable by its owner alone, under TMPDIR or else /tmp.
 *
 * out        free with stv_gnuplot_free
 * Errors:    STV_E_IO when the folder cannot be made; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_gnuplot_new(struct stv_gnuplot **out);

/* Writes a file into the folder.
 *
 * name       made by the program: letters, digits, '-' and '.' alone, starting with a letter
 * Errors:    STV_E_ARG another name; STV_E_IO; STV_E_MEMORY when the text had failed */
STV_MUST_CHECK enum stv_status stv_gnuplot_put(const struct stv_gnuplot *gnuplot, const char *name,
                                               const struct stv_text *content);

/* Runs `gnuplot -d SCRIPT` in the folder, with its own small environment and no shell.
 *
 * script     name of a file that stv_gnuplot_put wrote
 * limit_s    the child is killed after this many seconds
 * why        size bytes; receives what gnuplot said (also warnings after success), or "".
 * Errors:    STV_E_PROGRAM  no gnuplot in the absolute folders of PATH (why has the install
 *                           line), an error in the script, killed, or out of time
 *            STV_E_IO       the child could not be started */
STV_MUST_CHECK enum stv_status stv_gnuplot_run(const struct stv_gnuplot *gnuplot,
                                               const char *script, int limit_s, char *why,
                                               size_t size);

/* Adds a file of the folder to a text.
 * Errors:    STV_E_ARG a bad name; STV_E_IO missing or unreadable; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_gnuplot_get(const struct stv_gnuplot *gnuplot, const char *name,
                                               struct stv_text *out);

/* The folder's path, for tests. */
const char *stv_gnuplot_folder(const struct stv_gnuplot *gnuplot);

/* Removes the folder with its files; NULL is accepted. */
void stv_gnuplot_free(struct stv_gnuplot *gnuplot);

#endif
