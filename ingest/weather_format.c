/* The list of formats, asked one after the other.  Each knows its own by what its first lines say;
 * the order matters only where a looser test would also take a stricter one's file. */
#include "ingest/weather_format.h"

static const struct stv_weather_format *const formats[] = {
    &stv__format_epw,
    &stv__format_midas,
    &stv__format_dwd,
    &stv__format_open_meteo,
    &stv__format_ghcn_hourly,
    &stv__format_global_hourly,
    &stv__format_lcd,
    &stv__format_ghcn_daily_csv,
    &stv__format_asos,
    &stv__format_asos_sheet,
    &stv__format_environment_canada,
    &stv__format_tmy3,
    &stv__format_nsrdb,
    &stv__format_pvgis,
    &stv__format_tmy2,
    &stv__format_tmy,
    &stv__format_ghcn_daily,
    &stv__format_uscrn,
    &stv__format_isd,
    &stv__format_isd_lite,
    &stv__format_ghcn_daily_long,
    &stv__format_meteostat,
};

const struct stv_weather_format *stv__weather_format_of(const char *text, size_t n)
{
    struct stv_lines lines = {.text = text, .n = n};
    struct stv_line head[STV_HEAD_LINES];
    size_t n_lines = 0;
    while (n_lines < STV_HEAD_LINES && stv_lines_next(&lines, &head[n_lines]))
        n_lines++;
    for (size_t i = 0; n_lines > 0 && i < sizeof formats / sizeof formats[0]; i++)
        if (formats[i]->is_mine(head, n_lines))
            return formats[i];
    return NULL;
}
