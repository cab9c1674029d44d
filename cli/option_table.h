/* The one table of commands and options: it feeds the parser, the help, the man page and the
 * completion, so that none of them can know an option that the others do not. */
#ifndef STV_CLI_OPTION_TABLE_H
#define STV_CLI_OPTION_TABLE_H

#include <stdbool.h>
#include <stddef.h>

enum stv_command {
    STV_CMD_NEW,
    STV_CMD_FETCH,
    STV_CMD_CHECK,
    STV_CMD_LEARN,
    STV_CMD_CLIMATE,
    STV_CMD_FORECAST,
    STV_CMD_PLACE,
    STV_CMD_TRANSFER,
    STV_CMD_BOTTLING,
    STV_CMD_STOCK,
    STV_CMD_MONTH,
    STV_CMD_WATER,
    STV_CMD_SITES,
    STV_CMD_RERUN,
    STV_CMD_REPORT,
    STV_CMD_VAPOUR,
    STV_CMD_GAUGE,
    STV_CMD_FILL,
    STV_CMD_REDUCE,
    STV_CMD_MARRY,
    STV_CMD_HELP,
    STV_CMD_N /* also: no command */
};

#define STV_EXAMPLES_MAX 2

struct stv_command_info {
    const char *name;
    const char *operand; /* as the usage line shows it; brackets when it may be left out */
    bool needs_operand;
    const char *summary;  /* a few words, for the list of commands */
    const char *sentence; /* what it answers, for the top of its help */
    const char *examples[STV_EXAMPLES_MAX];
};

enum stv_option {
    STV_OPT_SERVICE,
    STV_OPT_FETCH_STATION,
    STV_OPT_NEAR,
    STV_OPT_YEARS,
    STV_OPT_URL,
    STV_OPT_FETCH_OUT,
    STV_OPT_DRY_RUN,
    STV_OPT_OFFLINE,
    STV_OPT_STATIONS,
    STV_OPT_BASE,
    STV_OPT_SERVICES,
    STV_OPT_WEATHER,
    STV_OPT_STATION,
    STV_OPT_BUILDING,
    STV_OPT_LATITUDE,
    STV_OPT_LONGITUDE,
    STV_OPT_ELEVATION,
    STV_OPT_CLOCK,
    STV_OPT_TIERS,
    STV_OPT_HOURLY,
    STV_OPT_DESPITE_HOLES,
    STV_OPT_LOGGERS,
    STV_OPT_PICTURE,
    STV_OPT_AS_IF_NEVER_GAUGED,
    STV_OPT_CASK,
    STV_OPT_PLACE_FILL,
    STV_OPT_ALL,
    STV_OPT_MOST_MOVES,
    STV_OPT_EXCHANGE,
    STV_OPT_BUY,
    STV_OPT_CREW,
    STV_OPT_UNTIL,
    STV_OPT_EVERY,
    STV_OPT_AT,
    STV_OPT_AGE,
    STV_OPT_FALLS_TO,
    STV_OPT_BY,
    STV_OPT_WHAT_IF,
    STV_OPT_WARMING,
    STV_OPT_CYCLING,
    STV_OPT_MONTHS,
    STV_OPT_STOCK_BY,
    STV_OPT_STOCK_YEARS,
    STV_OPT_MOST,
    STV_OPT_SAMPLES,
    STV_OPT_OUT,
    STV_OPT_CHART,
    STV_OPT_CHARTS,
    STV_OPT_WITHOUT_FORECASTS,
    STV_OPT_STUDY,
    STV_OPT_STUDY_OUT,
    STV_OPT_RERUN_OUT,
    STV_OPT_VAPOUR_CASKS,
    STV_OPT_ETHANOL,
    STV_OPT_PEAK,
    STV_OPT_ROOM_VOLUME,
    STV_OPT_AIR,
    STV_OPT_AT_TEMP,
    STV_OPT_MIXING,
    STV_OPT_READING,
    STV_OPT_STRENGTH,
    STV_OPT_REFERENCE,
    STV_OPT_TEMP,
    STV_OPT_OBSCURATION,
    STV_OPT_SOLIDS,
    STV_OPT_GROSS,
    STV_OPT_TARE,
    STV_OPT_TARE_WAS,
    STV_OPT_NET,
    STV_OPT_EARLIER_GROSS,
    STV_OPT_EARLIER_VOLUME,
    STV_OPT_EARLIER_STRENGTH,
    STV_OPT_PART,
    STV_OPT_CASKS,
    STV_OPT_INTO,
    STV_OPT_AT_STRENGTH,
    STV_OPT_VOLUME,
    STV_OPT_VESSEL,
    STV_OPT_WET_DIP,
    STV_OPT_DRY_DIP,
    STV_OPT_CASK_KIND,
    STV_OPT_BILGE,
    STV_OPT_ROD,
    STV_OPT_FROM,
    STV_OPT_TO,
    STV_OPT_STEPS,
    STV_OPT_EQUAL,
    STV_OPT_WITH,
    STV_OPT_FILLED,
    STV_OPT_FIRST,
    STV_OPT_LAST,
    STV_OPT_FILLED_AT,
    STV_OPT_CAPACITY,
    STV_OPT_HOTTEST,
    STV_OPT_ROOM,
    STV_OPT_INDRINK,
    STV_OPT_BOTTLE,
    STV_OPT_LOSS,
    STV_OPT_MARKET,
    STV_OPT_RULES,
    STV_OPT_SHEET,
    STV_OPT_MAN,
    STV_OPT_COMPLETION,
    STV_OPT_MARKETS,
    STV_OPT_STEP,
    STV_OPT_DATE,
    STV_OPT_SEED,
    STV_OPT_DRAWS,
    STV_OPT_KEEP_GOING,
    STV_OPT_NO_CACHE,
    STV_OPT_PARAMETERS,
    STV_OPT_JSON,
    STV_OPT_CSV,
    STV_OPT_EXPLAIN,
    STV_OPT_OUTPUT,
    STV_OPT_QUIET,
    STV_OPT_VERBOSE,
    STV_OPT_COLOR,
    STV_OPT_VERSION,
    STV_OPT_HELP,
    STV_OPT_N
};

