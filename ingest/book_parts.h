/* What the readers of a book's files share while the book is being read. */
#ifndef STV_INGEST_BOOK_PARTS_H
#define STV_INGEST_BOOK_PARTS_H

#include "ingest/book.h"
#include "ingest/problem.h"
#include "ingest/stencil.h"
#include "ingest/table.h"
#include "ingest/yaml.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV__PATH_MAX 512
#define STV__UNIT_MAX 16
#define STV__LOST_MAX 32

/* Cask ids of casks.csv, also of rows that were refused, so that what hangs on those is told from
 * what is unknown.  Open addressing on a power of two. */
struct stv__id {
    char text[STV_ID_MAX];
    int cask_idx; /* -1: its row was refused */
    size_t line;  /* of casks.csv; 0 marks an empty slot */
};
struct stv__ids {
    struct stv__id *slots;
    size_t n_slots, n;
};

/* From here on a cask's history is not known, because a row of it was refused. */
struct stv__break {
    int64_t day_d; /* INT64_MAX: never */
    size_t row;
    bool is_poured_into; /* by a row that speaks of another cask first */
};

/* Rows of the table at hand that name a tier, bay or depth which a warehouse has not. */
#define STV__BEYOND_MOST 16
#define STV__BEYOND_ROWS 3
struct stv__beyond {
    const char *warehouse, *key;  /* its name; the word of book.yaml that says how many it has */
    size_t n_there, number, most; /* the first number beyond, and the largest */
    size_t column, place;         /* of the table's spec; character column of the first */
    size_t n_rows, rows[STV__BEYOND_ROWS]; /* lines of the first ones */
};

struct stv__book_reader {
    struct stv_book *book;
    struct stv_problems *problems;
    const char *folder; /* without a slash at its end */
    char unit_text[STV_DIM_N][STV__UNIT_MAX];
    const char *units[STV_DIM_N]; /* into unit_text, NULL where the book sets none */
    struct stv__ids ids;
    struct stv__break *breaks;               /* per cask */
    bool *is_wine_wood;                      /* per cask: wine was the last to colour its wood */
    struct stv_table casks, history, gauges; /* kept open until all was checked */
    char casks_path[STV__PATH_MAX], history_path[STV__PATH_MAX], gauges_path[STV__PATH_MAX];
    bool has_casks, has_history, has_gauges;
    char lost_warehouses[STV__LOST_MAX][STV_NAME_MAX]; /* refused ones */
    size_t n_lost_warehouses;
    struct stv__beyond beyond[STV__BEYOND_MOST];
    size_t n_beyond;
    bool has_vague_day;     /* some event says less than its day */
    size_t n_hanging;       /* rows left out because of another that was refused */
    size_t n_nearest;       /* nearest ids looked for so far */
    int64_t last_day_d;     /* latest day that anything says; INT64_MIN when nothing does */
    const char *last_table; /* ... and the table that does */
};

/* Files of the folder that look like a table which is not there, as STV_SET_ASIDE. */
void stv__book_names(struct stv__book_reader *reader);

/* A book in which nothing is said. */
struct stv_book stv__book_blank(void);

/* The half of the earth the house stands on, unsaid where the book has no site. */
enum stv_hemisphere stv__book_side(const struct stv_book *book);

/* Room for one more of item_size bytes after n; grown at 4, 8, 16 ...  NULL when out of memory,
 * items is then still good. */
void *stv__grown(void *items, size_t n, size_t item_size);

/* "folder/name", or name alone when the folder is "." or the name is absolute; false when it does
 * not fit. */
bool stv__join_path(const char *folder, const char *name, char out[STV__PATH_MAX]);

/* Reads a table of the book that nothing else needs open: each row by read_row, none when there is
 * no such file. */
enum stv_status stv__each_row(struct stv__book_reader *reader, const char *name,
                              const struct stv_table_column *columns, size_t n_columns,
                              enum stv_status (*read_row)(struct stv__book_reader *reader,
                                                          struct stv_table *table));

/* True unless nothing bears the name; what does need not be a file, nor readable. */
bool stv__exists(const char *path);

/* Number of refusals so far: what a part added is the difference. */
size_t stv__n_refused(const struct stv_problems *problems);

/* Where a cask stands in the hash, NULL when the id is unknown. */
const struct stv__id *stv__ids_find(const struct stv__ids *ids, const char *text);
/* Errors: STV_E_MEMORY.  The id must not be known. */
STV_MUST_CHECK enum stv_status stv__ids_add(struct stv__ids *ids, const char *text, int cask_idx,
                                            size_t line);
void stv__ids_free(struct stv__ids *ids);

/* Reads the cask id of a cell: index of the cask, or -1.  An unknown id is refused with the one
 * that a spreadsheet made it of, or the nearest; one whose row was refused sets *out_hangs. */
int stv__cask_cell(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                   bool *out_hangs);

/* Columns of a place in a table's spec. */
struct stv__place_columns {
    size_t warehouse, tier, bay, depth;
};
/* Reads warehouse, tier, bay and depth.  Returns false when no place is said, or when it is
 * refused; a place in a refused warehouse sets *out_hangs. */
bool stv__place_cells(struct stv__book_reader *reader, struct stv_table *table,
                      struct stv__place_columns columns, struct stv_place *out, bool *out_hangs);

/* Refuses the row at hand for a place that is not there; said by stv__beyond_say, once for all rows
 * of the table, when it was read.
 *
 * found  its warehouse, key, n_there and number */
void stv__beyond_note(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                      const struct stv__beyond *found);
void stv__beyond_say(struct stv__book_reader *reader, const struct stv_table *table);

