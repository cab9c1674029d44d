/* How each figure of a site is named and scaled for people and for other programs. */
#ifndef STV_CLI_SITE_METRICS_H
#define STV_CLI_SITE_METRICS_H

#include "model/sites.h"

struct stv_site_metric_form {
    const char *key;    /* JSON and CSV, unit in the name */
    const char *title;  /* begins a sentence: "Litres lost" */
    const char *phrase; /* inside one: "litres lost" */
    const char *unit;   /* behind a number, with its blank */
    double factor_nd;   /* from the model's unit to the printed one */
    int decimals;
};

const struct stv_site_metric_form *stv_site_metric_form(enum stv_site_metric metric);

/* "more", "less", "same" or "cannot be told apart". */
const char *stv_verdict_text(enum stv_verdict verdict);

#endif
