/* The options, in the order of the help: a command's own first, then those that all share. */
#include "cli/option_table.h"

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
        {"picture", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, STV_FOR(STV_CMD_CHECK),
         "Also draws which days each logger gave, as FILE.svg, .png or .pdf, its numbers as CSV "
         "beside it"},
    [STV_OPT_DESPITE_HOLES] = {"despite-holes", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                               CLIMATE | STV_FOR(STV_CMD_REPORT),
                               "Ranks a warm season of which a logger missed more than a tenth"},
    [STV_OPT_HOURLY] = {"hourly", 0, "FILE", STV_VALUE_TEXT, NULL, NULL, 0, 0, false, SKY,
                        "Also writes every hour of every tier as CSV: means over the hour that "
                        "ends at the stamp, UTC"},
    [STV_OPT_AS_IF_NEVER_GAUGED] = {"as-if-never-gauged", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0,
                                    false, CASKS & ~STV_FOR(STV_CMD_SITES),
                                    "Leaves aside what `learn` found in the gauges and noses"},
    [STV_OPT_CASK] = {"cask", 0, "ID", STV_VALUE_TEXT, NULL, NULL, 0, 0, true,
                      STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE) |
                          STV_FOR(STV_CMD_TRANSFER) | STV_FOR(STV_CMD_WATER),
                      "A cask to tell of, as casks.csv names it; without it all are told"},
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
                       STV_FOR(STV_CMD_FORECAST) | STV_FOR(STV_CMD_PLACE), "Last day to tell of"},
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
                    "Sums over lots (one day's fills of one kind of cask), tiers, or the house"},
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
                     STV_FOR(STV_CMD_REPORT),
                     "Where the page and its charts are written; with --chart the picture's file"},
    [STV_OPT_CHART] = {"chart", 0, "NAME", STV_VALUE_TEXT, NULL, NULL, 0, 0, false,
                       STV_FOR(STV_CMD_REPORT),
                       "Draws this chart alone, to --out FILE.svg, .png (300 dots to the inch) or "
                       ".pdf, its numbers as CSV beside it, and says what it shows"},
    [STV_OPT_CHARTS] = {"charts", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
                        STV_FOR(STV_CMD_REPORT), "Lists the names of the report's charts"},
    [STV_OPT_WITHOUT_FORECASTS] = {"without-forecasts", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0,
                                   false, STV_FOR(STV_CMD_REPORT),
                                   "Leaves out all that is forecast: a page of the ledger, the "
                                   "gauges, the racks and the cautions, to hang up or hand on"},
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
                           "\"29 C\""),
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
    [STV_OPT_CASKS] =
        TYPED("casks", "N", "1", GAUGE | FILL, "How many casks stand on the scale together"),
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
    [STV_OPT_FROM] =
        TYPED("from", "STRENGTH", NULL, FILL | REDUCE, "Strength of the spirit on hand"),
    [STV_OPT_TO] = TYPED("to", "STRENGTH", NULL, REDUCE | MARRY, "Strength wanted"),
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
    [STV_OPT_STEP] = {"step", 0, "DAYS", STV_VALUE_COUNT, "d", "10", 1, 10, false, CASKS,
                      "Longest step of the cask model, whole days"},
    [STV_OPT_DATE] = {"date", 0, "DATE", STV_VALUE_DATE, NULL, "the book's", 0, 0, false,
                      READING | MARRY, "The day the answers speak of"},
    [STV_OPT_SEED] = {"seed", 0, "N", STV_VALUE_COUNT, NULL, "1", 0, COUNT_MOST, false, READING,
                      "Fixes every trial: the same seed gives the same answer"},
    [STV_OPT_DRAWS] = {"draws", 0, "N", STV_VALUE_COUNT, "trials", "64", 0, 100000, false, READING,
                       "Trials behind each range; 0 runs the default numbers alone"},
    [STV_OPT_KEEP_GOING] = {"keep-going", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, READING,
                            "Leaves refused rows out and computes the rest (exit 1)"},
    [STV_OPT_NO_CACHE] =
        {"no-cache", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false,
         READING & ~(STV_FOR(STV_CMD_CHECK) | STV_FOR(STV_CMD_SITES)),
         "Makes anew what an earlier command kept in the cache, and keeps nothing"},
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
                         "Adds all that the answer rests on, and the numbers behind the words, by "
                         "the names that --csv gives them"},
    [STV_OPT_OUTPUT] = {"output", 'o', "FILE", STV_VALUE_TEXT, NULL, "-", 0, 0, false, ALL | BARE,
                        "Writes the answer there, whole or not at all; - is standard output"},
    [STV_OPT_QUIET] = {"quiet", 'q', NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, ALL | BARE,
                       "Messages only about errors, and of what an answer rests on only what "
                       "wants heed"},
    [STV_OPT_VERBOSE] = {"verbose", 'v', NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, true, ALL | BARE,
                         "Also says each step, and every message rather than the first 20"},
    [STV_OPT_COLOR] = {"color", 0, "auto|always|never", STV_VALUE_CHOICE, NULL, "auto", 0, 0, false,
                       ALL | BARE, "Bold headings; auto: on a terminal, unless NO_COLOR is set"},
    [STV_OPT_VERSION] = {"version", 0, NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, ALL | BARE,
                         "Version of the program and of its libraries"},
    [STV_OPT_HELP] = {"help", 'h', NULL, STV_VALUE_NONE, NULL, NULL, 0, 0, false, ALL | BARE,
                      "This help"},
};

