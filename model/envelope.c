/* Heat conduction through plane layers.  Each layer is cut into cells of equal thickness with a
 * node on every cell face; half a cell's capacity stands at each of its two nodes:
 *
 *     C_j dT_j/dt = k_(j-1) (T_(j-1) - T_j) + k_j (T_(j+1) - T_j),   node 0 outside
 *
 * and node 0 also trades U_out (T_out - T_0).  A stage turns this into a tridiagonal system, which
 * is eliminated from the outside inwards; what is left at the inside surface is one line,
 * conductance x T - source.  Lanes lie side by side in memory so that the loops over them run in
 * the vector unit.  Moisture in the layers, edges and temperature-dependent conductivity are
 * left out. */
#include "model/envelope.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>

/* A node needs about eight cells per penetration depth: 600 mm of rubble then transmits the daily
 * wave within half a per cent of the exact amplitude; five cells would leave 1.3 %. */
#define CELLS_PER_DEPTH 8.0
#define CELLS_PER_LAYER_MAX 200.0
#define METAL_CONDUCTIVITY_W_MK 10.0
#define METAL_SKIN_M 0.003
#define THICKEST_M 3.0

static const double pi_nd = 3.14159265358979323846;

struct stv_wall {
    size_t n_nodes, n_lanes;
    double *link_w_m2k;     /* n_nodes - 1, node j to j + 1 */
    double *capacity_j_m2k; /* n_nodes */
    double *mass_w_m2k;     /* n_nodes, capacity over (gamma x step) */
    /* node-major, [j * n_lanes + lane] */
    double *old_c, *now_c, *source_w_m2, *inverse_m2k_w;
    double *outside_w_m2k; /* n_lanes */
};

static int layer_is_massless(const struct stv_layer *layer)
{
    int is_skin =
        layer->conductivity_w_mk > METAL_CONDUCTIVITY_W_MK && layer->thickness_m <= METAL_SKIN_M;
    return is_skin || layer->resistance_m2k_w > 0.0 || !(layer->density_kg_m3 > 0.0) ||
           !(layer->cp_j_kgk > 0.0);
}

static double layer_resistance_m2k_w(const struct stv_layer *layer)
{
    if (layer->resistance_m2k_w > 0.0)
        return layer->resistance_m2k_w;
    return layer->thickness_m / layer->conductivity_w_mk;
}

static int layer_can_exist(const struct stv_layer *layer)
{
    const double numbers[] = {layer->conductivity_w_mk, layer->thickness_m, layer->density_kg_m3,
                              layer->cp_j_kgk, layer->resistance_m2k_w};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        if (!isfinite(numbers[i]) || numbers[i] < 0.0)
            return 0;
    if (layer->resistance_m2k_w > 0.0)
        return 1;
    return layer->conductivity_w_mk > 0.0 && layer->thickness_m > 0.0 &&
           layer->thickness_m <= THICKEST_M;
}

enum stv_status stv_construction_check(const struct stv_construction *construction)
{
    if (!construction)
        return STV_E_ARG;
    if (construction->n_layers == 0 || construction->n_layers > STV_LAYERS_MAX)
        return STV_E_DOMAIN;
    for (size_t i = 0; i < construction->n_layers; i++)
        if (!layer_can_exist(&construction->layers[i]))
            return STV_E_DOMAIN;
    if (!(construction->absorptance_frac >= 0.0 && construction->absorptance_frac <= 1.0) ||
        !(construction->emittance_frac >= 0.0 && construction->emittance_frac <= 1.0))
        return STV_E_DOMAIN;
    return STV_OK;
}

double stv_construction_u_w_m2k(const struct stv_construction *construction,
                                double inside_film_m2k_w, double outside_film_m2k_w)
{
    if (!construction)
        return NAN;
    double resistance_m2k_w = inside_film_m2k_w + outside_film_m2k_w;
    for (size_t i = 0; i < construction->n_layers; i++)
        resistance_m2k_w += layer_resistance_m2k_w(&construction->layers[i]);
    return 1.0 / resistance_m2k_w;
}

static size_t layer_cells(const struct stv_layer *layer)
{
    if (layer_is_massless(layer))
        return 1;
    double depth_m = sqrt(layer->conductivity_w_mk * STV_DAY_S /
                          (pi_nd * layer->density_kg_m3 * layer->cp_j_kgk));
    double cells = ceil(CELLS_PER_DEPTH * layer->thickness_m / depth_m);
    return (size_t)fmin(fmax(cells, 1.0), CELLS_PER_LAYER_MAX);
}

