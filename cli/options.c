/* A strict reader of the command line: an option that a command does not take, a value that is
 * missing or given twice, and a second operand are all refused, with the nearest known word.
 * Nothing is abbreviated, so that a new option can never change what an old script means. */
#include "cli/options.h"

#include "cli/option_values.h"
#include "ingest/quantity.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* State of one reading. */
struct reader {
    int argc;
    char *const *argv;
    int at; /* next argument */
    bool options_ended;
    struct stv_options *out;
    char *why;
    size_t size;
};

static enum stv_status refuse_option(struct reader *reader, const char *name)
{
    const struct stv_option_info *table = stv_option_table();
    const char *names[STV_OPT_N];
    size_t n = 0;
    for (int i = 0; i < STV_OPT_N; i++)
        if (stv_option_is_for((enum stv_option)i, reader->out->command))
            names[n++] = table[i].name;
    const char *nearest = stv_nearest_word(name, names, n);
    if (nearest)
        snprintf(reader->why, reader->size, "There is no option --%.60s. Did you mean --%s?", name,
                 nearest);
    else
        snprintf(reader->why, reader->size, "There is no option --%.60s.", name);
    return STV_E_USAGE;
}

static enum stv_status record(struct reader *reader, enum stv_option option, const char *text)
{
    struct stv_options *out = reader->out;
    const struct stv_option_info *info = &stv_option_table()[option];
    if (!info->is_repeatable && stv_options_has(out, option)) {
        snprintf(reader->why, reader->size, "--%s is given twice.", info->name);
        return STV_E_USAGE;
    }
    if (out->n_given == STV_OCCURRENCES_MAX) {
        snprintf(reader->why, reader->size, "More than %d options.", STV_OCCURRENCES_MAX);
        return STV_E_USAGE;
    }
    struct stv_occurrence *occurrence = &out->given[out->n_given];
    *occurrence = (struct stv_occurrence){option, text, (double)NAN, INT64_MIN};
    enum stv_status status = stv_option_value(occurrence, reader->why, reader->size);
    if (status == STV_OK)
        out->n_given++;
    return status;
}

/* Takes the value from behind '=' or a letter, else from the next argument. */
static enum stv_status record_with_value(struct reader *reader, enum stv_option option,
                                         const char *attached)
{
    const struct stv_option_info *info = &stv_option_table()[option];
    if (info->kind == STV_VALUE_NONE) {
        if (!attached)
            return record(reader, option, NULL);
        snprintf(reader->why, reader->size, "--%s takes no value.", info->name);
        return STV_E_USAGE;
    }
    if (attached)
        return record(reader, option, attached);
    if (info->kind == STV_VALUE_NUMBER_OR_DEFAULT)
        return record(reader, option, info->default_text);
    if (reader->at >= reader->argc) {
        snprintf(reader->why, reader->size, "--%s needs a value: --%s %s.", info->name, info->name,
                 info->argument);
        return STV_E_USAGE;
    }
    return record(reader, option, reader->argv[reader->at++]);
}

/* The command of the line, also when it stands behind the options. */
static enum stv_command command_of(const struct reader *reader)
{
    enum stv_command command = reader->out->command;
    for (int i = reader->at; i < reader->argc && command == STV_CMD_N; i++)
        command = stv_command_by_name(reader->argv[i]);
    return command;
}

static bool is_named(enum stv_option option, const char *name, size_t length)
{
    const char *known = stv_option_table()[option].name;
    return strlen(known) == length && strncmp(known, name, length) == 0;
}

/* Of options of one name the command's own; STV_OPT_N when there is none of that name. */
static enum stv_option option_of_name(const struct reader *reader, const char *name, size_t length)
{
    enum stv_option found = STV_OPT_N;
    for (int i = 0; i < STV_OPT_N; i++) {
        enum stv_option option = (enum stv_option)i;
        if (is_named(option, name, length) &&
            (found == STV_OPT_N || stv_option_is_for(option, command_of(reader))))
            found = option;
    }
    return found;
}

