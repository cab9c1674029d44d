/* A published year of weather, completed. */
#ifndef STV_TESTS_PUBLISHED_YEAR_H
#define STV_TESTS_PUBLISHED_YEAR_H

#include "ingest/weather_folder.h"
#include "ingest/weather_meta.h"
#include "tests/published_data.h"

/* Skips the test where the file is absent.  Free with stv_weather_free. */
static inline void stv_published_year(const char *name, struct stv_weather *out)
{
    struct stv_weather_source source = {.station = ""};
    struct stv_weather_record record = {0};
    struct stv_weather_meta meta;
    struct stv_problems problems;
    stv_published_path(name, source.path, sizeof source.path);
    stv_weather_meta_init(&source.meta);
    stv_problems_init(&problems);
    stv_assert_ok(stv_weather_read(&source, &problems, &record, &meta));
    record.site = meta.site;
    stv_assert_ok(stv_weather_complete(&record, out));
    stv_weather_record_free(&record);
    stv_problems_free(&problems);
}

#endif
