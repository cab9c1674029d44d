/* The table itself.  Order is the order of the help: a command's own options first, then those
 * that all share. */
#include "cli/option_table.h"

#include <string.h>

#define ALL (STV_FOR(STV_CMD_N) - 1u)
#define BARE STV_FOR(STV_CMD_N)
#define CASKS                                                                         \
    (STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE) | STV_FOR(STV_CMD_BOTTLING) | \
     STV_FOR(STV_CMD_SITES) | STV_FOR(STV_CMD_REPORT))
#define TABLES                                                                       \
    (STV_FOR(STV_CMD_CHECK) | STV_FOR(STV_CMD_CLIMATE) | STV_FOR(STV_CMD_FORECAST) | \
     STV_FOR(STV_CMD_PLACE) | STV_FOR(STV_CMD_BOTTLING) | STV_FOR(STV_CMD_SITES))
#define READING (TABLES | STV_FOR(STV_CMD_REPORT))
#define CLIMATE STV_FOR(STV_CMD_CLIMATE)

/* Largest seed and count that a double holds exactly, so that JSON echoes it unchanged. */
#define COUNT_MOST 9007199254740991.0

static const struct stv_command_info commands[STV_CMD_N] = {
    [STV_CMD_NEW] = {"new",
                     "FOLDER",
                     true,
                     "an empty book",
                     "Writes an empty book: every file with its headers and one example row. "
                     "Nothing that is already there is replaced.",
                     {"stavecast new my-house", "stavecast check my-house"}},
    [STV_CMD_CHECK] = {"check",
                       "[BOOK]",
                       false,
                       "what is wrong in a book, and where",
                       "Reads everything in a book and lists what is wrong, where, and what was "
                       "done about it; then what each logger gave.",
                       {"stavecast check examples/quill-basin", "stavecast check --json my-house"}},
    [STV_CMD_CLIMATE] = {"climate",
                         "[BOOK]",
                         false,
                         "each tier and bay, warm season and cold",
                         "Tells what it is like in the cask on each tier and logged bay, in the "
                         "warm season, the cold season and the year, and what that does to a "
                         "200 L cask. Works from a book, or from one weather file.",
                         {"stavecast climate examples/quill-basin", STV_SAMPLE_COMMAND}},
    [STV_CMD_FORECAST] = {"forecast",
                          "[BOOK]",
                          false,
                          "each cask now and later",
                          "Follows each cask from its fill to a day to come: litres, strength, "
                          "alcohol, wood and fruit, each with its range. A planning estimate, "
                          "not a loss account.",
                          {"stavecast forecast examples/quill-basin --cask 12 --until 2030-11-01",
                           "stavecast forecast my-house --every month --csv -o paths.csv"}},
    [STV_CMD_PLACE] = {"place",
                       "[BOOK]",
                       false,
                       "which place suits a cask",
                       "Ranks the free places for one cask by what it would give there at its "
                       "planned age, and says when it does not matter.",
                       {"stavecast place examples/quill-basin --cask 12",
                        "stavecast place my-house --cask 7 --json"}},
    [STV_CMD_BOTTLING] = {"bottling",
                          "[BOOK]",
                          false,
                          "when each cask can be bottled",
                          "Tells for each full cask when its time to bottle opens and closes, "
                          "what opens and closes it, and how many bottles it gives.",
                          {"stavecast bottling examples/quill-basin",
                           "stavecast bottling my-house --months 60"}},
    [STV_CMD_SITES] = {"sites",
                       "STUDY",
                       true,
                       "the same cask under several skies",
                       "Compares sites for the same cask in the same building, year by year, and "
                       "says which differences can be told apart.",
                       {"stavecast sites examples/quill-basin/sites.yaml",
                        "stavecast sites sites.yaml --json"}},
    [STV_CMD_REPORT] = {"report",
                        "[BOOK]",
                        false,
                        "one HTML page with charts",
                        "Writes one HTML page for the house: answers first, then the racks, the "
                        "casks, the bottling and how we know. Printable, readable offline.",
                        {"stavecast report examples/quill-basin",
                         "stavecast report my-house --out page"}},
    [STV_CMD_HELP] = {"help",
                      "[COMMAND]",
                      false,
                      "this, or one command in full",
                      "Explains a command with all its options. Also prints the man page and the "
                      "completion for a shell.",
                      {"stavecast help climate",
                       "stavecast help --completion bash > stavecast.bash"}},
};

