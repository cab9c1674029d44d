/* The report: one page that holds all, the same bytes every time, nothing typed that runs, whole
 * or not at all, and a page also where gnuplot is missing.  Results are invented (made_up.h). */
#include "tests/check.h"
#include "tests/made_casks.h"
#include "tests/xml_scan.h"

#include "plots/html.h"
#include "plots/report.h"
#include "plots/report_parts.h"

#include <dirent.h>
#include <sys/stat.h>
#include <unistd.h>

#define WHY_MAX 400
#define PATH_ROOM 512
#define NAME_ROOM 128 /* of a file inside the folder */

/* A whole invented house and the folder its report goes to. */
struct house {
    char folder[128];
    struct stv_climate_result climate;
    struct stv_climate_days days;
    struct stv_ledger ledger;
    struct stv_outlook outlook, months;
    struct stv_bottling bottling;
    struct stv_sites_result sites;
    struct stv_house_rules rules;
    struct stv_report_gauge gauges[2];
    struct stv_season_losses losses;
    struct stv_told_figures told;
    struct stv_store_paths paths;
    struct stv_vapour_clock vapour;
    const char **places;
    struct stv_report_input input;
};

static const char *const first_screen[] = {"About 3309 bottles of 70 cl at 46 %.",
                                           "\1LOOK AT FIRST",
                                           "  Cask 2: the gauge lies outside the range."};
static const char *const how[] = {"Two loggers, 14 months."};
static const char *const cautions[] = {"Air first, then enter."};

static void build(struct house *house, size_t n_casks)
{
    int64_t filled = made_day(2024, 3, 14), now = made_day(2027, 12, 12);
    snprintf(house->folder, sizeof house->folder, "/tmp/stv-report-XXXXXX");
    assert_non_null(mkdtemp(house->folder));
    house->climate = made_climate("Long Shed", 6, 2);
    house->days = made_climate_days(made_day(2024, 1, 1), 1441);
    house->ledger = made_ledger(n_casks);
    house->outlook = made_outlook(n_casks, filled, 3, 30);
    house->months = made_outlook(n_casks, made_day(2027, 12, 1), 1, 48);
    house->bottling = made_bottling(n_casks - 1, 48);
    house->sites = made_sites(3);
    house->rules = made_rules();
    house->gauges[0] =
        (struct stv_report_gauge){0, filled + 366, 185.6, 0.594, 1.0, 0.002, "dip", "reading"};
    house->gauges[1] =
        (struct stv_report_gauge){1, filled + 917, (double)NAN, 0.57, 1.0, 0.002, "", "reading"};
    house->losses = made_losses("Long Shed", 6);
    house->told = made_told(40, "2");
    house->paths = made_paths("Long Shed", 6);
    house->vapour = made_clock("Long Shed", 600.0);
    house->places = calloc(n_casks, sizeof *house->places);
    assert_non_null(house->places);
    for (size_t c = 0; c < n_casks; c++)
        house->places[c] = "Long Shed, tier 2, bay 7, front";
    house->input = (struct stv_report_input){.house_name = "Quill Basin",
                                             .is_invented = true,
                                             .as_of_day_d = now,
                                             .first_screen = {first_screen, 3},
                                             .how_we_know = {how, 1},
                                             .cautions = {cautions, 1},
                                             .climate = &house->climate,
                                             .days = &house->days,
                                             .ledger = &house->ledger,
                                             .outlook = &house->outlook,
                                             .months = &house->months,
                                             .bottling = &house->bottling,
                                             .gauges = house->gauges,
                                             .n_gauges = 2,
                                             .losses = &house->losses,
                                             .told_figures = &house->told,
                                             .paths = &house->paths,
                                             .vapour = &house->vapour,
                                             .sites = &house->sites,
                                             .site_climates = &house->climate,
                                             .rules = &house->rules,
                                             .place_texts = house->places,
                                             .version = "0.1.0"};
}

static void remove_folder(const char *path)
{
    DIR *folder = opendir(path);
    struct dirent *entry;
    while (folder != NULL && (entry = readdir(folder)) != NULL) {
        char name[PATH_ROOM];
        snprintf(name, sizeof name, "%s/%s", path, entry->d_name);
        if (entry->d_name[0] != '.' && unlink(name) != 0)
            remove_folder(name);
    }
    if (folder != NULL)
        closedir(folder);
    rmdir(path);
}

