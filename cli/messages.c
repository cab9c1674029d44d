/* Messages carry no level labels and no function names: a sentence, where it is, what to do. */
#include "cli/messages.h"

#include "cli/format.h"

#include <stdarg.h>
#include <stdio.h>

#define SHOWN_MOST 20
#define LINE_MAX_BYTES 1024

static void print_line(const char *format, va_list args)
{
    char line[LINE_MAX_BYTES];
    vsnprintf(line, sizeof line, format, args);
    for (char *at = line; *at; at++)
        if ((unsigned char)*at < 0x20 || *at == 0x7f)
            *at = ' ';
    fprintf(stderr, "%s\n", line);
}

void stv_messages_error(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    print_line(format, args);
    va_end(args);
}

void stv_messages_note(const struct stv_options *options, const char *format, ...)
{
    if (stv_options_has(options, STV_OPT_QUIET))
        return;
    va_list args;
    va_start(args, format);
    print_line(format, args);
    va_end(args);
}

void stv_messages_step(const struct stv_options *options, const char *format, ...)
{
    if (!stv_options_has(options, STV_OPT_VERBOSE))
        return;
    va_list args;
    va_start(args, format);
    print_line(format, args);
    va_end(args);
}

static struct stv_formatted values_text(const struct stv_problems *problems,
                                        enum stv_severity severity)
{
    return stv_format_count(problems->n_by_severity[severity], "row or value", "rows or values");
}

static void print_counts(const struct stv_options *options, const struct stv_problems *problems,
                         size_t n_hidden)
{
    if (n_hidden)
        stv_messages_note(options, "... and %zu more; -v shows them all.", n_hidden);
    if (problems->n_by_severity[STV_REFUSED])
        stv_messages_error("%zu refused.", problems->n_by_severity[STV_REFUSED]);
    if (problems->n_by_severity[STV_SET_ASIDE])
        stv_messages_note(options, "%s set aside: left out and counted, the rest is used.",
                          values_text(problems, STV_SET_ASIDE).text);
    if (problems->n_by_severity[STV_SUSPECT])
        stv_messages_note(options, "%s suspect: used, but doubtful.",
                          values_text(problems, STV_SUSPECT).text);
}

void stv_messages_problems(const struct stv_options *options, const struct stv_problems *problems)
{
    bool is_quiet = stv_options_has(options, STV_OPT_QUIET);
    size_t most = stv_options_has(options, STV_OPT_VERBOSE) ? problems->n : SHOWN_MOST;
    size_t n_shown = 0;
    /* What was refused comes first: it is what has to be mended. */
    for (int severity = STV_REFUSED; severity <= STV_NOTED; severity++) {
        for (size_t i = 0; i < problems->n; i++) {
            const struct stv_problem *problem = &problems->items[i];
            if ((int)problem->severity != severity || (is_quiet && severity != STV_REFUSED))
                continue;
            if (n_shown++ >= most)
                continue;
            char line[LINE_MAX_BYTES];
            stv_problem_text(problem, line, sizeof line);
            stv_messages_error("%s", line);
        }
    }
    print_counts(options, problems, n_shown > most ? n_shown - most : 0);
}