static const struct stv_option_info options[STV_OPT_N] = {
    [STV_OPT_WEATHER] = {"weather", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, CLIMATE,
                         "Weather file, read with the NAME.meta.yaml beside it; no book is needed "
                         "then"},
    [STV_OPT_STATION] = {"station", 0, "NAME", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, CLIMATE,
                         "Which station of a weather file that holds several"},
    [STV_OPT_BUILDING] = {"building", 0, "KIND", STV_VALUE_TEXT, NULL, "racked shed", 0, 0, false,
                          CLIMATE,
                          "With --weather: dunnage, racked shed, rick house, palletised store or "
                          "plain zone"},
    [STV_OPT_LATITUDE] = {"latitude", 0, "DEG", STV_VALUE_ANGLE, "deg, north positive", NULL, -90,
                          90, false, CLIMATE, "With --weather: where the station lies"},
    [STV_OPT_LONGITUDE] = {"longitude", 0, "DEG", STV_VALUE_ANGLE, "deg, east positive", NULL, -180,
                           180, false, CLIMATE, "With --weather: where the station lies"},
    [STV_OPT_ELEVATION] = {"elevation", 0, "M", STV_VALUE_LENGTH, "m", NULL, -430, 6000, false,
                           CLIMATE, "With --weather: height of the station"},
    [STV_OPT_CLOCK] = {"clock", 0, "TEXT", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, CLIMATE,
                       "With --weather: clock of the stamps, as UTC, UTC-05:00 or a POSIX TZ rule"},
    [STV_OPT_TIERS] = {"tiers", 0, "N", STV_VALUE_COUNT, NULL, NULL, 1, 32, false, CLIMATE,
                       "With --weather: how many tiers; else the usual number of the kind"},
    [STV_OPT_HOURLY] = {"hourly", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, CLIMATE,
                        "Also writes every hour of every tier as CSV: means over the hour that "
                        "ends at the stamp, UTC"},
    [STV_OPT_CASK] = {"cask", 0, "ID", STV_VALUE_TEXT, NULL, NULL, 0, 0, true,
                      STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE),
                      "The cask to tell of, as casks.csv names it; forecast takes it repeatedly, "
                      "else tells of all"},
    [STV_OPT_UNTIL] = {"until", 0, "DATE", STV_VALUE_DATE, NULL, "3 years on", 0, 0, false,
                       STV_FOR(STV_CMD_FORECAST), "Last day to tell of"},
    [STV_OPT_EVERY] = {"every", 0, "month|year", STV_VALUE_CHOICE, NULL, "year", 0, 0, false,
                       STV_FOR(STV_CMD_FORECAST), "How far apart the days of a cask's path lie"},
    [STV_OPT_AT] = {"at", 0, "DATE", STV_VALUE_DATE, NULL, NULL, 0, 0, true,
                    STV_FOR(STV_CMD_FORECAST), "One more day to tell of"},
    [STV_OPT_MONTHS] = {"months", 0, "N", STV_VALUE_COUNT, "months", "36", 1, 360, false,
                        STV_FOR(STV_CMD_BOTTLING), "How many months ahead to look"},
    [STV_OPT_OUT] = {"out", 0, "FOLDER", STV_VALUE_TEXT, NULL, "BOOK/report", 0, 0, false,
                     STV_FOR(STV_CMD_REPORT), "Where the page and its charts are written"},
    [STV_OPT_STUDY] = {"study", 0, "FILE", STV_VALUE_TEXT, NULL, "BOOK/sites.yaml when there", 0, 0,
                       false, STV_FOR(STV_CMD_REPORT), "A study of sites to show on the page"},
    [STV_OPT_MAN] = {"man", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, STV_FOR(STV_CMD_HELP),
                     "The man page, as roff"},
    [STV_OPT_COMPLETION] = {"completion", 0, "bash", STV_VALUE_CHOICE, NULL, NULL, 0, 0, false,
                            STV_FOR(STV_CMD_HELP), "The completion script for a shell"},
    [STV_OPT_STEP] = {"step", 0, "DAYS", STV_VALUE_NUMBER, "d", "5", 0.25, 30, false, CASKS,
                      "Longest step of the cask model"},
    [STV_OPT_DATE] = {"date", 0, "DATE", STV_VALUE_DATE, NULL, "the book's", 0, 0, false, READING,
                      "The day the answers speak of"},
    [STV_OPT_SEED] = {"seed", 0, "N", STV_VALUE_COUNT, NULL, "1", 0, COUNT_MOST, false, READING,
                      "Fixes every trial: the same seed gives the same answer"},
    [STV_OPT_DRAWS] = {"draws", 0, "N", STV_VALUE_COUNT, "trials", "64", 0, 100000, false, READING,
                       "Trials behind each range; 0 runs the default numbers alone"},
    [STV_OPT_KEEP_GOING] = {"keep-going", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, READING,
                            "Leaves refused rows out and computes the rest (exit 1)"},
    [STV_OPT_PARAMETERS] = {"parameters", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                            READING | BARE,
                            "Prints every number used with its class and source, and no answer"},
    [STV_OPT_JSON] = {"json", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                      READING | STV_FOR(STV_CMD_NEW) | BARE, "The answer as one JSON object"},
    [STV_OPT_CSV] = {"csv", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, TABLES,
                     "The answer's table as CSV, units in the column names"},
    [STV_OPT_OUTPUT] = {"output", 'o', "FILE", STV_VALUE_TEXT, NULL, "-", 0, 0, false, ALL | BARE,
                        "Writes the answer there, whole or not at all; - is standard output"},
    [STV_OPT_QUIET] = {"quiet", 'q', NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, ALL | BARE,
                       "Messages only about errors"},
    [STV_OPT_VERBOSE] = {"verbose", 'v', NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, true, ALL | BARE,
                         "Also says each step, and every message rather than the first 20"},
    [STV_OPT_COLOR] = {"color", 0, "auto|always|never", STV_VALUE_CHOICE, NULL, "auto", 0, 0, false,
                       ALL | BARE, "Bold headings; auto: on a terminal, unless NO_COLOR is set"},
    [STV_OPT_VERSION] = {"version", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, ALL | BARE,
                         "Version of the program and of its libraries"},
    [STV_OPT_HELP] = {"help", 'h', NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, ALL | BARE,
                      "This help"},
};

const struct stv_command_info *stv_command_table(void)
{
    return commands;
}

const struct stv_option_info *stv_option_table(void)
{
    return options;
}

bool stv_option_is_for(enum stv_option option, enum stv_command command)
{
    return (options[option].commands & STV_FOR(command)) != 0;
}

enum stv_command stv_command_by_name(const char *name)
{
    for (int i = 0; i < STV_CMD_N; i++)
        if (strcmp(commands[i].name, name) == 0)
            return (enum stv_command)i;
    return STV_CMD_N;
}