static void tear_down(struct house *house)
{
    remove_folder(house->folder);
    made_climate_free(&house->climate);
    stv_climate_days_free(&house->days);
    made_ledger_free(&house->ledger);
    made_outlook_free(&house->outlook);
    made_outlook_free(&house->months);
    made_sites_free(&house->sites);
    made_losses_free(&house->losses);
    free(house->told.figures);
    free(house->paths.told);
    free(house->bottling.windows);
    free(house->places);
}

static bool has_file(const struct house *house, const char *name)
{
    char path[PATH_ROOM];
    struct stat about;
    snprintf(path, sizeof path, "%s/%s", house->folder, name);
    return stat(path, &about) == 0;
}

static size_t n_files(const struct house *house, const char *name)
{
    char path[PATH_ROOM];
    snprintf(path, sizeof path, "%s/%s", house->folder, name);
    DIR *folder = opendir(path);
    assert_non_null(folder);
    size_t n = 0;
    for (const struct dirent *entry; (entry = readdir(folder)) != NULL;)
        n += entry->d_name[0] != '.';
    closedir(folder);
    return n;
}

/* Bytes of a file; caller frees. */
static char *read_file(const struct house *house, const char *name)
{
    char path[PATH_ROOM];
    snprintf(path, sizeof path, "%s/%s", house->folder, name);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    struct stv_text text = {0};
    char block[4096];
    size_t n;
    while ((n = fread(block, 1, sizeof block, file)) > 0)
        stv_text_add_bytes(&text, block, n);
    fclose(file);
    assert_non_null(text.bytes);
    return text.bytes;
}

static void write_report(const struct house *house, enum stv_status want, const char *part)
{
    char why[WHY_MAX];
    enum stv_status got = stv_report_write(&house->input, house->folder, why, sizeof why);
    if (got != want || strstr(why, part) == NULL)
        print_error("why: \"%s\"\n", why);
    stv_assert_status(got, want);
    assert_non_null(strstr(why, part));
    if (want == STV_OK)
        assert_string_equal(why, "");
}

static size_t count(const char *text, const char *part)
{
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at += strlen(part))
        n++;
    return n;
}

static void has(const char *page, const char *part)
{
    if (strstr(page, part) == NULL)
        print_error("not in the page: %s\n", part);
    assert_non_null(strstr(page, part));
}

static void test_page(void **state)
{
    (void)state;
    struct house house;
    build(&house, 12);
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    assert_null(xml_fault(page)); /* the page is written so that XML rules hold as well */
    static const char *const ids[] = {"racks", "casks", "windows", "sites", "how", "cautions"};
    for (size_t i = 0; i < 6; i++) {
        char part[64];
        snprintf(part, sizeof part, "<section id=\"%s\">", ids[i]);
        has(page, part);
        snprintf(part, sizeof part, "<a href=\"#%s\">", ids[i]);
        has(page, part);
    }
    has(page, "<h1>Quill Basin</h1>");
    has(page, "<title>Quill Basin (invented example)</title>");
    has(page, "12 December 2027 <span class=\"mark\">invented example</span>");
    has(page, "<h3>LOOK AT FIRST</h3>\n<ul>\n<li>Cask 2: the gauge lies outside the range.</li>");
    has(page, "Planning figures. Not a duty account. Not a safety assessment.");
    has(page, "<th scope=\"col\"");
    has(page, "<th scope=\"row\"");
    has(page, "content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'; "
              "script-src 'sha256-");
    has(page, "The gauge of 17 September 2026, 57.0 %vol, lies outside the range of ");
    assert_int_equal(count(page, "lies outside the range of "), 1);
    assert_null(strstr(page, "http://"));
    assert_null(strstr(page, "https://"));
    assert_int_equal(count(page, " src="), count(page, " src=\"data:image/svg+xml;base64,"));
    free(page);
    tear_down(&house);
}

