/* Logger files: the dialects that racks' loggers write, and every way in which they go wrong.
 * All files are made up here. */
#include "ingest/logger_file.h"
#include "model/calendar.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/scratch.h"

#define EXACT 1e-12
#define BUFFER 65536

struct reading {
    struct stv_logger_source source;
    struct stv_problems problems;
    struct stv_logger_hours hours;
    struct stv_logger_report report;
    struct stv_scratch scratch;
};

static int64_t at(int32_t month, int32_t day, int32_t hour)
{
    struct stv_date date = {2024, month, day};
    return stv_day_from_date(date) * STV_DAY_S + (int64_t)hour * STV_HOUR_S;
}

static void start(struct reading *reading, const char *clock)
{
    char why[200];
    *reading = (struct reading){0};
    stv_assert_ok(stv_clock_parse(clock, &reading->source.clock, why, sizeof why));
    reading->source.from_s = INT64_MIN;
    reading->source.to_s = INT64_MAX;
    reading->source.place = (struct stv_place){0, 3, 1, -1};
    snprintf(reading->source.label, sizeof reading->source.label, "rack.csv");
}

static enum stv_status read_bytes(struct reading *reading, const void *bytes, size_t n)
{
    stv_scratch_open(&reading->scratch);
    stv_problems_init(&reading->problems);
    const char *path = stv_scratch_bytes(&reading->scratch, "rack.csv", bytes, n);
    snprintf(reading->source.path, sizeof reading->source.path, "%s", path);
    enum stv_status status =
        stv_logger_file_read(&reading->source, reading->source.clock.standard_offset_min,
                             &reading->problems, &reading->hours, &reading->report);
    assert_int_equal(reading->report.n_rows, reading->report.n_used + reading->report.n_set_aside);
    return status;
}

static enum stv_status read_text(struct reading *reading, const char *text)
{
    return read_bytes(reading, text, strlen(text));
}

static void done(struct reading *reading)
{
    stv_logger_hours_free(&reading->hours);
    stv_logger_report_free(&reading->report);
    stv_problems_free(&reading->problems);
    stv_scratch_close(&reading->scratch);
}

static const struct stv_problem *problem_with(const struct reading *reading, const char *text)
{
    for (size_t i = 0; i < reading->problems.n; i++)
        if (strstr(reading->problems.items[i].message, text))
            return &reading->problems.items[i];
    fail_msg("no problem says \"%s\"", text);
    return NULL;
}

static void check_air(const struct reading *reading, size_t k, double want_c)
{
    assert_true(k < reading->hours.grid.n);
    stv_assert_close(reading->hours.air_c[k], want_c, EXACT, 0.0);
}

static void half_hours_become_hours(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC-06:00");
    stv_assert_ok(read_text(&reading, "Date Time,Temperature (C),Humidity (%)\n"
                                      "2024-06-01 00:00,20.2,60\n2024-06-01 00:30,20.8,62\n"
                                      "2024-06-01 01:00,21.4,61\n2024-06-01 01:30,22.0,59\n"));
    assert_int_equal(reading.problems.n_total, 0);
    assert_int_equal(reading.hours.grid.n, 2);
    assert_int_equal(reading.hours.grid.t0_s, at(6, 1, 6));
    assert_int_equal(reading.hours.grid.utc_offset_min, -360);
    assert_int_equal(reading.hours.place.tier_idx, 3);
    check_air(&reading, 0, 20.5);
    check_air(&reading, 1, 21.7);
    stv_assert_close(reading.hours.rh_frac[0], 0.61, EXACT, 0.0);
    assert_int_equal(reading.report.n_rows, 4);
    assert_int_equal(reading.report.n_hours_missing, 0);
    stv_assert_close(reading.report.coverage_frac, 1.0, 0.0, 0.0);
    done(&reading);
}

