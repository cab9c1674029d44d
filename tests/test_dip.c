/* Litres by the depth at the bung, against closed forms, another way of summing, and laws.
 *
 * No published rod table was at hand: nothing here says how near a real cask is. */
#include "tests/check.h"

#include "model/dip.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
#define PI 3.14159265358979323846

static struct stv_cask_shape shape_of(double capacity_l, double bilge_m)
{
    struct stv_cask_shape shape;
    stv_assert_ok(stv_cask_shape(capacity_l, bilge_m, &shape));
    return shape;
}

static double dip_l(const struct stv_cask_shape *shape, double wet_m)
{
    double volume_l;
    stv_assert_ok(stv_dip_volume_l(shape, wet_m, &volume_l));
    return volume_l;
}

/* Share of a lying cylinder that is wet: (theta - sin theta) / (2 pi), where theta is the angle
 * of the wet segment at the centre. */
static double cylinder_frac(double wet_frac)
{
    double theta = 2.0 * acos(1.0 - 2.0 * wet_frac);
    return (theta - sin(theta)) / (2.0 * PI);
}

static void a_cylinder_has_a_closed_form(void **state)
{
    (void)state;
    struct stv_cask_shape cylinder = {217.5, 0.585, 1.0};
    for (int i = 0; i <= 1000; i++) {
        double wet_frac = i / 1000.0;
        stv_assert_close(dip_l(&cylinder, wet_frac * cylinder.bilge_m) / cylinder.capacity_l,
                         cylinder_frac(wet_frac), 0.0, 1e-6);
    }
}

static const double capacities_l[] = {1.0, 20.0, 53.4, 200.0, 250.0, 500.0, 1000.0};

static void ends_and_middle(void **state)
{
    (void)state;
    for (size_t k = 0; k < COUNT(capacities_l); k++) {
        struct stv_cask_shape shape = shape_of(capacities_l[k], NAN);
        stv_assert_close(dip_l(&shape, 0.0), 0.0, 0.0, 0.0);
        stv_assert_close(dip_l(&shape, shape.bilge_m), capacities_l[k], 1e-14, 0.0);
        stv_assert_close(dip_l(&shape, 0.5 * shape.bilge_m), 0.5 * capacities_l[k], 1e-14, 0.0);
    }
}

/* What is wet below a depth is dry above the same depth from the other side. */
static void a_cask_is_the_same_upside_down(void **state)
{
    (void)state;
    static const double head_frac[] = {0.7, 0.86, 0.95, 1.0};
    for (size_t k = 0; k < COUNT(head_frac); k++) {
        struct stv_cask_shape shape = {231.0, 0.645, head_frac[k]};
        for (int i = 0; i <= 500; i++) {
            double wet_m = 0.645 * i / 500.0;
            stv_assert_close(dip_l(&shape, wet_m) + dip_l(&shape, 0.645 - wet_m), 231.0, 1e-11,
                             0.0);
        }
    }
}

static void deeper_is_more(void **state)
{
    (void)state;
    struct stv_cask_shape shape = shape_of(200.0, NAN);
    double last_l = dip_l(&shape, 0.0);
    for (int i = 1; i <= 6000; i++) {
        double volume_l = dip_l(&shape, fmin(shape.bilge_m * i / 6000.0, shape.bilge_m));
        assert_true(volume_l > last_l);
        last_l = volume_l;
    }
}

/* The other order of summing: chords across the cask and along it, layer by layer from the bottom.
 * Along the cask the profile R (1 - (1 - h) s^2) is as in the header. */
static double layers_frac(double head_frac, double wet_frac)
{
    int n_layers = 2000, n_along = 400;
    double wet = 0.0, whole = 0.0;
    for (int i = 0; i < n_layers; i++) {
        double level = 2.0 * (i + 0.5) / n_layers - 1.0, chords = 0.0; /* radius 1 at the bung */
        for (int j = 0; j < n_along; j++) {
            double along = (j + 0.5) / n_along;
            double radius = 1.0 - (1.0 - head_frac) * along * along;
            chords += sqrt(fmax(0.0, radius * radius - level * level));
        }
        whole += chords;
        if (i + 0.5 < wet_frac * n_layers)
            wet += chords;
    }
    return wet / whole;
}

static void layers_sum_to_the_same(void **state)
{
    (void)state;
    static const double head_frac[] = {0.75, 0.86, 1.0};
    static const double wet_frac[] = {0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 0.9};
    for (size_t k = 0; k < COUNT(head_frac); k++) {
        struct stv_cask_shape shape = {200.0, 0.6, head_frac[k]};
        for (size_t i = 0; i < COUNT(wet_frac); i++)
            stv_assert_close(dip_l(&shape, 0.6 * wet_frac[i]) / 200.0,
                             layers_frac(head_frac[k], wet_frac[i]), 0.0, 2e-5);
    }
}

