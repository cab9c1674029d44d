/* Files of known formats from bytes to a record: chosen by content, packed or not, alone or a
 * folder of years; place and clock from where they are said; averages with their coverage. */
#include "ingest/weather_folder.h"
#include "ingest/weather_format.h"
#include "ingest/weather_meta.h"
#include "model/calendar.h"
#include "model/units.h"
#include "tests/scratch.h"

#include <math.h>
#include <sys/stat.h>
#include <zlib.h>

struct reading {
    struct stv_scratch scratch;
    struct stv_weather_source source;
    struct stv_problems problems;
    struct stv_weather_record record;
    struct stv_weather_meta meta;
};

static void start(struct reading *reading)
{
    *reading = (struct reading){0};
    stv_scratch_open(&reading->scratch);
    stv_weather_meta_init(&reading->source.meta);
    stv_problems_init(&reading->problems);
}

static void done(struct reading *reading)
{
    stv_weather_record_free(&reading->record);
    stv_problems_free(&reading->problems);
    stv_scratch_close(&reading->scratch);
}

static enum stv_status read_path(struct reading *reading, const char *path)
{
    snprintf(reading->source.path, sizeof reading->source.path, "%s", path);
    stv_weather_record_free(&reading->record);
    return stv_weather_read(&reading->source, &reading->problems, &reading->record, &reading->meta);
}

static enum stv_status read_text(struct reading *reading, const char *name, const char *text)
{
    return read_path(reading, stv_scratch_bytes(&reading->scratch, name, text, strlen(text)));
}

static bool is_said(const struct reading *reading, const char *text)
{
    for (size_t i = 0; i < reading->problems.n; i++)
        if (strstr(reading->problems.items[i].message, text))
            return true;
    return false;
}

/* A day of EPW in a made-up place at UTC-06:00; the values are made up. */
static void epw_day(char *out, size_t size, const char *source)
{
    int used =
        snprintf(out, size,
                 "LOCATION,Made Up,TX,USA,%s,000000,33.0,-98.0,-6.0,300\nDESIGN CONDITIONS,0\n"
                 "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n",
                 source);
    for (int hour = 1; hour <= 24; hour++)
        used += snprintf(out + used, size - (size_t)used,
                         "1987,7,4,%d,%d,?9?9,%d.5,12.0,50,97000,0,0,350,%d,0,0,0,0,0,0,180,3.0\n",
                         hour, hour % 2 ? 0 : 60, 20 + hour / 3, hour > 6 && hour < 19 ? 300 : 0);
}

static void epw(void **state)
{
    (void)state;
    char text[4000];
    struct reading reading;
    start(&reading);
    epw_day(text, sizeof text, "made-up");
    stv_assert_ok(read_text(&reading, "any-name.csv", text));
    assert_string_equal(reading.meta.format, "EPW");
    assert_false(reading.record.grid.is_typical);
    assert_int_equal(reading.record.grid.n, 24);
    assert_int_equal(reading.record.grid.utc_offset_min, -360);
    /* The first row, hour 1, is the hour from local midnight: 06:00 UTC. */
    assert_int_equal(reading.record.grid.t0_s,
                     stv_day_from_date((struct stv_date){1987, 7, 4}) * STV_DAY_S + 6 * STV_HOUR_S);
    stv_assert_close(reading.record.columns[STV_WQ_TEMP_C][0], 20.5, 1e-12, 0.0);
    stv_assert_close(reading.record.columns[STV_WQ_TEMP_C][23], 28.5, 1e-12, 0.0);
    stv_assert_close(reading.record.columns[STV_WQ_GHI_W_M2][6], 300.0, 0.0, 0.0);
    assert_null(reading.record.columns[STV_WQ_CLOUD_FRAC]);
    stv_assert_close(reading.record.site.elevation_m, 300.0, 0.0, 0.0);
    assert_int_equal(reading.problems.n_total, 0);
    done(&reading);
    start(&reading);
    epw_day(text, sizeof text, "TMY3");
    stv_assert_ok(read_text(&reading, "x", text));
    assert_true(reading.record.grid.is_typical);
    done(&reading);
}

