/* The man page and the completion script: the same table, written for other programs to read. */
#include "cli/help.h"

#include "cli/exit_code.h"
#include "cli/option_values.h"

#include <string.h>

/* Text for roff: backslashes and hyphens escaped, a control character never at a line's start. */
static void add_roff(struct stv_text *text, const char *words)
{
    if (*words == '.' || *words == '\'')
        stv_text_add(text, "\\&");
    for (; *words; words++) {
        if (*words == '\\')
            stv_text_add(text, "\\e");
        else if (*words == '-')
            stv_text_add(text, "\\-");
        else
            stv_text_add_bytes(text, words, 1);
    }
}

static void add_roff_line(struct stv_text *text, const char *words)
{
    add_roff(text, words);
    stv_text_add(text, "\n");
}

/* A line for each command in which it means something of its own. */
static void add_own_meanings(struct stv_text *text, enum stv_option option)
{
    for (int i = 0; i < STV_CMD_N; i++) {
        struct stv_option_info own = stv_option_in(option, (enum stv_command)i);
        if (!stv_option_is_for(option, (enum stv_command)i) ||
            own.help == stv_option_table()[option].help)
            continue;
        stv_text_format(text, "In %s: ", stv_command_table()[i].name);
        add_roff(text, own.help);
        if (own.default_text) {
            stv_text_add(text, " (default ");
            add_roff(text, own.default_text);
            stv_text_add(text, ")");
        }
        stv_text_add(text, ".\n");
    }
}

static void add_man_option(struct stv_text *text, enum stv_option option)
{
    const struct stv_option_info *info = &stv_option_table()[option];
    char range[128];
    stv_option_range_text(info, range, sizeof range);
    stv_text_add(text, ".TP\n.B ");
    if (info->letter)
        stv_text_format(text, "\\-%c, ", info->letter);
    stv_text_add(text, "\\-\\-");
    add_roff(text, info->name);
    if (info->argument) {
        bool is_optional = info->kind == STV_VALUE_NUMBER_OR_DEFAULT;
        stv_text_add(text, is_optional ? "[=" : " ");
        add_roff(text, info->argument);
        stv_text_add(text, is_optional ? "]" : "");
    }
    stv_text_add(text, "\n");
    add_roff(text, info->help);
    stv_text_add(text, ".\n");
    if (info->default_text) {
        stv_text_add(text, "Default: ");
        add_roff(text, info->default_text);
        stv_text_add(text, ".\n");
    }
    if (range[0]) {
        stv_text_add(text, "Range: ");
        add_roff(text, range);
        stv_text_add(text, ".\n");
    }
    add_own_meanings(text, option);
    stv_text_add(text, "Taken by:");
    for (int i = 0; i < STV_CMD_N; i++)
        if (info->commands & STV_FOR(i))
            stv_text_format(text, " %s", stv_command_table()[i].name);
    stv_text_add(text, ".\n");
}

void stv_help_man(struct stv_text *text)
{
    stv_text_add(text, ".TH STAVECAST 1\n.SH NAME\n"
                       "stavecast \\- what air, wood and time do to casks of spirit\n"
                       ".SH SYNOPSIS\n.B stavecast\n.I COMMAND\n[\\fIBOOK\\fR] [options]\n"
                       ".SH COMMANDS\n");
    for (int i = 0; i < STV_CMD_N; i++) {
        const struct stv_command_info *command = &stv_command_table()[i];
        stv_text_add(text, ".TP\n.B ");
        add_roff(text, command->name);
        stv_text_add(text, " ");
        add_roff_line(text, command->operand);
        add_roff_line(text, command->sentence);
    }
    stv_text_add(text, ".SH OPTIONS\n");
    for (int i = 0; i < STV_OPT_N; i++)
        add_man_option(text, (enum stv_option)i);
    stv_text_add(text, ".SH EXIT STATUS\n");
    for (int code = 0; code < STV_EXIT_N; code++) {
        stv_text_format(text, ".TP\n.B %d\n", code);
        add_roff_line(text, stv_exit_text((enum stv_exit)code));
    }
    stv_text_add(text, ".SH EXAMPLES\n");
    for (int i = 0; i < STV_CMD_N; i++) {
        stv_text_add(text, ".PP\n.nf\n");
        for (int k = 0; k < STV_EXAMPLES_MAX; k++)
            add_roff_line(text, stv_command_table()[i].examples[k]);
        stv_text_add(text, ".fi\n");
    }
}

static void add_completion_words(struct stv_text *text, enum stv_command command)
{
    for (int i = 0; i < STV_OPT_N; i++)
        if (stv_option_is_for((enum stv_option)i, command))
            stv_text_format(text, " --%s", stv_option_table()[i].name);
}

/* What may stand behind an option: its words where it has some, else files. */
static void add_completion_values(struct stv_text *text)
{
    stv_text_add(text, "    case $before in\n");
    for (int i = 0; i < STV_OPT_N; i++) {
        const struct stv_option_info *info = &stv_option_table()[i];
        if (info->kind != STV_VALUE_CHOICE)
            continue;
        stv_text_format(text, "    --%s) COMPREPLY=($(compgen -W \"", info->name);
        for (const char *at = info->argument; *at; at++)
            stv_text_add_bytes(text, *at == '|' ? " " : at, 1);
        stv_text_add(text, "\" -- \"$word\")); return ;;\n");
    }
    stv_text_add(text, "    esac\n");
}

void stv_help_completion_bash(struct stv_text *text)
{
    stv_text_add(text, "# bash completion for stavecast\n_stavecast()\n{\n"
                       "    local word=${COMP_WORDS[COMP_CWORD]}\n"
                       "    local before=${COMP_WORDS[COMP_CWORD-1]}\n"
                       "    local command= each words\n"
                       "    for each in \"${COMP_WORDS[@]:1:COMP_CWORD-1}\"; do\n"
                       "        case $each in\n        ");
    for (int i = 0; i < STV_CMD_N; i++)
        stv_text_format(text, "%s%s", i ? "|" : "", stv_command_table()[i].name);
    stv_text_add(text, ") command=$each; break ;;\n        esac\n    done\n");
    add_completion_values(text);
    stv_text_add(text, "    case $command in\n");
    for (int i = 0; i < STV_CMD_N; i++) {
        stv_text_format(text, "    %s) words=\"", stv_command_table()[i].name);
        if (i == STV_CMD_HELP)
            for (int k = 0; k < STV_CMD_N; k++)
                stv_text_format(text, " %s", stv_command_table()[k].name);
        add_completion_words(text, (enum stv_command)i);
        stv_text_add(text, "\" ;;\n");
    }
    stv_text_add(text, "    *) words=\"");
    for (int i = 0; i < STV_CMD_N; i++)
        stv_text_format(text, " %s", stv_command_table()[i].name);
    add_completion_words(text, STV_CMD_N);
    stv_text_add(text, "\" ;;\n    esac\n"
                       "    if [[ $word == -* || -z $command || $command == help ]]; then\n"
                       "        COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n"
                       "    else\n"
                       "        COMPREPLY=($(compgen -f -- \"$word\"))\n"
                       "    fi\n}\ncomplete -o filenames -F _stavecast stavecast\n");
}
