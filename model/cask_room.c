/* Spirit grows with warmth four times as much as water, wood hardly at all: room that is not left
 * at filling is missing in summer. */
#include "model/cask_room.h"

#include <math.h>

#include "model/spirit.h"

/* Litres that are the room to within rounding count as fitting. */
#define ROUNDING_L 1e-9

#define ROOM_LARGEST_FRAC 0.5

static bool is_room(double room_frac)
{
    return room_frac >= 0.0 && room_frac <= ROOM_LARGEST_FRAC;
}

bool stv_cask_limit_is_possible(const struct stv_cask_limit *limit)
{
    return is_room(limit->room_frac) && !(limit->capacity_l <= 0.0);
}

double stv_spirit_volume_l(double mass_kg, double ethanol_mass_frac, double temp_c)
{
    struct stv_spirit_at at;
    if (!(mass_kg >= 0.0) || stv_spirit_at(temp_c, &at) != STV_OK)
        return NAN;
    return 1000.0 * mass_kg / stv_spirit_at_rho_kg_m3(&at, ethanol_mass_frac);
}

bool stv_fits(const struct stv_cask_limit *limit, double volume_hot_l)
{
    return volume_hot_l <= limit->capacity_l * (1.0 - limit->room_frac) + ROUNDING_L;
}

/* Source: sizes that casks are commonly sold in; common practice, no published source. */
static const double usual_sizes_l[] = {50.0,  100.0, 125.0, 200.0, 225.0,
                                       250.0, 300.0, 500.0, 600.0};

struct stv_room_help stv_room_help(const struct stv_cask_limit *limit, double volume_hot_l)
{
    double kept_l = limit->capacity_l * (1.0 - limit->room_frac);
    struct stv_room_help help = {NAN, NAN, (size_t)ceil(volume_hot_l / kept_l),
                                 kept_l / volume_hot_l};
    for (size_t i = 0; i < sizeof usual_sizes_l / sizeof usual_sizes_l[0]; i++) {
        double size_l = usual_sizes_l[i];
        if (isnan(help.tight_l) && size_l >= volume_hot_l)
            help.tight_l = size_l;
        if (isnan(help.roomy_l) && size_l * (1.0 - limit->room_frac) >= volume_hot_l)
            help.roomy_l = size_l;
    }
    if (help.tight_l == help.roomy_l || help.tight_l == limit->capacity_l)
        help.tight_l = NAN;
    return help;
}

double stv_most_full_l(const struct stv_cask_limit *limit, double ethanol_mass_frac,
                       double fill_temp_c, double room_frac)
{
    double grown = stv_spirit_volume_l(1.0, ethanol_mass_frac, limit->hottest_c) /
                   stv_spirit_volume_l(1.0, ethanol_mass_frac, fill_temp_c);
    if (!is_room(room_frac) || isnan(grown))
        return NAN;
    return limit->capacity_l * (1.0 - room_frac) / fmax(1.0, grown);
}
