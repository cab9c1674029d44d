/* What is assumed of gauges where nobody says it, in one table, which `--parameters` prints.  A
 * book sets them one by one (`parameters:`), with gauge_ before the name. */
#ifndef STV_INGEST_GAUGE_NUMBERS_H
#define STV_INGEST_GAUGE_NUMBERS_H

#include <stddef.h>

/* Field, default, unit, least and most that a book may set, source.  A cell that ends with "+-"
 * overrides its error; an sd is one standard deviation. */
#define STV_GAUGE_NUMBERS(X)                                                                      \
    X(litres_sd_l, 1.0, "L", 0.0, 100.0, "error of litres by flow meter or bucket; judgement")    \
    X(dip_sd_m, 0.005, "m", 0.0, 0.1, "error of a dip through the cask; judgement")               \
    X(bilge_sd_frac, 0.04, "-", 0.0, 0.2,                                                         \
      "makers' differences in the bilge of one capacity; from memory")                            \
    X(scale_sd_kg, 0.2, "kg", 0.0, 20.0,                                                          \
      "error of a weight, each scale under the cask; judgement")                                  \
    X(strength_sd_frac, 0.002, "-", 0.0, 0.1, "error of a true strength by volume; judgement")    \
    X(reading_sd_frac, 0.002, "-", 0.0, 0.1,                                                      \
      "error of a hydrometer's reading by volume; judgement")                                     \
    X(density_sd_kg_m3, 0.5, "kg/m3", 0.0, 20.0, "error of a density, about 0.2 %vol; judgement") \
    X(temp_sd_k, 0.5, "K", 0.0, 10.0, "error of the spirit's temperature; judgement")             \
    X(unsaid_strength_frac, 0.60, "-", 0.05, 0.97,                                                \
      "strength by which litres or a weight alone are brought to 20 C; judgement")                \
    X(unsaid_strength_sd_frac, 0.10, "-", 0.0, 0.5, "error of that strength; judgement")          \
    X(soak_least_l, 3.0, "L", 0.0, 50.0,                                                          \
      "least that wood weighed dry drinks; common practice, from memory")                         \
    X(soak_most_l, 6.0, "L", 0.0, 50.0, "most that it drinks; common practice, from memory")      \
    X(unmixed_d, 21.0, "d", 0.0, 365.0,                                                           \
      "after an addition a gauge may not be mixed for so long; judgement")                        \
    X(most_loss_per_y, 0.25, "1/y", 0.01, 5.0,                                                    \
      "no 200 L cask loses a larger share to wood and air in a year; judgement")                  \
    X(sudden_loss_frac, 0.4, "-", 0.0, 1.0,                                                       \
      "and no larger share beyond that unseen: else a gauge is doubted; judgement")

struct stv_gauge_numbers {
#define STV_GAUGE_FIELD(field, value, unit, least, most, source) double field;
    STV_GAUGE_NUMBERS(STV_GAUGE_FIELD)
#undef STV_GAUGE_FIELD
};

struct stv_gauge_number_info {
    const char *name;                     /* as in a book, with gauge_ */
    size_t offset;                        /* in struct stv_gauge_numbers */
    double default_nd, least_nd, most_nd; /* in the unit of the entry */
    const char *unit, *source;
};

/* The table's defaults. */
struct stv_gauge_numbers stv_gauge_numbers_default(void);

/* The table as data, in its order. */
const struct stv_gauge_number_info *stv_gauge_number_table(size_t *out_n);

#endif
