/* How far off places are in a trial: what gauges of the house tell moves all of them alike, and
 * what only one place is doubted by stays its own. */
#include "model/place_offset.h"
#include "tests/places.h"

static const struct stv_climate_member three_cold_nd = {-3.0, -3.0};

static struct stv_position place_at(int tier_idx, double liquid_k, double rh_frac)
{
    struct stv_position place = {.place = {0, tier_idx, -1, -1}};
    place.error = (struct stv_climate_error){liquid_k, rh_frac};
    return place;
}

static void one_move_for_all_places(void **state)
{
    (void)state;
    struct stv_position places[] = {place_at(0, 0.3, 0.03), place_at(1, 1.4, 0.08)};
    const struct stv_position_set set = {.positions = places, .n_positions = 2};
    double sum_k[2] = {0.0, 0.0}, squares_k2 = 0.0;
    for (size_t p = 0; p < 2; p++) {
        struct stv_climate_member at = stv__place_offset(&set, p, three_cold_nd, 1, SIZE_MAX);
        stv_assert_close(at.liquid_offset_k, -0.9, 0.0, 1e-12);
        stv_assert_close(at.humidity_offset_frac, -0.09, 0.0, 1e-12);
        for (size_t m = 0; m < STV_CLIMATE_MEMBERS; m++) {
            at = stv__place_offset(&set, p, three_cold_nd, 1, m);
            sum_k[p] += at.liquid_offset_k;
            squares_k2 += (double)p * pow(at.liquid_offset_k + 0.9, 2.0);
        }
    }
    stv_assert_close(sum_k[0] / STV_CLIMATE_MEMBERS, -0.9, 0.0, 1e-9);
    stv_assert_close(sum_k[1] / STV_CLIMATE_MEMBERS, -0.9, 0.0, 1e-9);
    /* Sixteen middles of strata have 0.96 of the normal's spread. */
    stv_assert_close(sqrt(squares_k2 / STV_CLIMATE_MEMBERS), sqrt(1.4 * 1.4 - 0.3 * 0.3), 0.06,
                     0.0);
}

static void places_known_alike_share_all(void **state)
{
    (void)state;
    struct stv_position places[] = {place_at(0, 1.4, 0.06), place_at(1, 1.4, 0.06)};
    const struct stv_position_set set = {.positions = places, .n_positions = 2};
    for (size_t m = 0; m < STV_CLIMATE_MEMBERS; m++) {
        struct stv_climate_member at = stv__place_offset(&set, m % 2, three_cold_nd, 1, m);
        stv_assert_close(at.liquid_offset_k, -4.2, 0.0, 1e-12);
    }
}

static void a_place_keeps_its_own(void **state)
{
    (void)state;
    struct stv_position there[] = {place_at(0, 0.3, 0.03), place_at(1, 1.4, 0.08)};
    struct stv_position back[] = {there[1], there[0]};
    const struct stv_position_set one = {.positions = there, .n_positions = 2};
    const struct stv_position_set other = {.positions = back, .n_positions = 2};
    size_t n_apart = 0;
    for (size_t m = 0; m < STV_CLIMATE_MEMBERS; m++) {
        struct stv_climate_member a = stv__place_offset(&one, 1, three_cold_nd, 7, m);
        struct stv_climate_member b = stv__place_offset(&other, 0, three_cold_nd, 7, m);
        assert_true(a.liquid_offset_k == b.liquid_offset_k);
        there[0].error = there[1].error;
        there[0].place.tier_idx = 2;
        there[1].error.liquid_k = 0.3;
        struct stv_climate_member c = stv__place_offset(&one, 0, three_cold_nd, 7, m);
        n_apart += c.liquid_offset_k != a.liquid_offset_k;
        there[0] = place_at(0, 0.3, 0.03);
        there[1] = place_at(1, 1.4, 0.08);
    }
    assert_true(n_apart > STV_CLIMATE_MEMBERS / 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_move_for_all_places),
        cmocka_unit_test(places_known_alike_share_all),
        cmocka_unit_test(a_place_keeps_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