/* How the text after an option is read. */
enum stv_value_kind {
    STV_VALUE_NONE, /* a switch */
    STV_VALUE_TEXT,
    STV_VALUE_CHOICE,            /* one of the words of `argument`, cut at '|' */
    STV_VALUE_DATE,              /* YYYY-MM-DD */
    STV_VALUE_COUNT,             /* whole number */
    STV_VALUE_NUMBER,            /* plain number */
    STV_VALUE_NUMBER_OR_DEFAULT, /* the same behind '='; alone, the default */
    STV_VALUE_ANGLE,             /* degrees, with or without a unit */
    STV_VALUE_LENGTH,            /* metres, with or without a unit */
    STV_VALUE_TYPED /* read by the command, in the words and units of a bench sheet's cell */
};

struct stv_option_info {
    const char *name; /* without the two dashes */
    char letter;      /* 0 when it has none */
    const char *argument;
    enum stv_value_kind kind;
    const char *unit;         /* NULL when it has none */
    const char *default_text; /* NULL when there is none */
    double least, most;       /* allowed range of counts, numbers, angles and lengths */
    bool is_repeatable;
    unsigned commands; /* one bit for each command that takes it */
    const char *help;
};

#define STV_FOR(command) (1u << (command))

const struct stv_command_info *stv_command_table(void); /* STV_CMD_N rows */
const struct stv_option_info *stv_option_table(void);   /* STV_OPT_N rows */

/* An option as the help of one command tells it; the parser goes by the table alone. */
struct stv_option_info stv_option_in(enum stv_option option, enum stv_command command);

/* True when a command takes an option; with STV_CMD_N, when it may stand without a command. */
bool stv_option_is_for(enum stv_option option, enum stv_command command);

/* STV_CMD_N when there is no command of this name. */
enum stv_command stv_command_by_name(const char *name);

/* The one call that works on what is shipped, from the project's folder. */
#define STV_SAMPLE_COMMAND \
    "stavecast climate --weather weather-samples/weather.csv --station \"New York\""

#endif
