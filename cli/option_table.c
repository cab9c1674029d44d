/* The table itself.  Order is the order of the help: a command's own options first, then those
 * that all share. */
#include "cli/option_table.h"

#include <string.h>

#define ALL (STV_FOR(STV_CMD_N) - 1u)
#define BARE STV_FOR(STV_CMD_N)
#define CASKS                                                                         \
    (STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE) | STV_FOR(STV_CMD_BOTTLING) | \
     STV_FOR(STV_CMD_STOCK) | STV_FOR(STV_CMD_SITES) | STV_FOR(STV_CMD_REPORT) |      \
     STV_FOR(STV_CMD_VAPOUR) | STV_FOR(STV_CMD_TRANSFER) | STV_FOR(STV_CMD_WATER))
#define TABLES                                                                       \
    (STV_FOR(STV_CMD_CHECK) | STV_FOR(STV_CMD_CLIMATE) | STV_FOR(STV_CMD_FORECAST) | \
     STV_FOR(STV_CMD_PLACE) | STV_FOR(STV_CMD_BOTTLING) | STV_FOR(STV_CMD_SITES) |   \
     STV_FOR(STV_CMD_VAPOUR) | STV_FOR(STV_CMD_LEARN) | STV_FOR(STV_CMD_STOCK) |     \
     STV_FOR(STV_CMD_TRANSFER) | STV_FOR(STV_CMD_MONTH) | STV_FOR(STV_CMD_WATER))
#define READING (TABLES | STV_FOR(STV_CMD_REPORT))
#define CLIMATE STV_FOR(STV_CMD_CLIMATE)
#define FETCH STV_FOR(STV_CMD_FETCH)
#define SKY (CLIMATE | STV_FOR(STV_CMD_CHECK))
#define VAPOUR STV_FOR(STV_CMD_VAPOUR)
#define GAUGE STV_FOR(STV_CMD_GAUGE)
#define FILL STV_FOR(STV_CMD_FILL)
#define REDUCE STV_FOR(STV_CMD_REDUCE)
#define MARRY STV_FOR(STV_CMD_MARRY)
#define BENCH (GAUGE | FILL | REDUCE | MARRY)
#define RULED \
    (BENCH | (READING & ~(CLIMATE | VAPOUR | STV_FOR(STV_CMD_LEARN) | STV_FOR(STV_CMD_SITES))))

/* An option whose text the command reads itself. */
#define TYPED(name, argument, default_text, commands, help)                                 \
    {                                                                                       \
        name, 0, argument, STV_VALUE_TYPED, NULL, default_text, 0, 0, false, commands, help \
    }