/* A gauge whose own error reaches the range is not told as outside. */
static void test_gauge_error(void **state)
{
    (void)state;
    struct house house;
    build(&house, 12);
    house.gauges[1].abv_sd_frac = 0.02;
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    assert_int_equal(count(page, "lies outside the range of "), 0);
    free(page);
    tear_down(&house);
}

static void test_charts_beside(void **state)
{
    (void)state;
    struct house house;
    build(&house, 12);
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    static const char *const names[] = {
        "rack-1-temperature", "rack-1-evaporation", "rack-1-extraction", "ridges-1",  "cycles-1",
        "degree-days-1",      "calendar-1",         "losses-1",          "paths-1",   "vapour-1",
        "gauges-1",           "cask-001",           "cask-011",          "windows-1", "sites-1"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char part[NAME_ROOM];
        snprintf(part, sizeof part, "charts/%s.svg", names[i]);
        assert_true(has_file(&house, part));
        /* The picture in the page is the file beside it. */
        char *svg = read_file(&house, part);
        struct stv_text coded = {0};
        stv_html_base64(&coded, svg, strlen(svg));
        has(page, coded.bytes);
        snprintf(part, sizeof part, "charts/%s.csv", names[i]);
        assert_true(has_file(&house, part));
        has(page, part);
        snprintf(part, sizeof part, "<figure data-chart=\"%s\">", names[i]);
        has(page, part);
        stv_text_free(&coded);
        free(svg);
    }
    /* Three racks, ridges, cycles, degree-days, calendar, losses, paths, vapour, eleven full casks,
     * windows, gauges, sites; each with words for an alternative. */
    assert_int_equal(count(page, "<figure "), 24);
    assert_int_equal(count(page, "<img "), 24);
    assert_int_equal(count(page, " alt=\"\""), 0);
    has(page, "alt=\"Temperature in the cask, °C, tier by tier in Long Shed. Warm season: 22.4");
    free(page);
    tear_down(&house);
}

/* Bottles, then pure alcohol, then litres, summed trial by trial. */
static void test_losses(void **state)
{
    (void)state;
    struct house house;
    build(&house, 12);
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    size_t now = stv__report_day_now(&house.input), next = stv__report_day_next(&house.input);
    assert_int_equal(house.outlook.days_d[now], made_day(2027, 12, 14));
    assert_int_equal(house.outlook.days_d[next], made_day(2028, 12, 14));
    static const enum stv_quantity lost[2][4] = {
        {STV_Q_AIR_LPA_L, STV_Q_JOINT_LPA_L, STV_Q_INDRINK_LPA_L, STV_Q_LEAK_LPA_L},
        {STV_Q_AIR_L, STV_Q_JOINT_L, STV_Q_INDRINK_L, STV_Q_LEAK_L}};
    double middle[3];
    for (size_t q = 1; q < 3; q++) {
        double sums[MADE_DRAWS] = {0.0};
        for (size_t c = 0; c < 11; c++)
            for (size_t i = 0; i < 4 * MADE_DRAWS; i++) {
                enum stv_quantity of = lost[q - 1][i / MADE_DRAWS];
                sums[i % MADE_DRAWS] +=
                    stv_outlook_draws(&house.outlook, c, next, of)[i % MADE_DRAWS] -
                    stv_outlook_draws(&house.outlook, c, now, of)[i % MADE_DRAWS];
            }
        middle[q] = stv_range_of(sums, MADE_DRAWS).p50;
    }
    middle[0] = middle[1] * stv_bottles_of_lpa_nd(&house.rules, 1.0);
    char *said = strstr(page, "air, joints, leaks and dry staves take about ");
    assert_non_null(said);
    double bottles = atof(said + strlen("air, joints, leaks and dry staves take about "));
    char *lpa = strstr(said, "bottles: "), *litres = strstr(said, "pure alcohol, ");
    assert_true(lpa != NULL && litres != NULL && lpa < litres);
    stv_assert_close(bottles, middle[0], 0.0, 0.5);
    stv_assert_close(atof(lpa + strlen("bottles: ")), middle[1], 0.0, 0.5);
    stv_assert_close(atof(litres + strlen("pure alcohol, ")), middle[2], 0.0, 0.5);
    has(page, "11 casks are full");
    free(page);
    tear_down(&house);
}

