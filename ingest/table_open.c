/* The first row names the columns; then all cells are looked at once, for what decides about a
 * whole column: blanks that are none, and how its numbers use commas. */
#include "ingest/table.h"

#include "ingest/table_parts.h"
#include "ingest/typed_damage.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define WHY_MAX 192
#define NAME_MAX_BYTES 64
#define FOUND_MAX 96

/* Other names of columns, each of which can mean nothing else; a name that says the unit as well
 * brings it.  They are read with "_" as a blank, without points. */
static const struct other_name {
    const char *name, *column, *unit;
} other_names[] = {
    {"cask no", "cask", ""},
    {"cask nr", "cask", ""},
    {"cask #", "cask", ""},
    {"cask number", "cask", ""},
    {"cask id", "cask", ""},
    {"cask name", "cask", ""},
    {"barrel no", "cask", ""},
    {"barrel #", "cask", ""},
    {"barrel number", "cask", ""},
    {"barrel id", "cask", ""},
    {"cask size", "size", ""},
    {"capacity", "size", ""},
    {"cask capacity", "size", ""},
    {"held before", "held", ""},
    {"previously held", "held", ""},
    {"previous contents", "held", ""},
    {"times used", "uses", ""},
    {"previous fills", "uses", ""},
    {"cask kind", "kind", ""},
    {"date filled", "filled", ""},
    {"fill date", "filled", ""},
    {"filling date", "filled", ""},
    {"filled on", "filled", ""},
    {"date of fill", "filled", ""},
    {"date of filling", "filled", ""},
    {"liters", "litres", ""},
    {"bulk litres", "litres", ""},
    {"bulk liters", "litres", ""},
    {"abv", "strength", "%vol"},
    {"abv %", "strength", "%vol"},
    {"% abv", "strength", "%vol"},
    {"%abv", "strength", "%vol"},
    {"% vol", "strength", "%vol"},
    {"%vol", "strength", "%vol"},
    {"water added", "water", ""},
    {"warehouse name", "warehouse", ""},
    {"shed", "warehouse", ""},
    {"building", "warehouse", ""},
    {"store", "warehouse", ""},
    {"tier no", "tier", ""},
    {"tier number", "tier", ""},
    {"bay no", "bay", ""},
    {"bay number", "bay", ""},
    {"to cask", "to", ""},
    {"into cask", "to", ""},
    {"date gauged", "date", ""},
    {"gauge date", "date", ""},
    {"gauged on", "date", ""},
    {"event", "what", ""},
    {"what was done", "what", ""},
    {"action", "what", ""},
    {"activity", "what", ""},
    {"initials", "by", ""},
    {"nosed by", "by", ""},
    {"gauged by", "by", ""},
    {"hydrometer", "reading", ""},
    {"hydrometer reading", "reading", ""},
    {"temperature", "temp", ""},
    {"spirit temperature", "temp", ""},
    {"gross weight", "gross", ""},
    {"tare weight", "tare", ""},
    {"tare was", "tare was", ""},
    {"net weight", "net", ""},
    {"wet dip", "dip", ""},
    {"dry dip", "dry dip", ""},
    {"color", "colour", ""},
    {"colour card", "colour", ""},
    {"color card", "colour", ""},
    {"nosing", "nose", ""},
    {"weeps", "seeps", ""},
    {"head stencil", "stencil", ""},
    {"notes", "note", ""},
    {"remark", "note", ""},
    {"remarks", "note", ""},
    {"comment", "note", ""},
    {"comments", "note", ""},
};