/* A fill as a row says it, which casks.csv and history.csv read alike. */
struct stv__fill_columns {
    size_t litres, strength, soaked;
    struct stv__place_columns place;
};
/* Reads the cells of a fill into an event; kind, day, cask and row are the caller's. */
void stv__fill_cells(struct stv__book_reader *reader, struct stv_table *table,
                     struct stv__fill_columns columns, struct stv_event *out, bool *out_hangs);

/* An event without anything said. */
struct stv_event stv__event_blank(void);
/* Errors: STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv__event_add(struct stv__book_reader *reader,
                                              const struct stv_event *event);
/* Remembers the latest day and the table that has it: a literal. */
void stv__note_day(struct stv__book_reader *reader, int64_t day_d, const char *table);

/* The parts.  Each reports into the reader's problems and returns STV_OK, STV_E_MEMORY, or the
 * status of a file that could not be read at all. */
STV_MUST_CHECK enum stv_status stv__book_yaml(struct stv__book_reader *reader);
STV_MUST_CHECK enum stv_status stv__book_casks(struct stv__book_reader *reader);
STV_MUST_CHECK enum stv_status stv__book_history(struct stv__book_reader *reader);
STV_MUST_CHECK enum stv_status stv__book_gauges(struct stv__book_reader *reader);
STV_MUST_CHECK enum stv_status stv__book_loggers(struct stv__book_reader *reader);

/* Leaves out what hangs on refused rows, checks that the rest can be true, names the rows that
 * cannot, and leaves those out as well.  *out_is_contradiction: some were found. */
STV_MUST_CHECK enum stv_status stv__book_check_ledger(struct stv__book_reader *reader,
                                                      bool *out_is_contradiction);

/* A wall by the side it looks to, or in degrees from north, clockwise; false after a message. */
bool stv__side_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         const char *key, double *out_deg);
/* Hours of the day at from and to, both or neither; true when both are there. */
bool stv__hours_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          double *out_from_h, double *out_to_h);
/* Keys of what may be added to a building of any kind, and their reading. */
extern const char *const stv__lever_keys[];
extern const size_t stv__n_lever_keys;
void stv__levers_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           struct stv_building *building);

/* Keys that only a plain zone has, and their reading; of any other kind they are refused. */
extern const char *const stv__zone_keys[];
extern const size_t stv__n_zone_keys;
void stv__zone_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_building *building);

/* A warehouse's keys without name and reach, which a study's `building:` has as well.
 * filled_in receives the keys that the kind filled in; may be NULL when size is 0.
 * Returns false when anything was refused. */
bool stv__building_from_yaml(const struct stv_yaml_context *context,
                             const struct stv_yaml_node *map, struct stv_building *out,
                             char *filled_in, size_t size);

/* One entry of `warehouses:`.  Returns false when anything was refused. */
bool stv__warehouse_from_yaml(const struct stv_yaml_context *context,
                              const struct stv_yaml_node *map, struct stv_warehouse *out);

/* `plates:` of the root; the warehouses must have been read. */
void stv__plates_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                           struct stv_book *book);
/* Months of a list at a key, "Jun", "June" or "6", each once. */
void stv__months_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           const char *key, struct stv_months *out);

/* `water:`, and what holds where a book has none. */
void stv__water_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          struct stv_book *book);
struct stv_water_house stv__water_unsaid(void);

/* `parameters:`: numbers of the cask model by their names. */
void stv__parameters_from_yaml(const struct stv_yaml_context *context,
                               const struct stv_yaml_node *map, struct stv_book *book);

/* `bottlings:`, after the targets that it falls back on.  Errors: STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv__bottlings_from_yaml(struct stv__book_reader *reader,
                                                        const struct stv_yaml_context *context,
                                                        const struct stv_yaml_node *root);
/* `prices:` and `cask_plan:`, both of which may be absent.  Errors: STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv__stock_from_yaml(const struct stv_yaml_context *context,
                                                    const struct stv_yaml_node *root,
                                                    struct stv_book *book);
/* `wood_life:` */
void stv__wood_life_from_yaml(const struct stv_yaml_context *context,
                              const struct stv_yaml_node *map, struct stv_book *book);

/* A `weather:` mapping; its file is relative to the folder and must be there.  Returns false when
 * anything was refused. */
bool stv__weather_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            const char *folder, struct stv_weather_source *out);

/* What a cask held and how often it was filled here, as words and as the model's class. */
extern const char *const stv__held_words[];
extern const size_t stv__n_held_words;
enum stv_wood_history stv__wood_history(size_t held_idx, size_t n_uses);
/* True where the colour a first fill takes is the wine's too. */
bool stv__is_wine_wood(size_t held_idx, size_t n_uses);
/* What the cells of a row of casks.csv say of the wood. */
struct stv__wood {
    bool has_size, has_held, has_uses;
    double size_l;
    size_t held, n_uses;
    double tare_kg;
    int64_t fill_day_d; /* INT64_MIN when the row says no fill */
    double fill_width_d;
};
/* Adds what the stencil says and the row does not; notes how it was understood, and refuses it
 * where it contradicts the row or can be read two ways.  id is the row's, "" for none. */
void stv__stencil_apply(struct stv_table *table, size_t column, const struct stv_stencil *stencil,
                        const char *id, struct stv__wood *wood);
/* "new oak 200 L", "first-fill sherry 500 L", "refill 250 L". */
void stv__cask_kind_name(size_t held_idx, size_t n_uses, double capacity_l, char *out, size_t size);

#endif