/* The same two hours in the ways that loggers spell them. */
static void dialects(void **state)
{
    (void)state;
    static const struct {
        const char *text;
    } spelt[] = {
        /* Preamble, Fahrenheit, 12-hour clock, month first by its dates, CRLF. */
        {"Serial: 12345\r\nSite, shed; north end; low; rack\r\n\r\n"
         "#,\"Date Time, GMT-06:00\",\"Temp, \xC2\xB0"
         "F (S/N: 77)\",\"RH, % (S/N: 77)\"\r\n"
         "1,05/31/24 11:00:00 PM,68.9,60\r\n2,06/01/24 12:00:00 AM,71.06,61\r\n"},
        /* Semicolons, decimal commas, day first, Latin-1 degree sign. */
        {"Datum/Zeit: siehe unten\nDate;Temp [\xB0"
         "C];Rel. Feuchte [%]\n31.05.2024 23:00;20,5;60,0\n"
         "01.06.2024 00:00;21,7;61,0\n"},
        /* Tabs, date and time apart, a row of units. */
        {"Date\tTime\tTemperature\tHumidity\n\t\t\xC2\xB0"
         "C\t%RH\n2024-05-31\t23:00\t20.5\t60\n"
         "2024-06-01\t00:00\t21.7\t61\n"},
        /* Units in the cells, a byte-order mark, minimum and maximum beside the mean. */
        {"\xEF\xBB\xBF"
         "time,temp min,temp avg,temp max,humidity\n"
         "2024-05-31T23:00,19 C,20.5 C,22 C,60 %RH\n2024-06-01T00:00,19 C,21.7 C,23 C,61 %RH\n"},
        /* A temperature stays one where the header tells that it hung in the sun. */
        {"time,temp sun side (C),rh (%)\n"
         "2024-05-31T23:00,20.5,60\n2024-06-01T00:00,21.7,61\n"},
        /* Stamps with their own offset; the clock does not matter. */
        {"timestamp,temp_c,rh_frac\n2024-06-01T05:00:00Z,20.5,0.60\n"
         "2024-06-01T01:00:00-05:00,21.7,0.61\n"},
    };
    for (size_t i = 0; i < sizeof spelt / sizeof spelt[0]; i++) {
        struct reading reading;
        start(&reading, "UTC-06:00");
        stv_assert_ok(read_text(&reading, spelt[i].text));
        assert_int_equal(reading.hours.grid.n, 2);
        assert_int_equal(reading.hours.grid.t0_s, at(6, 1, 5));
        check_air(&reading, 0, 20.5);
        check_air(&reading, 1, 21.7);
        stv_assert_close(reading.hours.rh_frac[1], 0.61, EXACT, 0.0);
        assert_int_equal(reading.problems.n_by_severity[STV_SET_ASIDE], 0);
        done(&reading);
    }
}

static void preamble_lines_are_counted(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "a,b,c\n\nTime;Temp (C)\n2024-06-01 00:00;20,5\n"
                                      "2024-06-01 01:00;Err\n2024-06-01 02:00;20,9\n"));
    assert_int_equal(problem_with(&reading, "is not a number")->row, 5);
    assert_int_equal(reading.problems.n_total, 1); /* a row without a value is said by it alone */
    done(&reading);
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time;Temp (C)\n2024-06-01 00:00;20,5\n2024-06-01 01:00;\n"
                                      "2024-06-01 02:00;20,9\n2024-06-01 03:00;\n"));
    assert_int_equal(problem_with(&reading, "without any value")->row, 3);
    assert_int_equal(problem_with(&reading, "without any value")->last_row, 5);
    assert_int_equal(problem_with(&reading, "without any value")->count, 2);
    done(&reading);
}

