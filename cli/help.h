/* Help, man page and completion, all made from the one option table. */
#ifndef STV_CLI_HELP_H
#define STV_CLI_HELP_H

#include "cli/option_table.h"
#include "plots/text.h"

/* Without a command: what there is, in less than 16 lines. */
void stv_help_overview(struct stv_text *text);
/* One command in full. */
void stv_help_command(struct stv_text *text, enum stv_command command);
/* The man page, as roff. */
void stv_help_man(struct stv_text *text);
/* A completion script for bash. */
void stv_help_completion_bash(struct stv_text *text);

#endif
