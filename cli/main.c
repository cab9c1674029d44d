/* The `stavecast` command: reads the line, finds the command, returns its exit code.
 * Only here is GSL's aborting error handler turned off; every GSL status is checked instead. */
#include "cli/commands.h"
#include "cli/exit_code.h"
#include "cli/help.h"
#include "cli/json.h"
#include "cli/output.h"
#include "cli/session.h"
#include "cli/targets.h"

#include <gsl/gsl_errno.h>
#include <string.h>

#define WHY_MAX 512

typedef int (*command_function)(const struct stv_options *);

static const command_function run_command[STV_CMD_N] = {
    [STV_CMD_NEW] = stv_cmd_new,           [STV_CMD_FETCH] = stv_cmd_fetch,
    [STV_CMD_CHECK] = stv_cmd_check,       [STV_CMD_CLIMATE] = stv_cmd_climate,
    [STV_CMD_FORECAST] = stv_cmd_forecast, [STV_CMD_PLACE] = stv_cmd_place,
    [STV_CMD_BOTTLING] = stv_cmd_bottling, [STV_CMD_STOCK] = stv_cmd_stock,
    [STV_CMD_SITES] = stv_cmd_sites,       [STV_CMD_LEARN] = stv_cmd_learn,
    [STV_CMD_RERUN] = stv_cmd_rerun,       [STV_CMD_REPORT] = stv_cmd_report,
    [STV_CMD_VAPOUR] = stv_cmd_vapour,     [STV_CMD_GAUGE] = stv_cmd_gauge,
    [STV_CMD_FILL] = stv_cmd_fill,         [STV_CMD_REDUCE] = stv_cmd_reduce,
    [STV_CMD_MARRY] = stv_cmd_marry,       [STV_CMD_HELP] = stv_cmd_help,
    [STV_CMD_TRANSFER] = stv_cmd_transfer, [STV_CMD_MONTH] = stv_cmd_month,
    [STV_CMD_WATER] = stv_cmd_water,
};

/* True when help is asked for anywhere before `--`: it is given even when the rest is wrong. */
static bool asks_for_help(int argc, char *const *argv)
{
    for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++)
        if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
            return true;
    return false;
}

static int give_help(int argc, char *const *argv, struct stv_options *options)
{
    enum stv_command command = STV_CMD_N;
    for (int i = 1; i < argc && command == STV_CMD_N; i++)
        command = stv_command_by_name(argv[i]);
    if (command == STV_CMD_N && argv[1][0] != '-')
        return stv_refuse_command(options, argv[1]);
    if (command != STV_CMD_N)
        options->operand = stv_command_table()[command].name;
    return stv_cmd_help(options);
}

/* The line could not be read: what was recorded of it so far is kept for the JSON answer. */
static int refuse_line(int argc, char *const *argv, struct stv_options *options, const char *why)
{
    for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++) {
        bool is_new = strcmp(argv[i], "--json") == 0 && !stv_options_has(options, STV_OPT_JSON);
        if (is_new && options->n_given < STV_OCCURRENCES_MAX)
            options->given[options->n_given++].option = STV_OPT_JSON;
    }
    return stv_refuse(options, NULL, STV_E_USAGE, why);
}

int main(int argc, char **argv)
{
    static struct stv_options options;
    options = (struct stv_options){.command = STV_CMD_N};
    gsl_set_error_handler_off();
    stv_json_begin();
    if (argc < 2)
        return stv_cmd_help(&options);
    if (asks_for_help(argc, argv))
        return give_help(argc, argv, &options);
    char why[WHY_MAX];
    if (stv_options_parse(argc, argv, &options, why, sizeof why) != STV_OK)
        return refuse_line(argc, argv, &options, why);
    if (stv_options_has(&options, STV_OPT_VERSION))
        return stv_cmd_version(&options);
    if (stv_options_has(&options, STV_OPT_PARAMETERS))
        return stv_cmd_parameters(&options);
    if (options.command == STV_CMD_N)
        return stv_cmd_help(&options);
    if (!stv_targets_are_free(&options, why, sizeof why))
        return stv_refuse(&options, NULL, STV_E_USAGE, why);
    return run_command[options.command](&options);
}