#define TYPED_OFTEN(name, argument, commands, help)                                \
    {                                                                              \
        name, 0, argument, STV_VALUE_TYPED, NULL, NULL, 0, 0, true, commands, help \
    }

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
    [STV_CMD_FETCH] =
        {"fetch",
         "[BOOK]",
         false,
         "public weather of a station or a place",
         "Fetches public weather into a book's weather folder, with origin and licence beside each "
         "file, and says the line for book.yaml. What came once is kept in a cache. The only "
         "command that uses a network.",
         {"stavecast fetch my-house --service isd-lite --near 35.2,-101.7 --years 2015-2024",
          "stavecast fetch my-house --service open-meteo --near 35.2,-101.7 --years 2024 "
          "--dry-run"}},
    [STV_CMD_CHECK] = {"check",
                       "[BOOK]",
                       false,
                       "what is wrong in a book, and where",
                       "Reads everything in a book and lists what is wrong, where, and what was "
                       "done about it; then what each logger gave.",
                       {"stavecast check examples/quill-basin",
                        "stavecast check --weather weather-samples/chicago-weather.csv"}},
    [STV_CMD_LEARN] =
        {"learn",
         "[BOOK]",
         false,
         "racks from their loggers, casks from gauges",
         "Learns from the loggers how the air of each rack follows the weather, and from gauges "
         "and "
         "noses how each cask loses and gains; names casks that may leak and figures that were "
         "misread; tells what was predicted and what was measured. It is kept beside the book, "
         "where every other command takes it from.",
         {"stavecast learn examples/quill-basin", "stavecast learn my-house --csv -o told.csv"}},
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
                          "alcohol, wood and fruit, each with its range; when it falls to a "
                          "strength, where its spirit goes, and what something done would change. "
                          "A planning estimate, not a loss account.",
                          {"stavecast forecast examples/quill-basin --cask 12 --until 2030-11-01",
                           "stavecast forecast examples/quill-basin --what-if \"move cask 12 to "
                           "tier 1 bay 3 on 2028-10-01\""}},
    [STV_CMD_PLACE] = {"place",
                       "[BOOK]",
                       false,
                       "which place suits a cask",
                       "Ranks the free places for one cask by what it would give there at its "
                       "planned age, shares a fill run or the whole house out over the places, "
                       "weighs an exchange, or compares casks before they are bought; and says "
                       "when it does not matter.",
                       {"stavecast place examples/quill-basin --cask 12",
                        "stavecast place my-house --fill \"12 x new oak 200 L at 60 %\" --crew"}},
    [STV_CMD_TRANSFER] =
        {"transfer",
         "[BOOK]",
         false,
         "when to leave new wood, and into which cask",
         "Tells in summers, with its odds, when each cask in new or first-fill wood should leave "
         "it, what waiting a year costs, which empty casks could take the spirit and what each "
         "would make of it by its planned age; and what becomes of its legal age and of the words "
         "\"single cask\".",
         {"stavecast transfer examples/quill-basin",
          "stavecast transfer examples/quill-basin --cask 16 --market us-new-oak"}},
    [STV_CMD_BOTTLING] = {"bottling",
                          "[BOOK]",
                          false,
                          "when casks can be bottled, and which to take",
                          "Tells for each full cask or lot when its time to bottle opens and "
                          "closes, what opens and closes it, and how many bottles it gives; which "
                          "casks go into the bottlings that book.yaml plans, with what odds, and "
                          "what another year would cost; and which casks fall to a strength that "
                          "must not be passed.",
                          {"stavecast bottling examples/quill-basin",
                           "stavecast bottling my-house --by lot --market eu"}},
    [STV_CMD_STOCK] = {"stock",
                       "[BOOK]",
                       false,
                       "the house's alcohol by year, casks to buy",
                       "Tells how much pure alcohol, how many litres and bottles the house holds "
                       "year by year, where the rest goes and what that is worth, by tier, wood or "
                       "year of fill; and which casks to order by when for the fills that the book "
                       "plans. A planning estimate, not a loss account.",
                       {"stavecast stock examples/quill-basin",
                        "stavecast stock my-house --years 8 --by wood --json"}},
    [STV_CMD_MONTH] = {"month",
                       "[BOOK]",
                       false,
                       "everything to do this month, on one page",
                       "Lists what to do in the rest of the month: the walk for leaks, the casks "
                       "whose gauge or nosing says most, what history.csv plans, casks to order. "
                       "For the crew; it clears nobody to enter.",
                       {"stavecast month examples/quill-basin",
                        "stavecast month my-house --date 2028-06-01 --most 8 --samples 1.5 --csv"}},
    [STV_CMD_WATER] = {"water",
                       "[BOOK]",
                       false,
                       "water in the cask, step by step",
                       "Tells which casks get water in the wood and when, how many kilograms, and "
                       "whether it goes in, so that each comes to the strength that `water:` in "
                       "book.yaml asks for; what evaporates between the steps is counted. Start "
                       "again from every gauge.",
                       {"stavecast water examples/quill-basin",
                        "stavecast water examples/quill-basin --cask 12"}},
    [STV_CMD_SITES] = {"sites",
                       "STUDY",
                       true,
                       "other skies, and changes of the building",
                       "Compares sites for the same cask in the same building, year by year, and "
                       "changes of that building (white roof, insulation, night air ...) tier by "
                       "tier, and says which differences can be told apart. A study may also list "
                       "buildings, casks, tiers and follow_years; with --out it is kept with all "
                       "its tables.",
                       {"stavecast sites examples/quill-basin/sites.yaml",
                        "stavecast sites examples/quill-basin/changes.yaml"}},
    [STV_CMD_RERUN] = {"rerun",
                       "MANIFEST",
                       true,
                       "a kept study once more, byte for byte",
                       "Runs a study again from the manifest beside its tables, refuses by name "
                       "every input that has changed since, and says whether each table comes out "
                       "the same, byte for byte. Run it in the folder where the study was run.",
                       {"stavecast rerun my-study/manifest.json",
                        "stavecast rerun my-study/manifest.json --out again"}},
    [STV_CMD_REPORT] = {"report",
                        "[BOOK]",
                        false,
                        "one HTML page with charts",
                        "Writes one HTML page for the house: answers first, then the racks, the "
                        "casks, the bottling and how we know. Printable, readable offline.",
                        {"stavecast report examples/quill-basin",
                         "stavecast report my-house --out page"}},
    [STV_CMD_VAPOUR] =
        {"vapour",
         "[BOOK]",
         false,
         "ethanol in the warehouse's air, and fresh air",
         "Tells how much ethanol the casks give off hour by hour, what that makes of the air that "
         "passes, which hours are the worst, and how much fresh air holds it under a limit. With "
         "--casks it works a store out without a book. Steady evaporation only; it clears nobody "
         "to enter.",
         {"stavecast vapour examples/quill-basin",
          "stavecast vapour --casks 500 --ethanol \"9.5 kg/yr\" --peak 4 --volume \"1800 m3\" "
          "--air \"0.5 1/h\" --at \"35 C\""}},
    [STV_CMD_GAUGE] = {"gauge",
                       "",
                       false,
                       "true strength and litres of a reading",
                       "Works a gauge out: a hydrometer, density meter or proof reading with its "
                       "temperature, and weights, a volume or a dip, give true strength, litres "
                       "and pure alcohol, with what they may be off by. Needs no book.",
                       {"stavecast gauge --reading \"124.6 US proof\" --temp \"84 F\" --gross "
                        "\"476 lb\" --tare \"118 lb\"",
                        "stavecast gauge --sheet bench.csv --market eu -o worked.csv"}},
    [STV_CMD_FILL] = {"fill",
                      "",
                      false,
                      "spirit and water for a fill run, how full",
                      "Tells how much spirit and water a run of casks takes, by mass, and how full "
                      "they may be so that there is room at the hottest. Needs no book.",
                      {"stavecast fill --casks 12 --into \"194 L\" --at \"60 %vol\" --from "
                       "\"68 %vol\" --capacity \"200 L\" --filled-at \"18 C\" --hottest \"42 C\"",
                       "stavecast fill --sheet fills.csv --market us-new-oak"}},
    [STV_CMD_REDUCE] = {"reduce",
                        "",
                        false,
                        "water to bring strength down in steps",
                        "Tells how much water, or weaker spirit, brings a strength down in steps, "
                        "what volume each step makes, and whether the cask holds it. Needs no "
                        "book.",
                        {"stavecast reduce --volume \"185 L\" --from \"62 %vol\" --to \"46 %vol\" "
                         "--steps 6 --capacity \"200 L\" --bottle \"70 cl\"",
                         "stavecast reduce --volume \"190 L\" --from \"61 %vol\" --to \"52 %vol\" "
                         "--with \"20 %vol, 2023-05-01\" --filled 2021-03-01 --last 2026-11-01"}},
    [STV_CMD_MARRY] =
        {"marry",
         "",
         false,
         "what several casks make together",
         "Tells what several spirits make together: litres, strength, legal age, "
         "water to bottling strength and bottles. Needs no book.",
         {"stavecast marry --part \"172 L, 61.3 %vol, 2020-03-01\" --part \"168.5 L, "
          "58.9 %vol, 2020-12-30\" --to \"46 %vol\" --bottle \"70 cl\" --date "
          "2026-03-01",
          "stavecast marry --sheet marriages.csv --to \"46 %vol\" --bottle \"70 cl\""}},
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
    [STV_OPT_SERVICE] = {"service", 0, "NAME", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, FETCH,
                         "From where: isd-lite, isd, global-hourly, ghcn-daily, ghcn-hourly, lcd, "
                         "uscrn, meteostat, open-meteo, asos or environment-canada. MIDAS and "
                         "NSRDB: download in a browser, then put it into weather/. DWD: so too, "
                         "with its produkt_ file unpacked"},
    [STV_OPT_FETCH_STATION] = {"station", 0, "ID", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, FETCH,
                               "The station as the service names it; --services tells how"},
    [STV_OPT_NEAR] = {"near", 0, "LAT,LON", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, FETCH,
                      "In place of --station: lists the stations near this place that have the "
                      "years and takes the first; for open-meteo the place itself"},
    [STV_OPT_YEARS] = {"years", 0, "YEARS", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, FETCH,
                       "2015-2024, or 2024 for one; ghcn-daily and ghcn-hourly give the whole "
                       "record without"},
    [STV_OPT_URL] = {"url", 0, "ADDRESS", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, FETCH,
                     "In place of a service: any file, http or https"},
    [STV_OPT_FETCH_OUT] = {"out", 0, "FOLDER", STV_VALUE_TEXT, NULL, "BOOK/weather", 0, 0, false,
                           FETCH,
                           "Where the files go; a file that came from elsewhere or was changed "
                           "since is never replaced"},
    [STV_OPT_DRY_RUN] = {"dry-run", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, FETCH,
                         "Prints the addresses, asks nobody and writes nothing"},
    [STV_OPT_OFFLINE] = {"offline", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, FETCH,
                         "Uses the cache alone"},
    [STV_OPT_STATIONS] = {"stations", 0, "N", STV_VALUE_COUNT, NULL, "5", 1, 100, false, FETCH,
                          "With --near: how many stations to list"},
    [STV_OPT_BASE] = {"base", 0, "URL", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, FETCH,
                      "Another server in place of the service's own, for a mirror"},
    [STV_OPT_SERVICES] = {"services", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, FETCH,
                          "Lists the services: what they hold, how a station is named, licence"},
    [STV_OPT_WEATHER] = {"weather", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, SKY,
                         "Weather file, read with the NAME.meta.yaml beside it; no book is needed "
                         "then"},
    [STV_OPT_STATION] = {"station", 0, "NAME", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, SKY,
                         "Which station of a weather file that holds several"},
    [STV_OPT_BUILDING] = {"building", 0, "KIND", STV_VALUE_TEXT, NULL, "racked shed", 0, 0, false,
                          CLIMATE,
                          "With --weather: dunnage, racked shed, rick house, palletised store or "
                          "plain zone"},
    [STV_OPT_LATITUDE] = {"latitude", 0, "DEG", STV_VALUE_ANGLE, "deg, north positive", NULL, -90,
                          90, false, SKY, "With --weather: where the station lies"},
    [STV_OPT_LONGITUDE] = {"longitude", 0, "DEG", STV_VALUE_ANGLE, "deg, east positive", NULL, -180,
                           180, false, SKY, "With --weather: where the station lies"},
    [STV_OPT_ELEVATION] = {"elevation", 0, "M", STV_VALUE_LENGTH, "m", NULL, -430, 6000, false, SKY,
                           "With --weather: height of the station"},
    [STV_OPT_CLOCK] = {"clock", 0, "TEXT", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, SKY,
                       "With --weather: clock of the stamps, as UTC, UTC-05:00 or a POSIX TZ rule"},
    [STV_OPT_TIERS] = {"tiers", 0, "N", STV_VALUE_COUNT, NULL, NULL, 1, 32, false, CLIMATE,
                       "With --weather: how many tiers; else the usual number of the kind"},
    [STV_OPT_LOGGERS] = {"loggers", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                         STV_FOR(STV_CMD_CHECK),
                         "Also tells how each logger was read, when there are no findings"},
    [STV_OPT_PICTURE] =
        {"picture", 0, "FILE.svg", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, STV_FOR(STV_CMD_CHECK),
         "Also draws which days each logger gave, as SVG, its numbers as CSV beside "
         "it"},
    [STV_OPT_DESPITE_HOLES] = {"despite-holes", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                               CLIMATE | STV_FOR(STV_CMD_REPORT),
                               "Ranks a warm season of which a logger missed more than a tenth"},
    [STV_OPT_HOURLY] = {"hourly", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, SKY,
                        "Also writes every hour as CSV, of every tier or, in check, of the "
                        "weather file: means over the hour that ends at the stamp, UTC"},
    [STV_OPT_AS_IF_NEVER_GAUGED] = {"as-if-never-gauged", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0,
                                    false, CASKS & ~STV_FOR(STV_CMD_SITES),
                                    "Leaves aside what `learn` found in the gauges and noses"},
    [STV_OPT_CASK] =
        {"cask", 0, "ID", STV_VALUE_TEXT, NULL, NULL, 0, 0, true,
         STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE) | STV_FOR(STV_CMD_TRANSFER) |
             STV_FOR(STV_CMD_WATER),
         "The cask to tell of, as casks.csv names it; forecast, transfer and water take it "
         "repeatedly, else tell of all (transfer: of all in active wood)"},
    [STV_OPT_PLACE_FILL] =
        TYPED_OFTEN("fill", "RUN", STV_FOR(STV_CMD_PLACE),
                    "Casks that look for a free place: \"12 x new oak 200 L, 195 L at 59.2 %, plan "
                    "8 y\" (litres 97 % of the cask, plan the book's, when not said), or "
                    "\"placeless\": full casks of the book without a place"),
    [STV_OPT_ALL] = {"all", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                     STV_FOR(STV_CMD_PLACE),
                     "The whole house: every cask may move to where it serves better"},
    [STV_OPT_MOST_MOVES] = {"most-moves", 0, "N", STV_VALUE_COUNT, NULL, "any number", 0, 1e6,
                            false, STV_FOR(STV_CMD_PLACE),
                            "With --all: how many casks may move at most"},
    [STV_OPT_EXCHANGE] =
        TYPED("exchange", "WORDS", NULL, STV_FOR(STV_CMD_PLACE),
              "Weighs an exchange of places: \"tier 6 with tier 1 on 2029-06-01\", "
              "\"cask 12 with cask 47\"; halfway to --until when no day is said"),
    [STV_OPT_BUY] =
        TYPED_OFTEN("new", "CASK", STV_FOR(STV_CMD_PLACE),
                    "Before buying: a kind of cask and fill strengths, \"new oak 200 L at 55, 60, "
                    "63.5 %\"; --market holds them against its limits"),
    [STV_OPT_CREW] = {"crew", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                      STV_FOR(STV_CMD_PLACE),
                      "With --fill, --all or --exchange: each step of the work, in order"},
    [STV_OPT_UNTIL] = {"until", 0, "DATE", STV_VALUE_DATE, NULL, "3 years on", 0, 0, false,
                       STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE),
                       "Last day to tell of; place: with --exchange"},
    [STV_OPT_EVERY] = {"every", 0, "month|year", STV_VALUE_CHOICE, NULL, "year", 0, 0, false,
                       STV_FOR(STV_CMD_FORECAST), "How far apart the days of a cask's path lie"},
    [STV_OPT_AT] = {"at", 0, "DATE", STV_VALUE_DATE, NULL, NULL, 0, 0, true,
                    STV_FOR(STV_CMD_FORECAST), "One more day to tell of"},
    [STV_OPT_AGE] = {"age", 0, "YEARS", STV_VALUE_NUMBER, "years", NULL, 0, 60, true,
                     STV_FOR(STV_CMD_FORECAST),
                     "One more day to tell of: when the youngest part of the spirit is so old"},
    [STV_OPT_FALLS_TO] = {"falls-to", 0, "LEVEL", STV_VALUE_TYPED, NULL, NULL, 0, 0, true,
                          STV_FOR(STV_CMD_FORECAST),
                          "Tells when a cask falls to a strength (\"52 %vol\") or to litres "
                          "(\"150 L\"); casks that are named always tell it of the house's "
                          "least strength, 40 %vol, and the wood it allows"},
    [STV_OPT_BY] = {"by", 0, "cask|lot|tier|house", STV_VALUE_CHOICE, NULL, "cask", 0, 0, false,
                    STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_BOTTLING),
                    "Sums over lots (one day's fills of one kind of cask), tiers, or the house; "
                    "bottling: windows of casks or of lots, as one liquid each"},
    [STV_OPT_WHAT_IF] = {"what-if", 0, "WORDS", STV_VALUE_TYPED, NULL, NULL, 0, 0, true,
                         STV_FOR(STV_CMD_FORECAST),
                         "What could be done, beside leaving it: \"move cask 12 to tier 2 bay 7 "
                         "on 2028-10-01\", \"transfer cask 12 into cask 47 on 2028-11-01\" (or "
                         "\"transfer 50 L of cask 12 into ...\"), \"add 11.7 kg water to cask 12 "
                         "on 2028-10-12\""},
    [STV_OPT_WARMING] = {"warming", 0, "K_PER_YEAR", STV_VALUE_NUMBER, "K a year", "0", -0.2, 0.2,
                         false, STV_FOR(STV_CMD_FORECAST),
                         "Makes years after the weather record warmer, from its last whole year"},
    [STV_OPT_CYCLING] = {"cycling", 0, "GAIN", STV_VALUE_NUMBER_OR_DEFAULT, "per K", "0.02", 0, 1,
                         false, STV_FOR(STV_CMD_FORECAST),
                         "Also tells the wood with daily swings of temperature counted, by so much "
                         "faster for each K (judgement; it is disputed)"},
    [STV_OPT_MONTHS] = {"months", 0, "N", STV_VALUE_COUNT, "months", "36", 1, 360, false,
                        STV_FOR(STV_CMD_BOTTLING), "How many months ahead to look"},
    [STV_OPT_STOCK_BY] =
        {"by", 0, "tier|wood|year|house", STV_VALUE_CHOICE, NULL, "tier", 0, 0, false,
         STV_FOR(STV_CMD_STOCK),
         "Sums over tiers as the casks lie today, kinds of cask, years of fill, or "
         "the house alone"},
    [STV_OPT_STOCK_YEARS] = {"years", 0, "N", STV_VALUE_COUNT, "years", "5", 1, 20, false,
                             STV_FOR(STV_CMD_STOCK), "How many years ahead to look"},
    [STV_OPT_MOST] = {"most", 0, "N", STV_VALUE_COUNT, "casks", "6", 0, 60, false,
                      STV_FOR(STV_CMD_MONTH), "How many casks to open to gauge or nose"},
    [STV_OPT_SAMPLES] = {"samples", 0, "LITRES", STV_VALUE_NUMBER, "L", "1.5", 0, 100, false,
                         STV_FOR(STV_CMD_MONTH),
                         "How much may be drawn in all; no cask gives more than 0.5 % of what it "
                         "holds"},
    [STV_OPT_OUT] = {"out", 0, "FOLDER", STV_VALUE_TEXT, NULL, "BOOK/report", 0, 0, false,
                     STV_FOR(STV_CMD_REPORT), "Where the page and its charts are written"},
    [STV_OPT_STUDY] = {"study", 0, "FILE", STV_VALUE_TEXT, NULL, "BOOK/sites.yaml when there", 0, 0,
                       false, STV_FOR(STV_CMD_REPORT), "A study of sites to show on the page"},
    [STV_OPT_STUDY_OUT] = {"out", 0, "FOLDER", STV_VALUE_TEXT, NULL, NULL, 0, 0, false,
                           STV_FOR(STV_CMD_SITES),
                           "Also keeps the study there: tidy tables with their dictionary, "
                           "methods, sources, a manifest for `rerun`, and finished cells, from "
                           "which a run that was cut short goes on"},
    [STV_OPT_RERUN_OUT] = {"out", 0, "FOLDER", STV_VALUE_TEXT, NULL, NULL, 0, 0, false,
                           STV_FOR(STV_CMD_RERUN), "Also writes what was made again there"},
    [STV_OPT_VAPOUR_CASKS] = {"casks", 0, "N", STV_VALUE_COUNT, NULL, NULL, 1, 1e6, false, VAPOUR,
                              "Without a book: how many casks"},
    [STV_OPT_ETHANOL] = TYPED("ethanol", "KG/YR", NULL, VAPOUR,
                              "With --casks: what one cask gives off, as \"9.5 kg/yr\""),
    [STV_OPT_PEAK] = {"peak", 0, "N", STV_VALUE_NUMBER, NULL, "1", 1, 100, false, VAPOUR,
                      "With --casks: the worst hour over the mean"},
    [STV_OPT_ROOM_VOLUME] =
        TYPED("volume", "M3", NULL, VAPOUR, "With --casks: air of the store, as \"1800 m3\""),
    [STV_OPT_AIR] = TYPED("air", "1/H", NULL, VAPOUR,
                          "Fresh air, as \"0.5 1/h\"; with a book in place of the building's own"),
    [STV_OPT_AT_TEMP] =
        TYPED("at", "TEMP", "20 C", VAPOUR, "With --casks: temperature of the air, as \"35 C\""),
    [STV_OPT_MIXING] = {"mixing", 0, "K", STV_VALUE_NUMBER, NULL, "4", 1, 10, false, VAPOUR,
                        "How badly the air mixes: 1 at once, 3 low inlets and high outlets, 10 "
                        "dead aisles"},
    [STV_OPT_READING] =
        TYPED("reading", "READING", NULL, GAUGE,
              "What the instrument showed: \"124.6 US proof\" or \"57.2 %vol\" of a hydrometer, "
              "\"915.2 kg/m3\" of a density meter (\"in air\" behind it where it is); readings, "
              "temperature, weights, volume and dip may "
              "end with their error, as \"57.2 %vol +- 0.1\""),
    [STV_OPT_STRENGTH] =
        TYPED("strength", "STRENGTH", NULL, GAUGE,
              "In place of --reading: the true strength, as an instrument shows it "
              "that corrects for temperature"),
    [STV_OPT_REFERENCE] = TYPED(
        "reference", "TEMP", NULL, GAUGE,
        "Temperature at which the hydrometer's scale is right (else 60 F for proof, 20 C), or "
        "of the density meter's cell (else --temp)"),
    [STV_OPT_TEMP] = TYPED("temp", "TEMP", NULL, GAUGE | REDUCE,
                           "Temperature of the spirit when it was read and measured, \"84 F\" or "
                           "\"29 C\"; reduce takes 20 C when it is not said"),
    [STV_OPT_OBSCURATION] =
        TYPED("obscuration", "STRENGTH", "none", GAUGE,
              "What dissolved solids hide, \"0.3 %vol\"; never guessed: found by distilling"),
    [STV_OPT_SOLIDS] = TYPED("solids", "AMOUNT", NULL, GAUGE,
                             "In place of --obscuration: dissolved solids, \"150 mg/100ml\""),
    [STV_OPT_GROSS] = TYPED_OFTEN("gross", "MASS", GAUGE,
                                  "Weight with the cask; two scales under the ends are \"96.4 kg + "
                                  "120.2 kg\""),
    [STV_OPT_TARE] =
        TYPED_OFTEN("tare", "MASS", GAUGE,
                    "Weight of the empty cask; of three on one scale \"45 kg + 46 kg + "
                    "44 kg\" or \"3 x 45 kg\""),
    [STV_OPT_TARE_WAS] = {"tare-was", 0, "dry|wet", STV_VALUE_CHOICE, NULL, NULL, 0, 0, false,
                          GAUGE,
                          "How the tare was weighed: dry as stencilled, or wet after emptying"},
    [STV_OPT_NET] = TYPED("net", "MASS", NULL, GAUGE, "In place of --gross and --tare"),
    [STV_OPT_EARLIER_GROSS] =
        TYPED("earlier-gross", "MASS", NULL, GAUGE,
              "When the tare is not known: an earlier gross weight; the difference is the loss"),
    [STV_OPT_EARLIER_VOLUME] = TYPED("earlier-volume", "VOLUME", NULL, GAUGE,
                                     "Litres at 20 C at that earlier weighing; with "
                                     "--earlier-strength it gives the tare"),
    [STV_OPT_EARLIER_STRENGTH] = TYPED("earlier-strength", "STRENGTH", NULL, GAUGE,
                                       "True strength at that earlier weighing"),
    [STV_OPT_PART] =
        TYPED_OFTEN("part", "PART", MARRY,
                    "One part: litres at 20 C or mass, strength, then in any order its "
                    "fill date or age, its wood (new oak, charred new oak, refill, sherry ...), "
                    "\"watered\": \"172 L, 61.3 %vol, "
                    "2020-03-01, new oak\""),
    [STV_OPT_CASKS] = TYPED("casks", "N", "1", GAUGE | FILL,
                            "How many casks: on the scale together, or filled alike"),
    [STV_OPT_INTO] =
        TYPED("into", "VOLUME", NULL, FILL, "Litres into each cask, measured at --filled-at"),
    [STV_OPT_AT_STRENGTH] = TYPED("at", "STRENGTH", NULL, FILL, "Strength wanted in the cask"),
    [STV_OPT_VOLUME] = TYPED("volume", "VOLUME", NULL, GAUGE | REDUCE,
                             "Volume measured at --temp, \"196 L\" or \"51.8 US gal\""),
    [STV_OPT_VESSEL] = {"vessel", 0, "wood|steel|glass", STV_VALUE_CHOICE, NULL, "wood", 0, 0,
                        false, GAUGE,
                        "What --volume was measured in: steel and glass, true at 20 C, grow"},
    [STV_OPT_WET_DIP] = TYPED("wet-dip", "LENGTH", NULL, GAUGE,
                              "Depth of the liquid at the bung, \"47.5 cm\", cask level, bung up"),
    [STV_OPT_DRY_DIP] =
        TYPED("dry-dip", "LENGTH", NULL, GAUGE,
              "Depth from the bung's inner edge down to the liquid, \"6 cm\" or \"3 "
              "fingers\""),
    [STV_OPT_CASK_KIND] = {"cask-kind", 0, "octave|quarter cask|barrel|hogshead|puncheon|butt",
                           STV_VALUE_CHOICE, NULL, NULL, 0, 0, false, GAUGE,
                           "For a dip when --capacity was not measured: 50, 125, 200, 250, 500 or "
                           "500 L, as these names usually mean"},
    [STV_OPT_BILGE] = TYPED("bilge", "LENGTH", "of the usual shape", GAUGE,
                            "For a dip: inner diameter at the bung, \"61 cm\""),
    [STV_OPT_ROD] = {"rod", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, GAUGE,
                     "For a dip: your own rod's table, a CSV with depth and litres"},
    [STV_OPT_FROM] = TYPED("from", "STRENGTH", NULL, FILL | REDUCE,
                           "Strength of the spirit on hand; fill: as --at when not said"),
    [STV_OPT_TO] = TYPED("to", "STRENGTH", NULL, REDUCE | MARRY,
                         "Strength wanted; marry: for the bottle, else as it is married"),
    [STV_OPT_STEPS] = TYPED("steps", "N", "1", REDUCE, "In how many steps, up to 120"),
    [STV_OPT_EQUAL] = {"equal", 0, "strength|water", STV_VALUE_CHOICE, NULL, "strength", 0, 0,
                       false, REDUCE,
                       "What is alike in every step: points of strength, or what is added"},
    [STV_OPT_WITH] = TYPED("with", "SPIRIT", "water", REDUCE,
                           "Reducing spirit in place of water: strength, then its fill date or age "
                           "and its wood, \"20 %vol, 2023-05-01, refill\""),
    [STV_OPT_FILLED] = TYPED("filled", "DATE", NULL, REDUCE,
                             "Fill date of the spirit that is reduced, for its legal age"),
    [STV_OPT_FIRST] = TYPED("first", "DATE", NULL, REDUCE, "Day of the first step"),
    [STV_OPT_LAST] = TYPED("last", "DATE", NULL, REDUCE, "Day of the last step"),
    [STV_OPT_FILLED_AT] = TYPED("filled-at", "TEMP", "20 C", FILL,
                                "Temperature of the spirit when the litres are measured in"),
    [STV_OPT_CAPACITY] = TYPED("capacity", "VOLUME", NULL, GAUGE | FILL | REDUCE,
                               "What the cask holds brim-full, as measured: names of sizes vary"),
    [STV_OPT_HOTTEST] = TYPED("hottest", "TEMP", "20 C, and said", FILL | REDUCE,
                              "Hottest that the spirit in the cask gets; not the air"),
    [STV_OPT_ROOM] = TYPED("room", "SHARE", "2.5 %", FILL | REDUCE,
                           "Room above the spirit wanted at the hottest, as a share of the cask"),
    [STV_OPT_INDRINK] = TYPED("indrink", "SHARE", "2 %", FILL,
                              "What new or dry wood drinks in two days, as a share of the fill"),
    [STV_OPT_BOTTLE] =
        TYPED("bottle", "VOLUME", NULL, REDUCE | MARRY, "Size of a bottle, \"70 cl\""),
    [STV_OPT_LOSS] = TYPED("loss", "SHARE", "0 %", REDUCE | MARRY,
                           "Lost in emptying, filtering and filling bottles"),
    [STV_OPT_MARKET] = {"market", 0, "NAME", STV_VALUE_TEXT, NULL, "the book's, else none", 0, 0,
                        false, RULED,
                        "Hold the answer against this market's rules, in place of the book's "
                        "`market:`; none for none; `stavecast help --markets` lists them"},
    [STV_OPT_RULES] = {"rules", 0, "FILE", STV_VALUE_TEXT, NULL, "those carried", 0, 0, false,
                       RULED, "Your own copy of the market rules"},
    [STV_OPT_SHEET] = {"sheet", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, BENCH,
                       "A CSV with one such line a row, columns named as these options; gives it "
                       "back as CSV with the answers; - is standard input"},
    [STV_OPT_MAN] = {"man", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, STV_FOR(STV_CMD_HELP),
                     "The man page, as roff"},
    [STV_OPT_COMPLETION] = {"completion", 0, "bash", STV_VALUE_CHOICE, NULL, NULL, 0, 0, false,
                            STV_FOR(STV_CMD_HELP), "The completion script for a shell"},
    [STV_OPT_MARKETS] = {"markets", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                         STV_FOR(STV_CMD_HELP),
                         "The market rules as a file, to read, edit and give to --rules"},
    [STV_OPT_STEP] = {"step", 0, "DAYS", STV_VALUE_COUNT, "d", "5", 1, 10, false, CASKS,
                      "Longest step of the cask model, whole days"},
    [STV_OPT_DATE] = {"date", 0, "DATE", STV_VALUE_DATE, NULL, "the book's", 0, 0, false,
                      READING | MARRY,
                      "The day the answers speak of; marry: of bottling, no day unless said"},
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
                      READING | BENCH | STV_FOR(STV_CMD_NEW) | STV_FOR(STV_CMD_RERUN) | FETCH |
                          BARE,
                      "The answer as one JSON object"},
    [STV_OPT_CSV] = {"csv", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, TABLES | BENCH,
                     "The answer's table as CSV, units in the column names"},
    [STV_OPT_EXPLAIN] = {"explain", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                         TABLES & ~STV_FOR(STV_CMD_CHECK),
                         "Adds the numbers behind the words, by the names that --csv gives them"},
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
