/* `help`, and the version of everything that takes part. */
#include "cli/commands.h"

#include "cli/exit_code.h"
#include "cli/help.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "cli/session.h"
#include "cli/version.h"
#include "ingest/market.h"

#include <glpk.h>
#include <gsl/gsl_version.h>
#include <jansson.h>
#include <yaml.h>

static int written(const struct stv_options *options, struct stv_text *text)
{
    enum stv_status status = stv_output_write(options, text);
    stv_text_free(text);
    return (int)stv_exit_code(status);
}

int stv_cmd_help(const struct stv_options *options)
{
    struct stv_text text = {0};
    if (stv_options_has(options, STV_OPT_MAN)) {
        stv_help_man(&text);
    } else if (stv_options_has(options, STV_OPT_COMPLETION)) {
        stv_help_completion_bash(&text);
    } else if (stv_options_has(options, STV_OPT_MARKETS)) {
        stv_text_add(&text, stv_markets_text());
    } else if (!options->operand) {
        stv_help_overview(&text);
    } else {
        enum stv_command command = stv_command_by_name(options->operand);
        if (command == STV_CMD_N)
            return stv_refuse_command(options, options->operand);
        stv_help_command(&text, command);
    }
    return written(options, &text);
}

int stv_cmd_version(const struct stv_options *options)
{
    struct stv_text text = {0};
    stv_prose_add(&text, "stavecast %s\n", STV_VERSION);
#ifdef STV_COMMIT
    stv_prose_add(&text, "commit %s\n", STV_COMMIT);
#endif
    stv_prose_add(&text, "GSL %s, GLPK %s, libcurl %s, libyaml %s, jansson %s\n", gsl_version,
                  glp_version(), STV_CURL_VERSION, yaml_get_version_string(),
                  jansson_version_str());
    return written(options, &text);
}
