/* Any bytes as a weather file of one format, through everything that reading does.
 *
 *     clang -DSTV_FUZZ_FORMAT=stv__format_epw ...     (tests/fuzz/run.sh builds one for each)
 *
 * Besides the sanitizers' own checks, the counts must add up and the record must be one. */
#include "ingest/weather_known.h"
#include "ingest/weather_meta.h"

#include <stdint.h>
#include <stdlib.h>

#define LEAST_YEAR_S (-4000000000LL)

static bool is_mine(const struct stv_text_file *text)
{
    struct stv_lines lines = {.text = text->text, .n = text->n};
    struct stv_line head[STV_HEAD_LINES];
    size_t n = 0;
    while (n < STV_HEAD_LINES && stv_lines_next(&lines, &head[n]))
        n++;
    return n > 0 && STV_FUZZ_FORMAT.is_mine(head, n);
}

static void check_counts(const struct stv_text_file *text)
{
    struct stv_problems problems;
    stv_problems_init(&problems);
    struct stv_weather_text file = {
        .text = text->text, .n = text->n, .file = "any", .problems = &problems, .station = ""};
    stv_weather_meta_init(&file.meta);
    if (STV_FUZZ_FORMAT.read(&file) == STV_OK &&
        file.n_rows != file.samples.n + file.n_set_aside + file.n_empty)
        abort();
    stv_samples_free(&file.samples);
    stv_problems_free(&problems);
}

static void check_record(const struct stv_text_file *text)
{
    struct stv_weather_source source = {.path = "any",
                                        .has_fallback_site = true,
                                        .fallback_site = {35.0, -101.0, 1100.0},
                                        .fallback_clock = "UTC-06:00"};
    struct stv_weather_record record = {.grid = {.n = 0}};
    struct stv_weather_meta meta;
    struct stv_problems problems;
    stv_problems_init(&problems);
    stv_weather_meta_init(&meta);
    if (stv__weather_known(&STV_FUZZ_FORMAT, text, &source, &problems, &meta, &record) == STV_OK &&
        (record.grid.n == 0 || record.grid.t0_s < LEAST_YEAR_S))
        abort();
    stv_weather_record_free(&record);
    stv_problems_free(&problems);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct stv_text_file text;
    char why[200];
    if (stv_text_file_parse((const char *)data, size, &text, why, sizeof why) == STV_OK &&
        is_mine(&text)) {
        check_counts(&text);
        check_record(&text);
    }
    stv_text_file_free(&text);
    return 0;
}
