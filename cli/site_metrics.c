/* Names of the figures that sites are compared by. */
#include "cli/site_metrics.h"

static const struct stv_site_metric_form forms[STV_SITE_METRIC_N] = {
    [STV_SITE_VOLUME_LOSS_FRAC] = {"volume_loss_pct", "Litres lost", "litres lost", " %", 100.0, 2},
    [STV_SITE_LPA_LOSS_FRAC] = {"lpa_loss_pct", "Alcohol lost", "alcohol lost", " %", 100.0, 2},
    [STV_SITE_DRIFT_FRAC] = {"abv20_drift_pct", "Change of strength", "change of strength", " %vol",
                             100.0, 2},
    [STV_SITE_WOOD_ND] = {"wood_rel", "Wood", "wood", "", 1.0, 2},
    [STV_SITE_FRUIT_ND] = {"still_fruit_index", "Still fruit left", "still fruit left", "", 1.0, 2},
};

const struct stv_site_metric_form *stv_site_metric_form(enum stv_site_metric metric)
{
    return &forms[metric];
}

const char *stv_verdict_text(enum stv_verdict verdict)
{
    switch (verdict) {
    case STV_VERDICT_MORE:
        return "more";
    case STV_VERDICT_LESS:
        return "less";
    case STV_VERDICT_SAME:
        return "same";
    case STV_VERDICT_UNSURE:
        return "cannot be told apart";
    }
    return "unknown";
}
