/* Heat of the rooms in one stage.  Unknown are the floor's surface, air and cask shells of each
 * tier, the head space's air and the roof's inside surface, in that order; each touches only
 * unknowns at most two places away, so the system has two bands on either side and costs a fixed
 * sum per tier. Walls, roof and floor come in as one conductance and one source; the liquid is
 * eliminated into its shell.  Only the long wave that passes between thinly stacked casks, straight
 * from roof to floor, reaches across: that one term is added by the Sherman-Morrison formula.
 *
 * Diagonal dominance (each row's outflow equals its couplings plus storage) makes elimination
 * without pivoting stable. */
#include "model/building_parts.h"

#include <float.h>
#include <math.h>

#define UNKNOWNS_MAX (2 * STV_TIERS_MAX + 3)
#define HALF_BAND 2
#define BAND (2 * HALF_BAND + 1)
#define HEATING_ROUNDS 8

/* The roof's underside turns from a cold ceiling to a warm one over this; judgement. */
#define CEILING_TURN_K 0.5
/* What a cask's outside radiates altogether, and walls of emittance 0.9 with it: 5.1 x 0.9. */
#define CASK_RADIATION_W_M2K 5.0
#define WALL_RADIATION_W_M2K 4.6

struct system {
    size_t n;
    double band[UNKNOWNS_MAX + HALF_BAND][BAND]; /* [row][HALF_BAND + column - row] */
    double inverse[UNKNOWNS_MAX];                /* of the pivots */
    double right[UNKNOWNS_MAX + HALF_BAND];
    double across[UNKNOWNS_MAX + HALF_BAND]; /* roof-to-floor direction, then its solution */
};

static size_t air_idx(size_t level)
{
    return 1 + 2 * level;
}

static size_t shell_idx(size_t tier)
{
    return 2 + 2 * tier;
}

double stv__roof_film_inside_w_m2k(const struct stv_building_numbers *numbers, double roof_c,
                                   double air_c)
{
    double warm_frac = fmin(fmax(0.5 + (roof_c - air_c) / (2.0 * CEILING_TURN_K), 0.0), 1.0);
    return numbers->ceiling_cold_w_m2k +
           warm_frac * (numbers->ceiling_warm_w_m2k - numbers->ceiling_cold_w_m2k);
}

static void add_store(struct system *s, size_t i, double mass_w_k, double base_c)
{
    s->band[i][HALF_BAND] += mass_w_k;
    s->right[i] += mass_w_k * base_c;
}

static void add_port(struct system *s, size_t i, const struct stv__port *port)
{
    s->band[i][HALF_BAND] += port->conductance_w_k;
    s->right[i] += port->source_w;
}

static void add_stream(struct system *s, size_t to, size_t from, double g_w_k)
{
    s->band[to][HALF_BAND] += g_w_k;
    s->band[to][HALF_BAND + from - to] -= g_w_k;
}

static void add_link(struct system *s, size_t i, size_t j, double g_w_k)
{
    add_stream(s, i, j, g_w_k);
    add_stream(s, j, i, g_w_k);
}

/* Rows past the end stay zero, so the last two need no care. */
static void factor(struct system *s)
{
    for (size_t k = 0; k < s->n; k++) {
        const double *row = s->band[k];
        double *next = s->band[k + 1], *second = s->band[k + 2];
        s->inverse[k] = 1.0 / row[2];
        next[1] *= s->inverse[k];
        next[2] -= next[1] * row[3];
        next[3] -= next[1] * row[4];
        second[0] *= s->inverse[k];
        second[1] -= second[0] * row[3];
        second[2] -= second[0] * row[4];
    }
}

/* x has two zeros past the end. */
static void solve(const struct system *s, double *x)
{
    for (size_t k = 0; k < s->n; k++) {
        x[k + 1] -= s->band[k + 1][1] * x[k];
        x[k + 2] -= s->band[k + 2][0] * x[k];
    }
    for (size_t k = s->n; k-- > 0;)
        x[k] = (x[k] - s->band[k][3] * x[k + 1] - s->band[k][4] * x[k + 2]) * s->inverse[k];
}

static bool has_casks(const struct stv__shape *shape, size_t level)
{
    return level < shape->n_tiers && shape->casks.n > 0.0;
}

static void assemble_air(const struct stv__heat *heat, const struct stv__flows *flows,
                         struct system *s)
{
    const struct stv__shape *shape = heat->shape;
    double air = shape->air_j_m3k;
    for (size_t i = 0; i < shape->n_levels; i++) {
        size_t row = air_idx(i);
        add_store(s, row, air * shape->level_volume_m3[i] / heat->stage_s, heat->base.air_c[i]);
        add_store(s, row, air * flows->in_m3_s[i], heat->outdoor_c);
        add_port(s, row, &heat->wall[i]);
        s->right[row] += heat->given_air_w[i];
        if (!has_casks(shape, i))
            s->right[row] += heat->given_w[i];
        if (i + 1 < shape->n_levels) {
            add_stream(s, air_idx(i + 1), row, air * flows->up_m3_s[i]);
            add_stream(s, row, air_idx(i + 1), air * flows->down_m3_s[i]);
        }
    }
}