/* A cask that is filled, poured or emptied in between is left out, one watered is not. */
static void test_drop_with_event(void **state)
{
    (void)state;
    struct house house;
    build(&house, 3);
    size_t now = stv__report_day_now(&house.input), next = stv__report_day_next(&house.input);
    struct stv_range before = stv__report_drop(&house.input, 0, STV_Q_LPA_L, now, next);
    assert_true(before.p50 > 1.0 && before.p05 < before.p50);
    house.ledger.events[house.ledger.n_events - 1].cask_idx = 0;
    house.ledger.events[house.ledger.n_events - 1].day_d = made_day(2028, 6, 1);
    house.ledger.events[house.ledger.n_events - 1].kind = STV_EVENT_ADD_WATER;
    stv_assert_close(stv__report_drop(&house.input, 0, STV_Q_LPA_L, now, next).p50, before.p50, 0.0,
                     1e-12);
    house.ledger.events[house.ledger.n_events - 1].kind = STV_EVENT_EMPTY;
    assert_true(isnan(stv__report_drop(&house.input, 0, STV_Q_LPA_L, now, next).p50));
    assert_true(isnan(stv__report_drop(&house.input, 1, STV_Q_LPA_L, now, STV_REPORT_NO_DAY).p50));
    stv_assert_close(stv_bottles_of_lpa_nd(&house.rules, 1.0), 0.98 / (0.46 * 0.70), 1e-12, 0.0);
    tear_down(&house);
}

static void test_same_bytes(void **state)
{
    (void)state;
    struct house first, second;
    build(&first, 5);
    build(&second, 5);
    write_report(&first, STV_OK, "");
    setenv("TZ", "Asia/Kathmandu", 1);
    setenv("LC_ALL", "de_DE.UTF-8", 1);
    setenv("LC_NUMERIC", "de_DE.UTF-8", 1);
    write_report(&second, STV_OK, "");
    unsetenv("TZ");
    unsetenv("LC_ALL");
    unsetenv("LC_NUMERIC");
    static const char *const names[] = {"index.html", "charts/rack-1-temperature.svg",
                                        "charts/cask-001.svg", "charts/sites-1.csv"};
    for (size_t i = 0; i < 4; i++) {
        char *a = read_file(&first, names[i]), *b = read_file(&second, names[i]);
        assert_string_equal(a, b);
        free(a);
        free(b);
    }
    tear_down(&first);
    tear_down(&second);
}

static void test_hostile(void **state)
{
    (void)state;
    static const char *const lines[] = {"<script>alert(1)</script>",
                                        "  \"><img src=x onerror=alert(2)>"};
    struct house house;
    build(&house, 3);
    const char *bad = "</script><script>alert(3)</script>'\"`ls`\n]]>";
    house.input.house_name = bad;
    house.input.version = bad;
    house.input.first_screen = (struct stv_report_words){lines, 2};
    house.places[0] = bad;
    snprintf(house.ledger.casks[0].id, STV_ID_MAX, "%s", bad);
    snprintf(house.ledger.casks[0].kind_name, STV_ID_MAX, "%s", bad);
    snprintf(house.climate.warehouses[0].name, STV_ID_MAX, "%s", bad);
    snprintf(house.sites.sites[0].name, STV_ID_MAX, "%s", bad);
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    assert_null(xml_fault(page));
    assert_int_equal(count(page, "<script"), 1);
    assert_int_equal(count(page, "</script"), 1);
    assert_null(strstr(page, "<img src=x"));
    has(page, "&lt;script&gt;alert(3)");
    free(page);
    tear_down(&house);
}

