/* What a column of a weather record comes to over all that it holds. */
#ifndef STV_INGEST_WEATHER_SUMMARY_H
#define STV_INGEST_WEATHER_SUMMARY_H

#include "model/weather.h"

#include <stddef.h>
#include <stdint.h>

struct stv_weather_summary {
    size_t n; /* known samples; 0: mean is 0, least and most are infinite */
    double mean, least, most;
    int64_t known_s; /* that they stand for */
};
struct stv_weather_summary stv_weather_summary_of(const struct stv_weather_record *record,
                                                  enum stv_weather_quantity quantity);

#endif