/* Names that can mean more than one thing, and where what they say belongs. */
static const struct hint {
    const char *name, *column, *text;
} hints[] = {
    {"no of fills", "uses", "the fills it has had before this one belong under \"uses\""},
    {"number of fills", "uses", "the fills it has had before this one belong under \"uses\""},
    {"fills", "uses", "the fills it has had before this one belong under \"uses\""},
    {"row", "tier", "a height above the floor is a \"tier\", a place along the aisle a \"bay\""},
    {"rack", "tier", "a height above the floor is a \"tier\", a place along the aisle a \"bay\""},
    {"level", "tier", "a height above the floor is a \"tier\""},
    {"location", "tier", "a place is said by \"warehouse\", \"tier\" and \"bay\""},
    {"position", "tier", "a place is said by \"warehouse\", \"tier\" and \"bay\""},
    {"place", "tier", "a place is said by \"warehouse\", \"tier\" and \"bay\""},
    {"volume", "litres",
     "what is in the cask belongs under \"litres\", the cask's own under \"size\""},
    {"weight", "gross",
     "cask and spirit together belong under \"gross\", the empty cask under \"tare\", the spirit "
     "alone under \"net\""},
    {"ullage", "dry dip",
     "the room from the bung down to the liquid belongs under \"dry dip\", as a length"},
    {"type", "held", "what was in it before belongs under \"held\": new, bourbon, sherry ..."},
    {"cask type", "held", "what was in it before belongs under \"held\": new, bourbon, sherry ..."},
};

/* "litres [L]" into its name and, when it has one, its unit. */
static bool split_header(const char *text, char name[NAME_MAX_BYTES], char unit[STV_TABLE_UNIT_MAX])
{
    const char *open = strpbrk(text, "[(");
    size_t n_name = open ? (size_t)(open - text) : strlen(text);
    while (n_name > 0 && text[n_name - 1] == ' ')
        n_name--;
    name[0] = unit[0] = '\0';
    if (n_name >= NAME_MAX_BYTES)
        return false;
    memcpy(name, text, n_name);
    name[n_name] = '\0';
    if (!open)
        return true;
    const char *close = strchr(open, *open == '[' ? ']' : ')');
    size_t n_unit = close ? (size_t)(close - open) - 1 : 0;
    if (!close || close[1] || n_unit == 0 || n_unit >= STV_TABLE_UNIT_MAX)
        return false;
    memcpy(unit, open + 1, n_unit);
    unit[n_unit] = '\0';
    return true;
}

/* A name as other_names[] writes it. */
static void tidy_name(const char *text, char out[NAME_MAX_BYTES])
{
    size_t n = 0;
    for (; *text && n + 1 < NAME_MAX_BYTES; text++) {
        bool is_blank = *text == ' ' || *text == '_';
        if (*text == '.' || (is_blank && (n == 0 || out[n - 1] == ' ')))
            continue;
        out[n++] = is_blank ? ' ' : (char)tolower((unsigned char)*text);
    }
    while (n > 0 && out[n - 1] == ' ')
        n--;
    out[n] = '\0';
}

/* The column of a name of the first row, SIZE_MAX when it is unknown; a unit that the name itself
 * says is added where there is none. */
static size_t find_column(const struct stv_table *table, const char *name,
                          char unit[STV_TABLE_UNIT_MAX])
{
    char tidy[NAME_MAX_BYTES];
    size_t column = stv_table_column(table, name);
    tidy_name(name, tidy);
    for (size_t i = 0; column == SIZE_MAX && i < sizeof other_names / sizeof other_names[0]; i++) {
        if (strcmp(tidy, other_names[i].name) != 0)
            continue;
        column = stv_table_column(table, other_names[i].column);
        if (column != SIZE_MAX && !unit[0])
            snprintf(unit, STV_TABLE_UNIT_MAX, "%s", other_names[i].unit);
    }
    return column;
}

static const char *hint_for(const struct stv_table *table, const char *name)
{
    char tidy[NAME_MAX_BYTES];
    tidy_name(name, tidy);
    for (size_t i = 0; i < sizeof hints / sizeof hints[0]; i++)
        if (strcmp(tidy, hints[i].name) == 0 &&
            stv_table_column(table, hints[i].column) != SIZE_MAX)
            return hints[i].text;
    return NULL;
}

