/* Any bytes as a logger's file.  Besides the sanitizers' checks the counts must add up. */
#include "ingest/logger_file.h"
#include "tests/fuzz/fuzz_file.h"

#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void read_as(const char *path, const char *clock)
{
    struct stv_logger_source source = {
        .place = {0, 0, -1, -1}, .from_s = INT64_MIN, .to_s = INT64_MAX};
    struct stv_logger_hours hours = {.grid = {.n = 0}};
    struct stv_logger_report report;
    struct stv_problems problems;
    char why[200];
    memcpy(source.path, path, strlen(path) + 1);
    stv_problems_init(&problems);
    if (stv_clock_parse(clock, &source.clock, why, sizeof why) != STV_OK)
        abort();
    enum stv_status status = stv_logger_file_read(&source, -360, &problems, &hours, &report);
    if (status == STV_OK && report.n_rows != report.n_used + report.n_set_aside)
        abort();
    if (status != STV_OK && problems.n_by_severity[STV_REFUSED] == 0 && status != STV_E_MEMORY)
        abort(); /* refused without a word */
    stv_logger_hours_free(&hours);
    stv_logger_report_free(&report);
    stv_problems_free(&problems);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[FUZZ_PATH];
    fuzz_write("logger.csv", data, size, path);
    read_as(path, "UTC");
    read_as(path, "CST6CDT,M3.2.0,M11.1.0");
    return 0;
}
