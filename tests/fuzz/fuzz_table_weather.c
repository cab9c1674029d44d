/* Any bytes as a weather file that names its own quantities, or is of any format at all. */
#include "ingest/weather_folder.h"
#include "ingest/weather_meta.h"
#include "tests/fuzz/fuzz_file.h"

#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct stv_weather_source source = {.has_fallback_site = true,
                                        .fallback_site = {35.0, -101.0, 1100.0},
                                        .fallback_clock = "UTC-06:00"};
    struct stv_weather_record record = {.grid = {.n = 0}};
    struct stv_problems problems;
    char path[FUZZ_PATH];
    stv_problems_init(&problems);
    stv_weather_meta_init(&source.meta);
    fuzz_write("weather.csv", data, size, path);
    memcpy(source.path, path, strlen(path) + 1);
    enum stv_status status = stv_weather_read(&source, &problems, &record, NULL);
    if (status == STV_OK && record.grid.n == 0)
        abort();
    if (status != STV_OK && problems.n_by_severity[STV_REFUSED] == 0 && status != STV_E_MEMORY)
        abort(); /* refused without a word */
    stv_weather_record_free(&record);
    stv_problems_free(&problems);
    return 0;
}