static void refuse_column_name(struct stv_table *table, size_t index, const char *name)
{
    const char *hint = hint_for(table, name);
    if (hint) {
        stv__table_say(table, STV_REFUSED, 0, index, "is not a column known here: %s", hint);
        return;
    }
    const char *known[STV_TABLE_COLUMNS_MAX];
    char list[160] = "";
    size_t used = 0;
    for (size_t i = 0; i < table->spec.n_columns; i++) {
        known[i] = table->spec.columns[i].name;
        if (used + strlen(known[i]) + 3 < sizeof list)
            used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", used ? ", " : "",
                                     known[i]);
    }
    const char *nearest = stv_nearest_word(name, known, table->spec.n_columns);
    if (nearest)
        stv__table_say(table, STV_REFUSED, 0, index,
                       "is not a column known here: did you mean \"%s\"?", nearest);
    else
        stv__table_say(table, STV_REFUSED, 0, index, "is not a column known here; known: %s", list);
}

static void take_header_cell(struct stv_table *table, size_t index)
{
    const char *text = stv_csv_text(&table->csv, 0, index);
    char name[NAME_MAX_BYTES], unit[STV_TABLE_UNIT_MAX], why[WHY_MAX];
    if (!text[0])
        return; /* a spreadsheet's spare column; anything in it is caught as a cell */
    bool is_well_written = split_header(text, name, unit);
    size_t column = find_column(table, name, unit);
    if (!is_well_written)
        stv__table_say(table, STV_REFUSED, 0, index,
                       "is not a column's name with a unit in brackets: write it like litres [L]");
    else if (column == SIZE_MAX)
        refuse_column_name(table, index, name);
    if (column == SIZE_MAX)
        return;
    if (table->index[column] != SIZE_MAX) {
        stv__table_say(table, STV_REFUSED, 0, index,
                       "is a second column of this name, \"%s\": keep one of the two",
                       table->spec.columns[column].name);
        return;
    }
    table->index[column] = index;
    enum stv_dimension dimension = table->spec.columns[column].dimension;
    if (unit[0] && dimension == STV_DIM_N)
        stv__table_say(table, STV_REFUSED, 0, index, "takes no unit: leave the brackets out");
    else if (unit[0] && !stv_unit_fits(unit, dimension, why, sizeof why))
        stv__table_say(table, STV_REFUSED, 0, index, "%s", why);
    else
        memcpy(table->unit[column], unit, sizeof unit);
}

static void check_header(struct stv_table *table)
{
    for (size_t i = 0; i < STV_TABLE_COLUMNS_MAX; i++)
        table->index[i] = SIZE_MAX;
    for (size_t i = 0; i < table->csv.rows[0].n_cells; i++)
        take_header_cell(table, i);
    for (size_t i = 0; i < table->spec.n_columns; i++)
        if (table->spec.columns[i].is_required && table->index[i] == SIZE_MAX)
            stv_problem_add(table->problems, STV_REFUSED, table->spec.file, table->csv.rows[0].line,
                            0, NULL, "the column \"%s\" is missing from the first row",
                            table->spec.columns[i].name);
}

enum stv__comma_style stv__comma_style(const char *text)
{
    static const char digits[] = "0123456789";
    size_t at = text[0] == '-' || text[0] == '+';
    size_t n_before = strspn(text + at, digits);
    const char *sign = text + at + n_before;
    if (n_before == 0 || (*sign != ',' && *sign != '.'))
        return STV__NO_COMMA;
    size_t n_after = strspn(sign + 1, digits);
    const char *second = sign + 1 + n_after;
    if ((*second == ',' || *second == '.') && *second != *sign && isdigit((unsigned char)second[1]))
        return STV__BOTH;
    if (n_after == 0)
        return *sign == '.' ? STV__POINT : STV__NO_COMMA;
    bool may_be_thousands = n_after == 3 && n_before <= 3 && text[at] != '0';
    if (*sign == '.')
        return may_be_thousands ? STV__POINT_OR_THOUSANDS : STV__POINT;
    return may_be_thousands ? STV__COMMA_OR_THOUSANDS : STV__COMMA;
}

