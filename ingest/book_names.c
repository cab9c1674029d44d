/* A table under a name that is not read would be missed in silence: History.csv, gauge.csv. */
#include "ingest/book_parts.h"

#include <ctype.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Small letters, without the s of a plural and without .csv. */
static void bare_name(const char *name, char out[STV_NAME_MAX])
{
    size_t n = 0;
    for (; name[n] && n + 1 < STV_NAME_MAX; n++)
        out[n] = (char)tolower((unsigned char)name[n]);
    out[n] = '\0';
    char *dot = strrchr(out, '.');
    if (dot && strcmp(dot, ".csv") == 0)
        *dot = '\0';
    n = strlen(out);
    if (n > 1 && out[n - 1] == 's')
        out[n - 1] = '\0';
}

static void look_at(struct stv__book_reader *reader, const char *name)
{
    static const char *const tables[] = {"casks.csv", "history.csv", "gauges.csv", "loggers.csv"};
    char bare[STV_NAME_MAX], known[STV_NAME_MAX], path[STV__PATH_MAX];
    bare_name(name, bare);
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++) {
        bare_name(tables[t], known);
        if (strcmp(bare, known) != 0 || !stv__join_path(reader->folder, tables[t], path) ||
            stv__exists(path) || !stv__join_path(reader->folder, name, path))
            continue;
        struct stat about;
        if (stat(path, &about) == 0 && S_ISREG(about.st_mode))
            stv_problem_add(reader->problems, STV_SET_ASIDE, path, 0, 0, NULL,
                            "is not read under this name: if it is the table %s, call it that",
                            tables[t]);
    }
}

void stv__book_names(struct stv__book_reader *reader)
{
    struct dirent **entries;
    int n = scandir(reader->folder, &entries, NULL, alphasort);
    for (int i = 0; i < n; i++) {
        look_at(reader, entries[i]->d_name);
        free(entries[i]);
    }
    if (n >= 0)
        free(entries);
}