static void packed(void **state)
{
    (void)state;
    char text[4000];
    struct reading reading;
    start(&reading);
    epw_day(text, sizeof text, "TMY3");
    const char *path = stv_scratch_bytes(&reading.scratch, "year.epw.gz", "", 0);
    gzFile file = gzopen(path, "wb");
    assert_true(gzwrite(file, text, (unsigned)strlen(text)) > 0);
    gzclose(file);
    stv_assert_ok(read_path(&reading, path));
    assert_int_equal(reading.record.grid.n, 24);
    /* Cut in the middle: refused, with what to do. */
    char *bytes;
    size_t n;
    FILE *whole = fopen(path, "rb");
    assert_non_null(whole);
    bytes = malloc(4000);
    n = fread(bytes, 1, 4000, whole);
    fclose(whole);
    const char *cut = stv_scratch_bytes(&reading.scratch, "cut.epw.gz", bytes, n / 2);
    stv_assert_status(read_path(&reading, cut), STV_E_PARSE);
    assert_true(is_said(&reading, "cut short"));
    bytes[n / 2] = (char)(bytes[n / 2] ^ 0x55);
    const char *damaged = stv_scratch_bytes(&reading.scratch, "damaged.epw.gz", bytes, n);
    stv_assert_status(read_path(&reading, damaged), STV_E_PARSE);
    free(bytes);
    done(&reading);
}

/* Reports of two kinds at uneven minutes: hours by nearness, the routine one at equal times. */
#define ASOS_HEAD "station,valid,lon,lat,elevation,tmpc\n"
static void reports_are_averaged(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading);
    stv_assert_ok(read_text(&reading, "r.csv",
                            ASOS_HEAD "MADE,2024-07-01 00:00,-98.0,33.0,300,20.0\n"
                                      "MADE,2024-07-01 00:20,-98.0,33.0,300,22.0\n"
                                      "MADE,2024-07-01 01:00,-98.0,33.0,300,26.0\n"
                                      "MADE,2024-07-01 05:00,-98.0,33.0,300,30.0\n"));
    const struct stv_weather_record *record = &reading.record;
    /* An hour ends at its stamp: 00:00 closes the hour before it. */
    assert_int_equal(record->grid.t0_s,
                     stv_day_from_date((struct stv_date){2024, 6, 30}) * STV_DAY_S +
                         23 * STV_HOUR_S);
    assert_int_equal(record->grid.n, 6);
    stv_assert_close(record->columns[STV_WQ_TEMP_C][0], 20.0, 1e-12, 0.0);
    /* 00:20 speaks for 10 + 20 min, 01:00 for 20 + 30. */
    stv_assert_close(record->columns[STV_WQ_TEMP_C][1], (30.0 * 22.0 + 50.0 * 26.0) / 80.0, 1e-12,
                     0.0);
    assert_true(isnan(record->columns[STV_WQ_TEMP_C][2]));
    stv_assert_close(record->columns[STV_WQ_TEMP_C][5], 30.0, 1e-12, 0.0);
    stv_assert_close(record->covered_frac[0], 20.0 / 60.0, 1e-12, 0.0);
    stv_assert_close(record->covered_frac[1], 1.0, 0.0, 0.0);
    stv_assert_close(record->covered_frac[3], 0.0, 0.0, 0.0);
    assert_non_null(strstr(reading.meta.how, "of 6 hours 3 have no temperature and 1 less"));
    /* Days of a UTC file are cut by the sun: 98 W is seven hours behind, to the nearest. */
    assert_int_equal(record->grid.utc_offset_min, -420);
    assert_true(is_said(&reading, "a gap of 4.0 h"));
    done(&reading);
}

#define CANADA_HEAD                                                                           \
    "\"Longitude (x)\",\"Latitude (y)\",\"Station Name\",\"Climate ID\",\"Date/Time (LST)\"," \
    "\"Temp (C)\",\"Temp Flag\"\n"

static void a_clock_nobody_says(void **state)
{
    (void)state;
    static const char text[] =
        CANADA_HEAD "\"-94.9\",\"54.7\",\"MADE UP\",\"1\",\"2019-10-01 01:00\",\"-3.2\",\"\"\n";
    struct reading reading;
    start(&reading);
    stv_assert_status(read_text(&reading, "c.csv", text), STV_E_USAGE);
    assert_true(is_said(&reading, "local standard time"));
    done(&reading);
    start(&reading);
    snprintf(reading.source.fallback_clock, sizeof reading.source.fallback_clock, "UTC-06:00");
    stv_assert_ok(read_text(&reading, "c.csv", text));
    assert_int_equal(reading.record.grid.t0_s,
                     stv_day_from_date((struct stv_date){2019, 10, 1}) * STV_DAY_S +
                         6 * STV_HOUR_S);
    assert_true(is_said(&reading, "does not say how high"));
    done(&reading);
}

static void a_place_nobody_says(void **state)
{
    (void)state;
    static const char text[] = "STATIONS_ID;MESS_DATUM;QN_9;TT_TU;RF_TU;eor\n"
                               "1;2019112900;3;7.4;89.5;eor\n";
    struct reading reading;
    start(&reading);
    stv_assert_status(read_text(&reading, "d.txt", text), STV_E_USAGE);
    assert_true(is_said(&reading, "where the weather was measured"));
    done(&reading);
}