static void assemble_casks(const struct stv__heat *heat, struct system *s)
{
    const struct stv__casks *casks = &heat->shape->casks;
    double liquid_w_k = casks->liquid_j_k / heat->stage_s;
    double between_w_k =
        heat->shape->numbers->tier_radiation_w_m2k * casks->cover_frac * heat->shape->plan_m2;
    for (size_t i = 0; i < heat->shape->n_tiers; i++) {
        size_t row = shell_idx(i);
        if (!has_casks(heat->shape, i)) { /* no casks: the row stands alone, at its base */
            add_store(s, row, 1.0, heat->base.shell_c[i]);
            continue;
        }
        add_store(s, row, casks->shell_j_k / heat->stage_s, heat->base.shell_c[i]);
        add_store(s, row, casks->core_w_k * liquid_w_k / (casks->core_w_k + liquid_w_k),
                  heat->base.liquid_c[i]);
        add_link(s, row, air_idx(i), casks->film_w_k);
        s->right[row] += heat->given_w[i];
        if (i + 1 < heat->shape->n_tiers)
            add_link(s, row, shell_idx(i + 1), between_w_k);
    }
}

static void assemble_floor_and_roof(const struct stv__heat *heat, struct system *s)
{
    const struct stv__shape *shape = heat->shape;
    size_t roof = s->n - 1, top_tier = shape->n_tiers - 1;
    double latent_w_k = STV__LATENT_J_KG * heat->evaporation.slope_kg_sk;
    add_port(s, 0, &heat->floor);
    add_port(s, 0,
             &(struct stv__port){latent_w_k, -STV__LATENT_J_KG * heat->evaporation.rate_kg_s});
    s->right[0] += heat->given_floor_w;
    add_link(s, 0, air_idx(0), shape->numbers->floor_inside_w_m2k * shape->plan_m2);
    add_port(s, roof, &heat->roof);
    add_link(s, roof, air_idx(shape->n_levels - 1), heat->roof_film_w_m2k * shape->roof_m2);
    if (shape->casks.n > 0.0)
        add_link(s, roof, shell_idx(top_tier),
                 shape->numbers->roof_radiation_w_m2k * shape->casks.cover_frac * shape->plan_m2);
}

static double across_w_k(const struct stv__shape *shape)
{
    return shape->numbers->roof_radiation_w_m2k * (1.0 - shape->casks.cover_frac) * shape->plan_m2;
}

/* (M + g w w') x = b with w = roof - floor: x = y - z g w'y/(1 + g w'z), M y = b, M z = w. */
static void solve_across(const struct stv__heat *heat, struct system *s)
{
    double g_w_k = across_w_k(heat->shape);
    solve(s, s->right);
    if (g_w_k <= 0.0)
        return;
    size_t roof = s->n - 1;
    s->across[roof] = 1.0;
    s->across[0] = -1.0;
    solve(s, s->across);
    double share =
        g_w_k * (s->right[roof] - s->right[0]) / (1.0 + g_w_k * (s->across[roof] - s->across[0]));
    for (size_t i = 0; i < s->n; i++)
        s->right[i] -= share * s->across[i];
}

static void assemble(const struct stv__heat *heat, const struct stv__flows *flows, struct system *s)
{
    *s = (struct system){.n = heat->shape->n_tiers + heat->shape->n_levels + 2};
    assemble_air(heat, flows, s);
    assemble_casks(heat, s);
    assemble_floor_and_roof(heat, s);
}

/* The air of a tier stays at a temperature. */
static void hold(struct system *s, size_t row, double held_c)
{
    for (size_t k = 0; k < BAND; k++)
        s->band[row][k] = 0.0;
    s->band[row][HALF_BAND] = 1.0;
    s->right[row] = held_c;
}

/* Heat that a row of an unsolved system lacks at a solution; no air touches unknown -1. */
static double lacking_w(const struct system *s, const double *x, size_t row)
{
    double lacking_w = -s->right[row];
    for (size_t k = row < HALF_BAND ? HALF_BAND - row : 0; k < BAND; k++)
        lacking_w += s->band[row][k] * x[row + k - HALF_BAND];
    return lacking_w;
}

/* Which tiers need heat is found by holding those that are too cold and letting go those that would
 * have to be cooled, until neither is left: with couplings that only ever warm a neighbour, that
 * ends after a few rounds. */
