/* Doubts of a building: few members fill each range, and none makes an impossible building. */
#include "model/building_spread.h"
#include "tests/check.h"

#include <gsl/gsl_errno.h>
#include <string.h>

#define MEMBERS 16

static struct stv_building of_kind(enum stv_building_kind kind)
{
    struct stv_building building;
    stv_assert_ok(stv_building_of_kind(kind, 0, 0, 0, &building));
    return building;
}

static struct stv_building drawn(const struct stv_building *building, size_t member_idx)
{
    return stv_building_drawn(building, building,
                              (struct stv_building_member){7, member_idx, MEMBERS});
}

/* Middle and both ends of the leaks: 16 strata reach from 1/32 to 31/32 of a lognormal. */
static void leaks_fill_their_range(void **state)
{
    (void)state;
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED);
    double sum_ln = 0.0, sum_squares = 0.0, least_nd = 1.0, most_nd = 1.0;
    for (size_t m = 0; m < MEMBERS; m++) {
        double factor_nd = drawn(&shed, m).leak_area_m2 / shed.leak_area_m2;
        sum_ln += log(factor_nd);
        sum_squares += log(factor_nd) * log(factor_nd);
        least_nd = fmin(least_nd, factor_nd);
        most_nd = fmax(most_nd, factor_nd);
    }
    double sd_nd = stv_building_doubt_info(STV_DOUBT_LEAKS)->sd_nd;
    stv_assert_close(sum_ln, 0.0, 0.0, 1e-12);
    stv_assert_close(sqrt(sum_squares / MEMBERS), sd_nd, 0.05, 0.0);
    stv_assert_close(log(most_nd), 1.8627 * sd_nd, 1e-3, 0.0); /* normal quantile of 31/32 */
    stv_assert_close(least_nd * most_nd, 1.0, 1e-9, 0.0);
}

static void every_member_can_be_built(void **state)
{
    (void)state;
    for (int kind = 0; kind < STV_BUILDING_N; kind++) {
        struct stv_building building = of_kind((enum stv_building_kind)kind);
        building.wind_shelter_frac = 1.5;
        building.night_air_change_per_h = 100.0;
        building.roof.absorptance_frac = 0.02;
        building.wall.absorptance_frac = 0.99;
        building.vent_low_m2 = building.length_m * building.width_m;
        for (size_t m = 0; m < MEMBERS; m++) {
            struct stv_building one = drawn(&building, m);
            assert_null(stv_building_fault(&one));
        }
    }
}

static void one_member_is_the_building_itself(void **state)
{
    (void)state;
    struct stv_building dunnage = of_kind(STV_BUILDING_DUNNAGE);
    struct stv_building one =
        stv_building_drawn(&dunnage, &dunnage, (struct stv_building_member){7, 0, 1});
    assert_memory_equal(&one, &dunnage, sizeof one);
}

static void wetness_keeps_its_ends(void **state)
{
    (void)state;
    struct stv_building dunnage = of_kind(STV_BUILDING_DUNNAGE);
    double least = 1.0, most = 0.0;
    for (size_t m = 0; m < MEMBERS; m++) {
        dunnage.floor_wetness_frac = 0.0;
        stv_assert_close(drawn(&dunnage, m).floor_wetness_frac, 0.0, 0.0, 0.0);
        dunnage.floor_wetness_frac = 1.0;
        stv_assert_close(drawn(&dunnage, m).floor_wetness_frac, 1.0, 1e-15, 0.0);
        dunnage.floor_wetness_frac = 0.5;
        least = fmin(least, drawn(&dunnage, m).floor_wetness_frac);
        most = fmax(most, drawn(&dunnage, m).floor_wetness_frac);
    }
    assert_true(least < 0.3 && most > 0.7);
    stv_assert_close(least + most, 1.0, 1e-9, 0.0);
}

/* Shared inputs move by the same factor on both sides; only another finish errs by itself. */
static void what_a_change_leaves_alone_errs_alike(void **state)
{
    (void)state;
    struct stv_building as_is = of_kind(STV_BUILDING_RACKED_SHED), changed = as_is;
    changed.roof.absorptance_frac = 0.25;
    changed.leak_area_m2 *= 3.0;
    double same_walls = 0.0, alike_roofs = 0.0;
    for (size_t m = 0; m < MEMBERS; m++) {
        struct stv_building_member member = {7, m, MEMBERS};
        struct stv_building a = stv_building_drawn(&as_is, &as_is, member);
        struct stv_building b = stv_building_drawn(&changed, &as_is, member);
        same_walls += a.wall.absorptance_frac == b.wall.absorptance_frac &&
                      memcmp(a.wall.layers, b.wall.layers, sizeof a.wall.layers) == 0;
        alike_roofs += fabs(a.roof.absorptance_frac - as_is.roof.absorptance_frac -
                            (b.roof.absorptance_frac - 0.25)) < 1e-12;
        stv_assert_close(b.leak_area_m2, 3.0 * a.leak_area_m2, 1e-12, 0.0);
    }
    stv_assert_close(same_walls, MEMBERS, 0.0, 0.0);
    assert_true(alike_roofs < MEMBERS / 2);
}

static void every_doubt_says_where_it_comes_from(void **state)
{
    (void)state;
    for (int d = 0; d < STV_BUILDING_DOUBTS; d++) {
        const struct stv_building_doubt_info *info =
            stv_building_doubt_info((enum stv_building_doubt)d);
        assert_true(info->what[0] && info->spread[0] && strstr(info->source, "judgement"));
        assert_true(info->sd_nd > 0.0);
    }
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leaks_fill_their_range),
        cmocka_unit_test(every_member_can_be_built),
        cmocka_unit_test(one_member_is_the_building_itself),
        cmocka_unit_test(wetness_keeps_its_ends),
        cmocka_unit_test(what_a_change_leaves_alone_errs_alike),
        cmocka_unit_test(every_doubt_says_where_it_comes_from),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
