/* Looks through a report on the disk for what its tests ask of any report:
 *
 *     report_scan FOLDER [TEXT...]
 *     report_scan FILE.csv
 *
 * Page and pictures are well-formed XML; there is one script, no attribute that acts, no address
 * but those of the page itself; each picture is under 100 kB; every line of a CSV has as many
 * cells, and none that a spreadsheet would run.  Each TEXT must be read in the page, as text.
 * Ends with 1 and a line for each thing that is not so. */
#include "tests/xml_scan.h"

#include <ctype.h>
#include <dirent.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#define PATH_ROOM 4096
#define PICTURE_BYTES_MOST 100000L

static int n_faults;

static void fault(const char *path, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    printf("%s: ", path);
    vprintf(format, values);
    printf("\n");
    va_end(values);
    n_faults++;
}

/* Bytes of a file with a closing zero; the caller frees. */
static char *read_file(const char *path, long *size)
{
    FILE *file = fopen(path, "rb");
    char *bytes = NULL;
    if (file != NULL && fseek(file, 0, SEEK_END) == 0 && (*size = ftell(file)) >= 0) {
        rewind(file);
        bytes = calloc((size_t)*size + 1, 1);
        if (bytes != NULL && fread(bytes, 1, (size_t)*size, file) != (size_t)*size)
            *size = -1;
    }
    if (file != NULL)
        fclose(file);
    if (bytes == NULL || *size < 0) {
        fprintf(stderr, "report_scan: %s cannot be read\n", path);
        exit(2);
    }
    return bytes;
}

static size_t count(const char *text, const char *part)
{
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at += strlen(part))
        n++;
    return n;
}

/* An attribute from its blank on: one that acts, or leads away. */
static bool is_bad_attribute(const char *p)
{
    p += strspn(p, " \t\r\n");
    bool is_address = strncmp(p, "href=\"", 6) == 0 || strncmp(p, "xlink:href=\"", 12) == 0 ||
                      strncmp(p, "src=\"", 5) == 0;
    const char *value = strchr(p, '"');
    if (strncmp(p, "on", 2) == 0)
        return true;
    return is_address && value != NULL && value[1] != '#' &&
           strncmp(value + 1, "charts/", 7) != 0 &&
           strncmp(value + 1, "data:image/svg+xml", 18) != 0;
}

/* Walks the tags of well-formed XML. */
static void check_tags(const char *path, const char *text)
{
    for (const char *p = strchr(text, '<'); p != NULL; p = strchr(p + 1, '<')) {
        const char *end = xml_special(p);
        if (end != p) {
            p = end - 1;
            continue;
        }
        for (char quote = '\0'; *p != '\0' && (quote != '\0' || *p != '>'); p++) {
            if (quote == '\0' && isspace((unsigned char)*p) && is_bad_attribute(p))
                fault(path, "an attribute that acts or leads away: %.60s", p);
            if (*p == '"' || *p == '\'')
                quote = quote == '\0' ? *p : quote == *p ? '\0' : quote;
        }
    }
}

static void check_xml(const char *path, const char *text, size_t n_scripts)
{
    const char *where = xml_fault(text);
    if (where != NULL) {
        fault(path, "is no well-formed XML at: %.60s", where);
        return;
    }
    if (count(text, "<script") != n_scripts)
        fault(path, "has %zu scripts", count(text, "<script"));
    check_tags(path, text);
}

/* What a reader sees of the page: tags left out, references read; in place. */
static void keep_text(char *page)
{
    static const char *const known[][2] = {
        {"&amp;", "&"}, {"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}, {"&#39;", "'"}};
    char *out = page;
    for (const char *p = page; *p != '\0';) {
        size_t n = 0;
        if (*p == '<') {
            const char *end = strchr(p, '>');
            p = end == NULL ? p + strlen(p) : end + 1;
            continue;
        }
        for (size_t i = 0; *p == '&' && i < sizeof known / sizeof known[0]; i++)
            if (strncmp(p, known[i][0], strlen(known[i][0])) == 0) {
                n = strlen(known[i][0]);
                *out++ = known[i][1][0];
            }
        if (n == 0)
            *out++ = *p;
        p += n == 0 ? 1 : n;
    }
    *out = '\0';
}

/* A cell as a spreadsheet would read it. */
static bool is_formula(const char *cell)
{
    char *end = NULL;
    strtod(cell, &end);
    bool is_number = end != cell && (*end == ',' || *end == '\n' || *end == '"');
    cell += *cell == '"';
    cell += strspn(cell, " \t");
    return *cell != '\0' && strchr("=+-@", *cell) != NULL && !is_number;
}

static void check_csv(const char *path, const char *text)
{
    size_t n_cells = 1, n_columns = 0;
    bool is_quoted = false;
    for (const char *p = text; *p != '\0'; p++) {
        bool is_start = p == text || (!is_quoted && (p[-1] == ',' || p[-1] == '\n'));
        if (is_start && is_formula(p))
            fault(path, "a cell that a spreadsheet runs: %.40s", p);
        is_quoted ^= *p == '"';
        n_cells += *p == ',' && !is_quoted;
        if (*p != '\n')
            continue;
        n_columns = n_columns == 0 ? n_cells : n_columns;
        if (is_quoted || n_cells != n_columns)
            fault(path, "a line of %zu cells under %zu heads", n_cells, n_columns);
        n_cells = 1;
    }
    if (n_columns == 0)
        fault(path, "is empty");
}

static void check_beside(const char *path)
{
    long size = 0;
    char *text = read_file(path, &size);
    if (strcmp(strrchr(path, '.'), ".csv") == 0) {
        check_csv(path, text);
    } else {
        check_xml(path, text, 0);
        if (size >= PICTURE_BYTES_MOST)
            fault(path, "has %ld bytes, at most %ld", size, PICTURE_BYTES_MOST);
    }
    free(text);
}

static size_t check_charts(const char *folder)
{
    char path[PATH_ROOM];
    size_t n = 0;
    snprintf(path, sizeof path, "%s/charts", folder);
    DIR *open_folder = opendir(path);
    if (open_folder == NULL)
        fault(path, "is no folder");
    struct dirent *entry;
    while (open_folder != NULL && (entry = readdir(open_folder)) != NULL) {
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/charts/%s", folder, entry->d_name);
        check_beside(path);
        n++;
    }
    if (open_folder != NULL)
        closedir(open_folder);
    return n;
}

int main(int argc, char **argv)
{
    char path[PATH_ROOM];
    long size = 0;
    if (argc < 2) {
        fprintf(stderr, "usage: report_scan FOLDER [TEXT...] or FILE.csv\n");
        return 2;
    }
    const char *ending = strrchr(argv[1], '.');
    if (ending != NULL && strcmp(ending, ".csv") == 0) {
        check_beside(argv[1]);
        return n_faults == 0 ? 0 : 1;
    }
    snprintf(path, sizeof path, "%s/index.html", argv[1]);
    char *page = read_file(path, &size);
    check_xml(path, page, 1);
    keep_text(page);
    for (int i = 2; i < argc; i++)
        if (strstr(page, argv[i]) == NULL)
            fault(path, "is not read in it: %s", argv[i]);
    free(page);
    size_t n = check_charts(argv[1]);
    if (n_faults == 0)
        printf("report_scan: the page and %zu files beside it, no faults\n", n);
    return n_faults == 0 ? 0 : 1;
}