static void each_fault_is_said(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C),RH (%)\n"
                                      "2024-06-01 00:00,20.1,50\n"
                                      "2024-06-01 01:00,20.2,140\n" /* line 3 */
                                      "2024-06-01 02:00,---,52\n"
                                      "2024-06-01 03:00,-127,53\n"
                                      "2024-06-01 04:00,85.0,54\n"
                                      "2024-06-01 05:00,9999,\n"
                                      "2024-06-01 06:00,20.7,102\n" /* line 8: wet, used */
                                      "2024-06-01 06:00,20.7,102\n"
                                      "2024-06-01 06:00,23.7,56\n"
                                      "2024-06-01 07:00\n"
                                      "Time,Temp (C),RH (%)\n"
                                      "Host connected,,\n"
                                      "2024-06-01 08:00,-40.0,58\n"
                                      "2024-06-01 09:00,20.9,58\n"
                                      "2000-01-01 00:00,21.0,58\n"
                                      "2024-06-01 10:00,21.1,5")); /* line 17: no end */
    const struct stv_logger_report *report = &reading.report;
    assert_int_equal(report->n_rows, 15); /* the header again is no row */
    /* Lines 7, 9, 10, 11, 13, 16. */
    assert_int_equal(report->n_set_aside, 6);
    assert_int_equal(report->n_used, 9);
    /* 140, ---, -127, 85.0, -40.0; 9999 is line 7. */
    assert_int_equal(report->n_values_set_aside, 5);
    assert_int_equal(problem_with(&reading, "not between 0 and 103 %")->row, 3);
    assert_string_equal(problem_with(&reading, "not between 0 and 103 %")->found, "140");
    assert_int_equal(problem_with(&reading, "is not a number")->row, 4);
    const struct stv_problem *code = problem_with(&reading, "code for no value");
    assert_int_equal(code->row, 5);
    assert_int_equal(code->last_row, 7);
    assert_int_equal(code->count, 3);
    assert_int_equal(problem_with(&reading, "used as 100 %")->row, 8);
    assert_int_equal(problem_with(&reading, "repeats")->row, 9);
    assert_int_equal(problem_with(&reading, "other values")->row, 10);
    assert_int_equal(problem_with(&reading, "cut short")->row, 11);
    assert_int_equal(problem_with(&reading, "header again")->count, 1);
    assert_int_equal(problem_with(&reading, "not a date")->row, 13);
    assert_int_equal(problem_with(&reading, "-40 alone")->row, 14);
    assert_int_equal(problem_with(&reading, "clock that was reset")->row, 16);
    assert_int_equal(reading.hours.grid.n, 11);
    check_air(&reading, 1, 20.2);
    check_air(&reading, 3, (double)NAN);
    check_air(&reading, 6, 20.7);
    check_air(&reading, 8, (double)NAN);
    check_air(&reading, 10, 21.1);
    stv_assert_close(reading.hours.rh_frac[1], (double)NAN, 0.0, 0.0);
    stv_assert_close(reading.hours.rh_frac[3], 0.53, EXACT, 0.0);
    stv_assert_close(reading.hours.rh_frac[6], 1.0, EXACT, 0.0);
    assert_int_equal(report->n_suspect, 0);
    assert_int_equal(reading.problems.n_by_severity[STV_SET_ASIDE],
                     report->n_set_aside + report->n_values_set_aside);
    done(&reading);
}

/* A spring that warms from 10 C to 40 C, an hour a row; from row `from` on the machine writes F. */
static void change_of_unit(struct reading *reading, bool has_humidity, int from, int n)
{
    static char text[BUFFER];
    size_t used =
        (size_t)snprintf(text, sizeof text, "Time,Temp (C)%s\n", has_humidity ? ",RH (%)" : "");
    for (int k = 0; k < n; k++) {
        double temp_c = 10.0 + 30.0 * k / n + 4.0 * sin(k * 0.2618);
        used += (size_t)snprintf(text + used, sizeof text - used, "2024-04-%02d %02d:00,%.1f%s\n",
                                 1 + k / 24, k % 24, k < from ? temp_c : 1.8 * temp_c + 32.0,
                                 has_humidity ? ",60" : "");
    }
    start(reading, "UTC");
    stv_assert_ok(read_text(reading, text));
}