/* One folder, one station: joined, overlapping, of another place, of another zone. */
static void a_folder_of_years(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading);
    static const char first[] = ASOS_HEAD "MADE,2023-12-31 23:00,-98.0,33.0,300,20.0\n"
                                          "MADE,2024-01-01 00:00,-98.0,33.0,300,21.0\n"
                                          "MADE,2024-01-01 01:00,-98.0,33.0,300,M\n";
    static const char second[] = ASOS_HEAD "MADE,2024-01-01 00:00,-98.0,33.0,300,24.0\n"
                                           "MADE,2024-01-01 01:00,-98.0,33.0,300,25.0\n"
                                           "MADE,2024-01-01 03:00,-98.0,33.0,300,26.0\n";
    (void)stv_scratch_bytes(&reading.scratch, "2023.csv", first, sizeof first - 1);
    (void)stv_scratch_bytes(&reading.scratch, "2024.csv", second, sizeof second - 1);
    (void)stv_scratch_bytes(&reading.scratch, "2024.meta.yaml", "source: made up\n", 16);
    stv_assert_ok(read_path(&reading, reading.scratch.folder));
    assert_int_equal(reading.record.grid.n, 5);
    static const double want[] = {20.0, 21.0, 25.0, (double)NAN, 26.0};
    for (size_t i = 0; i < 5; i++)
        stv_assert_close(reading.record.columns[STV_WQ_TEMP_C][i], want[i], 0.0, 0.0);
    assert_int_equal(reading.problems.n_by_severity[STV_SUSPECT], 1); /* 21 against 24 */
    assert_non_null(strstr(reading.meta.how, "2 files joined"));
    static const char elsewhere[] = ASOS_HEAD "MADE,2024-01-02 00:00,-90.0,33.0,300,24.0\n";
    (void)stv_scratch_bytes(&reading.scratch, "2025.csv", elsewhere, sizeof elsewhere - 1);
    stv_assert_status(read_path(&reading, reading.scratch.folder), STV_E_PARSE);
    assert_true(is_said(&reading, "at another place"));
    done(&reading);
    start(&reading);
    stv_assert_status(read_path(&reading, reading.scratch.folder), STV_E_PARSE);
    assert_true(is_said(&reading, "holds no weather file"));
    done(&reading);
}

/* A year of which a fifth cannot be in C is in F: one refusal, not a finding for each hour.  Made
 * up. */
static void fahrenheit_for_celsius(void **state)
{
    (void)state;
    enum { HOURS = 240, SIZE = HOURS * 90 };
    static char text[SIZE];
    struct reading reading;
    int used = snprintf(text, SIZE, "LOCATION,Made Up,TX,USA,TMY3,000000,33.0,-98.0,-6.0,300\n");
    for (int k = 0; k < HOURS; k++)
        used += snprintf(text + used, (size_t)(SIZE - used),
                         "1987,7,%d,%d,0,?9?9,%d.5,12.0,50,97000,0,0,350,0,0,0,0,0,0,0,180,3.0\n",
                         k / 24 + 1, k % 24 + 1, k % 24 == 15 || k % 5 == 0 ? 95 : 50);
    start(&reading);
    stv_assert_status(read_text(&reading, "f.epw", text), STV_E_PARSE);
    assert_int_equal(reading.problems.n_total, 1);
    assert_int_equal(reading.problems.n_by_severity[STV_REFUSED], 1);
    assert_true(is_said(&reading, "look like F"));
    done(&reading);
}

/* A file that fixes its own clock and names no station says so of one that is asked for. */
static void what_is_passed_over_is_said(void **state)
{
    (void)state;
    char text[4000];
    struct reading reading;
    epw_day(text, sizeof text, "TMY3");
    start(&reading);
    snprintf(reading.source.meta.clock, sizeof reading.source.meta.clock, "UTC-05:00");
    snprintf(reading.source.station, sizeof reading.source.station, "X");
    stv_assert_ok(read_text(&reading, "day.epw", text));
    assert_true(is_said(&reading, "the clock said here is not used"));
    assert_true(is_said(&reading, "the station asked for is not looked for"));
    assert_int_equal(reading.problems.n_total, 2);
    done(&reading);
    start(&reading);
    snprintf(reading.source.meta.clock, sizeof reading.source.meta.clock, "Mars");
    stv_assert_status(read_text(&reading, "day.epw", text), STV_E_PARSE);
    done(&reading);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(epw),
        cmocka_unit_test(packed),
        cmocka_unit_test(reports_are_averaged),
        cmocka_unit_test(a_clock_nobody_says),
        cmocka_unit_test(a_place_nobody_says),
        cmocka_unit_test(a_folder_of_years),
        cmocka_unit_test(fahrenheit_for_celsius),
        cmocka_unit_test(what_is_passed_over_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
