/* Weather files: the shipped samples, the descriptions beside them, and every fault of a machine.
 * Row counts, dates and extremes of the samples: weather-samples/PROVENANCE.md. */
#include "ingest/weather_file.h"
#include "ingest/weather_meta.h"
#include "model/calendar.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/scratch.h"

#define SAMPLES STV_SOURCE_DIR "/weather-samples/"
#define EXACT 1e-12

struct reading {
    struct stv_weather_source source;
    struct stv_problems problems;
    struct stv_weather_record record;
    struct stv_weather_meta meta;
};

static enum stv_status read_file(struct reading *reading, const char *path, const char *station)
{
    snprintf(reading->source.path, sizeof reading->source.path, "%s", path);
    snprintf(reading->source.station, sizeof reading->source.station, "%s", station);
    stv_problems_init(&reading->problems);
    return stv_weather_file_read(&reading->source, &reading->problems, &reading->record,
                                 &reading->meta);
}

static void done(struct reading *reading)
{
    stv_weather_record_free(&reading->record);
    stv_problems_free(&reading->problems);
}

static double value(const struct reading *reading, enum stv_weather_quantity quantity, size_t k)
{
    assert_non_null(reading->record.columns[quantity]);
    assert_true(k < reading->record.grid.n);
    return reading->record.columns[quantity][k];
}

static double most(const struct reading *reading, enum stv_weather_quantity quantity)
{
    double best = -HUGE_VAL;
    for (size_t k = 0; k < reading->record.grid.n; k++)
        best = fmax(best, value(reading, quantity, k));
    return best;
}

static double least(const struct reading *reading, enum stv_weather_quantity quantity)
{
    double best = HUGE_VAL;
    for (size_t k = 0; k < reading->record.grid.n; k++)
        best = fmin(best, value(reading, quantity, k));
    return best;
}

static int64_t day(int32_t year, int32_t month, int32_t number)
{
    struct stv_date date = {year, month, number};
    return stv_day_from_date(date);
}

static size_t n_of(const struct reading *reading, enum stv_severity severity)
{
    return reading->problems.n_by_severity[severity];
}

/* The first problem whose message holds a text. */
static const struct stv_problem *problem_with(const struct reading *reading, const char *text)
{
    for (size_t i = 0; i < reading->problems.n; i++)
        if (strstr(reading->problems.items[i].message, text))
            return &reading->problems.items[i];
    fail_msg("no problem says \"%s\"", text);
    return NULL;
}

/* First and last rows as the file has them:
 * New York,2012-01-01,1.8,10.0,3.3,5.1,rain and New York,2015-12-31,1.5,11.1,6.1,5.5,rain */
static void new_york(void **state)
{
    (void)state;
    struct reading reading = {0};
    stv_assert_ok(read_file(&reading, SAMPLES "weather.csv", "New York"));
    const struct stv_grid *grid = &reading.record.grid;
    assert_int_equal(reading.problems.n_total, 0);
    assert_int_equal(grid->n, 1461);
    assert_int_equal(grid->step_s, STV_DAY_S);
    assert_int_equal(grid->utc_offset_min, -300);
    assert_int_equal(grid->t0_s, day(2012, 1, 1) * STV_DAY_S + 5 * STV_HOUR_S);
    assert_int_equal(stv_grid_local_day(grid, 1460, NULL), day(2015, 12, 31));
    assert_false(grid->is_typical);
    stv_assert_close(value(&reading, STV_WQ_TEMP_MAX_C, 0), 10.0, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_MIN_C, 0), 3.3, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_WIND_M_S, 0), 5.1, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_MIN_C, 1460), 6.1, EXACT, 0.0);
    stv_assert_close(most(&reading, STV_WQ_TEMP_MAX_C), 37.8, EXACT, 0.0);
    stv_assert_close(least(&reading, STV_WQ_TEMP_MIN_C), -16.0, EXACT, 0.0);
    assert_null(reading.record.columns[STV_WQ_TEMP_C]);
    stv_assert_close(reading.record.site.latitude_deg, 40.7, EXACT, 0.0);
    done(&reading);
}

