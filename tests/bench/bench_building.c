/* How long a year of a building takes, tier by tier, and against a plain dense solve of its
 * network.
 *
 *     bench_building WEATHER
 *
 * Prints times and ratios of one run on one core; it judges nothing.  A run of the model is two
 * years: one of spin-up and the record's.  The dense way factors the matrix of every node at once,
 * twice a step, as the model's two stages do; a few solves are timed and counted up to a year. */
#include "ingest/weather_folder.h"
#include "ingest/weather_meta.h"
#include "model/building_parts.h"
#include "model/units.h"
#include "tests/bench/clock.h"

#include <gsl/gsl_linalg.h>
#include <stdio.h>
#include <stdlib.h>

#define YEAR_STAGES (2.0 * 8760.0)
#define SOLVES 20
#define REPEATS 3

static void read_weather(const char *path, struct stv_weather *out)
{
    struct stv_weather_source source = {.station = ""};
    struct stv_weather_record record = {0};
    struct stv_weather_meta meta;
    struct stv_problems problems;
    snprintf(source.path, sizeof source.path, "%s", path);
    stv_weather_meta_init(&source.meta);
    stv_problems_init(&problems);
    if (stv_weather_read(&source, &problems, &record, &meta) != STV_OK)
        exit(2);
    record.site = meta.site;
    if (stv_weather_complete(&record, out) != STV_OK)
        exit(2);
    stv_weather_record_free(&record);
    stv_problems_free(&problems);
}

static struct stv_building house(size_t n_tiers)
{
    struct stv_building building;
    if (stv_building_of_kind(STV_BUILDING_RICK_HOUSE, n_tiers, 0, 0, &building) != STV_OK)
        exit(3);
    return building;
}

/* Best of some runs, for one year of the record. */
static double year_s(const struct stv_building *building, const struct stv_weather *weather)
{
    double best_s = 1e9, years = (double)weather->grid.n / 8760.0 + 1.0;
    for (int i = 0; i < REPEATS; i++) {
        struct stv_building_climate climate;
        double started_s = now_s();
        if (stv_building_simulate(building, weather, STV_HOUR_S, &climate) != STV_OK)
            exit(4);
        double took_s = (now_s() - started_s) / years;
        best_s = took_s < best_s ? took_s : best_s;
        stv_building_climate_free(&climate);
    }
    return best_s;
}

static size_t nodes_of(const struct stv_construction *construction)
{
    struct stv_wall *wall = NULL;
    if (stv_wall_new(construction, 1, STV_HOUR_S, 20.0, &wall) != STV_OK)
        exit(5);
    size_t n = stv_wall_n_nodes(wall);
    stv_wall_free(wall);
    return n;
}

/* Every node of walls, roof, floor, air, shells and liquids. */
static size_t n_nodes(const struct stv_building *building, const struct stv_weather *weather)
{
    struct stv__shape shape;
    struct stv__ground ground;
    stv__shape_of(building, &shape);
    if (stv__ground_of(building, &shape, weather, &ground) != STV_OK)
        exit(6);
    return shape.n_levels * STV__FACES * nodes_of(&building->wall) + nodes_of(&building->roof) +
           nodes_of(&ground.floor) + shape.n_levels + 2 * shape.n_tiers;
}

static double dense_year_s(size_t n)
{
    gsl_matrix *matrix = gsl_matrix_alloc(n, n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    gsl_vector *right = gsl_vector_alloc(n), *answer = gsl_vector_alloc(n);
    int sign;
    double took_s = 0.0;
    for (int i = 0; i < SOLVES; i++) {
        gsl_matrix_set_all(matrix, -1e-3);
        for (size_t k = 0; k < n; k++)
            gsl_matrix_set(matrix, k, k, 2.0 + 1e-3 * (double)k);
        gsl_vector_set_all(right, 1.0);
        double started_s = now_s();
        gsl_linalg_LU_decomp(matrix, order, &sign);
        gsl_linalg_LU_solve(matrix, order, right, answer);
        took_s += now_s() - started_s;
    }
    gsl_vector_free(answer);
    gsl_vector_free(right);
    gsl_permutation_free(order);
    gsl_matrix_free(matrix);
    return took_s / SOLVES * YEAR_STAGES;
}

int main(int argc, char **argv)
{
    static const size_t tiers[] = {2, 4, 9, 18, 32};
    struct stv_weather weather;
    if (argc != 2) {
        fprintf(stderr, "usage: bench_building WEATHER\n");
        return 1;
    }
    read_weather(argv[1], &weather);
    for (size_t i = 0; i < sizeof tiers / sizeof tiers[0]; i++) {
        struct stv_building building = house(tiers[i]);
        double took_s = year_s(&building, &weather);
        printf("%2zu tiers  %.3f s a building-year, %.1f ms a tier", tiers[i], took_s,
               1000.0 * took_s / (double)tiers[i]);
        if (tiers[i] == 18) {
            size_t n = n_nodes(&building, &weather);
            double dense_s = dense_year_s(n);
            printf("; a dense solve of its %zu nodes %.0f s, %.0f times as long", n, dense_s,
                   dense_s / took_s);
        }
        printf("\n");
    }
    stv_weather_free(&weather);
    return 0;
}
