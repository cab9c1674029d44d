/* Loggers that say one value for a season: what is set aside, and what may be true. */
#include "ingest/logger_file.h"
#include "ingest/quality.h"
#include "tests/check.h"
#include "tests/scratch.h"

#define HOURS 1440
#define MOVING_H 240

struct reading {
    struct stv_problems problems;
    struct stv_logger_hours hours;
    struct stv_logger_report report;
};

/* 60 days of hours; after ten days the temperature stays at `held`, or goes on where it is NaN, and
 * the humidity stays at held_pct. */
static void read_held(struct reading *out, double held_c, double step_k, double held_pct)
{
    static char text[HOURS * 40];
    size_t used = (size_t)snprintf(text, sizeof text, "Time,Temp (C),RH (%%)\n");
    struct stv_scratch scratch;
    struct stv_logger_source source = {.from_s = INT64_MIN, .to_s = INT64_MAX};
    char why[200];
    for (int hour = 0; hour < HOURS; hour++) {
        bool is_first = hour < MOVING_H;
        int day = hour / 24;
        used +=
            (size_t)snprintf(text + used, sizeof text - used, "2023-%02d-%02d %02d:00,%.2f,%.1f\n",
                             day < 31 ? 7 : 8, day < 31 ? day + 1 : day - 30, hour % 24,
                             is_first || isnan(held_c) ? 15.0 + step_k * (hour % 24) : held_c,
                             is_first || isnan(held_pct) ? 60.0 + 0.1 * (hour % 50) : held_pct);
    }
    stv_scratch_open(&scratch);
    stv_problems_init(&out->problems);
    stv_assert_ok(stv_clock_parse("UTC", &source.clock, why, sizeof why));
    snprintf(source.path, sizeof source.path, "%s",
             stv_scratch_bytes(&scratch, "rack.csv", text, used));
    stv_assert_ok(stv_logger_file_read(&source, 0, &out->problems, &out->hours, &out->report));
    stv_scratch_close(&scratch);
}

static void done(struct reading *reading)
{
    stv_logger_hours_free(&reading->hours);
    stv_logger_report_free(&reading->report);
    stv_problems_free(&reading->problems);
}

static void a_dead_temperature_takes_its_rows_along(void **state)
{
    (void)state;
    struct reading reading;
    read_held(&reading, 17.31, 0.1, (double)NAN);
    assert_int_equal(reading.problems.n, 1);
    const struct stv_problem *found = &reading.problems.items[0];
    assert_string_equal(found->rule, STV_RULE_DEAD);
    assert_non_null(strstr(found->message, "reads 17.31 C and nothing else for 50 days"));
    assert_int_equal(found->severity, STV_SET_ASIDE);
    assert_int_equal(found->row, MOVING_H + 2);
    assert_int_equal(found->count, HOURS - MOVING_H);
    assert_int_equal(reading.report.n_used, MOVING_H);
    assert_int_equal(reading.report.n_set_aside, HOURS - MOVING_H);
    assert_int_equal(reading.report.n_hours_missing, HOURS - MOVING_H);
    assert_int_equal(reading.report.n_suspect, 0);
    assert_int_equal(reading.report.marks[MOVING_H - 1], STV_MARK_USED);
    assert_int_equal(reading.report.marks[MOVING_H], STV_MARK_DEAD);
    assert_true(isfinite(reading.hours.air_c[MOVING_H - 1]));
    assert_true(isnan(reading.hours.air_c[MOVING_H]));
    assert_true(isnan(reading.hours.rh_frac[MOVING_H]));
    done(&reading);
}

static void what_may_be_true_is_used(void **state)
{
    (void)state;
    struct reading reading;
    /* One that reads in half degrees may stand still in a deep cellar. */
    read_held(&reading, 17.5, 0.5, (double)NAN);
    assert_int_equal(reading.report.n_used, HOURS);
    assert_int_equal(reading.report.n_hours_missing, 0);
    done(&reading);
    /* A sensor at the top of its range lies in a damp room, perhaps. */
    read_held(&reading, (double)NAN, 0.1, 100.0);
    assert_int_equal(reading.report.n_values_set_aside, 0);
    assert_true(isfinite(reading.hours.rh_frac[MOVING_H]));
    done(&reading);
}

static void a_dead_humidity_leaves_the_temperature(void **state)
{
    (void)state;
    struct reading reading;
    read_held(&reading, (double)NAN, 0.1, 51.2);
    assert_int_equal(reading.report.n_used, HOURS);
    assert_int_equal(reading.report.n_values_set_aside, HOURS - MOVING_H);
    assert_true(isnan(reading.hours.rh_frac[MOVING_H]));
    assert_true(isfinite(reading.hours.air_c[MOVING_H]));
    done(&reading);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dead_temperature_takes_its_rows_along),
        cmocka_unit_test(what_may_be_true_is_used),
        cmocka_unit_test(a_dead_humidity_leaves_the_temperature),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