static void the_other_station_has_its_own_clock(void **state)
{
    (void)state;
    struct reading reading = {0};
    stv_assert_ok(read_file(&reading, SAMPLES "weather.csv", "seattle"));
    assert_int_equal(reading.record.grid.utc_offset_min, -480);
    assert_int_equal(reading.record.grid.n, 1461);
    stv_assert_close(reading.record.site.longitude_deg, -122.3, EXACT, 0.0);
    stv_assert_close(most(&reading, STV_WQ_TEMP_MAX_C), 35.6, EXACT, 0.0);
    done(&reading);
}

static void stations_are_asked_for(void **state)
{
    (void)state;
    struct reading reading = {0};
    stv_assert_status(read_file(&reading, SAMPLES "weather.csv", ""), STV_E_USAGE);
    assert_non_null(
        strstr(problem_with(&reading, "several stations")->message, "Seattle, New York"));
    assert_null(reading.record.columns[STV_WQ_TEMP_MAX_C]);
    done(&reading);
    stv_assert_status(read_file(&reading, SAMPLES "weather.csv", "New Yrok"), STV_E_USAGE);
    problem_with(&reading, "did you mean New York?");
    done(&reading);
    stv_assert_status(read_file(&reading, SAMPLES "weather.csv", "Quill Basin"), STV_E_USAGE);
    problem_with(&reading, "no such station. The file has: Seattle, New York");
    done(&reading);
}

/* 104.0 F is 40.0 C, on 2005-07-24; -17.0 F is the least, -27.2 C.  First row: 15.1 F, 30 F, dew
 * point 13.45 F, 78 %, 30.43 inHg at sea level, 5.2 mph. */
static void chicago(void **state)
{
    (void)state;
    struct reading reading = {0};
    stv_assert_ok(read_file(&reading, SAMPLES "chicago-weather.csv", ""));
    const struct stv_grid *grid = &reading.record.grid;
    assert_int_equal(reading.problems.n_total, 0);
    assert_int_equal(grid->n, 5698);
    assert_int_equal(stv_grid_local_day(grid, 0, NULL), day(2001, 1, 22));
    assert_int_equal(stv_grid_local_day(grid, 5697, NULL), day(2016, 8, 28));
    stv_assert_close(most(&reading, STV_WQ_TEMP_MAX_C), 40.0, EXACT, 0.0);
    size_t hottest = (size_t)(day(2005, 7, 24) - day(2001, 1, 22));
    stv_assert_close(value(&reading, STV_WQ_TEMP_MAX_C, hottest), 40.0, EXACT, 0.0);
    stv_assert_close(least(&reading, STV_WQ_TEMP_MIN_C), (-17.0 - 32.0) / 1.8, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_DEW_POINT_C, 0), (13.45 - 32.0) / 1.8, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_RH_FRAC, 0), 0.78, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_WIND_M_S, 0), 5.2 * 0.44704, EXACT, 0.0);
    /* Brought down to 190 m: 2.24 % less in the standard atmosphere (its tables: 990.7 hPa at
     * 190 m), good to rounding of those tables. */
    stv_assert_close(value(&reading, STV_WQ_PRESSURE_PA, 0), 30.43 * 3386.389 * 990.7 / 1013.25,
                     1e-4, 0.0);
    done(&reading);
}

/* 2010-01-01T01:00 opens the file, so the year's first hour is missing; a typical year stands in
 * 2001. */
static void seattle_normals(void **state)
{
    (void)state;
    struct reading reading = {0};
    stv_assert_ok(read_file(&reading, SAMPLES "seattle-weather-hourly-normals.csv", ""));
    const struct stv_grid *grid = &reading.record.grid;
    assert_int_equal(reading.problems.n_total, 0);
    assert_int_equal(grid->n, 8760);
    assert_int_equal(grid->step_s, STV_HOUR_S);
    assert_true(grid->is_typical);
    assert_int_equal(grid->t0_s, day(2001, 1, 1) * STV_DAY_S + 8 * STV_HOUR_S);
    assert_true(isnan(value(&reading, STV_WQ_TEMP_C, 0)));
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 4.0, EXACT, 0.0);
    stv_assert_close(least(&reading, STV_WQ_TEMP_C), 3.1, EXACT, 0.0);
    stv_assert_close(most(&reading, STV_WQ_TEMP_C), 24.4, EXACT, 0.0);
    assert_non_null(strstr(reading.meta.licence, "Government"));
    done(&reading);
}