/* From row 330 on all is above 75 F, which no air is in C: the change itself is set aside. */
static void a_change_of_unit_that_is_too_hot_to_see(void **state)
{
    (void)state;
    struct reading reading;
    for (int has_humidity = 0; has_humidity < 2; has_humidity++) {
        for (int from = 300; from < 360; from += 12) {
            change_of_unit(&reading, has_humidity, from, 600);
            const struct stv_problem *block =
                problem_with(&reading, "Fahrenheit among Celsius: not");
            assert_int_equal(block->row, from + 2);
            assert_int_equal(block->last_row, 601);
            double most_c = -HUGE_VAL;
            for (size_t k = 0; k < reading.hours.grid.n; k++)
                most_c = isfinite(reading.hours.air_c[k]) ? fmax(most_c, reading.hours.air_c[k])
                                                          : most_c;
            assert_true(most_c < 45.0);
            assert_int_equal(reading.problems.n_by_severity[STV_SET_ASIDE], 600 - from);
            done(&reading);
        }
    }
}

/* A column is found by the name that loggers.csv gives and by its unit; what else stands beside it
 * is told. */
static void a_sensor_by_its_name(void **state)
{
    (void)state;
    static const char german[] = "Time;Ambient [C];Probe [F];Feuchte (%)\n"
                                 "2024-06-01 00:00;20,5;70,0;60\n2024-06-01 01:00;20,7;71,0;61\n";
    static const char two[] = "Time,Temp A [C],Temp B [C]\n2024-06-01 00:00,20,21\n";
    static const struct {
        const char *sensor, *text, *says;
    } refused[] = {{"loft", german, "the sensor \"loft\""},
                   {"loft", two, "no column of this sensor"},
                   {"temp", two, "several columns name this sensor"}};
    struct reading reading;
    start(&reading, "UTC");
    snprintf(reading.source.sensor, sizeof reading.source.sensor, "probe");
    stv_assert_ok(read_text(&reading, german));
    check_air(&reading, 0, (70.0 - 32.0) / 1.8);
    assert_false(reading.report.has_humidity); /* it does not say that it is the probe's */
    assert_string_equal(reading.report.unread, "\"Ambient [C]\", \"Feuchte (%)\"");
    done(&reading);
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        start(&reading, "UTC");
        snprintf(reading.source.sensor, sizeof reading.source.sensor, "%s", refused[i].sensor);
        assert_int_equal(read_text(&reading, refused[i].text), STV_E_PARSE);
        (void)problem_with(&reading, refused[i].says);
        done(&reading);
    }
}

/* Read every two hours: nothing is missing but the row that is. */
static void hours_between_rows(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-06-01 00:00,20\n2024-06-01 02:00,21\n"
                                      "2024-06-01 04:00,22\n2024-06-01 06:00,23\n"
                                      "2024-06-01 10:00,23\n2024-06-01 12:00,23\n"));
    assert_true(reading.report.has_hours_between);
    assert_int_equal(reading.report.n_hours, 13);
    assert_int_equal(reading.report.n_hours_missing, 3);
    check_air(&reading, 1, (double)NAN); /* filled later, not here */
    done(&reading);
}

static void a_last_row_cut_in_its_number(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-06-01 00:00,20.12\n"
                                      "2024-06-01 01:00,20.25\n2024-06-01 02:00,2"));
    assert_int_equal(reading.report.n_used, 2);
    assert_int_equal(problem_with(&reading, "cut short")->row, 4);
    done(&reading);
    /* A whole last row without a line end is good. */
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-06-01 00:00,20.12\n"
                                      "2024-06-01 01:00,20.25"));
    assert_int_equal(reading.report.n_used, 2);
    assert_int_equal(reading.problems.n_total, 0);
    done(&reading);
}

