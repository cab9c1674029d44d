/* The commands, in the order of the help. */
#include "cli/option_table.h"

#include <string.h>

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
         "when to move out of new wood, and into what",
         "Tells in summers, with its odds, when each cask in new or first-fill wood should move "
         "out of it, what waiting a year costs, which empty casks could take the spirit and what "
         "each "
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

const struct stv_command_info *stv_command_table(void)
{
    return commands;
}

enum stv_command stv_command_by_name(const char *name)
{
    for (int i = 0; i < STV_CMD_N; i++)
        if (strcmp(commands[i].name, name) == 0)
            return (enum stv_command)i;
    return STV_CMD_N;
}