/* A description that a caller gives for files without one. */
static void describe(struct reading *reading, const char *clock, const char *stamp)
{
    stv_weather_meta_init(&reading->source.meta);
    struct stv_weather_meta *meta = &reading->source.meta;
    meta->site = (struct stv_site_position){35.2, -101.7, 1100.0};
    meta->has_site = true;
    snprintf(meta->clock, sizeof meta->clock, "%s", clock);
    snprintf(meta->stamp, sizeof meta->stamp, "%s", stamp);
}

static enum stv_status read_text(struct reading *reading, struct stv_scratch *scratch,
                                 const char *text)
{
    stv_scratch_open(scratch);
    return read_file(reading, stv_scratch_text(scratch, "basin.csv", text), "");
}

static void headers_that_speak_for_themselves(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC-06:00", "");
    stv_assert_ok(read_text(&reading, &scratch,
                            "time_utc,temp_f,RH [%],wind_m_s,ghi_w_m2,pressure (hPa),remark\n"
                            "2024-06-01T00:00,68,55.5,2.5,-3,900,a\n"
                            "2024-06-01T01:00,69.8,54,2.4,12,900.5,b\n"));
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 0), 20.0, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 21.0, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_RH_FRAC, 0), 0.555, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_PRESSURE_PA, 1), 90050.0, EXACT, 0.0);
    /* A little below zero at night is zero, and said. */
    stv_assert_close(value(&reading, STV_WQ_GHI_W_M2, 0), 0.0, 0.0, 0.0);
    assert_int_equal(problem_with(&reading, "used as zero")->severity, STV_NOTED);
    assert_int_equal(n_of(&reading, STV_SET_ASIDE), 0);
    done(&reading);
    stv_scratch_close(&scratch);

    stv_assert_status(read_text(&reading, &scratch, "time,temperature\n2024-06-01 00:00,20\n"),
                      STV_E_PARSE);
    problem_with(&reading, "temperature [C]");
    done(&reading);
    stv_scratch_close(&scratch);
}

/* End-stamped hours belong to the hour before; instants and starts to the hour they open. */
static void stamps_of_starts_and_ends(void **state)
{
    (void)state;
    static const char text[] = "time,temp [C]\n2024-06-01 01:00,20.5\n2024-06-01 02:00,21.5\n";
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC+05:30", "start");
    stv_assert_ok(read_text(&reading, &scratch, text));
    assert_int_equal(reading.record.grid.t0_s, day(2024, 5, 31) * STV_DAY_S + 70200);
    assert_int_equal(reading.record.grid.utc_offset_min, 330);
    done(&reading);
    stv_scratch_close(&scratch);
    describe(&reading, "UTC+05:30", "end");
    stv_assert_ok(read_text(&reading, &scratch, text));
    assert_int_equal(reading.record.grid.t0_s, day(2024, 5, 31) * STV_DAY_S + 66600);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 21.5, EXACT, 0.0);
    done(&reading);
    stv_scratch_close(&scratch);
}