static void half_of_the_hour_must_be_there(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    /* Quarter hours: hour 0 whole, hour 1 has two, hour 2 has one, hour 3 whole. */
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n"
                                      "2024-06-01 00:00,20\n2024-06-01 00:15,21\n"
                                      "2024-06-01 00:30,22\n2024-06-01 00:45,23\n"
                                      "2024-06-01 01:00,24\n2024-06-01 01:15,25\n"
                                      "2024-06-01 02:30,30\n"
                                      "2024-06-01 03:00,26\n2024-06-01 03:15,27\n"
                                      "2024-06-01 03:30,28\n2024-06-01 03:45,29\n"));
    assert_int_equal(reading.report.n_hours, 4);
    assert_int_equal(reading.report.n_hours_missing, 1);
    stv_assert_close(reading.report.coverage_frac, 0.75, EXACT, 0.0);
    check_air(&reading, 0, 21.5);
    check_air(&reading, 1, 24.5);
    check_air(&reading, 2, (double)NAN);
    check_air(&reading, 3, 27.5);
    done(&reading);
    /* Twenty minutes are a third of an hour, and not enough either. */
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-06-01 00:00,20\n2024-06-01 00:20,21\n"
                                      "2024-06-01 00:40,22\n2024-06-01 01:00,23\n"
                                      "2024-06-01 02:00,24\n2024-06-01 02:20,25\n"));
    check_air(&reading, 0, 21.0);
    check_air(&reading, 1, (double)NAN);
    check_air(&reading, 2, 24.5);
    done(&reading);
}

/* 30-minute rows, then 10-minute rows: within the hour of the change each counts for its time,
 * so half an hour at 10 and half an hour at 20 is 15, not the mean of four rows. */
static void changed_interval(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n"
                                      "2024-06-01 00:00,10\n2024-06-01 00:30,10\n"
                                      "2024-06-01 01:00,10\n2024-06-01 01:30,20\n"
                                      "2024-06-01 01:40,20\n2024-06-01 01:50,20\n"
                                      "2024-06-01 02:00,20\n2024-06-01 02:10,20\n"
                                      "2024-06-01 02:20,20\n2024-06-01 02:30,20\n"));
    check_air(&reading, 0, 10.0);
    check_air(&reading, 1, 15.0);
    check_air(&reading, 2, 20.0);
    done(&reading);
}

/* A clock two seconds slow must not leave every other hour empty. */
static void jitter(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-06-01 13:00:01,20.5\n"
                                      "2024-06-01 13:59:58,21.5\n2024-06-01 15:00:01,22.5\n"
                                      "2024-06-01 15:59:59,23.5\n"));
    assert_int_equal(reading.hours.grid.n, 4);
    for (size_t k = 0; k < 4; k++)
        check_air(&reading, k, 20.5 + (double)k);
    done(&reading);
}

/* A wall clock in autumn: 01:00 to 01:45 twice is two hours; in spring no hour is missing. */
static void changes_of_the_clock(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "MST7MDT,M3.2.0,M11.1.0");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-11-03 01:00,20\n2024-11-03 01:30,21\n"
                                      "2024-11-03 01:00,30\n2024-11-03 01:30,31\n"
                                      "2024-11-03 02:00,40\n2024-11-03 02:30,41\n"));
    assert_int_equal(reading.problems.n_total, 0);
    assert_int_equal(reading.hours.grid.n, 3);
    assert_int_equal(reading.hours.grid.t0_s, at(11, 3, 7));
    check_air(&reading, 0, 20.5);
    check_air(&reading, 1, 30.5);
    check_air(&reading, 2, 40.5);
    done(&reading);

    start(&reading, "MST7MDT,M3.2.0,M11.1.0");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-03-10 01:00,20.5\n"
                                      "2024-03-10 02:00,77\n2024-03-10 03:00,21.5\n"));
    assert_int_equal(reading.hours.grid.n, 2);
    check_air(&reading, 1, 21.5);
    assert_int_equal(problem_with(&reading, "does not exist")->row, 3);
    assert_int_equal(reading.report.n_set_aside, 1);
    done(&reading);
}