/* What an option means in a command where it is not as the table has it. */
static const struct {
    enum stv_option option;
    unsigned commands;
    bool is_repeatable;
    const char *default_text, *help;
} own_words[] = {
    {STV_OPT_HOURLY, STV_FOR(STV_CMD_CHECK), false, NULL,
     "Also writes every hour of the weather file as CSV: means over the hour that ends at the "
     "stamp, UTC"},
    {STV_OPT_CASK, STV_FOR(STV_CMD_PLACE), false, NULL,
     "The cask to find a place for, as casks.csv names it"},
    {STV_OPT_CASK, STV_FOR(STV_CMD_TRANSFER), true, NULL,
     "A cask to tell of, as casks.csv names it; without it all in active wood are told"},
    {STV_OPT_UNTIL, STV_FOR(STV_CMD_PLACE), false, "3 years on",
     "With --exchange: last day that it is weighed by"},
    {STV_OPT_BY, STV_FOR(STV_CMD_BOTTLING), false, "cask",
     "cask: a window for each; lot: for each lot as one liquid; the others mean nothing here"},
    {STV_OPT_TEMP, REDUCE, false, "20 C",
     "Temperature of the spirit when it was measured, \"84 F\" or \"29 C\""},
    {STV_OPT_CASKS, FILL, false, "1", "How many casks are filled alike"},
    {STV_OPT_FROM, FILL, false, "as --at", "Strength of the spirit on hand"},
    {STV_OPT_TO, MARRY, false, "as it is married", "Strength wanted for the bottle"},
    {STV_OPT_DATE, MARRY, false, NULL, "Day of bottling"},
};

const struct stv_option_info *stv_option_table(void)
{
    return options;
}

struct stv_option_info stv_option_in(enum stv_option option, enum stv_command command)
{
    struct stv_option_info info = options[option];
    for (size_t i = 0; i < sizeof own_words / sizeof own_words[0]; i++) {
        if (own_words[i].option != option || !(own_words[i].commands & STV_FOR(command)))
            continue;
        info.is_repeatable = own_words[i].is_repeatable;
        info.default_text = own_words[i].default_text;
        info.help = own_words[i].help;
    }
    return info;
}

bool stv_option_is_for(enum stv_option option, enum stv_command command)
{
    return (options[option].commands & STV_FOR(command)) != 0;
}