static void faults_are_set_aside_and_located(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC", "");
    stv_assert_ok(read_text(&reading, &scratch,
                            "time,temp [C],rh [%],wind [m/s]\n" /* line 1 */
                            "2024-06-01 00:00,20.1,50,1.0\n"
                            "2024-06-01 01:00,20.2,140,1.1\n" /* humidity */
                            "2024-06-01 02:00,NaN,52,1.2\n"   /* a word */
                            "2024-06-01 03:00,-999,53,1.3\n"  /* a code */
                            "2024-06-01 04:00,85.0,54,1.4\n"
                            "2024-06-01 05:00,300,55,1.5\n" /* cannot be */
                            "2024-06-01 06:00,20.7,56,1.6\n"
                            "2024-06-01 06:00,20.7,56,1.6\n"  /* repeated */
                            "2024-06-01 06:00,22.7,56,1.6\n"  /* in conflict */
                            "2024-06-01 07:00,20\n"           /* cut short */
                            "the station was moved here,,,\n" /* text */
                            "2024-06-31 08:00,20.9,57,1.7\n"  /* no such day */
                            "2024-06-01 13:00,21.0,58,1.8\n"  /* after a gap */
                            "2024-06-01 14:00,,,\n"));        /* nothing */
    assert_int_equal(reading.record.grid.n, 14);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 20.2, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_RH_FRAC, 1), (double)NAN, 0.0, 0.0);
    for (size_t k = 2; k <= 5; k++) {
        stv_assert_close(value(&reading, STV_WQ_TEMP_C, k), (double)NAN, 0.0, 0.0);
        stv_assert_close(value(&reading, STV_WQ_RH_FRAC, k), 0.50 + 0.01 * (double)k, EXACT, 0.0);
    }
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 6), 20.7, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 7), (double)NAN, 0.0, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 13), 21.0, EXACT, 0.0);

    const struct stv_problem *humid = problem_with(&reading, "not between 0 and 103 %");
    assert_int_equal(humid->row, 3);
    assert_int_equal(humid->column, 23);
    assert_string_equal(humid->found, "140");
    assert_int_equal(problem_with(&reading, "is not a number")->row, 4);
    const struct stv_problem *code = problem_with(&reading, "code for no value");
    assert_int_equal(code->row, 5);
    assert_int_equal(code->last_row, 6);
    assert_int_equal(code->count, 2);
    assert_int_equal(problem_with(&reading, "between -60 and 75 C")->row, 7);
    assert_int_equal(problem_with(&reading, "repeats")->row, 9);
    assert_int_equal(problem_with(&reading, "other values")->row, 10);
    assert_int_equal(problem_with(&reading, "cut short")->row, 11);
    assert_int_equal(problem_with(&reading, "not a date")->row, 12);
    assert_int_equal(problem_with(&reading, "no such day")->row, 13);
    assert_int_equal(problem_with(&reading, "a gap of 7.0 h")->severity, STV_NOTED);
    assert_int_equal(n_of(&reading, STV_SET_ASIDE), 10);
    assert_int_equal(n_of(&reading, STV_REFUSED), 0);
    done(&reading);
    stv_scratch_close(&scratch);
}

static void contradictions(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC", "");
    stv_assert_ok(read_text(&reading, &scratch,
                            "date;temp_min_c;temp_max_c;wind_m_s\n2024-06-01;12,5;21,5;2\n"
                            "2024-06-02;22,5;21,0;2\n2024-06-04;10,0;19,0;2\n"));
    assert_int_equal(reading.record.grid.n, 4);
    stv_assert_close(value(&reading, STV_WQ_TEMP_MIN_C, 0), 12.5, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_MIN_C, 1), (double)NAN, 0.0, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_MAX_C, 1), (double)NAN, 0.0, 0.0);
    stv_assert_close(value(&reading, STV_WQ_WIND_M_S, 1), 2.0, EXACT, 0.0);
    problem_with(&reading, "lowest temperature is above the highest");
    problem_with(&reading, "nothing between");
    done(&reading);
    stv_scratch_close(&scratch);
    stv_assert_ok(read_text(&reading, &scratch,
                            "time,temp_c,dew_point_c\n2024-06-01 00:00,12,11\n"
                            "2024-06-01 01:00,12,12.4\n2024-06-01 02:00,12,14\n"));
    stv_assert_close(value(&reading, STV_WQ_DEW_POINT_C, 1), 12.4, EXACT, 0.0);
    stv_assert_close(value(&reading, STV_WQ_DEW_POINT_C, 2), (double)NAN, 0.0, 0.0);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 2), 12.0, EXACT, 0.0);
    done(&reading);
    stv_scratch_close(&scratch);
}

/* A local clock: nothing is missing over the spring hole, and the double hour is two hours. */
static void changes_of_the_clock(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "MST7MDT,M3.2.0,M11.1.0", "");
    stv_assert_ok(read_text(&reading, &scratch,
                            "time,temp [C]\n2024-03-10 01:00,1\n2024-03-10 02:30,9\n"
                            "2024-03-10 03:00,2\n2024-03-10 04:00,3\n"));
    assert_int_equal(reading.record.grid.n, 3);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 2.0, EXACT, 0.0);
    assert_int_equal(problem_with(&reading, "does not exist")->row, 3);
    done(&reading);
    stv_scratch_close(&scratch);
    stv_assert_ok(read_text(&reading, &scratch,
                            "time,temp [C]\n2024-11-03 00:00,1\n2024-11-03 01:00,2\n"
                            "2024-11-03 01:00,3\n2024-11-03 02:00,4\n"));
    assert_int_equal(reading.problems.n_total, 0);
    assert_int_equal(reading.record.grid.n, 4);
    for (size_t k = 0; k < 4; k++)
        stv_assert_close(value(&reading, STV_WQ_TEMP_C, k), 1.0 + (double)k, EXACT, 0.0);
    done(&reading);
    stv_scratch_close(&scratch);
}