/* A decimal comma is believed when the whole column writes it so and some cell leaves no doubt. */
static void judge_commas(struct stv_table *table, size_t column)
{
    size_t n_of[STV__COMMA_STYLES] = {0};
    size_t index = table->index[column];
    for (size_t row = 1; row < table->csv.n_rows; row++)
        n_of[stv__comma_style(stv_csv_text(&table->csv, row, index))]++;
    table->has_commas[column] = n_of[STV__COMMA] + n_of[STV__COMMA_OR_THOUSANDS] > 0;
    if (n_of[STV__COMMA] == 0 || n_of[STV__POINT] > 0)
        return;
    table->has_decimal_comma[column] = table->writes_decimal_commas = true;
    stv__table_say(table, STV_NOTED, 0, index,
                   "the numbers of this column are read with a decimal comma");
}

/* What was read otherwise than it stands, as it stood. */
static void note_cleaned(struct stv_table *table, size_t row, size_t column, const char *found,
                         const char *what)
{
    stv_problem_add(table->problems, STV_NOTED, table->spec.file, table->csv.rows[row].line,
                    stv__table_place(table, row, table->index[column]), found,
                    "%s: %s, here and below", table->spec.columns[column].name, what);
}

/* Takes out of a column's cells what cannot be seen; said once, at the first. */
static void clean_column(struct stv_table *table, size_t column)
{
    size_t index = table->index[column];
    bool is_number = table->spec.columns[column].dimension != STV_DIM_N;
    struct stv_cleaned said = {false, false};
    for (size_t row = 1; row < table->csv.n_rows; row++) {
        const char *text = stv_csv_text(&table->csv, row, index);
        if (!text[0])
            continue;
        char found[FOUND_MAX];
        snprintf(found, sizeof found, "%s", text);
        struct stv_cleaned now =
            stv_damage_clean(table->csv.text + (text - table->csv.text), is_number);
        if (now.had_blank && !said.had_blank)
            note_cleaned(table, row, column, found,
                         "has blanks that are no plain ones, or signs without width: read as plain "
                         "blanks or left out");
        if (now.had_minus && !said.had_minus)
            note_cleaned(table, row, column, found,
                         "has a typographic minus or dash: read as a plain one");
        said.had_blank |= now.had_blank;
        said.had_minus |= now.had_minus;
    }
}

/* What is decided for a whole column.  Words without a meaning here are left as they are. */
static void judge_columns(struct stv_table *table)
{
    for (size_t i = 0; i < table->spec.n_columns; i++) {
        bool is_note = strcmp(table->spec.columns[i].name, "note") == 0;
        if (table->index[i] != SIZE_MAX && !is_note)
            clean_column(table, i);
    }
    for (size_t i = 0; i < table->spec.n_columns && table->csv.delimiter != ','; i++)
        if (table->spec.columns[i].dimension != STV_DIM_N && table->index[i] != SIZE_MAX)
            judge_commas(table, i);
}

/* Blanks of the first row that are none are blanks between words, whoever typed them. */
static void clean_header(struct stv_table *table)
{
    for (size_t i = 0; i < table->csv.rows[0].n_cells; i++) {
        const char *text = stv_csv_text(&table->csv, 0, i);
        if (text[0])
            (void)stv_damage_clean(table->csv.text + (text - table->csv.text), false);
    }
}

enum stv_status stv_table_open(const char *path, struct stv_table_spec spec,
                               struct stv_problems *problems, struct stv_table *out)
{
    *out = (struct stv_table){.spec = spec, .problems = problems};
    char why[WHY_MAX];
    enum stv_status status = stv_csv_read(path, &out->csv, why, sizeof why);
    if (status != STV_OK) {
        stv_problem_add(problems, STV_REFUSED, spec.file, 0, 0, NULL, "%s", why);
        return status;
    }
    if (out->csv.bad_utf8_line)
        stv_problem_add(problems, STV_REFUSED, spec.file, out->csv.bad_utf8_line,
                        out->csv.bad_utf8_column, NULL,
                        "has a letter that is not UTF-8: save the file again as \"CSV UTF-8\"");
    clean_header(out);
    check_header(out);
    judge_columns(out);
    return STV_OK;
}