static void corrections_and_wanted_time(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    reading.source.temp_correction_k = -0.4;
    reading.source.rh_correction_frac = 0.025;
    reading.source.from_s = at(6, 1, 1);
    reading.source.to_s = at(6, 1, 2);
    stv_assert_ok(read_text(&reading, "Time,Temp (C),RH\n2024-06-01 00:00,99,55\n"
                                      "2024-06-01 01:00,20.9,55\n2024-06-01 02:00,21.9,56\n"
                                      "2024-06-01 03:00,22.9,57\n"));
    assert_int_equal(reading.report.n_rows, 2);
    assert_int_equal(reading.report.n_outside, 2);
    assert_int_equal(reading.problems.n_total, 0);
    check_air(&reading, 0, 20.5);
    stv_assert_close(reading.hours.rh_frac[0], 0.575, EXACT, 0.0);
    done(&reading);
}

/* Writes hourly rows of a wave, from row to row with a change by the caller. */
static size_t add_rows(char *buffer, size_t used, int n_hours, int held_from, int held_to)
{
    for (int hour = 0; hour < n_hours; hour++) {
        bool is_held = hour >= held_from && hour < held_to;
        int shown = is_held ? held_from : hour;
        used += (size_t)snprintf(buffer + used, BUFFER - used, "2024-06-%02d %02d:00,%.1f\n",
                                 1 + hour / 24, hour % 24, 20.0 + 0.1 * (shown % 24));
    }
    return used;
}

static void doubtful_values_are_noted(void **state)
{
    (void)state;
    static char buffer[BUFFER];
    struct reading reading;
    size_t used = (size_t)snprintf(buffer, BUFFER, "Time,Temp (C)\n");
    add_rows(buffer, used, 96, 20, 80);
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, buffer));
    assert_int_equal(problem_with(&reading, "stands still")->severity, STV_SUSPECT);
    assert_int_equal(problem_with(&reading, "stands still")->row, 23);
    assert_int_equal(reading.report.n_suspect, 59);
    assert_int_equal(reading.report.n_used, 96);
    done(&reading);
    /* One day at one value is a winter night, not a fault. */
    add_rows(buffer, used, 96, 20, 42);
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, buffer));
    assert_int_equal(reading.problems.n_total, 0);
    done(&reading);
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C)\n2024-06-01 00:00,20.5\n"
                                      "2024-06-01 01:00,38.0\n2024-06-01 02:00,20.7\n"
                                      "2024-06-01 09:00,20.7\n"));
    assert_int_equal(problem_with(&reading, "jumps out and back")->row, 3);
    assert_int_equal(reading.report.n_suspect, 1);
    check_air(&reading, 1, 38.0);
    problem_with(&reading,
                 "between 2024-06-01 02:00 and 2024-06-01 09:00 (standard time): a gap of 7.0 h");
    assert_int_equal(reading.report.n_hours_missing, 6);
    done(&reading);
}