/* Twenty-minute reports become the mean of their hour; rows out of order are sorted. */
static void finer_rows_are_averaged(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC", "");
    stv_assert_ok(read_text(&reading, &scratch,
                            "time,temp [C]\n2024-06-01 01:00,30\n2024-06-01 00:00,10\n"
                            "2024-06-01 00:20,12\n2024-06-01 00:40,17\n"));
    assert_int_equal(reading.record.grid.n, 2);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 0), 13.0, EXACT, 0.0);
    problem_with(&reading, "time goes back");
    done(&reading);
    stv_scratch_close(&scratch);
}

static void files_that_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum stv_status status;
        const char *says;
    } bad[] = {
        {"", STV_E_PARSE, "empty"},
        {"<!DOCTYPE html><html><body>404</body></html>", STV_E_PARSE, "web page"},
        {"%PDF-1.7 x", STV_E_PARSE, "PDF"},
        {"time,temp [C]\n", STV_E_NO_DATA, "no row"},
        {"time,temp [C]\nlater,NaN\n", STV_E_NO_DATA, "no row"},
        {"time,temp [C]\n03/04/2024 10:00,20\n03/04/2024 11:00,20\n", STV_E_PARSE, "day first"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct stv_scratch scratch;
        struct reading reading = {0};
        describe(&reading, "UTC", "");
        stv_assert_status(read_text(&reading, &scratch, bad[i].text), bad[i].status);
        assert_true(n_of(&reading, STV_REFUSED) > 0);
        problem_with(&reading, bad[i].says);
        assert_null(reading.record.columns[STV_WQ_TEMP_C]);
        done(&reading);
        stv_scratch_close(&scratch);
    }
    struct reading reading = {0};
    stv_assert_status(read_file(&reading, SAMPLES "none.csv", ""), STV_E_IO);
    done(&reading);
}

static void place_and_clock_are_asked_for(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    static const char text[] = "time,temp [C]\n2024-06-01 01:00,20.5\n";
    stv_assert_status(read_text(&reading, &scratch, text), STV_E_USAGE);
    problem_with(&reading, "position");
    done(&reading);
    stv_scratch_close(&scratch);
    describe(&reading, "", "");
    stv_assert_status(read_text(&reading, &scratch, text), STV_E_USAGE);
    problem_with(&reading, "clock");
    done(&reading);
    stv_scratch_close(&scratch);
}

static enum stv_status read_with_meta(struct reading *reading, struct stv_scratch *scratch,
                                      const char *meta, const char *text)
{
    stv_scratch_open(scratch);
    stv_scratch_text(scratch, "basin.meta.yaml", meta);
    return read_file(reading, stv_scratch_text(scratch, "basin.csv", text), "");
}

/* The caller's words win over the file's; what the caller leaves out comes from the file. */
static void callers_win(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    stv_weather_meta_init(&reading.source.meta);
    snprintf(reading.source.meta.clock, sizeof reading.source.meta.clock, "UTC-03:00");
    stv_assert_ok(read_with_meta(
        &reading, &scratch,
        "clock: UTC-06:00\nsource: a hill\ncolumns:\n  air: {quantity: temperature, unit: F}\n"
        "position: {latitude: 35.2 N, longitude: 101.7 W, elevation: 3609 ft}\n",
        "time,air,other\n2024-06-01 01:00,50,1\n2024-06-01 02:00,41,2\n"));
    assert_int_equal(reading.record.grid.utc_offset_min, -180);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 5.0, EXACT, 0.0);
    stv_assert_close(reading.record.site.longitude_deg, -101.7, EXACT, 0.0);
    stv_assert_close(reading.record.site.elevation_m, 3609.0 * 0.3048, EXACT, 0.0);
    assert_string_equal(reading.meta.source, "a hill");
    done(&reading);
    stv_scratch_close(&scratch);
}

