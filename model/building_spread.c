/* Doubts of a building.  Areas, conductances, fan and vapour move by a factor exp(sd z),
 * absorptance by sd z, wetness by its odds, so that dry stays dry and soaked stays soaked; z comes
 * from one of n_members equally likely strata, so that few members fill the range. */
#include "model/building_spread.h"

#include "model/draws.h"

#include <math.h>

/* "A factor of f either way" is taken as where 9 in 10 lie: sd = ln f / 1.645. */
static const struct stv_building_doubt_info infos[STV_BUILDING_DOUBTS] = {
    [STV_DOUBT_LEAKS] =
        {"leaks", "a factor of 2 either way",
         "judgement: leakage tests of like buildings scatter about so (from memory)", 0.4214},
    [STV_DOUBT_VENTS] = {"free area of vents", "a factor of 1.5 either way",
                         "judgement: screens, rust, and a discharge coefficient of 0.4 to 0.9",
                         0.2465},
    [STV_DOUBT_SHELTER] = {"wind that reaches it", "a factor of 1.6 either way",
                           "judgement: one class of shelter in the air leakage tables of ASHRAE "
                           "(from memory)",
                           0.2857},
    [STV_DOUBT_FAN] = {"air that a fan moves", "a factor of 1.4 either way",
                       "judgement: rated against installed", 0.2045},
    [STV_DOUBT_WALL_FINISH] = {"sun that walls take up", "+- 10 points", "judgement: dirt and age",
                               0.06},
    [STV_DOUBT_ROOF_FINISH] = {"sun that a roof takes up", "+- 10 points",
                               "judgement: white roofs darken by about so in three years (from "
                               "memory)",
                               0.06},
    [STV_DOUBT_WALL_LAYERS] = {"conductance of wall layers", "a factor of 1.4 either way",
                               "judgement: joints, damp and fixings", 0.2045},
    [STV_DOUBT_ROOF_LAYERS] = {"conductance of roof layers", "a factor of 1.4 either way",
                               "judgement: joints, damp and fixings", 0.2045},
    [STV_DOUBT_WETNESS] = {"wetness of an earth floor", "odds by a factor of 3 either way",
                           "judgement", 0.6679},
    [STV_DOUBT_CASK_VAPOUR] = {"water that casks give to the air", "a factor of 1.6 either way",
                               "judgement: 0.2 to 0.45 g/h of a 200 L cask", 0.2857},
};

const struct stv_building_doubt_info *stv_building_doubt_info(enum stv_building_doubt doubt)
{
    return &infos[doubt];
}

static double scored(struct stv_building_member member, enum stv_building_doubt doubt)
{
    return infos[doubt].sd_nd *
           stv_draw_stratum_nd(member.seed, infos[doubt].what, member.member_idx, member.n_members);
}

static double factor_of(struct stv_building_member member, enum stv_building_doubt doubt)
{
    return exp(scored(member, doubt));
}

static void draw_air(struct stv_building *building, struct stv_building_member member)
{
    double plan_m2 = building->length_m * building->width_m;
    double vents_nd = factor_of(member, STV_DOUBT_VENTS);
    building->leak_area_m2 =
        fmin(plan_m2, building->leak_area_m2 * factor_of(member, STV_DOUBT_LEAKS));
    building->vent_low_m2 = fmin(plan_m2, building->vent_low_m2 * vents_nd);
    building->vent_high_m2 = fmin(plan_m2, building->vent_high_m2 * vents_nd);
    building->wind_shelter_frac =
        fmin(1.5, building->wind_shelter_frac * factor_of(member, STV_DOUBT_SHELTER));
    building->night_air_change_per_h =
        fmin(100.0, building->night_air_change_per_h * factor_of(member, STV_DOUBT_FAN));
    building->cask_vapour_kg_h =
        fmin(0.1, building->cask_vapour_kg_h * factor_of(member, STV_DOUBT_CASK_VAPOUR));
}

/* is_new: another finish than the building as it is has, so with an error of its own. */
static void draw_finish(struct stv_construction *construction, bool is_new,
                        enum stv_building_doubt doubt, struct stv_building_member member)
{
    if (is_new)
        member.seed ^= stv_key_of("new finish");
    construction->absorptance_frac =
        fmin(1.0, fmax(0.0, construction->absorptance_frac + scored(member, doubt)));
}

static void draw_layers(struct stv_construction *construction, double factor_nd)
{
    for (size_t i = 0; i < construction->n_layers; i++) {
        construction->layers[i].conductivity_w_mk *= factor_nd;
        construction->layers[i].resistance_m2k_w /= factor_nd;
    }
}

struct stv_building stv_building_drawn(const struct stv_building *building,
                                       const struct stv_building *as_is,
                                       struct stv_building_member member)
{
    struct stv_building out = *building;
    if (member.n_members < 2)
        return out;
    double odds_nd = factor_of(member, STV_DOUBT_WETNESS);
    double wet_frac = building->floor_wetness_frac;
    draw_air(&out, member);
    draw_finish(&out.wall, building->wall.absorptance_frac != as_is->wall.absorptance_frac,
                STV_DOUBT_WALL_FINISH, member);
    draw_finish(&out.roof, building->roof.absorptance_frac != as_is->roof.absorptance_frac,
                STV_DOUBT_ROOF_FINISH, member);
    draw_layers(&out.wall, factor_of(member, STV_DOUBT_WALL_LAYERS));
    draw_layers(&out.roof, factor_of(member, STV_DOUBT_ROOF_LAYERS));
    out.floor_wetness_frac = wet_frac * odds_nd / (1.0 - wet_frac + wet_frac * odds_nd);
    return out;
}
