/* How each figure of a study is named, scaled and explained, for people and for other programs. */
#ifndef STV_CLI_CELL_METRICS_H
#define STV_CLI_CELL_METRICS_H

#include "model/sites_cell.h"

struct stv_cell_metric_form {
    const char *key;     /* JSON and CSV, unit in the name */
    const char *unit;    /* of the tidy tables */
    const char *phrase;  /* inside a sentence: "alcohol lost" */
    const char *suffix;  /* behind a number, with its blank */
    const char *meaning; /* for the dictionary */
    double factor_nd;    /* from the model's unit to the printed one */
    int decimals;
};

const struct stv_cell_metric_form *stv_cell_metric_form(enum stv_cell_metric metric);

#endif