static void cut_layers(struct stv_wall *wall, const struct stv_construction *construction,
                       double step_s)
{
    size_t node_idx = 0;
    for (size_t i = 0; i < construction->n_layers; i++) {
        const struct stv_layer *layer = &construction->layers[i];
        size_t n_cells = layer_cells(layer);
        double cells = (double)n_cells;
        double half_j_m2k = layer_is_massless(layer) ? 0.0
                                                     : layer->density_kg_m3 * layer->cp_j_kgk *
                                                           layer->thickness_m / (2.0 * cells);
        for (size_t cell = 0; cell < n_cells; cell++, node_idx++) {
            wall->link_w_m2k[node_idx] = cells / layer_resistance_m2k_w(layer);
            wall->capacity_j_m2k[node_idx] += half_j_m2k;
            wall->capacity_j_m2k[node_idx + 1] += half_j_m2k;
        }
    }
    for (size_t j = 0; j < wall->n_nodes; j++)
        wall->mass_w_m2k[j] = wall->capacity_j_m2k[j] / (STV_STAGE_GAMMA_FRAC * step_s);
}

static enum stv_status allocate(struct stv_wall *wall)
{
    size_t n_all = wall->n_nodes * wall->n_lanes;
    wall->link_w_m2k = calloc(wall->n_nodes, sizeof(double));
    wall->capacity_j_m2k = calloc(wall->n_nodes, sizeof(double));
    wall->mass_w_m2k = calloc(wall->n_nodes, sizeof(double));
    wall->old_c = calloc(n_all, sizeof(double));
    wall->now_c = calloc(n_all, sizeof(double));
    wall->source_w_m2 = calloc(n_all, sizeof(double));
    wall->inverse_m2k_w = calloc(n_all, sizeof(double));
    wall->outside_w_m2k = calloc(wall->n_lanes, sizeof(double));
    if (!wall->link_w_m2k || !wall->capacity_j_m2k || !wall->mass_w_m2k || !wall->old_c ||
        !wall->now_c || !wall->source_w_m2 || !wall->inverse_m2k_w || !wall->outside_w_m2k)
        return STV_E_MEMORY;
    return STV_OK;
}

enum stv_status stv_wall_new(const struct stv_construction *construction, size_t n_lanes,
                             double step_s, double start_c, struct stv_wall **out)
{
    if (!construction || !out || n_lanes == 0 || !(step_s > 0.0) || !isfinite(start_c))
        return STV_E_ARG;
    *out = NULL;
    enum stv_status status = stv_construction_check(construction);
    if (status != STV_OK)
        return status;
    struct stv_wall *wall = calloc(1, sizeof *wall);
    if (!wall)
        return STV_E_MEMORY;
    wall->n_lanes = n_lanes;
    wall->n_nodes = 1;
    for (size_t i = 0; i < construction->n_layers; i++)
        wall->n_nodes += layer_cells(&construction->layers[i]);
    status = allocate(wall);
    if (status != STV_OK) {
        stv_wall_free(wall);
        return status;
    }
    cut_layers(wall, construction, step_s);
    for (size_t i = 0; i < wall->n_nodes * n_lanes; i++)
        wall->old_c[i] = wall->now_c[i] = start_c;
    *out = wall;
    return STV_OK;
}

void stv_wall_free(struct stv_wall *wall)
{
    if (!wall)
        return;
    free(wall->link_w_m2k);
    free(wall->capacity_j_m2k);
    free(wall->mass_w_m2k);
    free(wall->old_c);
    free(wall->now_c);
    free(wall->source_w_m2);
    free(wall->inverse_m2k_w);
    free(wall->outside_w_m2k);
    free(wall);
}

