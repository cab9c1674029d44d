/* Calendar strips: every state is drawn, a single bad day stays visible over thirty years, the
 * table is the input. */
#include "plots/charts.h"
#include "tests/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void states_and_table(void **state)
{
    (void)state;
    static const float used[] = {1.0f, 0.5f, 0.0f, 0.75f, (float)NAN};
    static const float suspect[] = {0.0f, 0.0f, 0.0f, 0.25f, 0.0f};
    const struct stv_strip strip = {"tier 2 \"north\"", 20000, 5, used, suspect};
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_strips(&strip, 1, true, &chart));
    assert_int_equal(stv_sheet_n_rows(&chart.table), 4); /* the last day is outside */
    /* One box each for used, part, suspect and missing. */
    const char *data = stv_text_string(&chart.data);
    assert_non_null(strstr(data, "20000.0000 20001.0000"));
    assert_non_null(strstr(data, "20001.0000 20002.0000"));
    assert_non_null(strstr(data, "20002.0000 20003.0000"));
    assert_non_null(strstr(data, "20003.0000 20004.0000"));
    assert_null(strstr(data, "20004.0000 20005.0000"));
    assert_non_null(strstr(stv_text_string(&chart.words), "4 days, 1.5 missing, 0.2 suspect"));
    stv_chart_free(&chart);
}

static void a_bad_day_in_thirty_years(void **state)
{
    (void)state;
    size_t n = 30 * 365;
    float *used = malloc(n * sizeof *used), *suspect = calloc(n, sizeof *suspect);
    assert_non_null(used);
    assert_non_null(suspect);
    for (size_t i = 0; i < n; i++)
        used[i] = i == 5000 ? 0.0f : 1.0f;
    const struct stv_strip strip = {"long", 10000, n, used, suspect};
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_strips(&strip, 1, false, &chart));
    /* Bins of 30 days: the bad one lies in the bin from day 4980 on. */
    assert_non_null(strstr(stv_text_string(&chart.data), "14980.0000 15010.0000"));
    assert_non_null(strstr(stv_text_string(&chart.note), "the worst of them"));
    stv_chart_free(&chart);
    free(used);
    free(suspect);
}

static void nothing_to_show(void **state)
{
    (void)state;
    struct stv_chart chart = {0};
    const struct stv_strip empty = {"none", 0, 0, NULL, NULL};
    stv_assert_status(stv_chart_strips(NULL, 0, false, &chart), STV_E_NO_DATA);
    stv_chart_free(&chart);
    stv_assert_status(stv_chart_strips(&empty, 1, false, &chart), STV_E_NO_DATA);
    stv_chart_free(&chart);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(states_and_table),
        cmocka_unit_test(a_bad_day_in_thirty_years),
        cmocka_unit_test(nothing_to_show),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
