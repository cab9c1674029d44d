/* Help for people: sentence, usage, examples, options with unit, default and range, exit codes,
 * where to report. */
#include "cli/help.h"

#include "cli/exit_code.h"
#include "cli/option_values.h"
#include "cli/prose.h"

#include <stdio.h>
#include <string.h>

#define NOTE_MAX 256

void stv_help_overview(struct stv_text *text)
{
    stv_prose_add(text, "stavecast: what air, wood and time do to your casks, and what to do "
                        "next\n");
    stv_prose_add(text, "usage: stavecast COMMAND [BOOK] [options]\n");
    size_t n_sums = 0;
    struct stv_text sums = {0};
    for (int i = 0; i < STV_CMD_N; i++) {
        const struct stv_command_info *info = &stv_command_table()[i];
        if (info->operand[0])
            stv_prose_add(text, "  %-9s  %s\n", info->name, info->summary);
        else
            stv_prose_add(&sums, "%s%s", n_sums++ ? ", " : "", info->name);
    }
    stv_prose_add(text, "  bench sums, no book: %s\n", stv_text_string(&sums));
    stv_text_free(&sums);
    stv_prose_add(text, "\nTry it on the weather shipped with the program:\n");
    stv_prose_add(text, "  %s\n", STV_SAMPLE_COMMAND);
}

/* "default 64; 0 to 100000 trials" */
static void add_note(struct stv_text *note, const struct stv_option_info *info)
{
    char range[NOTE_MAX];
    stv_option_range_text(info, range, sizeof range);
    if (info->default_text)
        stv_prose_add(note, "default %s", info->default_text);
    if (range[0])
        stv_prose_add(note, "%s%s", note->n ? "; " : "", range);
    if (info->is_repeatable && info->kind != STV_VALUE_NONE)
        stv_prose_add(note, "%smay be repeated", note->n ? "; " : "");
}

static void add_option(struct stv_text *text, const struct stv_option_info *info)
{
    char letter[8] = "";
    if (info->letter)
        snprintf(letter, sizeof letter, "-%c, ", info->letter);
    if (info->kind == STV_VALUE_NUMBER_OR_DEFAULT)
        stv_prose_add(text, "  %s--%s[=%s]\n", letter, info->name, info->argument);
    else
        stv_prose_add(text, "  %s--%s%s%s\n", letter, info->name, info->argument ? " " : "",
                      info->argument ? info->argument : "");
    struct stv_text note = {0};
    add_note(&note, info);
    if (note.n)
        stv_prose_wrap(text, 6, "%s (%s).", info->help, stv_text_string(&note));
    else
        stv_prose_wrap(text, 6, "%s.", info->help);
    stv_text_free(&note);
}

/* An example, cut before an option where the line would be too long for a terminal. */
static void add_example(struct stv_text *text, const char *example)
{
    size_t column = strlen("  ");
    stv_text_add(text, "  ");
    for (const char *at = example; *at;) {
        const char *option = strstr(at + 1, " --");
        size_t n = option ? (size_t)(option - at) : strlen(at);
        if (at > example && column + n + strlen(" \\") > STV_PROSE_COLUMNS) {
            stv_text_add(text, " \\\n     ");
            column = strlen("     ");
        }
        stv_text_add_bytes(text, at, n);
        column += n;
        at += n;
    }
    stv_text_add(text, "\n");
}

void stv_help_command(struct stv_text *text, enum stv_command command)
{
    const struct stv_command_info *info = &stv_command_table()[command];
    stv_prose_wrap(text, 0, "%s", info->sentence);
    stv_prose_add(text, "\nusage: stavecast %s%s%s [options]\n", info->name,
                  info->operand[0] ? " " : "", info->operand);
    if (strcmp(info->operand, "[BOOK]") == 0)
        stv_prose_add(text, "       BOOK is a folder; inside it the name may be left out\n");
    stv_prose_add(text, "\nexamples:\n");
    for (int i = 0; i < STV_EXAMPLES_MAX; i++)
        add_example(text, info->examples[i]);
    stv_prose_add(text, "\noptions:\n");
    for (int i = 0; i < STV_OPT_N; i++)
        if (stv_option_is_for((enum stv_option)i, command)) {
            struct stv_option_info own = stv_option_in((enum stv_option)i, command);
            add_option(text, &own);
        }
    stv_prose_add(text, "\nexit codes:\n");
    for (int code = 0; code < STV_EXIT_N; code++)
        stv_prose_add(text, "  %d  %s\n", code, stv_exit_text((enum stv_exit)code));
    stv_prose_add(text, "\nA number looks wrong? README.md says how to report it and what to "
                        "attach.\n");
}