/* The heads of a bellied cask stand higher than its bung stave: shallow liquid lies in the middle
 * only. */
static void a_belly_keeps_the_ends_dry(void **state)
{
    (void)state;
    struct stv_cask_shape bellied = {200.0, 0.6, 0.86}, straight = {200.0, 0.6, 1.0};
    for (int i = 1; i < 50; i++) {
        double wet_m = 0.6 * i / 100.0;
        assert_true(dip_l(&bellied, wet_m) < dip_l(&straight, wet_m));
        assert_true(dip_l(&bellied, 0.6 - wet_m) > dip_l(&straight, 0.6 - wet_m));
    }
}

/* Usual proportions: common practice, no published source; 0.60 m for 200 L, from memory. */
static void bilge_given_or_usual(void **state)
{
    (void)state;
    stv_assert_close(shape_of(200.0, NAN).bilge_m, 0.60, 0.0, 5e-3);
    stv_assert_close(shape_of(200.0, 0.57).bilge_m, 0.57, 0.0, 0.0);
    /* Twice as wide, long and high is eight times as much. */
    stv_assert_close(shape_of(400.0, NAN).bilge_m, 2.0 * shape_of(50.0, NAN).bilge_m, 1e-14, 0.0);
    for (size_t k = 0; k < COUNT(capacities_l); k++) {
        struct stv_cask_shape usual = shape_of(capacities_l[k], NAN);
        struct stv_cask_shape same = shape_of(capacities_l[k], usual.bilge_m);
        stv_assert_close(usual.capacity_l, capacities_l[k], 0.0, 0.0);
        assert_true(usual.head_frac > 0.8 && usual.head_frac < 1.0);
        stv_assert_close(same.head_frac, usual.head_frac, 0.0, 0.0);
        stv_assert_close(dip_l(&same, 0.4 * usual.bilge_m), dip_l(&usual, 0.4 * usual.bilge_m), 0.0,
                         0.0);
    }
    /* The ends of both ranges are inside them. */
    stv_assert_close(shape_of(1.0, 0.1).bilge_m, 0.1, 0.0, 0.0);
    stv_assert_close(shape_of(1000.0, 1.5).bilge_m, 1.5, 0.0, 0.0);
}

static void shapes_refuse_outside(void **state)
{
    (void)state;
    static const double bad[][2] = {{0.99, NAN},   {1000.1, NAN}, {NAN, NAN},       {-200.0, NAN},
                                    {0.99, 0.6},   {NAN, 0.6},    {INFINITY, 0.6},  {200.0, 0.099},
                                    {200.0, 1.51}, {200.0, -0.6}, {200.0, INFINITY}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct stv_cask_shape shape = {1.0, 1.0, 1.0};
        stv_assert_status(stv_cask_shape(bad[i][0], bad[i][1], &shape), STV_E_DOMAIN);
        stv_assert_close(shape.capacity_l, NAN, 0.0, 0.0);
        stv_assert_close(shape.bilge_m, NAN, 0.0, 0.0);
        stv_assert_close(shape.head_frac, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_cask_shape(200.0, 0.6, NULL), STV_E_ARG);
}

static void dips_refuse_outside(void **state)
{
    (void)state;
    struct stv_cask_shape shape = shape_of(200.0, 0.6), none = {NAN, NAN, NAN};
    static const double bad_m[] = {-1e-9, 0.6 + 1e-9, 47.5, NAN, INFINITY};
    double volume_l;
    for (size_t i = 0; i < COUNT(bad_m); i++) {
        volume_l = 1.0;
        stv_assert_status(stv_dip_volume_l(&shape, bad_m[i], &volume_l), STV_E_DOMAIN);
        stv_assert_close(volume_l, NAN, 0.0, 0.0);
    }
    /* The shape that a refusal leaves holds nothing either. */
    stv_assert_status(stv_dip_volume_l(&none, 0.3, &volume_l), STV_E_DOMAIN);
    stv_assert_close(volume_l, NAN, 0.0, 0.0);
    stv_assert_status(stv_dip_volume_l(NULL, 0.3, &volume_l), STV_E_ARG);
    stv_assert_status(stv_dip_volume_l(&shape, 0.3, NULL), STV_E_ARG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cylinder_has_a_closed_form),
        cmocka_unit_test(ends_and_middle),
        cmocka_unit_test(a_cask_is_the_same_upside_down),
        cmocka_unit_test(deeper_is_more),
        cmocka_unit_test(layers_sum_to_the_same),
        cmocka_unit_test(a_belly_keeps_the_ends_dry),
        cmocka_unit_test(bilge_given_or_usual),
        cmocka_unit_test(shapes_refuse_outside),
        cmocka_unit_test(dips_refuse_outside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