static enum stv_status read_long(struct reader *reader, const char *name)
{
    size_t length = strcspn(name, "=");
    enum stv_option option = option_of_name(reader, name, length);
    if (option != STV_OPT_N)
        return record_with_value(reader, option, name[length] == '=' ? name + length + 1 : NULL);
    char plain[64];
    snprintf(plain, sizeof plain, "%.*s", (int)(length < 60 ? length : 60), name);
    return refuse_option(reader, plain);
}

static int option_of_letter(char letter)
{
    const struct stv_option_info *table = stv_option_table();
    for (int i = 0; i < STV_OPT_N; i++)
        if (table[i].letter == letter)
            return i;
    return -1;
}

static enum stv_status read_letters(struct reader *reader, const char *letters)
{
    for (; *letters; letters++) {
        int option = option_of_letter(*letters);
        if (option < 0) {
            snprintf(reader->why, reader->size,
                     "There is no option -%c. The letters are -h, -o, -q and -v.", *letters);
            return STV_E_USAGE;
        }
        bool takes_value = stv_option_table()[option].kind != STV_VALUE_NONE;
        const char *attached = takes_value && letters[1] ? letters + 1 : NULL;
        enum stv_status status = record_with_value(reader, (enum stv_option)option, attached);
        if (status != STV_OK || takes_value)
            return status;
    }
    return STV_OK;
}

void stv_options_unknown_command(const char *name, char *why, size_t size)
{
    const char *names[STV_CMD_N];
    for (int i = 0; i < STV_CMD_N; i++)
        names[i] = stv_command_table()[i].name;
    const char *nearest = stv_nearest_word(name, names, STV_CMD_N);
    if (nearest)
        snprintf(why, size, "There is no command \"%.60s\". Did you mean \"%s\"?", name, nearest);
    else
        snprintf(why, size, "There is no command \"%.60s\".", name);
}

static enum stv_status read_word(struct reader *reader, const char *word)
{
    struct stv_options *out = reader->out;
    if (out->command == STV_CMD_N) {
        out->command = stv_command_by_name(word);
        if (out->command != STV_CMD_N)
            return STV_OK;
        stv_options_unknown_command(word, reader->why, reader->size);
        return STV_E_USAGE;
    }
    if (out->operand) {
        snprintf(reader->why, reader->size, "\"%.60s\" is one word too many: %s takes %s.", word,
                 stv_command_table()[out->command].name, stv_command_table()[out->command].operand);
        return STV_E_USAGE;
    }
    if (!stv_command_table()[out->command].operand[0]) {
        snprintf(reader->why, reader->size,
                 "\"%.60s\" is one word too many: %s takes options alone, and values with blanks "
                 "need quotes, as --temp \"84 F\".",
                 word, stv_command_table()[out->command].name);
        return STV_E_USAGE;
    }
    out->operand = word;
    return STV_OK;
}

/* Which commands take an option of this name, for the one that does not. */
static void name_takers(const char *name, char *buffer, size_t size)
{
    size_t used = 0;
    unsigned takers = 0;
    buffer[0] = '\0';
    for (int i = 0; i < STV_OPT_N; i++)
        if (strcmp(stv_option_table()[i].name, name) == 0)
            takers |= stv_option_table()[i].commands;
    for (int i = 0; i < STV_CMD_N; i++) {
        if (!(takers & STV_FOR(i)) || used >= size)
            continue;
        int n = snprintf(buffer + used, size - used, "%s%s", used ? ", " : "",
                         stv_command_table()[i].name);
        used += n > 0 ? (size_t)n : 0;
    }
}