static void units_are_not_guessed(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_status(read_text(&reading, "Time,Temperature\n2024-06-01 00:00,71\n"
                                          "2024-06-01 01:00,104\n"),
                      STV_E_PARSE);
    problem_with(&reading, "looks like F");
    done(&reading);
    start(&reading, "UTC");
    stv_assert_status(read_text(&reading, "Time,Temperature\n2024-06-01 00:00,-5\n"
                                          "2024-06-01 01:00,74\n"),
                      STV_E_PARSE);
    problem_with(&reading, "Temperature [C]");
    done(&reading);
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C),RH (%)\n2024-06-01 00:00,21,0.55\n"
                                      "2024-06-01 01:00,24,0.57\n"));
    problem_with(&reading, "is it a fraction?");
    assert_null(reading.hours.rh_frac);
    assert_int_equal(reading.report.n_used, 2);
    done(&reading);
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
        {"  \n\n", STV_E_PARSE, "empty"},
        {"<html><body>Sign in</body></html>\n", STV_E_PARSE, "web page"},
        {"PK\x03\x04 x", STV_E_PARSE, "spreadsheet"},
        {"a,b\n1,2\n", STV_E_PARSE, "no header names a time and a temperature"},
        {"Time,Temp (C)\n", STV_E_NO_DATA, "no row has a temperature"},
        {"Time,Temp (C),RH (%)\n2024-06-01 00:00,Err,50\n", STV_E_NO_DATA, "no row has"},
        {"Time,Temp 1 (C),Temp 2 (C)\n2024-06-01 00:00,20,21\n", STV_E_PARSE, "several"},
        {"Time,Temp (C)\n03/04/2024 00:00,20\n03/04/2024 01:00,21\n", STV_E_PARSE, "day first"},
        {"Date,Temp (C)\n2024-06-01,20\n2024-06-02,21\n", STV_E_PARSE, "no time of day"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct reading reading;
        start(&reading, "UTC");
        stv_assert_status(read_text(&reading, bad[i].text), bad[i].status);
        assert_int_equal(problem_with(&reading, bad[i].says)->severity, STV_REFUSED);
        assert_null(reading.hours.air_c);
        done(&reading);
    }
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_status(read_bytes(&reading, "Time,\0\0\0\0\0\0\0\0", 13), STV_E_PARSE);
    problem_with(&reading, "not a text file");
    done(&reading);
    start(&reading, "UTC");
    snprintf(reading.source.path, sizeof reading.source.path, "%s/none.csv", STV_SOURCE_DIR);
    stv_problems_init(&reading.problems);
    stv_assert_status(stv_logger_file_read(&reading.source, 0, &reading.problems, &reading.hours,
                                           &reading.report),
                      STV_E_IO);
    stv_problems_free(&reading.problems);
}

/* Decimal commas with commas between the cells shift every column: nothing is believed. */
static void commas_of_both_kinds(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC");
    stv_assert_ok(read_text(&reading, "Time,Temp (C),RH (%)\n2024-06-01 00:00,\"20,5\",60\n"
                                      "2024-06-01 01:00,\"20,7\",60\n2024-06-01 02:00,20,9,60\n"));
    check_air(&reading, 1, 20.7);
    assert_int_equal(problem_with(&reading, "decimal comma")->row, 4);
    assert_int_equal(reading.report.n_used, 2);
    done(&reading);
}

static void another_clock_in_the_header(void **state)
{
    (void)state;
    struct reading reading;
    start(&reading, "UTC-07:00");
    stv_assert_ok(read_text(&reading, "\"Date Time, GMT-06:00\",Temp (C)\n2024-06-01 00:00,20.5\n"
                                      "2024-06-01 01:00,21.5\n"));
    assert_int_equal(problem_with(&reading, "another clock")->severity, STV_NOTED);
    assert_int_equal(reading.hours.grid.t0_s, at(6, 1, 7));
    done(&reading);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(half_hours_become_hours),
        cmocka_unit_test(dialects),
        cmocka_unit_test(preamble_lines_are_counted),
        cmocka_unit_test(each_fault_is_said),
        cmocka_unit_test(a_change_of_unit_that_is_too_hot_to_see),
        cmocka_unit_test(a_sensor_by_its_name),
        cmocka_unit_test(hours_between_rows),
        cmocka_unit_test(a_last_row_cut_in_its_number),
        cmocka_unit_test(half_of_the_hour_must_be_there),
        cmocka_unit_test(changed_interval),
        cmocka_unit_test(jitter),
        cmocka_unit_test(changes_of_the_clock),
        cmocka_unit_test(corrections_and_wanted_time),
        cmocka_unit_test(doubtful_values_are_noted),
        cmocka_unit_test(units_are_not_guessed),
        cmocka_unit_test(files_that_are_refused),
        cmocka_unit_test(commas_of_both_kinds),
        cmocka_unit_test(another_clock_in_the_header),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