/* Each sheet stands alone in print, with its cautions above boxes to tick. */
static void test_crew(void **state)
{
    (void)state;
    static const char *const heed[] = {"\1Air first", "  Doors open."};
    struct stv_crew_row rows[] = {{"<12>", "2-04 front", "look", true},
                                  {"13", "2-05 front", "NO ROOM", false}};
    const struct stv_crew_sheet sheet = {"walk", "Walk for leaks", heed, 2, rows, 2};
    struct house house;
    build(&house, 3);
    house.input.sheets = &sheet;
    house.input.n_sheets = 1;
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    assert_null(xml_fault(page));
    has(page,
        "<div class=\"sheet\" id=\"sheet-walk\">\n<h3>Walk for leaks</h3>\n<h3>Air first</h3>");
    has(page, "<th scope=\"row\">&lt;12&gt;</th><td>2-04 front</td><td>look</td>");
    has(page, "<tr><td>no</td><th scope=\"row\">13</th>");
    has(page, "2 casks, in this order</caption>");
    has(page, ".sheet{break-before:page");
    assert_int_equal(count(page, "aria-label=\"box to tick\""), 1);
    free(page);
    house.input.n_sheets = 0;
    write_report(&house, STV_OK, "");
    page = read_file(&house, "index.html");
    has(page, "No sheet: nothing is to be walked");
    free(page);
    tear_down(&house);
}

static void test_gnuplot_missing(void **state)
{
    (void)state;
    struct house house;
    build(&house, 3);
    write_report(&house, STV_OK, ""); /* an earlier report with pictures */
    char *path = strdup(getenv("PATH"));
    setenv("PATH", "/nowhere", 1);
    write_report(&house, STV_E_PROGRAM, "apt-get install gnuplot-nox");
    setenv("PATH", path, 1);
    free(path);
    char *page = read_file(&house, "index.html");
    assert_null(xml_fault(page));
    assert_int_equal(count(page, "<img "), 0);
    has(page, "<caption>Temperature in the cask, °C</caption>");
    has(page, "tier by tier in Long Shed. Warm season: 22.4");
    assert_true(has_file(&house, "charts/rack-1-temperature.csv"));
    assert_false(has_file(&house, "charts/rack-1-temperature.svg"));
    free(page);
    tear_down(&house);
}

static void test_old_charts(void **state)
{
    (void)state;
    struct house house;
    build(&house, 5);
    write_report(&house, STV_OK, "");
    assert_true(has_file(&house, "charts/cask-004.svg"));
    static const char *const kept[] = {"charts/cask-notes.csv", "charts/photo.svg", "notes.txt"};
    for (size_t i = 0; i < 3; i++) {
        char name[PATH_ROOM];
        snprintf(name, sizeof name, "%s/%s", house.folder, kept[i]);
        FILE *file = fopen(name, "w");
        assert_non_null(file);
        fclose(file);
    }
    house.input.ledger = NULL;
    write_report(&house, STV_OK, "");
    assert_false(has_file(&house, "charts/cask-004.svg"));
    assert_false(has_file(&house, "charts/windows-1.csv"));
    assert_true(has_file(&house, "charts/rack-1-temperature.svg"));
    for (size_t i = 0; i < 3; i++)
        assert_true(has_file(&house, kept[i]));
    /* A report of nothing leaves none of any kind. */
    house.input.climate = NULL;
    house.input.sites = NULL;
    house.input.told_figures = NULL;
    write_report(&house, STV_OK, "");
    assert_int_equal(n_files(&house, "charts"), 2);
    tear_down(&house);
}

static void test_io(void **state)
{
    (void)state;
    struct house house;
    char why[WHY_MAX], path[PATH_ROOM];
    build(&house, 3);
    stv_assert_status(stv_report_write(&house.input, "", why, sizeof why), STV_E_ARG);
    stv_assert_status(stv_report_write(&house.input, house.folder, why, 0), STV_E_ARG);
    stv_assert_status(stv_report_write(&house.input, "/dev/null/x", why, sizeof why), STV_E_IO);
    assert_string_equal(why, "the folder /dev/null/x cannot be made: Not a directory");
    /* Folders that were made for a page that never came are taken back, and no other. */
    size_t n_there;
    snprintf(path, sizeof path, "%s/new/deep/charts", house.folder);
    stv_assert_ok(stv__folder_make(path, &n_there));
    stv__folder_unmake(path, n_there);
    assert_false(has_file(&house, "new"));
    assert_int_equal(access(house.folder, F_OK), 0);
    /* A folder stands where a chart's numbers should go under their temporary name. */
    write_report(&house, STV_OK, "");
    char *before = read_file(&house, "index.html");
    snprintf(path, sizeof path, "%s/charts/sites-1.csv.part", house.folder);
    assert_int_equal(mkdir(path, 0700), 0);
    house.input.house_name = "Another House";
    write_report(&house, STV_E_IO, "charts/sites-1.csv could not be written: Is a directory");
    char *after = read_file(&house, "index.html");
    assert_string_equal(before, after);
    assert_false(has_file(&house, "index.html.part"));
    assert_int_equal(rmdir(path), 0);
    write_report(&house, STV_OK, "");
    free(before);
    free(after);
    tear_down(&house);
}

