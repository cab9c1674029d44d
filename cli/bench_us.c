/* Wine gallons at 60 F, proof, pounds weighed in air. */
#include "cli/bench_us.h"

#include "model/cask_room.h"
#include "model/gauge.h"
#include "model/units.h"

#include <math.h>
#include <string.h>

static bool is_us_text(const char *text)
{
    size_t n = strlen(text);
    return strstr(text, "US") || strstr(text, "lb") || (n > 1 && strcmp(text + n - 2, " F") == 0);
}

bool stv_bench_uses_us(const struct stv_bench_reader *reader)
{
    for (size_t i = 0; i < reader->n_words; i++)
        if (is_us_text(reader->words[i].text) ||
            (reader->words[i].unit &&
             (is_us_text(reader->words[i].unit) || strcmp(reader->words[i].unit, "F") == 0)))
            return true;
    return false;
}

static double gallons_of(double mass_kg, double mass_frac)
{
    return stv_spirit_volume_l(mass_kg, mass_frac, STV_60F_C) / STV_WINE_GALLON_L;
}

static double pounds_of(double mass_kg, double mass_frac)
{
    double rho_kg_m3 = 1000.0 / stv_spirit_volume_l(1.0, mass_frac, STV_60F_C);
    return stv_net_from_mass_kg(mass_kg, rho_kg_m3) / STV_LB_KG;
}

struct stv_formatted stv_bench_us_spirit(double mass_kg, double abv20_frac)
{
    double mass_frac;
    if (stv_mass_frac_from_abv20(abv20_frac, &mass_frac) != STV_OK)
        return stv_format("-");
    return stv_format("%s gal at %s proof, %s lb",
                      stv_format_number(gallons_of(mass_kg, mass_frac), 1).text,
                      stv_format_number(stv_us_proof_nd(mass_frac), 1).text,
                      stv_format_number(pounds_of(mass_kg, mass_frac), 1).text);
}

struct stv_formatted stv_bench_us_water(double mass_kg)
{
    return stv_format("%s gal, %s lb", stv_format_number(gallons_of(mass_kg, 0.0), 1).text,
                      stv_format_number(pounds_of(mass_kg, 0.0), 1).text);
}