static void heat_tiers(const struct stv__heat *heat, const struct system *cold, struct system *s,
                       double *heating_w)
{
    for (int round = 0; round < HEATING_ROUNDS; round++) {
        bool is_settled = true;
        struct system next = *cold;
        for (size_t i = 0; i < heat->shape->n_tiers; i++) {
            double lacks_w = heating_w[i] > 0.0 ? lacking_w(cold, s->right, air_idx(i)) : 0.0;
            bool was_held = heating_w[i] > 0.0;
            bool is_held = was_held ? lacks_w > 0.0 : s->right[air_idx(i)] < heat->heating_c;
            is_settled = is_settled && is_held == was_held;
            heating_w[i] = is_held ? fmax(lacks_w, DBL_MIN) : 0.0;
            if (is_held)
                hold(&next, air_idx(i), heat->heating_c);
        }
        if (is_settled)
            return;
        *s = next;
        factor(s);
        solve_across(heat, s);
    }
    for (size_t i = 0; i < heat->shape->n_tiers; i++)
        heating_w[i] = heating_w[i] > 0.0 ? lacking_w(cold, s->right, air_idx(i)) : 0.0;
}

void stv__heat_solve(const struct stv__heat *heat, const struct stv__flows *flows,
                     struct stv__rooms *rooms)
{
    const struct stv__shape *shape = heat->shape;
    const struct stv__casks *casks = &shape->casks;
    struct system s, cold;
    assemble(heat, flows, &s);
    if (isfinite(heat->heating_c))
        cold = s;
    factor(&s);
    solve_across(heat, &s);
    if (isfinite(heat->heating_c)) {
        for (size_t i = 0; i < shape->n_tiers; i++)
            rooms->heating_w[i] = 0.0;
        heat_tiers(heat, &cold, &s, rooms->heating_w);
    }
    rooms->floor_c = s.right[0];
    rooms->roof_c = s.right[s.n - 1];
    for (size_t i = 0; i < shape->n_levels; i++)
        rooms->air_c[i] = s.right[air_idx(i)];
    for (size_t i = 0; i < shape->n_tiers; i++) {
        double liquid_w_k = casks->liquid_j_k / heat->stage_s;
        rooms->shell_c[i] = casks->n > 0.0 ? s.right[shell_idx(i)] : rooms->air_c[i];
        rooms->liquid_c[i] =
            casks->n > 0.0
                ? (liquid_w_k * heat->base.liquid_c[i] + casks->core_w_k * rooms->shell_c[i]) /
                      (liquid_w_k + casks->core_w_k)
                : rooms->air_c[i];
    }
}

double stv__rooms_heat_j(const struct stv__shape *shape, const struct stv__rooms *rooms)
{
    double heat_j = 0.0;
    for (size_t i = 0; i < shape->n_levels; i++)
        heat_j += shape->air_j_m3k * shape->level_volume_m3[i] * rooms->air_c[i];
    for (size_t i = 0; i < shape->n_tiers; i++)
        heat_j += shape->casks.shell_j_k * rooms->shell_c[i] +
                  shape->casks.liquid_j_k * rooms->liquid_c[i];
    return heat_j;
}

static double skin_c(const struct stv__shape *shape, const struct stv__rooms *rooms, size_t tier)
{
    double air_frac = shape->casks.skin_air_frac;
    return air_frac * rooms->air_c[tier] + (1.0 - air_frac) * rooms->shell_c[tier];
}

/* Walls of the level, floor and roof by area: what a lone cask sees. */
static double room_surfaces_c(const struct stv__shape *shape, const struct stv__rooms *rooms,
                              double walls_c, double walls_m2)
{
    return (walls_m2 * walls_c + shape->plan_m2 * rooms->floor_c + shape->roof_m2 * rooms->roof_c) /
           (walls_m2 + shape->plan_m2 + shape->roof_m2);
}

double stv__radiant_c(const struct stv__shape *shape, const struct stv__rooms *rooms,
                      const struct stv__skin *walls, size_t tier_idx)
{
    double room_c = room_surfaces_c(shape, rooms, walls->mean_c, walls->area_m2);
    double cover_frac = shape->casks.cover_frac;
    if (cover_frac <= 0.0)
        return room_c;
    bool is_top = tier_idx + 1 == shape->n_tiers, is_bottom = tier_idx == 0;
    double above_w_m2k =
        is_top ? shape->numbers->roof_radiation_w_m2k : shape->numbers->tier_radiation_w_m2k;
    double above_c = is_top ? rooms->roof_c : skin_c(shape, rooms, tier_idx + 1);
    double below_c = is_bottom ? rooms->floor_c : skin_c(shape, rooms, tier_idx - 1);
    double walls_w_m2k = WALL_RADIATION_W_M2K * walls->area_m2 / shape->plan_m2;
    double beyond_w_m2k = above_w_m2k + shape->numbers->tier_radiation_w_m2k + walls_w_m2k;
    double all_w_m2k = CASK_RADIATION_W_M2K * STV__FULL_STORE_CASK_M2_PER_M2;
    double own_w_m2k = fmax(all_w_m2k - beyond_w_m2k, 0.0);
    double stack_c = (above_w_m2k * above_c + shape->numbers->tier_radiation_w_m2k * below_c +
                      walls_w_m2k * walls->mean_c + own_w_m2k * skin_c(shape, rooms, tier_idx)) /
                     (beyond_w_m2k + own_w_m2k);
    return cover_frac * stack_c + (1.0 - cover_frac) * room_c;
}