static void test_nothing_known(void **state)
{
    (void)state;
    struct house house;
    build(&house, 3);
    house.input = (struct stv_report_input){.house_name = "Quill Basin",
                                            .as_of_day_d = made_day(2027, 12, 12)};
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    assert_null(xml_fault(page));
    has(page, "Nothing is known of the racks");
    has(page, "Nothing is known of the casks");
    has(page, "No bottling windows");
    has(page, "No sites were compared");
    has(page, "Planning figures. Not a duty account. Not a safety assessment.");
    assert_null(strstr(page, "invented example"));
    free(page);
    tear_down(&house);
}

/* 80 casks: each has its chart and its rows, and stands in the choice. */
static void test_many_casks(void **state)
{
    (void)state;
    struct house house;
    build(&house, 80);
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    assert_int_equal(count(page, "<figure data-chart=\"cask-"), 79);
    assert_int_equal(count(page, "<option value=\"cask-"), 79);
    assert_int_equal(count(page, "<div class=\"cask\" "), 79);
    has(page, "<figure data-chart=\"windows-4\">");
    assert_null(strstr(page, "<figure data-chart=\"kind-"));
    assert_null(strstr(page, "class=\"wide far\""));
    free(page);
    tear_down(&house);
}

/* A house that is drawn by kinds: theirs, and of the casks the one whose gauge was told amiss; each
 * cask has its row. */
static void test_kinds(void **state)
{
    (void)state;
    struct house house;
    size_t n_alike[] = {40, 39};
    build(&house, 500);
    struct stv_report_kinds kinds = {.ledger = made_ledger(2),
                                     .outlook = made_outlook(2, made_day(2024, 3, 14), 3, 30),
                                     .n_casks = n_alike,
                                     .windows = made_bottling(2, 48)};
    snprintf(kinds.ledger.casks[0].id, sizeof kinds.ledger.casks[0].id, "Kind 1");
    house.told.figures[4].cask_id = house.told.figures[5].cask_id = house.ledger.casks[70].id;
    house.input.kinds = &kinds;
    house.rules.least_abv20_frac = 0.0;
    write_report(&house, STV_OK, "");
    char *page = read_file(&house, "index.html");
    has(page, "Kind 1, the mean of 40 casks");
    assert_int_equal(count(page, "<figure data-chart=\"cask-"), 1);
    has(page, "<figure data-chart=\"cask-071\">");
    assert_int_equal(count(page, "<option value=\"cask-"), 1);
    assert_int_equal(count(page, "<div class=\"cask\" "), 1);
    assert_int_equal(count(page, "<figure data-chart=\"windows-"), 1);
    has(page, "<figure data-chart=\"windows-1\">");
    has(page, "Bottling windows of 2 kinds; ");
    assert_int_equal(count(page, "class=\"wide far\""), 3); /* casks, losses, windows */
    assert_true(count(page, "<th scope=\"row\" class=\"word\">498</th>") >= 2);
    free(page);
    made_ledger_free(&kinds.ledger);
    made_outlook_free(&kinds.outlook);
    free(kinds.windows.windows);
    tear_down(&house);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_page),
        cmocka_unit_test(test_gauge_error),
        cmocka_unit_test(test_charts_beside),
        cmocka_unit_test(test_losses),
        cmocka_unit_test(test_drop_with_event),
        cmocka_unit_test(test_same_bytes),
        cmocka_unit_test(test_hostile),
        cmocka_unit_test(test_crew),
        cmocka_unit_test(test_gnuplot_missing),
        cmocka_unit_test(test_old_charts),
        cmocka_unit_test(test_io),
        cmocka_unit_test(test_nothing_known),
        cmocka_unit_test(test_many_casks),
        cmocka_unit_test(test_kinds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
