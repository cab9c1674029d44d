/* What a NAME.meta.yaml, or a book's `weather:` entry, says about a weather file. */
#ifndef STV_INGEST_WEATHER_META_H
#define STV_INGEST_WEATHER_META_H

#include "ingest/problem.h"
#include "ingest/weather_file.h"
#include "ingest/yaml.h"

/* A description that says nothing: texts empty, positions NaN. */
void stv_weather_meta_init(struct stv_weather_meta *meta);

/* Reads a mapping with the keys source, licence, invented, typical, step, clock, stamp,
 * time_column, station_column, columns, stations, position.  The keys file and station, which a
 * book has beside them, and attribution, url, sha256 and fetched, which tell where a fetched file
 * came from, are passed over; any other is refused with the nearest known key.
 *
 * map       a mapping; NULL says nothing
 * file      name for messages
 * problems  receives every fault with line and column, as STV_REFUSED; the caller looks there
 * out       what was understood, the rest as stv_weather_meta_init leaves it
 *
 * Checked here already: units fit their quantities, clocks can be read, positions lie on the
 * globe. */
void stv_weather_meta_from_yaml(const struct stv_yaml_node *map, const char *file,
                                struct stv_problems *problems, struct stv_weather_meta *out);

/* Adds to meta what `below` says and meta does not; of columns and stations, those whose names
 * meta does not have. */
void stv_weather_meta_merge(struct stv_weather_meta *meta, const struct stv_weather_meta *below);

/* The station of a name, NULL when there is none. */
const struct stv_meta_station *stv_weather_meta_station(const struct stv_weather_meta *meta,
                                                        const char *name);

/* The word of a quantity in a meta file: "temperature_max".  is_sea_level may be NULL. */
bool stv_weather_quantity_from_word(const char *word, enum stv_weather_quantity *out,
                                    bool *is_sea_level);

#endif
