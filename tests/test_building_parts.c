/* Parts of a building by themselves: named constructions, ground, air flows, faces. */
#include "tests/check.h"

#include "model/building.h"
#include "model/building_parts.h"
#include "model/constructions.h"
#include "model/units.h"

/* U of named constructions by hand from their layers, films 0.13 and 0.04 (ISO 6946). */
static void test_named_constructions(void **state)
{
    (void)state;
    const struct {
        const char *name;
        double u_w_m2k;
    } known[] = {{"insulated panel 80 mm", 0.2967},
                 {"rubble stone 600 mm", 1.9123},
                 {"slate on boards", 2.7225},
                 {"concrete 200 mm", 3.5573},
                 {"brick 220 mm", 1.0 / (0.17 + 0.22 / 0.84)}};
    struct stv_construction construction;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        stv_assert_ok(stv_construction_from_name(known[i].name, &construction));
        stv_assert_close(stv_construction_u_w_m2k(&construction, 0.13, 0.04), known[i].u_w_m2k,
                         3e-4, 0.0);
    }
    for (size_t i = 0; stv_construction_name(i); i++) {
        stv_assert_ok(stv_construction_from_name(stv_construction_name(i), &construction));
        stv_assert_ok(stv_construction_check(&construction));
    }
    struct stv_material material;
    for (size_t i = 0; stv_material_name(i); i++)
        stv_assert_ok(stv_material_from_name(stv_material_name(i), &material));
    stv_assert_status(stv_material_from_name("straw", &material), STV_E_PARSE);
    stv_assert_status(stv_material_from_name(NULL, &material), STV_E_ARG);
    stv_assert_status(stv_construction_from_name("straw bale", &construction), STV_E_PARSE);
    stv_assert_status(stv_construction_from_name("brick 220 mm", NULL), STV_E_ARG);
}

/* ISO 13370 worked case: 30 x 20 m on clay, wall 0.3 m, no insulation: U 0.3235 W/m2K (the
 * standard's formulas from memory, evaluated by hand). */
static void test_slab_on_ground(void **state)
{
    (void)state;
    stv_assert_close(stv__slab_u_w_m2k(600.0, 100.0, 0.0, 1.5), 0.3235, 2e-4, 0.0);
}

/* What enters a level leaves it, whichever way the stack turns and whatever else runs. */
static void test_air_flows_balance(void **state)
{
    (void)state;
    struct stv_building building;
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_DUNNAGE, 5, 0, 0, &building));
    building.night_air_change_per_h = 3.2;
    struct stv__shape shape;
    stv__shape_of(&building, &shape);
    stv_assert_ok(stv__casks_of(&building, &shape));
    const double air_c[6] = {11.2, 11.9, 12.0, 11.7, 13.6, 15.8};
    const double outdoor_c[3] = {3.1, 12.6, 29.4};
    for (int which = 0; which < 3; which++) {
        struct stv__flows flows = {.eddy_m2_s = {0}};
        struct stv__draught draught = {outdoor_c[which], 2.7, which == 0};
        stv__air_flows(&building, &shape, &draught, air_c, &flows);
        for (size_t i = 0; i < 6; i++) {
            double in_m3_s =
                flows.in_m3_s[i] + (i > 0 ? flows.up_m3_s[i - 1] : 0.0) + flows.down_m3_s[i];
            double out_m3_s =
                flows.out_m3_s[i] + (i > 0 ? flows.down_m3_s[i - 1] : 0.0) + flows.up_m3_s[i];
            stv_assert_close(in_m3_s, out_m3_s, 1e-12, 0.0);
        }
        double lift_m3_s = flows.up_m3_s[0] - flows.down_m3_s[0]; /* mixing cancels */
        if (which == 0)
            assert_true(lift_m3_s > 0.0); /* warm inside: air climbs */
        if (which == 2)
            assert_true(lift_m3_s < 0.0); /* cool inside: it sinks */
    }
}

/* The parabola of the hour has the hour's mean, and meets its neighbours at the ends. */
static void test_outdoor_air_within_the_hour(void **state)
{
    (void)state;
    const struct stv__hour hour = {.temp_mean_c = 17.3, .temp_left_c = 15.9, .temp_right_c = 17.6};
    double sum_c = 0.0;
    int n = 1000;
    for (int i = 0; i < n; i++)
        sum_c += stv__outdoor_c(&hour, (i + 0.5) / n);
    stv_assert_close(sum_c / n, 17.3, 0.0, 1e-5);
    stv_assert_close(stv__outdoor_c(&hour, 0.0), 15.9, 0.0, 1e-12);
    stv_assert_close(stv__outdoor_c(&hour, 1.0), 17.6, 0.0, 1e-12);
}

/* A black flat roof under a clear night sky, still air: sol-air temperature by hand. */
static void test_sky_cools_a_roof(void **state)
{
    (void)state;
    struct stv__face roof = {.absorptance_frac = 0.8,
                             .emittance_frac = 0.9,
                             .sky_share_frac = stv__sky_share_frac(0.0),
                             .film_w_m2k = 4.0,
                             .sun_w_m2 = 0.0,
                             .sky_w_m2 = 280.0};
    stv_assert_close(roof.sky_share_frac, 1.0, 1e-12, 0.0);
    stv_assert_close(stv__sky_share_frac(90.0), 0.354, 2e-3, 0.0); /* 0.5 sqrt 0.5 */
    /* At 12.4 C: 4 (T_out - T_s) + 0.9 (280 - sigma 285.55^4) = 0 when T_out = T_s = T... */
    double surface_c = 12.4;
    double emitted = STV_STEFAN_W_M2K4 * pow(285.55, 4.0);
    double outdoor_c = surface_c + 0.9 * (emitted - 280.0) / 4.0;
    stv_assert_close(stv__face_sol_air_c(&roof, outdoor_c, surface_c), surface_c, 1e-9, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_named_constructions),
        cmocka_unit_test(test_slab_on_ground),
        cmocka_unit_test(test_air_flows_balance),
        cmocka_unit_test(test_outdoor_air_within_the_hour),
        cmocka_unit_test(test_sky_cools_a_roof),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