static enum stv_status check_together(struct reader *reader)
{
    const struct stv_options *out = reader->out;
    for (size_t i = 0; i < out->n_given; i++) {
        enum stv_option option = out->given[i].option;
        if (stv_option_is_for(option, out->command))
            continue;
        const struct stv_option_info *info = &stv_option_table()[option];
        char takers[128];
        name_takers(info->name, takers, sizeof takers);
        if (out->command == STV_CMD_N)
            snprintf(reader->why, reader->size, "--%s needs a command: %s.", info->name, takers);
        else
            snprintf(reader->why, reader->size, "%s has no option --%s; it belongs to: %s.",
                     stv_command_table()[out->command].name, info->name, takers);
        return STV_E_USAGE;
    }
    if (stv_options_has(out, STV_OPT_JSON) && stv_options_has(out, STV_OPT_CSV)) {
        snprintf(reader->why, reader->size, "Choose --json or --csv, not both.");
        return STV_E_USAGE;
    }
    if (stv_options_has(out, STV_OPT_EXPLAIN) &&
        (stv_options_has(out, STV_OPT_JSON) || stv_options_has(out, STV_OPT_CSV))) {
        snprintf(reader->why, reader->size,
                 "--explain adds the numbers to the words; --json and --csv hold them already.");
        return STV_E_USAGE;
    }
    bool is_question =
        stv_options_has(out, STV_OPT_VERSION) || stv_options_has(out, STV_OPT_PARAMETERS);
    if (out->command != STV_CMD_N && stv_command_table()[out->command].needs_operand &&
        !out->operand && !is_question) {
        const struct stv_command_info *command = &stv_command_table()[out->command];
        snprintf(reader->why, reader->size, "%s needs a name: stavecast %s %s.", command->name,
                 command->name, command->operand);
        return STV_E_USAGE;
    }
    return STV_OK;
}

enum stv_status stv_options_parse(int argc, char *const *argv, struct stv_options *out, char *why,
                                  size_t size)
{
    *out = (struct stv_options){.command = STV_CMD_N};
    why[0] = '\0';
    struct reader reader = {argc, argv, 1, false, out, why, size};
    while (reader.at < argc) {
        const char *argument = argv[reader.at++];
        enum stv_status status;
        if (!reader.options_ended && strcmp(argument, "--") == 0) {
            reader.options_ended = true;
            continue;
        }
        if (reader.options_ended || argument[0] != '-' || argument[1] == '\0')
            status = read_word(&reader, argument);
        else if (argument[1] == '-')
            status = read_long(&reader, argument + 2);
        else
            status = read_letters(&reader, argument + 1);
        if (status != STV_OK)
            return status;
    }
    return check_together(&reader);
}

size_t stv_options_count(const struct stv_options *options, enum stv_option option)
{
    size_t n = 0;
    for (size_t i = 0; i < options->n_given; i++)
        n += options->given[i].option == option;
    return n;
}

bool stv_options_has(const struct stv_options *options, enum stv_option option)
{
    return stv_options_count(options, option) > 0;
}

const struct stv_occurrence *stv_options_nth(const struct stv_options *options,
                                             enum stv_option option, size_t k)
{
    for (size_t i = 0; i < options->n_given; i++)
        if (options->given[i].option == option && k-- == 0)
            return &options->given[i];
    return NULL;
}

const char *stv_options_text(const struct stv_options *options, enum stv_option option)
{
    const struct stv_occurrence *first = stv_options_nth(options, option, 0);
    return first ? first->text : stv_option_table()[option].default_text;
}

double stv_options_number(const struct stv_options *options, enum stv_option option)
{
    const struct stv_occurrence *first = stv_options_nth(options, option, 0);
    if (first)
        return first->number;
    const char *text = stv_option_table()[option].default_text;
    return text ? strtod(text, NULL) : (double)NAN;
}

int64_t stv_options_day(const struct stv_options *options, enum stv_option option)
{
    const struct stv_occurrence *first = stv_options_nth(options, option, 0);
    return first ? first->day_d : INT64_MIN;
}