/* The last row keeps its pivot, the conductance left at the inside surface, uninverted. */
void stv_wall_begin_step(struct stv_wall *wall, const double *outside_w_m2k)
{
    size_t n_lanes = wall->n_lanes, last = wall->n_nodes - 1;
    for (size_t i = 0; i < wall->n_nodes * n_lanes; i++)
        wall->old_c[i] = wall->now_c[i];
    for (size_t lane = 0; lane < n_lanes; lane++) {
        wall->outside_w_m2k[lane] = outside_w_m2k[lane];
        wall->inverse_m2k_w[lane] =
            1.0 / (wall->mass_w_m2k[0] + wall->link_w_m2k[0] + outside_w_m2k[lane]);
    }
    for (size_t j = 1; j < last; j++) {
        double left = wall->link_w_m2k[j - 1];
        double sum = wall->mass_w_m2k[j] + left + wall->link_w_m2k[j];
        const double *before = wall->inverse_m2k_w + (j - 1) * n_lanes;
        double *inverse = wall->inverse_m2k_w + j * n_lanes;
        for (size_t lane = 0; lane < n_lanes; lane++)
            inverse[lane] = 1.0 / (sum - left * left * before[lane]);
    }
    double left = wall->link_w_m2k[last - 1];
    const double *before = wall->inverse_m2k_w + (last - 1) * n_lanes;
    double *pivot = wall->inverse_m2k_w + last * n_lanes;
    /* left (1 - left/d) equals left - left^2/d without losing the small difference. */
    for (size_t lane = 0; lane < n_lanes; lane++)
        pivot[lane] = wall->mass_w_m2k[last] + left * (1.0 - left * before[lane]);
}

void stv_wall_eliminate(struct stv_wall *wall, int stage, const double *outside_c,
                        double *out_conductance_w_m2k, double *out_source_w_m2)
{
    size_t n_lanes = wall->n_lanes, last = wall->n_nodes - 1;
    for (size_t j = 0; j <= last; j++) {
        double mass = wall->mass_w_m2k[j];
        const double *old = wall->old_c + j * n_lanes, *now = wall->now_c + j * n_lanes;
        double *source = wall->source_w_m2 + j * n_lanes;
        for (size_t lane = 0; lane < n_lanes; lane++)
            source[lane] = mass * stv_stage_base_nd(stage, old[lane], now[lane]);
    }
    for (size_t lane = 0; lane < n_lanes; lane++)
        wall->source_w_m2[lane] += wall->outside_w_m2k[lane] * outside_c[lane];
    for (size_t j = 1; j <= last; j++) {
        double left = wall->link_w_m2k[j - 1];
        const double *before = wall->inverse_m2k_w + (j - 1) * n_lanes;
        const double *source_before = wall->source_w_m2 + (j - 1) * n_lanes;
        double *source = wall->source_w_m2 + j * n_lanes;
        for (size_t lane = 0; lane < n_lanes; lane++)
            source[lane] += left * before[lane] * source_before[lane];
    }
    for (size_t lane = 0; lane < n_lanes; lane++) {
        out_conductance_w_m2k[lane] = wall->inverse_m2k_w[last * n_lanes + lane];
        out_source_w_m2[lane] = wall->source_w_m2[last * n_lanes + lane];
    }
}

void stv_wall_substitute(struct stv_wall *wall, const double *inside_surface_c)
{
    size_t n_lanes = wall->n_lanes, last = wall->n_nodes - 1;
    for (size_t lane = 0; lane < n_lanes; lane++)
        wall->now_c[last * n_lanes + lane] = inside_surface_c[lane];
    for (size_t j = last; j-- > 0;) {
        double link = wall->link_w_m2k[j];
        const double *source = wall->source_w_m2 + j * n_lanes;
        const double *inverse = wall->inverse_m2k_w + j * n_lanes;
        const double *after = wall->now_c + (j + 1) * n_lanes;
        double *now = wall->now_c + j * n_lanes;
        for (size_t lane = 0; lane < n_lanes; lane++)
            now[lane] = (source[lane] + link * after[lane]) * inverse[lane];
    }
}

const double *stv_wall_outside_surface_c(const struct stv_wall *wall)
{
    return wall->now_c;
}

const double *stv_wall_inside_surface_c(const struct stv_wall *wall)
{
    return wall->now_c + (wall->n_nodes - 1) * wall->n_lanes;
}

double stv_wall_heat_j_m2(const struct stv_wall *wall, size_t lane_idx)
{
    double heat_j_m2 = 0.0;
    for (size_t j = 0; j < wall->n_nodes; j++)
        heat_j_m2 += wall->capacity_j_m2k[j] * wall->now_c[j * wall->n_lanes + lane_idx];
    return heat_j_m2;
}

size_t stv_wall_n_nodes(const struct stv_wall *wall)
{
    return wall->n_nodes;
}

double stv_wall_node_c(const struct stv_wall *wall, size_t node_idx, size_t lane_idx)
{
    return wall->now_c[node_idx * wall->n_lanes + lane_idx];
}
