/* Weather that lies in one file or in several of one station, as services serve years apart. */
#ifndef STV_INGEST_WEATHER_FOLDER_H
#define STV_INGEST_WEATHER_FOLDER_H

#include "ingest/hash.h"
#include "ingest/weather_file.h"

/* Reads source->path as stv_weather_file_read does; when it is a folder, every file in it (those
 * whose names start with a dot or end in .meta.yaml apart), in order of name, joined to one
 * record.
 *
 * Where two files hold the same hour, the first one's values count and those that it lacks are
 * taken from the next; hours that disagree are counted and said.
 * Errors: those of stv_weather_file_read; STV_E_PARSE a folder without a file, or files that
 *         cannot be one record: of different places, steps or time zones, or typical years */
STV_MUST_CHECK enum stv_status stv_weather_read(const struct stv_weather_source *source,
                                                struct stv_problems *problems,
                                                struct stv_weather_record *out,
                                                struct stv_weather_meta *out_meta);

/* Check sum of what stv_weather_read takes from a path: the file's SHA-256, or, of a folder, that
 * of the lines "SHA256  NAME" of its files in order of name.
 * Errors: STV_E_IO, STV_E_MEMORY; STV_E_NO_DATA an empty folder; out is "" then */
STV_MUST_CHECK enum stv_status stv_weather_sha256(const char *path, char out[STV_SHA256_TEXT]);

#endif