static void descriptions_that_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *meta;
        size_t row, column;
        const char *says;
    } bad[] = {
        {"clok: UTC\n", 1, 1, "clock"},
        {"clock: UTC\nstep: week\n", 2, 7, ""},
        {"clock: noon\n", 1, 8, "not a clock"},
        {"columns:\n  air: {quantity: temprature, unit: C}\n", 2, 19, "temperature"},
        {"columns:\n  air: {quantity: temperature, unit: \"%\"}\n", 2, 38, ""},
        {"columns:\n  air: {quantity: temperature}\n", 2, 8, "unit"},
        {"position: {latitude: 91, longitude: 0, elevation: 3}\n", 1, 22, ""},
        {"position: {latitude: 35.2, longitude: -101.7}\n", 1, 11, "elevation"},
        {"stations: [Here, There]\n", 1, 11, ""},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct stv_scratch scratch;
        struct reading reading = {0};
        describe(&reading, "UTC", "");
        stv_assert_status(
            read_with_meta(&reading, &scratch, bad[i].meta, "time,air\n2024-06-01 01:00,20.5\n"),
            STV_E_PARSE);
        const struct stv_problem *problem = problem_with(&reading, bad[i].says);
        assert_int_equal(problem->severity, STV_REFUSED);
        assert_int_equal(problem->row, bad[i].row);
        assert_int_equal(problem->column, bad[i].column);
        assert_non_null(strstr(problem->file, "basin.meta.yaml"));
        done(&reading);
        stv_scratch_close(&scratch);
    }
}

static void columns_that_are_not_there(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC", "");
    stv_assert_status(read_with_meta(&reading, &scratch,
                                     "columns:\n  air_temp: {quantity: temperature, unit: C}\n"
                                     "  rh: {quantity: humidity, unit: \"%\"}\n",
                                     "time,air_tmp,rh\n2024-06-01 01:00,20.5,50\n"),
                      STV_E_PARSE);
    problem_with(&reading, "did you mean \"air_tmp\"?");
    done(&reading);
    stv_scratch_close(&scratch);
    stv_assert_status(read_with_meta(&reading, &scratch,
                                     "columns:\n  a: {quantity: temperature, unit: C}\n"
                                     "  b: {quantity: temperature, unit: F}\n",
                                     "time,a,b\n2024-06-01 01:00,20.5,50\n"),
                      STV_E_PARSE);
    problem_with(&reading, "two columns for one quantity");
    done(&reading);
    stv_scratch_close(&scratch);
}

/* A typical year put together from months of several years: one year, no leap day. */
static void typical_years(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    struct reading reading = {0};
    describe(&reading, "UTC", "");
    reading.source.meta.is_typical = true;
    reading.source.meta.step_s = STV_DAY_S;
    stv_assert_ok(read_text(&reading, &scratch,
                            "date,temp [C]\n1996-02-28,1.5\n1996-02-29,7.5\n1983-03-01,2.5\n"));
    assert_int_equal(reading.record.grid.n, 2);
    assert_int_equal(reading.record.grid.t0_s, day(2001, 2, 28) * STV_DAY_S);
    stv_assert_close(value(&reading, STV_WQ_TEMP_C, 1), 2.5, EXACT, 0.0);
    assert_int_equal(problem_with(&reading, "29 February")->row, 3);
    done(&reading);
    stv_scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(new_york),
        cmocka_unit_test(the_other_station_has_its_own_clock),
        cmocka_unit_test(stations_are_asked_for),
        cmocka_unit_test(chicago),
        cmocka_unit_test(seattle_normals),
        cmocka_unit_test(headers_that_speak_for_themselves),
        cmocka_unit_test(stamps_of_starts_and_ends),
        cmocka_unit_test(faults_are_set_aside_and_located),
        cmocka_unit_test(contradictions),
        cmocka_unit_test(changes_of_the_clock),
        cmocka_unit_test(finer_rows_are_averaged),
        cmocka_unit_test(files_that_are_refused),
        cmocka_unit_test(place_and_clock_are_asked_for),
        cmocka_unit_test(callers_win),
        cmocka_unit_test(descriptions_that_are_refused),
        cmocka_unit_test(columns_that_are_not_there),
        cmocka_unit_test(typical_years),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
